"""Where the fixing holes go along one side of a frame."""

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

_MOST_HOLES: Final = 40
"""Holes on one side past which the search stops; far beyond any frame that can be made."""


@dataclass(frozen=True, slots=True, eq=False)
class FixingFigures:
    """The rulebook's figures. [the unit of the lengths]

    Attributes:
        corner: first and last hole from the corner.
        corner_most: greatest distance where a divider forbids the usual one.
        centres_most: greatest spacing.
        from_divider: least distance from the centre line of a divider.
        least: least number of holes a side.
    """

    corner: int
    corner_most: int
    centres_most: int
    from_divider: int
    least: int


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Positions from the top or the left, and the rules that no set of holes can keep.

    Attributes:
        at: positions, ascending.
        broken: names of the rules that this set breaks: ``too-short``, ``corner``, ``divider``,
            ``centres``; empty where it keeps them all.
        where: position that a broken rule is about.
    """

    at: tuple[Fraction, ...]
    broken: tuple[str, ...] = ()
    where: Fraction | None = None


@lru_cache(maxsize=4096)
def holes(*, length: int, dividers: tuple[int | Fraction, ...], figures: FixingFigures) -> Holes:
    """Fixing holes along one side.

    With no divider in the way they are evenly spaced, as few as the greatest spacing allows. Otherwise,
    in this order: corner holes at the usual distance (farther only where a divider forbids it), the
    fewest holes, the smallest greatest spacing, positions nearest the even ones.

    Formula: n = max(2, ceil((L - 2 corner) / centres) + 1)

    Args:
        length: length of the side. [any unit, the same throughout]
        dividers: centre lines of the dividers that meet the side.
        figures: the rulebook's figures in that unit.
    Returns: the holes; where no set keeps every rule, the best set and the rules it breaks.
    Example:
        >>> figures = FixingFigures(corner=150, corner_most=250, centres_most=600, from_divider=150, least=2)
        >>> [float(place) for place in holes(length=1220, dividers=(), figures=figures).at]
        [150.0, 610.0, 1070.0]

    Source: NHBC Standards 6.7.11; evenness is common practice. Checked in tests/published/test_fixings.py.
    """
    unit = _DIVIDES * math.lcm(*(divider.denominator for divider in dividers))
    found = _search(
        length * unit,
        sorted(int(divider * unit) for divider in dividers),
        FixingFigures(
            corner=figures.corner * unit,
            corner_most=figures.corner_most * unit,
            centres_most=figures.centres_most * unit,
            from_divider=figures.from_divider * unit,
            least=figures.least,
        ),
    )
    at, broken, where = found
    return Holes(
        tuple([Fraction(place, unit) for place in at]),
        tuple(dict.fromkeys(broken)),
        None if where is None else Fraction(where, unit),
    )


_DIVIDES: Final = math.lcm(*range(1, _MOST_HOLES))
"""Every stretch counted in parts of this size can be split evenly between any number of holes, exactly."""

_Found = tuple[tuple[int, ...], list[str], int | None]
"""Positions, rules that they break, position that a broken rule is about."""


def _search(total: int, marks: list[int], figures: FixingFigures) -> _Found:
    """The holes of a side, all lengths in parts that can be split evenly."""
    first, first_broken = _corner(marks, figures)
    last_back, last_broken = _corner(sorted(total - mark for mark in marks), figures)
    last = total - last_back
    if last <= first:
        return (total // 2,), ["too-short"], total
    broken: list[str] = []
    where: int | None = None
    for is_broken, place in ((first_broken, first), (last_broken, last)):
        if is_broken:
            broken.append("corner")
            where = place if where is None else where
    barred = _barred(marks, figures.from_divider, first, last)
    least = max(2, figures.least, _at_least(last - first, figures.centres_most))
    even = _even(first, last, least)
    if all(_is_free(place, barred) for place in even):
        return even, broken, where
    fewest: tuple[int, tuple[int, ...]] | None = None
    for count in range(max(2, figures.least), _MOST_HOLES):
        spacing = _smallest_spacing(first, last, count, barred)
        if fewest is not None and fewest[0] <= spacing:
            continue
        at = _nearest_even(first, last, count, spacing, barred)
        if at is None:
            continue
        if spacing <= figures.centres_most:
            return at, broken, where
        fewest = (spacing, at)
    if fewest is None:
        return even, [*broken, "divider"], next(place for place in even if not _is_free(place, barred))
    at = fewest[1]
    wide = next((one for one, other in itertools.pairwise(at) if other - one > figures.centres_most), first)
    return at, [*broken, "centres"], wide if where is None else where


def _at_least(span: int, most: int) -> int:
    """Fewest holes that keep the greatest spacing on a clear side."""
    return -(-span // most) + 1


def _corner(marks: list[int], figures: FixingFigures) -> tuple[int, bool]:
    """Corner hole from its corner, and whether a divider leaves it no place."""
    place = figures.corner
    while place <= figures.corner_most:
        near = next((mark for mark in marks if abs(place - mark) < figures.from_divider), None)
        if near is None:
            return place, False
        place = near + figures.from_divider
    return figures.corner, True


def _barred(marks: list[int], distance: int, first: int, last: int) -> tuple[tuple[int, int], ...]:
    """Open stretches between the corner holes in which no hole may stand, merged."""
    merged: list[tuple[int, int]] = []
    for mark in marks:
        low, high = mark - distance, mark + distance
        if high <= first or low >= last:
            continue
        if merged and low < merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return tuple(merged)


def _is_free(place: int, barred: Iterable[tuple[int, int]]) -> bool:
    return all(not low < place < high for low, high in barred)


def _even(first: int, last: int, count: int) -> tuple[int, ...]:
    return tuple(first + (last - first) * number // (count - 1) for number in range(count))


def _reaches(
    first: int,
    last: int,
    count: int,
    spacing: int,
    barred: tuple[tuple[int, int], ...],
) -> bool:
    """Whether ``count`` holes, each as far on as may be, get from the first to the last."""
    place = first
    for _ in range(count - 1):
        if last - place <= spacing:
            return True
        place = place + spacing
        for low, high in barred:
            if low < place < high:
                place = low
                break
    return False


def _smallest_spacing(first: int, last: int, count: int, barred: tuple[tuple[int, int], ...]) -> int:
    """Smallest greatest spacing of ``count`` holes; it is a stretch between two stops, split evenly."""
    stops = sorted({first, last, *(edge for pair in barred for edge in pair if first < edge < last)})
    sizes = sorted(
        {
            (high - low) // parts
            for number, low in enumerate(stops)
            for high in stops[number + 1 :]
            for parts in range(1, count)
        }
    )
    low, high = 0, len(sizes) - 1  # the last is the whole stretch, which two holes keep
    while low < high:
        middle = (low + high) // 2
        if _reaches(first, last, count, sizes[middle], barred):
            high = middle
        else:
            low = middle + 1
    return sizes[low]


def _nearest_even(
    first: int,
    last: int,
    count: int,
    spacing: int,
    barred: tuple[tuple[int, int], ...],
) -> tuple[int, ...] | None:
    """The holes that keep a spacing and lie nearest the even ones, by the sum of the distances.

    None where there is no room for so many.

    The best places are even ones, edges of barred stretches, or whole spacings away from either, since
    the sum of distances is least at a corner of what is allowed.
    """
    even = _even(first, last, count)
    anchors = {first, last, *even, *(edge for pair in barred for edge in pair)}
    places = sorted(
        {
            place
            for anchor in anchors
            for steps in range(-count, count + 1)
            if first <= (place := anchor + steps * spacing) <= last and _is_free(place, barred)
        }
    )
    best: dict[int, tuple[int, tuple[int, ...]]] = {first: (0, (first,))}
    for number in range(1, count):
        allowed = [last] if number == count - 1 else places
        following: dict[int, tuple[int, tuple[int, ...]]] = {}
        for place in allowed:
            chains = [found for before, found in best.items() if 0 < place - before <= spacing]
            if chains:
                cost, chain = min(chains)
                following[place] = cost + abs(place - even[number]), (*chain, place)
        best = following
    return best[last][1] if last in best else None
