"""Suspicion: what a survey's numbers, weighed together, say of a slip of pen, tape or keyboard.

The weighing itself is in ``calc/forensics``. Here an order is put into its terms, and what it finds becomes
findings that take the place of those that it explains: one cause is reported once.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from sawready.calc.forensics import SurveyedOpening, Suspect, SuspicionFigures, survey_suspects
from sawready.catalogue.profiles import ProfileSystem
from sawready.catalogue.rulebook import Rulebook
from sawready.catalogue.suspicion import starting_values
from sawready.model.finding import NOTE, QUERY, REJECT, Finding, Quantity
from sawready.model.layout import Division, Layout, Light
from sawready.model.order import Opening
from sawready.rules.registry import REASONS, declare
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
    if rulebook is None or sized[0].system is None:
        return [Weighed(list(each)) for each in found]
    unit_mm = nm_per_unit(units) / NM if units else 1.0
    openings = [
        _surveyed(each, findings, rulebook, unit_mm) for each, findings in zip(sized, found, strict=True)
    ]
    suspects = survey_suspects(openings, suspicion_figures(rulebook))
    return [
        Weighed(list(findings)) if not own else _explained(each, findings, own)
        for each, findings, own in zip(sized, found, suspects, strict=True)
    ]


def _mm(values_nm: Sequence[int | None]) -> tuple[float | None, ...]:
    return tuple([None if value is None else value / NM for value in values_nm])


def _surveyed(ctx: Sized, findings: Sequence[Finding], rulebook: Rulebook, unit_mm: float) -> SurveyedOpening:
    """An opening in the terms of the weighing: millimetres, in the places where the order has them."""
    opening = ctx.opening
    heights, diagonals = opening.heights_nm, opening.diagonals_nm
    if ctx.is_turned:
        heights, diagonals = heights[::-1], diagonals[::-1]
    groups = {"widths": _mm(opening.widths_nm), "heights": _mm(heights), "diagonals": _mm(diagonals)}
    if opening.unread:
        _put_back(groups, findings, ctx)
    width, height = ctx.width, ctx.height
    left, right, top, bottom = opening.to_come_nm
    extenders = opening.extenders_nm
    upstand = 0.0 if ctx.sill is None else float(ctx.sill.upstand_mm)
    own = opening.own_gap_nm
    return SurveyedOpening(
        widths_mm=groups["widths"],
        heights_mm=groups["heights"],
        diagonals_mm=groups["diagonals"],
        frame_width_mm=None if opening.frame_width_nm is None else opening.frame_width_nm / NM,
        frame_height_mm=None if opening.frame_height_nm is None else opening.frame_height_nm / NM,
        height_includes_sill=bool(opening.height_includes_sill),
        sill_upstand_mm=upstand,
        width_gap_mm=_gap_mm(ctx, 0) if width is None else (width.gap_nm[0] + width.gap_nm[1]) / NM,
        height_gap_mm=_gap_mm(ctx, 1) if height is None else (height.gap_nm[0] + height.gap_nm[1]) / NM,
        width_gap_most_mm=_most_mm(ctx, 0),
        height_gap_most_mm=_most_mm(ctx, 1),
        width_gap_is_own=own[0] is not None or own[1] is not None,
        height_gap_is_own=own[2] is not None or own[3] is not None,
        width_extenders_mm=(extenders[0] + extenders[1]) / NM,
        height_extenders_mm=(extenders[2] + extenders[3]) / NM,
        width_to_come_mm=(left + right) / NM,
        height_to_come_mm=(top + bottom) / NM,
        other_gaps_mm=_other_gaps(rulebook, ctx.system, opening.colour_class),
        inside_width_mm=None if opening.inside_width_nm is None else opening.inside_width_nm / NM,
        inside_height_mm=None if opening.inside_height_nm is None else opening.inside_height_nm / NM,
        measured_to=opening.measured_to,
        is_head_sloping=opening.is_head_sloping,
        unit_mm=unit_mm,
        layout_key=_layout_key(opening),
    )


def _put_back(groups: dict[str, tuple[float | None, ...]], findings: Sequence[Finding], ctx: Sized) -> None:
    """Lengths that were read but lie outside their range: that is what a slip of unit looks like."""
    for each in findings:
        if each.reason != "value-out-of-range" or each.measured is None or each.measured.unit != "mm":
            continue
        parts = each.at.removeprefix(f"{ctx.base}/").split("/")
        if len(parts) == 2 and parts[0] in groups and parts[1].isdigit():
            values = list(groups[parts[0]])
            number = int(parts[1])
            places = ctx.opening.reading_places.get(parts[0])
            if places is not None and number in places:
                number = places.index(number)
            if number < len(values) and values[number] is None:
                values[number] = float(each.measured.value)
                groups[parts[0]] = tuple(values)


def _gap_mm(ctx: Sized, axis: int) -> float:
    """Both gaps of an axis whose fit could not be worked out, by the rulebook's first band."""
    figure = ctx.gaps[axis]
    if figure is not None:
        return 2 * figure.nm / NM
    gaps = _bands(ctx.rulebook, ctx.system, ctx.opening.colour_class)
    return gaps[0] if gaps else 10.0


def _most_mm(ctx: Sized, axis: int) -> float:
    figure = ctx.gaps_most[axis]
    if figure is not None:
        return figure.nm / NM
    assert ctx.rulebook is not None  # noqa: S101 - the weighing needs it
    most = ctx.rulebook.gap_most_nm(span_nm=NM)
    return 0.0 if most is None else most.nm / NM


@lru_cache(maxsize=256)
def _bands(
    rulebook: Rulebook | None, system: ProfileSystem | None, colour_class: str | None
) -> tuple[float, ...]:
    """Both gaps together in each band of the rulebook's table for this frame. [mm]"""
    if rulebook is None or system is None or colour_class is None:
        return ()
    found: dict[float, None] = {}
    span = NM
    while (
        figure := rulebook.gap_nm(material=system.material, colour_class=colour_class, span_nm=span)
    ) is not None:
        found[2 * figure.nm / NM] = None
        span = int(figure.up_to_mm * NM) + 1
    return tuple(found)


def _other_gaps(
    rulebook: Rulebook, system: ProfileSystem | None, colour_class: str | None
) -> tuple[float, ...]:
    return _bands(rulebook, system, colour_class)


@lru_cache(maxsize=4096)
def _shape(layout: Layout) -> str:
    """What two layouts share that are the same but for hinge sides and places."""
    if isinstance(layout, Light):
        return layout.kind
    assert isinstance(layout, Division)  # noqa: S101 - the only other kind
    parts = (
        sorted(_shape(part) for part in layout.parts)
        if layout.axis == "columns"
        else map(_shape, layout.parts)
    )
    return f"({('|' if layout.axis == 'columns' else '/').join(parts)})"


def _layout_key(opening: Opening) -> str | None:
    return None if opening.layout is None else _shape(opening.layout)


def _explained(ctx: Sized, findings: Sequence[Finding], suspects: Sequence[Suspect]) -> Weighed:
    """Findings with those that a suspect explains taken out, and the suspects put first."""
    outside = {each.at for each in findings if each.reason == "value-out-of-range"}
    suspects = [
        suspect
        for suspect in suspects
        if suspect.severity == REJECT or f"{ctx.base}/{_place(ctx, suspect.field)}" not in outside
    ]
    replaced = tuple(tuple(each for each in findings if _explains(suspect, each)) for suspect in suspects)
    kept = [each for each in findings if not any(each in taken for taken in replaced)]
    return Weighed([*(_finding(ctx, suspect) for suspect in suspects), *kept], replaced)


def _explains(suspect: Suspect, finding: Finding) -> bool:
    """Whether a finding is a consequence of a suspect, on its axis or in its field.

    A value outside its range is no size at all until it is corrected, so a mere question does not take its
    place (and is not asked beside it either: the finding offers what may be meant).
    """
    if finding.reason == "value-out-of-range" and suspect.severity != REJECT:
        return False
    for reason, where in suspect.replaces:
        if reason != finding.reason:
            continue
        if not where or where in finding.at.split("/") or f"{where}s" in finding.at.split("/"):
            return True
        if finding.at.endswith(where):
            return True
    return False


def _place(ctx: Sized, field: str) -> str:
    """A suspect's field as the order has it; blanks among its readings count there."""
    name, _, number = field.partition("/")
    places = ctx.opening.reading_places.get(name)
    return f"{name}/{places[int(number)]}" if places is not None and number.isdigit() else field


def _finding(ctx: Sized, suspect: Suspect) -> Finding:
    page = REASONS[suspect.reason]
    first = suspect.field.partition("/")[0]
    root = "/defaults" if first in ctx.from_defaults else ctx.base
    measured = None if suspect.measured_mm is None else Quantity(round(suspect.measured_mm, 4), "mm")
    return Finding(
        reason=suspect.reason,
        severity=suspect.severity,
        at=f"{root}/{_place(ctx, suspect.field)}" if suspect.field else ctx.base,
        message=suspect.why,
        measured=measured,
        candidates=tuple(round(value, 4) for value in suspect.candidates_mm),
        remedy=suspect.question,
        source=page.source,
    )
