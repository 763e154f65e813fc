"""Mullions and transoms under wind: how far they bend, and how stiff they would have to be."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.bar_frames import BarLoad, bar_loads_per_pa, bar_response
from sawready.calc.plan import DividerPlan, Plan
from sawready.catalogue.building import building_figures
from sawready.catalogue.physics import physics
from sawready.catalogue.profiles import Profile
from sawready.model.shown import apart, plain, quantity
from sawready.rules.registry import NOTE, QUERY, REJECT, Hit, Hits, NotJudged, known, rule
from sawready.rules.where import NO_SIZE
from sawready.rules.wind_load import Wind, wind_on
from sawready.sizing import Sized

_MM4_PER_CM4: Final = 1e4


@dataclass(frozen=True, slots=True)
class Stiffness:
    """Bending stiffness of a divider [N mm2]: with the usual modulus of PVC-U and with the greatest."""

    usual: float
    most: float
    is_complete: bool


@lru_cache(maxsize=1024)
def stiffness_of(profile: Profile, *, has_steel: bool) -> Stiffness:
    """Bending stiffness of a divider, each material about its own axis.

    Args:
        profile: of the divider.
        has_steel: its reinforcement is fitted.
    Returns: the stiffness; not complete where a second moment of area is not stated, which counts as none.
    Source: engineering practice (no bond between profile and steel); moduli of physics.yaml.
    """
    steel = profile.reinforcement if has_steel else None
    known = physics()
    second = profile.i_mm4
    core = None if steel is None else steel.i_mm4
    of_core = known.column("materials.modulus", by="material", value="e_mpa")["steel"] * (core or 0.0)
    return Stiffness(
        usual=known.number("materials.pvcu_e_mpa") * (second or 0.0) + of_core,
        most=known.number("materials.pvcu_e_most_mpa") * (second or 0.0) + of_core,
        is_complete=second is not None and (steel is None or core is not None),
    )


def has_steel(ctx: Sized, divider: DividerPlan) -> bool:
    """Whether a divider of an opening gets its reinforcement."""
    plan = known(ctx.plan)
    member = plan.members[divider.member]
    steel = member.steel
    return steel is not None and ctx.values[member.finished] >= steel.from_nm * plan.denominator


@lru_cache(maxsize=8192)
def _loads(plan: Plan, width_nm: int, height_nm: int, places_nm: tuple[int, ...]) -> list[BarLoad] | None:
    """Loads of every divider for 1 Pa; windows repeat, so they are kept. None where a light has no size."""
    values = plan.values(width_nm=width_nm, height_nm=height_nm, places_nm=places_nm)
    if any(values[side] <= 0 for light in plan.lights for side in light.daylight):
        return None
    return bar_loads_per_pa(plan, values)


@rule(
    reason="mullion-too-flexible",
    about="rules",
    severity=REJECT,
    needs=("lights", "rulebook"),
    asks=("design_wind", "deflection_class", "stiffness"),
    title="A mullion or transom that bends too far in the wind",
    message="{part} bends {deflection} mm (1/{ratio} of its {span} mm) under {pressure} Pa; {limit} mm "
    "(1/{over}) is the most. It has {has} cm4 as steel, {needed} cm4 are needed.{more}{wind}",
    remedy="Choose stiffer reinforcement or a smaller light beside it. "
    "Local codes and licensed practice decide.",
    source="rulebook, wind.deflection_class; EN 12210, table 1",
)
def mullion_too_flexible(ctx: Sized) -> Hits:
    """A divider that bends breaks the seal of its glass and lets water in; in a storm it can let go.

    Every field hands its wind to the bars round it by 45 degree lines; a bar that ends on another loads it
    in one point. Profile and steel bend each about its own axis. The divider that is farthest past its
    limit is reported, the others are counted.
    """
    plan, rulebook = known(ctx.plan), known(ctx.rulebook)
    if not plan.dividers:
        return ()
    wind = wind_on(ctx)
    if isinstance(wind, str):
        return (NotJudged(wind),)
    figures = building_figures(rulebook)
    if figures.deflection_class is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    loads = _loads(plan, known(ctx.width).size_nm, known(ctx.height).size_nm, ctx.places_nm)
    if loads is None:
        return (NotJudged(NO_SIZE),)
    pressure = wind.pressure_pa
    edge_most = _edge_most_mm()
    weak: list[_Bent] = []
    strained: list[_Bent] = []
    for number, divider in enumerate(plan.dividers):
        load = loads[number]
        stiffness = stiffness_of(divider.profile, has_steel=has_steel(ctx, divider))
        limit = load.span_mm / figures.span_over
        bent = load.deflection_n_mm3 * pressure
        if bent <= min(limit, edge_most) * stiffness.usual:
            continue
        if not load.is_exact:
            bent = bar_response(plan, ctx.values, number).deflection_n_mm3 * pressure
        bar = _Bent(number, bent, load.span_mm, limit, stiffness)
        if bent > limit * stiffness.usual:
            weak.append(bar)
        elif stiffness.is_complete and bent > edge_most * stiffness.usual:
            strained.append(bar)
    if weak:
        worst = max(weak, key=lambda bar: bar.bent_n_mm3 / (bar.limit_mm * max(bar.stiffness.usual, 1.0)))
        return (_bends(ctx, wind, worst, others=len(weak) - 1),)
    if strained:
        worst = max(strained, key=lambda bar: bar.bent_n_mm3 / bar.stiffness.usual)
        return (_strains_the_seal(ctx, wind, worst),)
    return ()


@lru_cache(maxsize=1)
def _edge_most_mm() -> float:
    return physics().number("glass.edge_deflection_most_mm")


def _named(dividers: Sequence[DividerPlan], number: int) -> str:
    """A divider as a message names it."""
    part = dividers[number].part
    alike = [place for place, divider in enumerate(dividers) if divider.part == part]
    return f"The {part}" if len(alike) == 1 else f"{part.title()} {alike.index(number) + 1} of {len(alike)}"


@dataclass(frozen=True, slots=True)
class _Bent:
    """A divider that bends too far: deflection times E I [N mm3], span and limit [mm]."""

    number: int
    bent_n_mm3: float
    span_mm: float
    limit_mm: float
    stiffness: Stiffness


def _bends(ctx: Sized, wind: Wind, bar: _Bent, *, others: int) -> Hit | NotJudged:
    plan, rulebook, system = known(ctx.plan), known(ctx.rulebook), known(ctx.system)
    stiffness, figures = bar.stiffness, building_figures(rulebook)
    part = plan.dividers[bar.number].part
    if not stiffness.is_complete:
        return NotJudged(f"system {system.name} does not state how stiff its {part} is (i_mm4)")
    figure = known(figures.deflection_class)
    deflection = bar.bent_n_mm3 / stiffness.usual
    text, limit = apart(Fraction(deflection), Fraction(bar.limit_mm), digits=2)
    steel = physics().column("materials.modulus", by="material", value="e_mpa")["steel"]
    is_sure = bar.bent_n_mm3 > bar.limit_mm * stiffness.most
    facts = {
        "part": _named(plan.dividers, bar.number),
        "span": plain(Fraction(bar.span_mm)),
        "deflection": text,
        "ratio": f"{bar.span_mm / deflection:.0f}",
        "pressure": wind.text,
        "limit": limit,
        "over": f"{figures.span_over:g}",
        "has": f"{stiffness.usual / steel / _MM4_PER_CM4:.2f}",
        "needed": f"{bar.bent_n_mm3 / bar.limit_mm / steel / _MM4_PER_CM4:.2f}",
        "more": "" if not others else f" {others} more bend{'s' if others == 1 else ''} too far.",
        "wind": wind.words,
    }
    if not is_sure:
        facts["wind"] += " With the stiffest PVC-U in the tables it would just do."
    return Hit(
        "layout",
        facts,
        measured=quantity(text, "mm"),
        limit=quantity(limit, "mm"),
        severity=REJECT if wind.may_reject and figure.may_reject and is_sure else QUERY,
        source=figure.cited,
    )


def _strains_the_seal(ctx: Sized, wind: Wind, bar: _Bent) -> Hit:
    """Within its share of the span, yet more than makers of sealed units often allow along an edge."""
    figure = physics().figures["glass.edge_deflection_most_mm"]
    text, limit = apart(Fraction(bar.bent_n_mm3 / bar.stiffness.usual), figure.number, digits=2)
    return Hit(
        "layout",
        {
            "part": _named(known(ctx.plan).dividers, bar.number),
            "span": plain(Fraction(bar.span_mm)),
            "deflection": text,
            "pressure": wind.text,
            "limit": plain(figure.number),
        },
        measured=quantity(text, "mm"),
        limit=quantity(limit, "mm"),
        severity=NOTE,
        source=figure.source,
        message="{part} of {span} mm bends {deflection} mm under {pressure} Pa, within its limit; makers of "
        "sealed units often allow {limit} mm along an edge.",
        remedy="Ask the unit's maker what its edge may bend.",
    )
