"""The values that one slip may have made of a length."""

from math import exp

import pytest

from sawready.calc.forensics.changes import (
    DIGITS,
    STEP,
    UNIT,
    Change,
    digit_swaps,
    lost_fractions_mm,
    single_changes,
    steps_mm,
    unit_slips,
)
from survey_figures import starting_figures

FIGURES = starting_figures()
INCH = 25.4


def test_every_pair_of_digits_is_swapped_and_neighbours_are_told() -> None:
    """Four different digits make six pairs, three of them neighbours."""
    swaps = dict(digit_swaps(1567.0))
    assert swaps == {
        5167.0: True,
        6517.0: False,
        7561.0: False,
        1657.0: True,
        1765.0: False,
        1576.0: True,
    }


def test_equal_digits_and_a_leading_nought_make_no_other_length() -> None:
    """1100 has one swap that changes it without a nought in front."""
    assert dict(digit_swaps(1100.0)) == {1010.0: True, 1001.0: False}


@pytest.mark.parametrize(
    ("value_mm", "unit_mm", "meant_mm"),
    [(1573.0, 10.0, 1537.0), (1570.5, 1.0, 1507.5), (1275.0, 1000.0, 1725.0)],
)
def test_digits_are_those_that_were_written(value_mm: float, unit_mm: float, meant_mm: float) -> None:
    """157.3 cm, 1570.5 mm and 1.275 m: the point stays where it is."""
    assert meant_mm in dict(digit_swaps(value_mm, unit_mm=unit_mm))


def test_a_decimal_point_may_have_a_nought_before_it() -> None:
    """0.957 m may be 9.057 m with two digits swapped, and so the other way round."""
    assert 957.0 in dict(digit_swaps(9057.0, unit_mm=1000.0))


def test_inches_swap_whole_digits_and_keep_their_fraction() -> None:
    """74 1/4 was 47 1/4; the quarter is no digit."""
    assert digit_swaps(74.25 * INCH, unit_mm=INCH) == [(pytest.approx(47.25 * INCH), True)]


def test_steps_go_both_ways_and_by_the_unit() -> None:
    """Round millimetres, or whole inches."""
    assert steps_mm((50.0, 100.0), is_imperial=False) == (50.0, -50.0, 100.0, -100.0)
    assert steps_mm((1.0,), is_imperial=True) == (INCH, -INCH)


def test_only_whole_inches_may_have_lost_a_fraction() -> None:
    """47 may have been 47 1/8 to 47 7/8; 47 1/4 and 1200 mm may not."""
    assert lost_fractions_mm(47 * INCH, unit_mm=INCH) == tuple(n * INCH / 8 for n in range(1, 8))
    assert lost_fractions_mm(47.25 * INCH, unit_mm=INCH) == ()
    assert lost_fractions_mm(1200.0, unit_mm=1.0) == ()


def test_units_are_tried_and_a_point_one_place_off() -> None:
    """In millimetres: centimetres, metres, inches, feet, and ten times too large."""
    factors = [factor for _, factor, _ in unit_slips(57.0, unit_mm=1.0, figures=FIGURES)]
    assert factors == [10.0, 1000.0, INCH, 304.8, 0.1]


def test_a_unit_read_into_a_number_is_as_coarse_as_its_last_place() -> None:
    """57 in is half an inch either way, 57.1 a twentieth, never finer than half a mark of the tape."""
    coarse = {
        text: next(
            slack for _, factor, slack in unit_slips(text, unit_mm=1.0, figures=FIGURES) if factor == INCH
        )
        for text in (57.0, 57.1, 57.125)
    }
    assert coarse == {57.0: pytest.approx(12.7), 57.1: pytest.approx(1.6), 57.125: pytest.approx(1.6)}
    metres = next(s for _, f, s in unit_slips(1.5, unit_mm=1.0, figures=FIGURES) if f == 1000.0)
    assert metres == pytest.approx(12.7)


def test_shares_of_a_kind_add_up_to_its_share() -> None:
    """However many values a slip could have led to, together they are as likely as the slip."""
    changes = single_changes(1567.0, unit_mm=1.0, figures=FIGURES, least_mm=0.0, most_mm=1e9)
    for reason, share in (
        (DIGITS, FIGURES.digits_share),
        (STEP, FIGURES.step_share),
        (UNIT, FIGURES.unit_share),
    ):
        total = sum(exp(each.log_share) for each in changes if each.reason == reason)
        assert total == pytest.approx(share), reason


def test_only_values_within_the_window_are_worth_weighing() -> None:
    """A coarse value may lie outside by as much as it is coarse."""
    changes = single_changes(57.0, unit_mm=1.0, figures=FIGURES, least_mm=1455.0, most_mm=1460.0)
    assert [(each.reason, each.value_mm) for each in changes] == [(UNIT, 1447.8)]
    assert not single_changes(57.0, unit_mm=1.0, figures=FIGURES, least_mm=1465.0, most_mm=1470.0)


@pytest.mark.parametrize(
    ("change", "unit_mm", "words"),
    [
        (Change(DIGITS, 1.0, 0.0), 1.0, "two digits swapped"),
        (Change(STEP, 1.0, 0.0, added_mm=100.0), 1.0, "100 mm short"),
        (Change(STEP, 1.0, 0.0, added_mm=-100.0), 10.0, "10 cm long"),
        (Change(STEP, 1.0, 0.0, added_mm=12.7), INCH, "1/2 in short"),
        (Change(UNIT, 1.0, 0.0, factor=INCH), 1.0, "taken in inches"),
        (Change(UNIT, 1.0, 0.0, factor=0.1), 10.0, "taken in millimetres"),
        (Change(UNIT, 1.0, 0.0, factor=1 / INCH), INCH, "taken in millimetres"),
        (Change(UNIT, 1.0, 0.0, factor=0.1), 1.0, "10 times too large"),
        (Change(UNIT, 1.0, 0.0, factor=10.0), INCH, "10 times too small"),
    ],
)
def test_slips_are_told_in_words(change: Change, unit_mm: float, words: str) -> None:
    """Words for the sentence that explains a candidate."""
    assert change.words(unit_mm) == words


def test_the_same_slip_is_undone_in_another_length() -> None:
    """By its factor, by its step, and in a copy by its digits."""
    assert Change(UNIT, 0.0, 0.0, factor=10.0).of(150.7, 151.0) == 1507.0
    assert Change(STEP, 0.0, 0.0, added_mm=-100.0).of(1607.0, 1608.0) == 1507.0
    assert Change(DIGITS, 1507.0, 0.0).of(1570.0, 1570.0) == 1507.0
