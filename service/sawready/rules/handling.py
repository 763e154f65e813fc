"""What people lift: frame, panes and sashes of a window against the filter of one person."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.handling import people_needed
from sawready.calc.plan import NM, Plan
from sawready.catalogue.building import BuildingFigures, building_figures
from sawready.catalogue.figures import Figure
from sawready.catalogue.physics import physics
from sawready.model.shown import apart, quantity
from sawready.rules.registry import NOTE, Hit, Hits, NotJudged, known, rule
from sawready.rules.where import light_in_words
from sawready.sizing import Sized

_MM_PER_M: Final = 1000
_TELLS_APART: Final = 0.1
_FRAME_MEMBERS: Final = 4
_MOST_KEPT: Final = 2048
_KEPT: Final[dict[tuple[object, ...], tuple[Hit, ...]]] = {}
"""Notes by plan, size, places, glass and rulebook: windows repeat, and many are heavy."""


@dataclass(frozen=True, slots=True)
class Masses:
    """Masses of a window that people lift, its own parts only: no sill, no extenders.

    Attributes:
        bare_kg: frame and sashes with their steel and gear, all glass and beads out. [kg]
        whole_kg: the window with all its glass. [kg]
    """

    bare_kg: float
    whole_kg: float


_Weighed = tuple[tuple[tuple[int, float, int | None, int, float], ...], tuple[tuple[int, float], ...]]
"""Of each member its finished length, mass, level of its steel, cut and mass of that; of each bead cut and mass."""


@lru_cache(maxsize=4096)
def _weighed(plan: Plan) -> _Weighed:
    """What the masses of a plan follow from: numbers of forms, masses per metre."""
    members = []
    for member in plan.members:
        steel = member.steel
        of_steel: tuple[int | None, int, float] = (None, 0, 0.0)
        if steel is not None:
            of_steel = (steel.from_nm * plan.denominator, steel.cut, steel.mass_kg_m)
        members.append((member.finished, member.mass_kg_m, *of_steel))
    beads = [(bead.cut, light.bead_kg_m) for light in plan.lights for bead in light.beads]
    return tuple(members), tuple(beads)


def masses_of(ctx: Sized) -> Masses:
    """Masses of a window as it is carried.

    Args:
        ctx: an opening whose lights and glass are known.
    Returns: the masses.
    Source: geometry, section 7; masses per metre of the system.
    """
    plan, values = known(ctx.plan), ctx.values
    scale = 1 / (plan.denominator * NM * _MM_PER_M)
    bare = beads = glass = 0.0
    members, bead_cuts = _weighed(plan)
    for finished, mass_kg_m, level, steel_cut, steel_kg_m in members:
        bare += values[finished] * mass_kg_m
        if level is not None and values[finished] >= level:
            bare += values[steel_cut] * steel_kg_m
    for cut, bead_kg_m in bead_cuts:
        beads += values[cut] * bead_kg_m
    for glazed in ctx.glazed:
        glass += glazed.glass_kg
    gear = len(plan.sashes) * known(ctx.system).hardware_kg_per_sash
    return Masses(bare * scale + gear, (bare + beads) * scale + gear + glass)


@lru_cache(maxsize=4096)
def _outer_members(plan: Plan) -> tuple[tuple[int, float], ...]:
    """Frame and dividers with all the steel they may have: number of the form, mass. [kg/m]"""
    masses: dict[int, float] = {}
    for member in plan.members[: _FRAME_MEMBERS + len(plan.dividers)]:
        masses[member.finished] = masses.get(member.finished, 0.0) + member.mass_kg_m
        steel = member.steel
        if steel is not None:
            masses[steel.cut] = masses.get(steel.cut, 0.0) + steel.mass_kg_m
    return tuple(masses.items())


def _is_plainly_light(ctx: Sized, plan: Plan, most_kg: float) -> bool:
    """Whether nothing can be above the filter: frame, dividers and whole sashes without their glass."""
    values = ctx.values
    grams = 0.0
    for ref, mass_kg_m in _outer_members(plan):
        grams += values[ref] * mass_kg_m
    bare = grams / (plan.denominator * NM * _MM_PER_M)
    for glazed in ctx.glazed:
        glass, sash = glazed.glass_kg, glazed.sash_kg
        if glass > most_kg or (sash is not None and sash > most_kg):
            return False
        if sash is not None:
            bare += sash - glass
    return bare <= most_kg


def team_for(mass_kg: float, *, filter_kg: Fraction) -> int | None:
    """The least number of people for a mass.

    Args:
        mass_kg: to be lifted. [kg]
        filter_kg: of one person. [kg]
    Returns: number of people; None where the largest team that the figures name is not enough.
    Source: HSE L23, shares of a team from memory, by ``calc.handling.people_needed``.
    """
    return people_needed(mass_kg=mass_kg, filter_kg=filter_kg, team_shares=_team_shares())


@lru_cache(maxsize=1)
def _team_shares() -> dict[int, float]:
    shares = physics().column("lifting.team_shares", by="people")
    return {int(people): share for people, share in shares.items()}


@lru_cache(maxsize=4096)
def _lift(tenths: int, figures: BuildingFigures) -> tuple[str, str]:
    """What a lift takes, and what to do: for a mass in tenths of a kilogram, rounded up."""
    team = team_for(tenths / 10, filter_kg=known(figures.filter).number)
    if team is None:
        return "By that filter even three people are too few.", "use a lifting aid"
    return f"It takes {team} people.", f"{team} people or a lifting aid"


@lru_cache(maxsize=64)
def _women(figures: BuildingFigures) -> str:
    """The filter of a woman in words, where the rulebook has one."""
    filter_kg = figures.filter_women
    return "" if filter_kg is None else f", {float(filter_kg.number):g} kg for a woman"


def _past(mass_kg: float, limit_kg: float) -> str:
    """A mass above a limit, with as many digits as tell the two apart."""
    if mass_kg > limit_kg + _TELLS_APART:
        return f"{mass_kg:.1f}"
    return apart(Fraction(mass_kg), Fraction(limit_kg))[0]


@rule(
    reason="handling-needs-two",
    about="rules",
    severity=NOTE,
    needs=("lights", "glass", "rulebook"),
    asks=("handling_figures",),
    title="Heavier than one person should lift without a closer look",
    message="{what}. {filter} kg is the filter for one person{women}. {team} The window weighs {whole} kg "
    "with all its glass.",
    remedy="Plan the lift: {do}. Each lift is for those on site to judge; "
    "local codes and licensed practice decide.",
    source="rulebook, handling.filter_kg",
)
def handling_needs_two(ctx: Sized) -> Hits:
    """Backs are hurt by a frame that one person carries because nobody had said what it weighs.

    Looked at are the frame as it is carried in, glass and beads out, and each pane and each glazed sash by
    itself. A filter says when to look closer; below it work can still hurt, above it a safe way may exist.
    """
    plan, rulebook = known(ctx.plan), known(ctx.rulebook)
    figures = building_figures(rulebook)
    if figures.filter is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    if _is_plainly_light(ctx, plan, float(figures.filter.number)):
        return ()
    size = (known(ctx.width).size_nm, known(ctx.height).size_nm)
    key = (plan, *size, ctx.places_nm, known(ctx.opening.glass).text, rulebook)
    hits = _KEPT.get(key)
    if hits is None:
        hits = _lifted(ctx, plan, figures, figures.filter)
        if len(_KEPT) >= _MOST_KEPT:
            _KEPT.clear()
        _KEPT[key] = hits
    return hits


def _lifted(ctx: Sized, plan: Plan, figures: BuildingFigures, filter_figure: Figure) -> tuple[Hit, ...]:
    """The note of a window that is too heavy in one of its parts; nothing for one that is not."""
    most = float(filter_figure.number)
    masses = masses_of(ctx)
    lifts: list[tuple[float, str]] = []
    if masses.bare_kg > most:
        lifts.append((masses.bare_kg, "the frame, its glass out, weighs"))
    for number, glazed in enumerate(ctx.glazed):
        if glazed.glass_kg > most:
            lifts.append((glazed.glass_kg, f"the pane of {light_in_words(plan, number)} weighs"))
        if glazed.sash_kg is not None and glazed.sash_kg > most:
            lifts.append((glazed.sash_kg, f"the sash of {light_in_words(plan, number)} weighs"))
    if not lifts:
        return ()
    heaviest = max(lifts)[0]
    text = _past(heaviest, most)
    what = ", ".join([f"{name} {_past(mass, most)} kg" for mass, name in lifts])
    team, plan_for = _lift(math.ceil(heaviest * 10), figures)
    facts = {
        "what": what[:1].upper() + what[1:],
        "filter": f"{most:g}",
        "women": _women(figures),
        "team": team,
        "do": plan_for,
        "whole": f"{masses.whole_kg:.1f}",
    }
    return (
        Hit(
            "layout",
            facts,
            measured=quantity(text, "kg"),
            limit=quantity(f"{most:g}", "kg"),
            source=filter_figure.cited,
        ),
    )
