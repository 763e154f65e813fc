"""Fitter's sheets: what is printed is the published result, nothing is lost, the bytes do not change.

Text is read back with pypdf, an independent library. Packing of glass: two UK trade guides and an Austrian
one for side-hung lights, from memory for top-hung ones. Lifting: HSE L23 and INDG143, shares of a team from
memory.
"""

import hashlib
import io
import json
import os
import random
import re
import subprocess
import sys
import threading
from importlib.resources import files
from pathlib import Path

import pypdf
import pytest
import reportlab
import segno

from independent.generator import random_order
from independent.runner import everything
from order_generator import openings as generated
from picture_orders import order, three_openings
from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import SettingsError
from sawready.pipeline import check_order
from sawready.report.order_places import order_view
from sawready.report.order_view import OrderView, mm_text
from sawready.report.sheet import SheetStyle, SheetWriter, sheet_pdf
from sawready.report.sheet_layout import Block
from sawready.report.sheet_paging import paged
from sawready.report.sheet_text import faces, in_drawing_order, plain_text
from sawready.report.sheet_words import glass_mark, lifting

PAGE = (595.2756, 841.8898)
ROOT = Path(__file__).parents[2]


def view_of(catalogue, raw) -> OrderView:
    return order_view(check_order(raw, catalogue=catalogue))


def accepted(**changes):
    """The worked example, with what the rules of a full catalogue ask for as well."""
    made = order(vent_mm2=8000, design_wind_pa=800, **changes)
    made["openings"][0]["glazing"] = {"unit": "4-20-4", "safety": "none", "u_g": 1.0} | (
        changes.get("glazing") or {}
    )
    return made


def pages(data: bytes) -> list[str]:
    """Text of each page, blanks and line ends alike."""
    return [_flat(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def _flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_the_worked_example_is_all_on_its_page(catalogue):
    """Geometry, worked example, by hand: every size that a fitter needs, and who is meant."""
    view = view_of(catalogue, accepted())
    assert view.openings[0].decision == "accepted"
    (text,) = pages(sheet_pdf([view]))
    for part in (
        "W1 kitchen, ground floor",
        "Order TQ-0007, opening 1 of 1, surveyed 2026-11-02 by AB revision 1",
        "Opening in the wall, least width × height 1808 × 1260",
        "Frame, width × height 1798 × 1220",
        "Frame height with sill 1250",
        "left 5, right 5, top 5, bottom 5",
        "Sill (sill-150), length 1900 horns past the reveal: left 50, right 40, from outside",
        "1 Frame width 1798",
        "2 Frame height with sill 1250",
        "3 Hinge side from outside left",
        "4 Glass mark none ordered",
        "5 Sill length 1900",
        "1 701 × 998 4-20-4 none ordered 14.0 kg, 1 person 23.7 kg, 1 person",
        "2 829 × 1126 4-20-4 none ordered 18.7 kg, 1 person fixed",
        "Left and right, from the top: 150 · 610 · 1070",
        "Top and bottom, from the left: 150 · 649.3 · 1148.7 · 1648",
        "Seen from outside",
        "Light 1 (right): handle on the left, hinges on the right; opens outward",
        "Light 1: bottom right and top left, at diagonally opposite corners",
        "Horizontal beads first",
        "Every hole through the bottom",
        "To fit: W1.",
        view.digest,
    ):
        assert part in text, part


def test_cautions_are_on_every_page(catalogue):
    """Escape, safety glass, guarding, lifting, structure, gas and asbestos, and who decides."""
    for text in pages(sheet_pdf([view_of(catalogue, three_openings())])):
        for word in ("Lifting:", "Working at height:", "Structure:", "Gas, flues, fires:", "Asbestos:"):
            assert word in text
        assert "Local building rules" in text
        assert "licensed" in text


def test_every_published_size_of_random_orders_is_printed():
    """Compared with the result itself, through another library's eyes; from both views, in every unit."""
    tools = everything()
    seen = 0
    for number in range(40):
        raw = random_order(random.Random(number), tools.systems, tools.rulebook)
        view = order_view(check_order(raw, catalogue=tools.catalogue))
        texts = pages(sheet_pdf([view]))
        at = 0
        for opening in view.openings:
            own = texts[at]
            at += 1
            while at < len(texts) and texts[at].startswith(f"{opening.opening_ref}, continued"):
                own += " " + texts[at]
                at += 1
            if opening.decision == "accepted":
                seen += 1
                _holds_result(own, opening.published)
            else:
                _holds_reasons(own, opening)
        assert at == len(texts)
    assert seen > 10


def _holds_result(text, told):
    frame, clearance = told["frame"], told["clearance"]
    assert f"{mm_text(frame['width_mm'])} × {mm_text(frame['height_mm'])}" in text
    sides = ("left", "right", "top", "bottom")
    assert ", ".join(f"{side} {mm_text(clearance[f'{side}_mm'])}" for side in sides) in text
    if told["sill"]:
        assert f"Sill ({told['sill']['profile']}), length {mm_text(told['sill']['length_mm'])}" in text
    for pane in told["glass"]:
        assert f"{pane['width_mm']} × {pane['height_mm']} {pane['unit']} {glass_mark(pane['safety'])}" in text
        assert f"{pane['kg']:.1f} kg" in text
    for light in told["lights"]:
        if light["sash_kg"] is not None:
            assert f"{light['sash_kg']:.1f} kg" in text
    for places in told["fixings"].values():
        if places:
            assert " · ".join(map(mm_text, places)) in text


def _holds_reasons(text, opening):
    assert ("NOT MADE." if opening.decision == "rejected" else "NOT YET.") in text
    for noted in opening.noted:
        assert _flat(plain_text(noted.finding.message)) in text
    assert "Fixing holes" not in text
    assert "Tape checks" not in text


def test_a_page_an_opening_for_usual_orders(catalogue):
    """A hundred and twenty generated openings, one page each, and nothing printed off the paper."""
    orders: dict[str, dict] = {}
    for row in generated(120, seed=3):
        raw = orders.setdefault(
            row["order_ref"],
            {
                "order_ref": row["order_ref"],
                "system": row["system"],
                "rulebook": "england",
                "units": "mm",
                "viewed_from": "outside",
                "openings": [],
            },
        )
        raw["openings"].append(_opening_of(row))
    views = [view_of(catalogue, raw) for raw in orders.values()]
    reader = pypdf.PdfReader(io.BytesIO(sheet_pdf(views)))
    assert len(reader.pages) == sum(len(view.openings) for view in views)
    for page in reader.pages[::7]:
        assert _off_the_paper(page) == []


def _opening_of(row):
    made = {
        "opening_ref": row["opening_ref"] or None,
        "quantity": row["quantity"],
        "room": row["room"],
        "storey": row["storey"],
        "floor_to_sill": row["floor_to_sill"],
        "widths": [row["width_top"], row["width_middle"], row["width_bottom"]],
        "heights": [row["height_left"], row["height_middle"], row["height_right"]],
        "layout": row["layout"],
        "colour": {"outside": row["colour_outside"], "inside": "white"},
        "glazing": {"unit": row["glazing_unit"], "safety": row["glazing_safety"] or "none", "u_g": 1.0},
        "vent_mm2": 8000,
        "design_wind_pa": 600,
    }
    if row["sill_projection"]:
        made["sill"] = {
            "projection": row["sill_projection"],
            "fit": "horns_into_wall",
            "horn_left": 50,
            "horn_right": 50,
        }
        made["set_back"] = 40
    return {name: value for name, value in made.items() if value is not None}


def _off_the_paper(page):
    """Pieces of text that begin outside of the page's edges."""
    found = []

    def visit(text, cm, tm, _font, _size):
        x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
        y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
        if text.strip() and not (20 < x < PAGE[0] - 10 and 8 < y < PAGE[1] - 10):
            found.append((text, x, y))

    page.extract_text(visitor_text=visit)
    return found


def test_a_page_for_each_decision_and_a_cover_line_on_all(catalogue):
    """Nobody looks for a window that was not made, and nobody takes the old one out for it."""
    texts = pages(sheet_pdf([view_of(catalogue, three_openings() | {"order_ref": "TQ-9"})]))
    assert len(texts) == 3
    assert "NOT YET. A question is open" in texts[1]
    assert "NOT MADE. Nothing is delivered" in texts[2]
    for text in texts:
        assert "Not made: W3" in text or "Not made: W1, W3" in text
        assert "Not yet, a question is open: W2" in text
    assert "must not be made: Frame 1806 mm leaves 1.0 mm a side" in texts[2]
    assert "Make the frame 1798 mm wide or less." in texts[2]


def test_a_rejected_page_has_nothing_to_cut_by(catalogue):
    """The result holds lights, sill and fixings back, and so does the page."""
    text = pages(sheet_pdf([view_of(catalogue, three_openings())]))[2]
    for word in ("Tape checks", "Lights and glass", "Fixing holes", "glass 7", "Sill ("):
        assert word not in text


def test_what_was_asked_and_who_answered_is_told(catalogue):
    raw = accepted(widths=[1812, 1790, 1811])
    asked = check_order(raw, catalogue=catalogue).openings[0].findings
    raw["answers"] = [
        {
            "opening_ref": "W1",
            "reason": found.reason,
            "measured": None if found.measured is None else found.measured.value,
            "by": "Ines Calloway",
            "on": "2026-11-03",
            "note": "the wall is bowed",
        }
        for found in asked
        if found.severity == "query"
    ]
    assert raw["answers"]
    view = view_of(catalogue, raw)
    assert view.openings[0].decision == "accepted"
    (text,) = pages(sheet_pdf([view]))
    assert "Asked and answered" in text
    assert "Answered by Ines Calloway on 2026-11-03: the wall is bowed." in text


@pytest.mark.parametrize(
    ("layout", "handing", "packed"),
    [
        (
            "side-hung right",
            "handle on the right, hinges on the left; opens outward",
            "bottom left and top right, at diagonally opposite corners",
        ),
        (
            "side-hung left",
            "handle on the left, hinges on the right; opens outward",
            "bottom right and top left, at diagonally opposite corners",
        ),
        (
            "top-hung",
            "handle at the bottom, hinges at the top; opens outward",
            "under both ends of the bottom rail, and low at both sides",
        ),
    ],
)
def test_handing_and_packing_are_told_from_inside(catalogue, layout, handing, packed):
    """Hinges left from outside are right from inside; the pane is carried low on the hinge side."""
    raw = accepted(layout=layout, widths=[700], heights=[1000], diagonals=None)
    (text,) = pages(sheet_pdf([view_of(catalogue, raw)]))
    assert f"Light 1: {handing}" in text
    assert packed in text


def test_a_light_that_is_alone_has_no_place(catalogue):
    raw = accepted(layout="side-hung left", widths=[700] * 3, diagonals=None)
    (text,) = pages(sheet_pdf([view_of(catalogue, raw)]))
    assert "Light 1: handle on the left, hinges on the right" in text


def test_notes_have_the_numbers_that_the_drawing_shows(catalogue):
    wide = {"widths": [2400] * 3, "diagonals": None, "layout": "side-hung left | fixed | side-hung right"}
    view = view_of(catalogue, accepted(**wide))
    noted = view.openings[0].noted
    assert noted
    text = pages(sheet_pdf([view]))[0]
    for each in noted:
        assert f"({each.number}) {_flat(each.finding.message)}" in text


def test_the_second_column_begins_with_a_heading_where_all_fits():
    """As even as may be, but a heading is not left behind by its last lines."""
    plain, headed = Block(40.0), Block(40.0, is_headed=True)
    blocks = [headed, plain, plain, plain, headed, plain]
    ((*placed,),) = paged([], blocks, first=400.0, others=lambda: 400.0, across=100.0)
    assert [(block.is_headed, x) for block, x, _ in placed].index((True, 100.0)) == 4
    (tight,) = paged([], blocks, first=130.0, others=lambda: 400.0, across=100.0)
    assert [x for _, x, _ in tight] == [0, 0, 0, 100, 100, 100]


def test_tilt_and_turn_is_told(catalogue):
    raw = accepted(layout="tilt-turn left", widths=[800], heights=[1200], sill=None, diagonals=None)
    raw["system"] = "demo82-inward"
    raw["openings"][0]["glazing"] = {"unit": "4-16-4-16-4", "safety": "none", "u_g": 0.7}
    text = " ".join(pages(sheet_pdf([view_of(catalogue, raw)])))
    assert "handle on the left, hinges on the right, tilts at the bottom; opens inward" in text
    assert "spacers bottom left and top right" in text
    assert "Short beads first, the long ones sprung in last" in text


def test_the_strip_is_asked_for_where_the_gap_is_wide(catalogue):
    """LABC Warranty: a backing strip above 5 mm; exactly 5 needs none."""
    wide = accepted(gap={"left": 7, "right": 7, "top": 5, "bottom": 5}, sill=None, set_back=None)
    (text,) = pages(sheet_pdf([view_of(catalogue, wide)]))
    assert "Backing strip behind the sealant, as the gap is over 5 mm: left, right." in text
    (text,) = pages(sheet_pdf([view_of(catalogue, accepted())]))
    assert "Backing strip" not in text


@pytest.mark.parametrize(
    ("mass", "words"),
    [
        (25.0, "1 person"),
        (25.1, "2 people"),
        (33.3, "2 people"),
        (33.4, "3 people"),
        (37.5, "3 people"),
        (37.6, "lifting aid"),
    ],
)
def test_people_by_the_filter(mass, words):
    """HSE INDG143: 25 kg for one; L23 (from memory): two thirds of the sum for two, half for three."""
    assert lifting().in_words(mass) == words


def test_masses_add_up(catalogue):
    """Bare frame and sashes, glass and beads; worked out again from demo70's masses per metre."""
    view = view_of(catalogue, accepted())
    masses = view.openings[0].masses
    told = view.openings[0].published
    metres = {"frame-62": 1.2, "sash-72": 1.3, "mullion-76": 1.4, "steel-u28": 1.1, "steel-box40": 1.8}
    weld = {"frame-62": 6, "sash-72": 6}
    bare = 1.8 + sum(
        metres[piece["profile"]] * (piece["length_mm"] - weld.get(piece["profile"], 0)) / 1000
        for piece in told["pieces"]
        if piece["part"] != "sill"
    )
    beads = sum(0.2 * bead["length_mm"] / 1000 for bead in told["beads"])
    assert masses.bare == pytest.approx(bare, abs=0.01)
    assert masses.window == pytest.approx(bare + beads + sum(pane["kg"] for pane in told["glass"]), abs=0.02)


def test_the_same_order_gives_the_same_bytes(catalogue):
    view = view_of(catalogue, three_openings())
    assert sheet_pdf([view]) == sheet_pdf([view])
    assert sheet_pdf([view]) != sheet_pdf([view], SheetStyle(triangle="apex-at-handle"))


def test_the_bytes_are_the_same_in_any_process(catalogue):
    script = """
import json, sys
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.order_places import order_view
from sawready.report.sheet import sheet_pdf
view = order_view(check_order(json.load(sys.stdin), catalogue=Catalogue.load_builtin()))
sys.stdout.buffer.write(sheet_pdf([view]))
"""
    raw = json.dumps(three_openings()).encode()
    own = sheet_pdf([view_of(catalogue, three_openings())])
    for seed, zone in (("1", "UTC"), ("77", "Asia/Tokyo")):
        environ = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT / "service")}
        command = [sys.executable, "-c", script]
        run = subprocess.run(command, input=raw, env=environ, capture_output=True, check=True)  # noqa: S603 - ours
        assert run.stdout == own


def test_sheets_made_at_the_same_time_do_not_mix(catalogue):
    """The library lets a face serve one document at a time; without a lock some of these come out mixed."""
    views = [view_of(catalogue, accepted(room=f"кухня {number}")) for number in range(6)]
    alone = [sheet_pdf([view]) for view in views]
    made: list[bytes] = [b""] * len(views)

    def make(number: int) -> None:
        for _ in range(3):
            made[number] = sheet_pdf([views[number]])

    threads = [threading.Thread(target=make, args=(number,)) for number in range(len(views))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made == alone


@pytest.mark.parametrize(
    "text",
    [
        "(parenthesis \\) %PDF-1.4 endstream endobj",
        "<b>bold</b> & <para>",
        "a" * 80,
        "кухня κουζίνα Łazienka żółć ñandú",
        "寝室 😀 ﷽",
        "חדר שינה 12 מ",
        "e\u0301\u0302\u0303" * 20,
    ],
)
def test_a_users_text_never_breaks_a_page(catalogue, text):
    raw = accepted(room=text, opening_ref=text[:80])
    raw["order_ref"] = text[:80]
    data = sheet_pdf([view_of(catalogue, raw)])
    (page,) = pypdf.PdfReader(io.BytesIO(data)).pages
    assert b"/JavaScript" not in data
    assert b"/URI" not in data
    assert _off_the_paper(page) == []


def test_letters_that_no_face_has_are_written_by_number_and_said_so(catalogue):
    (text,) = pages(sheet_pdf([view_of(catalogue, accepted(room="寝室 north"))]))
    assert "[U+5BDD][U+5BA4] north" in text
    assert "is written by its number" in text
    (text,) = pages(sheet_pdf([view_of(catalogue, accepted(room="żółta łazienka"))]))
    assert "żółta łazienka" in text
    assert "is written by its number" not in text


def test_a_font_of_the_user_writes_what_ours_lack(catalogue, tmp_path):
    """Any TrueType file may be added; one that is none is refused by name."""
    vera = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
    style = SheetStyle(fonts=(vera,))
    assert sheet_pdf([view_of(catalogue, accepted())], style)
    bad = tmp_path / "bad.ttf"
    bad.write_bytes(b"no font")
    with pytest.raises(SettingsError, match=r"bad\.ttf is no TrueType font"):
        faces((bad,))
    with pytest.raises(SettingsError, match=r"none\.ttf"):
        faces((tmp_path / "none.ttf",))


def test_right_to_left_runs_stand_in_reading_order():
    """UAX 9, the plain case: the run turns, figures and Latin letters in it do not."""
    assert in_drawing_order("W1 \u05d0\u05d1\u05d2") == "W1 \u05d2\u05d1\u05d0"
    assert in_drawing_order("\u05d0\u05d1 12 \u05d2") == "\u05d1\u05d0 12 \u05d2"
    assert in_drawing_order("\u05d0 \u05d1, left") == "\u05d1 \u05d0, left"
    assert in_drawing_order("plain") == "plain"


def test_the_code_says_name_and_digest(catalogue):
    """The dark squares in the page are those of the code that another call of the encoder makes."""
    view = view_of(catalogue, accepted())
    for style, payload in (
        (SheetStyle(), f"order TQ-0007 {view.digest}"),
        (
            SheetStyle(link="https://office.example/v1/orders/"),
            f"https://office.example/v1/orders/TQ-0007#{view.digest}",
        ),
    ):
        page = pypdf.PdfReader(io.BytesIO(sheet_pdf([view], style))).pages[0]
        (form,) = [
            each.get_object()
            for each in page["/Resources"]["/XObject"].values()
            if each.get_object()["/Subtype"] == "/Form"
        ]
        matrix = [list(row) for row in segno.make(payload, error="m", micro=False).matrix]
        side = len(matrix)
        drawn = [[0] * side for _ in range(side)]
        for x, y, width, height in re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re", form.get_data()):
            assert float(height) == 1
            for column in range(int(float(x)), int(float(x) + float(width))):
                drawn[side - 1 - int(float(y))][column] = 1
        assert drawn == [[int(cell) for cell in row] for row in matrix]
        assert read_code(drawn) == payload


def read_code(squares: list[list[int]]) -> str:
    """What a reader of codes finds in dark and light squares (zxing-cpp, an independent library)."""
    zxing = pytest.importorskip("zxingcpp", reason="zxing-cpp is not installed (extra test)")
    image = pytest.importorskip("PIL.Image", reason="pillow is not installed (extra test)")
    side, unit, free = len(squares), 4, 4
    picture = image.new("L", ((side + 2 * free) * unit,) * 2, 255)
    for row, cells in enumerate(squares):
        for column, is_dark in enumerate(cells):
            if is_dark:
                x, y = (column + free) * unit, (row + free) * unit
                picture.paste(0, (x, y, x + unit, y + unit))
    (found,) = zxing.read_barcodes(picture)
    text: str = found.text
    return text


def test_a_name_that_is_no_address_is_quoted_in_the_link(catalogue):
    raw = accepted()
    raw["order_ref"] = "A/B 1?x#y"
    view = view_of(catalogue, raw)
    writer = SheetWriter(SheetStyle(link="https://office.example/v1/orders"))
    writer.add(view)
    assert writer.finish()
    made = segno.make(f"https://office.example/v1/orders/A%2FB%201%3Fx%23y#{view.digest}", error="m")
    assert made.version >= 1


def test_a_long_page_goes_on_and_loses_nothing(catalogue):
    """Sixty lights and many notes: the rest stands on pages that say that they go on."""
    layout = " / ".join([" | ".join(["fixed |" * 5 + " fixed"])] * 10)
    raw = accepted(widths=[2900], heights=[2350], layout=layout, sill=None, set_back=None, diagonals=None)
    raw["openings"][0]["room"] = "stair"
    view = view_of(catalogue, raw)
    texts = pages(sheet_pdf([view]))
    whole = " ".join(texts)
    for noted in view.openings[0].noted:
        assert _flat(noted.finding.message) in whole
    for page in pypdf.PdfReader(io.BytesIO(sheet_pdf([view]))).pages:
        assert _off_the_paper(page) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"layout": " / ".join([" | ".join(["top-hung"] * 7)] * 5), "widths": [2900], "heights": [2350]},
        {"layout": " | ".join(["side-hung left", "side-hung right"] * 3), "widths": [2900]},
        {"room": "寝室" * 100, "opening_ref": "寝" * 80},
        {"room": "long name " * 20, "colour": {"outside": "colour " * 25, "inside": "white"}},
        {"quantity": 12345, "storey": -3},
        {"widths": ["181.2 cm", "1808", "1.81 m"], "note": "x" * 200},
    ],
)
def test_whatever_is_on_a_page_stays_on_it(catalogue, changes):
    """Many lights, long names, many findings: nothing is printed over an edge."""
    raw = accepted(**({"diagonals": None, "sill": None, "set_back": None} | changes))
    raw["order_ref"] = "order " * 13
    raw["survey"]["surveyor"] = "surveyor " * 20
    for page in pypdf.PdfReader(io.BytesIO(sheet_pdf([view_of(catalogue, raw)]))).pages:
        assert _off_the_paper(page) == []


def test_nothing_to_write_is_said():
    with pytest.raises(ValueError, match="no opening"):
        sheet_pdf([])


def test_every_text_of_the_file_has_its_source():
    """Each line that a fitter is told names where it comes from, and how far it can be trusted."""
    tree = load_yaml(
        files("sawready.catalogue").joinpath("data", "sheet.yaml").read_bytes(), name="sheet.yaml"
    ).data

    def leaves(node):
        if isinstance(node, dict):
            if "text" in node or "zone" in node:
                yield node
            else:
                for inner in node.values():
                    yield from leaves(inner)
        elif isinstance(node, list):
            for inner in node:
                yield from leaves(inner)

    found = list(leaves(tree))
    assert len(found) > 15
    for leaf in found:
        assert leaf["source"]
        assert "about" in leaf or leaf["confidence"] in {"high", "medium", "low"}


def test_the_faces_are_the_ones_that_their_authors_released():
    """The licence file names their sums."""
    folder = files("sawready.report").joinpath("fonts")
    said = folder.joinpath("LICENSE.txt").read_text(encoding="utf-8")
    for name in ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf"):
        assert f"{hashlib.sha256(folder.joinpath(name).read_bytes()).hexdigest()}  {name}" in said
