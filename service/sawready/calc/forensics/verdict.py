"""From the weighing's verdict to suspects: reason, field, candidates, why, and the question to send."""

from typing import Final

from sawready.calc.forensics.candidates import SWAPPED, Explanation
from sawready.calc.forensics.changes import DIGITS, STEP, UNIT
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

OFFICE: Final = frozenset(
    {
        "average-reading-used",
        "gap-taken-twice",
        "sill-height-counted-twice",
        "sill-height-forgotten",
        "measured-to-wrong-face",
    }
)
"""Mistakes made in working out the frame; their sentence shows the sum."""


def suspects_of(verdict: Verdict, numbers: Numbers, weighing: Weighing) -> list[Suspect]:
    """Suspects of one verdict: one for each place, its candidates likeliest first.

    Args:
        verdict: explanations that stand.
        numbers: the numbers that they explain.
        weighing: the opening on the scales.
    Returns: one suspect for each place that may be wrong.
    """
    consequences = consequences_of(weighing.sight(numbers), weighing.opening, weighing.figures)
    by_field: dict[str, list[Explanation]] = {}
    for each in verdict.explanations:
        by_field.setdefault(each.field, []).append(each)
    suspects = []
    for field, explanations in by_field.items():
        first = explanations[0]
        after = weighing.faults_after(first)
        left = after | consequences_of(
            weighing.sight(first.numbers), weighing.opening, weighing.figures, is_eased=True
        )
        cleared = [each for each in sorted((verdict.before | consequences) - left) if each[0] != GAP_TWICE]
        others = [each for each in by_field if each != field]
        suspects.append(
            Suspect(
                reason=first.reason,
                severity=_severity(first, verdict.before),
                field=field,
                measured_mm=first.was_mm,
                candidates_mm=tuple(dict.fromkeys(round(each.value_mm, 4) for each in explanations)),
                why=_why(explanations, after, numbers, others, weighing),
                question=_question(explanations, numbers),
                replaces=tuple(cleared),
                odds=verdict.odds,
            )
        )
    return suspects


def _severity(cause: Explanation, before: frozenset[Fault]) -> Severity:
    """Severity by reason; a frame from the wrong face that is merely too small is a question."""
    if cause.reason == "measured-to-wrong-face" and not any(
        reason in {"frame-too-wide", "frame-too-tall", "frame-will-not-stand-plumb"} for reason, _ in before
    ):
        return QUERY
    return SEVERITY[cause.reason]


def _agreement(cause: Explanation, after: frozenset[Fault], numbers: Numbers, weighing: Weighing) -> list[str]:
    """What the candidate agrees with."""
    group, _, place = cause.field.partition("/")
    parts: list[str] = []
    reasons = {reason for reason, _ in after}
    sight = weighing.sight(cause.numbers)
    consequences = {reason for reason, _ in consequences_of(sight, weighing.opening, weighing.figures, is_eased=True)}
    if group in {"widths", "heights"}:
        readings = numbers.widths if group == "widths" else numbers.heights
        axis = "width" if group == "widths" else "height"
        others = [each for index, each in enumerate(readings) if str(index) != place and each is not None]
        if place and others and ("readings-disagree", axis) not in after:
            parts += [length(each) for each in others]
        frame = numbers.frame_width if axis == "width" else numbers.frame_height
        if frame is not None and not any(name == axis for _, name in after):
            parts.append(f"the ordered frame {axis} {length(frame)}")
    taped = [each for each in numbers.diagonals if each is not None]
    if group == "diagonals":
        others = [each for index, each in enumerate(numbers.diagonals) if str(index) != place and each is not None]
        if place and others:
            parts.append(f"the other diagonal {length(others[0])}")
        parts.append("the widths and heights")
    elif taped and group != "frame" and "diagonals-disagree" not in reasons | consequences:
        parts.append("both diagonals" if len(taped) == 2 else "the diagonal")
    if group == "frame":
        readings = numbers.widths if place == "width" else numbers.heights
        axis_readings = axis_of(readings)
        if axis_readings is not None:
            parts.append(f"the smallest {place} reading {length(axis_readings.least)} less its gaps")
    width, height = sight.width, sight.height
    if width is not None and height is not None and group != "frame":
        alike = len(
            weighing.siblings.like(width_mm=width.least, height_mm=height.least, but=weighing.index)
        )
        if alike:
            parts.append(f"{alike} other window{'s' if alike > 1 else ''} of the order")
    return parts


def _why(
    explanations: list[Explanation],
    after: frozenset[Fault],
    numbers: Numbers,
    others: list[str],
    weighing: Weighing,
) -> str:
    """One or two sentences: with what the candidate agrees, and what would explain it as well."""
    first = explanations[0]
    name = place_name(first.field, numbers)
    if first.reason in OFFICE:
        text = f"{length(first.was_mm)} is {first.how}; it should be {length(first.value_mm)}."
    elif first.reason == SWAPPED:
        agrees = "everything else agrees" if not after else "this much agrees"
        text = f"With {first.how}, {agrees}."
    else:
        parts = _agreement(first, after, numbers, weighing)
        tail = f" agrees with {join(parts)}" if parts else " is the size of a window"
        text = f"{length(first.value_mm)}{tail}; {length(first.was_mm)} is that, {first.how}."
    if len(explanations) > 1:
        also = join([f"{length(each.value_mm)} ({each.how})" for each in explanations[1:]], "or")
        text += f" {also} fits about as well."
    if others:
        also = join([f"the {place_name(each, numbers)}" for each in others], "or")
        text += f" A mistake in {also} instead of the {name} would explain it about as well."
    return text


def _question(explanations: list[Explanation], numbers: Numbers) -> str:
    """One sentence to send to the surveyor."""
    first = explanations[0]
    name = place_name(first.field, numbers)
    group, _, place = first.field.partition("/")
    values = join(list(dict.fromkeys(length(each.value_mm) for each in explanations)), "or")
    if first.reason in OFFICE:
        return f"The {name} {length(first.was_mm)} looks like {first.how}: should it be {values}?"
    if first.reason == SWAPPED:
        return _swap_question(first, numbers)
    verb = "read" if not place else "reads"
    beside = ""
    if group in {"widths", "heights"} and place:
        readings = numbers.widths if group == "widths" else numbers.heights
        others = [length(each) for index, each in enumerate(readings) if str(index) != place and each is not None]
        if others:
            beside = f", the other{'s' if len(others) > 1 else ''} {join(others)}"
    if first.reason == UNIT and "taken in" in first.how:
        word = first.how.split("taken in ")[-1]
        return f"The {name} {verb} {length(first.was_mm)}{beside}: was that {word}, {values} mm?"
    if not place:
        return f"The {name} {verb} from {length(first.was_mm)}: should they be from {values}?"
    return f"The {name} {verb} {length(first.was_mm)}{beside}: is it {values}?"


def _swap_question(cause: Explanation, numbers: Numbers) -> str:
    """The question for things that changed places."""
    if cause.field == "frame/width" and numbers.frame_width is not None and numbers.frame_height is not None:
        return (
            f"The frame is ordered {length(numbers.frame_width)} wide and {length(numbers.frame_height)} high: "
            f"should it be {length(numbers.frame_height)} wide and {length(numbers.frame_width)} high?"
        )
    if cause.how.startswith("changed over"):
        return (
            f"The {place_name(cause.field, numbers)} reads {length(cause.was_mm)} and a height reads "
            f"{length(cause.value_mm)}: have the two changed places?"
        )
    return (
        f"The width is given as {length(cause.was_mm)} and the height as {length(cause.value_mm)}: "
        f"have the two changed places?"
    )
