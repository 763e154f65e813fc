"""Glass under wind and climate: advice for whoever sizes it, never a proof."""

from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.glass_unit import read_glass_unit
from sawready.model.glass_unit import GlassUnit
from sawready.model.shown import apart, quantity
from sawready.rules.pane_strength import PaneCheck, panes_in_climate, panes_in_wind, stiff_below_mm
from sawready.rules.registry import NOTE, QUERY, Hit, Hits, NotJudged, known, rule
from sawready.rules.wind_load import Wind, wind_on
from sawready.sizing import Sized

_STEP_MM: Final = 10
_MOST_RATIO: Final = 1.9
"""Thickest pane over thinnest up to which a larger unit never strains a pane less."""


@lru_cache(maxsize=1024)
def _unit(written: str) -> GlassUnit:
    """A unit by its text, which has been read before."""
    return read_glass_unit(written)


@lru_cache(maxsize=16384)
def _is_plainly_enough(written: str, short: int, long: int, pressure_pa: float, safety: str) -> bool:
    """Whether a unit of the next larger whole steps is strong and stiff enough for the size itself.

    A larger unit of like panes strains each of them more, so what holds for it holds for the smaller one;
    its limit of deflection is taken at the smaller size.
    """
    unit = _unit(written)
    panes = unit.panes_mm
    if max(panes) > _MOST_RATIO * float(min(panes)):
        return False
    check = panes_in_wind(
        unit,
        width_mm=(short + 1) * _STEP_MM,
        height_mm=(long + 1) * _STEP_MM,
        pressure_pa=pressure_pa,
        safety=safety,
    )
    return check.use <= short / (short + 1)


@rule(
    reason="glass-too-thin",
    about="rules",
    severity=QUERY,
    needs=("lights", "glass"),
    asks=("design_wind",),
    title="Glass thinner than the wind asks for",
    message="The {pane} of light {light}, {width} x {height} mm of {unit}, takes {share} kPa of {pressure} "
    "Pa: {stress} MPa of {strength} MPa, bent {deflection} mm of {limit} mm.{linear}{more}{wind}",
    remedy="Have the glass sized by its supplier, or order thicker panes or toughened glass. "
    "Local codes and licensed practice decide.",
    source="EN 16612, from memory, with plate theory: advice only",
)
def glass_too_thin(ctx: Sized) -> Hits:
    """Glass that is too thin for its size breaks in a gust, and falls on whoever stands below.

    Each pane carries its share by stiffness, the sealed cavity between them taken into account, as a plate
    held on four edges that bends little. Strength and factors are quoted from memory: it asks, it never
    refuses. The light that is farthest past its limit is reported, the others are counted.
    """
    glass = known(ctx.opening.glass)
    wind = wind_on(ctx)
    if isinstance(wind, str):
        return (NotJudged(wind),)
    thin: list[tuple[float, int, PaneCheck]] = []
    pressure = wind.pressure_pa
    for number, glazed in enumerate(ctx.glazed):
        width, height = glazed.glass_mm
        short, long = (width, height) if width < height else (height, width)
        if short <= 0:
            continue
        if _is_plainly_enough(glass.text, short // _STEP_MM, long // _STEP_MM, pressure, glazed.safety):
            continue
        check = panes_in_wind(
            glass, width_mm=width, height_mm=height, pressure_pa=pressure, safety=glazed.safety
        )
        if not check.verdict.ok:
            thin.append((-check.use, number, check))
    if not thin:
        return ()
    _, number, check = min(thin)
    return (_too_thin(ctx, number, check, wind, others=len(thin) - 1),)


def _facts(ctx: Sized, number: int, check: PaneCheck) -> dict[str, str]:
    glass, glazed, verdict = known(ctx.opening.glass), ctx.glazed[number], check.verdict
    panes = len(glass.panes_mm)
    names = ("pane",) if panes == 1 else ("outer pane", *("middle pane",) * (panes - 2), "inner pane")
    return {
        "pane": names[check.number],
        "light": str(number + 1),
        "width": str(glazed.glass_mm[0]),
        "height": str(glazed.glass_mm[1]),
        "unit": glass.text,
        "share": f"{abs(check.share_kpa):.2f}",
        "stress": f"{verdict.stress_mpa:.1f}",
        "strength": f"{verdict.strength_mpa:.1f}",
        "deflection": f"{verdict.deflection_mm:.1f}",
        "limit": f"{verdict.limit_mm:.1f}",
    }


def _too_thin(ctx: Sized, number: int, check: PaneCheck, wind: Wind, *, others: int) -> Hit:
    verdict = check.verdict
    by_stress = verdict.stress_mpa / verdict.strength_mpa >= verdict.deflection_mm / verdict.limit_mm
    value, bound, unit = (
        (verdict.stress_mpa, verdict.strength_mpa, "MPa")
        if by_stress
        else (verdict.deflection_mm, verdict.limit_mm, "mm")
    )
    text, limit = apart(Fraction(value), Fraction(bound))
    facts = {
        **_facts(ctx, number, check),
        "pressure": wind.text,
        "linear": ""
        if verdict.is_linear
        else " It bends more than its thickness, where this theory overstates both.",
        "more": "" if not others else f" {others} more light{'s are' if others > 1 else ' is'} too thin.",
        "wind": wind.words,
    }
    facts["stress" if by_stress else "deflection"] = text
    facts["strength" if by_stress else "limit"] = limit
    return Hit("glazing/unit", facts, measured=quantity(text, unit), limit=quantity(limit, unit))


@lru_cache(maxsize=4096)
def _stiff_below_mm(written: str) -> float:
    return stiff_below_mm(_unit(written))


@lru_cache(maxsize=8192)
def _strained(written: str, width_mm: int, height_mm: int, safety: str) -> tuple[PaneCheck, float] | None:
    """The pane that climate alone strains past its strength, and the side below which the unit is stiff."""
    unit = _unit(written)
    short, long = sorted((width_mm, height_mm))
    stiff = stiff_below_mm(unit, short_over_long=short / long)
    if short >= stiff:
        return None
    check = panes_in_climate(unit, width_mm=width_mm, height_mm=height_mm, safety=safety)
    return None if check.verdict.stress_mpa <= check.verdict.strength_mpa else (check, stiff)


@rule(
    reason="glass-climatic-load",
    about="glazing",
    severity=NOTE,
    needs=("lights", "glass"),
    title="A small stiff unit that heat and cold strain",
    message="The unit of light {light}, {width} x {height} mm of {unit}, is small and stiff (below {stiff} "
    "mm): heat, cold and height alone may press its {pane} with {share} kPa, {stress} MPa of {strength} MPa.",
    remedy="Ask the unit's maker; toughened panes, a narrower cavity or a larger light relieve it.",
    source="DIN 18008-2 and EN 16612, from memory: advice only",
)
def glass_climatic_load(ctx: Sized) -> Hits:
    """A sealed cavity cannot breathe: in a small unit stiff panes take its pressure, and crack unprovoked."""
    glass = known(ctx.opening.glass)
    most = _stiff_below_mm(glass.text)
    hits = []
    for number, glazed in enumerate(ctx.glazed):
        width, height = glazed.glass_mm
        if width >= most <= height or width <= 0 or height <= 0 or glazed.safety == "toughened":
            continue
        strained = _strained(glass.text, width, height, glazed.safety)
        if strained is None:
            continue
        check, stiff = strained
        verdict = check.verdict
        text, limit = apart(Fraction(verdict.stress_mpa), Fraction(verdict.strength_mpa))
        facts = {**_facts(ctx, number, check), "stiff": f"{stiff:.0f}", "stress": text, "strength": limit}
        hits.append(Hit("glazing/unit", facts, measured=quantity(text, "MPa"), limit=quantity(limit, "MPa")))
    return hits
