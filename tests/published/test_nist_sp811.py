"""Factors of length units against the national standard.

Source: A. Thompson, B. N. Taylor, Guide for the Use of the International System of Units (SI),
NIST Special Publication 811, 2008 edition, appendix B.8 (factors in alphabetical order). Factors in
bold type there are exact. The prefixes nano, milli, centi, deci and kilo: table 5 of the same guide.
The figures are quoted from memory; the guide is public.
"""

from fractions import Fraction

import pytest

from sawready.lengths import Length, read_length
from sawready.units import nm_per_unit

NM_PER_M = 10**9


@pytest.mark.parametrize(
    ("unit", "metres"),
    [
        pytest.param("in", "0.0254", id="inch, exact: 2.54 E-02 m"),
        pytest.param("ft", "0.3048", id="foot, exact: 3.048 E-01 m"),
        pytest.param("yd", "0.9144", id="yard, exact: 9.144 E-01 m"),
        pytest.param("mm", "0.001", id="milli: 10 to the -3"),
        pytest.param("cm", "0.01", id="centi: 10 to the -2"),
        pytest.param("dm", "0.1", id="deci: 10 to the -1"),
        pytest.param("m", "1", id="the unit itself"),
        pytest.param("km", "1000", id="kilo: 10 to the 3"),
    ],
)
def test_factor_is_the_exact_one(unit: str, metres: str) -> None:
    assert nm_per_unit(unit) == Fraction(metres) * NM_PER_M


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ('1"', "25.4"),
        ("1 ft", "304.8"),
        ("3 ft", "914.4"),
        ("3'0\"", "914.4"),
        ('36"', "914.4"),
        ('1/64"', "0.396875"),
        ("12 in", "304.8"),
    ],
)
def test_written_length_gives_the_exact_conversion(text: str, mm: str) -> None:
    """A foot is 12 inches and a yard 3 feet, so all of them follow from 25.4 mm."""
    answer = read_length(text, unit=None)
    assert isinstance(answer, Length)
    assert Fraction(answer.nm, 10**6) == Fraction(mm)
