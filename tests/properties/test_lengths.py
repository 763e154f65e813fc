"""Laws of written lengths: there and back, no surprise on any text, and no time to waste."""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sawready.lengths import (
    Length,
    Refusal,
    characters,
    counts,
    explain,
    grammar,
    mentions,
    misshapen,
    read_angle,
    read_date,
    read_length,
    read_pair,
    read_quantity,
    read_readings,
    reader,
    several,
)
from sawready.units import LENGTH_UNITS, length_unit

NM = 1_000_000
INCH = 25_400_000
STYLES = ("en", "eu", "ch", "unknown")
SIZE: dict[str, Any] = {"least_nm": 150 * NM, "most_nm": 6000 * NM}
READERS: list[Any] = [read_pair, read_readings]

spaces = st.sampled_from(["", " ", "\u00a0", "  "])
tapes = st.tuples(st.integers(1, 300), st.sampled_from([2, 4, 8, 16, 32, 64]), st.integers(1, 63)).filter(
    lambda tape: tape[2] < tape[1]
)
SIGNS = "0123456789.,'\"/- +x×()?~*#°½¼ \n\t\u200b\u00a0‘’“”′″⁄–—OlmIS１²٣Âé"
WORDS = [
    "mm",
    "cm",
    "m",
    "in",
    "ft",
    "foot",
    "inches",
    "kg",
    "wide",
    "w",
    "h",
    "tight",
    "1200",
    "47 1/4",
    "nil",
]
pieces = st.sampled_from([*SIGNS, *WORDS])
typed = st.one_of(st.text(max_size=60), st.lists(pieces, max_size=12).map("".join))
units = st.sampled_from([None, *LENGTH_UNITS])


def nm_of(answer: object) -> int:
    assert isinstance(answer, Length), answer
    return answer.nm


@given(st.integers(0, 10**13), spaces, st.sampled_from(["mm", "cm", "m"]))
@settings(deadline=None)
def test_metric_decimal_reads_back_exactly(nm: int, gap: str, unit: str) -> None:
    per_unit = {"mm": 10**6, "cm": 10**7, "m": 10**9}[unit]
    text = f"{Decimal(nm) / per_unit:f}"
    assert nm_of(read_length(f"{text}{gap}{unit}", unit=None)) == nm
    assert nm_of(read_length(text, unit=unit)) == nm
    assert nm_of(read_length(Decimal(text), unit=unit)) == nm
    assert nm_of(read_length(text.replace(".", ","), unit=unit, number_style="eu")) == nm


@given(st.integers(0, 999_999_999), st.integers(0, 999_999))
@settings(deadline=None)
def test_grouped_number_reads_back_exactly_in_its_style(whole: int, decimals: int) -> None:
    grouped = f"{whole:,}"
    nm = whole * NM + decimals
    for style, group, point in [
        ("en", ",", "."),
        ("eu", ".", ","),
        ("ch", "'", "."),
        ("en", " ", "."),
        ("eu", " ", ","),
    ]:
        text = grouped.replace(",", group) + f"{point}{decimals:06d}"
        assert nm_of(read_length(text, unit="mm", number_style=style)) == nm


@given(
    tapes,
    st.sampled_from([" ", "-", "  "]),
    st.sampled_from(['"', " in", "''", "″", "”", " inches", " ins."]),
)
@settings(deadline=None)
def test_tape_fraction_reads_back_exactly(tape: tuple[int, int, int], gap: str, mark: str) -> None:
    whole, denominator, numerator = tape
    nm = Fraction(whole * denominator + numerator, denominator) * INCH
    assert nm_of(read_length(f"{whole}{gap}{numerator}/{denominator}{mark}", unit=None)) == nm
    assert nm_of(read_length(f"{whole}{gap}{numerator}/{denominator}", unit="in")) == nm


@given(
    st.integers(0, 19),
    st.integers(0, 11),
    tapes,
    st.sampled_from(["' {}\"", "'{}\"", " ft {} in", "ft {}", "'-{}\"", "′{}″"]),
)
@settings(deadline=None)
def test_feet_and_inches_read_back_exactly(
    feet: int, inches: int, tape: tuple[int, int, int], form: str
) -> None:
    _, denominator, numerator = tape
    whole = (feet * 12 + inches) * INCH
    assert nm_of(read_length(f"{feet}{form.format(inches)}", unit=None)) == whole
    written = f"{inches} {numerator}/{denominator}"
    part = Fraction(numerator, denominator) * INCH
    assert nm_of(read_length(f"{feet}{form.format(written)}", unit=None)) == whole + part


@given(
    typed, units, st.sampled_from(STYLES), st.sampled_from([None, "width", "height", "depth"]), st.booleans()
)
@example("1\x002\x00", "mm", "en", None, False)
@example("\ud800", "mm", "en", None, True)
@example("1/0", "in", "en", None, False)
@settings(max_examples=600, deadline=None)
def test_any_text_gives_a_length_a_refusal_or_nothing(
    text: str, unit: str | None, style: str, axis: str | None, words_for_none: bool
) -> None:
    answer = read_length(
        text, unit=unit, number_style=style, axis=axis, words_for_none=words_for_none, **SIZE
    )
    assert answer is None or isinstance(answer, Length | Refusal)
    if isinstance(answer, Length):
        assert 150 * NM <= answer.nm <= 6000 * NM
    if isinstance(answer, Refusal):
        answer.because.encode("utf-8")
        assert answer.remedy


@given(typed, units, st.sampled_from(STYLES))
@settings(max_examples=300, deadline=None)
def test_any_text_is_safe_for_the_other_readers(text: str, unit: str | None, style: str) -> None:
    for read in READERS:
        read(text, unit=unit, number_style=style, **SIZE)
    read_quantity(text, number_style=style)
    read_angle(text, number_style=style)
    read_date(text)


@given(
    st.from_regex(r"[0-9]{1,6}(\.[0-9]{1,7})?( ?(mm|cm|m))?", fullmatch=True), units, st.sampled_from(STYLES)
)
@settings(max_examples=500, deadline=None)
def test_space_before_a_plain_number_changes_nothing(text: str, unit: str | None, style: str) -> None:
    """Plain numbers go the short way and spaced ones the long way; both must arrive at the same place."""
    short = read_length(text, unit=unit, number_style=style, **SIZE)
    long = read_length(f" {text}", unit=unit, number_style=style, **SIZE)
    assert type(short) is type(long)
    if isinstance(short, Length) and isinstance(long, Length):
        assert short.nm == long.nm
        assert [remark.reason for remark in short.remarks] == [remark.reason for remark in long.remarks]


KNOWN_SIGNS = set("0123456789.,'\"/-() \n\t\r½¼¾⅛⅜⅝⅞’‘′″“”⁄∕\u2010\u2011\u00a0")
INVISIBLE = re.compile("[\ufeff\u200b\u200c\u200d\u2060\u200e\u200f\u061c\u202a\u202c\u2066\u2068\u2069]")
LABELS = {"w", "wide", "width", "h", "high", "height", "tall", "d", "deep", "depth"}


@given(typed, units, st.sampled_from(STYLES), st.sampled_from([None, "width", "height", "depth"]))
@settings(max_examples=1000, deadline=None)
def test_accepted_text_consists_of_known_words_and_signs_only(
    text: str, unit: str | None, style: str, axis: str | None
) -> None:
    """Nothing is dropped: each word is a unit or the label of the asked side, each sign has a meaning."""
    answer = read_length(text, unit=unit, number_style=style, axis=axis)
    if not isinstance(answer, Length):
        return
    plain = INVISIBLE.sub("", text)
    folded = "".join(
        chr(ord(sign) - 0xFEE0) if "\uff01" <= sign <= "\uff5e" else sign for sign in plain
    ).lower()
    for word in re.findall(r"[^\W\d_¼½¾⅛⅜⅝⅞]+", folded):
        assert word in {"m", "㎜", "㎝"} or length_unit(word) or (axis is not None and word in LABELS)
    spaces_gone = re.sub(r"[\u2000-\u200a\u202f\u205f\u3000\u1680\u2028\u2029]", "", folded)
    assert {sign for sign in spaces_gone if not sign.isalpha()} <= KNOWN_SIGNS


@given(st.integers(1, 5999), st.integers(1, 10**6 - 1))
@settings(deadline=None)
def test_bare_number_without_any_unit_is_never_a_length(whole: int, decimals: int) -> None:
    answer = read_length(f"{whole}.{decimals:06d}", unit=None)
    assert isinstance(answer, Refusal)
    assert answer.reason == "unit-not-stated"


@given(st.integers(-(10**400), 10**400) | st.floats() | st.decimals() | st.fractions(), units)
@settings(deadline=None)
def test_any_number_gives_a_length_or_a_refusal(value: object, unit: str | None) -> None:
    assert isinstance(read_length(value, unit=unit), Length | Refusal)


@pytest.mark.parametrize(
    "sign", ["1", "1,", "1 ", " ", "'", "½", "1/", "1x", "a", "-1", "\u200b", "1m ", "("]
)
@pytest.mark.parametrize("times", [199, 100_000])
def test_long_text_is_refused_or_empty(sign: str, times: int) -> None:
    """A hundred kilobytes are refused by their length; as much as is read at all meets no slow pattern."""
    text = (sign * times)[:times]
    answers = [read_length(text, unit="mm", **SIZE), *(read(text, unit="mm", **SIZE) for read in READERS)]
    answers += [read_quantity(text), read_angle(text), read_date(text)]
    assert all(answer is None or isinstance(answer, Refusal) for answer in answers)


def test_no_pattern_is_slow_on_the_longest_text() -> None:
    """Bounded repeats only: no ``*`` and no ``+`` stands in any pattern of the grammar."""
    for module in (characters, counts, explain, grammar, mentions, misshapen, reader, several):
        for name, value in vars(module).items():
            if isinstance(value, re.Pattern):
                bare = re.sub(r"\\.|\[(?:\\.|[^\]])*\]", "c", value.pattern)
                assert "*" not in bare, name
                assert "+" not in bare, name
