"""How an office may have come to a frame size that does not suit its aperture.

Each cause predicts a size to the millimetre; only a frame that hits the prediction is offered the cause,
and the weighing sets it against slips of pen and against a size that somebody simply chose.
"""

from math import floor, log
from typing import NamedTuple

from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.weighing import (
    Axis,
    axis_frame,
    axis_of,
    frame_part_mm,
    is_chosen_frame,
    is_gap_twice,
    lean_off_mm,
)

__all__ = ["FrameCause", "frame_causes", "worked_frame_mm"]


class FrameCause(NamedTuple):
    """A cause that predicts the stated frame on one axis.

    Attributes:
        reason: name in the catalogue of reasons.
        axis: ``width`` or ``height``.
        value_mm: what the frame would be without the mistake, as the order states frames. [mm]
        log_share: logarithm of how usual the mistake is.
        how: how the stated size came about, in words with its sum.
    """

    reason: str
    axis: str
    value_mm: float
    log_share: float
    how: str


def worked_frame_mm(numbers: Numbers, opening: SurveyedOpening, axis: str, figures: SuspicionFigures) -> float | None:
    """The frame that follows from the numbers, stated as the order states frames, or None.

    Formula: floor(least - lean - finishes - gaps - extenders - upstand), upstand back on where the
    stated height includes the sill.

    Source: geometry of the frame in its aperture, as calc.fit has it exactly.
    """
    readings = axis_of(numbers.widths if axis == "width" else numbers.heights)
    if readings is None:
        return None
    lean = lean_off_mm(numbers, opening, figures)[0 if axis == "width" else 1]
    if axis == "width":
        taken = opening.width_gap_mm + opening.width_extenders_mm + opening.width_to_come_mm
        return float(floor(readings.least - lean - taken + 1e-9))
    taken = opening.height_gap_mm + opening.height_extenders_mm + opening.height_to_come_mm
    bare = floor(readings.least - lean - taken - opening.sill_upstand_mm + 1e-9)
    return float(bare) + (opening.sill_upstand_mm if opening.height_includes_sill else 0.0)


def _hits(over_mm: float, lean_mm: float, low_mm: float, high_mm: float) -> bool:
    """What is over is nought, with the lean taken off or forgotten, within the rounding."""
    return low_mm <= over_mm <= high_mm or (lean_mm > 0 and low_mm <= over_mm - lean_mm <= high_mm)


def frame_causes(
    numbers: Numbers, opening: SurveyedOpening, figures: SuspicionFigures, axis: str
) -> list[FrameCause]:
    """Causes that predict the stated frame on one axis.

    Args:
        numbers: the numbers of the opening. [mm]
        opening: the opening, for gaps, sill and inside sizes.
        figures: the rulebook's figures.
        axis: ``width`` or ``height``.
    Returns: the causes whose prediction the frame hits; none where it is not stated.
    """
    readings = axis_of(numbers.widths if axis == "width" else numbers.heights)
    value = worked_frame_mm(numbers, opening, axis, figures)
    if readings is None or value is None:
        return []
    lean = lean_off_mm(numbers, opening, figures)[0 if axis == "width" else 1]
    frame = axis_frame(numbers, opening, axis, readings=readings, lean_mm=lean)
    part = frame_part_mm(numbers, opening, axis)
    if frame is None or part is None:
        return []
    over = frame.room - frame.gap
    low, high = -0.6 * figures.frame_exact_mm, figures.frame_exact_mm
    taken = f"{frame.gap:g} for gaps"
    found = []
    above = readings.mean - readings.least
    if above >= figures.frame_exact_mm / 2 and over - lean < low and _hits(over + above, lean, -high, high):
        how = f"{readings.mean:.1f}, the average of the readings, less {taken}"
        found.append(FrameCause("average-reading-used", axis, value, log(figures.average_share), how))
    if is_gap_twice(frame, figures) and not _is_other_chosen(numbers, opening, figures, axis):
        how = f"{readings.least:g} less {taken}, and {frame.gap:g} for gaps again"
        found.append(FrameCause("gap-taken-twice", axis, value, log(figures.gap_twice_share), how))
    upstand = opening.sill_upstand_mm if axis == "height" else 0.0
    if upstand > 0 and _hits(over + upstand, lean, low, high):
        how = f"{readings.least:g} less {taken}, nothing off for the {upstand:g} of the sill"
        found.append(FrameCause("sill-height-forgotten", axis, value, log(figures.sill_share), how))
    if upstand > 0 and _hits(over - upstand, lean, low, high):
        how = f"{readings.least:g} less {taken}, less twice the {upstand:g} of the sill"
        found.append(FrameCause("sill-height-counted-twice", axis, value, log(figures.sill_share), how))
    found += _wrong_face(opening, figures, axis, readings, over, value)
    return found


def _is_other_chosen(
    numbers: Numbers, opening: SurveyedOpening, figures: SuspicionFigures, axis: str
) -> bool:
    """The frame's other side has a size that somebody chose, so this one may be chosen as well."""
    name = "height" if axis == "width" else "width"
    readings = axis_of(numbers.heights if axis == "width" else numbers.widths)
    if readings is None:
        return False
    lean = lean_off_mm(numbers, opening, figures)[0 if name == "width" else 1]
    return is_chosen_frame(axis_frame(numbers, opening, name, readings=readings, lean_mm=lean), figures)


def _wrong_face(
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    axis: str,
    readings: Axis,
    over_mm: float,
    value_mm: float,
) -> list[FrameCause]:
    """The frame made from the inside size instead of the readings."""
    inside = opening.inside_width_mm if axis == "width" else opening.inside_height_mm
    if inside is None or abs(inside - readings.least) <= figures.frame_exact_mm:
        return []
    to_come = opening.width_to_come_mm if axis == "width" else opening.height_to_come_mm
    upstand = opening.sill_upstand_mm if axis == "height" else 0.0
    for back, words in ((0.0, ""), (to_come, ""), (upstand, ", nothing off for the sill")):
        rest = over_mm + inside - readings.least + back
        if -0.6 * figures.frame_exact_mm <= rest <= figures.frame_exact_mm:
            how = f"{inside:g}, the inside {axis}, less the gaps{words}"
            return [FrameCause("measured-to-wrong-face", axis, value_mm, log(figures.wrong_face_share), how)]
    return []
