"""Makes the published files from the program: ``python -m sawready.published [--check]``.

``schemas/`` holds the JSON Schemas of orders, results, files and problems, the Table Schema of our sheet
and the catalogue of reasons; ``openapi/`` holds the document of the running service. With ``--check``
nothing is written, and files that no longer fit the program are named (exit status 1).
"""

import argparse
import difflib
import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from marshmallow import Schema, fields

from sawready.catalogue.load import Catalogue
from sawready.catalogue.rulebook_schema import RulebookSchema
from sawready.catalogue.schemas import SystemSchema
from sawready.json_schema import json_schema
from sawready.order_schema import Choice, OpeningSchema, OrderSchema
from sawready.readers.columns import COLUMNS, Column
from sawready.report.catalogue_pages import reason_list
from sawready.report.result_schema import FindingSchema, ResultSchema
from sawready.rules.registry import catalogue_pages
from sawready.settings import Settings
from sawready.web.app import create_app
from sawready.web.bar_schemas import BarPlanSchema
from sawready.web.parts import parts
from sawready.web.problems import ProblemSchema

ROOT: Final = Path(__file__).resolve().parents[2]
"""Root of the project, where the program runs from its own sources."""

TABLE_SCHEMA: Final = "https://datapackage.org/profiles/2.0/tableschema.json"
_MOST_SHOWN: Final = 12

_SIDES: Final = {"left": "Left.", "right": "Right.", "top": "Top.", "bottom": "Bottom."}
_READINGS: Final = {
    "widths": ("Top.", "Middle.", "Bottom."),
    "heights": ("Left.", "Middle.", "Right."),
    "diagonals": ("Top left to bottom right.", "Top right to bottom left."),
}


def published() -> dict[str, str]:
    """The text of every published file by its path from the project's root."""
    documents: dict[str, Any] = {
        "schemas/order.schema.json": json_schema(OrderSchema, title="Order"),
        "schemas/result.schema.json": json_schema(ResultSchema, title="Result of an order"),
        "schemas/finding.schema.json": json_schema(FindingSchema, title="Finding"),
        "schemas/problem.schema.json": json_schema(ProblemSchema, title="Problem"),
        "schemas/system.schema.json": json_schema(SystemSchema, title="Profile system file"),
        "schemas/rulebook.schema.json": json_schema(
            RulebookSchema,
            title="Rulebook file",
            description="A rulebook file: the figures of one region, each with its source.",
        ),
        "schemas/bar_plan.schema.json": json_schema(BarPlanSchema, title="Plan of bars"),
        "schemas/orders.table-schema.json": table_schema(),
        "schemas/reasons.json": reason_list(catalogue_pages()),
        "openapi/openapi.json": openapi_document(),
    }
    return {path: json.dumps(made, indent=2, ensure_ascii=False) + "\n" for path, made in documents.items()}


def openapi_document() -> dict[str, Any]:
    """The OpenAPI document of a service as it starts without any setting."""
    app = create_app(Settings(), Catalogue.load_builtin())
    with app.app_context():
        return parts().document


def table_schema() -> dict[str, Any]:
    """Our sheet as a Table Schema (Data Package 2.0): every column, its meaning, whether it is needed."""
    return {
        "$schema": TABLE_SCHEMA,
        "title": "Orders as a sheet",
        "description": "One row an opening; rows of one order_ref make an order. Columns in any order. "
        "Every cell is text: lengths are plain numbers in the order's units, or carry their own unit.",
        "fields": [_column(column) for column in COLUMNS],
        "fieldsMatch": "superset",
        "missingValues": [""],
    }


def _column(column: Column) -> dict[str, Any]:
    schema: Schema = OrderSchema() if column.level == "order" else OpeningSchema()
    words = column.name.replace("_", " ")
    made: dict[str, Any] = {
        "name": column.name,
        "type": "string",
        "title": words[:1].upper() + words[1:],
        "description": " ".join(_meanings(schema, column)),
    }
    constraints: dict[str, Any] = {}
    if column.is_required:
        constraints["required"] = True
    field = _last_field(schema, column)
    if isinstance(field, Choice):
        constraints["enum"] = list(field.words)
    if constraints:
        made["constraints"] = constraints
    return made


def _last_field(schema: Schema, column: Column) -> fields.Field[Any]:
    field = schema.fields[str(column.path[0])]
    for token in column.path[1:]:
        if isinstance(field, fields.Nested):
            field = field.schema.fields[str(token)]
    return field


def _meanings(schema: Schema, column: Column) -> Sequence[str]:
    """What a column says: its own meaning, that of the member it belongs to where it has none."""
    first, *rest = column.path
    outer: Mapping[str, Any] = schema.fields[str(first)].metadata
    if not rest:
        return [outer["description"]]
    if isinstance(rest[0], int):
        return [_READINGS[str(first)][rest[0]], f"Of the {first}: {outer['description']}"]
    own = _last_field(schema, column).metadata.get("description") or _SIDES[str(rest[0])]
    return [own, f"Of {str(first).replace('_', ' ')}: {outer['description']}"]


def stale(root: Path) -> dict[str, str]:
    """Published files that no longer fit the program, each with the first lines of the difference.

    Args:
        root: root of the project.
    """
    found: dict[str, str] = {}
    made = published()
    for path, text in made.items():
        file = root / path
        if not file.is_file():
            found[path] = "is missing"
            continue
        old = file.read_text("utf-8")
        if old != text:
            lines = difflib.unified_diff(old.splitlines(), text.splitlines(), n=0, lineterm="")
            found[path] = "\n".join([*lines][2 : 2 + _MOST_SHOWN])
    for folder in ("schemas", "openapi"):
        for file in sorted((root / folder).glob("*.json")):
            path = f"{folder}/{file.name}"
            if path not in made:
                found[path] = "is made by nothing any more"
    return found


def write(root: Path) -> list[str]:
    """Writes every published file that differs. Returns: their paths."""
    written: list[str] = []
    for path, text in published().items():
        file = root / path
        if not file.is_file() or file.read_text("utf-8") != text:
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, "utf-8", newline="\n")
            written.append(path)
    return written


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs it. Returns: exit status, 1 where ``--check`` finds a stale file."""
    parser = argparse.ArgumentParser(
        prog="python -m sawready.published", description=__doc__.split("\n", 1)[0]
    )
    parser.add_argument("--check", action="store_true", help="write nothing; name the files that are stale")
    parser.add_argument("--root", type=Path, default=ROOT, help="root of the project")
    options = parser.parse_args(arguments)
    if options.check:
        found = stale(options.root)
        for path, difference in found.items():
            sys.stdout.write(f"{path} is stale:\n{difference}\n")
        sys.stdout.write("stale: run python -m sawready.published\n" if found else "up to date\n")
        return 1 if found else 0
    for path in write(options.root):
        sys.stdout.write(f"written {path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
