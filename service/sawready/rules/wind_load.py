"""The wind that an opening is judged by: as stated, or worked out from the terms of the site."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from sawready.calc.wind import net_pressure_pa, peak_wind, uk_altitude_factor, wall_coefficient
from sawready.catalogue.physics import physics
from sawready.catalogue.rulebook import Rulebook
from sawready.model.order import Site
from sawready.rules.registry import known
from sawready.sizing import Sized

NO_WIND: Final = "no design wind pressure"

_NM2_PER_M2: Final = 1e18


@dataclass(frozen=True, slots=True)
class Wind:
    """A design wind pressure.

    Attributes:
        pressure_pa: the amount, inward or outward. [Pa]
        text: the amount as a message writes it.
        may_reject: it is stated; one worked out from the site is an estimate, which only asks.
        words: where it comes from, for a message; empty where it is stated.
    """

    pressure_pa: float
    text: str
    may_reject: bool
    words: str


def wind_on(ctx: Sized) -> Wind | str:
    """The design wind pressure of an opening, or why there is none.

    A stated pressure goes before the site. From the site the greatest net pressure on a wall is taken: the
    edge strip in suction with the building blown up from inside, for the area of the whole window.

    Args:
        ctx: the opening with its sizes.
    Returns: the wind, or the missing fact in words.
    Source: EN 1991-1-4, 4.5, 5.2, 7.2 by ``calc.wind``; coefficients of catalogue/data/physics.yaml.
    """
    opening, site = ctx.opening, ctx.shared.site
    if opening.design_wind_pa is not None:
        return _stated(opening.design_wind_pa)
    if opening.unread and "design_wind_pa" in opening.unread:
        return f"{NO_WIND} that could be read"
    if site is None:
        return NO_WIND
    peak = peak_pressure_pa(site, known(ctx.rulebook))
    if isinstance(peak, str):
        return f"{NO_WIND}, and {peak}"
    width, height = known(ctx.width).size_nm, known(ctx.height).size_nm
    if width <= 0 or height <= 0:
        return f"{NO_WIND} on a frame without a size"
    area_m2 = width * height / _NM2_PER_M2
    external = wall_coefficient(loaded_area_m2=area_m2, **_edge_strip())
    internal = _inside()
    pressure = abs(net_pressure_pa(peak_pressure_pa=peak, external=external, internal=internal))
    words = (
        f" The wind is worked out from the site: {peak:.0f} Pa of peak pressure x ({-external:.2f} + "
        f"{internal:g}), the edge of a wall in suction; an estimate."
    )
    return Wind(pressure, f"{pressure:.0f}", False, words)


@lru_cache(maxsize=256)
def _stated(pressure_pa: float) -> Wind:
    return Wind(pressure_pa, f"{pressure_pa:g}", True, "")


@lru_cache(maxsize=1024)
def peak_pressure_pa(site: Site, rulebook: Rulebook) -> float | str:
    """Peak velocity pressure of a site, or what it does not say.

    Args:
        site: as the order states it.
        rulebook: whose density of air and rule for altitude hold.
    Returns: pressure [Pa], or the missing term in words.
    """
    velocity, height = site.basic_wind_m_s, site.height_m
    for name, value in (("basic_wind_m_s", velocity), ("terrain", site.terrain), ("height_m", height)):
        if value is None:
            return f"the site has no {name}"
    velocity, height = known(velocity), known(height)
    if site.altitude_m:
        if not rulebook.has("wind.altitude_rule"):
            return f"rulebook {rulebook.name} has no rule for the altitude of the site"
        velocity *= uk_altitude_factor(altitude_m=site.altitude_m, height_m=height)
    density = rulebook.figures.get("wind.air_density_kg_m3", physics().figures["wind.air_density_kg_m3"])
    return peak_wind(
        basic_velocity_m_s=velocity,
        terrain=physics().terrains[known(site.terrain)],
        height_m=height,
        air_density_kg_m3=float(density.number),
    ).pressure_pa


@lru_cache(maxsize=1)
def _edge_strip() -> dict[str, float]:
    """Coefficients of the edge strip of a wall for a small and a large area."""
    rows = {
        float(row["area_m2"]): float(row["value"])
        for row in physics().figures["wind.wall"].rows
        if row["zone"] == "A"
    }
    return {"small_area": rows[1.0], "large_area": rows[10.0]}


@lru_cache(maxsize=1)
def _inside() -> float:
    """Greatest inside pressure coefficient."""
    value = physics().figures["wind.inside"].value
    assert isinstance(value, tuple)  # noqa: S101 - our own file
    return float(max(value))
