"""Exact values for decisions, and the refusals that every calculation shares."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest

from sawready.calc.exact import above_zero, exact, not_below_zero, share_of_one


@pytest.mark.parametrize(
    ("value", "fraction"),
    [
        (0.33, Fraction(33, 100)),
        (0.1 + 0.2, Fraction("0.30000000000000004")),
        (300, Fraction(300)),
        (Decimal("1.10"), Fraction(11, 10)),
        (Fraction(2200, 3), Fraction(2200, 3)),
        (-2.5, Fraction(-5, 2)),
    ],
)
def test_a_number_counts_as_its_shortest_decimal(value: float, fraction: Fraction) -> None:
    assert exact(value) == fraction


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, Decimal("NaN"), Decimal("Infinity")])
def test_what_is_no_finite_number_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        exact(value)


@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf])
def test_values_that_must_be_above_zero_are_named(value: float) -> None:
    with pytest.raises(ValueError, match="span_mm must be above zero"):
        above_zero(other=1, span_mm=value)


@pytest.mark.parametrize("value", [-0.001, math.nan, math.inf])
def test_values_that_must_not_be_below_zero_are_named(value: float) -> None:
    not_below_zero(span_mm=0)
    with pytest.raises(ValueError, match="span_mm must be zero or more"):
        not_below_zero(span_mm=value)


@pytest.mark.parametrize("value", [-0.001, 1.001, math.nan])
def test_shares_outside_0_to_1_are_named(value: float) -> None:
    share_of_one(low=0, high=1)
    with pytest.raises(ValueError, match="frame_fraction must be from 0 to 1"):
        share_of_one(frame_fraction=value)
