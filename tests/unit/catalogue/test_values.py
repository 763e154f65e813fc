"""Values are read by a grammar of our own: what it takes, and what it tells about the rest."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sawready.catalogue import values


@pytest.mark.parametrize(
    ("written", "number"),
    [
        ("0", Fraction(0)),
        ("-0", Fraction(0)),
        ("62", Fraction(62)),
        ("7.5", Fraction(15, 2)),
        ("0.1", Fraction(1, 10)),
        ("-3.25", Fraction(-13, 4)),
        ("1.20", Fraction(6, 5)),
        ("999999999999", Fraction(999999999999)),
        ("0.000000001", Fraction(1, 10**9)),
    ],
)
def test_a_number_is_exact(written: str, number: Fraction) -> None:
    assert values.exact(written) == number


@pytest.mark.parametrize(
    "written",
    [
        "1_000", "inf", "-inf", ".inf", "nan", ".nan", "NaN", "infinity", "1e3", "0x10", "017", "00", "+5",
        ".5", "5.", "1,5", "1,000", "1.000,5", "1'000", " 5", "5 ", "5 mm", "5mm", "--5", "- 5", "", "five",
        "１２", "٣", "5²", "1/2", "1:30", "9" * 13, "0." + "1" * 10, "5\n",
        None, [], ["5"], {}, {"a": "5"}, 5, 5.0, True,
    ],
)  # fmt: skip
def test_anything_else_is_no_number(written: Any) -> None:
    with pytest.raises(ValueError, match=r"is no number\. Write digits with a decimal point and no unit"):
        values.exact(written)


@given(st.decimals(min_value=-(10**11), max_value=10**11, places=6))
def test_a_decimal_written_by_python_comes_back_exactly(number: Any) -> None:
    assert values.exact(f"{number:f}") == Fraction(number)


@given(st.text(max_size=20))
def test_whatever_passes_means_the_same_to_python(written: str) -> None:
    """Nothing is read as one number here and as another by a general library."""
    try:
        number = values.exact(written)
    except ValueError:
        return
    assert number == Fraction(written)
    assert written.isascii()


def test_measures_are_floats() -> None:
    assert values.measure("1.20") == 1.2
    with pytest.raises(ValueError, match="is no number"):
        values.measure("1e3")


@pytest.mark.parametrize("written", [None, "5", [], {}, 5])
def test_a_list_of_numbers_is_a_list_with_something_in_it(written: Any) -> None:
    with pytest.raises(ValueError, match="is no list of numbers"):
        values.exact_list(written)


def test_a_list_tells_which_of_its_items_is_no_number() -> None:
    assert values.exact_list(["5", "7.5"]) == (5, Fraction(15, 2))
    with pytest.raises(ValueError, match="'x' is no number"):
        values.exact_list(["5", "x"])


def test_ascending_numbers_rise_each_time() -> None:
    assert values.ascending(["15", "25", "50"]) == (15, 25, 50)
    assert values.ascending(["15"]) == (15,)
    for written, says in ((["15", "15"], "15 stands after 15"), (["25", "15"], "15 stands after 25")):
        with pytest.raises(ValueError, match=says):
            values.ascending(written)


def test_a_range_is_two_numbers_the_least_first() -> None:
    assert values.exact_range(["150", "6000"]) == (150, 6000)
    for written in (None, "150", ["150"], ["1", "2", "3"], {}):
        with pytest.raises(ValueError, match="must be two numbers"):
            values.exact_range(written)
    for written in (["6000", "150"], ["150", "150"]):
        with pytest.raises(ValueError, match="must be below the greatest"):
            values.exact_range(written)


def test_text_is_one_line_without_blanks_around_it() -> None:
    assert values.text(" NHBC Standards ") == "NHBC Standards"
    assert values.text("x" * 500) == "x" * 500


@pytest.mark.parametrize(
    ("written", "says"),
    [
        (None, "must be text, not nothing"),
        ("", "must be text, not ''"),
        ("  ", "must be text, not '  '"),
        (["a"], "must be text, not a list"),
        ({"a": "b"}, "must be text, not a mapping"),
        ("x" * 501, "501 characters are more than 500"),
        ("a\nb", "must stand on one line"),
        ("a\tb", "must stand on one line"),
    ],
)
def test_other_text_is_refused(written: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        values.text(written)


@pytest.mark.parametrize("written", ["demo70", "sill-85", "northern_ireland", "A.1", "7", "x" * 64])
def test_names_pass(written: str) -> None:
    assert values.name(written) == written


@pytest.mark.parametrize(
    "written", [None, "", "a b", "-a", ".a", "a@b", "a/b", "ä", "x" * 65, ["a"], "a\n", "demo70@sha256:1"]
)
def test_other_names_are_refused(written: Any) -> None:
    with pytest.raises(ValueError, match=r"is no name\. Use up to 64 letters"):
        values.name(written)


def test_a_choice_is_one_of_its_words() -> None:
    assert values.choice("square", ("mitred", "square")) == "square"


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("sqare", r"'sqare' is not known\. Did you mean square\? Write one of: mitred, square\."),
        ("zzz", r"'zzz' is not known\. Write one of"),
        ("Square", "Did you mean square"),
        (None, "nothing is not known"),
        (["square"], "a list is not known"),
    ],
)
def test_another_word_is_refused_with_the_nearest(written: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        values.choice(written, ("mitred", "square"))


def test_yes_and_no() -> None:
    assert values.yes_no("yes")
    assert values.yes_no("true")
    assert not values.yes_no("no")
    assert not values.yes_no("false")
    for written in ("on", "y", "1", "", None, []):
        with pytest.raises(ValueError, match="is neither yes nor no"):
            values.yes_no(written)


def test_a_day_of_the_calendar() -> None:
    assert values.day("2028-02-29") == date(2028, 2, 29)


@pytest.mark.parametrize(
    "written",
    ["2026-02-30", "2026-13-01", "26-01-01", "2026-1-1", "20260101", "2026-01-01T00:00", "", None, []],
)
def test_other_days_are_refused(written: Any) -> None:
    with pytest.raises(ValueError, match=r"is no day\. Write year-month-day"):
        values.day(written)


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Fraction(0), "0"),
        (Fraction(10), "10"),
        (Fraction(6000), "6000"),
        (Fraction(15, 2), "7.5"),
        (1.2, "1.2"),
        (-0.5, "-0.5"),
        (Fraction(1, 3), "0.333333333"),
    ],
)
def test_numbers_are_shown_without_trailing_zeros(number: Fraction | float, text: str) -> None:
    assert values.number_text(number) == text
