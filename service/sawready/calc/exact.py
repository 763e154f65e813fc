"""Exact values for decisions: a limit is judged on what was written, not on its nearest binary float."""

import math
from decimal import Decimal
from fractions import Fraction

Number = int | float | Fraction | Decimal


def exact(value: Number) -> Fraction:
    """The value as a fraction; a float counts as the shortest decimal that names it.

    So 0.33 is 33/100 and 300 mm from a door is never 300.00000000000006 mm.

    Args:
        value: a finite number. [any unit, kept]
    Returns: the same value, exact.
    Raises: ValueError if it is not finite.
    Example:
        >>> exact(0.33)
        Fraction(33, 100)

    Source: definition; the shortest decimal is what Python prints for a float.
    """
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"a finite number is needed, not {value}")
        return Fraction(repr(float(value)))
    try:
        return Fraction(value)
    except (OverflowError, ValueError):
        raise ValueError(f"a finite number is needed, not {value}") from None


def above_zero(**values: float) -> None:
    """Refuses values that must be above zero, by name.

    Args:
        values: numbers by the name of their argument. [any unit]
    Raises: ValueError naming the first that is not a finite number above zero.
    Example:
        >>> above_zero(span_mm=1200)

    Source: definition.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} must be above zero, not {value}")


def not_below_zero(**values: float) -> None:
    """Refuses values that must be zero or more, by name.

    Args:
        values: numbers by the name of their argument. [any unit]
    Raises: ValueError naming the first that is not a finite number of zero or more.
    Example:
        >>> not_below_zero(field_width_mm=0)

    Source: definition.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0):
            raise ValueError(f"{name} must be zero or more, not {value}")


def share_of_one(**values: float) -> None:
    """Refuses values that must lie from 0 to 1, by name.

    Args:
        values: numbers by the name of their argument. [-]
    Raises: ValueError naming the first that is not between 0 and 1.
    Example:
        >>> share_of_one(frame_fraction=0.3)

    Source: definition.
    """
    for name, value in values.items():
        if not 0 <= value <= 1:
            raise ValueError(f"{name} must be from 0 to 1, not {value}")
