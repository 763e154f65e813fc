"""Panes of a unit as they bear load: thickness that counts, strength, share of wind and climate."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.glass_cavity import isochoric_pressure_kpa, pane_pressures_kpa
from sawready.calc.glass_plate import en16612_coefficients
from sawready.calc.glass_strength import (
    PaneVerdict,
    annealed_strength_mpa,
    duration_factor,
    glass_deflection_limit_mm,
    laminate_thickness_mm,
    pane_under_load,
    prestressed_strength_mpa,
)
from sawready.calc.glass_unit import split_laminate
from sawready.catalogue.physics import physics
from sawready.model.glass_unit import GlassUnit

_PA_PER_KPA: Final = 1000.0
_TOUGHENED: Final = "toughened"


@dataclass(frozen=True, slots=True)
class PaneCheck:
    """The pane of a unit that comes nearest to its limit, or past it.

    Attributes:
        number: of the pane, 0 outside.
        share_kpa: net pressure on it, inward above zero. [kPa]
        verdict: stress and deflection beside their limits.
    """

    number: int
    share_kpa: float
    verdict: PaneVerdict

    @property
    def use(self) -> float:
        """Stress or deflection over its limit, whichever is more; above 1 is too much. [-]."""
        verdict = self.verdict
        return max(verdict.stress_mpa / verdict.strength_mpa, verdict.deflection_mm / verdict.limit_mm)


@lru_cache(maxsize=1024)
def bearing_mm(unit: GlassUnit) -> tuple[float, ...]:
    """Thickness of each pane of a unit as it bends.

    A thickness that is no whole number is taken for laminated: two equal plies that slide on their film,
    which is what a lasting load leaves of it.

    Args:
        unit: panes and cavities.
    Returns: one thickness a pane, outside first. [mm]
    Source: EN 16612, effective thickness with no coupling (from memory).
    """
    found = []
    for pane in unit.panes_mm:
        if pane.denominator == 1:
            found.append(float(pane))
            continue
        try:
            glass, film = split_laminate(pane, layer_mm=_LAYER, most_layers=_MOST_LAYERS)
        except ValueError:
            glass, film = pane, Fraction(0)
        plies = (float(glass / 2), float(glass / 2)) if film else (float(glass),)
        found.append(laminate_thickness_mm(plies_mm=plies, coupling=0))
    return tuple(found)


_LAYER: Final = Fraction("0.38")
_MOST_LAYERS: Final = 6


@lru_cache(maxsize=16)
def strength_mpa(safety: str, duration: float) -> float:
    """Design strength of a pane.

    Args:
        safety: ``toughened``; anything else counts as annealed.
        duration: kmod of the load. [-]
    Returns: strength. [MPa]
    Source: EN 16612 by ``calc.glass_strength``; figures of catalogue/data/physics.yaml, from memory.
    """
    known = physics()
    annealed = annealed_strength_mpa(
        characteristic_mpa=known.number("glass.annealed_mpa"),
        duration_factor=duration,
        surface_factor=1,
        edge_factor=1,
        material_factor=known.number("glass.material_factor"),
    )
    if safety != _TOUGHENED:
        return annealed
    return prestressed_strength_mpa(
        annealed_mpa=annealed,
        prestressed_characteristic_mpa=known.number("glass.toughened_mpa"),
        annealed_characteristic_mpa=known.number("glass.annealed_mpa"),
        process_factor=1,
        prestress_factor=known.number("glass.prestress_factor"),
    )


def panes_in_wind(
    unit: GlassUnit, *, width_mm: int, height_mm: int, pressure_pa: float, safety: str
) -> PaneCheck:
    """The pane of a unit that suffers most from a gust on the outside, inward or outward.

    Args:
        unit: panes and cavities.
        width_mm: of the unit. [mm]
        height_mm: of the unit. [mm]
        pressure_pa: design wind pressure; suction counts by its amount. [Pa]
        safety: of the glass, ``none``, ``toughened`` or ``laminated``.
    Returns: the pane with the greatest use of its strength or of its limit.
    Raises: ValueError if a size is not above zero.
    Source: EN 16612 (from memory) with plate theory, by ``calc.glass_cavity`` and ``calc.glass_strength``.
    """
    strength = strength_mpa(safety, physics().number("glass.kmod_storm"))
    shares = _shares(unit, width_mm, height_mm, pressure_kpa=abs(pressure_pa) / _PA_PER_KPA, climate_kpa=0.0)
    return _worst(unit, width_mm, height_mm, shares, strength)


def panes_in_climate(unit: GlassUnit, *, width_mm: int, height_mm: int, safety: str) -> PaneCheck:
    """The pane of a sealed unit that suffers most from heat, cold, weather and height alone.

    Args:
        unit: panes and cavities; one cavity at least.
        width_mm: of the unit. [mm]
        height_mm: of the unit. [mm]
        safety: of the glass.
    Returns: the pane with the greatest use of its strength, of both usual sets of climate.
    Raises: ValueError if a size is not above zero.
    Source: DIN 18008-2, usual sets, and EN 16612 (from memory).
    """
    known = physics()
    strength = strength_mpa(safety, duration_factor(duration_s=known.number("glass.climate_duration_s")))
    checks = [
        _worst(
            unit,
            width_mm,
            height_mm,
            _shares(unit, width_mm, height_mm, pressure_kpa=0.0, climate_kpa=pressure),
            strength,
        )
        for pressure in climate_kpa()
    ]
    return max(checks, key=lambda check: check.verdict.stress_mpa)


@lru_cache(maxsize=1)
def climate_kpa() -> tuple[float, ...]:
    """Pressure in a cavity that cannot give way, for each usual set of climate. [kPa]."""
    rows = physics().figures["glass.climate"].rows
    return tuple(
        isochoric_pressure_kpa(
            difference_k=float(row["difference_k"]),
            air_pressure_change_kpa=float(row["air_pressure_change_kpa"]),
            height_change_m=float(row["height_change_m"]),
        )
        for row in rows
    )


@lru_cache(maxsize=4096)
def stiff_below_mm(unit: GlassUnit, *, short_over_long: float = 1.0) -> float:
    """Shorter side below which a sealed unit is stiff: its cavity gives way to less than half the pressure.

    Of all shapes a square is stiff up to the longest side. A unit of more than two panes counts with its
    outer pair and its widest cavity; a single pane is never stiff.

    Formula: a* = [E s h1^3 h2^3 / (p (h1^3 + h2^3) k5)]^(1/4)

    Args:
        unit: panes and cavities.
        short_over_long: shape of the unit. [-]
    Returns: length a*. [mm]
    Source: EN 16612, annex C (from memory).
    """
    if not unit.cavities_mm:
        return 0.0
    known = physics()
    panes = bearing_mm(unit)
    first, second = panes[0] ** 3, panes[-1] ** 3
    k5 = en16612_coefficients(short_over_long=short_over_long, poisson=known.number("glass.poisson")).k5
    cavity = float(max(unit.cavities_mm))
    stiffness = known.number("glass.e_mpa") * cavity * first * second / (first + second)
    return math.pow(stiffness / (known.number("glass.air_pressure_mpa") * k5), 0.25)


def _shares(
    unit: GlassUnit, width_mm: int, height_mm: int, *, pressure_kpa: float, climate_kpa: float
) -> tuple[float, ...]:
    known = physics()
    return pane_pressures_kpa(
        width_mm=width_mm,
        height_mm=height_mm,
        panes_mm=bearing_mm(unit),
        cavities_mm=[float(cavity) for cavity in unit.cavities_mm],
        pressure_kpa=pressure_kpa,
        isochoric_kpa=climate_kpa,
        e_mpa=known.number("glass.e_mpa"),
        poisson=known.number("glass.poisson"),
        air_pressure_mpa=known.number("glass.air_pressure_mpa"),
    )


def _worst(
    unit: GlassUnit, width_mm: int, height_mm: int, shares_kpa: Sequence[float], strength: float
) -> PaneCheck:
    known = physics()
    limit = glass_deflection_limit_mm(
        span_mm=min(width_mm, height_mm),
        span_over=known.number("glass.deflection_span_over"),
        most_mm=known.number("glass.deflection_most_mm"),
    )
    checks = [
        PaneCheck(
            number,
            share,
            pane_under_load(
                width_mm=width_mm,
                height_mm=height_mm,
                thickness_mm=thickness,
                pressure_kpa=share,
                load_factor=known.number("glass.load_factor"),
                strength_mpa=strength,
                deflection_limit_mm=limit,
                e_mpa=known.number("glass.e_mpa"),
                poisson=known.number("glass.poisson"),
            ),
        )
        for number, (share, thickness) in enumerate(zip(shares_kpa, bearing_mm(unit), strict=True))
    ]
    return max(checks, key=lambda check: check.use)
