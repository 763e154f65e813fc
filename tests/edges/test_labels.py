"""Labels: one for each piece of each accepted window, saying what the cutting list says.

Text is read back with pypdf, an independent library; sizes of sheets are ISO 216.
"""

import copy
import io
import re
from collections import Counter
from itertools import pairwise

import pypdf
import pytest

from picture_orders import order, three_openings
from sawready.errors import SettingsError
from sawready.pipeline import check_order
from sawready.report import labels
from sawready.report.as_json import result_dict
from sawready.report.labels import LabelStyle, grids, labels_of, labels_pdf
from sawready.report.sheet_library import MM
from sawready.report.sheet_text import faces


def result_of(catalogue, raw):
    return result_dict(check_order(raw, catalogue=catalogue))


@pytest.fixture
def accepted(catalogue):
    raw = order(vent_mm2=8000, design_wind_pa=800)
    raw["openings"][0]["glazing"] = {"unit": "4-20-4", "safety": "none", "u_g": 1.0}
    result = result_of(catalogue, raw)
    assert result["decision"] == "accepted"
    return result


def text_of(data: bytes) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def test_every_piece_of_the_cutting_list_has_its_label(accepted):
    """Part, length, ends and profile, as many as the window has."""
    opening = accepted["openings"][0]
    made = list(labels_of(accepted))
    pieces = opening["pieces"] + opening["beads"]
    assert len(made) == len(pieces)
    for label, piece in zip(made, pieces, strict=True):
        assert (label.length_mm, label.ends, label.profile) == (
            piece["length_mm"],
            piece["ends"],
            piece["profile"],
        )
        assert piece["part"].replace("-", " ").split()[0] in label.part
        assert (label.order_ref, label.opening_ref) == ("TQ-0007", "W1")


def test_what_is_printed_is_what_the_label_says(accepted):
    whole = " ".join(text_of(labels_pdf([accepted])))
    for label in labels_of(accepted):
        assert f"{label.length_mm:.1f} {label.profile} {label.ends} {label.number} of {label.count}" in whole
        assert f"{label.opening_ref} {label.part} {label.length_mm:.1f}" in whole
    assert whole.count(f"TQ-0007 {accepted['digest'][7:15]}") == len(list(labels_of(accepted)))


def test_steel_is_named_by_the_member_that_it_goes_into(accepted):
    """The published order puts it after its member."""
    parts = [label.part for label in labels_of(accepted)]
    assert "reinforcement of frame head" in parts
    assert "reinforcement of mullion" in parts
    for one, other in pairwise(parts):
        if other.startswith("reinforcement of"):
            assert one.split(",")[0] == other.removeprefix("reinforcement of ").split(",")[0]


def test_windows_that_are_alike_have_each_their_own(accepted):
    """Quantity 3: three times the pieces, numbered by window."""
    accepted["openings"][0]["quantity"] = 3
    made = list(labels_of(accepted))
    assert Counter((label.window, label.windows) for label in made) == dict.fromkeys(
        [(1, 3), (2, 3), (3, 3)], len(made) // 3
    )
    assert "2 of 3" in " ".join(text_of(labels_pdf([accepted])))


def test_only_accepted_openings_have_labels(catalogue):
    """Nothing that is rejected or queried is cut, so nothing of it is labelled."""
    result = result_of(catalogue, three_openings())
    decisions = {opening["opening_ref"]: opening["decision"] for opening in result["openings"]}
    assert (decisions["W2"], decisions["W3"]) == ("queried", "rejected")
    assert {label.opening_ref for label in labels_of(result)} <= {"W1"}
    result["openings"] = result["openings"][1:]
    with pytest.raises(SettingsError, match="no accepted opening"):
        labels_pdf([result])


def test_beads_can_be_left_out(accepted):
    opening = accepted["openings"][0]
    assert len(list(labels_of(accepted, has_beads=False))) == len(opening["pieces"])


@pytest.mark.parametrize("name", list(grids()))
def test_a_grid_fits_its_sheet_and_labels_do_not_overlap(name):
    """The last sticker ends on the sheet; the pitch is no less than the sticker."""
    grid = grids()[name]
    assert grid.source
    left, top = grid.place(grid.count - 1)
    assert left + grid.label[0] <= grid.page[0] + 1e-9
    assert top + grid.label[1] <= grid.page[1] + 1e-9
    assert grid.columns == 1 or grid.pitch[0] >= grid.label[0]
    assert grid.rows == 1 or grid.pitch[1] >= grid.label[1]
    if name.startswith("a4"):
        assert grid.page == (210, 297)


@pytest.mark.parametrize("name", list(grids()))
def test_text_stays_on_its_sticker(accepted, name):
    """Every piece of text begins and ends inside the sticker that it belongs to, long names too."""
    accepted["order_ref"] = "order " * 13
    accepted["openings"][0]["opening_ref"] = "寝室 Vorderhaus zweites Obergeschoss, Küchenfenster zum Hof"
    grid = grids()[name]
    data = labels_pdf([accepted], LabelStyle(grid=name))
    boxes = [
        (x * MM, (grid.page[1] - y - grid.label[1]) * MM, (x + grid.label[0]) * MM, (grid.page[1] - y) * MM)
        for x, y in map(grid.place, range(grid.count))
    ]
    own = faces()
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        assert float(page.mediabox.width) == pytest.approx(grid.page[0] * MM, abs=0.01)

        def visit(text, cm, tm, _font, size):
            if not text.strip():
                return
            x = tm[4] * cm[0] + cm[4]
            y = tm[5] * cm[3] + cm[5]
            width = own.width(text.strip(), size)
            assert any(a <= x and x + width <= c and b <= y <= d for a, b, c, d in boxes), (text, x, y)

        page.extract_text(visitor_text=visit)


def test_letters_stay_large_enough_to_read(accepted):
    """A long name takes two lines or loses its middle; on a full-size sticker nothing is under 6.5 pt."""
    accepted["order_ref"] = "ORDER/2026/" * 7
    accepted["openings"][0]["opening_ref"] = (
        "Window over the kitchen sink, second from the left as seen outside"
    )
    sizes = set()
    texts = []

    def visit(text, _cm, _tm, _font, size):
        if text.strip():
            sizes.add(round(size, 2))
            texts.append(text.strip())

    pypdf.PdfReader(io.BytesIO(labels_pdf([accepted]))).pages[0].extract_text(visitor_text=visit)
    assert min(sizes) >= 6.5
    assert any("second from the left" in each for each in texts)
    assert any(each.endswith(accepted["digest"][7:15]) for each in texts)


def test_a_begun_sheet_is_used_up(accepted):
    """Begin at sticker 24 of 24: one on the first sheet, the rest on the next."""
    count = len(list(labels_of(accepted)))
    first = pypdf.PdfReader(io.BytesIO(labels_pdf([accepted], LabelStyle(first=24))))
    assert len(first.pages) == 1 + -(-(count - 1) // 24)
    text = text_of(labels_pdf([accepted], LabelStyle(first=24)))[0]
    assert text.count("TQ-0007") == 1
    for wrong in (0, 25, -3):
        with pytest.raises(SettingsError, match="first sticker is 1 to 24"):
            labels_pdf([accepted], LabelStyle(first=wrong))


def test_an_unknown_grid_is_refused_with_those_that_there_are(accepted):
    with pytest.raises(SettingsError, match="a4-24, a4-16, a4-40, roll-100x50"):
        labels_pdf([accepted], LabelStyle(grid="a5"))


def test_more_labels_than_the_limit_are_refused(accepted):
    """A quantity of a million is no reason to fill the memory."""
    accepted["openings"][0]["quantity"] = 1_000_000
    with pytest.raises(SettingsError, match="more than 20000 pieces"):
        labels_pdf([accepted])


def test_the_same_results_give_the_same_bytes(accepted):
    assert labels_pdf([accepted]) == labels_pdf([copy.deepcopy(accepted)])


def test_ends_are_drawn_as_they_are_cut(accepted):
    """A mitre takes its height off the upper side; a square end does not."""
    corners = {}
    for ends in ("45/45", "90/90", "45/90", "90/45"):
        accepted["openings"][0]["pieces"] = [{**accepted["openings"][0]["pieces"][0], "ends": ends}]
        accepted["openings"][0]["beads"] = []
        data = labels_pdf([accepted])
        content = pypdf.PdfReader(io.BytesIO(data)).pages[0].get_contents().get_data()
        points = [(float(x), float(y)) for x, y in re.findall(rb"([\d.]+) ([\d.]+) [ml]\b", content)]
        corners[ends] = points[-4:]
    for ends, (a, b, c, d) in corners.items():
        height = d[1] - a[1]
        first, second = (0 if angle == "90" else height for angle in ends.split("/"))
        assert d[0] - a[0] == pytest.approx(first, abs=0.01)
        assert b[0] - c[0] == pytest.approx(second, abs=0.01)


def test_the_limit_and_the_grids_have_sources():
    tree = labels._file()
    assert tree["most_labels"]["source"]
    assert all(own["source"] for own in tree["grids"].values())
