"""Linear forms: they add, subtract and scale exactly, and forms that are equal are found to be."""

from fractions import Fraction

import pytest

from sawready.calc.linear import Linear, common_denominator

W, H = Linear.variable("W"), Linear.variable("H")
VALUES = {"W": Fraction(1798), "H": Fraction(1220)}


@pytest.mark.parametrize(
    ("form", "value"),
    [
        (W, 1798),
        (W + 6, 1804),
        (6 + W, 1804),
        (W - 124, 1674),
        (2000 - W, 202),
        (W - H, 578),
        (W + H, 3018),
        (-W, -1798),
        (W * 2, 3596),
        (2 * W, 3596),
        ((W - 124 - 76) / 2, 799),
        (W / 3, Fraction(1798, 3)),
        (W * Fraction(1, 3) + Fraction(1, 3), Fraction(1799, 3)),
        (Linear.constant(5), 5),
        (Linear.constant(0), 0),
        (W - W, 0),
        (W * 0, 0),
    ],
)
def test_a_form_has_the_value_of_its_sum(form: Linear, value: int | Fraction) -> None:
    assert form.at(VALUES) == value


def test_terms_that_cancel_leave_nothing_behind() -> None:
    assert (W + H - W).terms == {"H": 1}
    assert (W + 5 - 5).terms == {"W": 1}
    assert (W - W).terms == Linear.constant(0).terms == (W * 0).terms == {}


def test_equal_forms_have_one_key_whatever_way_they_were_made() -> None:
    assert (W + H + 6).key() == (6 + H + W).key()
    assert (W + H).key() != (W - H).key()
    assert hash((W / 3).key()) == hash((W * Fraction(1, 3)).key())


def test_a_form_without_all_its_values_raises() -> None:
    with pytest.raises(KeyError):
        (W + H).at({"W": Fraction(1)})


def test_the_common_denominator_clears_every_fraction_in_nanometres() -> None:
    forms = [W / 3, H / 4, Linear.constant(Fraction(1, 7)), Linear.constant(Fraction("61.5"))]
    assert common_denominator(forms) == 84
    assert common_denominator([Linear.constant(Fraction("0.0000005"))]) == 2
    assert common_denominator([]) == 1
