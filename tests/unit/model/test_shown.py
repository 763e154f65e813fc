"""How figures are shown: rounded once, and never so that a limit and its breach look the same."""

from fractions import Fraction

import pytest

from sawready.model.finding import NOTE, QUERY, REJECT, Finding, Quantity, decision_of
from sawready.model.shown import apart, mm, plain, quantity, rounded, shown


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (Fraction(1798), 1, "1798.0"),
        (Fraction("0.25"), 1, "0.2"),
        (Fraction("0.35"), 1, "0.4"),
        (Fraction("-0.25"), 1, "-0.2"),
        (Fraction(2, 3), 3, "0.667"),
        (7, 2, "7.00"),
        (Fraction("649.95"), 1, "650.0"),
    ],
)
def test_half_goes_to_even(value: Fraction, digits: int, text: str) -> None:
    assert shown(value, digits) == text
    assert str(rounded(value, digits)) == text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (Fraction(1800), 1, "1800"),
        (Fraction("1800.50"), 2, "1800.5"),
        (Fraction(100), 0, "100"),
        (Fraction("0.04"), 1, "0"),
    ],
)
def test_idle_noughts_are_left_out(value: Fraction, digits: int, text: str) -> None:
    assert plain(value, digits) == text


@pytest.mark.parametrize(
    ("measured", "limit", "texts"),
    [
        (Fraction("4.95"), 5, ("4.95", "5.0")),
        (Fraction("4.9"), 5, ("4.9", "5.0")),
        (Fraction("4.999999"), 5, ("4.999999", "5.0")),
        (Fraction(5), 5, ("5.0", "5.0")),
        (5 + Fraction(1, 10**9), 5, ("5.000000", "5.0")),
        (Fraction("7.5"), Fraction("7.55"), ("7.5", "7.6")),
    ],
)
def test_a_value_and_its_limit_are_shown_apart(
    measured: Fraction, limit: Fraction, texts: tuple[str, str]
) -> None:
    assert apart(measured, limit) == texts


def test_nanometres_become_exact_millimetres() -> None:
    assert mm(396_875) == Fraction(396_875, 1_000_000)
    assert quantity("4.95", "mm") == Quantity(4.95, "mm")


@pytest.mark.parametrize(
    ("severities", "decision"),
    [([], "accepted"), ([NOTE], "accepted"), ([NOTE, QUERY], "queried"), ([QUERY, REJECT, NOTE], "rejected")],
)
def test_the_worst_finding_decides(severities: list, decision: str) -> None:  # type: ignore[type-arg]
    assert decision_of([Finding("x", severity, "", "It is so.") for severity in severities]) == decision
