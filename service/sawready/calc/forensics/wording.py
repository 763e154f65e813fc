"""Suspicions in words: why a value fits, and the one sentence that asks the surveyor."""

from typing import Final

from sawready.calc.forensics.model import Numbers

__all__ = ["join", "length", "place_name"]

ENDS: Final = {"widths": ("top", "middle", "bottom"), "heights": ("left", "middle", "right")}
ORDER: Final = ("first", "second", "third")
SIDES: Final = {"widths": "width", "heights": "height"}


def length(value_mm: float) -> str:
    """A length in millimetres as a sentence shows it: whole, or to a tenth.

    Example:
        >>> length(1447.8), length(1507.0)
        ('1447.8', '1507')
    """
    return f"{value_mm:.1f}".removesuffix(".0")


def join(parts: list[str], word: str = "and") -> str:
    """Parts of a sentence as people list them.

    Example:
        >>> join(["1203", "1204", "both diagonals"])
        '1203, 1204 and both diagonals'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} {word} {parts[-1]}"


def place_name(field: str, numbers: Numbers) -> str:
    """What people call a place of an opening, without an article.

    Example:
        >>> place_name("widths/1", Numbers((1.0, 2.0, 3.0), (4.0,), (), None, None))
        'middle width'
    """
    group, _, place = field.partition("/")
    if group == "frame":
        return f"ordered frame {place}"
    if group == "inside":
        return f"inside {place}"
    if group == "diagonals":
        if not place or len(numbers.diagonals) < 2:
            return "diagonal" if place else "diagonals"
        return f"{ORDER[int(place)]} diagonal"
    readings = numbers.widths if group == "widths" else numbers.heights
    side = SIDES[group]
    if not place:
        return f"{side} readings"
    if len(readings) == 1:
        return side
    if len(readings) == 3:
        return f"{ENDS[group][int(place)]} {side}"
    return f"{ORDER[int(place)]} {side}"
