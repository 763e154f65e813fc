"""The parallelogram law, on openings built exactly and on the published trap of a flat limit.

Source: elementary geometry. With sides w and (s, h): d1^2 + d2^2 = 2 (w^2 + h^2 + s^2), and
d1^2 - d2^2 = 4 w s. Euclid, Elements, book II, propositions 12 and 13, give both diagonals.
"""

from fractions import Fraction
from typing import Any

import pytest

from sawready.calc.fit import NM, lean_of, parallelogram_lean_mm, parallelogram_misfit_mm
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.as_json import result_dict

EXACT = [
    (1085, 600, 40, 1275, 1205),
    (995, 660, 6, 1199, 1189),
    (735, 720, 21, 1044, 1014),
    (625, 780, 40, 1025, 975),
    (1067, 840, 14, 1369, 1347),
    (1683, 840, 19, 1898, 1864),
    (980, 960, 28, 1392, 1352),
    (1122, 1040, 30, 1552, 1508),
    (966, 1080, 9, 1455, 1443),
    (1386, 1120, 18, 1796, 1768),
    (1208, 1140, 11, 1669, 1653),
]
"""Width, height, lean and both diagonals, all whole: d1^2 = (w + s)^2 + h^2, d2^2 = (w - s)^2 + h^2."""


@pytest.mark.parametrize(("width", "height", "lean", "long", "short"), EXACT)
def test_the_constructions_are_exact(width: int, height: int, lean: int, long: int, short: int) -> None:
    assert (width + lean) ** 2 + height**2 == long**2
    assert (width - lean) ** 2 + height**2 == short**2
    assert long**2 + short**2 == 2 * (width**2 + height**2 + lean**2)


@pytest.mark.parametrize(("width", "height", "lean", "long", "short"), EXACT)
def test_the_lean_comes_out_whole(width: int, height: int, lean: int, long: int, short: int) -> None:
    for one, other in ((long, short), (short, long)):
        found = parallelogram_lean_mm(
            diagonal_1_mm=Fraction(one), diagonal_2_mm=Fraction(other), side_mm=Fraction(width)
        )
        assert found == lean
    misfit = parallelogram_misfit_mm(
        diagonal_1_mm=long, diagonal_2_mm=short, lean_mm=lean, width_mm=width, height_mm=height
    )
    assert misfit == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("width", "height", "lean", "long", "short"), EXACT)
def test_a_sloping_head_leans_in_the_height(
    width: int, height: int, lean: int, long: int, short: int
) -> None:
    """The same figure lying on its side: jambs plumb, head and sill slope by the lean."""
    found = lean_of(
        widths_nm=[height * NM],
        heights_nm=[width * NM],
        diagonals_nm=(long * NM, short * NM),
        is_head_sloping=True,
        differ_from_nm=5 * NM,
    )
    assert found.nm == lean * NM
    assert found.misfit_nm == 0


def _worked(catalogue: Catalogue, **opening: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    head = {
        "order_ref": "P-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
    }
    order = {**head, "openings": [{**base, **opening}]}
    told: dict[str, Any] = result_dict(check_order(order, catalogue=catalogue))["openings"][0]
    return told


@pytest.mark.parametrize(("width", "height", "lean", "long", "short"), EXACT)
def test_the_frame_is_smaller_by_the_whole_lean(
    catalogue: Catalogue, width: int, height: int, lean: int, long: int, short: int
) -> None:
    told = _worked(catalogue, widths=[width], heights=[height], diagonals=[short, long])
    assert told["frame"] is not None
    assert told["frame"]["width_mm"] == width - lean - 10
    assert told["frame"]["height_mm"] == height - 10
    assert "diagonals-disagree" not in {found["reason"] for found in told["findings"]}


@pytest.mark.parametrize(
    ("width", "height", "slip"),
    [pytest.param(800, 2000, 10.8, id="tall"), pytest.param(1800, 1000, 4.6, id="wide")],
)
def test_8_mm_between_diagonals_is_not_one_lean(width: int, height: int, slip: float) -> None:
    """Trade facts, derived there by exact geometry: 10.8 mm of slip in 800 x 2000, 4.6 mm in 1800 x 1000."""
    mean = Fraction(round((width**2 + height**2) ** 0.5 * 10**6), 10**6)
    lean = parallelogram_lean_mm(diagonal_1_mm=mean + 4, diagonal_2_mm=mean - 4, side_mm=Fraction(width))
    assert float(lean) == pytest.approx(slip, abs=0.05)


def test_the_survey_example_of_23_mm_between_diagonals(catalogue: Catalogue) -> None:
    """Survey notes: 1958/1935 on means of 1509 x 1229, least width 1507: lean 15, frame 1482 at most."""
    told = _worked(catalogue, widths=[1510, 1507, 1510], heights=[1229], diagonals=[1958, 1935])
    assert told["frame"]["width_mm"] == 1482
    stated = _worked(
        catalogue, widths=[1510, 1507, 1510], heights=[1229], diagonals=[1958, 1935], frame={"width": 1497}
    )
    assert "frame-will-not-stand-plumb" in {found["reason"] for found in stated["findings"]}


def test_a_width_100_mm_out_cannot_belong_to_its_diagonals(catalogue: Catalogue) -> None:
    """Survey notes: widths 1609, height 1229, diagonals 1946; 1509 would agree."""
    wrong = _worked(catalogue, widths=[1609], heights=[1229], diagonals=[1946, 1946])
    right = _worked(catalogue, widths=[1509], heights=[1229], diagonals=[1946, 1946])
    causes = {found["reason"]: found for found in wrong["findings"] if found["severity"] == "query"}
    assert set(causes) == {"reading-step-slip"}  # the cause is told in place of diagonals-disagree
    assert causes["reading-step-slip"]["candidates"] == [1509.0]
    assert "diagonals-disagree" not in {found["reason"] for found in right["findings"]}
