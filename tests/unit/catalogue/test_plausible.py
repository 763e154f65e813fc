"""Plausible ranges: data with sources, one for every figure, judged at both ends."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from importlib import resources

import pytest
from marshmallow import Schema, fields

from sawready.catalogue.building import WANTED
from sawready.catalogue.faults import CatalogueFileError
from sawready.catalogue.fields import Ascending, Exact, ExactList, ExactRange, Measure
from sawready.catalogue.figure_fields import Editions, FigureField
from sawready.catalogue.load import read_system
from sawready.catalogue.plausible import PlausibleRange, PlausibleRanges, plausible_ranges
from sawready.catalogue.rulebook_schema import CoreSchema
from sawready.catalogue.schemas import SystemSchema
from sawready.catalogue.yaml_door import load_yaml

NUMBERS = (Exact, Measure, ExactRange, Ascending, ExactList, FigureField)


@pytest.fixture(scope="module")
def ranges() -> dict[str, PlausibleRanges]:
    file = resources.files("sawready.catalogue").joinpath("data", "plausible.yaml")
    return plausible_ranges(load_yaml(file.read_bytes(), name="plausible.yaml"))


def number_paths(schema: Schema, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Path of every figure of a schema, ``*`` for rows."""
    for key, field in schema.fields.items():
        path = (*before, key)
        if isinstance(field, NUMBERS):
            yield path
        elif isinstance(field, fields.Nested):
            yield from number_paths(field.schema, (*path, "*") if field.many else path)
        elif isinstance(field, Editions):
            yield from number_paths(field.schema, path)


@pytest.mark.parametrize(("kind", "schema"), [("system", SystemSchema()), ("rulebook", CoreSchema())])
def test_every_figure_of_a_file_has_its_range(
    ranges: dict[str, PlausibleRanges], kind: str, schema: Schema
) -> None:
    """And every range belongs to a figure: a misspelt path would judge nothing."""
    known = {tuple(path.split(".")) for path in ranges[kind].ranges}
    used = set()
    if kind == "rulebook":
        used |= {
            tuple(path.split("."))
            for path, wanted in WANTED.items()
            if not wanted.words and not wanted.columns
        }
        assert used < known
    for path in number_paths(schema):
        matching = {
            pattern
            for pattern in known
            if len(pattern) == len(path) and all(a in (b, "*") for a, b in zip(pattern, path, strict=True))
        }
        assert len(matching) == 1, path
        used |= matching
    assert used == known


def test_every_range_names_its_source(ranges: dict[str, PlausibleRanges]) -> None:
    for table in ranges.values():
        for limits in table.ranges.values():
            assert limits.least < limits.most
            assert len(limits.source) > 8


@pytest.mark.parametrize(
    ("face_mm", "plausible"), [("20", True), ("19.9", False), ("250", True), ("250.1", False)]
)
def test_both_ends_belong_to_the_range(
    demo70_text: str,
    changed: Callable[..., str],
    mistakes: Callable[..., list[str]],
    face_mm: str,
    plausible: bool,
) -> None:
    told = mistakes(read_system, changed(demo70_text, ("face_mm: 62", f"face_mm: {face_mm}")), name="f")
    assert any("is not plausible" in line for line in told) is not plausible


def test_a_fault_gives_value_unit_range_and_source(ranges: dict[str, PlausibleRanges]) -> None:
    document = load_yaml("a: 1\ndepth_mm: 700", name="f.yaml")
    (fault,) = ranges["system"].faults(document, {"a": "x", "depth_mm": Fraction(700)})
    assert str(fault) == (
        "f.yaml, line 2: depth_mm: 700 mm is not plausible; 30 to 300 mm is (trade press, depths of 60 and "
        "70 usual; widened). Check the figure, its decimal point and its unit."
    )


def test_a_figure_without_a_unit_is_shown_without_one() -> None:
    table = PlausibleRanges({"count": PlausibleRange(Fraction(1), Fraction(9), "made up")})
    (fault,) = table.faults(load_yaml("count: 10", name="f"), {"count": Fraction(10)})
    assert "10 is not plausible; 1 to 9 is (made up)" in str(fault)


def test_a_range_on_the_way_to_another_is_our_own_mistake() -> None:
    limits = PlausibleRange(Fraction(1), Fraction(9), "made up")
    with pytest.raises(TypeError, match="on the way to another"):
        PlausibleRanges({"a": limits, "a.b": limits})


def test_a_table_of_ranges_is_checked_itself() -> None:
    with pytest.raises(CatalogueFileError, match="rulebook: "):
        plausible_ranges(load_yaml("system: {}", name="f"))
