"""Places in an order: from a field as the sizes see it to the pointer where the order states it."""

from collections.abc import Set as AbstractSet
from typing import Final

from sawready.calc.plan import Plan

NO_SIZE: Final = "a light of the window has no size"
"""Why nothing is worked out of a window whose frame leaves nothing for some light."""

_SIDED = frozenset({"gap", "extenders", "to_come", "door_beside"})
_OTHER = {
    "left": "right",
    "right": "left",
    "horn_left": "horn_right",
    "horn_right": "horn_left",
}


def as_written(
    path: str, *, base: str, is_turned: bool, from_defaults: AbstractSet[str], heights: int
) -> str:
    """Pointer of a field in the order as the firm wrote it.

    Args:
        path: field relative to the opening, in the view from outside, such as ``gap/left``.
        base: pointer of the opening.
        is_turned: the order is written from inside, so left and right stand the other way round.
        from_defaults: fields of the opening that the order's ``defaults`` supply.
        heights: how many height readings were given.
    Returns: an RFC 6901 pointer.
    """
    if not path:
        return base
    parts = path.split("/")
    if is_turned and len(parts) > 1:
        head, tail = parts[0], parts[1]
        if (head in _SIDED or head == "sill") and tail in _OTHER:
            parts[1] = _OTHER[tail]
        elif head == "heights" and tail.isdigit():
            parts[1] = str(heights - 1 - int(tail))
        elif head == "diagonals" and tail.isdigit():
            parts[1] = str(1 - int(tail))
    root = "/defaults" if parts[0] in from_defaults else base
    return "/".join((root, *parts))


def light_in_words(plan: Plan, number: int) -> str:
    """A light as a message names it, seen from outside, such as ``the fixed light``."""
    name, count = plan.lights[number].light.name, len(plan.lights)
    return f"the {name} light" if count == 1 else f"light {number + 1} of {count} ({name}, from outside)"
