"""NIST SP 811 (2008), guide for the use of the SI, appendix B: exact and derived conversion factors.

The examples were worked out from the factors and cross-checked with pint; reading such texts off a sheet is
tested with the grammar of lengths.
"""

from fractions import Fraction

import pytest

from sawready.calc.inches import nearest_inch_mark
from sawready.conversion import PINT_NAMES, converted


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected", "tolerance"),
    [
        pytest.param(1, "in", "mm", 25.4, 0, id="UN-001"),
        pytest.param(Fraction(1, 16), "in", "mm", 1.5875, 0.0001, id="UN-002"),
        pytest.param(47 + Fraction(3, 8), "in", "mm", 1203.325, 0.0001, id="UN-003"),
        pytest.param(35 + Fraction(11, 16), "in", "mm", 906.4625, 0.0001, id="UN-004"),
        pytest.param(3 * 12 + 11 + Fraction(1, 4), "in", "mm", 1200.15, 0.0001, id="UN-005"),
        pytest.param(Fraction(13, 2), "ft", "mm", 1981.2, 0, id="UN-006"),
        pytest.param(1, "ft", "mm", 304.8, 0, id="UN-007"),
        pytest.param(10, "ft2", "m2", 0.92903, 1e-6, id="UN-008"),
        pytest.param(25, "lb", "kg", 11.33981, 1e-5, id="UN-009"),
        pytest.param(30, "psf", "Pa", 1436.41, 0.01, id="UN-010"),
        pytest.param(0.30, "Btu/(h ft2 F)", "W/m2K", 1.703, 0.001, id="UN-011"),
        pytest.param(1200, "mm", "in", 47.2441, 0.0001, id="UN-012"),
        pytest.param(100, "mph", "m/s", 44.704, 0.001, id="UN-013"),
        pytest.param(1, "cm4", "mm4", 10000.0, 0, id="UN-014"),
        pytest.param(1200, "Pa", "kN/m2", 1.2, 0.001, id="UN-015"),
    ],
)
def test_a_worked_conversion(
    value: Fraction | float, unit: str, to: str, expected: float, tolerance: float
) -> None:
    assert float(converted(value, unit=unit, to=to)) == pytest.approx(expected, abs=tolerance, rel=1e-15)


@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        ("in", "mm", "25.4"),
        ("ft", "mm", "304.8"),
        ("yd", "mm", "914.4"),
        ("lb", "kg", "0.45359237"),
        ("ft2", "m2", "0.09290304"),
        ("lbf", "N", "4.4482216152605"),
        ("mph", "m/s", "0.44704"),
    ],
)
def test_factors_that_are_exact_by_definition(unit: str, to: str, factor: str) -> None:
    assert converted(1, unit=unit, to=to) == Fraction(factor)


@pytest.mark.parametrize(
    ("unit", "to", "factor", "half_digit"),
    [
        ("psf", "Pa", 47.880259, 5e-7),
        ("psi", "Pa", 6894.7573, 5e-5),
        ("Btu/(h ft2 F)", "W/m2K", 5.678263, 5e-7),
    ],
)
def test_derived_factors_to_their_last_printed_digit(
    unit: str, to: str, factor: float, half_digit: float
) -> None:
    assert float(converted(1, unit=unit, to=to)) == pytest.approx(factor, abs=half_digit)


def test_the_nearest_sixteenth_of_an_inch() -> None:
    """UN-016."""
    found = nearest_inch_mark(length_mm=1234)
    assert (found.inches, found.parts) == (48, 9)
    assert found.error_mm == -0.5125  # printed as -0.513


@pytest.mark.parametrize(("length", "inches", "parts"), [(0, 0, 0), (25.4, 1, 0), (25, 1, 0), (24.6, 0, 15)])
def test_marks_round_to_the_nearest_and_carry_into_the_inch(length: float, inches: int, parts: int) -> None:
    found = nearest_inch_mark(length_mm=length)
    assert (found.inches, found.parts) == (inches, parts)


def test_quarters_and_bad_lengths() -> None:
    assert nearest_inch_mark(length_mm=1234, parts_per_inch=4).parts == 2
    for bad in ({"length_mm": -1}, {"length_mm": 10, "parts_per_inch": 0}):
        with pytest.raises(ValueError, match="needed"):
            nearest_inch_mark(**bad)


@pytest.mark.parametrize(
    ("unit", "to", "says"),
    [("furlong", "mm", "unknown unit 'furlong'"), ("mm", "kg", "different"), ("kg", "lbf", "different")],
)
def test_units_that_do_not_belong_together_are_refused(unit: str, to: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        converted(1, unit=unit, to=to)


@pytest.mark.parametrize("unit", PINT_NAMES)
def test_every_unit_is_known_to_pint_and_converts_to_itself(unit: str) -> None:
    assert converted(7, unit=unit, to=unit) == 7
