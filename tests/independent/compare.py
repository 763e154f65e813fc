"""Compares a result of the program, as its published JSON form, with the independent calculation."""

from fractions import Fraction
from itertools import pairwise
from typing import Any

from independent.fixings import is_clear

WITHIN_MM = Fraction(5, 100)
WITHIN_KG = Fraction(1, 100)
FRAME_FAULTS = {"frame-too-wide", "frame-too-tall", "frame-will-not-stand-plumb"}
CAUSES = {
    "average-reading-used",
    "measured-to-wrong-face",
    "reading-digits-swapped",
    "reading-step-slip",
    "reading-unit-slip",
    "sill-height-forgotten",
    "width-height-swapped",
}
"""Reasons that name why a frame does not fit, and are told in its place (contract, section 4)."""

SLACK_MM = Fraction(1, 1000)  # a spacing found by halving, beside one that the report rounds to 0.1 mm


def differences(told: dict[str, Any], own: dict[str, Any]) -> list[str]:
    """What an opening of the result and the own calculation disagree on, in words.

    Args:
        told: an opening of the program's result, numbers read as Decimal.
        own: what `work_out` gives for it.
    """
    said = {finding["reason"] for finding in told["findings"] if finding["severity"] == "reject"}
    found = _judged_alike(told, own["rejects"])
    found += _lengths("frame", (told["frame"]["width_mm"], told["frame"]["height_mm"]), own["frame"])
    sides = [told["clearance"][f"{side}_mm"] for side in ("left", "right", "top", "bottom")]
    found += _lengths("clearance", sides, own["clearance"])
    if said:
        empty = [told[key] for key in ("lights", "pieces", "beads", "glass")]
        if empty != [[], [], [], []] or told["sill"] is not None or told["fixings"] is not None:
            found.append("a rejected opening carries something to cut")
        return found
    if (told["sill"] is None) != (own["sill"] is None):
        found.append(f"sill {told['sill']}, here {own['sill']}")
    elif own["sill"]:
        if told["sill"]["profile"] != own["sill"][0]:
            found.append(f"sill {told['sill']}, here {own['sill']}")
        found += _lengths("sill", [told["sill"]["length_mm"]], [own["sill"][1]])
    found += _pieces("pieces", told["pieces"], own["pieces"])
    found += _pieces("beads", told["beads"], own["beads"])
    found += _lights(told, own)
    for side in ("left", "right", "top", "bottom"):
        found += _holes(
            side, told["fixings"][side], own["fixings"][side], own["fixings"]["rules"], told["findings"]
        )
    return found


def _judged_alike(told: dict[str, Any], rejects: set[str]) -> list[str]:
    """Whether both reject for the same reasons; a cause may stand for a frame that does not fit."""
    said = {finding["reason"] for finding in told["findings"] if finding["severity"] == "reject"}
    causes = {finding["reason"] for finding in told["findings"]} & CAUSES
    missed = rejects - said - (FRAME_FAULTS if causes else set())
    added = said - rejects - (CAUSES if rejects & FRAME_FAULTS else set())
    if missed or added:
        return [f"rejected for {sorted(said)}, here {sorted(rejects)}"]
    if rejects and told["decision"] == "accepted":
        return [f"accepted, here rejected for {sorted(rejects)}"]
    return []


def _lengths(what: str, told: Any, own: Any) -> list[str]:
    if len(told) != len(own):
        return [f"{what}: {len(told)} lengths, here {len(own)}"]
    return [
        f"{what} [{place}]: {one}, here {float(other):.4f}"
        for place, (one, other) in enumerate(zip(told, own, strict=True))
        if one is None or abs(Fraction(one) - other) > WITHIN_MM
    ]


def _pieces(what: str, told: Any, own: Any) -> list[str]:
    theirs = [(piece["part"], piece["profile"], piece["ends"], piece["light"]) for piece in told]
    mine = [(part, profile, ends, light) for part, profile, _, ends, light in own]
    if theirs != mine:
        return [f"{what}: {theirs}, here {mine}"]
    return _lengths(what, [piece["length_mm"] for piece in told], [piece[2] for piece in own])


def _lights(told: Any, own: Any) -> list[str]:
    if len(told["lights"]) != len(own["lights"]) or len(told["glass"]) != len(own["glass"]):
        return [f"{len(told['lights'])} lights, here {len(own['lights'])}"]
    found = []
    for number, (one, other) in enumerate(zip(told["lights"], own["lights"], strict=True)):
        what, pane = f"light {number}", told["glass"][number]
        if (one["light"], one["hinge"]) != (other["light"], other["hinge"]):
            found.append(f"{what}: {one['light']} {one['hinge']}, here {other['light']} {other['hinge']}")
        found += _lengths(f"{what} daylight", one["daylight_mm"], other["daylight"])
        if (one["sash_mm"] is None) != (other["sash"] is None):
            found.append(f"{what}: sash {one['sash_mm']}, here {other['sash']}")
        elif other["sash"]:
            found += _lengths(f"{what} sash", one["sash_mm"], other["sash"])
            if abs(Fraction(one["sash_kg"]) - other["sash_kg"]) > WITHIN_KG:
                found.append(f"{what}: sash {one['sash_kg']} kg, here {float(other['sash_kg']):.4f}")
        if (
            tuple(one["glass_mm"]) != other["glass"]
            or (pane["width_mm"], pane["height_mm"]) != other["glass"]
        ):
            found.append(f"{what}: glass {one['glass_mm']}, here {other['glass']}")
        if (
            pane["light"] != number
            or pane["kg"] != one["glass_kg"]
            or abs(Fraction(pane["kg"]) - other["glass_kg"]) > WITHIN_KG
        ):
            found.append(f"{what}: glass {pane['kg']} kg, here {float(other['glass_kg']):.4f}")
    return found


def _holes(side: str, told: Any, own: Any, rules: Any, findings: Any) -> list[str]:
    kind, want, long, centres = own
    if kind == "none":
        return [] if not told else [f"holes {side}: {told}, here none"]
    if kind == "even":
        return _lengths(f"holes {side}", told, want)
    impossible = any(finding["reason"] == "fixing-not-possible" for finding in findings)
    if want is None:
        return (
            []
            if impossible and told
            else [f"holes {side} of {float(long)}: {told}, here none keeps the rules {_mm(centres)}"]
        )
    holes = [Fraction(hole) for hole in told]
    gaps = [after - before for before, after in pairwise(holes)]
    blunt = {**rules, "clear": rules["clear"] - WITHIN_MM}
    wrong = (
        abs(holes[0] - want["first"]) > WITHIN_MM
        or abs(holes[-1] - want["last"]) > WITHIN_MM
        or len(holes) != want["count"]
        or abs(max(gaps) - want["spacing"]) > 2 * WITHIN_MM + SLACK_MM
        or not all(is_clear(hole, centres, blunt) for hole in holes)
    )
    here = {key: float(value) for key, value in want.items()}
    return [f"holes {side} of {float(long)}: {told}, here {here} {_mm(centres)}"] if wrong else []


def _mm(values: Any) -> list[float]:
    return [float(value) for value in values]
