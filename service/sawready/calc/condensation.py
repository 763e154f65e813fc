"""Inner surface temperature, temperature factor and dew point; information, never a verdict on an edge."""

import math

from sawready.calc.exact import above_zero

_PRESSURE_AT_0_C_PA = 610.5
_OVER_WATER = (17.269, 237.3)
_OVER_ICE = (21.875, 265.5)
_COLDEST_C = -100.0


def surface_temperature_c(*, u_w_m2k: float, inside_c: float, outside_c: float, rsi_m2k_w: float) -> float:
    """Inner surface temperature of a plane element with heat flowing straight through it.

    Holds for the centre of a pane only. The edge of the glass is colder, so a centre value must not be
    used to clear an edge; that needs a two-dimensional value (EN ISO 10077-2).

    Formula: tsi = ti - U Rsi (ti - te)

    Args:
        u_w_m2k: transmittance U. [W/m2K]
        inside_c: inside air temperature, ti. [C]
        outside_c: outside air temperature, te. [C]
        rsi_m2k_w: inner surface resistance, Rsi. [m2K/W]
    Returns: tsi. [C]
    Raises: ValueError if U or Rsi is not above zero.
    Example:
        >>> surface_temperature_c(u_w_m2k=1.1, inside_c=20, outside_c=0, rsi_m2k_w=0.13)
        17.14

    Source: EN ISO 13788:2012. Checked in tests/published/test_en_iso_13788.py.
    """
    above_zero(u_w_m2k=u_w_m2k, rsi_m2k_w=rsi_m2k_w)
    return inside_c - u_w_m2k * rsi_m2k_w * (inside_c - outside_c)


def plane_temperature_factor(*, u_w_m2k: float, rsi_m2k_w: float) -> float:
    """Temperature factor of a plane element, centre of pane only.

    Formula: fRsi = 1 - U Rsi

    Args:
        u_w_m2k: transmittance U. [W/m2K]
        rsi_m2k_w: inner surface resistance, Rsi. [m2K/W]
    Returns: fRsi. [-]
    Raises: ValueError if U or Rsi is not above zero.
    Example:
        >>> plane_temperature_factor(u_w_m2k=2.7, rsi_m2k_w=0.13)
        0.649

    Source: EN ISO 13788:2012. Checked in tests/published/test_en_iso_13788.py.
    """
    above_zero(u_w_m2k=u_w_m2k, rsi_m2k_w=rsi_m2k_w)
    return 1 - u_w_m2k * rsi_m2k_w


def temperature_factor(*, surface_c: float, inside_c: float, outside_c: float) -> float:
    """Temperature factor from a surface temperature, measured or worked out.

    Formula: fRsi = (tsi - te) / (ti - te)

    Args:
        surface_c: inner surface temperature, tsi. [C]
        inside_c: inside air temperature, ti. [C]
        outside_c: outside air temperature, te. [C]
    Returns: fRsi. [-]
    Raises: ValueError if inside and outside are equally warm.
    Example:
        >>> temperature_factor(surface_c=12.6, inside_c=20, outside_c=-5)
        0.704

    Source: EN ISO 13788:2012. Checked in tests/published/test_en_iso_13788.py.
    """
    if inside_c == outside_c:
        raise ValueError(f"inside and outside must differ, both are {inside_c} C")
    return (surface_c - outside_c) / (inside_c - outside_c)


def saturation_pressure_pa(*, temperature_c: float) -> float:
    """Vapour pressure of saturated air, over water from 0 C up and over ice below.

    Formula: p = 610.5 exp(17.269 t / (237.3 + t)), below 0 C 610.5 exp(21.875 t / (265.5 + t))

    Args:
        temperature_c: air temperature, t. [C]
    Returns: saturation pressure. [Pa]
    Raises: ValueError if the temperature is not between -100 C and 200 C.
    Example:
        >>> saturation_pressure_pa(temperature_c=20)
        2337.0

    Source: EN ISO 13788:2012, annex on saturation pressure (the form over ice from memory).
    """
    if not _COLDEST_C <= temperature_c <= 200:
        raise ValueError(f"temperature must be from -100 to 200 C, not {temperature_c}")
    slope, offset = _OVER_WATER if temperature_c >= 0 else _OVER_ICE
    return _PRESSURE_AT_0_C_PA * math.exp(slope * temperature_c / (offset + temperature_c))


def saturation_temperature_c(*, pressure_pa: float) -> float:
    """Temperature at which a vapour pressure saturates the air: the inverse of the pressure.

    Formula: t = 237.3 ln(p / 610.5) / (17.269 - ln(p / 610.5)), with the ice figures below 610.5 Pa

    Args:
        pressure_pa: vapour pressure, p. [Pa]
    Returns: temperature. [C]
    Raises: ValueError if the pressure is not above zero.
    Example:
        >>> saturation_temperature_c(pressure_pa=610.5)
        0.0

    Source: EN ISO 13788:2012, solved for the temperature.
    """
    above_zero(pressure_pa=pressure_pa)
    logarithm = math.log(pressure_pa / _PRESSURE_AT_0_C_PA)
    slope, offset = _OVER_WATER if logarithm >= 0 else _OVER_ICE
    return offset * logarithm / (slope - logarithm)


def dew_point_c(*, air_c: float, relative_humidity: float) -> float:
    """Temperature at which water begins to settle out of the room's air.

    Formula: p(td) = rh p(t)

    Args:
        air_c: air temperature. [C]
        relative_humidity: rh, above 0 and at most 1. [-]
    Returns: dew point. [C]
    Raises: ValueError if the humidity is not above 0 and at most 1.
    Example:
        >>> dew_point_c(air_c=20, relative_humidity=0.5)
        9.27

    Source: EN ISO 13788:2012. Checked in tests/published/test_en_iso_13788.py.
    """
    return surface_temperature_for_humidity_c(
        air_c=air_c, relative_humidity=relative_humidity, surface_humidity=1.0
    )


def surface_temperature_for_humidity_c(
    *, air_c: float, relative_humidity: float, surface_humidity: float
) -> float:
    """Surface temperature at which the air next to it has a stated humidity; 0.8 is the mould limit.

    Formula: p(ts) = rh p(t) / rh_s

    Args:
        air_c: air temperature. [C]
        relative_humidity: of the room, rh. [-]
        surface_humidity: at the surface, rh_s. [-]
    Returns: surface temperature. [C]
    Raises: ValueError if a humidity is not above 0 and at most 1.
    Example:
        >>> surface_temperature_for_humidity_c(air_c=20, relative_humidity=0.5, surface_humidity=0.8)
        12.62

    Source: EN ISO 13788:2012. Checked in tests/published/test_en_iso_13788.py.
    """
    for humidity in (relative_humidity, surface_humidity):
        if not 0 < humidity <= 1:
            raise ValueError(f"humidity must be above 0 and at most 1, not {humidity}")
    return saturation_temperature_c(
        pressure_pa=relative_humidity * saturation_pressure_pa(temperature_c=air_c) / surface_humidity
    )
