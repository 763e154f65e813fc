"""Suspicion: what a survey's numbers, weighed together, say of a slip of pen, tape or keyboard.

The weighing itself is in ``calc/forensics``. Here an order is put into its terms, and what it finds becomes
findings that take the place of those that it explains: one cause is reported once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from sawready.calc.forensics import Suspect, SuspicionFigures, survey_suspects
from sawready.catalogue.rulebook import Rulebook
from sawready.catalogue.suspicion import starting_values
from sawready.model.finding import NOTE, QUERY, REJECT, Finding, Quantity
from sawready.rules.registry import REASONS, declare
from sawready.rules.suspicion_facts import place_in_order, surveyed_opening
from sawready.rules.suspicion_quick import QuickLimits, are_plainly_sound
from sawready.sizing import Sized
from sawready.units import NM_PER_MM as NM
from sawready.units import nm_per_unit

_SOURCE: Final = "rulebook, suspicion: starting values, low confidence"
_WEIGHED: Final = (
    "Readings, diagonals, ordered frame and the order's other windows are weighed together; this one change "
    "makes them agree. Nothing is changed: the surveyor is asked."
)

for _name, _severity, _title, _why in (
    (
        "reading-digits-swapped",
        QUERY,
        "Two digits of a length have probably changed places",
        "A frame made to 1570 in place of 1507 does not go in.",
    ),
    (
        "reading-unit-slip",
        REJECT,
        "A length is probably in another unit than its column",
        "Inches or centimetres among millimetres give a size that nobody measured.",
    ),
    (
        "reading-step-slip",
        QUERY,
        "A tape was probably misread by a round step",
        "A tape read 100 short makes a frame 100 too small, and every reading of it looks clean.",
    ),
    (
        "width-height-swapped",
        REJECT,
        "Width and height have probably changed places",
        "The window is made lying down; nothing of it can be used.",
    ),
    (
        "readings-look-copied",
        NOTE,
        "All readings are equal and round",
        "Three equal round readings are often one reading written three times, so a taper would go unseen.",
    ),
    (
        "average-reading-used",
        REJECT,
        "The frame was made from the average of the readings",
        "The least reading is where the frame has to pass; an average is larger, and the frame sticks there.",
    ),
    (
        "gap-taken-twice",
        QUERY,
        "The gap was probably taken off twice",
        "Surveyor and office both took it off; the joint comes out too wide to seal.",
    ),
    (
        "sill-height-counted-twice",
        QUERY,
        "The sill was probably taken off twice",
        "The frame comes out a sill's height too short.",
    ),
    (
        "sill-height-forgotten",
        REJECT,
        "The sill was not taken off the frame's height",
        "Frame and sill together are higher than the opening.",
    ),
    (
        "measured-to-wrong-face",
        REJECT,
        "The size is one between plaster or the old frame, not between the brick",
        "What the plaster hides is not the hole; a frame made to it is too wide for the brick, or too narrow.",
    ),
):
    declare(
        reason=_name,
        about="suspicion" if _name.startswith(("reading", "width")) else "size",
        severity=_severity,
        stage="sizes",
        title=_title,
        why=f"{_why} {_WEIGHED}",
        message="{why}",
        remedy="{question}",
        source=_SOURCE,
    )


@lru_cache(maxsize=64)
def suspicion_figures(rulebook: Rulebook) -> SuspicionFigures:
    """The figures of a rulebook: its own, and the program's starting values for the rest."""
    values = dict(starting_values())
    for path in rulebook.figures:
        section, _, name = path.partition(".")
        if section == "suspicion" and name in values:
            values[name] = rulebook.figure(path).value
    return SuspicionFigures.of(
        values,
        readings_spread_mm=rulebook.readings_spread_nm / NM,
        diagonals_differ_from_mm=rulebook.diagonals_differ_from_nm / NM,
        diagonals_against_sides_mm=rulebook.diagonals_against_sides_nm / NM,
    )


@lru_cache(maxsize=64)
def _quick_limits(rulebook: Rulebook) -> QuickLimits:
    return QuickLimits.of(suspicion_figures(rulebook))


@dataclass(frozen=True, slots=True)
class Weighed:
    """An opening's findings once its survey has been weighed.

    Attributes:
        findings: suspects first, and what none of them explains.
        replaced: for each suspect, in that order, the findings that it took the place of; where somebody
            answers that the suspect is none, they stand again.
    """

    findings: list[Finding]
    replaced: tuple[tuple[Finding, ...], ...] = ()


def weigh_order(
    sized: Sequence[Sized], found: Sequence[Sequence[Finding]], units: str | None
) -> list[Weighed]:
    """Findings of every opening once its survey has been weighed beside the others of its order.

    Args:
        sized: the openings with their sizes.
        found: what readers and rules have found of each.
        units: unit of the order's bare numbers.
    Returns: for each opening its findings, those that a suspect explains replaced by it.
    """
    rulebook = sized[0].rulebook
    if rulebook is None:
        return [Weighed(list(each)) for each in found]
    if are_plainly_sound(sized, _quick_limits(rulebook)):
        return [Weighed(each if isinstance(each, list) else list(each)) for each in found]
    unit_mm = nm_per_unit(units) / NM if units else 1.0
    openings = [
        surveyed_opening(each, findings, rulebook, unit_mm)
        for each, findings in zip(sized, found, strict=True)
    ]
    suspects = survey_suspects(openings, suspicion_figures(rulebook))
    return [
        Weighed(list(findings)) if not own else _explained(each, findings, own)
        for each, findings, own in zip(sized, found, suspects, strict=True)
    ]


def _explained(ctx: Sized, findings: Sequence[Finding], suspects: Sequence[Suspect]) -> Weighed:
    """Findings with those that a suspect explains taken out, and the suspects put first.

    A length outside its range with nothing beside it stays that: its finding offers what may be meant.
    """
    outside = [each.at for each in findings if each.reason == "value-out-of-range"]
    if outside:
        suspects = [
            _as_strict(suspect, place_in_order(ctx, suspect.field), outside)
            for suspect in suspects
            if not (suspect.is_open and place_in_order(ctx, suspect.field) in outside)
        ]
    replaced = tuple(
        tuple(each for each in findings if _explains(ctx, suspect, each)) for suspect in suspects
    )
    kept = [each for each in findings if not any(each in taken for taken in replaced)]
    return Weighed([*(_finding(ctx, suspect) for suspect in suspects), *kept], replaced)


def _as_strict(suspect: Suspect, at: str, outside: Sequence[str]) -> Suspect:
    """The suspect; where what is written there lies outside its range it is no size, so no mere question."""
    is_outside = any(each == at or each.startswith(f"{at}/") for each in outside)
    return replace(suspect, severity=REJECT) if is_outside and suspect.severity == QUERY else suspect


def _explains(ctx: Sized, suspect: Suspect, finding: Finding) -> bool:
    """Whether a finding is a consequence of a suspect, on its axis or in its field."""
    if finding.reason == "value-out-of-range":
        if suspect.severity != REJECT:
            return False
        if finding.at == place_in_order(ctx, suspect.field):
            return True
        readings = [f"{where}s" for reason, where in suspect.replaces if reason == finding.reason]
        return any(finding.at.startswith(place_in_order(ctx, f"{each}/")) for each in readings)
    return any(
        reason == finding.reason and (not where or where in _axes(finding.at))
        for reason, where in suspect.replaces
    )


def _axes(at: str) -> set[str]:
    """The axes that a pointer names, such as ``width`` in ``/openings/0/widths``."""
    parts = set(at.split("/"))
    return {axis for axis in ("width", "height") if axis in parts or f"{axis}s" in parts}


def _finding(ctx: Sized, suspect: Suspect) -> Finding:
    measured = None if suspect.measured_mm is None else Quantity(round(suspect.measured_mm, 4), "mm")
    return Finding(
        reason=suspect.reason,
        severity=suspect.severity,
        at=place_in_order(ctx, suspect.field),
        message=suspect.why,
        measured=measured,
        candidates=tuple(round(value, 4) for value in suspect.candidates_mm),
        remedy=suspect.question,
        source=REASONS[suspect.reason].source,
    )
