"""A bar plan as text, CSV, JSON, pictures and a page to print."""

import csv
import io
import json
import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import pytest

from sawready.calc.nesting import BarStock, OldOffcut, Piece, Plan, Saw, plan_bars
from sawready.report.bar_drawing import LEFT, WIDTH, bars_svg, saw_list_html
from sawready.report.bar_plan import COLUMNS, as_json, as_text, rows, summary_lines, summary_of, write_csv

MM = 1_000_000
SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg: str) -> ET.Element:
    """An SVG document as XML; a fault in it fails the test."""
    return ET.fromstring(svg)  # noqa: S314 - written by the program itself


SAW = Saw(kerf_nm=4 * MM, trim_nm=20 * MM, keep_nm=500 * MM, scrap_nm=100 * MM)


def small_plan(*, colour: str | None = None, order_ref: str = "TQ-7") -> Plan:
    """Two bars cut alike, an old offcut, a bar with a rest to keep, and a piece that nothing holds."""
    pieces = [
        Piece("frame", 1804 * MM, 6, "45/45", colour, order_ref, "W1", "frame-head", at="/0"),
        Piece("frame", 1226 * MM, 1, "45/45", colour, order_ref, "W1", "frame-left", at="/1"),
        Piece("frame", 900 * MM, 1, "90/45", colour, order_ref, "W2", "frame-left", at="/2"),
        Piece("frame", 6500 * MM, 1, "45/45", colour, order_ref, "W9", "frame-head", at="/3"),
    ]
    offcuts = [OldOffcut("frame", 1250 * MM, 1, colour)]
    return plan_bars(pieces, stock={"frame": BarStock(6000 * MM)}, saw=SAW, offcuts=offcuts)


def test_json_has_every_key_and_adds_up() -> None:
    """Lengths of pieces, cuts, trim and rest come to the bar, to a tenth of a millimetre."""
    published = json.loads(json.dumps(as_json(small_plan())))
    assert list(published) == [
        "orders", "saw", "summary", "limit_fired", "remarks", "findings", "profiles"
    ]  # fmt: skip
    assert published["limit_fired"] is None
    assert [finding["reason"] for finding in published["findings"]] == ["piece-longer-than-bar"]
    (summary,) = published["summary"]
    assert summary["bars"] - summary["bound"] == summary["gap"] == 0
    assert summary["pieces"] == 8
    assert summary["old_offcuts"] == 1
    assert summary["offcuts_kept_mm"] == sorted(summary["offcuts_kept_mm"], reverse=True)
    bars = published["profiles"][0]["bars"]
    assert [bar["bar"] for bar in bars] == list(range(1, len(bars) + 1))
    for bar in bars:
        last = bar["pieces"][-1]
        joint = 5.66 if last["ends"].endswith("45") else 4
        end = last["start_mm"] + last["length_mm"] + joint + bar["offcut_mm"] + 10
        assert bar["offcut_mm"] == 0 or abs(end - bar["stock_mm"]) < 0.2
        assert [piece["position"] for piece in bar["pieces"]] == list(range(1, len(bar["pieces"]) + 1))


def test_sheet_has_one_row_a_piece_under_the_agreed_heading() -> None:
    """Read back by the standard library."""
    stream = io.StringIO(newline="")
    write_csv(small_plan(), stream)
    read = list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))
    assert list(read[0]) == [
        "profile", "bar", "stock_mm", "position", "length_mm", "order_ref", "opening_ref", "part",
    ]  # fmt: skip
    assert len(read) == 8
    assert {row["stock_mm"] for row in read} == {"6000.0", "1250.0"}
    assert sum(float(row["length_mm"]) for row in read) == pytest.approx(6 * 1804 + 1226 + 900)


def test_sheet_names_the_colour_where_there_is_one() -> None:
    """A column more at the end, and only then."""
    stream = io.StringIO(newline="")
    write_csv(small_plan(colour="anthracite"), stream)
    read = list(csv.DictReader(io.StringIO(stream.getvalue(), newline="")))
    assert list(read[0]) == [*COLUMNS, "colour"]
    assert {row["colour"] for row in read} == {"anthracite"}


def test_sheet_is_harmless_in_a_spreadsheet() -> None:
    """A reference that a spreadsheet would take for a formula gets an apostrophe."""
    stream = io.StringIO(newline="")
    write_csv(small_plan(order_ref="=1+1"), stream)
    assert '"\'=1+1"' in stream.getvalue()


def test_summary_is_one_line_a_profile_with_what_to_know() -> None:
    """Bars, bound, gap, use and what is kept."""
    lines = summary_lines(small_plan())
    assert lines[0].split() == [
        "profile",
        "pieces",
        "bars",
        "bound",
        "gap",
        "old",
        "offcuts",
        "used",
        "offcuts",
        "kept",
    ]
    assert lines[1].split()[:6] == ["frame", "8", "3", "3", "0", "1"]
    assert len(lines) == 2
    assert summary_lines(plan_bars([], stock={}, saw=SAW)) == ["no pieces, no bars"]


def test_summary_says_when_a_limit_fired() -> None:
    """In words, behind the table."""
    pieces = [Piece("frame", length * MM) for length in range(1500, 1600)]
    plan = plan_bars(pieces, stock={"frame": BarStock(6000 * MM)}, saw=SAW, limit_s=0)
    assert any("time limit" in line for line in summary_lines(plan))
    assert summary_of(plan.profiles[0])["limit_fired"] == "time"


def test_text_puts_bars_that_are_cut_alike_on_one_line() -> None:
    """And ends with what cannot be cut."""
    text = as_text(small_plan())
    assert text.splitlines()[0] == "frame: 3 bars of 6000 mm and 1 old offcut"
    assert "1804.0  1804.0  1804.0" in text
    assert "(old offcut 1250)" in text
    assert "cannot be cut: The frame head of opening W9" in text
    assert as_text(plan_bars([], stock={}, saw=SAW)) == ""


def test_picture_draws_bars_to_scale() -> None:
    """Read as XML: a piece of 1804 on a bar of 6000 spans 1804/6000 of its width."""
    plan = small_plan()
    svg = parsed(bars_svg(plan.profiles[0], trim_nm=SAW.trim_nm))
    assert svg.tag == f"{SVG}svg"
    assert (svg.get("role"), svg.get("aria-label")) == ("img", "frame: 3 bars of 6000 mm and 1 old offcut")
    groups = svg.findall(f"{SVG}g")
    assert groups[0].get("class") == "old"
    assert (groups[0].get("transform") or "").startswith(f"translate({LEFT} ")
    longest = max(plan.profiles[0].bars, key=lambda bar: bar.stock_nm).stock_nm
    for group in groups:
        stock = float(group.find(f"{SVG}rect[@class='stock']").get("width"))  # type: ignore[union-attr, arg-type]
        assert round(stock) in {WIDTH, WIDTH * 1250 / 6000}
        for polygon in group.findall(f"{SVG}polygon"):
            points = [tuple(map(float, point.split(","))) for point in (polygon.get("points") or "").split()]
            span = points[1][0] - points[0][0]
            lengths = [length * MM / longest * WIDTH for length in (1804, 1226, 900)]
            assert any(span == pytest.approx(length, abs=0.02) for length in lengths)
    rests = svg.findall(f".//{SVG}rect[@fill='url(#hatch)']")
    assert rests
    assert any("kept" in (rest.get("class") or "") for rest in rests)


def test_picture_labels_pieces_and_slants_mitred_ends() -> None:
    """The length stands in the piece; a square end is upright."""
    svg = bars_svg(small_plan().profiles[0], trim_nm=0)
    assert ">1804.0</text>" in svg
    assert 'class="trim"' not in svg
    root = parsed(svg)
    shapes = [
        [tuple(map(float, point.split(","))) for point in (polygon.get("points") or "").split()]
        for polygon in root.iter(f"{SVG}polygon")
    ]
    leans = [(shape[3][0] > shape[0][0], shape[2][0] < shape[1][0]) for shape in shapes]
    assert (False, True) in leans
    assert (True, True) in leans


def test_saw_list_is_well_formed_and_shows_every_piece_with_a_box() -> None:
    """One box a piece, one section a profile, what cannot be cut first."""

    class Tags(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.open: list[str] = []
            self.text = ""

        def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002 - as the base calls it
            if tag != "meta":
                self.open.append(tag)

        def handle_startendtag(self, tag: str, attrs: object) -> None:
            """Closes itself."""

        def handle_endtag(self, tag: str) -> None:
            assert self.open.pop() == tag

        def handle_data(self, data: str) -> None:
            self.text += data

    page = saw_list_html(small_plan(), title="Saw list <Mill & Sons>")
    parser = Tags()
    parser.feed(page)
    assert parser.open == []
    assert page.count("&#9744;") == 8
    assert "Saw list <Mill & Sons>" in parser.text
    assert "<Mill" not in page
    assert parser.text.index("Cannot be cut") < parser.text.index("6000 mm")
    assert "keep, back on the rack" in parser.text
    assert "old offcut" in parser.text


def test_references_cannot_break_out_of_the_pictures() -> None:
    """Signs of XML are written as such, and what XML does not know is replaced."""
    plan = small_plan(order_ref='<script>"x"&\x00\x1b', colour="</svg>")
    svg = bars_svg(plan.profiles[0], trim_nm=SAW.trim_nm)
    parsed(svg)
    assert "<script>" not in svg + saw_list_html(plan)
    assert "\x00" not in svg


def test_rows_follow_the_order_of_cutting() -> None:
    """Bar after bar, position after position."""
    order = [(row["bar"], row["position"]) for row in rows(small_plan())]
    assert order == sorted(order)
