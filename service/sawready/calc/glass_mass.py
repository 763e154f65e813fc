"""Mass of panes and units of glass, laminated ones with their film."""

from collections.abc import Sequence

from sawready.calc.exact import above_zero, not_below_zero
from sawready.calc.mass import pane_mass_kg

_MM_PER_M = 1000.0


def unit_mass_kg(
    *, width_mm: float, height_mm: float, panes_mm: Sequence[float], density_kg_m3: float
) -> float:
    """Mass of the glass of a unit; spacer, sealant and gas are left out.

    A laminated pane given with its whole thickness comes out a little heavy; see
    ``laminated_mass_kg_m2``. Toughening does not change the mass.

    Formula: m = rho w h sum t

    Args:
        width_mm: w. [mm]
        height_mm: h. [mm]
        panes_mm: thickness of each pane, t. [mm]
        density_kg_m3: rho. [kg/m3]
    Returns: mass. [kg]
    Raises: ValueError if a value is not above zero.
    Example:
        >>> unit_mass_kg(width_mm=1107, height_mm=1357, panes_mm=[4, 4], density_kg_m3=2500)
        30.04

    Source: EN 572-1. Checked in tests/published/test_glass_mass.py.
    """
    above_zero(width_mm=width_mm, height_mm=height_mm, density_kg_m3=density_kg_m3, glass_mm=sum(panes_mm))
    return pane_mass_kg(
        width_mm=width_mm,
        height_mm=height_mm,
        glass_mm=sum(panes_mm),
        per_m2_mm=density_kg_m3 / _MM_PER_M,
    )


def laminated_mass_kg_m2(
    *, glass_mm: float, interlayer_mm: float, glass_density_kg_m3: float, interlayer_density_kg_m3: float
) -> float:
    """Mass of a square metre of laminated glass.

    Formula: m = rho_g t_g + rho_i t_i

    Args:
        glass_mm: all plies of glass together, t_g. [mm]
        interlayer_mm: all film together, t_i. [mm]
        glass_density_kg_m3: rho_g. [kg/m3]
        interlayer_density_kg_m3: rho_i. [kg/m3]
    Returns: mass of one square metre. [kg/m2]
    Raises: ValueError if a value is below zero, or glass or its density is zero.
    Example:
        >>> laminated_mass_kg_m2(
        ...     glass_mm=6, interlayer_mm=0.38, glass_density_kg_m3=2500, interlayer_density_kg_m3=1070
        ... )
        15.407

    Source: derived; PVB film 1070 kg/m3, sources give 950 to 1100. Checked in
    tests/published/test_glass_mass.py.
    """
    above_zero(glass_mm=glass_mm, glass_density_kg_m3=glass_density_kg_m3)
    not_below_zero(interlayer_mm=interlayer_mm, interlayer_density_kg_m3=interlayer_density_kg_m3)
    return (glass_mm * glass_density_kg_m3 + interlayer_mm * interlayer_density_kg_m3) / _MM_PER_M
