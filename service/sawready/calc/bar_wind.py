"""A mullion or transom under wind: the load of its fields, its deflection and the stiffness it needs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sawready.calc.beam import trapezoid_deflection_mm, trapezoid_moment_n_mm, trapezoid_stiffness_n_mm2
from sawready.calc.exact import above_zero, not_below_zero

PA_PER_N_MM2 = 1e6


@dataclass(frozen=True, slots=True)
class FieldLoad:
    """Load of one field on a bar: level part [N/mm] and the ramp at each end [mm]."""

    peak_n_mm: float
    ramp_mm: float

    def is_triangle(self, *, span_mm: float) -> bool:
        """Whether the two ramps meet at midspan and no level part is left."""
        return 2 * self.ramp_mm >= span_mm


@dataclass(frozen=True, slots=True)
class BarStrength:
    """What a bar does under wind, and what it needs to do.

    Attributes:
        loads: of each field beside it.
        limit_mm: the deflection that is allowed. [mm]
        needed_stiffness_n_mm2: least E I for that limit. [N mm2]
        needed_i_mm4: the same as second moment of area of the modulus given. [mm4]
        moment_n_mm: greatest bending moment. [N mm]
        deflection_mm: at midspan; None where the stiffness is not given. [mm]
        ratio: span over deflection; None likewise, infinite without load. [-]
        ok: deflection is not above the limit; None likewise.
    """

    loads: tuple[FieldLoad, ...]
    limit_mm: float
    needed_stiffness_n_mm2: float
    needed_i_mm4: float
    moment_n_mm: float
    deflection_mm: float | None
    ratio: float | None
    ok: bool | None


def field_load(*, pressure_pa: float, field_width_mm: float, span_mm: float) -> FieldLoad:
    """Load that a field hands to one of its four bars by 45 degree lines from its corners.

    A field narrower than the span gives a trapezoid, one as wide or wider a triangle: the load does not
    grow with a width beyond the span.

    Formula: a = min(B / 2, L / 2), w = q a

    Args:
        pressure_pa: wind on the field, q; suction counts by its amount. [Pa]
        field_width_mm: of the field across the bar, B; 0 where there is none. [mm]
        span_mm: of the bar along the field, L. [mm]
    Returns: peak w [N/mm] and ramp a [mm].
    Raises: ValueError if the span is not above zero or the width below zero.
    Example:
        >>> field_load(pressure_pa=1200, field_width_mm=600, span_mm=1200)
        FieldLoad(peak_n_mm=0.36, ramp_mm=300.0)

    Source: engineering practice, derived. Checked in tests/published/test_beams.py.
    """
    above_zero(span_mm=span_mm)
    not_below_zero(field_width_mm=field_width_mm)
    ramp = min(field_width_mm, span_mm) / 2
    return FieldLoad(peak_n_mm=abs(pressure_pa) / PA_PER_N_MM2 * ramp, ramp_mm=ramp)


def bar_under_wind(
    *,
    span_mm: float,
    field_widths_mm: Sequence[float],
    pressure_pa: float,
    span_over: float,
    e_mpa: float,
    i_mm4: float | None = None,
    limit_mm: float | None = None,
) -> BarStrength:
    """A mullion or transom that carries the wind of the fields on its sides over its whole length.

    The bar is simply supported and every field runs along all of it. Where other bars end on it, or a
    field is shorter than the bar, use ``bar_loads.simply_supported``. Shear and the help of the glass are
    left out.

    Formula: sum over both sides of w (5 L^2 - 4 a^2)^2 / (1920 E I), w = q a, a = min(B / 2, L / 2)

    Args:
        span_mm: L. [mm]
        field_widths_mm: width of the field on each side, B; usually two. [mm]
        pressure_pa: q; suction counts by its amount. [Pa]
        span_over: the limit as a share of the span, such as 200. [-]
        e_mpa: modulus of the material that the second moment is given or wanted in. [MPa]
        i_mm4: second moment of area; None asks only what is needed. For profile and core together give
            the equivalent one. [mm4]
        limit_mm: an absolute limit besides the share of the span; None for none. [mm]
    Returns: load, moment, deflection, limit and the stiffness that is needed.
    Raises: ValueError if a length, modulus, limit or second moment is not above zero.
    Example:
        >>> bar_under_wind(
        ...     span_mm=1200, field_widths_mm=(600, 600), pressure_pa=1200, span_over=200, e_mpa=210_000
        ... ).needed_i_mm4
        13924.3

    Source: engineering practice with a closed form; agrees with a general finite element program to
    0.01 %. Limits by EN 12210:2016, table 1. Checked in tests/published/test_beams.py.
    """
    above_zero(span_mm=span_mm, span_over=span_over, e_mpa=e_mpa)
    limit = span_mm / span_over
    if limit_mm is not None:
        above_zero(limit_mm=limit_mm)
        limit = min(limit, limit_mm)
    loads = tuple(
        field_load(pressure_pa=pressure_pa, field_width_mm=width, span_mm=span_mm)
        for width in field_widths_mm
    )
    needed = math.fsum(
        trapezoid_stiffness_n_mm2(
            peak_n_mm=load.peak_n_mm, ramp_mm=load.ramp_mm, span_mm=span_mm, deflection_mm=limit
        )
        for load in loads
    )
    moment = math.fsum(
        trapezoid_moment_n_mm(peak_n_mm=load.peak_n_mm, ramp_mm=load.ramp_mm, span_mm=span_mm)
        for load in loads
    )
    deflection = ratio = ok = None
    if i_mm4 is not None:
        above_zero(i_mm4=i_mm4)
        deflection = math.fsum(
            trapezoid_deflection_mm(
                peak_n_mm=load.peak_n_mm,
                ramp_mm=load.ramp_mm,
                span_mm=span_mm,
                stiffness_n_mm2=e_mpa * i_mm4,
            )
            for load in loads
        )
        ratio = span_mm / deflection if deflection else math.inf
        ok = deflection <= limit
    return BarStrength(
        loads=loads,
        limit_mm=limit,
        needed_stiffness_n_mm2=needed,
        needed_i_mm4=needed / e_mpa,
        moment_n_mm=moment,
        deflection_mm=deflection,
        ratio=ratio,
        ok=ok,
    )
