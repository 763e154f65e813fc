"""Heat: the transmittance of the whole window against its limit, and how cold its glass is inside."""

import math
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.condensation import plane_temperature_factor, surface_temperature_c
from sawready.calc.energy import RATING_BANDS, Rounding, UVerdict, judged_u, two_significant_figures
from sawready.calc.thermal import WindowU
from sawready.catalogue.building import BuildingFigures, building_figures
from sawready.catalogue.physics import physics
from sawready.catalogue.profiles import ProfileSystem, Thermal
from sawready.catalogue.rulebook import Rulebook
from sawready.model.shown import apart, plain, quantity
from sawready.rules.registry import NOTE, QUERY, REJECT, Hit, Hits, NotJudged, known, rule
from sawready.rules.where import NO_SIZE
from sawready.rules.window_heat import (
    glass_share,
    quick_u_w_m2k,
    reference_size_m,
    reference_u_w_m2k,
    window_u_of,
    worked_u_g_w_m2k,
)
from sawready.sizing import Sized

NO_U_G: Final = "no glass transmittance u_g"

_UNIT: Final = "W/m2K"


def glass_u_of(ctx: Sized) -> tuple[float, bool] | None:
    """Transmittance of an opening's glass unit, and whether it is stated rather than worked out.

    Args:
        ctx: the opening.
    Returns: U [W/m2K] and True where stated; None where neither it nor gas and emissivity are stated.
    """
    opening = ctx.opening
    if opening.u_g_w_m2k is not None:
        return opening.u_g_w_m2k, True
    glass = opening.glass
    if glass is None or (glass.cavities_mm and (opening.gas is None or opening.emissivity is None)):
        return None
    worked = worked_u_g_w_m2k(glass, opening.gas, opening.emissivity)
    return None if worked is None else (worked, False)


@rule(
    reason="u-value-too-high",
    about="rules",
    severity=REJECT,
    needs=("lights", "rulebook"),
    asks=("u_limit", "heat_figures", "u_g"),
    title="The window loses more heat than is allowed",
    message="The whole window has {judged} W/m2K ({exact} unrounded); {limit} W/m2K is the most, judged by "
    "{policy}. {parts}{besides}",
    remedy="{do}{or_else} Local codes and building control decide.",
    source="rulebook, thermal.window_u_most_w_m2k",
)
def u_value_too_high(ctx: Sized) -> Hits:
    """A window that fails its heat limit fails the work: it can be refused after it has been fitted.

    The transmittance is that of this window at its own size: glass, frame and sash, and the edge of every
    pane. It is reported to two significant figures and unrounded; which of the two is judged, and whether
    a declaration for the reference size or a rating band may stand for it, the rulebook says.
    """
    rulebook, system = known(ctx.rulebook), known(ctx.system)
    figures = building_figures(rulebook)
    if figures.u_most is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    if _has_band(ctx, figures):
        return ()
    if system.thermal is None:
        return (NotJudged(f"system {system.name} has no heat figures"),)
    found = glass_u_of(ctx)
    if found is None:
        return (NotJudged(NO_U_G),)
    u = quick_u_w_m2k(ctx, found[0])
    if u is not None and u <= figures.u_most_w_m2k:
        return ()
    whole = window_u_of(ctx, found[0])
    if whole is None:
        return (NotJudged(NO_SIZE),)
    hit = _too_high(rulebook, system, whole, u_g=found[0], is_stated=found[1])
    return () if hit is None else (hit,)


def _has_band(ctx: Sized, figures: BuildingFigures) -> bool:
    """A declared rating band that stands in for the transmittance."""
    band, least = ctx.opening.energy_band, figures.least_band
    if band is None or least is None:
        return False
    door, over = figures.door_band, figures.door_over_percent
    is_door = ctx.opening.element == "door" and door is not None and over is not None
    if is_door and glass_share(ctx) * 100 > known(over).number:
        least = known(door)
    return RATING_BANDS.index(band) <= RATING_BANDS.index(str(least.value))


@lru_cache(maxsize=4096)
def _too_high(
    rulebook: Rulebook, system: ProfileSystem, whole: WindowU, *, u_g: float, is_stated: bool
) -> Hit | None:
    """The hit of a window above the limit, with its sum and what would help; None where it is not above."""
    figures, thermal = building_figures(rulebook), known(system.thermal)
    limit = known(figures.u_most)
    verdict = judged_u(u_w_m2k=whole.u_w_m2k, limit_w_m2k=float(limit.number), rounding=figures.rounding)
    if verdict.ok:
        return None
    rounded = two_significant_figures(whole.u_w_m2k)
    besides, severity, or_else = "", REJECT if limit.may_reject and is_stated else QUERY, ""
    if not is_stated:
        besides = f" The glass is worked out to EN 673 from its make-up: {u_g:.2f} {_UNIT}."
    reference = _at_reference_size(system, u_g, verdict.limit_w_m2k, figures.rounding)
    if figures.reference_counts and reference:
        severity = QUERY
        besides += reference
        or_else = " Or answer with a declaration for that size, if whoever signs for the work takes it."
    if figures.least_band is not None:
        or_else += f" Band {figures.least_band.value} or better may stand for it: state energy_band."
    if figures.heritage is not None:
        or_else += " Where the character of a building has to be kept another limit holds."
    is_rounded = figures.rounding is Rounding.TWO_SIGNIFICANT_FIGURES
    judged = f"{rounded:g}" if is_rounded else f"{whole.u_w_m2k:.4f}"
    facts = {
        "judged": f"{rounded:g}",
        "exact": f"{whole.u_w_m2k:.4f}",
        "limit": f"{verdict.limit_w_m2k:g}",
        "policy": "two significant figures" if is_rounded else "the unrounded value",
        "parts": _sum_of(whole, u_g, thermal),
        "besides": besides,
        "do": _better_glass(whole, verdict, figures.rounding, thermal),
        "or_else": or_else,
    }
    return Hit(
        "glazing/u_g" if is_stated else "glazing/unit",
        facts,
        measured=quantity(judged, _UNIT),
        limit=quantity(facts["limit"], _UNIT),
        severity=severity,
        source=limit.cited,
    )


@lru_cache(maxsize=1024)
def _at_reference_size(system: ProfileSystem, u_g: float, limit: float, rounding: Rounding) -> str:
    """What the window would have at the reference size, in words; empty where that is too much as well."""
    reference = reference_u_w_m2k(system, u_g)
    if reference is None or not judged_u(u_w_m2k=reference, limit_w_m2k=limit, rounding=rounding).ok:
        return ""
    width, height = reference_size_m()
    return (
        f" At the reference size of {width:g} x {height:g} m it would have "
        f"{two_significant_figures(reference):g} {_UNIT} ({reference:.4f})."
    )


def _sum_of(whole: WindowU, u_g: float, thermal: Thermal) -> str:
    """The sum of a transmittance, as a person can follow it."""
    return (
        f"({whole.glass_area_m2:.4f} m2 of glass x {u_g:.4g} + {whole.frame_area_m2:.4f} m2 of frame x "
        f"{thermal.u_f_w_m2k:g} + {whole.glass_edge_m:.3f} m of edge x {thermal.psi_g_w_mk:g}) / "
        f"{whole.area_m2:.4f} m2."
    )


def _better_glass(whole: WindowU, verdict: UVerdict, rounding: Rounding, thermal: Thermal) -> str:
    """The glass that would do, in whole tenths; else that none would."""
    most = verdict.limit_w_m2k
    if rounding is Rounding.TWO_SIGNIFICANT_FIGURES:
        most = _rounds_up_from(most)
    left = most * whole.area_m2 - whole.frame_area_m2 * thermal.u_f_w_m2k - whole.edge_loss_w_k
    share = left / whole.glass_area_m2 * 10
    # What two significant figures would round up past the limit is too much itself; the limit is not.
    tenths = math.ceil(share) - 1 if rounding is Rounding.TWO_SIGNIFICANT_FIGURES else math.floor(share)
    if tenths / 10 < physics().number("glass_heat.u_g_least_w_m2k"):
        return "Choose a system that loses less heat, or larger panes: no glass of this window would do."
    return f"Order a unit of {tenths / 10:g} {_UNIT} or less."


def _rounds_up_from(limit: float) -> float:
    """The least value that two significant figures round up past a limit."""
    exact = Fraction(repr(limit))
    step = Fraction(10) ** (math.floor(math.log10(limit)) - 1)
    return float(exact + step / 2)


@lru_cache(maxsize=256)
def _warm_enough_below(rulebook: Rulebook) -> float:
    """Greatest transmittance of glass whose middle is warm enough. [W/m2K]."""
    least = building_figures(rulebook).factor_least
    most = 0.0 if least is None else float(1 - least.number)
    return most / physics().number("condensation.rsi_glazing_m2k_w")


@rule(
    reason="pane-cold-inside",
    about="rules",
    severity=NOTE,
    needs=("glass", "rulebook"),
    asks=("condensation_figures", "u_g"),
    title="Glass cold enough inside to run with water",
    message="The middle of the pane is {surface} C warm inside at {inside} C in the room and {outside} C "
    "outside: temperature factor {factor} (1 - {u_g} x {rsi}), where {least} is the least asked for. The "
    "edge of the glass is colder still.",
    remedy="Choose glass that loses less heat, or expect water on it and air the room. For information only.",
    source="rulebook, condensation.least_factor; EN ISO 13788",
)
def pane_cold_inside(ctx: Sized) -> Hits:
    """Water that settles on cold glass runs into the seal and feeds mould on the reveals.

    A note, never a verdict: the middle of the pane says nothing good of its edge, which needs a two
    dimensional calculation (EN ISO 10077-2).
    """
    rulebook = known(ctx.rulebook)
    figures = building_figures(rulebook)
    least, inside, outside = figures.factor_least, figures.inside, figures.outside
    if least is None or inside is None or outside is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    found = glass_u_of(ctx)
    if found is None:
        return (NotJudged(NO_U_G),)
    if found[0] <= _warm_enough_below(rulebook):
        return ()
    rsi = physics().number("condensation.rsi_glazing_m2k_w")
    factor = plane_temperature_factor(u_w_m2k=found[0], rsi_m2k_w=rsi)
    surface = surface_temperature_c(
        u_w_m2k=found[0], inside_c=float(inside.number), outside_c=float(outside.number), rsi_m2k_w=rsi
    )
    text, bound = apart(Fraction(factor), least.number, digits=2)
    facts = {
        "surface": f"{surface:.1f}",
        "inside": plain(inside.number),
        "outside": plain(outside.number),
        "factor": text,
        "least": bound,
        "u_g": f"{found[0]:g}",
        "rsi": f"{rsi:g}",
    }
    return (
        Hit(
            "glazing/u_g" if found[1] else "glazing/unit",
            facts,
            measured=quantity(text, ""),
            limit=quantity(bound, ""),
            source=least.cited,
        ),
    )
