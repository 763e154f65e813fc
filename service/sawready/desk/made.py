"""What a result has cut for each opening, and whether two results have the same cut."""

import hashlib
from collections.abc import Mapping
from typing import Any

import orjson


def openings_of(result: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """The openings of a published result by their references; those without one are left out."""
    return {each["opening_ref"]: each for each in result["openings"] if each["opening_ref"] is not None}


def mark_of(opening: Mapping[str, Any]) -> str:
    """A mark that two openings share only where the very same things are cut for both.

    The layout counts through its lights and pieces; sums in words and holes for the fitter do not.
    """
    pieces = [[piece[name] for name in piece if name != "working"] for piece in opening["pieces"]]
    beads = [[bead[name] for name in bead if name != "working"] for bead in opening["beads"]]
    lights = [[light["light"], light["hinge"]] for light in opening["lights"]]
    content = [opening["quantity"], lights, pieces, beads, opening["glass"], opening["sill"]]
    return hashlib.sha256(orjson.dumps(content)).hexdigest()


def marks_of(result: Mapping[str, Any]) -> dict[str, str]:
    """The mark of each opening."""
    return {ref: mark_of(opening) for ref, opening in openings_of(result).items()}


def size_of(opening: Mapping[str, Any] | None) -> str:
    """An opening's frame in words."""
    frame = None if opening is None else opening["frame"]
    if frame is None or frame["width_mm"] is None or frame["height_mm"] is None:
        return "no size"
    return f"{frame['width_mm']:g} x {frame['height_mm']:g} mm"


def differences(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """What of two results of an order is cut differently, in words.

    Args:
        old: a published result.
        new: a later one.
    """
    before, after = openings_of(old), openings_of(new)
    told: list[str] = []
    for ref in [*before, *(each for each in after if each not in before)]:
        one, other = before.get(ref), after.get(ref)
        if one is None:
            told.append(f"{ref} is new")
        elif other is None:
            told.append(f"{ref} is no longer in it")
        elif one["decision"] != other["decision"]:
            told.append(f"{ref} was {one['decision']} and is {other['decision']}")
        elif mark_of(one) != mark_of(other):
            sizes = size_of(one), size_of(other)
            told.append(
                f"{ref} has other pieces"
                if sizes[0] == sizes[1]
                else f"{ref} was {sizes[0]} and is {sizes[1]}"
            )
    return told
