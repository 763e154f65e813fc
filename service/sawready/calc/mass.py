"""Mass of panes."""


def pane_mass_kg(*, width_mm: float, height_mm: float, glass_mm: float, per_m2_mm: float) -> float:
    """Mass of the glass in a unit.

    The spacer, the seal and the gas are left out: together well under one per cent.

    Formula: m = 2.5 w h t (2.5 kg per square metre and millimetre of thickness)

    Args:
        width_mm: width of the pane. [mm]
        height_mm: height of the pane. [mm]
        glass_mm: thickness of all its glass together. [mm]
        per_m2_mm: mass of one square metre of glass one millimetre thick. [kg/(m2 mm)]
    Returns: mass. [kg]
    Example:
        >>> pane_mass_kg(width_mm=500, height_mm=1700, glass_mm=12, per_m2_mm=2.5)
        25.5

    Source: EN 572-1, density 2500 kg/m3. Checked in tests/published/test_glass_mass.py.
    """
    return per_m2_mm * width_mm * height_mm * glass_mm / 1e6
