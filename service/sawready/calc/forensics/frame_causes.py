"""How an office may have come to a frame size that does not suit its aperture.

Each cause predicts a size to the millimetre; only a frame that hits the prediction is offered the cause,
and the weighing sets it against slips of pen and against a size that somebody simply chose.
"""

from math import floor, log
from typing import NamedTuple

from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import Axis, AxisFrame, Sight
from sawready.calc.forensics.wording import length

__all__ = ["FrameCause", "frame_causes", "worked_frame_mm"]


class FrameCause(NamedTuple):
    """A cause that predicts the stated frame on one axis.

    Attributes:
        reason: name in the catalogue of reasons.
        value_mm: what the frame would be without the mistake, as the order states frames. [mm]
        log_share: logarithm of how usual the mistake is.
        how: how the stated size came about, in words with its sum.
    """

    reason: str
    value_mm: float
    log_share: float
    how: str


def worked_frame_mm(sight: Sight, opening: SurveyedOpening, name: str) -> float:
    """The frame that follows from the numbers, stated as the order states frames.

    Formula: floor(least - lean - finishes - gaps - extenders - upstand), upstand back on where the
    stated height includes the sill.

    Args:
        sight: the numbers.
        opening: the opening, for gaps, finishes, extenders and sill.
        name: ``width`` or ``height``.
    Source: geometry of the frame in its aperture, as calc.fit has it exactly.
    """
    axis = sight.axis(name)
    if name == "width":
        taken = opening.width_gap_mm + opening.width_extenders_mm + opening.width_to_come_mm
        return float(floor(axis.least - sight.lean[0] - taken + 1e-9))
    taken = opening.height_gap_mm + opening.height_extenders_mm + opening.height_to_come_mm
    bare = floor(axis.least - sight.lean[1] - taken - opening.sill_upstand_mm + 1e-9)
    return float(bare) + (opening.sill_upstand_mm if opening.height_includes_sill else 0.0)


def frame_causes(
    sight: Sight, frame: AxisFrame, opening: SurveyedOpening, figures: SuspicionFigures, name: str
) -> list[FrameCause]:
    """Causes that predict the stated frame on one axis.

    Args:
        sight: the numbers.
        frame: the stated frame on that axis.
        opening: the opening, for gaps, sill and inside sizes.
        figures: the rulebook's figures.
        name: ``width`` or ``height``.
    Returns: the causes whose prediction the frame hits.
    """
    axis, value = sight.axis(name), worked_frame_mm(sight, opening, name)
    found = _average(axis, frame, value, opening.unit_mm, figures)
    unit = opening.unit_mm
    taken = f"{length(axis.least, unit)} less {length(frame.gap, unit)} for gaps"
    beside = sight.frames["height" if name == "width" else "width"]
    if frame.is_gap_twice(figures) and not (beside is not None and beside.is_chosen(figures)):
        how = f"{taken}, and {length(frame.gap, unit)} for gaps again"
        found.append(FrameCause("gap-taken-twice", value, log(figures.gap_twice_share), how))
    upstand = opening.sill_upstand_mm if name == "height" else 0.0
    rest = frame.room - frame.gap
    if upstand > 0 and frame.is_hit(rest + upstand):
        how = f"{taken}, nothing off for the {length(upstand, unit)} of the sill"
        found.append(FrameCause("sill-height-forgotten", value, log(figures.sill_share), how))
    if upstand > 0 and frame.is_hit(rest - upstand):
        how = f"{taken}, less twice the {length(upstand, unit)} of the sill"
        found.append(FrameCause("sill-height-counted-twice", value, log(figures.sill_share), how))
    return found + _wrong_face(
        opening=opening, figures=figures, name=name, axis=axis, frame=frame, value_mm=value
    )


def _average(
    axis: Axis, frame: AxisFrame, value_mm: float, unit_mm: float, figures: SuspicionFigures
) -> list[FrameCause]:
    """The frame made from the mean of the readings and not from the smallest."""
    above = axis.mean - axis.least
    within = 1.5 * frame.exact
    rest = frame.room - frame.gap + above
    hits = abs(rest) <= within or (frame.lean > 0 and abs(rest - frame.lean) <= within)
    is_too_large = frame.over - frame.gap < -0.6 * frame.exact
    if above < frame.exact / 2 or not is_too_large or not hits:
        return []
    how = (
        f"{length(round(axis.mean, 1), unit_mm)}, the average of the readings, "
        f"less {length(frame.gap, unit_mm)} for gaps"
    )
    return [FrameCause("average-reading-used", value_mm, log(figures.average_share), how)]


def _wrong_face(
    *,
    opening: SurveyedOpening,
    figures: SuspicionFigures,
    name: str,
    axis: Axis,
    frame: AxisFrame,
    value_mm: float,
) -> list[FrameCause]:
    """The frame made from the inside size and not from the readings.

    A frame that keeps its gaps all the same may have been chosen so.
    """
    inside = opening.inside_width_mm if name == "width" else opening.inside_height_mm
    if inside is None or abs(inside - axis.least) <= frame.exact:
        return []
    if frame.gap <= frame.over <= 2 * frame.gap_most:
        return []
    upstand = opening.sill_upstand_mm if name == "height" else 0.0
    for back, words in ((0.0, ""), (frame.added[1], ""), (upstand, ", nothing off for the sill")):
        if frame.is_hit(frame.room - frame.gap + inside - axis.least + back):
            how = (
                f"{length(inside, opening.unit_mm)}, the inside {name}, "
                f"less {length(frame.gap, opening.unit_mm)} for gaps{words}"
            )
            return [FrameCause("measured-to-wrong-face", value_mm, log(figures.wrong_face_share), how)]
    return []
