"""Fixing holes by the rules of a published standard.

Source: NHBC Standards, chapter 6.7, clause 6.7.11 Installation (web edition as read in November 2026), by
its figures: first fixing 150 to 250 mm from the external corner; intermediate fixings at no more than
600 mm centres; none nearer than 150 mm to the centre line of a mullion or transom; at least two on each
jamb and on the sill member. That they are evenly spaced is common practice, no source. Local codes and the
system company's manual go before these figures.
"""

from fractions import Fraction
from itertools import pairwise

import pytest

from sawready.calc.fixing import FixingFigures, Holes, holes
from sawready.catalogue.load import Catalogue

NM = 1_000_000


@pytest.fixture(scope="module")
def figures(catalogue: Catalogue) -> FixingFigures:
    """The rulebook's figures in whole millimetres."""
    rulebook = catalogue.rulebook("england")
    assert rulebook is not None
    fixings = rulebook.fixings
    return FixingFigures(
        corner=fixings.corner_nm // NM,
        corner_most=fixings.corner_most_nm // NM,
        centres_most=fixings.centres_most_nm // NM,
        from_divider=fixings.from_divider_nm // NM,
        least=fixings.least_per_side,
    )


def test_the_rulebook_holds_the_figures_of_the_standard(figures: FixingFigures) -> None:
    held = (figures.corner, figures.corner_most, figures.centres_most, figures.from_divider, figures.least)
    assert held == (150, 250, 600, 150, 2)


@pytest.mark.parametrize(
    ("length", "places"),
    [
        (301, [150, 151]),
        (600, [150, 450]),
        (900, [150, 750]),  # 600 between: two do
        (901, [150, 450.5, 751]),  # 601 between: three
        (1220, [150, 610, 1070]),
        (1500, [150, 750, 1350]),
        (1501, [150, 550.333, 950.667, 1351]),
        (1798, [150, 649.333, 1148.667, 1648]),
        (2100, [150, 750, 1350, 1950]),
        (2400, [150, 675, 1200, 1725, 2250]),
    ],
)
def test_a_side_without_dividers(figures: FixingFigures, length: int, places: list[float]) -> None:
    found = holes(length=length, dividers=(), figures=figures)
    assert [float(place) for place in found.at] == pytest.approx(places, abs=0.001)
    assert found.broken == ()


def _keeps_the_standard(found: Holes, length: int, dividers: tuple[int, ...]) -> None:
    first, last = found.at[0], found.at[-1]
    assert 150 <= first <= 250
    assert 150 <= length - last <= 250
    assert all(0 < after - before <= 600 for before, after in pairwise(found.at))
    assert all(abs(place - divider) >= 150 for place in found.at for divider in dividers)
    assert len(found.at) >= 2


@pytest.mark.parametrize("length", range(310, 2500, 37))
@pytest.mark.parametrize("share", [Fraction(1, 5), Fraction(1, 3), Fraction(1, 2), Fraction(4, 5)])
def test_a_side_with_a_divider_keeps_every_rule_or_says_which_it_breaks(
    figures: FixingFigures, length: int, share: Fraction
) -> None:
    divider = round(length * share)
    found = holes(length=length, dividers=(divider,), figures=figures)
    if found.broken:
        assert found.where is not None
        assert set(found.broken) <= {"too-short", "corner", "divider", "centres"}
    else:
        _keeps_the_standard(found, length, (divider,))


@pytest.mark.parametrize(
    ("length", "dividers", "places"),
    [
        pytest.param(1300, (650,), [150, 483.333, 816.667, 1150], id="beside a divider three cannot span it"),
        pytest.param(1200, (550,), [150, 700, 1050], id="the middle one moves past the divider"),
        pytest.param(1200, (650,), [150, 500, 1050], id="the middle one stays short of the divider"),
        pytest.param(1220, (400,), [150, 610, 1070], id="clear of the even ones"),
        pytest.param(1400, (100,), [250, 750, 1250], id="corner hole moved to 250"),
        pytest.param(1400, (60,), [210, 730, 1250], id="corner hole moved to 210"),
    ],
)
def test_worked_sides_with_dividers(
    figures: FixingFigures, length: int, dividers: tuple[int, ...], places: list[float]
) -> None:
    found = holes(length=length, dividers=dividers, figures=figures)
    assert [float(place) for place in found.at] == pytest.approx(places, abs=0.001)
    assert found.broken == ()
    _keeps_the_standard(found, length, dividers)


def test_a_divider_that_leaves_the_corner_no_place_is_told(figures: FixingFigures) -> None:
    """A transom 200 mm from the corner bars everything from 50 to 350 mm."""
    found = holes(length=1500, dividers=(200,), figures=figures)
    assert found.broken == ("corner",)
    assert found.at[0] == 150
