"""Suspicions that one look decides: copied readings, the wrong face, and inside sizes that do not match."""

from sawready.calc.forensics.changes import UNIT, unit_slips
from sawready.calc.forensics.explanation import SWAPPED, first_place
from sawready.calc.forensics.model import Numbers, SurveyedOpening, Suspect, SuspicionFigures
from sawready.calc.forensics.sight import Axis, axis_of
from sawready.calc.forensics.wording import length
from sawready.model.finding import NOTE, REJECT

__all__ = ["copied_readings", "inside_slips", "wrong_face"]


def copied_readings(opening: SurveyedOpening, figures: SuspicionFigures) -> Suspect | None:
    """Readings that look written down rather than measured.

    Three equal readings on both axes, all round, and diagonals equal where there are any: walls are
    never so. Equal readings that are not round happen in new walls and are left alone.

    Args:
        opening: the opening. [mm]
        figures: what counts as round.
    Returns: the remark, or None.
    """
    widths, heights = opening.widths_mm, opening.heights_mm
    if len(widths) != 3 or len(heights) != 3 or len(set(widths)) > 1 or len(set(heights)) > 1:
        return None
    width, height, round_to = widths[0], heights[0], figures.copied_round_to_mm
    if width is None or height is None or width % round_to or height % round_to:
        return None
    taped = {each for each in opening.diagonals_mm if each is not None}
    if len(taped) > 1:
        return None
    wide, high = length(width, opening.unit_mm), length(height, opening.unit_mm)
    also = ", and the diagonals are equal" if taped else ""
    return Suspect(
        reason="readings-look-copied",
        severity=NOTE,
        field="widths",
        measured_mm=width,
        candidates_mm=(),
        why=f"All three widths are {wide} and all three heights {high}, both round{also}; walls seldom are.",
        question=f"Were all three widths of {wide} and heights of {high} measured?",
    )


def wrong_face(measured_to: str) -> Suspect:
    """Readings taken to a face that no frame can be made from.

    Args:
        measured_to: the face, as the order names it.
    Returns: the suspect.
    """
    face = measured_to.replace("_", " ")
    return Suspect(
        reason="measured-to-wrong-face",
        severity=REJECT,
        field="measured_to",
        measured_mm=None,
        candidates_mm=(),
        why=f"The sizes are taken to the {face}; the frame has to pass the brick or render outside.",
        question=f"The sizes are taken to the {face}: what are they between brick or render, outside?",
    )


def inside_slips(opening: SurveyedOpening, numbers: Numbers, figures: SuspicionFigures) -> list[Suspect]:
    """Inside sizes in another unit, and inside and outside sizes that match only when turned.

    Args:
        opening: the opening. [mm]
        numbers: its numbers, with what the weighing named put right. [mm]
        figures: how far inside and outside usually differ.
    Returns: the suspects.
    """
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    within = figures.inside_differs_mm
    sides = (("width", opening.inside_width_mm, width), ("height", opening.inside_height_mm, height))
    off = [each for each in sides if each[1] is not None and abs(each[1] - each[2].mean) > within]
    found = [
        _inside_in_other_unit(name, inside, axis, opening, figures)
        for name, inside, axis in off
        if inside is not None
    ]
    if any(found):
        return [each for each in found if each is not None]
    turned = _turned_inside(opening, width, height, figures) if len(off) == 2 else None
    return [] if turned is None else [turned]


def _inside_in_other_unit(
    name: str, inside: float, axis: Axis, opening: SurveyedOpening, figures: SuspicionFigures
) -> Suspect | None:
    """An inside size that a unit brings near the outside one; both have to be windows in size."""
    if figures.size_least_mm <= inside <= figures.size_most_mm:
        return None
    for value, _, _ in unit_slips(inside, unit_mm=opening.unit_mm, figures=figures):
        if value > 0 and abs(value - axis.mean) <= figures.inside_differs_mm:
            was, near = length(inside, opening.unit_mm), length(value, opening.unit_mm)
            return Suspect(
                reason=UNIT,
                severity=REJECT,
                field=f"inside/{name}",
                measured_mm=inside,
                candidates_mm=(value,),
                why=f"{near} is near the outside {name} {length(axis.least, opening.unit_mm)}; {was} is not.",
                question=f"The inside {name} reads {was}: should it be {near}?",
            )
    return None


def _turned_inside(
    opening: SurveyedOpening, width: Axis, height: Axis, figures: SuspicionFigures
) -> Suspect | None:
    """Inside and outside sizes that match only when one of them is turned round."""
    across, up, within = opening.inside_width_mm, opening.inside_height_mm, figures.inside_differs_mm
    if across is None or up is None or abs(width.mean - height.mean) <= 2 * within:
        return None
    if min(across, up, width.least, height.least) < figures.size_least_mm:
        return None
    if abs(across - height.mean) > within or abs(up - width.mean) > within:
        return None
    wide, high = length(width.least, opening.unit_mm), length(height.least, opening.unit_mm)
    inside = f"{length(across, opening.unit_mm)} wide and {length(up, opening.unit_mm)} high"
    return Suspect(
        reason=SWAPPED,
        severity=REJECT,
        field="widths" if width.number > 1 else f"widths/{first_place(opening.widths_mm)}",
        measured_mm=width.least,
        candidates_mm=(height.least,),
        why=f"Inside the opening is {inside}: that agrees with {high} x {wide}, the outside turned round.",
        question=f"Outside the opening is {wide} wide and {high} high, inside {inside}: which way is right?",
    )
