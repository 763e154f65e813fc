"""Performance classes of windows: wind (EN 12210), air (EN 12207), water (EN 12208), UK exposure."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sawready.calc.exact import Number, above_zero, exact

_REFERENCE_PA = 100.0


@dataclass(frozen=True, slots=True)
class DeflectionClass:
    """Span over deflection, rounded nowhere, and the best class letter reached; None below all."""

    ratio: float
    letter: str | None


@dataclass(frozen=True, slots=True)
class WindClass:
    """A class of resistance to wind with its three test pressures.

    Attributes:
        name: ``1`` to ``5``, or E and the pressure, such as ``E2400``, above class 5.
        number: 1 to 5; None above class 5. [-]
        deflection_pa: P1, where deflection is measured. [Pa]
        repeated_pa: P2, applied 50 times. [Pa]
        safety_pa: P3, the gust. [Pa]
    """

    name: str
    number: int | None
    deflection_pa: float
    repeated_pa: float
    safety_pa: float


def deflection_class(
    *, deflection_mm: Number, span_mm: Number, span_over: Mapping[str, Number]
) -> DeflectionClass:
    """Relative frontal deflection and the best class letter that it reaches.

    Formula: ratio = span / deflection; a letter is reached where the ratio is not below its figure

    Args:
        deflection_mm: frontal deflection of the bar, either way. [mm]
        span_mm: its span. [mm]
        span_over: for each letter the least span over deflection, such as A 150, B 200, C 300. [-]
    Returns: the ratio (infinite without deflection) and the letter.
    Raises: ValueError if the span is not above zero.
    Example:
        >>> deflection_class(deflection_mm=6.0, span_mm=1400, span_over={"A": 150, "B": 200, "C": 300})
        DeflectionClass(ratio=233.33, letter='B')

    Source: EN 12210:2016, table 1. Checked in tests/published/test_en_12210.py.
    """
    deflection, span = abs(exact(deflection_mm)), exact(span_mm)
    above_zero(span_mm=float(span))
    reached = [
        (exact(least), letter) for letter, least in span_over.items() if deflection * exact(least) <= span
    ]
    ratio = float(span / deflection) if deflection else math.inf
    return DeflectionClass(ratio=ratio, letter=max(reached)[1] if reached else None)


def wind_class_for(*, pressure_pa: Number, class_pa: Mapping[int, Number]) -> WindClass:
    """The smallest wind class whose test pressure P1 covers a design pressure.

    Formula: P2 = P1 / 2, P3 = 3 P1 / 2

    Args:
        pressure_pa: design pressure; suction counts by its amount. [Pa]
        class_pa: P1 of each numbered class. [Pa]
    Returns: the class; above the last number the class E with the pressure itself, rounded up to 1 Pa.
    Raises: ValueError if there are no classes or the pressure is not finite.
    Example:
        >>> wind_class_for(pressure_pa=-1582.4, class_pa={1: 400, 2: 800, 3: 1200, 4: 1600, 5: 2000}).name
        '4'

    Source: EN 12210:2016, table 2. Checked in tests/published/test_en_12210.py.
    """
    pressure = abs(exact(pressure_pa))
    if not class_pa:
        raise ValueError("at least one class is needed")
    for number, p1 in sorted(class_pa.items()):
        if pressure <= exact(p1):
            return _wind_class(str(number), number, exact(p1))
    above = Fraction(math.ceil(pressure))
    return _wind_class(f"E{above}", None, above)


def wind_class_pressures(*, p1_pa: Number, class_pa: Mapping[int, Number]) -> WindClass:
    """The class that a tested P1 reaches, with the pressures P2 and P3 that belong to that P1.

    Formula: P2 = P1 / 2, P3 = 3 P1 / 2

    Args:
        p1_pa: test pressure P1. [Pa]
        class_pa: P1 of each numbered class. [Pa]
    Returns: the greatest class with a P1 not above the tested one; ``0`` below all, E above the last.
    Raises: ValueError if the pressure is not above zero or there are no classes.
    Example:
        >>> wind_class_pressures(p1_pa=1600, class_pa={3: 1200, 4: 1600, 5: 2000}).safety_pa
        2400.0

    Source: EN 12210:2016, table 2. Checked in tests/published/test_en_12210.py.
    """
    p1 = exact(p1_pa)
    above_zero(p1_pa=float(p1))
    if not class_pa:
        raise ValueError("at least one class is needed")
    if p1 > max(map(exact, class_pa.values())):
        return _wind_class(f"E{float(p1):g}", None, p1)
    number = max((number for number, least in class_pa.items() if exact(least) <= p1), default=0)
    return _wind_class(str(number), number, p1)


def air_class(*, leakage_at_100_pa: Number, most_by_class: Mapping[int, Number]) -> int | None:
    """The best air class whose reference leakage is not exceeded.

    The class also needs a peak test pressure, which is not judged here.

    Args:
        leakage_at_100_pa: by area [m3/h m2] or by joint length [m3/h m], as the table.
        most_by_class: greatest leakage of each class in the same unit.
    Returns: class number, None where even the first is exceeded. [-]
    Raises: ValueError if the leakage is not a finite number.
    Example:
        >>> air_class(leakage_at_100_pa=8.0, most_by_class={1: 50, 2: 27, 3: 9, 4: 3})
        3

    Source: EN 12207:1999/2016. Checked in tests/published/test_en_12207.py.
    """
    leakage = exact(leakage_at_100_pa)
    return max((number for number, most in most_by_class.items() if leakage <= exact(most)), default=None)


def air_leakage_at(*, leakage_at_100_pa: float, pressure_pa: float) -> float:
    """Leakage of a class line, or of a window, at another test pressure.

    Formula: Q = Q100 (p / 100)^(2/3)

    Args:
        leakage_at_100_pa: Q100. [m3/h m2 or m3/h m]
        pressure_pa: p. [Pa]
    Returns: Q in the unit given.
    Raises: ValueError if a value is not above zero.
    Example:
        >>> air_leakage_at(leakage_at_100_pa=9, pressure_pa=600)
        29.72

    Source: EN 12207:1999/2016. Checked in tests/published/test_en_12207.py.
    """
    above_zero(leakage_at_100_pa=leakage_at_100_pa, pressure_pa=pressure_pa)
    return leakage_at_100_pa * math.pow(pressure_pa / _REFERENCE_PA, 2 / 3)


def water_class(
    *, tight_up_to_pa: Number, class_pa: Mapping[str, Number], step_above_pa: Number
) -> str | None:
    """The best watertightness class for a pressure up to which no water came through.

    Args:
        tight_up_to_pa: the last pressure without leakage. [Pa]
        class_pa: pressure of each class, such as 5A 200. [Pa]
        step_above_pa: step of the classes E above the last. [Pa]
    Returns: the class, such as ``5A`` or ``E750``; None where the first is not reached.
    Raises: ValueError if there are no classes or the step is not above zero.
    Example:
        >>> water_class(tight_up_to_pa=770, class_pa={"8A": 450, "9A": 600}, step_above_pa=150)
        'E750'

    Source: EN 12208:1999. Checked in tests/published/test_en_12207.py.
    """
    pressure, step = exact(tight_up_to_pa), exact(step_above_pa)
    above_zero(step_above_pa=float(step))
    if not class_pa:
        raise ValueError("at least one class is needed")
    last = max(map(exact, class_pa.values()))
    steps = int((pressure - last) // step) if pressure > last else 0
    if steps > 0:
        return f"E{float(last + steps * step):g}"
    reached = [(exact(least), name) for name, least in class_pa.items() if exact(least) <= pressure]
    return max(reached)[1] if reached else None


def exposure_category_pa(*, design_pressure_pa: Number, categories_pa: tuple[Number, ...]) -> float | None:
    """The UK exposure category, a design pressure, that covers a pressure.

    Args:
        design_pressure_pa: suction counts by its amount. [Pa]
        categories_pa: the categories. [Pa]
    Returns: the smallest category not below it; None above the last, where the pressure itself is stated.
    Raises: ValueError if the pressure is not finite.
    Example:
        >>> exposure_category_pa(design_pressure_pa=1201, categories_pa=(800, 1200, 1600, 2000))
        1600.0

    Source: BS 6375-1:2015, table 1 (from memory).
    """
    pressure = abs(exact(design_pressure_pa))
    covering = [exact(category) for category in categories_pa if exact(category) >= pressure]
    return float(min(covering)) if covering else None


def _wind_class(name: str, number: int | None, p1: Fraction) -> WindClass:
    return WindClass(
        name=name,
        number=number,
        deflection_pa=float(p1),
        repeated_pa=float(p1 / 2),
        safety_pa=float(p1 * 3 / 2),
    )
