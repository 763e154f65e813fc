"""Escape by window: what an open sash leaves clear, against the least that lets a person out."""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.escape import EscapeMiss, EscapeVerdict, escape_opening
from sawready.calc.plan import NM, Plan
from sawready.catalogue.building import building_figures
from sawready.catalogue.profiles import ClearOpening
from sawready.catalogue.rooms import HABITABLE, kinds_of_room
from sawready.model.finding import Severity
from sawready.model.shown import apart, plain, quantity, shown
from sawready.rules.registry import QUERY, REJECT, Hit, Hits, NotJudged, known, rule
from sawready.rules.where import light_in_words
from sawready.sizing import Sized

NO_FLOOR: Final = "no height of the sill above the floor"


@dataclass(frozen=True, slots=True)
class Way:
    """What one opening light leaves clear.

    Attributes:
        light: number of the light.
        width_mm, height_mm: clear size; where the system does not state it, the daylight, which it cannot
            exceed. [mm]
        bottom_mm: bottom of the clear opening above the floor; None where the floor is not stated. [mm]
        is_stated: the system says what the open sash leaves clear.
        verdict: against the rulebook's figures.
    """

    light: int
    width_mm: Fraction
    height_mm: Fraction
    bottom_mm: Fraction | None
    is_stated: bool
    verdict: EscapeVerdict


@lru_cache(maxsize=1024)
def _losses_nm(clear: ClearOpening, denominator: int) -> tuple[int, int]:
    return (
        int(clear.width_loss_mm * NM * denominator),
        int(clear.height_loss_mm * NM * denominator),
    )


def ways_out(ctx: Sized) -> list[Way]:
    """Every opening light of a window as a way out.

    Args:
        ctx: an opening whose lights and system are known, and whose rulebook has the figures.
    Returns: one way an opening light, in the plan's order.
    Source: figures of system and rulebook, by ``calc.escape.escape_opening``.
    """
    plan, system = known(ctx.plan), known(ctx.system)
    limits = known(building_figures(known(ctx.rulebook)).escape_limits)
    found = []
    for number, kind, wide, high in plan.sashes:
        opener = system.openers.get(kind)
        clear = None if opener is None else opener.clear_opening
        if clear is None:
            daylight = plan.lights[number].daylight
            width, height = ctx.values[daylight[0]], ctx.values[daylight[1]]
        else:
            loss = _losses_nm(clear, plan.denominator)
            width, height = ctx.values[wide] - loss[0], ctx.values[high] - loss[1]
        size = (_in_mm(max(width, 0), plan), _in_mm(max(height, 0), plan))
        bottom = _bottom_mm(ctx, plan, number)
        verdict = escape_opening(
            clear_width_mm=size[0], clear_height_mm=size[1], bottom_above_floor_mm=bottom, figures=limits
        )
        found.append(Way(number, *size, bottom, clear is not None, verdict))
    return found


def _in_mm(value: int, plan: Plan) -> Fraction:
    return Fraction(value, plan.denominator * NM)


def _bottom_mm(ctx: Sized, plan: Plan, number: int) -> Fraction | None:
    """Bottom sight line of a light above the floor. [mm]."""
    floor = ctx.opening.floor_to_sill_nm
    if floor is None:
        return None
    return Fraction(floor + known(ctx.height).size_nm, NM) - ctx.mm(plan.lights[number].y[1])


@rule(
    reason="escape-opening-too-small",
    about="rules",
    severity=REJECT,
    needs=("lights", "rulebook"),
    asks=("escape_asked", "escape_figures", "clear_opening", "floor_to_sill"),
    title="A way out that is too small, too high or too low",
    message="The best way out, {light}, leaves {width} x {height} mm clear ({area} m2){bottom}{bound}: "
    "{misses}.",
    remedy="Make the light larger or hang it on hinges that clear more. "
    "Local codes and licensed practice decide.",
    source="rulebook, escape",
)
def escape_opening_too_small(ctx: Sized) -> Hits:
    """In a fire this window is the way out, or the way in for whoever comes to help.

    Judged is the hole that the open sash leaves, by the system's figures for its hinges, never the sash;
    where the system has none, its daylight, which is more than the hole can be. One light that serves is
    enough. Whether a room needs such a window is for people: the order says so.
    """
    plan, rulebook, opening = known(ctx.plan), known(ctx.rulebook), ctx.opening
    if opening.escape is False:
        return ()
    figures = building_figures(rulebook)
    if opening.escape is None:
        return _not_said(ctx, figures.highest_storey)
    if figures.escape is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    ways = ways_out(ctx)
    may_reject = all(figure.may_reject for figure in figures.escape)
    severity = REJECT if may_reject else QUERY
    source = figures.escape[0].cited
    if not ways:
        message = "Nothing in this window opens, and it has to serve for escape."
        remedy = "Give it a side-hung light that is large enough. Local codes and licensed practice decide."
        return (Hit("layout", severity=severity, source=source, message=message, remedy=remedy),)
    serving = [way for way in ways if way.verdict.ok]
    if any(way.is_stated and way.bottom_mm is not None for way in serving):
        return ()
    if serving:
        if serving[0].bottom_mm is None:
            return (NotJudged(NO_FLOOR),)
        kind = plan.lights[serving[0].light].light.kind
        return (
            NotJudged(f"system {known(ctx.system).name} does not say what an open {kind} light leaves clear"),
        )
    best = min(ways, key=lambda way: (len(way.verdict.misses), -way.verdict.area_m2))
    return (_too_small(plan, best, severity=severity, source=source),)


def _not_said(ctx: Sized, highest_storey: int | None) -> Hits:
    """Silence where the room cannot need a way out by window; else nothing was judged."""
    opening = ctx.opening
    if opening.storey is not None and highest_storey is not None and opening.storey > highest_storey:
        return ()
    if opening.room is not None:
        kinds = kinds_of_room(opening.room)
        if kinds and HABITABLE not in kinds:
            return ()
    return (NotJudged("nothing says whether it has to serve for escape"),)


_WORDS: Final = {
    "area": "{limit} m2 is the least",
    "width": "{limit} mm is the least width",
    "height": "{limit} mm is the least height",
}


def _in_words(miss: EscapeMiss) -> str:
    if miss.measure != "bottom_height":
        return _WORDS[miss.measure].format(limit=plain(miss.limit, 2))
    return f"{plain(miss.limit)} mm is the {'highest' if miss.value > miss.limit else 'lowest'} bottom"


def _too_small(plan: Plan, way: Way, *, severity: Severity, source: str) -> Hit:
    """The hit of the light that comes nearest to serving; its area, which follows, is told last."""
    misses = sorted(way.verdict.misses, key=lambda miss: miss.measure == "area")
    first = misses[0]
    unit, digits = ("m2", 3) if first.measure == "area" else ("mm", 1)
    text, limit = apart(first.value, first.limit, digits=digits)
    facts = {
        "light": light_in_words(plan, way.light),
        "width": plain(way.width_mm, 3),
        "height": plain(way.height_mm, 3),
        "area": apart(way.verdict.area_m2, first.limit, digits=3)[0]
        if first.measure == "area"
        else shown(way.verdict.area_m2, 3),
        "bottom": ""
        if way.bottom_mm is None
        else f", its bottom {plain(way.bottom_mm, 3)} mm above the floor",
        "bound": "" if way.is_stated else ", its whole daylight, which no hinge can exceed",
        "misses": ", ".join(map(_in_words, misses)),
    }
    return Hit(
        "escape",
        facts,
        measured=quantity(text, unit),
        limit=quantity(limit, unit),
        severity=severity,
        source=source,
    )
