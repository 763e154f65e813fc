"""Where the fixing holes go along one side of a frame."""

import itertools
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


@lru_cache(maxsize=16384)
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
    total = Fraction(length)
    marks = sorted(Fraction(divider) for divider in dividers)
    first, first_broken = _corner(marks, figures)
    last_back, last_broken = _corner(sorted(total - mark for mark in marks), figures)
    last = total - last_back
    if last <= first:
        return Holes((total / 2,), ("too-short",), total)
    broken: list[str] = []
    where: Fraction | None = None
    for is_broken, place in ((first_broken, first), (last_broken, last)):
        if is_broken:
            broken.append("corner")
            where = place if where is None else where
    barred = _barred(marks, figures.from_divider, first, last)
    least = max(2, figures.least, _at_least(last - first, figures.centres_most))
    even = _even(first, last, least)
    if all(_is_free(place, barred) for place in even):
        return Holes(even, tuple(dict.fromkeys(broken)), where)
    fewest: tuple[Fraction, tuple[Fraction, ...]] | None = None
    for count in range(max(2, figures.least), _MOST_HOLES):
        spacing = _smallest_spacing(first, last, count, barred)
        if fewest is not None and fewest[0] <= spacing:
            continue
        at = _nearest_even(first, last, count, spacing, barred)
        if at is None:
            continue
        if spacing <= figures.centres_most:
            return Holes(at, tuple(dict.fromkeys(broken)), where)
        fewest = (spacing, at)
    if fewest is None:
        return Holes(
            even, (*dict.fromkeys(broken), "divider"), next(p for p in even if not _is_free(p, barred))
        )
    at = fewest[1]
    wide = next((one for one, other in itertools.pairwise(at) if other - one > figures.centres_most), first)
    return Holes(at, (*dict.fromkeys(broken), "centres"), wide if where is None else where)


def _at_least(span: Fraction, most: int) -> int:
    """Fewest holes that keep the greatest spacing on a clear side."""
    return -(-span.numerator // (span.denominator * most)) + 1


def _corner(marks: list[Fraction], figures: FixingFigures) -> tuple[Fraction, bool]:
    """Corner hole from its corner, and whether a divider leaves it no place."""
    place = Fraction(figures.corner)
    while place <= figures.corner_most:
        near = next((mark for mark in marks if abs(place - mark) < figures.from_divider), None)
        if near is None:
            return place, False
        place = near + figures.from_divider
    return Fraction(figures.corner), True


def _barred(
    marks: list[Fraction], distance: int, first: Fraction, last: Fraction
) -> tuple[tuple[Fraction, Fraction], ...]:
    """Open stretches between the corner holes in which no hole may stand, merged."""
    merged: list[tuple[Fraction, Fraction]] = []
    for mark in marks:
        low, high = mark - distance, mark + distance
        if high <= first or low >= last:
            continue
        if merged and low < merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return tuple(merged)


def _is_free(place: Fraction, barred: Iterable[tuple[Fraction, Fraction]]) -> bool:
    return all(not low < place < high for low, high in barred)


def _even(first: Fraction, last: Fraction, count: int) -> tuple[Fraction, ...]:
    return tuple(first + (last - first) * number / (count - 1) for number in range(count))


def _reaches(
    first: Fraction,
    last: Fraction,
    count: int,
    spacing: Fraction,
    barred: tuple[tuple[Fraction, Fraction], ...],
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


def _smallest_spacing(
    first: Fraction, last: Fraction, count: int, barred: tuple[tuple[Fraction, Fraction], ...]
) -> Fraction:
    """Smallest greatest spacing of ``count`` holes; it is a stretch between two stops, split evenly."""
    stops = sorted({first, last, *(edge for pair in barred for edge in pair if first < edge < last)})
    sizes = sorted(
        {
            (high - low) / parts
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
    first: Fraction,
    last: Fraction,
    count: int,
    spacing: Fraction,
    barred: tuple[tuple[Fraction, Fraction], ...],
) -> tuple[Fraction, ...] | None:
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
    best: dict[Fraction, tuple[Fraction, tuple[Fraction, ...]]] = {first: (Fraction(0), (first,))}
    for number in range(1, count):
        allowed = [last] if number == count - 1 else places
        following: dict[Fraction, tuple[Fraction, tuple[Fraction, ...]]] = {}
        for place in allowed:
            chains = [
                (cost + abs(place - even[number]), (*chain, place))
                for before, (cost, chain) in best.items()
                if 0 < place - before <= spacing
            ]
            if chains:
                following[place] = min(chains)
        best = following
    return best[last][1] if last in best else None
