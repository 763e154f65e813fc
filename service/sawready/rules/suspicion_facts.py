"""An opening in the terms of the weighing: millimetres, in the places where the order has them.

What could be read of it but not be used (a value outside its range, a frame whose gaps are not known) is
where a slip shows first, and where a comparison would mislead; both are dealt with here.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Final

from sawready.calc.forensics import SurveyedOpening
from sawready.catalogue.profiles import ProfileSystem
from sawready.catalogue.rulebook import Rulebook
from sawready.model.finding import Finding
from sawready.model.layout import Division, Layout, Light
from sawready.model.order import Opening
from sawready.sizing import Sized
from sawready.units import NM_PER_MM as NM

__all__ = ["place_in_order", "surveyed_opening"]

READINGS: Final = ("widths", "heights", "diagonals")
_FRAME_NEEDS: Final = frozenset({"frame", "gap", "to_come", "extenders", "slope", "colour", "colour/outside"})
"""Members without which nobody can say what a stated frame should be."""
_HEIGHT_NEEDS: Final = frozenset({"frame/height_includes_sill", "sill"})


def place_in_order(ctx: Sized, field: str) -> str:
    """Pointer of a field of the weighing in the order as it was written.

    Blanks among the readings count there, and what the order's ``defaults`` supply stands there.

    Args:
        ctx: the opening.
        field: place in the opening such as ``widths/1``; nothing for the opening itself.
    """
    if not field:
        return ctx.base
    name, _, number = field.partition("/")
    places = ctx.opening.reading_places.get(name)
    if places is not None and number.isdigit():
        field = f"{name}/{places[int(number)]}"
    return f"{'/defaults' if name in ctx.from_defaults else ctx.base}/{field}"


def surveyed_opening(
    ctx: Sized, findings: Sequence[Finding], rulebook: Rulebook, unit_mm: float
) -> SurveyedOpening:
    """What the weighing wants to know of an opening.

    Args:
        ctx: the opening with its sizes, seen from outside.
        findings: what was found on reading it; values outside their range are in there.
        rulebook: for the gaps.
        unit_mm: unit of the order's bare numbers. [mm]
    """
    opening = ctx.opening
    heights, diagonals = opening.heights_nm, opening.diagonals_nm
    if ctx.is_turned:
        heights, diagonals = heights[::-1], diagonals[::-1]
    widths_mm, heights_mm = _mm(opening.widths_nm), _mm(heights)
    diagonals_mm = _mm(diagonals) if diagonals else ()
    frame_width, frame_height = _one_mm(opening.frame_width_nm), _one_mm(opening.frame_height_nm)
    inside_width, inside_height = _one_mm(opening.inside_width_nm), _one_mm(opening.inside_height_nm)
    if opening.unread:
        outside = _outside(ctx, findings)
        widths_mm = _put_back(widths_mm, "widths", outside)
        heights_mm = _put_back(heights_mm, "heights", outside)
        diagonals_mm = _put_back(diagonals_mm, "diagonals", outside)
        frame_width = outside.get("frame/width", frame_width)
        frame_height = outside.get("frame/height", frame_height)
        inside_width = outside.get("inside/width", inside_width)
        inside_height = outside.get("inside/height", inside_height)
    width_gap, height_gap = _gap_mm(ctx, 0), _gap_mm(ctx, 1)
    if frame_width is not None or frame_height is not None:
        if not _is_frame_to_be_judged(ctx, diagonals_mm):
            frame_width = frame_height = None
        if width_gap is None or None in widths_mm:
            frame_width = None
        if height_gap is None or None in heights_mm or not _is_sill_known(ctx):
            frame_height = None
    left, right, top, bottom = opening.to_come_nm
    extenders, own = opening.extenders_nm, opening.own_gap_nm
    return SurveyedOpening(
        widths_mm=widths_mm,
        heights_mm=heights_mm,
        diagonals_mm=diagonals_mm,
        frame_width_mm=frame_width,
        frame_height_mm=frame_height,
        height_includes_sill=bool(opening.height_includes_sill),
        sill_upstand_mm=_upstand_mm(ctx),
        width_gap_mm=width_gap or 0.0,
        height_gap_mm=height_gap or 0.0,
        width_gap_most_mm=_most_mm(ctx, 0, rulebook),
        height_gap_most_mm=_most_mm(ctx, 1, rulebook),
        width_gap_is_own=own[0] is not None or own[1] is not None,
        height_gap_is_own=own[2] is not None or own[3] is not None,
        width_extenders_mm=(extenders[0] + extenders[1]) / NM,
        height_extenders_mm=(extenders[2] + extenders[3]) / NM,
        width_to_come_mm=(left + right) / NM,
        height_to_come_mm=(top + bottom) / NM,
        other_gaps_mm=_bands(rulebook, ctx.system, opening.colour_class),
        inside_width_mm=inside_width,
        inside_height_mm=inside_height,
        measured_to=opening.measured_to,
        is_head_sloping=opening.is_head_sloping,
        unit_mm=unit_mm,
        layout_key=None if opening.layout is None else _shape(opening.layout),
    )


def _mm(values_nm: Sequence[int | None]) -> tuple[float | None, ...]:
    return tuple([None if value is None else value / NM for value in values_nm])


def _one_mm(value_nm: int | None) -> float | None:
    return None if value_nm is None else value_nm / NM


def _outside(ctx: Sized, findings: Sequence[Finding]) -> dict[str, float]:
    """Lengths that were read but lie outside their range, by field: what a slip of unit looks like."""
    fields = ["frame/width", "frame/height", "inside/width", "inside/height"]
    for name, readings in zip(READINGS, _readings(ctx.opening), strict=True):
        fields += [f"{name}/{number}" for number in range(len(readings))]
    field_at = {place_in_order(ctx, field): field for field in fields}
    return {
        field_at[each.at]: float(each.measured.value)
        for each in findings
        if each.reason == "value-out-of-range"
        and each.at in field_at
        and each.measured is not None
        and each.measured.unit == "mm"
    }


def _readings(opening: Opening) -> tuple[tuple[int | None, ...], ...]:
    return opening.widths_nm, opening.heights_nm, opening.diagonals_nm


def _put_back(
    readings: tuple[float | None, ...], name: str, outside: Mapping[str, float]
) -> tuple[float | None, ...]:
    """Readings with those outside their range among them."""
    return tuple([outside.get(f"{name}/{place}", value) for place, value in enumerate(readings)])


def _is_frame_to_be_judged(ctx: Sized, diagonals_mm: tuple[float | None, ...]) -> bool:
    """Whether it can be said what either side of a stated frame should be; a lean that is not known is in it."""
    unread = ctx.opening.unread
    is_lean_unknown = None in diagonals_mm or (not diagonals_mm and "diagonals" in unread)
    return ctx.system is not None and not is_lean_unknown and not _FRAME_NEEDS & unread


def _is_sill_known(ctx: Sized) -> bool:
    """Whether it can be said what height the sill takes, and whether a stated height has it in it."""
    opening = ctx.opening
    if _HEIGHT_NEEDS & opening.unread:
        return False
    return opening.sill is None or ctx.sill is not None


def _upstand_mm(ctx: Sized) -> float:
    """Height that the sill takes; the fit has it at hand."""
    if ctx.sill is None:
        return 0.0
    return float(ctx.sill.upstand_mm) if ctx.height is None else ctx.height.upstand_nm / NM


def _gap_mm(ctx: Sized, axis: int) -> float | None:
    """Both gaps of an axis; without a fit, the order's own or those of the rulebook's first band."""
    fit = ctx.width if axis == 0 else ctx.height
    if fit is not None:
        return (fit.gap_nm[0] + fit.gap_nm[1]) / NM
    figure = ctx.gaps[axis]
    bands = _bands(ctx.rulebook, ctx.system, ctx.opening.colour_class)
    either = figure.nm / NM if figure is not None else bands[0] / 2 if bands else None
    both = [either if own is None else own / NM for own in ctx.opening.own_gap_nm[2 * axis : 2 * axis + 2]]
    return None if None in both else sum(each for each in both if each is not None)


def _most_mm(ctx: Sized, axis: int, rulebook: Rulebook) -> float:
    figure = ctx.gaps_most[axis] or rulebook.gap_most_nm(span_nm=NM)
    return 0.0 if figure is None else figure.nm / NM


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
