"""Suspicions in words: lengths as the surveyor wrote them, and what people call a place."""

from typing import Final

from sawready.calc.forensics.model import Numbers

__all__ = ["join", "length", "place_name"]

ENDS: Final = {"widths": ("top", "middle", "bottom"), "heights": ("left", "middle", "right")}
ORDER: Final = ("first", "second", "third")
SIDES: Final = {"widths": "width", "heights": "height"}
SIXTEENTH: Final = 16


def length(value_mm: float, unit_mm: float = 1.0) -> str:
    """A length as a sentence shows it, in the unit that the order is written in.

    Millimetres stand bare, as the trade writes them; other units are named. Feet are shown as inches.

    Args:
        value_mm: the length. [mm]
        unit_mm: the order's unit. [mm]
    Example:
        >>> length(1447.8), length(1507.0), length(1507.0, 10.0), length(1200.15, 25.4)
        ('1447.8', '1507', '150.7 cm', '47 1/4 in')
    """
    if unit_mm == 10.0:
        return f"{round(value_mm / 10, 2):g} cm"
    if unit_mm == 1000.0:
        return f"{value_mm / 1000:.3f} m"
    if unit_mm in {25.4, 304.8}:
        return f"{_inches(value_mm / 25.4)} in"
    return f"{value_mm:.3f}".rstrip("0").rstrip(".")


def _inches(number: float) -> str:
    """Inches with a tape fraction where the number is one, else with two decimals."""
    parts = round(number * SIXTEENTH)
    if abs(parts / SIXTEENTH - number) > 0.002:
        return f"{number:.2f}"
    whole, rest = divmod(parts, SIXTEENTH)
    if not rest:
        return str(whole)
    below = SIXTEENTH
    while rest % 2 == 0:
        rest, below = rest // 2, below // 2
    return f"{whole} {rest}/{below}" if whole else f"{rest}/{below}"


def join(parts: list[str], word: str = "and") -> str:
    """Parts of a sentence as people list them.

    Example:
        >>> join(["1203", "1204", "both diagonals"])
        '1203, 1204 and both diagonals'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} {word} {parts[-1]}"


def place_name(field: str, numbers: Numbers) -> str:
    """What people call a place of an opening, without an article.

    Args:
        field: place in the opening, such as ``widths/1``.
        numbers: the opening's numbers, for how many readings there are.
    Example:
        >>> place_name("widths/1", Numbers((1.0, 2.0, 3.0), (4.0,), (), None, None))
        'middle width'
    """
    group, _, place = field.partition("/")
    if group == "frame":
        return f"ordered frame {place}"
    if group == "diagonals":
        if not place:
            return "diagonals"
        return f"{ORDER[int(place)]} diagonal" if len(numbers.diagonals) > 1 else "diagonal"
    readings = numbers.widths if group == "widths" else numbers.heights
    side = SIDES[group]
    if not place:
        return f"{side} readings"
    if len(readings) == 1:
        return side
    if len(readings) == 3:
        return f"{ENDS[group][int(place)]} {side}"
    return f"{ORDER[int(place)]} {side}"
