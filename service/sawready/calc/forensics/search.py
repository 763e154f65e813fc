"""Which single change makes the numbers of an opening agree, and is there only one such change?

Every slip that has a name is tried in every place that could explain what disagrees. A change must clear
at least one fault and bring none. Those that do are weighed against each other, against the numbers as
they stand (a wall may be that crooked), and against a mistake without a name in each place; only a cause
that is much likelier than those two together is named.
"""

from collections.abc import Iterator
from math import exp, log
from typing import Final, NamedTuple

from sawready.calc.forensics.changes import DIGITS, STEP, UNIT, Change, single_changes
from sawready.calc.forensics.faults import Fault, faults_of
from sawready.calc.forensics.frame_causes import frame_causes
from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.siblings import SiblingSizes
from sawready.calc.forensics.weighing import axis_of, frame_room_mm, log_likelihood, log_sum

__all__ = ["Explanation", "Verdict", "explain"]

SWAPPED: Final = "width-height-swapped"
READINGS: Final = {"width": "widths", "height": "heights"}
FRAMES: Final = {"width": "frame_width", "height": "frame_height"}
NO_SLACK: Final = (0.0, 0.0, 0.0)


class Explanation(NamedTuple):
    """One change that would explain what disagrees.

    Attributes:
        reason: the cause, by its reason.
        field: place in the opening, such as ``widths/1``.
        was_mm: what is written there. [mm]
        value_mm: what it probably was. [mm]
        how: the cause in words.
        numbers: the opening's numbers after the change.
        slack_mm: how coarse widths, heights and frame are after it. [mm]
        log_share: logarithm of how usual such a change is.
    """

    reason: str
    field: str
    was_mm: float
    value_mm: float
    how: str
    numbers: Numbers
    log_share: float
    slack_mm: tuple[float, float, float] = NO_SLACK


class Verdict(NamedTuple):
    """The explanations that stand, likeliest first, with what they clear.

    Attributes:
        explanations: likeliest first; one is clear, more are about as likely.
        before, after: faults of the numbers before, and after the likeliest change.
        odds: likelihood against chance and against a mistake without a name.
    """

    explanations: tuple[Explanation, ...]
    before: frozenset[Fault]
    after: frozenset[Fault]
    odds: float


class Weighing:
    """The numbers of one opening on the scales.

    Args:
        opening: the opening.
        figures: the rulebook's figures.
        siblings: the other windows of the order.
        index: the opening's place among them.
    """

    __slots__ = ("figures", "index", "opening", "rough_share", "siblings", "stated")

    def __init__(
        self, opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
    ) -> None:
        self.opening = opening
        self.figures = figures
        self.siblings = siblings
        self.index = index
        self.stated = Numbers.of(opening)
        self.rough_share = siblings.rough_share(but=index)

    def faults(self, numbers: Numbers, slack_mm: tuple[float, float, float] = NO_SLACK) -> frozenset[Fault]:
        """What disagrees in these numbers."""
        return faults_of(numbers, self.opening, self.figures, stated=self.stated, slack_mm=slack_mm)

    def weight(self, numbers: Numbers, slack_mm: tuple[float, float, float] = NO_SLACK) -> float:
        """How likely these numbers are, other windows and inside sizes counted in."""
        return (
            log_likelihood(
                numbers,
                self.opening,
                self.figures,
                rough_share=self.rough_share,
                stated=self.stated,
                slack_mm=slack_mm,
            )
            + self.siblings.weight(numbers, but=self.index)
            + self._inside_weight(numbers)
        )

    def _inside_weight(self, numbers: Numbers) -> float:
        """What speaks against the numbers because inside and outside are too far apart."""
        total = 0.0
        for inside, readings in (
            (self.opening.inside_width_mm, numbers.widths),
            (self.opening.inside_height_mm, numbers.heights),
        ):
            axis = axis_of(readings)
            if inside is not None and axis is not None:
                beyond = abs(inside - axis.mean) / self.figures.inside_differs_mm - 1
                total -= self.figures.inside_weight * min(max(beyond, 0.0), 1.0)
        return total


def _replaced(readings: tuple[float | None, ...], place: int, value: float | None) -> tuple[float | None, ...]:
    """The readings with one of them changed."""
    return (*readings[:place], value, *readings[place + 1 :])


def _slack(group: str, slack_mm: float) -> tuple[float, float, float]:
    """Slack of widths, heights and frame when something of one group is coarse."""
    return (slack_mm * (group == "widths"), slack_mm * (group == "heights"), slack_mm * (group == "frame"))


def _groups_in_play(faults: frozenset[Fault], numbers: Numbers) -> set[str]:
    """Groups of numbers that could explain what disagrees."""
    groups: set[str] = set()
    for reason, axis in faults:
        if reason == "diagonals-disagree":
            groups |= {"widths", "heights", "diagonals"}
        elif reason == "readings-disagree":
            groups.add(READINGS[axis])
        elif reason == "value-out-of-range":
            groups |= {READINGS[axis], "all"}
        elif reason == "gap-taken-twice":
            groups.add(FRAMES[axis])
        else:
            groups |= {READINGS[axis], FRAMES[axis], "all"}
            if any(each is not None for each in numbers.diagonals):
                groups.add("diagonals")
    return groups


def _in_readings(numbers: Numbers, group: str, weighing: Weighing) -> Iterator[Explanation]:
    """One reading changed, or all readings of the axis in the same way."""
    figures, unit = weighing.figures, weighing.opening.unit_mm
    readings = numbers.widths if group == "widths" else numbers.heights
    taken = [each for each in readings if each is not None]
    for place, value in enumerate(readings):
        if value is None:
            continue
        others = [each for index, each in enumerate(readings) if index != place and each is not None]
        for change in single_changes(value, unit_mm=unit, figures=figures):
            if others:
                after = (*others, change.value_mm)
                if max(after) - min(after) > figures.readings_spread_mm + change.slack_mm:
                    continue
            elif not figures.size_least_mm <= change.value_mm <= figures.size_most_mm:
                continue
            changed = _replaced(readings, place, change.value_mm)
            yield Explanation(
                change.reason,
                f"{group}/{place}",
                value,
                change.value_mm,
                change.how,
                numbers._replace(**{group: changed}),
                change.log_share,
                _slack(group, change.slack_mm),
            )
    if len(taken) > 1:
        yield from _in_whole_axis(numbers, group, readings, weighing)


def _in_whole_axis(
    numbers: Numbers, group: str, readings: tuple[float | None, ...], weighing: Weighing
) -> Iterator[Explanation]:
    """The same step, unit or, where the readings are alike, the same digits in every reading."""
    figures, unit = weighing.figures, weighing.opening.unit_mm
    taken = [each for each in readings if each is not None]
    is_copied = max(taken) == min(taken)
    for change in single_changes(taken[0], unit_mm=unit, figures=figures):
        if change.reason == DIGITS and not is_copied:
            continue
        changed = tuple(
            None if each is None else _changed(each, change, taken[0]) for each in readings
        )
        values = [each for each in changed if each is not None]
        if not figures.size_least_mm <= min(values) <= max(values) <= figures.size_most_mm:
            continue
        yield Explanation(
            change.reason,
            group,
            min(taken),
            min(values),
            change.how,
            numbers._replace(**{group: changed}),
            change.log_share + log(figures.whole_axis_share),
            _slack(group, change.slack_mm),
        )


def _changed(value: float, change: Change, first: float) -> float:
    """The same change made to another length: its factor, its step, or its new digits."""
    if change.reason == UNIT:
        return round(value * change.factor, 4)
    return value + change.added_mm if change.reason == STEP else change.value_mm + value - first


def _in_diagonals(numbers: Numbers, weighing: Weighing) -> Iterator[Explanation]:
    """One diagonal changed, or both by the same unit or step."""
    figures, unit = weighing.figures, weighing.opening.unit_mm
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    if width is None or height is None:
        return
    least, most = max(width.least, height.least) - 100, width.most + height.most
    taped = [each for each in numbers.diagonals if each is not None]
    for place, value in enumerate(numbers.diagonals):
        if value is None:
            continue
        for change in single_changes(value, unit_mm=unit, figures=figures):
            if not least <= change.value_mm <= most:
                continue
            yield Explanation(
                change.reason,
                f"diagonals/{place}",
                value,
                change.value_mm,
                change.how,
                numbers._replace(diagonals=_replaced(numbers.diagonals, place, change.value_mm)),
                change.log_share,
                (change.slack_mm / 2, change.slack_mm / 2, 0.0),
            )
    if len(taped) < 2:
        return
    for change in single_changes(taped[0], unit_mm=unit, figures=figures):
        if not least <= change.value_mm <= most or (change.reason == DIGITS and taped[0] != taped[1]):
            continue
        changed = tuple(None if each is None else _changed(each, change, taped[0]) for each in numbers.diagonals)
        yield Explanation(
            change.reason,
            "diagonals",
            taped[0],
            change.value_mm,
            change.how,
            numbers._replace(diagonals=changed),
            change.log_share + log(figures.whole_axis_share),
            (change.slack_mm / 2, change.slack_mm / 2, 0.0),
        )


def _in_frame(numbers: Numbers, axis: str, weighing: Weighing) -> Iterator[Explanation]:
    """The stated frame changed: by a slip, or by undoing a mistake of the office."""
    name = FRAMES[axis]
    value = getattr(numbers, name)
    if value is None:
        return
    figures = weighing.figures
    for change in single_changes(value, unit_mm=weighing.opening.unit_mm, figures=figures):
        if figures.size_least_mm <= change.value_mm <= figures.size_most_mm:
            yield Explanation(
                change.reason,
                f"frame/{axis}",
                value,
                change.value_mm,
                change.how,
                numbers._replace(**{name: change.value_mm}),
                change.log_share,
                _slack("frame", change.slack_mm),
            )
    for cause in frame_causes(numbers, weighing.opening, figures, axis):
        yield Explanation(
            cause.reason,
            f"frame/{axis}",
            value,
            cause.value_mm,
            cause.how,
            numbers._replace(**{name: cause.value_mm}),
            cause.log_share,
        )


def _across(numbers: Numbers, faults: frozenset[Fault], weighing: Weighing) -> Iterator[Explanation]:
    """Changes that touch both axes: a width and a height exchanged, frame or survey turned, one unit for all."""
    figures = weighing.figures
    reasons = {reason for reason, _ in faults}
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    if width is None or height is None:
        return
    if "readings-disagree" in reasons:
        yield from _exchanged(numbers, weighing)
    is_square = abs(width.least - height.least) <= figures.square_within_mm
    share = log(figures.frame_swapped_share)
    if numbers.frame_width is not None and numbers.frame_height is not None and not is_square:
        yield Explanation(
            SWAPPED,
            "frame/width",
            numbers.frame_width,
            numbers.frame_height,
            "width and height of the frame changed over",
            numbers._replace(frame_width=numbers.frame_height, frame_height=numbers.frame_width),
            share,
        )
        field = "widths" if width.count > 1 else f"widths/{_first(numbers.widths)}"
        yield Explanation(
            SWAPPED,
            field,
            width.least,
            height.least,
            "width and height of the survey changed over",
            numbers._replace(widths=numbers.heights, heights=numbers.widths),
            share,
        )
    yield from _all_in_one_unit(numbers, weighing)


def _first(readings: tuple[float | None, ...]) -> int:
    """Place of the first reading that was taken."""
    return next(index for index, each in enumerate(readings) if each is not None)


def _exchanged(numbers: Numbers, weighing: Weighing) -> Iterator[Explanation]:
    """One width reading and one height reading in each other's place."""
    figures = weighing.figures
    if sum(each is not None for each in (*numbers.widths, *numbers.heights)) < 3:
        return
    for column, width in enumerate(numbers.widths):
        for row, height in enumerate(numbers.heights):
            if width is None or height is None or abs(width - height) <= figures.readings_spread_mm:
                continue
            changed = numbers._replace(
                widths=_replaced(numbers.widths, column, height), heights=_replaced(numbers.heights, row, width)
            )
            share = log(figures.exchange_share / 9)
            how = f"changed over with the height {height:g}"
            yield Explanation(SWAPPED, f"widths/{column}", width, height, how, changed, share)


def _all_in_one_unit(numbers: Numbers, weighing: Weighing) -> Iterator[Explanation]:
    """Every reading and diagonal, with the frame or without, taken in another unit."""
    figures, unit = weighing.figures, weighing.opening.unit_mm
    taken = [each for each in numbers.widths if each is not None]
    for change in single_changes(taken[0], unit_mm=unit, figures=figures):
        if change.reason != UNIT:
            continue
        widths, heights, diagonals = (
            tuple(None if each is None else round(each * change.factor, 4) for each in group)
            for group in (numbers.widths, numbers.heights, numbers.diagonals)
        )
        survey = numbers._replace(widths=widths, heights=heights, diagonals=diagonals)
        whole = survey._replace(
            frame_width=numbers.frame_width and round(numbers.frame_width * change.factor, 4),
            frame_height=numbers.frame_height and round(numbers.frame_height * change.factor, 4),
        )
        share = change.log_share + log(figures.whole_axis_share)
        slack = (change.slack_mm, change.slack_mm, 0.0)
        for changed in {survey, whole}:
            yield Explanation(
                UNIT,
                "widths" if len(taken) > 1 else f"widths/{_first(numbers.widths)}",
                min(taken),
                min(each for each in widths if each is not None),
                f"the whole opening {change.how}",
                changed,
                share,
                slack,
            )


def _candidates(numbers: Numbers, faults: frozenset[Fault], weighing: Weighing) -> Iterator[Explanation]:
    """Every change worth weighing for what disagrees."""
    groups = _groups_in_play(faults, numbers)
    for group in ("widths", "heights"):
        if group in groups:
            yield from _in_readings(numbers, group, weighing)
    if "diagonals" in groups:
        yield from _in_diagonals(numbers, weighing)
    for axis in ("width", "height"):
        if FRAMES[axis] in groups:
            yield from _in_frame(numbers, axis, weighing)
    if groups - {"diagonals"}:
        yield from _across(numbers, faults, weighing)


def _unnamed(numbers: Numbers, faults: frozenset[Fault], weighing: Weighing) -> list[float]:
    """Weights of a mistake without a name in each place that could explain what disagrees."""
    figures = weighing.figures
    share = log(figures.unnamed_share / figures.size_most_mm)
    groups = _groups_in_play(faults, numbers)
    changed: list[Numbers] = []
    lone: list[float] = []
    for group in ("widths", "heights", "diagonals"):
        readings = getattr(numbers, group)
        if group not in groups:
            continue
        if group != "diagonals" and sum(each is not None for each in readings) < 2:
            lone += [share + each for each in _unnamed_lone(numbers, group, weighing)]
        else:
            changed += [
                numbers._replace(**{group: _replaced(readings, place, None)})
                for place, each in enumerate(readings)
                if each is not None
            ]
    changed += [
        numbers._replace(**{name: None})
        for name in FRAMES.values()
        if name in groups and getattr(numbers, name) is not None
    ]
    return [*lone, *(share + weighing.weight(each) for each in changed)]


def _unnamed_lone(numbers: Numbers, group: str, weighing: Weighing) -> Iterator[float]:
    """Weights of the only reading of an axis being wrong in no way that has a name.

    The reading is put where the diagonals, and where the frame, would have it; the weight is that of the
    best value times the width of the range that suits about as well.
    """
    place = _first(getattr(numbers, group))
    other = axis_of(numbers.heights if group == "widths" else numbers.widths)
    taped = [each for each in numbers.diagonals if each is not None]
    opening, figures = weighing.opening, weighing.figures
    if taped and other is not None:
        square = sum(each * each for each in taped) / len(taped) - other.ends**2
        if square > figures.size_least_mm**2:
            reading = _replaced(getattr(numbers, group), place, square**0.5)
            yield weighing.weight(numbers._replace(**{group: reading})) + log(4 * figures.kink_mm)
    axis = "width" if group == "widths" else "height"
    room = frame_room_mm(numbers, opening, axis, 0.0)
    if room is not None:
        gap = opening.width_gap_mm if axis == "width" else opening.height_gap_mm
        reading = _replaced(getattr(numbers, group), place, gap - room)
        yield weighing.weight(numbers._replace(**{group: reading})) + log(2 * figures.frame_exact_mm)


def explain(numbers: Numbers, weighing: Weighing) -> Verdict | None:
    """The cause of what disagrees, where one can be named.

    Args:
        numbers: the numbers to explain.
        weighing: the opening on the scales.
    Returns: the verdict; None where nothing disagrees or no cause is much likelier than none.
    """
    before = weighing.faults(numbers)
    if not before:
        return None
    figures = weighing.figures
    stands: list[tuple[float, Explanation, frozenset[Fault]]] = []
    for each in _candidates(numbers, before, weighing):
        after = weighing.faults(each.numbers, each.slack_mm)
        if after < before:
            stands.append((each.log_share + weighing.weight(each.numbers, each.slack_mm), each, after))
    if not stands:
        return None
    stands.sort(key=lambda each: -each[0])
    best, first, after = stands[0]
    against = log_sum([weighing.weight(numbers), *_unnamed(numbers, before, weighing)])
    if best - against < log(figures.odds_least):
        return None
    alike: list[Explanation] = []
    for weight, each, _ in stands:
        is_known = any((each.field, each.value_mm) == (one.field, one.value_mm) for one in alike)
        is_turned = each.reason == SWAPPED and any(one.reason == SWAPPED for one in alike)
        if weight >= best - log(figures.odds_alike) and not is_known and not is_turned:
            alike.append(each)
    return Verdict(tuple(alike), before, after, exp(min(best - against, 700.0)))
