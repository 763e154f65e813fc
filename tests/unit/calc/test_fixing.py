"""Fixing holes along one side, beside an exhaustive search on a grid that holds the best set.

The wishes come in order (geometry, section 8): corner holes at their usual place, the fewest holes, the
smallest greatest spacing, positions nearest the even ones (by the sum of the distances).
"""

import random
from collections import deque
from fractions import Fraction
from itertools import pairwise
from math import lcm

import pytest

from independent.fixings import best_set
from sawready.calc.fixing import FixingFigures, Holes, holes

FIGURES = FixingFigures(corner=150, corner_most=250, centres_most=600, from_divider=150, least=2)
RULES = {
    "corner": Fraction(150),
    "corner_most": Fraction(250),
    "centres": Fraction(600),
    "clear": Fraction(150),
    "least": Fraction(2),
}


def place(length: int, *dividers: int, figures: FixingFigures = FIGURES) -> Holes:
    return holes(length=length, dividers=dividers, figures=figures)


def _least_distance(
    first: Fraction, last: Fraction, count: int, spacing: Fraction, dividers: tuple[int, ...]
) -> Fraction:
    """Least sum of distances from the even places that any set on a fine grid reaches, by trying them all.

    The grid is fine enough for the best set to lie on it: even places, edges of barred stretches, and whole
    spacings away from either.
    """
    scale = lcm(
        spacing.denominator,
        first.denominator,
        last.denominator,
        *(((last - first) * n / (count - 1)).denominator for n in range(count)),
    )
    low, high, reach = int(first * scale), int(last * scale), int(spacing * scale)
    size = high - low + 1
    never = float("inf")
    barred = bytearray(size)
    for divider in dividers:
        for spot in range(max(low, (divider - 150) * scale + 1), min(high, (divider + 150) * scale - 1) + 1):
            barred[spot - low] = 1
    cost: list[float] = [never] * size
    cost[0] = 0
    for number in range(1, count):
        even = Fraction(high - low) * number / (count - 1)
        following: list[float] = [never] * size
        window: deque[int] = deque()
        for spot in range(size):
            if spot:
                while window and cost[window[-1]] >= cost[spot - 1]:
                    window.pop()
                window.append(spot - 1)
            while window and window[0] < spot - reach:
                window.popleft()
            if window and not barred[spot] and cost[window[0]] < never:
                following[spot] = cost[window[0]] + abs(float(spot - even))
        cost = following
    return Fraction(cost[-1]) / scale


def _cases(seed: int, count: int) -> list[tuple[int, tuple[int, ...]]]:
    rng = random.Random(seed)
    found = []
    while len(found) < count:
        length = rng.randrange(400, 2600, 5)
        dividers = tuple(sorted({rng.randrange(70, length - 60, 5) for _ in range(rng.randint(1, 3))}))
        if best_set(Fraction(length), [Fraction(divider) for divider in dividers], RULES) is not None:
            found.append((length, dividers))
    return found


@pytest.mark.parametrize(("length", "dividers"), _cases(8, 120))
def test_the_set_is_the_best_in_the_order_of_the_wishes(length: int, dividers: tuple[int, ...]) -> None:
    best = best_set(Fraction(length), [Fraction(divider) for divider in dividers], RULES)
    assert best is not None
    found = place(length, *dividers)
    spacing = max(after - before for before, after in pairwise(found.at))
    assert found.broken == ()
    assert (found.at[0], found.at[-1]) == (best["first"], best["last"])
    assert len(found.at) == best["count"]
    assert float(spacing) == pytest.approx(float(best["spacing"]), abs=0.001)
    assert all(abs(hole - divider) >= 150 for hole in found.at for divider in dividers)
    first, last, holes_in_all = found.at[0], found.at[-1], len(found.at)
    even = [first + (last - first) * n / (holes_in_all - 1) for n in range(holes_in_all)]
    distance = sum(abs(hole - spot) for hole, spot in zip(found.at, even, strict=True))
    least = _least_distance(first, last, holes_in_all, spacing, dividers)
    assert float(distance) == pytest.approx(float(least), abs=1e-6)


def test_the_search_notices_a_set_that_is_not_the_best() -> None:
    """With a spacing to spare the even places are free, so a set away from them costs more."""
    assert _least_distance(Fraction(150), Fraction(1150), 3, Fraction(600), ()) == 0
    assert _least_distance(Fraction(150), Fraction(1150), 3, Fraction(650), (650,)) == 150


@pytest.mark.parametrize("length", [1, 299, 300])
def test_a_side_too_short_for_two_gets_one_in_the_middle(length: int) -> None:
    assert place(length) == Holes((Fraction(length, 2),), ("too-short",), Fraction(length)) or (
        place(length).at,
        place(length).broken,
        place(length).where,
    ) == ((Fraction(length, 2),), ("too-short",), Fraction(length))


def test_corner_holes_move_only_as_far_as_they_must() -> None:
    assert place(1500, 20).at[0] == 170
    assert place(1500, 99).at[0] == 249
    assert place(1500, 100).at[0] == 250
    assert place(1500, 1400).at[-1] == 1250


def test_a_second_divider_pushes_a_moved_corner_hole_on() -> None:
    found = place(2000, 10, 60)
    assert found.at[0] == 210
    assert found.broken == ()


def test_a_corner_without_a_place_is_told_with_its_place() -> None:
    upper, lower = place(1500, 200), place(1500, 1300)
    assert (upper.broken, upper.where, upper.at[0]) == (("corner",), 150, 150)
    assert (lower.broken, lower.where, lower.at[-1]) == (("corner",), 1350, 1350)


def test_both_corners_without_a_place_are_told_once() -> None:
    found = place(1500, 200, 1300)
    assert (found.broken, found.where) == (("corner",), 150)


def test_dividers_that_leave_a_stretch_without_a_hole_are_told() -> None:
    found = place(1500, 450, 700, 950)
    assert found.broken == ("centres",)
    assert found.where == max(pairwise(found.at), key=lambda pair: pair[1] - pair[0])[0]
    assert found.at[0] == 150
    assert found.at[-1] == 1350


def test_a_corner_and_a_stretch_are_both_told_and_the_corner_is_placed() -> None:
    found = place(1800, 200, 450, 700, 950, 1200, 1450)
    assert set(found.broken) == {"corner", "centres"}
    assert found.where == 150


def test_figures_of_another_rulebook_are_followed() -> None:
    figures = FixingFigures(corner=100, corner_most=200, centres_most=700, from_divider=100, least=3)
    assert place(900, figures=figures).at == (100, 450, 800)
    assert place(300, figures=figures).at == (100, 150, 200)


def test_places_touching_two_barred_stretches_are_free() -> None:
    """Dividers 300 apart leave the one place between them that is 150 from both."""
    found = place(1500, 600, 900)
    assert found.broken == ()
    assert 750 in found.at


def test_the_same_side_turned_over_has_its_holes_turned_over() -> None:
    rng = random.Random(3)
    for _ in range(40):
        length = rng.randrange(500, 2400)
        dividers = tuple(sorted({rng.randrange(80, length - 80) for _ in range(2)}))
        one, other = (
            place(length, *dividers),
            place(length, *(length - divider for divider in reversed(dividers))),
        )
        assert len(one.at) == len(other.at)
        assert max(b - a for a, b in pairwise(one.at)) == max(b - a for a, b in pairwise(other.at))


def test_more_dividers_than_a_window_can_have_still_end() -> None:
    found = place(30_000, *range(400, 29_600, 120))
    assert found.broken


def test_no_place_between_the_corners_at_all() -> None:
    """Every place between the corners is barred and even a long spacing does not span it."""
    figures = FixingFigures(corner=150, corner_most=250, centres_most=600, from_divider=150, least=3)
    found = place(700, 300, 400, figures=figures)
    assert "divider" in found.broken or "corner" in found.broken
