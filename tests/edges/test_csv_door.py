"""The door for CSV: encodings, delimiters, headers, limits, and every refusal with its line and column."""

import csv
import io

import pytest

from sawready.errors import UnreadableError
from sawready.model.finding import Cell
from sawready.readers import csv_door, csv_orders, csv_text
from sawready.readers.columns import BY_NAME, COLUMNS, REQUIRED
from sawready.readers.csv_door import Sheet
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.orders import kind_of, read_orders
from sawready.readers.raw import RawOrder, Unreadable

NAMES = [column.name for column in COLUMNS]
NEEDED = {
    "order_ref": "TQ-1",
    "system": "demo70",
    "opening_ref": "W1",
    "width_top": "1200",
    "height_left": "1050",
    "layout": "fixed",
}


def sheet(data: bytes, **options) -> Sheet:
    return Sheet(io.BytesIO(data), source="sheet.csv", **options)


def rows(data: bytes, **options) -> list[list[str]]:
    """All rows that were read, the header first."""
    read = sheet(data, **options)
    return [list(read.header), *(row[1] for row in read if not isinstance(row, Unreadable))]


def refused(data: bytes, **options) -> list[Unreadable]:
    return [row for row in sheet(data, **options) if isinstance(row, Unreadable)]


def refusal(data: bytes, **options) -> UnreadableError:
    with pytest.raises(UnreadableError) as caught:
        list(sheet(data, **options))
    return caught.value


def written(records: list[dict[str, str]], names: list[str] | None = None, **options) -> bytes:
    """A sheet of our columns."""
    text = io.StringIO(newline="")
    names = names or list(dict.fromkeys(name for record in records for name in record))
    writer = csv.DictWriter(text, names, **options)
    writer.writeheader()
    writer.writerows(records)
    return text.getvalue().encode()


def orders(data: bytes, **options) -> list[RawOrder | Unreadable]:
    return list(read_orders(io.BytesIO(data), kind="csv", source="sheet.csv", **options))


# ---- encodings and delimiters -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "options", "expected"),
    [
        ("Ref,W,H\nW1,1200,1050\n".encode("utf-8-sig"), {}, [["Ref", "W", "H"], ["W1", "1200", "1050"]]),
        (b"Ref;W;H\nW1;1200;1050\n", {}, [["Ref", "W", "H"], ["W1", "1200", "1050"]]),
        (
            "Ref\tW\tH\r\nW1\t1200\t1050\r\n".encode("utf-16"),
            {},
            [["Ref", "W", "H"], ["W1", "1200", "1050"]],
        ),
        (
            b"\xfe\xff" + "Ref\tW\tH\nW1\t12½\t1050".encode("utf-16-be"),
            {},
            [["Ref", "W", "H"], ["W1", "12½", "1050"]],
        ),
        (
            'Ref,W,H\nW1,"47¼""",1050 mm\n'.encode("cp1252"),
            {"encoding": "cp1252"},
            [["Ref", "W", "H"], ["W1", '47¼"', "1050 mm"]],
        ),
        (b"Ref;W;H\nW1;1200,5;1050\n", {}, [["Ref", "W", "H"], ["W1", "1200,5", "1050"]]),
        (b"Ref;W, mm;H\nW1;1;2\n", {"delimiter": ";"}, [["Ref", "W, mm", "H"], ["W1", "1", "2"]]),
        (b"Ref;W, mm;H\nW1;1;2\n", {"known": ["Ref", "H"]}, [["Ref", "W, mm", "H"], ["W1", "1", "2"]]),
        (b'Ref,"W;mm",H\nW1,1,2\n', {}, [["Ref", "W;mm", "H"], ["W1", "1", "2"]]),
        (b'"Ref; no","W;mm"\nW1,1\n', {}, [["Ref; no", "W;mm"], ["W1", "1"]]),
    ],
)
def test_files_as_firms_export_them(data, options, expected):
    """Marks, semicolons with decimal commas, 16-bit text with tabs, declared Windows-1252."""
    assert rows(data, **options) == expected


def test_the_codec_is_told():
    """The mark decides; without one it is UTF-8."""
    assert sheet(b"a,b\n").encoding == "utf-8"
    assert sheet("a,b\n".encode("utf-16")).encoding == "utf-16"
    assert sheet("a,b\n".encode("utf-16"), encoding="utf-16").encoding == "utf-16"
    assert sheet("a,b\n".encode("utf-8-sig"), encoding="utf-8").header == ("a", "b")


def test_a_byte_that_is_not_utf_8_is_named_and_nothing_is_replaced():
    """A quarter sign of Windows-1252: the whole sheet is refused, with byte, line, place and remedy."""
    error = refusal('Ref,W,H\nW1,"47¼""",1050 mm\n'.encode("cp1252"))
    assert error.line == 2
    assert "Byte 0xBC at character 7" in error.detail
    assert "cp1252" in error.detail


def test_a_bad_byte_far_down_is_named_by_its_own_line():
    """Pieces of the sheet are counted on."""
    good = "".join(f"W{number},é\n" for number in range(40_000)).encode()
    error = refusal(b"a,b\n" + good + b"W,\xe9\n")
    assert error.line == 40_002
    assert "at character 3" in error.detail


def test_a_byte_that_windows_1252_lacks_is_named():
    """Five of its bytes mean nothing."""
    error = refusal(b"a,b\n1,\x81\n", encoding="cp1252")
    assert (error.line, "Byte 0x81" in error.detail) == (2, True)


@pytest.mark.parametrize(
    ("data", "options", "says"),
    [
        (b"", {}, "is empty"),
        ("a,b\n".encode("utf-8-sig"), {"encoding": "cp1252"}, "byte order mark of UTF-8"),
        ("a,b\n".encode("utf-16"), {"encoding": "utf-8"}, "byte order mark of UTF-16"),
        (b"a,b\n", {"encoding": "utf-16"}, "no byte order mark"),
        ("a,b\n".encode("utf-16-le"), {}, "without its byte order mark"),
        ("a,b\n".encode("utf-16-be"), {}, "without its byte order mark"),
        ("a,b\n".encode("utf-32"), {}, "UTF-32"),
        ("a,b\n1,2".encode("utf-16") + b"\x00", {}, "half a character"),
        (b"a;b,c\n1;2\n", {}, "Both comma and semicolon"),
        (b"a;b,c\td\n", {}, "Both comma and semicolon and tab"),
        (b"Ref\nW1\n", {}, "has one column, 'Ref'"),
        (b"\n \n", {}, "no header row"),
        (b",,\n", {}, "no header row"),
        (b"a,b\n", {"skip_rows": 1}, "no header row"),
        (b"\n", {"delimiter": ","}, "no header row"),
        (b"a,a\n", {}, "'a' stands twice, in columns 1 and 2"),
        (b'W (mm)," W\n(mm)"\n', {}, "'W (mm)' stands twice"),
        (b"a,b\x00\n", {}, "Column 2 holds the control character U+0000"),
        (b'a,"b\n1,2\n', {}, "The quote that opens in column 2 is not closed"),
        (b'a,b"c\n1,2\n', {}, "A quote stands inside a field without quotes in column 2"),
        (b'a,"b"c\n1,2\n', {}, "Text stands after a closing quote in column 2"),
        (b"a,b\r1,2\r", {}, "A carriage return that ends no line"),
        (b",".join(b"c%d" % number for number in range(121)) + b"\n", {}, "121 columns; 120"),
        (b"a,b" + b"b" * (csv_text.MOST_LINE + 1), {}, "longer than 1024 KiB"),
    ],
)
def test_a_sheet_that_cannot_be_read_at_all_is_refused_by_name(data, options, says):
    """Each names what it is, on line 1 or where it stands, and what to do."""
    error = refusal(data, **options)
    assert says in error.detail
    assert error.line is not None
    assert error.reason == "row-unreadable"


def test_a_hundred_and_twenty_columns_are_read():
    """The limit itself is inside."""
    assert len(sheet(b",".join(b"c%d" % number for number in range(120)) + b"\n").header) == 120


def test_rows_above_the_header_are_passed_over():
    """A title with odd quotes, a blank row and a row over two lines do no harm."""
    read = sheet(b'Survey "A" 2 Nov\n\n"two\nlines",x\n\nRef,W\nW1,1\n', skip_rows=3)
    assert read.header == ("Ref", "W")
    assert (read.header_line, list(read)) == (6, [(7, ["W1", "1"])])
    assert (read.tally.above, read.tally.blank) == (4, 1)


# ---- rows that are refused alone -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "says", "column"),
    [
        (b"W2,1,200,1050", "The row has 4 fields, the header 3. A comma", None),
        (b"W2,1200", "The row has 2 fields, the header 3.", None),
        (b'W2,"1200"x,1050', "Text stands after a closing quote in column W: 'x,1050", "W"),
        (b'W2,47 1/4",1050', "A quote stands inside a field without quotes in column W", "W"),
        (b'W2, "1200",1050', "A quote stands inside a field without quotes in column W", "W"),
        (b"W2,12\x0000,1050", "Column W holds the control character U+0000", "W"),
        (b"W2,1200,10\x1b50", "Column H holds the control character U+001B", "H"),
        (b"W2,1200,10\x7f50", "Column H holds the control character U+007F", "H"),
        (b"W2,1200,10\xc2\x8550", "Column H holds the control character U+0085", "H"),
        (b"W2,1200\r1300,1050", "A carriage return that ends no line stands in column W", "W"),
        (b'W2,"' + b"x" * 65_537 + b'",1050', "The field in column W is longer than 64 KiB", "W"),
        (b"W2,1200," + b"x" * 65_537, "The field in column H is longer than 64 KiB", "H"),
        (b"W2,1200," + b"x" * 140_000, "The field in column H is longer than 64 KiB", "H"),
    ],
)
def test_a_row_that_cannot_be_read_is_refused_alone(row, says, column):
    """By its line, and by its column where one is at fault; the rows around it stand."""
    data = b"Ref,W,H\nW1,900,900\n" + row + b"\nW3,800,800\n"
    first, bad, last = sheet(data)
    assert (first, last) == ((2, ["W1", "900", "900"]), (4, ["W3", "800", "800"]))
    assert says in bad.detail
    assert (bad.line, bad.column, bad.source, bad.reason) == (3, column, "sheet.csv", "row-unreadable")
    assert bad.remedy.endswith(".")
    assert bad.excerpt[:3] == row[:3].decode()
    assert len(bad.excerpt) <= 400


def test_a_field_of_64_kib_is_read():
    """The limit itself is inside."""
    assert rows(b'a,b\n"' + b"x" * 65_534 + b'",2\n' + b"y" * 65_536 + b",2\n")[2][0] == "y" * 65_536


def test_a_quote_that_is_not_closed_loses_what_follows_and_says_so():
    """The rows before it stand; all lines after it are accounted for."""
    first, bad = sheet(b'"Ref","W","H"\n"W1","1200","1050"\n"W2","900","1050\nW3,900,1050\nW4,1,2\n')
    assert first == (2, ["W1", "1200", "1050"])
    assert (bad.line, bad.column, bad.lines) == (3, "H", 3)
    assert "no row from here on was read" in bad.detail
    assert bad.excerpt.startswith('"W2","900","1050\nW3')


def test_a_quote_that_is_not_closed_in_a_large_sheet_is_found_without_reading_it_all_in():
    """The field's limit stops it, and its own line is named."""
    data = b'a,b\n1,"2\n' + b"3,4\n" * 100_000
    (bad,) = sheet(data)
    assert (bad.line, bad.lines) == (2, 100_001)


def test_a_row_that_never_ends_is_stopped(monkeypatch):
    """Endless quoted fields, each with a line end, make one row that grows without bound."""
    data = b"a,b\n" + b'"x\ny",' * 500_000 + b"1\n3,4\n"
    (bad,) = sheet(data)
    assert "longer than 2 MiB" in bad.detail
    assert (bad.line, bad.lines) == (2, 500_002)


def test_a_line_that_never_ends_is_stopped():
    """What is read of it stays small, and the lines after it are counted."""
    first, bad = sheet(b"a,b\n1,2\n" + b"x" * (2 * csv_text.MOST_LINE) + b"\n3,4")
    assert first == (2, ["1", "2"])
    assert "longer than 1024 KiB" in bad.detail
    assert (bad.line, bad.lines) == (3, 2)


def test_text_after_a_closing_quote_lines_below_names_both_lines():
    """Mostly the quote above was left open: the fault's line, and the line where the quote opens."""
    bad, last = sheet(b'a,b\n"1,2\n"3",4\n5,6\n')
    assert (bad.first_line, bad.line, bad.lines) == (2, 3, 2)
    assert "It opens on line 2." in bad.detail
    assert last == (4, ["5", "6"])


def test_a_wrong_count_over_several_lines_hints_at_quotes():
    """The likelier cause is named beside the count."""
    (bad,) = refused(b'a,b\n"1\n2",3,4\n')
    assert "It runs over 2 lines." in bad.detail
    assert "quotes close" in bad.remedy


def test_a_row_that_only_the_csv_module_refuses_is_still_refused():
    """Its limit for fields belongs to the whole process, and something else may have lowered it."""
    usual = csv.field_size_limit(10)
    try:
        bad, last = sheet(b"a,b\n12345678901,2\n3,4\n")
    finally:
        csv.field_size_limit(usual)
    assert "cannot be read as CSV" in bad.detail
    assert last == (3, ["3", "4"])


def test_line_breaks_inside_quotes_move_the_lines_after_them():
    """Lines are physical ones, as an editor counts them."""
    read = sheet(b'a,b\r\n1,"two\r\nlines"\r\n\r\n3,4\r\n')
    assert list(read) == [(2, ["1", "two\r\nlines"]), (5, ["3", "4"])]
    assert read.tally.lines == 5


@pytest.mark.parametrize("sign", ["\u2028", "\u2029", "\x0b", "\x0c", "\x1c", "\x85"])
def test_only_a_line_feed_ends_a_line(sign):
    """`str.splitlines` would cut at each of these. The control characters among them are refused."""
    *_, last = sheet(f"a,b\n1,x{sign}y\n3,4\n".encode())
    assert last == (3, ["3", "4"])


def test_blank_rows_are_counted_and_passed_over():
    """Whatever their length: nothing is lost with them."""
    read = sheet(b"a,b\n\n,\n , \n,,,,\n \t\n1,2\n")
    assert list(read) == [(7, ["1", "2"])]
    assert read.tally.blank == 5


def test_a_stream_that_comes_in_drops_is_read_alike():
    """A pipe may give a few bytes at a time."""

    class Drops(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            return super().read(min(size or 1, 3))

    for encoding in ("utf-8", "utf-16"):
        data = 'Ref,W\nW1,"47¼"""\nW2,9\n'.encode(encoding)
        read = Sheet(Drops(data), source="s")
        assert list(read) == [(2, ["W1", '47¼"']), (3, ["W2", "9"])]


def test_memory_stays_steady(monkeypatch):
    """Of a long sheet only the newest pieces are held."""
    read = sheet(b"a,b\n" + b"1,2\n" * 200_000)
    most = 0
    for number, _ in enumerate(read):
        if number % 5000 == 0:
            most = max(most, len(read._held))
    assert most <= 2
    assert read.tally.rows == 200_000


def test_a_row_that_crosses_pieces_keeps_its_text(monkeypatch):
    """What is kept of a refused row is its own text, wherever the pieces were cut."""
    monkeypatch.setattr(csv_text, "PIECE_BYTES", 16)
    (bad,) = refused(b'a,b\n"one\ntwo\nthree\nfour\nfive\nsix"7,8\n9,9\n')
    assert bad.excerpt == '"one\ntwo\nthree\nfour\nfive\nsix"7,8'
    assert csv_door.MOST_PIECES == 32


# ---- orders of a sheet ---------------------------------------------------------------------------------


def test_every_column_lands_in_its_place_of_the_order():
    """One row with all columns filled gives the nested form of the contract, section 1."""
    (order,) = orders(written([{name: f"<{name}>" for name in NAMES}]))
    assert order.data == {
        "order_ref": "<order_ref>",
        "system": "<system>",
        "rulebook": "<rulebook>",
        "units": "<units>",
        "number_style": "<number_style>",
        "viewed_from": "<viewed_from>",
        "survey": {"date": "<survey_date>", "surveyor": "<surveyor>", "revision": "<survey_revision>"},
        "site": {
            "basic_wind_m_s": "<site_basic_wind_m_s>",
            "terrain": "<site_terrain>",
            "height_m": "<site_height_m>",
            "altitude_m": "<site_altitude_m>",
        },
        "openings": [
            {
                "opening_ref": "<opening_ref>",
                "quantity": "<quantity>",
                "room": "<room>",
                "storey": "<storey>",
                "floor_to_sill": "<floor_to_sill>",
                "measured_to": "<measured_to>",
                "widths": ["<width_top>", "<width_middle>", "<width_bottom>"],
                "heights": ["<height_left>", "<height_middle>", "<height_right>"],
                "diagonals": ["<diagonal_1>", "<diagonal_2>"],
                "slope": "<slope>",
                "inside": {"width": "<inside_width>", "height": "<inside_height>"},
                "to_come": {side: f"<to_come_{side}>" for side in ("left", "right", "top", "bottom")},
                "frame": {
                    "width": "<frame_width>",
                    "height": "<frame_height>",
                    "height_includes_sill": "<height_includes_sill>",
                },
                "gap": {side: f"<gap_{side}>" for side in ("left", "right", "top", "bottom")},
                "extenders": {side: f"<extender_{side}>" for side in ("left", "right", "top", "bottom")},
                "sill": {
                    "projection": "<sill_projection>",
                    "fit": "<sill_fit>",
                    "horn_left": "<sill_horn_left>",
                    "horn_right": "<sill_horn_right>",
                },
                "set_back": "<set_back>",
                "layout": "<layout>",
                "surveyed": {"viewed_from": "<surveyed_viewed_from>", "layout": "<surveyed_layout>"},
                "colour": {"outside": "<colour_outside>", "inside": "<colour_inside>"},
                "glazing": {
                    name: f"<glazing_{name}>"
                    for name in ("unit", "safety", "u_g", "gas", "emissivity", "impact_class")
                },
                "vent_mm2": "<vent_mm2>",
                "old_vent_mm2": "<old_vent_mm2>",
                "element": "<element>",
                "door_beside": {"left": "<door_beside_left>", "right": "<door_beside_right>"},
                "energy_band": "<energy_band>",
                "escape": "<escape>",
                "design_wind_pa": "<design_wind_pa>",
                "note": "<note>",
            }
        ],
    }
    assert (order.source, order.line, order.problems) == ("sheet.csv", 2, [])


def test_the_cell_of_every_value_is_its_line_and_heading():
    """From the pointer of each column's value back to the column, in any column order."""
    names = NAMES[::-1]
    one, two = ({name: f"<{name}>" for name in NAMES} for _ in range(2))
    (order,) = orders(written([one, two], names))
    for column in COLUMNS:
        head = "/openings/1/" if column.level == "opening" else "/"
        cell = order.cell(head + "/".join(map(str, column.path)))
        assert cell == Cell(3 if column.level == "opening" else 2, column.name)


@pytest.mark.parametrize(
    ("pointer", "cell"),
    [
        ("", Cell(2, None)),
        ("/openings", Cell(2, None)),
        ("/openings/0", Cell(2, None)),
        ("/openings/1/widths", Cell(3, "width_top")),
        ("/openings/1/widths/0", Cell(3, "width_top")),
        ("/openings/1/widths/1", Cell(3, "width_bottom")),
        ("/openings/1/widths/2", Cell(3, "width_bottom")),
        ("/openings/0/heights/2", Cell(2, "height_left")),
        ("/openings/0/layout/columns/1/light", Cell(2, "layout")),
        ("/openings/1/sill", Cell(3, "sill_fit")),
        ("/openings/0/sill", Cell(2, "sill_projection")),
        ("/openings/0/frame/width", Cell(2, None)),
        ("/openings/0/nothing", Cell(2, None)),
        ("/openings/9/widths", Cell(2, None)),
        ("/openings/x", Cell(2, None)),
        ("/rulebook", Cell(3, "rulebook")),
        ("/units", Cell(2, None)),
    ],
)
def test_the_cell_of_other_pointers_is_the_nearest_there_is(pointer, cell):
    """Of a group its first filled column; of a reading in a shared cell that cell; else the row."""
    extra = {"width_middle": "", "width_bottom": "1201", "sill_projection": "", "sill_fit": "x"}
    records = [
        NEEDED | extra | {"rulebook": "", "sill_fit": "", "width_bottom": ""},
        NEEDED | extra | {"rulebook": "e"},
    ]
    (order,) = orders(written(records))
    assert order.cell(pointer) == cell


def test_blanks_are_absent_and_white_space_around_values_goes():
    """Blank cells make no members, and nested objects only where one of theirs is filled."""
    record = NEEDED | {
        "width_middle": " ",
        "width_bottom": "\u00a01198 ",
        "gap_left": "",
        "frame_width": "  ",
    }
    (order,) = orders(written([record]))
    assert order.data["openings"] == [
        {"opening_ref": "W1", "layout": "fixed", "widths": ["1200", "1198"], "heights": ["1050"]}
    ]


def test_readings_in_one_cell_stay_one_text():
    """Taking them apart is the normaliser's work, which knows the units."""
    (order,) = orders(
        written([NEEDED | {"width_top": "1198/1201/1199", "width_middle": "", "width_bottom": ""}])
    )
    assert order.data["openings"][0]["widths"] == ["1198/1201/1199"]


@pytest.mark.parametrize(
    ("record", "at", "column"),
    [
        ({"width_top": "", "width_middle": "1200"}, "/openings/0/widths/0", "width_top"),
        ({"height_left": " ", "height_right": "1050"}, "/openings/0/heights/0", "height_left"),
        ({"diagonal_1": "", "diagonal_2": "1500"}, "/openings/0/diagonals/0", "diagonal_1"),
        ({"diagonal_2": "1500"}, "/openings/0/diagonals/0", None),
    ],
)
def test_a_first_reading_left_out_is_said(record, at, column):
    """Otherwise the second would pass for the first: one diagonal for the other, middle for left."""
    (order,) = orders(written([NEEDED | record]))
    (problem,) = order.problems
    assert (problem.reason, problem.severity, problem.at) == ("value-missing", "reject", at)
    assert problem.cell == Cell(2, column)


def test_rows_of_an_order_come_together_from_anywhere_in_the_sheet():
    """Orders come in the order of their first rows, openings in the order of theirs."""
    refs = [("A", "1"), ("B", "1"), ("A", "2"), ("C", "1"), ("B", "2"), ("A", "3")]
    data = written([NEEDED | {"order_ref": order, "opening_ref": opening} for order, opening in refs])
    read = orders(data)
    found = [
        (order.data["order_ref"], [opening["opening_ref"] for opening in order.data["openings"]])
        for order in read
    ]
    assert found == [("A", ["1", "2", "3"]), ("B", ["1", "2"]), ("C", ["1"])]
    assert [order.line for order in read] == [2, 3, 5]
    assert read[0].cell("/openings/2/layout") == Cell(7, "layout")
    assert read[1].cell("/openings/1/layout") == Cell(6, "layout")


@pytest.mark.parametrize("name", [column.name for column in COLUMNS if column.level == "order"][1:])
def test_rows_that_contradict_each_other_about_their_order_are_never_chosen_between(name):
    """The value is left out, and a problem names both with their lines."""
    records = [
        NEEDED | {name: value, "opening_ref": f"W{number}"}
        for number, value in enumerate(("p", "", "q", "p"))
    ]
    (order,) = orders(written(records))
    (problem,) = order.problems
    assert (problem.reason, problem.severity) == ("value-ambiguous", "reject")
    assert problem.candidates == ("p", "q")
    assert problem.at == "/" + "/".join(map(str, BY_NAME[name].path))
    assert problem.cell == Cell(4, name)
    assert "'p' (line 2) and 'q' (line 4)" in problem.message
    assert BY_NAME[name].path[0] not in order.data
    assert len(order.data["openings"]) == 4


def test_a_value_of_the_order_may_stand_in_one_row_only():
    """A blank contradicts nothing."""
    records = [NEEDED | {"units": "", "surveyor": ""}, NEEDED | {"units": "mm", "surveyor": "AB"}]
    (order,) = orders(written(records))
    assert (order.data["units"], order.data["survey"], order.problems) == ("mm", {"surveyor": "AB"}, [])
    assert order.cell("/units") == Cell(3, "units")


def test_a_row_of_no_order_is_refused_and_nothing_is_carried_down():
    """A blank order_ref may be a merged cell, or another order."""
    first, bad = orders(written([NEEDED, NEEDED | {"order_ref": " "}]))
    assert isinstance(first, RawOrder)
    assert (bad.line, bad.column) == (3, "order_ref")
    assert bad.excerpt == " ,demo70,W1,1200,1050,fixed"


def test_refused_rows_stand_between_the_orders_where_they_were():
    """What comes out is in the order of the lines."""
    good = b"TQ-%d,demo70,W1,1,1,fixed\n"
    data = b",".join(name.encode() for name in NEEDED) + b"\n" + good % 1 + b"x\n" + good % 2
    assert [item.line for item in orders(data)] == [2, 3, 4]


def test_a_cell_below_no_heading_is_refused_and_a_blank_one_is_not():
    """Spreadsheets leave an empty column behind; a value in it has no meaning."""
    names = ",".join(NEEDED)
    values = ",".join(NEEDED.values())
    good, bad = orders(f"{names},\n{values},\n{values},7\n".encode())
    assert isinstance(good, RawOrder)
    assert (bad.line, bad.column) == (3, "7")
    assert "Column 7 has no heading" in bad.detail


def test_a_header_repeated_further_down_is_passed_over():
    """Sheets that were put together one below the other; it is told as skipped."""
    data = written([NEEDED])
    read = SheetOrders(io.BytesIO(data + data.replace(b"W1", b"W2")), source="s")
    (order,) = read
    assert [opening["opening_ref"] for opening in order.data["openings"]] == ["W1", "W2"]
    assert [(item.line, item.kind) for item in read.skipped] == [(3, "heading")]
    assert read.tally.skipped == 1


def test_unknown_headings_are_named_with_their_nearest():
    """All of them at once, and never dropped."""
    with pytest.raises(UnreadableError) as caught:
        orders(written([NEEDED | {"Frame-Width": "1", "gap_lefft": "5", "zzz": ""}]))
    assert "'Frame-Width' (nearest: 'frame_width')" in caught.value.detail
    assert "'gap_lefft' (nearest: 'gap_left')" in caught.value.detail
    assert "'zzz'" in caught.value.detail
    assert (caught.value.line, caught.value.column) == (1, "Frame-Width")


@pytest.mark.parametrize("name", REQUIRED)
def test_a_sheet_without_a_needed_column_is_refused_once(name):
    """Not once for every row."""
    record = {key: value for key, value in NEEDED.items() if key != name}
    with pytest.raises(UnreadableError, match=f"no column {name}") as caught:
        orders(written([record]))
    assert caught.value.line == 1
    if name != "order_ref":
        assert isinstance(orders(written([record]), supplied=[name])[0], RawOrder)


def test_a_sheet_with_a_header_only_is_no_order():
    """Nothing found is not success."""
    with pytest.raises(UnreadableError, match="no openings"):
        orders(",".join(NAMES).encode() + b"\n\n")


def test_an_order_of_more_than_500_rows_is_refused_as_one():
    """The limit of the order form; other orders go on."""
    records = [NEEDED | {"opening_ref": f"W{number}"} for number in range(501)]
    bad, good = orders(written([*records, NEEDED | {"order_ref": "TQ-2"}]))
    assert "'TQ-1' has 501 rows; 500 openings are the most" in bad.detail
    assert (bad.line, good.data["order_ref"]) == (2, "TQ-2")
    assert len(orders(written(records[:500]))[0].data["openings"]) == 500


def test_a_large_sheet_gives_the_same_in_two_readings(monkeypatch):
    """Each order leaves as soon as its last row is read; what comes out is the same."""
    refs = [("A", "1"), ("A", "2"), ("B", "1"), ("C", "1"), ("B", "2"), ("D", "1")]
    records = [NEEDED | {"order_ref": order, "opening_ref": opening} for order, opening in refs]
    data = written(records).replace(b"\r\nTQ", b"\nTQ") + b"bad row\n" + b"E,demo70,1,1,1,fixed\n"
    held = orders(data)
    monkeypatch.setattr(csv_orders, "MOST_HELD_BYTES", 0)
    stream = io.BytesIO(b"before" + data)
    stream.seek(6)
    read = SheetOrders(stream, source="sheet.csv")
    first = next(read)
    assert first.data == held[0].data
    assert read.tally.rows < len(refs)
    rest = list(read)
    assert [getattr(item, "data", item) for item in (first, *rest)] == [
        getattr(item, "data", item) for item in held
    ]
    assert read.tally.lines == 9


def test_a_stream_that_cannot_seek_is_held(monkeypatch):
    """Standard input and a request's body are read once."""

    class Pipe(io.BytesIO):
        def seekable(self) -> bool:
            return False

    monkeypatch.setattr(csv_orders, "MOST_HELD_BYTES", 0)
    (order,) = read_orders(Pipe(written([NEEDED])), kind="csv", source="<stdin>")
    assert order.data["order_ref"] == "TQ-1"


def test_kinds_of_files():
    """One way in for all of them."""
    assert [kind_of(name) for name in ("a.csv", "b.JSON", "c/d.ndjson", "e.txt", "csv")] == [
        "csv",
        "json",
        "ndjson",
        None,
        None,
    ]
    data = b'{"openings": [{}]}'
    assert len(list(read_orders(io.BytesIO(data), kind="json", source="s"))) == 1
    assert len(list(read_orders(io.BytesIO(data + b"\n" + data), kind="ndjson", source="s"))) == 2
