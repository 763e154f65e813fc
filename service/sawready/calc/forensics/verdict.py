"""From the weighing's verdict to suspects: reason, field, candidates, why, and the question to send."""

from typing import Final

from sawready.calc.forensics.changes import DIGITS, STEP, UNIT
from sawready.calc.forensics.explanation import SWAPPED, Explanation
from sawready.calc.forensics.faults import GAP_TWICE, Fault, consequences_of
from sawready.calc.forensics.model import Numbers, Suspect
from sawready.calc.forensics.search import Verdict, Weighing
from sawready.calc.forensics.sight import axis_of
from sawready.calc.forensics.wording import join, length, place_name
from sawready.model.finding import QUERY, REJECT, Severity

__all__ = ["suspects_of"]

SEVERITY: Final[dict[str, Severity]] = {
    DIGITS: QUERY,
    STEP: QUERY,
    UNIT: REJECT,
    SWAPPED: REJECT,
    "average-reading-used": REJECT,
    "gap-taken-twice": QUERY,
    "sill-height-counted-twice": QUERY,
    "sill-height-forgotten": REJECT,
    "measured-to-wrong-face": REJECT,
}

SLIPS: Final = frozenset({DIGITS, STEP, UNIT})
"""Slips of pen, tape and keyboard; the rest are mistakes of the office, whose sentence shows the sum."""


def suspects_of(verdict: Verdict, numbers: Numbers, weighing: Weighing) -> list[Suspect]:
    """Suspects of one verdict: one for each place, its candidates likeliest first.

    Args:
        verdict: explanations that stand.
        numbers: the numbers that they explain.
        weighing: the opening on the scales.
    Returns: one suspect for each place that may be wrong.
    """
    by_field: dict[str, list[Explanation]] = {}
    for each in verdict.explanations:
        by_field.setdefault(each.field, []).append(each)
    writer = _Writer(numbers, weighing)
    suspects = []
    for field, found in by_field.items():
        elsewhere = [each for each in by_field if each != field]
        suspects.append(_suspect(found, elsewhere, verdict, writer))
        if found[0].beside is not None:
            suspects.append(_suspect([found[0].beside], elsewhere, verdict, writer))
    return suspects


def _suspect(found: list[Explanation], elsewhere: list[str], verdict: Verdict, writer: "_Writer") -> Suspect:
    """One suspect: what may be wrong in one place, likeliest first."""
    first = found[0]
    return Suspect(
        reason=first.reason,
        severity=_severity(first, verdict.before),
        field=first.field,
        measured_mm=first.was_mm,
        candidates_mm=tuple(dict.fromkeys(round(each.value_mm, 4) for each in found)),
        why=writer.why(found, elsewhere),
        question=writer.question(found, elsewhere),
        replaces=writer.replaced(first, verdict.before),
        odds=verdict.odds,
        is_open=any(each.reason in SLIPS - {UNIT} for each in found) and not writer.agreement(first),
    )


def _severity(cause: Explanation, before: frozenset[Fault]) -> Severity:
    """Severity by reason; a frame from the wrong face that is merely too small is a question."""
    too_large = {"frame-too-wide", "frame-too-tall", "frame-will-not-stand-plumb"}
    if cause.reason == "measured-to-wrong-face" and not any(reason in too_large for reason, _ in before):
        return QUERY
    return SEVERITY[cause.reason]


class _Writer:
    """Writes the sentences about one opening.

    Args:
        numbers: the numbers that the explanations explain.
        weighing: the opening on the scales.
    """

    def __init__(self, numbers: Numbers, weighing: Weighing) -> None:
        self.numbers = numbers
        self.weighing = weighing

    def length(self, value_mm: float) -> str:
        """A length in the unit of the order."""
        return length(value_mm, self.weighing.opening.unit_mm)

    def left(self, cause: Explanation) -> frozenset[Fault]:
        """What still disagrees, or follows from the numbers, once the cause is put right."""
        opening, figures = self.weighing.opening, self.weighing.figures
        sight = self.weighing.sight(cause.numbers)
        return self.weighing.faults_after(cause) | consequences_of(sight, opening, figures, is_eased=True)

    def replaced(self, cause: Explanation, before: frozenset[Fault]) -> tuple[Fault, ...]:
        """Findings that the cause explains: they hold for the numbers as they stand and not after it."""
        opening, figures = self.weighing.opening, self.weighing.figures
        follows = consequences_of(self.weighing.sight(self.numbers), opening, figures)
        cleared = (before | follows) - self.left(cause)
        return tuple(sorted(each for each in cleared if each[0] != GAP_TWICE))

    def others(self, field: str) -> list[str]:
        """The other readings of the field's group, as written."""
        group, _, place = field.partition("/")
        if group not in {"widths", "heights", "diagonals"} or not place:
            return []
        readings = self.numbers.group(group)
        return [
            self.length(each) for spot, each in enumerate(readings) if spot != int(place) and each is not None
        ]

    def _nearest(self, cause: Explanation) -> str:
        """The other reading that the candidate is nearest to, as written."""
        group, _, place = cause.field.partition("/")
        readings = [
            each
            for spot, each in enumerate(self.numbers.group(group))
            if spot != int(place) and each is not None
        ]
        return self.length(min(readings, key=lambda each: abs(each - cause.value_mm)))

    def agreement(self, cause: Explanation) -> list[str]:
        """What the candidate agrees with."""
        group, _, place = cause.field.partition("/")
        left = self.left(cause)
        sight = self.weighing.sight(cause.numbers)
        if group == "frame":
            return [f"the smallest {place} reading {self.length(sight.axis(place).least)} less its gaps"]
        if group == "diagonals":
            beside = [f"the other diagonal {each}" for each in self.others(cause.field)]
            return [*beside, "the widths and heights"]
        name = "width" if group == "widths" else "height"
        parts = self.others(cause.field)
        if parts and ("readings-disagree", name) in left:
            parts = [self._nearest(cause)]
        if sight.taped and ("diagonals-disagree", "") not in left:
            parts.append("both diagonals" if len(sight.taped) == 2 else "the diagonal")
        frame = sight.frames[name]
        if frame is not None and not any(axis == name for _, axis in left):
            parts.append(f"the ordered frame {name} {self.length(frame.stated)}")
        size = {"width_mm": sight.width.least, "height_mm": sight.height.least}
        alike = len(self.weighing.siblings.like(**size, but=self.weighing.index))
        parts += [f"{alike} other window{'s' if alike > 1 else ''} of the order"] if alike else []
        return parts

    def why(self, found: list[Explanation], elsewhere: list[str]) -> str:
        """With what the candidate agrees, and what would explain it about as well.

        Args:
            found: explanations in one place, likeliest first.
            elsewhere: other places that may be wrong instead.
        """
        first = found[0]
        value, was = self.length(first.value_mm), self.length(first.was_mm)
        if first.reason == SWAPPED:
            is_all = not self.weighing.faults_after(first)
            text = f"With {first.how}, {'everything' if is_all else 'more'} agrees."
        elif first.reason in SLIPS:
            parts = self.agreement(first)
            tail = f"agrees with {join(parts)}" if parts else "is the size of a window"
            text = f"{value} {tail}; {was} is that, {first.how}."
        else:
            text = f"{was} is {first.how}; it should be {value}."
        for each in found[1:]:
            if each.reason in SLIPS:
                text += f" {self.length(each.value_mm)} ({each.how}) fits about as well."
            else:
                text += f" It is also {each.how}."
        if elsewhere:
            also = join([f"the {place_name(each, self.numbers)}" for each in elsewhere], "or")
            name = place_name(first.field, self.numbers)
            text += f" A mistake in {also} instead of the {name} would explain it about as well."
        return text

    def question(self, found: list[Explanation], elsewhere: list[str]) -> str:
        """One sentence to send to the surveyor.

        Args:
            found: explanations in one place, likeliest first.
            elsewhere: other places that may be wrong instead.
        """
        asked = self._question(found)
        if not elsewhere or not asked.endswith("?"):
            return asked
        others = join([f"the {place_name(each, self.numbers)}" for each in elsewhere], "or")
        return f"{asked[:-1]}, or is {others} wrong instead?"

    def _question(self, found: list[Explanation]) -> str:
        """The question about one place."""
        first = found[0]
        name, was = place_name(first.field, self.numbers), self.length(first.was_mm)
        values = join(list(dict.fromkeys(self.length(each.value_mm) for each in found)), "or")
        if first.reason == SWAPPED:
            return self._turned(first)
        if first.reason not in SLIPS:
            return f"The {name} {was} looks like {first.how}: should it be {values}?"
        if "/" not in first.field:
            start = f"The {name} start at {was}"
        else:
            others = self.others(first.field) if not first.field.startswith("frame") else []
            beside = f", the other{'s' if len(others) > 1 else ''} {join(others)}" if others else ""
            start = f"The {name} reads {was}{beside}"
        units = [each.how.rpartition("taken in ")[2] for each in found if "taken in " in each.how]
        if len(units) == len(found):
            pairs = [
                f"{unit} ({self.length(each.value_mm)})" for unit, each in zip(units, found, strict=True)
            ]
            return f"{start}: was that in {join(pairs, 'or')}?"
        if "/" not in first.field:
            return f"{start}: should they start at {values}?"
        return f"{start}: should it be {values}{self._or_wall(first)}?"

    def _or_wall(self, cause: Explanation) -> str:
        """What else the surveyor may find: a lump or a hollow of that size, or an arched head."""
        group, _, place = cause.field.partition("/")
        is_lump = self.weighing.figures.is_like_a_lump(cause.was_mm - cause.value_mm)
        if cause.reason == UNIT or group not in {"widths", "heights"} or not place:
            return ""
        if not is_lump or not self.others(cause.field):
            return ""
        if cause.field == "heights/1" and len(self.numbers.heights) == 3 and cause.value_mm < cause.was_mm:
            return ", or is the head arched"
        return ", or is the wall so"

    def _turned(self, cause: Explanation) -> str:
        """The question for things that changed places."""
        numbers = self.numbers
        if (
            cause.field == "frame/width"
            and numbers.frame_width is not None
            and numbers.frame_height is not None
        ):
            wide, high = self.length(numbers.frame_width), self.length(numbers.frame_height)
            return (
                f"The frame is ordered {wide} wide and {high} high: should it be {high} wide and {wide} high?"
            )
        was, value = self.length(cause.was_mm), self.length(cause.value_mm)
        if axis_of(cause.numbers.widths) == axis_of(numbers.heights):
            return f"The width is given as {was} and the height as {value}: have the two changed places?"
        name = place_name(cause.field, numbers)
        return f"The {name} reads {was} and a height reads {value}: have the two changed places?"
