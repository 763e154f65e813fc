"""Simply supported bars under even, trapezoid and triangle loads, and their sections."""

import math
from collections.abc import Sequence

from sawready.calc.exact import above_zero, not_below_zero


def trapezoid_deflection_mm(
    *, peak_n_mm: float, ramp_mm: float, span_mm: float, stiffness_n_mm2: float
) -> float:
    """Deflection at midspan under a load that rises over a ramp at each end and is level between.

    A ramp of 0 is the even load, a ramp of half the span the triangle. Shear is left out: for a solid
    bar of depth h it adds about 2.5 (h / L)^2 of this value, and more for thin walls.

    Formula: d = w (5 L^2 - 4 a^2)^2 / (1920 E I)

    Args:
        peak_n_mm: level part of the load, w. [N/mm]
        ramp_mm: length of each ramp, a, from 0 to L / 2. [mm]
        span_mm: between supports, L. [mm]
        stiffness_n_mm2: E I. [N mm2]
    Returns: deflection d, positive along the load. [mm]
    Raises: ValueError if span or stiffness is not above zero or the ramp is out of range.
    Example:
        >>> trapezoid_deflection_mm(
        ...     peak_n_mm=0.36, ramp_mm=300, span_mm=1200, stiffness_n_mm2=210_000 * 10_000
        ... )
        4.1773

    Source: closed form by integration; agrees with a general finite element program to 0.01 %. Checked in
    tests/published/test_beams.py.
    """
    above_zero(stiffness_n_mm2=stiffness_n_mm2)
    return _deflection_times_stiffness(peak_n_mm, ramp_mm, span_mm) / stiffness_n_mm2


def trapezoid_stiffness_n_mm2(
    *, peak_n_mm: float, ramp_mm: float, span_mm: float, deflection_mm: float
) -> float:
    """Bending stiffness that keeps the midspan deflection of a trapezoid load to a limit.

    Formula: E I = w (5 L^2 - 4 a^2)^2 / (1920 f)

    Args:
        peak_n_mm: level part of the load, w. [N/mm]
        ramp_mm: length of each ramp, a, from 0 to L / 2. [mm]
        span_mm: between supports, L. [mm]
        deflection_mm: the limit, f. [mm]
    Returns: least E I; divide by E for the second moment of area. [N mm2]
    Raises: ValueError if span or limit is not above zero or the ramp is out of range.
    Example:
        >>> trapezoid_stiffness_n_mm2(peak_n_mm=0.36, ramp_mm=300, span_mm=1200, deflection_mm=6) / 210_000
        6962.1

    Source: ``trapezoid_deflection_mm`` solved for E I.
    """
    above_zero(deflection_mm=deflection_mm)
    return _deflection_times_stiffness(peak_n_mm, ramp_mm, span_mm) / deflection_mm


def trapezoid_moment_n_mm(*, peak_n_mm: float, ramp_mm: float, span_mm: float) -> float:
    """Greatest bending moment, at midspan, under the load of ``trapezoid_deflection_mm``.

    Formula: M = w (3 L^2 - 4 a^2) / 24

    Args:
        peak_n_mm: level part of the load, w. [N/mm]
        ramp_mm: length of each ramp, a, from 0 to L / 2. [mm]
        span_mm: between supports, L. [mm]
    Returns: M. [N mm]
    Raises: ValueError if the span is not above zero or the ramp is out of range.
    Example:
        >>> trapezoid_moment_n_mm(peak_n_mm=0.36, ramp_mm=300, span_mm=1200)
        59400.0

    Source: closed form by integration. Checked in tests/published/test_beams.py.
    """
    _check_trapezoid(peak_n_mm, ramp_mm, span_mm)
    return peak_n_mm * (3 * span_mm**2 - 4 * ramp_mm**2) / 24


def uniform_deflection_mm(*, load_n_mm: float, span_mm: float, stiffness_n_mm2: float) -> float:
    """Deflection at midspan under an even load.

    Formula: d = 5 w L^4 / (384 E I)

    Args:
        load_n_mm: w. [N/mm]
        span_mm: L. [mm]
        stiffness_n_mm2: E I. [N mm2]
    Returns: deflection d, positive along the load. [mm]
    Raises: ValueError if span or stiffness is not above zero.
    Example:
        >>> uniform_deflection_mm(load_n_mm=0.72, span_mm=1200, stiffness_n_mm2=210_000 * 20_000)
        4.6286

    Source: standard beam tables. Checked in tests/published/test_beams.py.
    """
    return trapezoid_deflection_mm(
        peak_n_mm=load_n_mm, ramp_mm=0, span_mm=span_mm, stiffness_n_mm2=stiffness_n_mm2
    )


def uniform_moment_n_mm(*, load_n_mm: float, span_mm: float) -> float:
    """Greatest bending moment under an even load.

    Formula: M = w L^2 / 8

    Args:
        load_n_mm: w. [N/mm]
        span_mm: L. [mm]
    Returns: M. [N mm]
    Raises: ValueError if the span is not above zero.
    Example:
        >>> uniform_moment_n_mm(load_n_mm=0.72, span_mm=1200)
        129600.0

    Source: standard beam tables. Checked in tests/published/test_beams.py.
    """
    return trapezoid_moment_n_mm(peak_n_mm=load_n_mm, ramp_mm=0, span_mm=span_mm)


def triangle_deflection_mm(*, peak_n_mm: float, span_mm: float, stiffness_n_mm2: float) -> float:
    """Deflection at midspan under a load that rises to a peak at midspan.

    Formula: d = w L^4 / (120 E I)

    Args:
        peak_n_mm: at midspan, w. [N/mm]
        span_mm: L. [mm]
        stiffness_n_mm2: E I. [N mm2]
    Returns: deflection d, positive along the load. [mm]
    Raises: ValueError if span or stiffness is not above zero.
    Example:
        >>> triangle_deflection_mm(peak_n_mm=0.5, span_mm=1200, stiffness_n_mm2=210_000 * 15_000)
        2.7429

    Source: standard beam tables. Checked in tests/published/test_beams.py.
    """
    return trapezoid_deflection_mm(
        peak_n_mm=peak_n_mm, ramp_mm=span_mm / 2, span_mm=span_mm, stiffness_n_mm2=stiffness_n_mm2
    )


def triangle_moment_n_mm(*, peak_n_mm: float, span_mm: float) -> float:
    """Greatest bending moment under the load of ``triangle_deflection_mm``.

    Formula: M = w L^2 / 12

    Args:
        peak_n_mm: at midspan, w. [N/mm]
        span_mm: L. [mm]
    Returns: M. [N mm]
    Raises: ValueError if the span is not above zero.
    Example:
        >>> triangle_moment_n_mm(peak_n_mm=0.5, span_mm=1200)
        60000.0

    Source: standard beam tables. Checked in tests/published/test_beams.py.
    """
    return trapezoid_moment_n_mm(peak_n_mm=peak_n_mm, ramp_mm=span_mm / 2, span_mm=span_mm)


def composite_stiffness_n_mm2(*, parts: Sequence[tuple[float, float]]) -> float:
    """Bending stiffness of a profile with a core that slides in it: each bends about its own axis.

    Formula: E I = sum E_i I_i

    Args:
        parts: modulus E_i [MPa] and second moment of area I_i [mm4] of each material.
    Returns: E I. [N mm2]
    Raises: ValueError if there is no part, a modulus is not above zero or a second moment below zero.
    Example:
        >>> composite_stiffness_n_mm2(parts=[(2300, 450_000), (210_000, 22_000)])
        5655000000.0

    Source: engineering practice (no shear connection). Checked in tests/published/test_beams.py.
    """
    if not parts:
        raise ValueError("at least one part is needed")
    for modulus, second_moment in parts:
        above_zero(e_mpa=modulus)
        not_below_zero(i_mm4=second_moment)
    return math.fsum(modulus * second_moment for modulus, second_moment in parts)


def equivalent_second_moment_mm4(*, stiffness_n_mm2: float, e_mpa: float) -> float:
    """Second moment of area that a single material would need for a stiffness.

    Formula: I = (E I) / E

    Args:
        stiffness_n_mm2: E I. [N mm2]
        e_mpa: modulus of the single material, E. [MPa]
    Returns: I. [mm4]
    Raises: ValueError if the stiffness is below zero or the modulus not above zero.
    Example:
        >>> equivalent_second_moment_mm4(stiffness_n_mm2=5_655_000_000, e_mpa=210_000)
        26928.6

    Source: definition. Checked in tests/published/test_beams.py.
    """
    above_zero(e_mpa=e_mpa)
    not_below_zero(stiffness_n_mm2=stiffness_n_mm2)
    return stiffness_n_mm2 / e_mpa


def core_second_moment_mm4(
    *, stiffness_n_mm2: float, profile_e_mpa: float, profile_i_mm4: float, core_e_mpa: float
) -> float:
    """Second moment of area that a reinforcing core needs beside its profile for a stiffness.

    Formula: I_core = max(0, (E I - E_p I_p) / E_core)

    Args:
        stiffness_n_mm2: needed in all, E I. [N mm2]
        profile_e_mpa: modulus of the profile, E_p. [MPa]
        profile_i_mm4: second moment of the profile, I_p; 0 leaves the profile out. [mm4]
        core_e_mpa: modulus of the core, E_core. [MPa]
    Returns: I_core, 0 where the profile is enough. [mm4]
    Raises: ValueError if a value is out of range.
    Example:
        >>> core_second_moment_mm4(
        ...     stiffness_n_mm2=5_655_000_000, profile_e_mpa=2300, profile_i_mm4=450_000, core_e_mpa=210_000
        ... )
        22000.0

    Source: ``composite_stiffness_n_mm2`` solved for the core.
    """
    above_zero(profile_e_mpa=profile_e_mpa, core_e_mpa=core_e_mpa)
    not_below_zero(stiffness_n_mm2=stiffness_n_mm2, profile_i_mm4=profile_i_mm4)
    return max(0.0, (stiffness_n_mm2 - profile_e_mpa * profile_i_mm4) / core_e_mpa)


def box_second_moment_mm4(*, width_mm: float, depth_mm: float, wall_mm: float) -> float:
    """Second moment of area of a closed box with square corners, bent along its depth.

    Rounded corners take a little off. A wall of half the smaller side is a solid bar.

    Formula: I = (b h^3 - (b - 2 t)(h - 2 t)^3) / 12

    Args:
        width_mm: across the bending, b. [mm]
        depth_mm: along the bending, h. [mm]
        wall_mm: thickness of the wall, t. [mm]
    Returns: I. [mm4]
    Raises: ValueError if a size is not above zero or the walls are thicker than the box.
    Example:
        >>> box_second_moment_mm4(width_mm=25, depth_mm=35, wall_mm=1.5)
        29248.2

    Source: geometry; agrees with a general section program. Checked in tests/published/test_beams.py.
    """
    above_zero(width_mm=width_mm, depth_mm=depth_mm, wall_mm=wall_mm)
    inner_width, inner_depth = width_mm - 2 * wall_mm, depth_mm - 2 * wall_mm
    if inner_width < 0 or inner_depth < 0:
        raise ValueError(f"walls of {wall_mm} mm do not fit in {width_mm} x {depth_mm} mm")
    return (width_mm * depth_mm**3 - inner_width * inner_depth**3) / 12


def _deflection_times_stiffness(peak_n_mm: float, ramp_mm: float, span_mm: float) -> float:
    _check_trapezoid(peak_n_mm, ramp_mm, span_mm)
    factor = 5 * span_mm**2 - 4 * ramp_mm**2
    return peak_n_mm * factor * factor / 1920


def _check_trapezoid(peak_n_mm: float, ramp_mm: float, span_mm: float) -> None:
    above_zero(span_mm=span_mm)
    not_below_zero(peak_n_mm=peak_n_mm, ramp_mm=ramp_mm)
    if ramp_mm > span_mm / 2:
        raise ValueError(f"a ramp of {ramp_mm} mm is longer than half the span of {span_mm} mm")
