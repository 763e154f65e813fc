"""Written glass units: what is read, what is refused, and the sentence that says why."""

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

import sawready
from sawready.calc.glass_unit import UNIT_LIMITS, read_glass_unit, split_laminate


def test_the_ordinary_double_unit_is_28_mm_with_8_mm_of_glass() -> None:
    unit = read_glass_unit("4-20-4")
    assert (unit.thickness_mm, unit.glass_mm) == (28, 8)
    assert (unit.panes_mm, unit.cavities_mm) == ((4, 4), (20,))


@pytest.mark.parametrize(
    "text",
    [
        "4-20-4", " 4-20-4 ", "4/20/4", "4 - 20 - 4", "4 / 20 / 4", "4–20–4", "4—20—4", "4‑20‑4", "4−20−4",
        "4-20-4mm", "4-20-4 mm", "4-20-4 MM", "4mm-20mm-4mm", "4.0-20-4", "4,0-20-4",
    ],
)  # fmt: skip
def test_every_plain_spelling_gives_the_same_unit(text: str) -> None:
    assert read_glass_unit(text) == read_glass_unit("4-20-4")


@pytest.mark.parametrize(
    ("text", "panes", "cavities", "thickness", "canonical"),
    [
        ("6.8-16-4", "6.8 4", "16", "26.8", "6.8-16-4"),
        ("6,8-16-4", "6.8 4", "16", "26.8", "6.8-16-4"),
        ("6.38-12-4", "6.38 4", "12", "22.38", "6.38-12-4"),
        ("4-12-4-12-4", "4 4 4", "12 12", "36", "4-12-4-12-4"),
        ("4/18/4/16/6.4", "4 4 6.4", "18 16", "48.4", "4-18-4-16-6.4"),
        ("3-6-3", "3 3", "6", "12", "3-6-3"),
        ("25-24-25", "25 25", "24", "74", "25-24-25"),
        ("10-16-10", "10 10", "16", "36", "10-16-10"),
    ],
)
def test_laminated_and_triple_units_add_up_exactly(
    text: str, panes: str, cavities: str, thickness: str, canonical: str
) -> None:
    unit = read_glass_unit(text)
    assert unit.panes_mm == tuple(map(Fraction, panes.split()))
    assert unit.cavities_mm == tuple(map(Fraction, cavities.split()))
    assert unit.thickness_mm == Fraction(thickness)
    assert unit.glass_mm == sum(map(Fraction, panes.split()))
    assert unit.text == canonical


@pytest.mark.parametrize(
    ("text", "pane"),
    [("6", "6"), ("6mm", "6"), ("6.4 mm", "6.4"), ("11", "11"), ("single 12", "12"), ("19 mm glass", "19"),
     ("Single 25", "25"), ("4 glass", "4")],
)  # fmt: skip
def test_a_lone_number_is_a_pane_where_it_can_be_nothing_else(text: str, pane: str) -> None:
    unit = read_glass_unit(text)
    assert unit.panes_mm == (Fraction(pane),)
    assert unit.cavities_mm == ()
    assert unit.thickness_mm == unit.glass_mm == Fraction(pane)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is missing"),
        ("   ", "is missing"),
        ("28", "whole unit or of one pane"),
        ("12", "whole unit or of one pane"),
        ("24 mm", "whole unit or of one pane"),
        ("2", "outside 3 to 25"),
        ("single 28", "outside 3 to 25"),
        ("4-20", "odd number"),
        ("4-20-4-20", "odd number"),
        ("4-12-4-12-4-12-4", "more than 3"),
        ("2-20-4", "outside 3 to 25"),
        ("4-20-26", "outside 3 to 25"),
        ("4-5-4", "outside 6 to 24"),
        ("4-25-4", "outside 6 to 24"),
        ("4-4-20", "outside 6 to 24"),
        ("4-20/4", "mixes"),
        ("4--20-4", "empty"),
        ("4-20-", "empty"),
        ("-4-20-4", "empty"),
        ("4-20Ar-4", "coating and gas"),
        ("4-20-4 argon", "coating and gas"),
        ("4-1 6-4", "not a thickness"),
        ("4-1e1-4", "not a thickness"),
        ("4-20.123-4", "not a thickness"),
        ("4-20-4\x00", "not a thickness"),
        ("４-20-4", "not a thickness"),
        ("04-20-04", "date"),
        ("2004-04-20", "date"),
        ("4-20-2004", "date or a size"),
        ("33.1-16-4", "3 + 3 mm laminated"),
        ("44.2-16-4", "4 + 4 mm laminated"),
        ("4 20 4", "not a glass unit"),
        ("4x20x4", "not a glass unit"),
        ("double", "not a glass unit"),
        ("4-20-4" * 20, "longer than"),
    ],
)
def test_what_is_no_plain_unit_is_refused_with_the_reason_and_an_example(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=r"(?s)\d+-\d+-\d+") as refused:
        read_glass_unit(text)
    assert says in str(refused.value)


def test_a_number_that_is_no_text_is_refused() -> None:
    with pytest.raises(ValueError, match="missing"):
        read_glass_unit(28)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("named", "glass", "interlayer"),
    [("6.4", "6", "0.38"), ("6.38", "6", "0.38"), ("6.8", "6", "0.76"), ("8.8", "8", "0.76"),
     ("10.8", "10", "0.76"), ("7.5", "6", "1.52"), ("9.5", "8", "1.52"), ("6", "6", "0"), ("4", "4", "0")],
)  # fmt: skip
def test_a_laminate_is_split_into_glass_and_film(named: str, glass: str, interlayer: str) -> None:
    split = split_laminate(Fraction(named), layer_mm=Fraction("0.38"), most_layers=6)
    assert split == (Fraction(glass), Fraction(interlayer))


def test_a_thickness_that_is_no_laminate_is_refused() -> None:
    with pytest.raises(ValueError, match=r"4\.25 mm is not whole millimetres"):
        split_laminate(Fraction("4.25"), layer_mm=Fraction("0.38"), most_layers=3)


def test_the_limits_in_the_code_are_those_of_the_catalogue() -> None:
    path = Path(sawready.__file__).parent / "catalogue" / "data" / "glass" / "units.yaml"
    figures = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert list(UNIT_LIMITS.pane_mm) == figures["pane_mm"]["value"]
    assert list(UNIT_LIMITS.cavity_mm) == figures["cavity_mm"]["value"]
    assert UNIT_LIMITS.most_panes == figures["most_panes"]["value"]


@given(st.text(max_size=80) | st.text(alphabet="0123456789.,-/ mgls", max_size=20))
def test_any_text_at_all_gives_a_unit_or_a_sentence(text: str) -> None:
    try:
        unit = read_glass_unit(text)
    except ValueError as refused:
        sentence = str(refused)
    else:
        sentence = "write it as 4-20-4"
        assert read_glass_unit(unit.text) == unit
    assert "write it as 4-20-4" in sentence


@given(
    st.lists(st.tuples(st.decimals(3, 25, places=2), st.decimals(6, 24, places=1)), min_size=1, max_size=2),
    st.decimals(3, 25, places=2),
)
def test_a_written_unit_reads_back_to_its_own_parts(
    layers: list[tuple[object, object]], last: object
) -> None:
    text = "-".join(str(part) for layer in layers for part in layer) + f"-{last}"
    unit = read_glass_unit(text)
    assert unit.thickness_mm == sum(map(Fraction, text.split("-")))
    assert read_glass_unit(unit.text) == unit
