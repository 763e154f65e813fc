"""Reading lengths: kinds of values, limits, messages, and what a caller may rely on."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from sawready.lengths import (
    LONGEST_TEXT,
    Length,
    Refusal,
    read_angle,
    read_date,
    read_length,
    read_pair,
    read_quantity,
    read_readings,
)
from sawready.lengths.reader import number_text
from sawready.lengths.results import shown
from sawready.model.finding import Quantity

NM = 1_000_000
SIZE: dict[str, Any] = {"unit": "mm", "least_nm": 150 * NM, "most_nm": 6000 * NM}


def refused(answer: object) -> Refusal:
    assert isinstance(answer, Refusal)
    return answer


@pytest.mark.parametrize(
    "value",
    [1200, 1200.0, Decimal(1200), Decimal("1200.00"), Decimal("1.2E3"), Fraction(1200), "1200"],
)
def test_number_and_text_give_the_same_length(value: object) -> None:
    assert read_length(value, **SIZE) == Length(1200 * NM)


@pytest.mark.parametrize(
    ("value", "unit", "nm"),
    [
        (Decimal("1200.5"), "mm", 1_200_500_000),
        (1200.5, "mm", 1_200_500_000),
        (0.1, "m", 100 * NM),
        (Decimal("47.25"), "in", 1_200_150_000),
        (Fraction(189, 4), "in", 1_200_150_000),
        (Decimal("1200.0000004"), "mm", 1200 * NM),
        (Decimal("1200.0000005"), "mm", 1200 * NM),
        (Decimal("1200.0000006"), "mm", 1_200_000_001),
        (4, "ft", 1_219_200_000),
    ],
)
def test_number_takes_the_declared_unit_and_is_exact_to_the_nanometre(
    value: object, unit: str, nm: int
) -> None:
    assert read_length(value, unit=unit) == Length(nm)


def test_number_of_a_json_door_has_a_point_whatever_the_number_style() -> None:
    assert read_length(Decimal("1.250"), unit="m", number_style="eu") == Length(1250 * NM)


def test_number_in_decimal_feet_is_as_doubtful_as_text() -> None:
    answer = refused(read_length(Decimal("4.2"), unit="ft"))
    assert (answer.reason, answer.candidates_mm) == ("value-ambiguous", (1280.16, 1270.0))


@pytest.mark.parametrize(
    "value",
    [
        True,
        False,
        [1200],
        {"mm": 1200},
        (1200,),
        b"1200",
        object(),
        float("nan"),
        float("inf"),
        Decimal("NaN"),
        Decimal("sNaN"),
        Decimal("-Infinity"),
        10**400,
        -(10**400),
        Decimal("1E+999999999"),
        Decimal("1E-999999999"),
        Decimal(10) ** 12,
        1e300,
        Fraction(10**400),
    ],
    ids=lambda value: type(value).__name__,
)
def test_value_that_is_no_number_of_a_size_is_unreadable(value: object) -> None:
    answer = refused(read_length(value, **SIZE))
    assert answer.reason == "value-unreadable"
    assert len(answer.because) < 200


def test_absent_value_is_nothing_at_all() -> None:
    assert read_length(None, **SIZE) is None


@pytest.mark.parametrize("value", [0, 0.0, "0", "0.0", Decimal(0), Fraction(0)])
def test_nought_needs_no_unit(value: object) -> None:
    assert read_length(value, unit=None) == Length(0)


@pytest.mark.parametrize("value", [1200, Decimal(1200), Fraction(1200)])
def test_other_number_needs_a_unit(value: object) -> None:
    assert refused(read_length(value, unit=None)).reason == "unit-not-stated"


@pytest.mark.parametrize("value", [-5, -5.0, Decimal(-5), Fraction(-5), "-5"])
def test_length_below_nought_is_out_of_range_without_any_limit(value: object) -> None:
    assert refused(read_length(value, unit="mm")).reason == "value-out-of-range"


@pytest.mark.parametrize("words_for_none", [True, False])
def test_nil_is_nought_only_where_it_may_be(*, words_for_none: bool) -> None:
    answer = read_length("nil", unit="mm", words_for_none=words_for_none)
    assert isinstance(answer, Length if words_for_none else Refusal)


def test_nil_is_held_to_the_limits() -> None:
    answer = refused(read_length("none", **SIZE, words_for_none=True))
    assert answer.reason == "value-out-of-range"


def test_refusal_names_value_limit_and_likely_readings() -> None:
    assert read_length("120", **SIZE) == Refusal(
        reason="value-out-of-range",
        because='"120" is 120 mm, outside 150 to 6000 mm; '
        "it may be 120 cm (1200 mm) or 120 inches (3048 mm).",
        candidates_mm=(1200.0, 3048.0),
        remedy="Correct the number or its unit.",
        measured=Quantity(120.0, "mm"),
        limit=Quantity(150.0, "mm"),
    )


def test_refusal_above_the_greatest_length_names_that_limit() -> None:
    answer = refused(read_length("7000", **SIZE))
    assert answer.limit == Quantity(6000.0, "mm")
    assert answer.candidates_mm == ()


def test_refusal_without_a_greatest_length_says_so() -> None:
    answer = refused(read_length(100, unit="mm", least_nm=150 * NM))
    assert "outside 150 mm or more" in answer.because
    assert answer.limit == Quantity(150.0, "mm")


def test_remark_names_both_units() -> None:
    answer = read_length('48"', unit="mm")
    assert isinstance(answer, Length)
    assert [remark.text for remark in answer.remarks] == [
        "'48\"' is written in inches; the declared unit is mm. The written one is used."
    ]


def test_longest_text_is_still_read_and_a_longer_one_is_not() -> None:
    assert read_length("1200".ljust(LONGEST_TEXT), **SIZE) == Length(1200 * NM)
    answer = refused(read_length("1200".ljust(LONGEST_TEXT + 1), **SIZE))
    assert answer.reason == "value-unreadable"
    assert "has 201 characters" in answer.because


@pytest.mark.parametrize("reader", [read_pair, read_readings])
@pytest.mark.parametrize("value", ["1" * 201, True, [1], {}, float("nan")])
def test_several_lengths_are_held_to_the_same_care(reader: Any, value: object) -> None:
    assert refused(reader(value, unit="mm")).reason == "value-unreadable"


def test_shorthand_in_feet_is_not_offered_beyond_the_limits() -> None:
    answer = refused(read_pair("1110", unit="mm", least_nm=340 * NM, most_nm=6000 * NM))
    assert answer.candidates_mm == ("one size of 1110 mm",)


def test_number_in_a_cell_for_readings_is_one_reading() -> None:
    answer = read_readings(1198, unit="mm")
    assert answer is not None
    assert not isinstance(answer, Refusal)
    assert answer.nm == (1198 * NM,)


@pytest.mark.parametrize("reader", [read_pair, read_readings])
def test_absent_list_is_nothing_at_all(reader: Any) -> None:
    assert reader(None, unit="mm") is None


@pytest.mark.parametrize("value", [2, 2.0, Decimal("2.0"), "2"])
def test_count_may_be_a_number(value: object) -> None:
    answer = read_quantity(value)
    assert answer is not None
    assert not isinstance(answer, Refusal)
    assert answer.count == 2


@pytest.mark.parametrize("value", [True, [], 1.5, 0, -1, 10_000, "1" * 201, "2\x00"])
def test_value_that_counts_nothing_is_no_count(value: object) -> None:
    assert refused(read_quantity(value)).reason == "quantity-not-a-count"


def test_greatest_count_may_be_set() -> None:
    assert refused(read_quantity("10", most=9)).because == '"10" is outside 1 to 9.'


@pytest.mark.parametrize("reader", [read_quantity, read_angle, read_date])
def test_absent_count_angle_or_date_is_nothing_at_all(reader: Any) -> None:
    assert reader(None) is None


@pytest.mark.parametrize("value", [20260403, True, 1.5, [], "2026-04-03\x00", "2" * 201])
def test_only_text_is_a_date(value: object) -> None:
    assert refused(read_date(value)).reason == "value-unreadable"


def test_angle_in_an_undeclared_style_is_asked() -> None:
    assert refused(read_angle("135,125", number_style="unknown")).reason == "value-unreadable"


@pytest.mark.parametrize(
    "arguments",
    [{"unit": "yd"}, {"unit": "MM"}, {"unit": "mm", "number_style": "us"}],
)
def test_question_that_makes_no_sense_is_our_own_fault(arguments: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="unknown"):
        read_length("1200", **arguments)


@pytest.mark.parametrize(
    ("value", "quoted"),
    [
        ("1200", '"1200"'),
        ('47"', "'47\"'"),
        ("4' 2\"", '"4\' 2""'),
        ("a\u200bb\n\x00", '"a\\u200bb\\n\\x00"'),
        ("\ud800", '"\\ud800"'),
        ("x" * 61, '"' + "x" * 60 + '..."'),
        (1200, "1200"),
        (10**70, "a number of more than 60 digits"),
        (None, "a value of the type NoneType"),
        ([1], "a value of the type list"),
    ],
)
def test_message_quotes_a_value_short_and_visibly(value: object, quoted: str) -> None:
    assert shown(value) == quoted
    shown(value).encode("utf-8")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (5, "5"),
        (-5, "-5"),
        (1e-7, "0.0000001"),
        (Decimal("1E+2"), "100"),
        (None, None),
        ("5", None),
        (10**12, None),
    ],
)
def test_number_has_plain_decimal_text(value: object, text: str | None) -> None:
    assert number_text(value) == text
