"""Centre-pane transmittance of glass units, worked out to EN 673."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sawready.calc.exact import above_zero

STEFAN_BOLTZMANN_W_M2K4 = 5.67e-8
"""Stefan-Boltzmann constant, to the three digits that EN 673 works with (from memory)."""

_GRAVITY_M_S2 = 9.81
_SHARES_SETTLE_AT_K = 1e-9
_MOST_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas, or a mix of gases, at the mean temperature of the gap.

    Attributes:
        density_kg_m3: rho. [kg/m3]
        viscosity_pa_s: dynamic viscosity, mu. [Pa s]
        conductivity_w_mk: lambda. [W/mK]
        heat_capacity_j_kgk: c. [J/kgK]
    """

    density_kg_m3: float
    viscosity_pa_s: float
    conductivity_w_mk: float
    heat_capacity_j_kgk: float


@dataclass(frozen=True, slots=True)
class Gap:
    """A sealed gap between two panes. Width [mm], gas, corrected emissivities of its two faces [-]."""

    width_mm: float
    gas: Gas
    emissivities: tuple[float, float]


@dataclass(frozen=True, slots=True)
class GapConductance:
    """Conductance of a gap with its shares.

    Attributes:
        conductance_w_m2k: radiation and gas together, hs. [W/m2K]
        radiation_w_m2k: hr. [W/m2K]
        gas_w_m2k: conduction and convection, hg. [W/m2K]
        nusselt: Nu, 1 where the gas stands still. [-]
        difference_k: temperature difference across the gap. [K]
    """

    conductance_w_m2k: float
    radiation_w_m2k: float
    gas_w_m2k: float
    nusselt: float
    difference_k: float


@dataclass(frozen=True, slots=True)
class GlassU:
    """Centre-pane transmittance [W/m2K] and the gaps that make it, outside first."""

    u_w_m2k: float
    gaps: tuple[GapConductance, ...]


def gas_mix(*, gases: Mapping[str, Gas], shares: Mapping[str, float]) -> Gas:
    """Properties of a gas filling by volume shares.

    Formula: P = sum P_i F_i for each property

    Args:
        gases: the pure gases by name.
        shares: volume share of each, together 1. [-]
    Returns: the mix.
    Raises: ValueError if a gas is unknown or the shares do not add up to 1.
    Example:
        >>> air = Gas(1.232, 1.761e-5, 0.02496, 1008)
        >>> argon = Gas(1.699, 2.164e-5, 0.01684, 519)
        >>> gas_mix(gases={"air": air, "argon": argon}, shares={"argon": 0.9, "air": 0.1}).conductivity_w_mk
        0.01765

    Source: EN 673:2011, mixtures by volume fraction (from memory).
    """
    unknown = sorted(set(shares) - set(gases))
    if unknown:
        raise ValueError(f"gas {unknown[0]!r} is not one of {', '.join(sorted(gases))}")
    if any(share < 0 for share in shares.values()) or abs(math.fsum(shares.values()) - 1) > 1e-9:
        raise ValueError(f"the shares of gas must be zero or more and add up to 1, not {dict(shares)}")

    def mixed(name: str) -> float:
        return math.fsum(share * float(getattr(gases[gas], name)) for gas, share in shares.items())

    return Gas(
        density_kg_m3=mixed("density_kg_m3"),
        viscosity_pa_s=mixed("viscosity_pa_s"),
        conductivity_w_mk=mixed("conductivity_w_mk"),
        heat_capacity_j_kgk=mixed("heat_capacity_j_kgk"),
    )


def radiation_conductance_w_m2k(*, emissivities: tuple[float, float], mean_temperature_k: float) -> float:
    """Conductance of a gap by radiation between its two faces.

    Formula: hr = 4 sigma T^3 / (1/e1 + 1/e2 - 1)

    Args:
        emissivities: corrected emissivities of the two faces, e1 and e2. [-]
        mean_temperature_k: T. [K]
    Returns: hr. [W/m2K]
    Raises: ValueError if an emissivity is not above 0 and at most 1, or T is not above zero.
    Example:
        >>> radiation_conductance_w_m2k(emissivities=(0.837, 0.837), mean_temperature_k=283)
        3.6995

    Source: EN 673:2011 (formula from memory). Checked in tests/published/test_en_673.py.
    """
    above_zero(mean_temperature_k=mean_temperature_k)
    for emissivity in emissivities:
        if not 0 < emissivity <= 1:
            raise ValueError(f"emissivity must be above 0 and at most 1, not {emissivity}")
    resistance = 1 / emissivities[0] + 1 / emissivities[1] - 1
    return 4 * STEFAN_BOLTZMANN_W_M2K4 * mean_temperature_k**3 / resistance


def nusselt_number(
    *,
    gas: Gas,
    width_mm: float,
    difference_k: float,
    mean_temperature_k: float,
    coefficient: float = 0.035,
    exponent: float = 0.38,
) -> float:
    """How much convection raises the conductance of a gas gap; never below 1.

    Formula: Nu = max(1, A (Gr Pr)^n), Gr = 9.81 s^3 dT rho^2 / (T mu^2), Pr = mu c / lambda

    Args:
        gas: the filling.
        width_mm: of the gap, s. [mm]
        difference_k: temperature difference across the gap, dT. [K]
        mean_temperature_k: T. [K]
        coefficient: A, 0.035 for upright glass. [-]
        exponent: n, 0.38 for upright glass. [-]
    Returns: Nu. [-]
    Raises: ValueError if width or temperature is not above zero or the difference is below zero.
    Example:
        >>> nusselt_number(
        ...     gas=Gas(1.232, 1.761e-5, 0.02496, 1008), width_mm=16, difference_k=15, mean_temperature_k=283
        ... )
        1.0344

    Source: EN 673:2011 (formula from memory). Checked in tests/published/test_en_673.py.
    """
    above_zero(width_mm=width_mm, mean_temperature_k=mean_temperature_k)
    if difference_k < 0:
        raise ValueError(f"difference_k must be zero or more, not {difference_k}")
    width_m = width_mm / 1000
    grashof = (
        _GRAVITY_M_S2
        * width_m**3
        * difference_k
        * gas.density_kg_m3**2
        / (mean_temperature_k * gas.viscosity_pa_s**2)
    )
    prandtl = gas.viscosity_pa_s * gas.heat_capacity_j_kgk / gas.conductivity_w_mk
    return max(1.0, coefficient * math.pow(grashof * prandtl, exponent))


def gap_conductance(*, gap: Gap, difference_k: float, mean_temperature_k: float) -> GapConductance:
    """Conductance of an upright gap by radiation and by its gas.

    Formula: hs = hr + Nu lambda / s

    Args:
        gap: width, gas and emissivities.
        difference_k: temperature difference across the gap. [K]
        mean_temperature_k: mean temperature of the gap. [K]
    Returns: the conductance with its shares. [W/m2K]
    Raises: ValueError as ``nusselt_number`` and ``radiation_conductance_w_m2k``.
    Example:
        >>> air = Gas(1.232, 1.761e-5, 0.02496, 1008)
        >>> gap_conductance(
        ...     gap=Gap(12, air, (0.837, 0.837)), difference_k=15, mean_temperature_k=283
        ... ).gas_w_m2k
        2.08

    Source: EN 673:2011 (formula from memory). Checked in tests/published/test_en_673.py.
    """
    nusselt = nusselt_number(
        gas=gap.gas,
        width_mm=gap.width_mm,
        difference_k=difference_k,
        mean_temperature_k=mean_temperature_k,
    )
    by_gas = nusselt * gap.gas.conductivity_w_mk / (gap.width_mm / 1000)
    by_radiation = radiation_conductance_w_m2k(
        emissivities=gap.emissivities, mean_temperature_k=mean_temperature_k
    )
    return GapConductance(
        conductance_w_m2k=by_radiation + by_gas,
        radiation_w_m2k=by_radiation,
        gas_w_m2k=by_gas,
        nusselt=nusselt,
        difference_k=difference_k,
    )


def glass_u(
    *,
    panes_mm: Sequence[float],
    gaps: Sequence[Gap],
    outside_w_m2k: float,
    inside_w_m2k: float,
    glass_conductivity_w_mk: float,
    mean_temperature_k: float,
    difference_k: float,
) -> GlassU:
    """Centre-pane transmittance of a single pane or of a unit with any number of gaps.

    The whole difference is shared between the gaps by their resistances, round by round, until the shares
    stand still; with one gap, or where no gas moves, the first round is final. Spacer and frame are left
    out: this is not the U of a window. Interlayers of laminated glass count as glass.

    Formula: 1/U = 1/he + sum d / lambda + sum 1 / hs + 1/hi

    Args:
        panes_mm: thickness of each pane, outside first, d. [mm]
        gaps: the gaps between them, outside first.
        outside_w_m2k: outer surface coefficient, he. [W/m2K]
        inside_w_m2k: inner surface coefficient, hi. [W/m2K]
        glass_conductivity_w_mk: lambda of glass. [W/mK]
        mean_temperature_k: of the gaps. [K]
        difference_k: over all gaps together. [K]
    Returns: the transmittance and its gaps.
    Raises: ValueError if there is not one pane more than gaps, or a value is out of range.
    Example:
        >>> argon = Gas(1.6523, 2.1237e-5, 0.017652, 567.9)
        >>> glass_u(
        ...     panes_mm=[4, 4],
        ...     gaps=[Gap(16, argon, (0.837, 0.03))],
        ...     outside_w_m2k=25,
        ...     inside_w_m2k=7.7,
        ...     glass_conductivity_w_mk=1.0,
        ...     mean_temperature_k=283,
        ...     difference_k=15,
        ... ).u_w_m2k
        1.103

    Source: EN 673:2011 (formulas from memory; they reproduce published values to one decimal). Checked in
    tests/published/test_en_673.py.
    """
    if len(panes_mm) != len(gaps) + 1:
        raise ValueError(f"{len(gaps)} gaps need {len(gaps) + 1} panes, not {len(panes_mm)}")
    above_zero(
        outside_w_m2k=outside_w_m2k,
        inside_w_m2k=inside_w_m2k,
        glass_conductivity_w_mk=glass_conductivity_w_mk,
        difference_k=difference_k,
        **{f"pane_{number}_mm": pane for number, pane in enumerate(panes_mm, start=1)},
    )
    found = _gaps_in_balance(gaps, mean_temperature_k, difference_k)
    resistance = (
        1 / outside_w_m2k
        + math.fsum(panes_mm) / 1000 / glass_conductivity_w_mk
        + math.fsum(1 / gap.conductance_w_m2k for gap in found)
        + 1 / inside_w_m2k
    )
    return GlassU(u_w_m2k=1 / resistance, gaps=found)


def single_pane_u_w_m2k(
    *, thickness_mm: float, outside_w_m2k: float, inside_w_m2k: float, glass_conductivity_w_mk: float
) -> float:
    """Transmittance of one pane of glass.

    Formula: 1/U = 1/he + t / lambda + 1/hi

    Args:
        thickness_mm: t. [mm]
        outside_w_m2k: outer surface coefficient, he. [W/m2K]
        inside_w_m2k: inner surface coefficient, hi. [W/m2K]
        glass_conductivity_w_mk: lambda. [W/mK]
    Returns: U. [W/m2K]
    Raises: ValueError if a value is not above zero.
    Example:
        >>> single_pane_u_w_m2k(
        ...     thickness_mm=6, outside_w_m2k=25, inside_w_m2k=7.7, glass_conductivity_w_mk=1.0
        ... )
        5.686

    Source: EN 673:2011 (from memory). Checked in tests/published/test_en_673.py.
    """
    above_zero(
        thickness_mm=thickness_mm,
        outside_w_m2k=outside_w_m2k,
        inside_w_m2k=inside_w_m2k,
        glass_conductivity_w_mk=glass_conductivity_w_mk,
    )
    return 1 / (1 / outside_w_m2k + thickness_mm / 1000 / glass_conductivity_w_mk + 1 / inside_w_m2k)


def _gaps_in_balance(
    gaps: Sequence[Gap], mean_temperature_k: float, difference_k: float
) -> tuple[GapConductance, ...]:
    """The gaps with the whole difference shared by their resistances."""
    shares = [difference_k / len(gaps) for _ in gaps]
    found: tuple[GapConductance, ...] = ()
    for _ in range(_MOST_ROUNDS):
        found = tuple(
            gap_conductance(gap=gap, difference_k=share, mean_temperature_k=mean_temperature_k)
            for gap, share in zip(gaps, shares, strict=True)
        )
        resistances = [1 / gap.conductance_w_m2k for gap in found]
        whole = math.fsum(resistances)
        settled = [difference_k * resistance / whole for resistance in resistances]
        if all(abs(new - old) < _SHARES_SETTLE_AT_K for new, old in zip(settled, shares, strict=True)):
            break
        shares = settled
    return found
