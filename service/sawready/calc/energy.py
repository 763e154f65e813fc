"""Judging a transmittance against its limit, and the UK energy index of a window."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from sawready.calc.exact import Number, exact, share_of_one

RATING_BANDS = ("A++", "A+", "A", "B", "C", "D", "E", "F", "G")
"""Bands of the UK window rating, best first."""

_FLOAT_NOISE_DIGITS = 12


class Rounding(StrEnum):
    """How a transmittance is brought to the number that is judged."""

    TWO_SIGNIFICANT_FIGURES = "two_significant_figures"
    UNROUNDED = "unrounded"


@dataclass(frozen=True, slots=True)
class UVerdict:
    """A transmittance beside its limit.

    Attributes:
        u_w_m2k: as worked out. [W/m2K]
        judged_w_m2k: the number that was compared. [W/m2K]
        limit_w_m2k: the most that is allowed. [W/m2K]
        rounding: how the first became the second.
        ok: judged is not above the limit.
    """

    u_w_m2k: float
    judged_w_m2k: float
    limit_w_m2k: float
    rounding: Rounding
    ok: bool


@dataclass(frozen=True, slots=True)
class EnergyVerdict:
    """Whether a window meets a limit that offers two ways: ``by`` is u_value, band or None."""

    ok: bool
    by: str | None
    u: UVerdict | None


def two_significant_figures(value: Number) -> float:
    """The value to two significant figures, halves away from zero.

    Twelve digits are kept before rounding, so that a computed 1.4499999999999997 that stands for 1.45 is
    rounded as 1.45. Halves go up because that is the stricter way against an upper limit.

    Args:
        value: any number. [any unit, kept]
    Returns: the rounded value.
    Raises: ValueError if it is not finite.
    Example:
        >>> two_significant_figures(1.44), two_significant_figures(1.45), two_significant_figures(0.708)
        (1.4, 1.5, 0.71)

    Source: EN ISO 10077-1:2017, clause 7 reports U to two significant figures (from memory). The
    standard's own rule for exact halves was not read.
    """
    number = _without_noise(value)
    if number == 0:
        return 0.0
    return float(number.quantize(Decimal(1).scaleb(number.adjusted() - 1), rounding=ROUND_HALF_UP))


def judged_u(*, u_w_m2k: float, limit_w_m2k: float, rounding: Rounding | str) -> UVerdict:
    """A transmittance against its limit under a stated rounding.

    The rounding decides every verdict between 1.40 and 1.45, so the rulebook states it.

    Args:
        u_w_m2k: as worked out. [W/m2K]
        limit_w_m2k: the most that is allowed; the limit itself is allowed. [W/m2K]
        rounding: ``two_significant_figures`` or ``unrounded``.
    Returns: the numbers and the verdict.
    Raises: ValueError if the rounding is not known or a number is not finite.
    Example:
        >>> judged_u(u_w_m2k=1.44, limit_w_m2k=1.4, rounding="two_significant_figures").ok
        True
        >>> judged_u(u_w_m2k=1.44, limit_w_m2k=1.4, rounding="unrounded").ok
        False

    Source: reporting by EN ISO 10077-1:2017, clause 7 (from memory); the limit from the rulebook.
    """
    policy = Rounding(rounding)
    judged = two_significant_figures(u_w_m2k) if policy is Rounding.TWO_SIGNIFICANT_FIGURES else u_w_m2k
    return UVerdict(
        u_w_m2k=u_w_m2k,
        judged_w_m2k=judged,
        limit_w_m2k=limit_w_m2k,
        rounding=policy,
        ok=_without_noise(judged) <= _without_noise(limit_w_m2k),
    )


def energy_limit_met(
    *,
    u_w_m2k: float | None,
    band: str | None,
    limit_w_m2k: float,
    least_band: str | None,
    rounding: Rounding | str,
    bands: Sequence[str] = RATING_BANDS,
) -> EnergyVerdict:
    """Whether a window meets its energy limit by transmittance or by rating band; one way is enough.

    Args:
        u_w_m2k: as worked out, None where unknown. [W/m2K]
        band: the rating band stated, None where there is none.
        limit_w_m2k: the most that is allowed. [W/m2K]
        least_band: the worst band that is allowed, None where bands do not count.
        rounding: as in ``judged_u``.
        bands: all bands, best first.
    Returns: the verdict and the way by which it is met.
    Raises: ValueError if a band is not known.
    Example:
        >>> energy_limit_met(u_w_m2k=1.5, band="B", limit_w_m2k=1.4, least_band="B", rounding="unrounded").by
        'band'

    Source: Approved Document L volume 1, 2021, table 4.2 (table number from memory): U of at most 1.4 or
    band B. Checked in tests/published/test_approved_document_l.py.
    """
    verdict = (
        None if u_w_m2k is None else judged_u(u_w_m2k=u_w_m2k, limit_w_m2k=limit_w_m2k, rounding=rounding)
    )
    for name in (band, least_band):
        if name is not None and name not in bands:
            raise ValueError(f"band {name!r} is not one of {', '.join(bands)}")
    if verdict is not None and verdict.ok:
        return EnergyVerdict(ok=True, by="u_value", u=verdict)
    if band is not None and least_band is not None and bands.index(band) <= bands.index(least_band):
        return EnergyVerdict(ok=True, by="band", u=verdict)
    return EnergyVerdict(ok=False, by=None, u=verdict)


def window_solar_factor(*, g_glass: float, glass_fraction: float, utilisation: float) -> float:
    """Solar factor of a whole window from that of its glass.

    Formula: g = k g_glass Ag / A

    Args:
        g_glass: total solar energy transmittance of the glass at normal incidence. [-]
        glass_fraction: visible glass area over whole area. [-]
        utilisation: factor k for the mean incidence. [-]
    Returns: solar factor of the window. [-]
    Raises: ValueError if an argument is not between 0 and 1.
    Example:
        >>> window_solar_factor(g_glass=0.63, glass_fraction=0.7, utilisation=0.9)
        0.397

    Source: UK window rating scheme (from memory, not confirmed; figures in catalogue/data/physics.yaml).
    """
    share_of_one(g_glass=g_glass, glass_fraction=glass_fraction, utilisation=utilisation)
    return utilisation * g_glass * glass_fraction


def window_energy_index_kwh_m2(
    *,
    g_window: float,
    u_w_m2k: float,
    air_leakage_w_m2k: float,
    gain_kwh_m2: float,
    loss_kwh_k_w: float,
) -> float:
    """Energy balance of a window over a UK heating season; above zero it gains more than it loses.

    Formula: index = gain g - loss (U + L)

    Args:
        g_window: solar factor of the whole window. [-]
        u_w_m2k: transmittance of the whole window, U. [W/m2K]
        air_leakage_w_m2k: effective heat loss by air leakage, L. [W/m2K]
        gain_kwh_m2: solar gain of the season at g = 1. [kWh/m2 yr]
        loss_kwh_k_w: degree hours of the season. [kWh K/W yr]
    Returns: the index. [kWh/m2 yr]
    Raises: ValueError if the solar factor is not between 0 and 1.
    Example:
        >>> window_energy_index_kwh_m2(
        ...     g_window=0.43, u_w_m2k=1.4, air_leakage_w_m2k=0.02, gain_kwh_m2=218.6, loss_kwh_k_w=68.5
        ... )
        -3.27

    Source: UK window rating scheme, 218.6 g - 68.5 (U + L), from memory and not confirmed: information
    only. Checked in tests/published/test_approved_document_l.py.
    """
    share_of_one(g_window=g_window)
    return gain_kwh_m2 * g_window - loss_kwh_k_w * (u_w_m2k + air_leakage_w_m2k)


def rating_band(*, index_kwh_m2: float, band_from_kwh_m2: Mapping[str, float]) -> str | None:
    """The best band whose threshold the index reaches.

    Args:
        index_kwh_m2: energy index. [kWh/m2 yr]
        band_from_kwh_m2: least index of each band. [kWh/m2 yr]
    Returns: the band, or None below all of them.
    Raises: ValueError if the index is not finite.
    Example:
        >>> rating_band(index_kwh_m2=-3.27, band_from_kwh_m2={"A": 0, "B": -10, "C": -20})
        'B'

    Source: UK window rating scheme, thresholds from memory and not confirmed.
    """
    index = exact(index_kwh_m2)
    reached = [(exact(least), band) for band, least in band_from_kwh_m2.items() if index >= exact(least)]
    return max(reached)[1] if reached else None


def _without_noise(value: Number) -> Decimal:
    """The value to twelve significant digits, which drops what binary arithmetic adds."""
    return Decimal(f"{float(exact(value)):.{_FLOAT_NOISE_DIGITS}g}")
