"""Wind pressure on a window: peak velocity pressure of EN 1991-1-4 with the UK terms for altitude."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sawready.calc.exact import above_zero, not_below_zero

_ROUGHNESS_OF_REFERENCE_M = 0.05
_HIGHEST_M = 200.0
_UK_ALTITUDE_PER_M = 0.001
_UK_ALTITUDE_CHANGES_AT_M = 10.0
_UK_ALTITUDE_EXPONENT = 0.2


@dataclass(frozen=True, slots=True)
class Terrain:
    """A terrain category: roughness length [m] and the height below which nothing changes [m]."""

    roughness_m: float
    least_height_m: float


@dataclass(frozen=True, slots=True)
class PeakWind:
    """Peak velocity pressure with the factors that lead to it.

    Attributes:
        terrain_factor: kr. [-]
        roughness_factor: cr(z). [-]
        mean_velocity_m_s: vm(z). [m/s]
        turbulence: Iv(z). [-]
        pressure_pa: qp(z). [Pa]
    """

    terrain_factor: float
    roughness_factor: float
    mean_velocity_m_s: float
    turbulence: float
    pressure_pa: float


@dataclass(frozen=True, slots=True)
class BasicWind:
    """Basic wind of a UK site: altitude factor [-], velocity vb [m/s] and its pressure qb [Pa]."""

    altitude_factor: float
    velocity_m_s: float
    pressure_pa: float


def peak_wind(
    *,
    basic_velocity_m_s: float,
    terrain: Terrain,
    height_m: float,
    air_density_kg_m3: float,
    orography: float = 1.0,
    turbulence_factor: float = 1.0,
) -> PeakWind:
    """Peak velocity pressure at a height above ground, by the recommended method of the Eurocode.

    The UK annex does not use this formula (it takes exposure factors by distance from sea and town edge),
    so a UK value from here is an estimate. Hills are for the orography factor; neighbours that are much
    higher, and heights over 200 m, are left out.

    Formula: kr = 0.19 (z0 / 0.05)^0.07, cr = kr ln(z / z0), vm = cr c0 vb, Iv = kI / (c0 ln(z / z0)),
    qp = (1 + 7 Iv) rho vm^2 / 2, with z not below zmin

    Args:
        basic_velocity_m_s: vb. [m/s]
        terrain: roughness length z0 and least height zmin. [m]
        height_m: above ground, z. [m]
        air_density_kg_m3: rho. [kg/m3]
        orography: c0. [-]
        turbulence_factor: kI. [-]
    Returns: the pressure with its factors.
    Raises: ValueError if a value is not above zero, the height is over 200 m or not above the roughness.
    Example:
        >>> peak_wind(
        ...     basic_velocity_m_s=27, terrain=Terrain(0.01, 1), height_m=3.5, air_density_kg_m3=1.25
        ... ).pressure_pa
        988.95

    Source: EN 1991-1-4:2005+A1:2010, (4.3) to (4.8). Checked in tests/published/test_en_1991_1_4.py.
    """
    above_zero(
        basic_velocity_m_s=basic_velocity_m_s,
        height_m=height_m,
        air_density_kg_m3=air_density_kg_m3,
        orography=orography,
        turbulence_factor=turbulence_factor,
        roughness_m=terrain.roughness_m,
        least_height_m=terrain.least_height_m,
    )
    height = max(height_m, terrain.least_height_m)
    if height > _HIGHEST_M:
        raise ValueError(f"height_m must be at most {_HIGHEST_M:g}, not {height_m}")
    if height <= terrain.roughness_m:
        raise ValueError(f"height_m must be above the roughness length of {terrain.roughness_m} m")
    logarithm = math.log(height / terrain.roughness_m)
    terrain_factor = 0.19 * math.pow(terrain.roughness_m / _ROUGHNESS_OF_REFERENCE_M, 0.07)
    roughness_factor = terrain_factor * logarithm
    mean_velocity = roughness_factor * orography * basic_velocity_m_s
    turbulence = turbulence_factor / (orography * logarithm)
    return PeakWind(
        terrain_factor=terrain_factor,
        roughness_factor=roughness_factor,
        mean_velocity_m_s=mean_velocity,
        turbulence=turbulence,
        pressure_pa=(1 + 7 * turbulence)
        * velocity_pressure_pa(velocity_m_s=mean_velocity, air_density_kg_m3=air_density_kg_m3),
    )


def velocity_pressure_pa(*, velocity_m_s: float, air_density_kg_m3: float) -> float:
    """Pressure of moving air brought to rest.

    Formula: q = rho v^2 / 2

    Args:
        velocity_m_s: v. [m/s]
        air_density_kg_m3: rho. [kg/m3]
    Returns: q. [Pa]
    Raises: ValueError if the velocity is below zero or the density not above zero.
    Example:
        >>> velocity_pressure_pa(velocity_m_s=25.76, air_density_kg_m3=1.226)
        406.8

    Source: EN 1991-1-4:2005+A1:2010, (4.10). Checked in tests/published/test_en_1991_1_4.py.
    """
    not_below_zero(velocity_m_s=velocity_m_s)
    above_zero(air_density_kg_m3=air_density_kg_m3)
    return air_density_kg_m3 * velocity_m_s * velocity_m_s / 2


def uk_altitude_factor(*, altitude_m: float, height_m: float) -> float:
    """How much a site's altitude raises the mapped wind velocity in the UK.

    Formula: c = 1 + 0.001 A up to z = 10 m, above it 1 + 0.001 A (10 / z)^0.2

    Args:
        altitude_m: of the site above sea level, A. [m]
        height_m: of the window (or the building) above ground, z. [m]
    Returns: c. [-]
    Raises: ValueError if the altitude is below zero or the height not above zero.
    Example:
        >>> uk_altitude_factor(altitude_m=66, height_m=18)
        1.0587

    Source: UK national annex to BS EN 1991-1-4:2010, NA.2.5. A published example rounds this factor to
    1.05 and so ends 1 % lower. Checked in tests/published/test_en_1991_1_4.py.
    """
    not_below_zero(altitude_m=altitude_m)
    above_zero(height_m=height_m)
    share = _UK_ALTITUDE_PER_M * altitude_m
    if height_m > _UK_ALTITUDE_CHANGES_AT_M:
        share *= math.pow(_UK_ALTITUDE_CHANGES_AT_M / height_m, _UK_ALTITUDE_EXPONENT)
    return 1 + share


def uk_basic_wind(
    *,
    map_velocity_m_s: float,
    altitude_m: float,
    height_m: float,
    air_density_kg_m3: float,
    direction_factor: float = 1.0,
    season_factor: float = 1.0,
    probability_factor: float = 1.0,
) -> BasicWind:
    """Basic wind velocity of a UK site and its pressure, from the mapped velocity.

    Formula: vb = cdir cseason cprob calt vmap, qb = rho vb^2 / 2

    Args:
        map_velocity_m_s: from the map of the annex, vmap. [m/s]
        altitude_m: of the site. [m]
        height_m: above ground. [m]
        air_density_kg_m3: rho. [kg/m3]
        direction_factor: cdir, 1 for all directions. [-]
        season_factor: cseason, 1 for permanent work. [-]
        probability_factor: cprob, 1 for once in 50 years. [-]
    Returns: altitude factor, velocity and pressure.
    Raises: ValueError if a value is not above zero or the altitude below zero.
    Example:
        >>> uk_basic_wind(
        ...     map_velocity_m_s=23, altitude_m=120, height_m=8, air_density_kg_m3=1.226
        ... ).velocity_m_s
        25.76

    Source: UK national annex to BS EN 1991-1-4:2010, NA.2.4 and NA.2.5. Checked in
    tests/published/test_en_1991_1_4.py.
    """
    above_zero(
        map_velocity_m_s=map_velocity_m_s,
        direction_factor=direction_factor,
        season_factor=season_factor,
        probability_factor=probability_factor,
    )
    factor = uk_altitude_factor(altitude_m=altitude_m, height_m=height_m)
    velocity = map_velocity_m_s * factor * direction_factor * season_factor * probability_factor
    return BasicWind(
        altitude_factor=factor,
        velocity_m_s=velocity,
        pressure_pa=velocity_pressure_pa(velocity_m_s=velocity, air_density_kg_m3=air_density_kg_m3),
    )


def direction_factor(*, bearing_deg: float, factors: Sequence[float]) -> float:
    """Direction factor of a bearing, between the bearings of the table by straight lines.

    Args:
        bearing_deg: where the wind comes from, clockwise from north. [deg]
        factors: at even steps round the circle, the first for north. [-]
    Returns: the factor. [-]
    Raises: ValueError if there are no factors or the bearing is not finite.
    Example:
        >>> direction_factor(bearing_deg=225, factors=[1.0, 0.8, 0.9, 0.7])
        0.8

    Source: UK national annex to BS EN 1991-1-4:2010, table NA.1, which allows interpolation (from memory).
    """
    if not factors or not math.isfinite(bearing_deg):
        raise ValueError("a bearing and at least one factor are needed")
    steps = bearing_deg % 360 / (360 / len(factors))
    before, share = int(steps), steps % 1
    first, second = factors[before % len(factors)], factors[(before + 1) % len(factors)]
    return first + (second - first) * share


def wall_coefficient(*, loaded_area_m2: float, small_area: float, large_area: float) -> float:
    """External pressure coefficient of a wall zone for the area that carries the load.

    Formula: cpe = cpe1 - (cpe1 - cpe10) log10 A between 1 and 10 m2, constant outside

    Args:
        loaded_area_m2: A. [m2]
        small_area: cpe,1. [-]
        large_area: cpe,10. [-]
    Returns: cpe. [-]
    Raises: ValueError if the area is not above zero.
    Example:
        >>> wall_coefficient(loaded_area_m2=2, small_area=-1.4, large_area=-1.2)
        -1.3398

    Source: EN 1991-1-4:2005+A1:2010, 7.2.1 and table 7.1 (from memory).
    """
    above_zero(loaded_area_m2=loaded_area_m2)
    decades = min(max(math.log10(loaded_area_m2), 0.0), 1.0)
    return small_area - (small_area - large_area) * decades


def net_pressure_pa(*, peak_pressure_pa: float, external: float, internal: float) -> float:
    """Net wind pressure on a window; below zero it is drawn outward.

    Formula: w = qp (cpe - cpi)

    Args:
        peak_pressure_pa: qp. [Pa]
        external: coefficient of the outer face, cpe. [-]
        internal: coefficient of the inner face, cpi. [-]
    Returns: w. [Pa]
    Raises: ValueError if the pressure is below zero.
    Example:
        >>> net_pressure_pa(peak_pressure_pa=989, external=-1.4, internal=0.2)
        -1582.4

    Source: EN 1991-1-4:2005+A1:2010, 5.2. Checked in tests/published/test_en_1991_1_4.py.
    """
    not_below_zero(peak_pressure_pa=peak_pressure_pa)
    return peak_pressure_pa * (external - internal)
