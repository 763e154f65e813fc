"""Design strength of glass, its deflection limit, and a pane judged against both. Advice only."""

from dataclasses import dataclass

from sawready.calc.exact import above_zero, not_below_zero
from sawready.calc.glass_plate import plate_under_pressure

_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class PaneVerdict:
    """A pane under a share of the load, beside its limits.

    Attributes:
        stress_mpa, strength_mpa: greatest stress under the factored load, and design strength. [MPa]
        deflection_mm, limit_mm: at the centre under the load itself, and its limit. [mm]
        is_linear: small deflection theory holds; else stress and deflection are overstated.
        ok: both are within their limits.
    """

    stress_mpa: float
    strength_mpa: float
    deflection_mm: float
    limit_mm: float
    is_linear: bool
    ok: bool


def duration_factor(*, duration_s: float) -> float:
    """How much of its short-time strength glass keeps under a load of some duration.

    Formula: kmod = 0.663 t^(-1/16), t in hours, at most 1

    Args:
        duration_s: of the load. [s]
    Returns: kmod. [-]
    Raises: ValueError if the duration is not above zero.
    Example:
        >>> duration_factor(duration_s=600)
        0.742

    Source: EN 16612:2019 (from memory). Checked in tests/published/test_en_16612.py.
    """
    above_zero(duration_s=duration_s)
    return min(1.0, 0.663 * float((duration_s / _SECONDS_PER_HOUR) ** (-1 / 16)))


def annealed_strength_mpa(
    *,
    characteristic_mpa: float,
    duration_factor: float,
    surface_factor: float,
    edge_factor: float,
    material_factor: float,
) -> float:
    """Design bending strength of annealed glass.

    Formula: fgd = ke kmod ksp fgk / gamma_MA

    Args:
        characteristic_mpa: fgk. [MPa]
        duration_factor: kmod. [-]
        surface_factor: ksp, 1 for float glass as made. [-]
        edge_factor: ke, 1 where no edge is stressed. [-]
        material_factor: gamma_MA. [-]
    Returns: fgd. [MPa]
    Raises: ValueError if a value is not above zero.
    Example:
        >>> annealed_strength_mpa(
        ...     characteristic_mpa=45,
        ...     duration_factor=0.74,
        ...     surface_factor=1,
        ...     edge_factor=1,
        ...     material_factor=1.6,
        ... )
        20.81

    Source: EN 16612:2019 (factor values from memory). Checked in tests/published/test_en_16612.py.
    """
    above_zero(
        characteristic_mpa=characteristic_mpa,
        duration_factor=duration_factor,
        surface_factor=surface_factor,
        edge_factor=edge_factor,
        material_factor=material_factor,
    )
    return edge_factor * duration_factor * surface_factor * characteristic_mpa / material_factor


def prestressed_strength_mpa(
    *,
    annealed_mpa: float,
    prestressed_characteristic_mpa: float,
    annealed_characteristic_mpa: float,
    process_factor: float,
    prestress_factor: float,
) -> float:
    """Design bending strength of heat-treated glass: that of annealed glass plus what is frozen in.

    Formula: fgd = fgd,annealed + kv (fbk - fgk) / gamma_Mv

    Args:
        annealed_mpa: design strength as annealed glass, by ``annealed_strength_mpa``. [MPa]
        prestressed_characteristic_mpa: fbk, 120 for toughened float. [MPa]
        annealed_characteristic_mpa: fgk. [MPa]
        process_factor: kv, 1 for glass toughened lying. [-]
        prestress_factor: gamma_Mv. [-]
    Returns: fgd. [MPa]
    Raises: ValueError if a value is not above zero or fbk is below fgk.
    Example:
        >>> prestressed_strength_mpa(
        ...     annealed_mpa=20.81,
        ...     prestressed_characteristic_mpa=120,
        ...     annealed_characteristic_mpa=45,
        ...     process_factor=1,
        ...     prestress_factor=1.2,
        ... )
        83.31

    Source: EN 16612:2019 (form and factors from memory).
    """
    above_zero(annealed_mpa=annealed_mpa, process_factor=process_factor, prestress_factor=prestress_factor)
    frozen_in = prestressed_characteristic_mpa - annealed_characteristic_mpa
    not_below_zero(frozen_in_mpa=frozen_in)
    return annealed_mpa + process_factor * frozen_in / prestress_factor


def glass_deflection_limit_mm(*, span_mm: float, span_over: float, most_mm: float) -> float:
    """The deflection that a pane is allowed.

    Formula: min(span / n, cap)

    Args:
        span_mm: shorter side of a pane held on four edges. [mm]
        span_over: n. [-]
        most_mm: the cap. [mm]
    Returns: limit. [mm]
    Raises: ValueError if a value is not above zero.
    Example:
        >>> glass_deflection_limit_mm(span_mm=900, span_over=65, most_mm=50)
        13.85

    Source: EN 16612:2019, 9.1.4, span / 65 and 50 mm as quoted in a public note.
    """
    above_zero(span_mm=span_mm, span_over=span_over, most_mm=most_mm)
    return min(span_mm / span_over, most_mm)


def laminate_thickness_mm(*, plies_mm: tuple[float, ...], coupling: float) -> float:
    """Thickness of a single pane that bends like a laminated one.

    Formula: h^3 = sum hi^3 + 12 w sum hi m_i^2, m_i from the ply's middle to the middle of all glass

    Args:
        plies_mm: thickness of each ply of glass. [mm]
        coupling: shear that the film carries, w: 0 for plies that slide, 1 for solid. [-]
    Returns: equivalent thickness for deflection. [mm]
    Raises: ValueError if there is no ply, one is not above zero, or the coupling is not from 0 to 1.
    Example:
        >>> (
        ...     laminate_thickness_mm(plies_mm=(3, 3), coupling=0),
        ...     laminate_thickness_mm(plies_mm=(3, 3), coupling=1),
        ... )
        (3.78, 6.0)

    Source: EN 16612:2019, effective thickness, film thickness left out (form from memory; both ends
    follow from bending theory).
    """
    if not plies_mm or not 0 <= coupling <= 1:
        raise ValueError("plies and a coupling from 0 to 1 are needed")
    for ply in plies_mm:
        above_zero(ply_mm=ply)
    whole = sum(plies_mm)
    cubes, start = 0.0, 0.0
    for ply in plies_mm:
        middle = start + ply / 2 - whole / 2
        cubes += ply**3 + 12 * coupling * ply * middle**2
        start += ply
    return float(cubes ** (1 / 3))


def pane_under_load(
    *,
    width_mm: float,
    height_mm: float,
    thickness_mm: float,
    pressure_kpa: float,
    load_factor: float,
    strength_mpa: float,
    deflection_limit_mm: float,
    e_mpa: float,
    poisson: float,
) -> PaneVerdict:
    """A pane supported on four edges against its strength and its deflection limit.

    Small deflection theory, on the safe side where the pane bends more than its thickness. Advice for a
    person who sizes glass, never a proof.

    Formula: sigma(gamma q) <= fgd, w(q) <= limit

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        thickness_mm: of the pane, for laminated glass its equivalent. [mm]
        pressure_kpa: share of the load that this pane carries. [kPa]
        load_factor: on the load for strength. [-]
        strength_mpa: design strength, fgd. [MPa]
        deflection_limit_mm: at the centre. [mm]
        e_mpa: Young's modulus. [MPa]
        poisson: Poisson's ratio. [-]
    Returns: values, limits and verdict; the limits themselves are allowed.
    Raises: ValueError if a value is not above zero.
    Example:
        >>> pane_under_load(
        ...     width_mm=900,
        ...     height_mm=1300,
        ...     thickness_mm=4,
        ...     pressure_kpa=0.363,
        ...     load_factor=1.5,
        ...     strength_mpa=20.8,
        ...     deflection_limit_mm=13.8,
        ...     e_mpa=70_000,
        ...     poisson=0.23,
        ... ).ok
        True

    Source: EN 16612:2019 (from memory) with plate theory.
    """
    above_zero(load_factor=load_factor, strength_mpa=strength_mpa, deflection_limit_mm=deflection_limit_mm)
    bent = plate_under_pressure(
        width_mm=width_mm,
        height_mm=height_mm,
        thickness_mm=thickness_mm,
        pressure_kpa=pressure_kpa,
        e_mpa=e_mpa,
        poisson=poisson,
    )
    stress = bent.stress_mpa * load_factor
    return PaneVerdict(
        stress_mpa=stress,
        strength_mpa=strength_mpa,
        deflection_mm=bent.deflection_mm,
        limit_mm=deflection_limit_mm,
        is_linear=bent.is_linear,
        ok=stress <= strength_mpa and bent.deflection_mm <= deflection_limit_mm,
    )
