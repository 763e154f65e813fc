"""The published schemas: up to date, valid, and true of what goes in and what comes out."""

import copy
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
import yaml
from hypothesis import given, settings
from jsonschema import Draft202012Validator
from marshmallow import Schema, fields, validate

from sawready.catalogue.load import Catalogue
from sawready.json_schema import DIALECT, json_schema
from sawready.pipeline import check_order
from sawready.published import main, published, stale, table_schema, write
from sawready.readers.columns import COLUMNS, REQUIRED
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.json_door import loads
from sawready.readers.json_orders import read_json, read_ndjson
from sawready.readers.raw import RawOrder
from sawready.report.as_json import result_dict
from sawready.report.result_schema import ResultSchema
from sawready.rules.registry import catalogue_pages
from sawready.shape import without_nulls

ROOT = Path(__file__).parents[2]
SCHEMAS = sorted((ROOT / "schemas").glob("*.schema.json"))
SAMPLES = ROOT / "sample_orders"
FILES = ROOT / "service" / "sawready" / "catalogue" / "data"

WHOLE_ORDER = """
{
  "order_ref": "TQ-0007",
  "system": "demo70",
  "rulebook": "england",
  "units": "mm",
  "number_style": "en",
  "viewed_from": "outside",
  "survey": {"date": "2026-11-02", "surveyor": "AB", "revision": 1},
  "openings": [
    {
      "opening_ref": "W1",
      "quantity": 1,
      "room": "kitchen",
      "storey": 0,
      "floor_to_sill": 1050,
      "measured_to": "brick",
      "widths": [1812, 1808, 1810],
      "heights": [1262, 1260, 1261],
      "diagonals": [2207, 2206],
      "slope": "jambs",
      "inside": {"width": 1790, "height": 1250},
      "to_come": {"left": 0, "right": 0, "top": 0, "bottom": 0},
      "frame": {"width": 1798, "height": 1220, "height_includes_sill": false},
      "gap": {"left": 5, "right": 5, "top": 5, "bottom": 5},
      "extenders": {"top": 0, "bottom": 0, "left": 0, "right": 0},
      "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50},
      "set_back": 30,
      "layout": "side-hung left | fixed",
      "surveyed": {"viewed_from": "inside", "layout": "fixed | side-hung right"},
      "colour": {"outside": "white", "inside": "white"},
      "glazing": {"unit": "4-20-4", "safety": "none", "u_g": 1.0},
      "vent_mm2": 8000,
      "escape": false,
      "design_wind_pa": 1200
    }
  ],
  "answers": [
    {"opening_ref": "W3", "reason": "readings-disagree", "measured": 21, "by": "AB", "on": "2026-11-03",
     "note": "measured again"}
  ]
}
"""
"""An order with every member that it can usually have."""


def schema(name: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads((ROOT / "schemas" / f"{name}.schema.json").read_text("utf-8")))


ORDER, RESULT = schema("order"), schema("result")


def whole_order(**changes: Any) -> dict[str, Any]:
    order: dict[str, Any] = {**json.loads(WHOLE_ORDER), **changes}
    return order


def opening(**changes: Any) -> dict[str, Any]:
    """The whole order with members of its opening changed; None leaves one out."""
    order = whole_order()
    (only,) = order["openings"]
    only.update(changes)
    order["openings"] = [{name: value for name, value in only.items() if value is not ...}]
    return order


def checked(order: Any, catalogue: Catalogue) -> dict[str, Any]:
    return result_dict(check_order(loads(json.dumps(order).encode()), catalogue=catalogue))


# the files


def test_the_published_files_are_up_to_date() -> None:
    """Else: python -m sawready.published."""
    assert stale(ROOT) == {}


def test_stale_missing_and_left_over_files_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--root", str(tmp_path)]) == 0
    assert main(["--root", str(tmp_path), "--check"]) == 0
    changed = tmp_path / "schemas" / "order.schema.json"
    changed.write_text(changed.read_text("utf-8").replace('"Order"', '"Ordre"'), "utf-8")
    (tmp_path / "schemas" / "reasons.json").unlink()
    (tmp_path / "openapi" / "old.json").write_text("{}")
    capsys.readouterr()
    assert main(["--root", str(tmp_path), "--check"]) == 1
    said = capsys.readouterr().out
    assert "schemas/order.schema.json is stale:" in said
    assert '-  "title": "Ordre",\n+  "title": "Order",' in said
    assert "is missing" in said
    assert "is made by nothing any more" in said
    assert write(tmp_path) == ["schemas/order.schema.json", "schemas/reasons.json"]


def test_the_files_are_made_the_same_each_time() -> None:
    assert published() == published()


@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_a_schema_is_valid_and_stands_alone(path: Path) -> None:
    made = json.loads(path.read_text("utf-8"))
    Draft202012Validator.check_schema(made)
    assert made["$schema"] == DIALECT
    assert made["title"]
    assert made["description"]
    used = set(references(made))
    assert used - {"#"} == {f"#/$defs/{name}" for name in made.get("$defs", {})}


def references(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "$ref":
                yield inner
            else:
                yield from references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from references(inner)


@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_no_object_lets_unknown_members_pass(path: Path) -> None:
    made = json.loads(path.read_text("utf-8"))
    for part in (made, *made.get("$defs", {}).values()):
        if part.get("type") == "object":
            assert part["additionalProperties"] is False or part["additionalProperties"]["anyOf"]


@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_every_member_says_what_it_means(path: Path) -> None:
    """Sides are told by their names."""
    made = json.loads(path.read_text("utf-8"))
    for part in (made, *made.get("$defs", {}).values()):
        for name, member in part.get("properties", {}).items():
            assert member.get("description") or name in (
                "left",
                "right",
                "top",
                "bottom",
                "columns",
                "rows",
            ), name


# orders


def test_an_order_with_every_member_fits() -> None:
    ORDER.validate(whole_order())


def test_absent_and_null_mean_the_same() -> None:
    """What need not be there may be null."""
    ORDER.validate(opening(frame=None, sill=None, quantity=None, escape=None, note=None, gap=None))
    ORDER.validate(whole_order(survey=None, answers=None, defaults=None, units=None))


def test_what_openings_leave_to_the_defaults_need_not_be_there() -> None:
    order = opening(layout=..., colour=..., glazing=...)
    assert not ORDER.is_valid(order)
    order["defaults"] = {"layout": "fixed", "colour": {"outside": "white"}, "glazing": {"unit": "4-20-4"}}
    ORDER.validate(order)


def test_lengths_may_be_written_out() -> None:
    ORDER.validate(opening(widths=["1.2 m", "47 1/4 in", None], floor_to_sill="3' 11 1/4\"", set_back=30.5))


def test_layouts_may_be_trees() -> None:
    light = {"light": "side-hung", "hinge": "left"}
    tree: Any = {"columns": [light, {"light": "fixed", "safety": "laminated"}], "at": [600]}
    ORDER.validate(opening(layout=tree))
    for _ in range(5):
        tree = {
            "rows": [tree, {"light": "fixed"}, {"columns": [light, light], "at": [None]}],
            "at": [None, 300.5],
        }
    ORDER.validate(opening(layout=tree, surveyed={"layout": tree}))


WRONG_TREES: list[Any] = [
    {},
    {"light": "sliding"},
    {"light": "side-hung"},
    {"light": "tilt-turn", "hinge": "top"},
    {"light": "fixed", "hinge": "left"},
    {"light": "fixed", "columns": []},
    {"columns": [{"light": "fixed"}]},
    {"columns": [{"light": "fixed"}, "fixed"]},
    {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": ["300"]},
    {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [-5]},
    {"rows": [{"light": "fixed"}, {"light": "fixed"}], "columns": []},
    {"rows": [{"light": "fixed"}, {"rows": [{"light": "fixed"}, {}]}]},
]


@pytest.mark.parametrize("tree", WRONG_TREES, ids=json.dumps)
def test_trees_that_are_no_layout_fit_neither_the_schema_nor_the_program(
    tree: Any, catalogue: Catalogue
) -> None:
    order = opening(layout=tree)
    assert not ORDER.is_valid(order)
    found = checked(order, catalogue)["openings"][0]["findings"]
    assert "layout-unreadable" in {each["reason"] for each in found}


WRONG: dict[str, dict[str, Any]] = {
    "unknown member": whole_order(colour="white"),
    "unknown member of an opening": opening(widht=1200),
    "unknown unit": whole_order(units="yd"),
    "no reference": whole_order(order_ref=None),
    "blank reference": whole_order(order_ref="  "),
    "long reference": whole_order(order_ref="x" * 81),
    "tab in a reference": whole_order(order_ref="a\tb"),
    "no widths": opening(widths=...),
    "empty widths": opening(widths=[]),
    "four widths": opening(widths=[1, 2, 3, 4]),
    "widths as one number": opening(widths=1810),
    "a truth value as a width": opening(widths=[True]),
    "no layout": opening(layout=...),
    "no colour outside": opening(colour={"inside": "white"}),
    "no glazing unit": opening(glazing={"safety": "none"}),
    "glass of no kind": opening(glazing={"unit": "4-20-4", "safety": "wired"}),
    "a sill without a fit": opening(sill={"projection": 150}),
    "a storey and a half": opening(storey=1.5),
    "a storey too high": opening(storey=201),
    "transmittance beyond all glass": opening(glazing={"unit": "4-20-4", "u_g": 7.1}),
    "maybe a way out": opening(escape="maybe"),
    "a list as a note": opening(note=["x"]),
    "a length beyond all": opening(set_back=1e12),
    "an answer without a name": whole_order(
        answers=[{"opening_ref": "W1", "reason": "x", "on": "2026-11-03"}]
    ),
}


@pytest.mark.parametrize("order", WRONG.values(), ids=WRONG)
def test_what_does_not_fit_the_schema_is_rejected_by_the_program(order: Any, catalogue: Catalogue) -> None:
    assert not ORDER.is_valid(order)
    assert checked(order, catalogue)["decision"] == "rejected"


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**17), 10**17)
    | st.floats(-1e12, 1e12).filter(lambda number: abs(number) > 1e-30)
    | st.sampled_from(["", " ", "fixed", "1.2 m", "yes", "left", "4-20-4", "white", "mm"])
    | st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                ["width", "height", "left", "light", "columns", "rows", "at", "unit", "outside", "fit"]
            ),
            inner,
            max_size=3,
        )
    ),
    max_leaves=6,
)


def places(value: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*at, key)
        yield from places(inner, (*at, key))


PLACES = [place for place in places(json.loads(WHOLE_ORDER)) if place != ("openings",)]
CATALOGUE = Catalogue.load_builtin()


@given(place=st.sampled_from(PLACES), value=anything)
@settings(max_examples=400, deadline=None)
def test_whatever_stands_anywhere_the_result_fits_and_no_misfit_is_accepted(place: Any, value: Any) -> None:
    """The schema and the program agree: what breaks the schema is never accepted nor merely queried.

    Members that are null are taken out first, as absent and null mean the same.
    """
    order = whole_order()
    holder: Any = order
    for token in place[:-1]:
        holder = holder[token]
    holder[place[-1]] = copy.deepcopy(value)
    result = checked(order, CATALOGUE)
    RESULT.validate(result)
    if not ORDER.is_valid(without_nulls(order)):
        assert result["decision"] == "rejected"


# results


def test_the_result_of_that_order_fits(catalogue: Catalogue) -> None:
    result = checked(whole_order(), catalogue)
    RESULT.validate(result)
    ResultSchema().load(result)
    assert result["decision"] == "accepted"


def test_members_stand_in_the_order_of_the_schema(catalogue: Catalogue) -> None:
    """The digest depends on it."""
    order = opening(frame={"width": 1806, "height": 1220, "height_includes_sill": False})
    order["openings"].append({**whole_order()["openings"][0], "opening_ref": "W2"})
    compare(checked(order, catalogue), ResultSchema())


def compare(written: Any, told: Schema) -> None:
    assert list(written) == list(told.fields)
    for name, field in told.fields.items():
        inner: Any = field.inner if isinstance(field, fields.List) else field
        if isinstance(inner, fields.Nested) and written[name] is not None:
            for each in written[name] if isinstance(field, fields.List) else [written[name]]:
                compare(each, inner.schema)


def sample_orders() -> Iterator[RawOrder]:
    from sawready.readers.column_map import load_column_map  # noqa: PLC0415 - for sheets with a map only

    for path in sorted(SAMPLES.iterdir()):
        read: Any = ()
        if path.suffix == ".json":
            read = read_json(path.read_bytes(), source=path.name)
        elif path.suffix in (".ndjson", ".csv"):
            with path.open("rb") as stream:
                if path.suffix == ".ndjson":
                    yield from (
                        each for each in read_ndjson(stream, source=path.name) if isinstance(each, RawOrder)
                    )
                else:
                    beside = path.with_name(f"{path.stem}.columns.yaml")
                    used = (
                        load_column_map(beside.read_bytes(), name=beside.name) if beside.is_file() else None
                    )
                    sheet = SheetOrders(stream, source=path.name, column_map=used)
                    yield from (each for each in sheet if isinstance(each, RawOrder))
        yield from (each for each in read if isinstance(each, RawOrder))


def test_every_sample_order_has_a_result_that_fits(catalogue: Catalogue) -> None:
    count = 0
    for raw in sample_orders():
        result = check_order(raw.data, catalogue=catalogue, problems=raw.problems)
        RESULT.validate(result_dict(result, cell_of=raw.cell if raw.places else None))
        count += 1
    assert count >= 8


def test_every_result_that_is_kept_with_the_samples_fits() -> None:
    files = sorted((SAMPLES / "expected").rglob("*.ndjson"))
    kept = [json.loads(line) for path in files for line in path.read_text("utf-8").splitlines()]
    assert kept
    for result in kept:
        if "decision" in result:
            RESULT.validate(result)


# files of systems and rulebooks


@pytest.mark.parametrize("kind", ["system", "rulebook"])
def test_the_files_that_come_with_the_program_fit(kind: str) -> None:
    checker = schema(kind)
    for path in sorted((FILES / f"{kind}s").glob("*.yaml")):
        read = yaml.safe_load(path.read_text("utf-8"))
        checker.validate(json.loads(json.dumps(read, default=str)))


def test_a_misspelt_key_of_a_system_file_does_not_fit() -> None:
    read = yaml.safe_load((FILES / "systems" / "demo70.yaml").read_text("utf-8"))
    read["profiles"]["frame"]["wled_allowance_mm"] = 3
    assert not schema("system").is_valid(json.loads(json.dumps(read, default=str)))


# the sheet and the reasons


def test_the_table_schema_has_every_column_of_the_sheet() -> None:
    """Data Package 2.0, Table Schema: fields, constraints, missingValues, fieldsMatch."""
    made = table_schema()
    assert [field["name"] for field in made["fields"]] == [column.name for column in COLUMNS]
    needed = [field["name"] for field in made["fields"] if field.get("constraints", {}).get("required")]
    assert needed == list(REQUIRED)
    assert {field["type"] for field in made["fields"]} == {"string"}
    assert all(field["title"] and field["description"] for field in made["fields"])
    units = next(field for field in made["fields"] if field["name"] == "units")
    assert units["constraints"]["enum"] == ["mm", "cm", "m", "in", "ft"]


def test_another_reader_of_table_schemas_takes_ours() -> None:
    """frictionless, a general-purpose library, reads the file and finds no fault in it."""
    frictionless = pytest.importorskip("frictionless")
    read = frictionless.Schema.from_descriptor(str(ROOT / "schemas" / "orders.table-schema.json"))
    assert read.field_names == [column.name for column in COLUMNS]


def test_the_reasons_are_those_of_the_program() -> None:
    made = json.loads((ROOT / "schemas" / "reasons.json").read_text("utf-8"))["reasons"]
    assert [each["name"] for each in made] == [page.name for page in catalogue_pages()]
    assert all(each["why"] and each["remedy"] and each["source"] for each in made)


def test_the_order_of_reasons_does_not_hang_on_what_is_imported_first() -> None:
    names = [
        each["name"] for each in json.loads((ROOT / "schemas" / "reasons.json").read_text("utf-8"))["reasons"]
    ]
    for module in (
        "sawready.normalise",
        "sawready.rules.making",
        "sawready.rules.glass",
        "sawready.rules.run",
    ):
        program = (
            f"import {module}, sawready.pipeline\n"
            "from sawready.rules.registry import catalogue_pages\n"
            "print(*(page.name for page in catalogue_pages()))"
        )
        run = subprocess.run(  # noqa: S603 - a program of our own
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONPATH": str(ROOT / "service")},
        )
        assert run.stdout.split() == names, module


# what apispec says otherwise


class TrapSchema(Schema):
    """Kinds of fields that are told wrong without our writer."""

    above = fields.Integer(validate=validate.Range(min=0, min_inclusive=False))
    below = fields.Float(validate=validate.Range(max=9, max_inclusive=False))
    between = fields.Float(validate=validate.Range(min=1, max=2))
    price = fields.Decimal(as_string=True)
    amount = fields.Decimal()


def test_a_bound_that_is_not_part_of_the_range_excludes_itself() -> None:
    made = json_schema(TrapSchema, title="Traps")["properties"]
    assert made["above"] == {"type": "integer", "exclusiveMinimum": 0}
    assert made["below"] == {"type": "number", "exclusiveMaximum": 9}
    assert made["between"] == {"type": "number", "minimum": 1, "maximum": 2}


def test_a_decimal_that_is_written_as_text_is_a_text() -> None:
    checker = Draft202012Validator(json_schema(TrapSchema, title="Traps"))
    checker.validate({"price": "12.50", "amount": 12.5})
    assert not checker.is_valid({"price": 12.5})
    assert not checker.is_valid({"price": "twelve"})
