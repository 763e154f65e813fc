"""Which single change makes the numbers of an opening agree, and is there only one such change?

Every slip that has a name is tried in every place that could explain what disagrees. A change must clear
at least one fault and bring none. Those that do are weighed against each other, against the numbers as
they stand (a wall may be that crooked), and against a mistake without a name in each place; only a cause
that is likelier than those two together is named.
"""

from collections.abc import Iterator
from math import exp, log
from typing import Final, NamedTuple

from sawready.calc.forensics.candidates import FRAMES, candidates, groups_in_play
from sawready.calc.forensics.changes import UNIT
from sawready.calc.forensics.explanation import AXES, READINGS, SWAPPED, Explanation, first_place, with_place
from sawready.calc.forensics.faults import Fault, faults_of
from sawready.calc.forensics.model import Numbers, SurveyedOpening, SuspicionFigures
from sawready.calc.forensics.siblings import SiblingSizes
from sawready.calc.forensics.sight import Sight, axis_of, sight_of
from sawready.calc.forensics.weighing import NO_SLACK, Slack, log_likelihood, log_sum

__all__ = ["Verdict", "Weighing", "explain"]

TURNED: Final = {"width": "height", "height": "width"}
OF_READINGS: Final = frozenset({"readings-disagree", "value-out-of-range"})
"""Faults of the readings of an axis alone: they go with the readings where a survey is turned round."""


class Verdict(NamedTuple):
    """The explanations that stand, likeliest first, with what they clear.

    Attributes:
        explanations: likeliest first; one is clear, more are about as likely.
        before: faults of the numbers before any change.
        odds: likelihood of the likeliest against chance and against a mistake without a name.
    """

    explanations: tuple[Explanation, ...]
    before: frozenset[Fault]
    odds: float


class Weighing:
    """The numbers of one opening on the scales.

    Args:
        opening: the opening.
        figures: the rulebook's figures.
        siblings: the other windows of the order.
        index: the opening's place among them.
    """

    __slots__ = ("_suits", "figures", "index", "opening", "rough_share", "siblings", "stated")

    def __init__(
        self, opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
    ) -> None:
        self.opening = opening
        self.figures = figures
        self.siblings = siblings
        self.index = index
        self.stated = Numbers.of(opening)
        self.rough_share = siblings.rough_share(but=index)
        frames = sight_of(self.stated, opening, figures).frames
        self._suits = tuple(
            [frame is not None and frame.is_exact() for frame in (frames["width"], frames["height"])]
        )

    def sight(self, numbers: Numbers) -> Sight:
        """The numbers laid out."""
        return sight_of(numbers, self.opening, self.figures)

    def _suits_stated(self, numbers: Numbers) -> tuple[bool, bool]:
        """By axis: the readings were changed, and the frame suits what they were."""
        return (
            self._suits[0]
            and numbers.widths != self.stated.widths
            and numbers.frame_width == self.stated.frame_width,
            self._suits[1]
            and numbers.heights != self.stated.heights
            and numbers.frame_height == self.stated.frame_height,
        )

    def faults(self, sight: Sight, slack: Slack = NO_SLACK, *, is_eased: bool = False) -> frozenset[Fault]:
        """What disagrees in these numbers; a frame that suits other readings or another span does not."""
        suits = self._suits_stated(sight.numbers)
        return faults_of(
            sight,
            self.figures,
            suits_stated=(
                suits[0] or self._suits_other_span(sight, "width"),
                suits[1] or self._suits_other_span(sight, "height"),
            ),
            slack=slack,
            is_eased=is_eased,
        )

    def _suits_other_span(self, sight: Sight, name: str) -> bool:
        """The readings were changed, and the frame has the gap of another span."""
        frame, group = sight.frames[name], READINGS[name]
        if frame is None or sight.numbers.group(group) == self.stated.group(group):
            return False
        return any(frame.is_hit(frame.room - gap) for gap in self.opening.other_gaps_mm)

    def faults_after(self, change: Explanation) -> frozenset[Fault]:
        """What still disagrees once a change is made, each by the axis on which the order has it."""
        found = self.faults(self.sight(change.numbers), change.slack, is_eased=True)
        if change.reason == SWAPPED and change.field.startswith("widths") and self._is_turned(change.numbers):
            return frozenset(
                [
                    (reason, TURNED[axis]) if reason in OF_READINGS else (reason, axis)
                    for reason, axis in found
                ]
            )
        return found

    def _is_turned(self, numbers: Numbers) -> bool:
        """All widths are what the order has as heights, and the other way round."""
        return numbers.widths == self.stated.heights and numbers.heights == self.stated.widths

    def weight(self, numbers: Numbers, slack: Slack = NO_SLACK) -> float:
        """How likely these numbers are, other windows and inside sizes counted in."""
        sight = self.sight(numbers)
        likelihood = log_likelihood(
            sight,
            self.opening,
            self.figures,
            rough_share=self.rough_share,
            suits_stated=self._suits_stated(numbers),
            are_stated=(numbers.widths == self.stated.widths, numbers.heights == self.stated.heights),
            slack=slack,
        )
        return likelihood + self.siblings.weight(sight, but=self.index) + self._inside_weight(sight)

    def _inside_weight(self, sight: Sight) -> float:
        """What speaks against the numbers because inside and outside are too far apart."""
        total = 0.0
        for inside, axis in (
            (self.opening.inside_width_mm, sight.width),
            (self.opening.inside_height_mm, sight.height),
        ):
            if inside is not None:
                beyond = abs(inside - axis.mean) / self.figures.inside_differs_mm - 1
                total -= self.figures.inside_weight * min(max(beyond, 0.0), 1.0)
        return total

    def is_stated(self, field: str, numbers: Numbers) -> bool:
        """What stands at a field is what the order has there, not something put right before."""
        group, _, place = field.partition("/")
        if group == "frame":
            return numbers.frame(place) == self.stated.frame(place)
        mine, theirs = numbers.group(group), self.stated.group(group)
        if not place:
            return mine == theirs
        number = int(
            place
        )  # with width and height changed over there may be more readings than the order has
        return number < len(theirs) and mine[number] == theirs[number]

    def cleared(self, change: Explanation, before: frozenset[Fault]) -> frozenset[Fault]:
        """What a change clears; nothing where it brings something new that disagrees.

        A reading put right may leave its axis apart by what a crooked wall is, if that is far less than
        it was; readings that were all in another unit may turn out to be that far apart.
        """
        after = self.faults_after(change)
        if change.reason == UNIT and after - before:
            after -= self._crooked(change.numbers)
        if not after <= before:
            return frozenset()
        group, _, place = change.field.partition("/")
        disagree = ("readings-disagree", AXES.get(group, ""))
        if place and disagree in after:
            left = axis_of(change.numbers.group(group))
            was = max(abs(change.was_mm - each) for each in change.numbers.group(group) if each is not None)
            if 2 * left.spread < was:
                after -= {disagree}
        return before - after

    def _crooked(self, numbers: Numbers) -> set[Fault]:
        """Axes that are no further apart than a crooked wall is."""
        axes = (("width", axis_of(numbers.widths)), ("height", axis_of(numbers.heights)))
        most = self.figures.irregular_spread_mm
        return {("readings-disagree", name) for name, axis in axes if axis.spread <= most}

    def is_arch(self, change: Explanation) -> bool:
        """The middle height would come down, in an order where another head is arched: so may this one be."""
        return (
            change.field == "heights/1"
            and change.reason != UNIT
            and len(self.stated.heights) == 3
            and change.value_mm < change.was_mm
            and self.siblings.is_arched_house(but=self.index)
        )


class _Standing(NamedTuple):
    """A change that stands: its weight, itself, and what it clears."""

    weight: float
    change: Explanation
    cleared: frozenset[Fault]


def explain(numbers: Numbers, weighing: Weighing) -> Verdict | None:
    """The cause of what disagrees, where one can be named.

    Faults that have nothing to do with each other have causes of their own: a change is weighed only
    against those that clear some of the same faults. The likeliest cause comes first; the caller puts it
    right and asks again.

    Args:
        numbers: the numbers to explain.
        weighing: the opening on the scales.
    Returns: the verdict; None where nothing disagrees or no cause is likelier than none.
    """
    sight, figures = weighing.sight(numbers), weighing.figures
    before = weighing.faults(sight)
    if not before:
        return None
    stands: list[_Standing] = []
    for each in candidates(sight, before, weighing.opening, figures):
        if each.value_mm <= 0 or not weighing.is_stated(each.field, numbers) or weighing.is_arch(each):
            continue
        cleared = weighing.cleared(each, before)
        if cleared:
            stands.append(
                _Standing(each.log_share + weighing.weight(each.numbers, each.slack), each, cleared)
            )
    if not stands:
        return None
    stands.sort(key=lambda each: -each.weight)
    against = [(weighing.weight(numbers), before), *_unnamed(sight, before, weighing)]
    tried: frozenset[Fault] = frozenset()
    for best in stands:
        if best.cleared & tried:
            continue
        rivals = log_sum([weight for weight, cleared in against if cleared & best.cleared])
        if best.weight - rivals >= log(figures.odds_least):
            return Verdict(_alike(best, stands, figures), before, exp(min(best.weight - rivals, 700.0)))
        tried |= best.cleared
    return None


def _alike(best: _Standing, stands: list[_Standing], figures: SuspicionFigures) -> tuple[Explanation, ...]:
    """The likeliest change, and those that explain the same about as well."""
    alike: list[Explanation] = []
    for each in stands:
        change = each.change
        is_same_place = any(change.field == one.field for one in alike)
        limit = figures.odds_same_place if is_same_place else figures.odds_alike
        if (
            each.weight > best.weight
            or each.weight < best.weight - log(limit)
            or not each.cleared & best.cleared
        ):
            continue
        is_known = any(
            (change.reason, change.field, change.value_mm) == (one.reason, one.field, one.value_mm)
            for one in alike
        )
        is_turned = change.reason == SWAPPED and any(one.reason == SWAPPED for one in alike)
        if not is_known and not is_turned:
            alike.append(change)
    return tuple(alike)


def _unnamed(
    sight: Sight, before: frozenset[Fault], weighing: Weighing
) -> list[tuple[float, frozenset[Fault]]]:
    """A mistake without a name in each place that could explain what disagrees: weight, what it clears."""
    numbers, figures = sight.numbers, weighing.figures
    share = log(figures.unnamed_share / figures.size_most_mm)
    groups = groups_in_play(before, sight)
    found: list[tuple[float, frozenset[Fault]]] = []

    def weigh(changed: Numbers, log_range: float = 0.0) -> None:
        after = weighing.faults(weighing.sight(changed), is_eased=True)
        found.append((share + log_range + weighing.weight(changed), before - after))

    for group in ("widths", "heights", "diagonals"):
        if group not in groups:
            continue
        readings = numbers.group(group)
        taken = [place for place, each in enumerate(readings) if each is not None]
        if group != "diagonals" and len(taken) == 1:
            for changed, log_range in _unnamed_lone(sight, group, figures):
                weigh(changed, log_range)
            continue
        for place in taken:
            weigh(numbers.with_group(group, with_place(readings, place, None)))
    for name, place_of in FRAMES.items():
        if place_of in groups and numbers.frame(name) is not None:
            weigh(numbers.with_frame(name, None))
    return found


def _unnamed_lone(sight: Sight, group: str, figures: SuspicionFigures) -> Iterator[tuple[Numbers, float]]:
    """The only reading of an axis wrong in no way that has a name.

    The reading is put where the diagonals, and where the frame, would have it; with it comes the
    logarithm of the width of the range that suits about as well. [mm]
    """
    numbers = sight.numbers
    readings = numbers.group(group)
    place = first_place(readings)
    other = sight.height if group == "widths" else sight.width
    if sight.taped:
        square = sum(each * each for each in sight.taped) / len(sight.taped) - other.ends**2
        if square > figures.size_least_mm**2:
            changed = numbers.with_group(group, with_place(readings, place, square**0.5))
            yield changed, log(4 * figures.kink_mm)
    frame = sight.frames[AXES[group]]
    value = readings[place]
    if frame is not None and value is not None:
        changed = numbers.with_group(group, with_place(readings, place, value - frame.room + frame.gap))
        yield changed, log(2 * figures.frame_exact_mm)
