"""Fixing holes along one side: the even case outright, the shifted case by what the rules allow."""

from fractions import Fraction
from math import ceil
from typing import Any


def side_rules(rulebook: Any) -> dict[str, Fraction]:
    """The figures of the rulebook that holes follow."""
    fixings = rulebook["fixings"]
    return {
        "corner": Fraction(fixings["corner_mm"]["value"]),
        "corner_most": Fraction(fixings["corner_mm"]["most"]),
        "centres": Fraction(fixings["centres_most_mm"]["value"]),
        "clear": Fraction(fixings["from_divider_mm"]["value"]),
        "least": Fraction(fixings["least_per_side"]["value"]),
        "head_from": Fraction(fixings["head_and_bottom_from_mm"]["value"]),
    }


def even_holes(side: Fraction, rules: dict[str, Fraction]) -> list[Fraction]:
    """Holes with no divider in the way."""
    between = side - 2 * rules["corner"]
    count = max(int(rules["least"]), ceil(between / rules["centres"]) + 1)
    return [rules["corner"] + step * between / (count - 1) for step in range(count)]


def is_clear(hole: Fraction, dividers: list[Fraction], rules: dict[str, Fraction]) -> bool:
    """Whether a hole keeps its distance from every divider."""
    return all(abs(hole - divider) >= rules["clear"] for divider in dividers)


def corner_hole(dividers: list[Fraction], rules: dict[str, Fraction]) -> Fraction | None:
    """The corner hole as near to its usual place as dividers allow, measured from its own corner."""
    allowed = [rules["corner"], *(divider + rules["clear"] for divider in dividers)]
    allowed = [
        hole
        for hole in sorted(allowed)
        if rules["corner"] <= hole <= rules["corner_most"] and is_clear(hole, dividers, rules)
    ]
    return allowed[0] if allowed else None


def furthest(
    start: Fraction, reach: Fraction, end: Fraction, dividers: list[Fraction], rules: Any
) -> Fraction | None:
    """The furthest clear place within reach, no further than the last hole; None where there is none."""
    place = min(start + reach, end)
    for divider in sorted(dividers, reverse=True):
        if divider - rules["clear"] < place < divider + rules["clear"]:
            place = divider - rules["clear"]
    return place if place > start else None


def holes_needed(
    first: Fraction, last: Fraction, reach: Fraction, dividers: list[Fraction], rules: Any
) -> int | None:
    """Fewest holes from first to last with no spacing over the reach; None where there is no way."""
    count, place = 1, first
    while place < last:
        step = furthest(place, reach, last, dividers, rules)
        if step is None:
            return None
        place, count = step, count + 1
    return count


def best_set(side: Fraction, dividers: list[Fraction], rules: dict[str, Fraction]) -> dict[str, Any] | None:
    """Corner holes, fewest holes, smallest greatest spacing to 0.0001 mm; None if no set keeps the rules."""
    first = corner_hole(dividers, rules)
    from_end = corner_hole([side - divider for divider in dividers], rules)
    if first is None or from_end is None or side - from_end <= first:
        return None
    last = side - from_end
    count = holes_needed(first, last, rules["centres"], dividers, rules)
    if count is None:
        return None
    count = max(count, int(rules["least"]))
    low, high = Fraction(0), rules["centres"]
    while high - low > Fraction(1, 10000):
        middle = (low + high) / 2
        needed = holes_needed(first, last, middle, dividers, rules)
        if needed is not None and needed <= count:
            high = middle
        else:
            low = middle
    return {"first": first, "last": last, "count": count, "spacing": high}
