"""Changes that touch both axes: readings in each other's place, all turned round, one unit for all."""

from collections.abc import Iterator
from math import log

from sawready.calc.forensics.changes import UNIT, single_changes
from sawready.calc.forensics.explanation import SWAPPED, Explanation, first_place, with_place
from sawready.calc.forensics.model import SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.sight import Sight
from sawready.calc.forensics.weighing import Slack
from sawready.calc.forensics.wording import length

__all__ = ["all_in_one_unit", "exchanged", "turned"]


def exchanged(sight: Sight, opening: SurveyedOpening, figures: SuspicionFigures) -> Iterator[Explanation]:
    """One width reading and one height reading in each other's place."""
    numbers = sight.numbers
    share = log(figures.exchange_share / (sight.width.number * sight.height.number))
    for column, width in enumerate(numbers.widths):
        for row, height in enumerate(numbers.heights):
            if width is None or height is None or abs(width - height) <= figures.readings_spread_mm:
                continue
            widths, heights = (
                with_place(numbers.widths, column, height),
                with_place(numbers.heights, row, width),
            )
            if max(_spread(widths), _spread(heights)) > figures.irregular_spread_mm:
                continue
            changed = numbers._replace(widths=widths, heights=heights)
            how = f"this width and the height {length(height, opening.unit_mm)} in each other's place"
            yield Explanation(SWAPPED, f"widths/{column}", width, height, how, changed, share)


def _spread(readings: tuple[float | None, ...]) -> float:
    """Largest less smallest of the readings taken [mm]."""
    taken = [each for each in readings if each is not None]
    return max(taken) - min(taken)


def turned(sight: Sight, figures: SuspicionFigures) -> Iterator[Explanation]:
    """Width and height changed over: of the frame, or of the whole survey."""
    numbers, width, height = sight.numbers, sight.width, sight.height
    if numbers.frame_width is None or numbers.frame_height is None:
        return
    if abs(width.least - height.least) <= figures.square_within_mm:
        return
    share = log(figures.frame_swapped_share)
    yield Explanation(
        SWAPPED,
        "frame/width",
        numbers.frame_width,
        numbers.frame_height,
        "width and height of the frame changed over",
        numbers._replace(frame_width=numbers.frame_height, frame_height=numbers.frame_width),
        share,
    )
    yield Explanation(
        SWAPPED,
        "widths" if width.number > 1 else f"widths/{first_place(numbers.widths)}",
        width.least,
        height.least,
        "width and height of the survey changed over",
        numbers._replace(widths=numbers.heights, heights=numbers.widths),
        share + log(figures.survey_swapped_share),
    )


def all_in_one_unit(
    sight: Sight, opening: SurveyedOpening, figures: SuspicionFigures
) -> Iterator[Explanation]:
    """Every reading and diagonal, with the frame or without, taken in another unit.

    A survey and a frame that are both scaled agree as well or badly as before, but for the gap that shrinks
    with them; so that is looked at only where a side is outside all sensible sizes.
    """
    numbers, width, height = sight.numbers, sight.width, sight.height
    is_odd = any(
        axis.least < figures.size_least_mm or axis.most > figures.size_most_mm for axis in (width, height)
    )
    for change in single_changes(
        width.least,
        unit_mm=opening.unit_mm,
        figures=figures,
        least_mm=figures.size_least_mm,
        most_mm=figures.size_most_mm,
        beside_mm=(*numbers.widths, *numbers.heights, *numbers.diagonals),
    ):
        if change.reason != UNIT:
            continue
        widths, heights, diagonals = (
            tuple([None if each is None else change.of(each, each) for each in group])
            for group in (numbers.widths, numbers.heights, numbers.diagonals)
        )
        survey = numbers._replace(widths=widths, heights=heights, diagonals=diagonals)
        whole = survey._replace(
            frame_width=None if numbers.frame_width is None else change.of(numbers.frame_width, 0.0),
            frame_height=None if numbers.frame_height is None else change.of(numbers.frame_height, 0.0),
        )
        for changed in (survey,) if survey == whole else (survey, whole) if is_odd else (survey,):
            yield Explanation(
                UNIT,
                "widths" if width.number > 1 else f"widths/{first_place(numbers.widths)}",
                width.least,
                change.value_mm,
                f"the whole opening {change.words(opening.unit_mm)}",
                changed,
                change.log_share + log(figures.whole_axis_share),
                Slack(change.slack_mm, change.slack_mm, 0.0),
            )
