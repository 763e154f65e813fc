"""Lengths as linear forms of the frame's size, so that one layout is worked out once and for all.

Every length in a window is a constant plus a multiple of the frame's width or height, plus the places
of dividers where the order states them. The formulas of the other modules run on these forms as they
run on plain numbers; what comes out is compiled to whole numbers over one common denominator.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Final

ONE: Final = ""
"""Name of the constant term."""

Scalar = int | Fraction


@dataclass(frozen=True, slots=True)
class Linear:
    """A sum of named variables with exact factors; the name ``""`` stands for the constant.

    Example:
        >>> width = Linear.variable("W")
        >>> daylight = (width - 124 - 76) / 2
        >>> float(daylight.at({"W": Fraction(1798)}))
        799.0
    """

    terms: Mapping[str, Fraction]

    @classmethod
    def variable(cls, name: str) -> "Linear":
        """The form that is just this variable."""
        return cls({name: Fraction(1)})

    @classmethod
    def constant(cls, value: Scalar) -> "Linear":
        """The form that is just this number."""
        return cls({ONE: Fraction(value)} if value else {})

    def _plus(self, other: "Linear | Scalar", sign: int) -> "Linear":
        terms = dict(self.terms)
        added = other.terms if isinstance(other, Linear) else {ONE: Fraction(other)}
        for name, factor in added.items():
            total = terms.get(name, Fraction(0)) + sign * factor
            if total:
                terms[name] = total
            else:
                terms.pop(name, None)
        return Linear(terms)

    def __add__(self, other: "Linear | Scalar") -> "Linear":
        return self._plus(other, 1)

    __radd__ = __add__

    def __sub__(self, other: "Linear | Scalar") -> "Linear":
        return self._plus(other, -1)

    def __rsub__(self, other: Scalar) -> "Linear":
        return Linear.constant(other) - self

    def __neg__(self) -> "Linear":
        return self * -1

    def __mul__(self, factor: Scalar) -> "Linear":
        return Linear({name: value * factor for name, value in self.terms.items() if factor})

    __rmul__ = __mul__

    def __truediv__(self, divisor: Scalar) -> "Linear":
        return self * (Fraction(1) / Fraction(divisor))

    def at(self, values: Mapping[str, Fraction]) -> Fraction:
        """Exact value for given variables. [the unit of the constant]

        Raises: KeyError where a variable has no value.
        """
        return sum(
            (factor * (values[name] if name else 1) for name, factor in self.terms.items()), Fraction(0)
        )

    def key(self) -> tuple[tuple[str, Fraction], ...]:
        """A hashable form of the terms, equal for equal forms."""
        return tuple(sorted(self.terms.items()))


Length = Linear | Fraction | int
"""What the layout formulas work on: a number in millimetres or a form that yields one."""


def common_denominator(forms: "list[Linear]") -> int:
    """Least whole number that clears every fraction of the forms in nanometres."""
    denominator = 1
    for form in forms:
        for name, factor in form.terms.items():
            scaled = factor if name else factor * 1_000_000
            denominator = lcm(denominator, scaled.denominator)
    return denominator
