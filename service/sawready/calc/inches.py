"""Millimetres as the nearest mark of an inch tape."""

from dataclasses import dataclass
from fractions import Fraction

from sawready.calc.exact import Number, exact

MM_PER_INCH = Fraction("25.4")
"""Exact by definition (NIST SP 811, appendix B)."""


@dataclass(frozen=True, slots=True)
class InchMark:
    """A mark of an inch tape: whole inches, parts of one inch, and mark less true length [mm]."""

    inches: int
    parts: int
    error_mm: float


def nearest_inch_mark(*, length_mm: Number, parts_per_inch: int = 16) -> InchMark:
    """The mark of an inch tape that is nearest to a length.

    Formula: n = round(16 L / 25.4), half way to the even mark

    Args:
        length_mm: L. [mm]
        parts_per_inch: marks to the inch. [-]
    Returns: whole inches, further marks, and how far the mark lies beyond the length.
    Raises: ValueError if the length is below zero or there is not one part at least.
    Example:
        >>> nearest_inch_mark(length_mm=1234)
        InchMark(inches=48, parts=9, error_mm=-0.5125)

    Source: NIST SP 811 (2008), appendix B, 1 in = 25.4 mm. Checked in
    tests/published/test_nist_sp_811_conversions.py.
    """
    length = exact(length_mm)
    if length < 0 or parts_per_inch < 1:
        raise ValueError("a length of zero or more and at least one part per inch are needed")
    marks = round(length / MM_PER_INCH * parts_per_inch)
    inches, parts = divmod(marks, parts_per_inch)
    return InchMark(inches, parts, float(marks * MM_PER_INCH / parts_per_inch - length))
