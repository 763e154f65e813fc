"""Changes that could explain what disagrees in an opening: one place, one axis, or everything at once."""

from collections.abc import Iterator
from math import log, sqrt
from typing import Final

from sawready.calc.forensics.across import all_in_one_unit, exchanged, turned
from sawready.calc.forensics.changes import DIGITS, TAPE_MARK_MM, UNIT, single_changes
from sawready.calc.forensics.explanation import READINGS, Explanation, with_place
from sawready.calc.forensics.faults import GAP_TWICE, Fault
from sawready.calc.forensics.frame_causes import frame_causes
from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import IMPERIAL_MM, AxisFrame, Sight
from sawready.calc.forensics.weighing import Slack

__all__ = ["FRAMES", "candidates", "groups_in_play"]

FRAMES: Final = {"width": "frame/width", "height": "frame/height"}

EVERYTHING: Final = "everything"
"""Group that stands for all readings and diagonals together, and for frame or survey turned round."""


def groups_in_play(faults: frozenset[Fault], sight: Sight) -> set[str]:
    """Groups of numbers that could explain what disagrees.

    Args:
        faults: what disagrees.
        sight: the numbers.
    Returns: ``widths``, ``heights``, ``diagonals``, the frame's sides, or everything together.
    """
    groups: set[str] = set()
    for reason, axis in faults:
        if reason == "readings-disagree":
            groups.add(READINGS[axis])
        elif reason == "diagonals-disagree":
            groups |= {"widths", "heights", "diagonals"}
        elif reason == GAP_TWICE:
            groups.add(FRAMES[axis])
        elif reason == "value-out-of-range":
            groups |= {READINGS[axis], EVERYTHING}
        else:
            groups |= {READINGS[axis], FRAMES[axis], EVERYTHING}
            if reason == "frame-will-not-stand-plumb" and sight.taped:
                groups.add("diagonals")
    return groups


def candidates(
    sight: Sight, faults: frozenset[Fault], opening: SurveyedOpening, figures: SuspicionFigures
) -> Iterator[Explanation]:
    """Every change worth weighing for what disagrees.

    Args:
        sight: the numbers.
        faults: what disagrees in them.
        opening: the opening.
        figures: the rulebook's figures.
    """
    groups = groups_in_play(faults, sight)
    for group in ("widths", "heights"):
        if group in groups:
            yield from _in_readings(sight, group, opening, figures)
            if groups - {"widths", "heights"}:
                yield from _in_whole_axis(sight, group, opening, figures)
    if "diagonals" in groups:
        yield from _in_diagonals(sight, opening, figures)
    found = {
        name: list(_in_frame(sight, frame, name, opening, figures))
        for name, frame in sight.frames.items()
        if frame is not None and FRAMES[name] in groups
    }
    for in_frame in found.values():
        yield from in_frame
    if len(found) == 2:
        yield from _in_whole_frame(sight, found["width"], found["height"])
    if any(reason == "readings-disagree" for reason, _ in faults):
        yield from exchanged(sight, opening, figures)
    if EVERYTHING in groups:
        yield from turned(sight, figures)
        yield from all_in_one_unit(sight, opening, figures)


def _slack(group: str, slack_mm: float) -> Slack:
    """Slack when something of one group is coarse."""
    return Slack(
        slack_mm * (group == "widths"), slack_mm * (group == "heights"), slack_mm * (group == "frame")
    )


def _in_readings(
    sight: Sight, group: str, opening: SurveyedOpening, figures: SuspicionFigures
) -> Iterator[Explanation]:
    """One reading changed; it has to come near the others of its axis."""
    readings = sight.numbers.group(group)
    for place, value in enumerate(readings):
        if value is None:
            continue
        others = [each for index, each in enumerate(readings) if index != place and each is not None]
        least, most = figures.size_least_mm, figures.size_most_mm
        if others:
            least, most = max(others) - figures.irregular_spread_mm, min(others) + figures.irregular_spread_mm
        for change in single_changes(
            value, unit_mm=opening.unit_mm, figures=figures, least_mm=least, most_mm=most
        ):
            if change.reason != UNIT and len(others) == 2:
                is_small = figures.is_like_a_lump(change.value_mm - value)
                within = figures.lands_within_mm if is_small else figures.readings_spread_mm
                if _beside(change.value_mm, place, others) > within + _mark(opening.unit_mm):
                    continue
            yield Explanation(
                change.reason,
                f"{group}/{place}",
                value,
                change.value_mm,
                change.words(opening.unit_mm),
                sight.numbers.with_group(group, with_place(readings, place, change.value_mm)),
                change.log_share,
                _slack(group, change.slack_mm),
            )


def _mark(unit_mm: float) -> float:
    """How coarse a tape in the order's unit is read [mm]."""
    return TAPE_MARK_MM if unit_mm in IMPERIAL_MM else 0.0


def _beside(value_mm: float, place: int, others: list[float]) -> float:
    """How far a reading is off the other two, or off the line through them, whichever is less [mm]."""
    first, second = others
    line = (2 * first - second, (first + second) / 2, 2 * second - first)[place]
    return min(abs(value_mm - line), max(min(others) - value_mm, value_mm - max(others), 0.0))


def _in_whole_axis(
    sight: Sight, group: str, opening: SurveyedOpening, figures: SuspicionFigures
) -> Iterator[Explanation]:
    """The same step, unit or, where the readings are alike, the same digits in every reading."""
    readings = sight.numbers.group(group)
    taken = [each for each in readings if each is not None]
    if len(taken) < 2:
        return
    is_copied = max(taken) == min(taken)
    for change in single_changes(
        taken[0],
        unit_mm=opening.unit_mm,
        figures=figures,
        least_mm=figures.size_least_mm,
        most_mm=figures.size_most_mm,
        beside_mm=readings,
    ):
        if change.reason == DIGITS and not is_copied:
            continue
        changed = tuple([None if each is None else change.of(each, taken[0]) for each in readings])
        least = min(each for each in changed if each is not None)
        if least <= 0:
            continue
        yield Explanation(
            change.reason,
            group,
            min(taken),
            least,
            change.words(opening.unit_mm),
            sight.numbers.with_group(group, changed),
            change.log_share + log(figures.whole_axis_share),
            _slack(group, change.slack_mm),
        )


def _in_diagonals(sight: Sight, opening: SurveyedOpening, figures: SuspicionFigures) -> Iterator[Explanation]:
    """One diagonal changed, or both in the same way; it has to come near the sides."""
    width, height, numbers = sight.width, sight.height, sight.numbers
    diagonal = sqrt(width.ends**2 + height.ends**2)
    within = 4 * (figures.rough_lean_mm * width.ends + figures.taper_mm * height.ends) / diagonal
    within += figures.diagonals_against_sides_mm
    for place, value in enumerate(numbers.diagonals):
        if value is None:
            continue
        for change in single_changes(
            value,
            unit_mm=opening.unit_mm,
            figures=figures,
            least_mm=diagonal - within,
            most_mm=diagonal + within,
        ):
            slack = Slack(change.slack_mm / 2, change.slack_mm / 2)
            yield Explanation(
                change.reason,
                f"diagonals/{place}",
                value,
                change.value_mm,
                change.words(opening.unit_mm),
                numbers._replace(diagonals=with_place(numbers.diagonals, place, change.value_mm)),
                change.log_share,
                slack,
            )
            if (
                len(sight.taped) < 2
                or place
                or (change.reason == DIGITS and sight.taped[0] != sight.taped[1])
            ):
                continue
            both = tuple([None if each is None else change.of(each, value) for each in numbers.diagonals])
            yield Explanation(
                change.reason,
                "diagonals",
                value,
                change.value_mm,
                change.words(opening.unit_mm),
                numbers._replace(diagonals=both),
                change.log_share + log(figures.whole_axis_share),
                slack,
            )


def _in_whole_frame(
    sight: Sight, widths: list[Explanation], heights: list[Explanation]
) -> Iterator[Explanation]:
    """Both sides of the stated frame changed by one mistake: the same unit, or the same wrong face."""
    for wide in widths:
        if wide.reason not in {UNIT, "measured-to-wrong-face"}:
            continue
        for high in heights:
            is_same = wide.reason == high.reason and (wide.reason != UNIT or wide.how == high.how)
            if is_same and high.value_mm > 0:
                changed = sight.numbers.with_frame("width", wide.value_mm).with_frame("height", high.value_mm)
                yield wide._replace(numbers=changed, beside=high)


def _in_frame(
    sight: Sight, frame: AxisFrame, name: str, opening: SurveyedOpening, figures: SuspicionFigures
) -> Iterator[Explanation]:
    """The stated frame changed: by a slip, or by undoing a mistake of the office."""
    value = frame.stated
    most = value + frame.room - frame.gap
    least = value + frame.over - 2 * frame.gap_most
    for change in single_changes(
        value,
        unit_mm=opening.unit_mm,
        figures=figures,
        least_mm=least - frame.exact,
        most_mm=most + frame.exact,
    ):
        yield Explanation(
            change.reason,
            FRAMES[name],
            value,
            change.value_mm,
            change.words(opening.unit_mm),
            sight.numbers.with_frame(name, change.value_mm),
            change.log_share,
            _slack("frame", change.slack_mm),
        )
    for cause in frame_causes(sight, frame, opening, figures, name):
        yield Explanation(
            cause.reason,
            FRAMES[name],
            value,
            cause.value_mm,
            cause.how,
            sight.numbers.with_frame(name, cause.value_mm),
            cause.log_share,
        )
