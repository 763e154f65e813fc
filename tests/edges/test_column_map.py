"""Column maps: how a firm's own sheet is read, and what is said of a map or sheet that does not fit."""

import io

import pytest

from sawready.errors import SettingsError, UnreadableError
from sawready.model.finding import Cell
from sawready.readers.column_map import ColumnMap, load_column_map
from sawready.readers.columns import COLUMNS
from sawready.readers.orders import read_orders
from sawready.readers.raw import RawOrder, Unreadable

PLAIN = """\
columns:
  order_ref: Job
  opening_ref: Ref
  width_top: W (mm)
  height_left: H (mm)
  quantity: Qty
  layout: Drawing
defaults:
  system: demo70
  units: mm
  viewed_from: outside
"""

PAIR = """\
columns: {order_ref: Job, opening_ref: Ref, layout: Drawing}
defaults: {system: demo70, units: mm}
sizes: {column: Size, order: WxH}
"""


def read(data: str | bytes, text: str, **options) -> tuple[list[RawOrder | Unreadable], object]:
    data = data if isinstance(data, bytes) else data.encode()
    reading = read_orders(
        io.BytesIO(data),
        kind="csv",
        source="firm.csv",
        column_map=load_column_map(text, name="firm.yaml"),
        **options,
    )
    return list(reading), reading


def refusal(data: str, text: str) -> UnreadableError:
    with pytest.raises(UnreadableError) as caught:
        read(data, text)
    return caught.value


def fault(text: str) -> str:
    with pytest.raises(SettingsError) as caught:
        load_column_map(text, name="firm.yaml")
    return str(caught.value)


def test_a_sheet_is_read_in_the_firms_own_words():
    """Values land in our places; cells are named as the firm names them."""
    (order,), _ = read("Job,Ref,W (mm),H (mm),Qty,Drawing\nTQ-1,W1,1200,1050,2,fixed\n", PLAIN)
    assert order.data == {
        "order_ref": "TQ-1",
        "system": "demo70",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [
            {"opening_ref": "W1", "quantity": "2", "layout": "fixed", "widths": ["1200"], "heights": ["1050"]}
        ],
    }
    assert order.cell("/openings/0/widths/0") == Cell(2, "W (mm)")
    assert order.cell("/system") == Cell(2, None)


def test_headings_match_whatever_their_white_space():
    """A heading over two lines of its cell is the same heading; its cell is named in one line."""
    (order,), _ = read('Job,Ref,"W\n(mm)"," H  (mm)",Qty,Drawing\nTQ-1,W1,1200,1050,1,fixed\n', PLAIN)
    assert order.cell("/openings/0/widths/0") == Cell(3, "W (mm)")


def test_defaults_fill_blank_cells_and_missing_columns():
    """A firm that always works in mm says so once; a cell that says otherwise stands."""
    text = PLAIN + "  quantity: 1\n  gap_left: 5\n"
    (order,), _ = read("Job,Ref,W (mm),H (mm),Qty,Drawing\nTQ-1,W1,1,1,,fixed\nTQ-1,W2,1,1,3,fixed\n", text)
    first, second = order.data["openings"]
    assert (first["quantity"], second["quantity"]) == ("1", "3")
    assert first["gap"] == second["gap"] == {"left": "5"}
    assert order.cell("/openings/0/quantity") == Cell(2, "Qty")
    assert order.cell("/openings/0/gap/left") == Cell(2, None)


def test_a_map_without_columns_adds_to_our_own_headings():
    """Defaults and a delimiter for a sheet that has our names."""
    text = "defaults: {units: mm, system: demo70}\ndelimiter: semicolon\nskip_rows: 1\n"
    data = "Export, 2 Nov\norder_ref;opening_ref;width_top;height_left;layout;room\nTQ-1;W1;1;2;fixed;hall\n"
    (order,), _ = read(data, text)
    assert (order.data["units"], order.data["openings"][0]["room"]) == ("mm", "hall")


def test_one_column_may_serve_several_of_ours():
    """One gap for all four sides, stated once a row."""
    sides = ("left", "right", "top", "bottom")
    text = PLAIN.replace("  quantity: Qty\n", "".join(f"  gap_{side}: Gap\n" for side in sides))
    (order,), _ = read("Job,Ref,W (mm),H (mm),Gap,Drawing\nTQ-1,W1,1,1,5,fixed\n", text)
    assert order.data["openings"][0]["gap"] == dict.fromkeys(sides, "5")
    assert order.cell("/openings/0/gap/top") == Cell(2, "Gap")


def test_encoding_and_rows_above_are_declared():
    """Windows-1252 is read when the map says so."""
    text = PLAIN + "encoding: Windows-1252\nskip_rows: 2\n"
    data = 'Survey "A"\n\nJob;Ref;W (mm);H (mm);Qty;Drawing\nTQ-1;W1;"47¼""";1;1;fixed\n'
    (order,), _ = read(data.encode("cp1252"), text)
    assert order.data["openings"][0]["widths"] == ['47¼"']


def test_columns_that_the_map_does_not_name_are_refused_by_name():
    """A column that is dropped in silence may have been the sill."""
    error = refusal("Job,Ref,W (mm),H (mm),Qty,Drawing,Cill,Qtty\nTQ-1,W1,1,1,1,fixed,150,1\n", PLAIN)
    assert "unknown headings: 'Cill', 'Qtty' (nearest: 'Qty')" in error.detail
    assert "Name it in firm.yaml under 'columns', or under 'ignore'" in error.detail
    assert (error.line, error.column) == (1, "Cill")


@pytest.mark.parametrize("ignore", ["ignore: [Price, 'Sold  by']", "ignore: all"])
def test_columns_that_are_not_needed_are_ignored_when_the_map_says_so(ignore):
    """By name, or all of them."""
    data = "Job,Ref,W (mm),H (mm),Qty,Drawing,Price,Sold by\nTQ-1,W1,1,1,1,fixed,9,AB\n"
    (order,), _ = read(data, PLAIN + ignore)
    assert "Price" not in str(order.data)


def test_headings_of_the_map_that_the_sheet_lacks_are_named():
    """All of them, each with the column it was for and the nearest heading."""
    error = refusal("Job,Ref,W mm,Height,Qty,Drawing\nTQ-1,W1,1,1,1,fixed\n", PLAIN)
    assert "'W (mm)' for width_top (nearest: 'W mm')" in error.detail
    assert "'H (mm)' for height_left" in error.detail
    assert "firm.yaml" in error.detail


def test_a_map_that_leaves_a_needed_column_open_says_which():
    """It may come from a column, a default, or the caller."""
    text = PLAIN.replace("  system: demo70\n", "")
    data = "Job,Ref,W (mm),H (mm),Qty,Drawing\nTQ-1,W1,1,1,1,fixed\n"
    error = refusal(data, text)
    assert "no column system" in error.detail
    assert "under 'defaults'" in error.detail
    assert isinstance(read(data, text, supplied=["system"])[0][0], RawOrder)


def test_rows_that_are_no_openings_are_told_apart():
    """Headings repeated, totals and titles are passed over and listed; a note is never dropped."""
    data = """\
Job,Ref,W (mm),H (mm),Qty,Drawing
Front elevation,,,,,
TQ-1,W1,1200,1050,1,fixed
,,,,,
Job,Ref,W (mm),H (mm),Qty,Drawing
TQ-1,W2,1200,1050,2,fixed
NB all sizes tight,,,,,
Total,,,,3,
,,,,3,
"""
    (order, note), reading = read(data, PLAIN)
    assert [opening["opening_ref"] for opening in order.data["openings"]] == ["W1", "W2"]
    assert (note.line, note.reason) == (7, "row-unreadable")
    assert "is a note, 'NB all sizes tight'" in note.detail
    assert note.excerpt == "NB all sizes tight,,,,,"
    assert [(row.line, row.kind) for row in reading.skipped] == [
        (2, "section"),
        (5, "heading"),
        (8, "total"),
        (9, "total"),
    ]
    assert reading.skipped_rows == {"section": 1, "heading": 1, "total": 2}
    tally = reading.tally
    assert (tally.read, tally.header, tally.blank, tally.skipped, tally.refused) == (2, 1, 1, 4, 1)


def test_a_row_that_is_struck_out_but_has_sizes_is_a_problem():
    """Neither made nor left out by guessing."""
    data = "Job,Ref,W (mm),H (mm),Qty,Drawing\nTQ-1,W1,1,1,1,fixed\nTQ-1,W8 - CANCELLED,1200,1050,1,fixed\n"
    (order,), _ = read(data, PLAIN)
    (problem,) = order.problems
    assert (problem.reason, problem.severity) == ("value-ambiguous", "reject")
    assert (problem.at, problem.cell) == ("/openings/1/opening_ref", Cell(3, "Ref"))
    assert len(order.data["openings"]) == 2


def test_sizes_without_a_reference_and_references_without_sizes_stay_openings():
    """What they lack is for the checks to say; nothing is carried down from the row above."""
    data = "Job,Ref,W (mm),H (mm),Qty,Drawing\nTQ-1,,1200,1050,1,fixed\nTQ-1,W7,,,1,fixed\n"
    (order,), _ = read(data, PLAIN)
    first, second = order.data["openings"]
    assert "opening_ref" not in first
    assert "widths" not in second


def test_our_own_headings_make_every_row_an_opening():
    """Rows are told apart in a firm's sheet only; here a row called Total is an opening."""
    head = "order_ref,system,opening_ref,width_top,height_left,layout"
    read_ = list(
        read_orders(io.BytesIO(f"{head}\nTQ-1,demo70,Total,,,fixed\n".encode()), kind="csv", source="s")
    )
    assert read_[0].data["openings"][0]["opening_ref"] == "Total"


@pytest.mark.parametrize(
    ("cell", "width", "height"),
    [
        ("1200 x 1050", "1200 mm", "1050 mm"),
        ("1200.5x1050", "1200.5 mm", "1050 mm"),
        ("H1050 x W1200", "1200 mm", "1050 mm"),
        ('"47 1/4 x 41 3/8"""', "1200.15 mm", "1050.925 mm"),
    ],
)
def test_both_sizes_in_one_cell_are_taken_apart_exactly(cell, width, height):
    """Each as text with its unit, so that nothing is read twice in two ways."""
    (order,), _ = read(f"Job,Ref,Size,Drawing\nTQ-1,W1,{cell},fixed\n", PAIR)
    opening = order.data["openings"][0]
    assert (opening["widths"], opening["heights"]) == ([width], [height])
    assert order.cell("/openings/0/heights/0") == Cell(2, "Size")
    assert all(problem.severity == "note" for problem in order.problems)


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("1200/1050", PAIR),
        ("1200 x 1050 x 70", PAIR),
        ("1200x", PAIR),
        ("3050", PAIR),
        ("1200x1050", PAIR.replace(", order: WxH", "")),
        ("1200x1050", PAIR.replace("units: mm", "room: hall")),
    ],
)
def test_both_sizes_in_one_cell_that_cannot_be_told_apart_are_left_out(cell, text):
    """A problem for each of the two; no number is put in their place."""
    (order,), _ = read(f"Job,Ref,Size,Drawing\nTQ-1,W0,1 x 1,fixed\nTQ-1,W1,{cell},fixed\n", text)
    opening = order.data["openings"][1]
    assert "widths" not in opening
    assert "heights" not in opening
    found = [problem for problem in order.problems if problem.at.startswith("/openings/1/")]
    assert [problem.at for problem in found] == ["/openings/1/widths", "/openings/1/heights"]
    assert {problem.severity for problem in found} == {"reject"}
    assert {problem.cell for problem in found} == {Cell(3, "Size")}


def test_the_callers_unit_serves_cells_with_both_sizes():
    """Where neither sheet nor map states one."""
    text = PAIR.replace("units: mm", "room: hall")
    (order,), _ = read("Job,Ref,Size,Drawing\nTQ-1,W1,120 x 105,fixed\n", text, units="cm")
    assert order.data["openings"][0]["widths"] == ["1200 mm"]


def test_a_blank_cell_for_both_sizes_is_absent():
    """Absent, as any blank."""
    (order,), _ = read("Job,Ref,Size,Drawing\nTQ-1,W1,,fixed\n", PAIR)
    assert "widths" not in order.data["openings"][0]
    assert order.problems == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "columns:\n  widht_top: W\n",
            "firm.yaml, line 2: columns.widht_top: no such column of ours; the nearest is width_top",
        ),
        ("defaults:\n  unit: mm\n", "line 2: defaults.unit: no such column of ours; the nearest is units"),
        ("colums: {}\n", "line 1: colums: no such key; the nearest is columns"),
        ("columns: [W]\n", "columns: our column names with a text each are due here"),
        ("columns:\n  layout: ''\n", "line 2: columns.layout: a text is due here"),
        ("columns:\n  layout: [a]\n", "line 2: columns.layout: a text is due here"),
        ("columns:\n  layout:\n", "line 2: columns.layout: a text is due here"),
        ("skip_rows: -1\n", "line 1: skip_rows: '-1' is not a count of rows"),
        ("skip_rows: 1001\n", "'1001' is not a count of rows from 0 to 1000"),
        ("skip_rows: ٣\n", "is not a count of rows"),
        ("encoding: latin-1\n", "'latin-1' is not one of utf-8, utf-16, cp1252"),
        ("encoding: [utf-8]\n", "encoding: this is not one of"),
        ("delimiter: '|'\n", "'|' is not one of comma, semicolon, tab"),
        ("ignore: Price\n", "ignore: 'Price' is not a list of the firm's headings"),
        ("ignore: [{a: b}]\n", "ignore: this is not a list"),
        ("sizes: Size\n", "sizes: the firm's heading is missing"),
        ("sizes: {column: Size, ordr: WxH}\n", "sizes.ordr: no such key; the nearest is order"),
        ("sizes: {column: Size, order: DxW}\n", "sizes.order: 'DxW' is not WxH or HxW"),
        (
            "sizes: {column: Size}\ncolumns: {width_top: W}\n",
            "line 2: columns.width_top: sizes gives this column",
        ),
        ("columns: {width_top: W}\nignore: [W]\n", "columns.width_top: 'W' is listed under ignore as well"),
        ("columns: {room: A, room: B}\n", "given twice"),
        ("a: &x {}\nb: *x\n", "line 1"),
        ("- a\n", "a column map has keys"),
        ("", "the file is empty"),
    ],
)
def test_a_mistake_in_a_map_is_named_by_file_line_and_key(text, says):
    """With the nearest known name where one was misspelt."""
    told = fault(text)
    assert says in told
    assert told.startswith("firm.yaml")


def test_all_mistakes_of_a_map_are_told_at_once():
    """Nobody has to run it five times."""
    assert (
        len(fault("columns: {a: b}\nskip_rows: x\nencoding: y\ndelimiter: z\nignore: 5\n").splitlines()) == 5
    )


@pytest.mark.parametrize(
    ("word", "sign"), [("comma", ","), ("';'", ";"), ("Tab", "\t"), ('"\\t"', "\t"), ("semicolon", ";")]
)
def test_delimiters_have_names(word, sign):
    """A tab is hard to see in a file."""
    assert load_column_map(f"delimiter: {word}", name="m").delimiter == sign


def test_words_that_yaml_turns_into_other_things_stay_words():
    """A default of no, 017 or 1:30 is the text that was written."""
    text = "defaults: {escape: no, order_ref: 017, opening_ref: 1:30, survey_date: 2026-11-02}"
    assert dict(load_column_map(text, name="m").defaults) == {
        "escape": "no",
        "order_ref": "017",
        "opening_ref": "1:30",
        "survey_date": "2026-11-02",
    }


def test_every_column_of_ours_can_be_mapped_and_defaulted():
    """None is forgotten."""
    names = [column.name for column in COLUMNS]
    text = "columns:\n" + "".join(f"  {name}: Our {name}\n" for name in names)
    text += "defaults:\n" + "".join(f"  {name}: x\n" for name in names)
    column_map = load_column_map(text, name="m")
    assert isinstance(column_map, ColumnMap)
    assert [*column_map.columns] == [*column_map.defaults] == names
