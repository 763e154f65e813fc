"""A simply supported bar under any row of sloping and point loads: mullions that other bars end on."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sawready.calc.bar_wind import field_load
from sawready.calc.exact import above_zero, not_below_zero

_HALVINGS = 80


@dataclass(frozen=True, slots=True)
class SlopingLoad:
    """A load between two places of a bar [mm], from one intensity to another [N/mm]."""

    start_mm: float
    end_mm: float
    start_n_mm: float
    end_n_mm: float


@dataclass(frozen=True, slots=True)
class PointLoad:
    """A force [N] at a place of a bar [mm], such as the end of a transom."""

    place_mm: float
    force_n: float


@dataclass(frozen=True, slots=True)
class BarResponse:
    """What a bar does under its loads.

    Attributes:
        reactions_n: at the two supports, start and end. [N]
        moment_n_mm: greatest bending moment. [N mm]
        moment_at_mm: where. [mm]
        deflection_n_mm3: greatest deflection times E I. [N mm3]
        deflection_at_mm: where. [mm]
    """

    reactions_n: tuple[float, float]
    moment_n_mm: float
    moment_at_mm: float
    deflection_n_mm3: float
    deflection_at_mm: float

    def deflection_mm(self, *, stiffness_n_mm2: float) -> float:
        """Greatest deflection of a bar of a bending stiffness E I [N mm2], in mm."""
        above_zero(stiffness_n_mm2=stiffness_n_mm2)
        return self.deflection_n_mm3 / stiffness_n_mm2


def field_loads(
    *, pressure_pa: float, field_width_mm: float, start_mm: float, length_mm: float
) -> tuple[SlopingLoad, ...]:
    """Load of one field on the part of a bar that it runs along, by 45 degree lines.

    Formula: as ``field_load``, with the length of the field for the span

    Args:
        pressure_pa: wind on the field; suction counts by its amount. [Pa]
        field_width_mm: of the field across the bar. [mm]
        start_mm: where the field begins along the bar. [mm]
        length_mm: how far it runs along the bar. [mm]
    Returns: up to three loads: rise, level part, fall.
    Raises: ValueError if the length is not above zero, or start or width is below zero.
    Example:
        >>> len(field_loads(pressure_pa=1200, field_width_mm=600, start_mm=0, length_mm=1200))
        3

    Source: engineering practice, derived.
    """
    not_below_zero(start_mm=start_mm)
    load = field_load(pressure_pa=pressure_pa, field_width_mm=field_width_mm, span_mm=length_mm)
    if load.peak_n_mm == 0:
        return ()
    places = (start_mm, start_mm + load.ramp_mm, start_mm + length_mm - load.ramp_mm, start_mm + length_mm)
    peaks = (0.0, load.peak_n_mm, load.peak_n_mm, 0.0)
    return tuple(
        SlopingLoad(first, second, peak_1, peak_2)
        for (first, second), (peak_1, peak_2) in zip(pairwise(places), pairwise(peaks), strict=True)
        if second > first
    )


def simply_supported(
    *, span_mm: float, sloping: Sequence[SlopingLoad] = (), points: Sequence[PointLoad] = ()
) -> BarResponse:
    """Reactions, greatest moment and greatest deflection of a simply supported bar.

    All loads act the same way, so that the bar bends to one side only and both maxima are single; they
    are found by halving to machine accuracy. Shear is left out.

    Formula: E I v = R x^3 / 6 - sum w<x-s>^4 / 24 - sum k<x-s>^5 / 120 - sum P<x-p>^3 / 6 + C x, with
    <.> zero before its place and C from v(L) = 0

    Args:
        span_mm: L. [mm]
        sloping: loads over parts of the bar, zero or more each.
        points: forces, zero or more each.
    Returns: the response; divide its deflection by E I.
    Raises: ValueError if the span is not above zero, a load lies outside the bar or acts backwards.
    Example:
        >>> bar = simply_supported(span_mm=1000, points=[PointLoad(500, 480)])
        >>> bar.moment_n_mm, bar.deflection_mm(stiffness_n_mm2=1e10)
        (120000.0, 1.0)

    Source: beam theory; agrees with a general finite element program to 0.01 %. Checked in
    tests/published/test_beams.py.
    """
    above_zero(span_mm=span_mm)
    _check_loads(span_mm, sloping, points)
    total, first_moment = _resultant(sloping, points)
    start = total - first_moment / span_mm

    def shear(x: float) -> float:
        return start - _sum(x, sloping, points, 1)

    def moment(x: float) -> float:
        return start * x - _sum(x, sloping, points, 2)

    def bent(x: float) -> float:
        return start * x**3 / 6 - _sum(x, sloping, points, 4)

    tilt = -bent(span_mm) / span_mm

    def slope(x: float) -> float:
        return -(start * x**2 / 2 - _sum(x, sloping, points, 3) + tilt)

    moment_at = _falls_through_zero(shear, span_mm)
    deflection_at = _falls_through_zero(slope, span_mm)
    return BarResponse(
        reactions_n=(start, total - start),
        moment_n_mm=moment(moment_at),
        moment_at_mm=moment_at,
        deflection_n_mm3=-(bent(deflection_at) + tilt * deflection_at),
        deflection_at_mm=deflection_at,
    )


def _check_loads(span_mm: float, sloping: Sequence[SlopingLoad], points: Sequence[PointLoad]) -> None:
    for load in sloping:
        not_below_zero(start_n_mm=load.start_n_mm, end_n_mm=load.end_n_mm)
        if not 0 <= load.start_mm < load.end_mm <= span_mm * (1 + 1e-12):
            raise ValueError(f"a load from {load.start_mm} to {load.end_mm} mm is not on a {span_mm} mm bar")
    for point in points:
        not_below_zero(force_n=point.force_n)
        if not 0 <= point.place_mm <= span_mm:
            raise ValueError(f"a force at {point.place_mm} mm is not on a {span_mm} mm bar")


def _resultant(sloping: Sequence[SlopingLoad], points: Sequence[PointLoad]) -> tuple[float, float]:
    """Sum of all forces and of their moments about the start."""
    total = moment = 0.0
    for load in sloping:
        length = load.end_mm - load.start_mm
        level, rise = load.start_n_mm * length, (load.end_n_mm - load.start_n_mm) * length / 2
        total += level + rise
        moment += level * (load.start_mm + length / 2) + rise * (load.start_mm + 2 * length / 3)
    for point in points:
        total += point.force_n
        moment += point.force_n * point.place_mm
    return total, moment


def _sum(x: float, sloping: Sequence[SlopingLoad], points: Sequence[PointLoad], times: int) -> float:
    """All loads to the left of x, integrated so many times."""
    force, ramp = _FACTORIAL[times - 1], _FACTORIAL[times + 1]
    level = _FACTORIAL[times]
    value = 0.0
    for load in sloping:
        if x <= load.start_mm:
            continue
        grade = (load.end_n_mm - load.start_n_mm) / (load.end_mm - load.start_mm)
        past = x - load.start_mm
        value += load.start_n_mm * past**times / level + grade * past ** (times + 1) / ramp
        if x > load.end_mm:
            past = x - load.end_mm
            value -= load.end_n_mm * past**times / level + grade * past ** (times + 1) / ramp
    for point in points:
        if x > point.place_mm:
            value += point.force_n * (x - point.place_mm) ** (times - 1) / force
    return value


_FACTORIAL = (1, 1, 2, 6, 24, 120)


def _falls_through_zero(of_x: Callable[[float], float], span_mm: float) -> float:
    """Where a function that only falls along the bar changes its sign."""
    low, high = 0.0, span_mm
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if of_x(middle) > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2
