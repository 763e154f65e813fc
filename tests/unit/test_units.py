"""Unit names and factors: what counts as a length unit, and what pint is asked."""

from fractions import Fraction

import pytest

from sawready import units


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("mm", "mm"),
        ("mm.", "mm"),
        ("m.m.", "mm"),
        ("millimeters", "mm"),
        ("cms", "cm"),
        ("c.m.", "cm"),
        ("metre", "m"),
        ("meters.", "m"),
        ("ins", "in"),
        ("inches", "in"),
        ('"', "in"),
        ("foot", "ft"),
        ("feet", "ft"),
        ("'", "ft"),
    ],
)
def test_word_of_the_trade_names_its_unit(word: str, unit: str) -> None:
    assert units.length_unit(word) == unit


@pytest.mark.parametrize("word", ["", "kg", "yd", "mm2", "m m", "MM", "inchs", ".", '".'])
def test_other_word_names_no_unit_of_a_size(word: str) -> None:
    """Callers hand over lower case; what is not in the list is no unit, however near."""
    assert units.length_unit(word) is None


@pytest.mark.parametrize(
    ("word", "unit"), [("yards", "yd"), ("dm.", "dm"), ("kilometres", "km"), ("mm", None)]
)
def test_length_that_no_size_is_taken_in_is_known_as_such(word: str, unit: str | None) -> None:
    assert units.other_length_unit(word) == unit


@pytest.mark.parametrize("unit", units.LENGTH_UNITS)
def test_full_names_are_the_ones_that_pint_knows(unit: str) -> None:
    """Every spelled-out name means the same unit to pint, which is where the factor comes from."""
    registry = units._registry()
    words = [
        word for word in units._SPELLINGS[unit].split() if len(word) > 3 and word.isalpha() and word != "mtrs"
    ]
    assert words
    for word in words:
        assert registry.get_name(word) == units._PINT_NAME[unit]


def test_unknown_unit_has_no_factor() -> None:
    with pytest.raises(ValueError, match="unknown length unit 'cubit'; known are mm, cm, m, in, ft"):
        units.nm_per_unit("cubit")


def test_factor_that_is_no_whole_number_of_nanometres_is_refused() -> None:
    with pytest.raises(ValueError, match="1/3 is no whole number"):
        units._whole(Fraction(1, 3))


def test_nano_and_milli_agree_with_pint() -> None:
    assert units.nm_per_unit("mm") == units.NM_PER_MM


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("kg", "other"),
        ("kgs", "other"),
        ("kPa", "other"),
        ("litres", "other"),
        ("hrs", "other"),
        ("deg", "other"),
        ("yards", "length"),
        ("km", "length"),
        ("tight", None),
        ("net", None),
        ("ea", None),
        ("", None),
        ("mm2", None),
        ("kg*1e9", None),
        ("__import__", None),
        ("a" * 25, None),
    ],
)
def test_kind_of_a_word(word: str, kind: str | None) -> None:
    """Only plain letters reach pint, and rare prefixes do not count: ``ea`` is each, not an exa-year."""
    assert units.unit_kind(word) == kind


@pytest.mark.parametrize(
    ("nm", "text"),
    [
        (0, "0"),
        (1, "0.000001"),
        (1_200_000_000, "1200"),
        (1_200_500_000, "1200.5"),
        (1_194_196_875, "1194.196875"),
        (-1_500_000, "-1.5"),
        (10_000_000, "10"),
    ],
)
def test_millimetres_are_written_exactly_and_without_needless_noughts(nm: int, text: str) -> None:
    assert units.nm_to_mm_text(nm) == text
    assert Fraction(text) * units.NM_PER_MM == nm


def test_float_millimetres_are_the_nearest() -> None:
    assert units.mm(1_194_196_875) == 1194.196875
    assert units.mm(123_456_789_012_345_678) == 123456789012.345678
