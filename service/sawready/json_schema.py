"""From the marshmallow schemas to JSON Schema 2020-12, for ``schemas/`` and for the OpenAPI document.

apispec does the work. Here it learns our own fields, and is put right where it would say something else
than the schemas do: bounds that exclude themselves, decimals written as text, members that may be null.
"""

import inspect
from collections.abc import Mapping
from typing import Any, Final

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from marshmallow import Schema, fields, validate

from sawready.catalogue.fields import Reading
from sawready.catalogue.figure_fields import Editions, FigureSchema, FigureTree, FigureValue, TableRows
from sawready.layouts import MOST_CHARACTERS
from sawready.model.layout import HINGED_AT_A_SIDE, KINDS
from sawready.order_schema import (
    SAFETY,
    Count,
    Flag,
    Number,
    OrderSchema,
    Part,
    Readings,
    WrittenLayout,
    WrittenLength,
)
from sawready.version import VERSION

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
OPENAPI_VERSION: Final = "3.1.0"

_REF: Final = "#/components/schemas/"
_NULL: Final[Mapping[str, Any]] = {"type": "null"}
_BOUNDS: Final[Mapping[str, Any]] = {"exclusiveMinimum": -(10**12), "exclusiveMaximum": 10**12}
"""Numbers beyond are no sizes or counts; the length grammar refuses them."""

_NO_CONTROL: Final = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]*$"
"""Text as the JSON door takes it."""

_NUMBER_PATTERN: Final = r"^\s*-?[0-9]*\.?[0-9]+\s*$"
_FLAG_PATTERN: Final = r"^\s*([Yy]([Ee][Ss])?|[Tt][Rr][Uu][Ee]|[Nn][Oo]?|[Ff][Aa][Ll][Ss][Ee])\s*$"

_PLACE: Final[Mapping[str, Any]] = {"type": ["number", "null"], "minimum": 0.0001, "exclusiveMaximum": 10**12}
"""Place of a divider; a written one has up to four decimals."""

_DECIMAL_PATTERN: Final = r"^-?[0-9]+(\.[0-9]+)?$"

LAYOUT_COMPONENTS: Final[Mapping[str, dict[str, Any]]] = {
    "Layout": {
        "description": "A layout as a tree: one light, or columns or rows of further layouts.",
        "anyOf": [{"$ref": f"{_REF}Light"}, {"$ref": f"{_REF}Columns"}, {"$ref": f"{_REF}Rows"}],
    },
    "Light": {
        "description": "One field of a layout. A hinge side is given where the light hangs at a side.",
        "type": "object",
        "properties": {
            "light": {"type": "string", "enum": list(KINDS), "description": "What it is."},
            "hinge": {
                "type": ["string", "null"],
                "enum": ["left", "right", None],
                "description": "Hinge side, as seen from the stated view.",
            },
            "safety": {
                "type": ["string", "null"],
                "enum": [*SAFETY, None],
                "description": "Glass of this light, where it differs from the opening's.",
            },
        },
        "required": ["light"],
        "additionalProperties": False,
        "if": {"properties": {"light": {"enum": sorted(HINGED_AT_A_SIDE)}}, "required": ["light"]},
        "then": {"properties": {"hinge": {"enum": ["left", "right"]}}, "required": ["hinge"]},
        "else": {"properties": {"hinge": {"type": "null"}}},
    },
    "Columns": {
        "description": "Fields side by side, from the left, with a mullion between each two.",
        "type": "object",
        "properties": {
            "columns": {"type": "array", "minItems": 2, "items": {"$ref": f"{_REF}Layout"}},
            "at": {
                "type": ["array", "null"],
                "items": {**_PLACE},
                "description": "Centre line of each mullion from the whole frame's left outer edge, in the "
                "order's units; null shares the daylight equally.",
            },
        },
        "required": ["columns"],
        "additionalProperties": False,
    },
    "Rows": {
        "description": "Fields one below the other, from the top, with a transom between each two.",
        "type": "object",
        "properties": {
            "rows": {"type": "array", "minItems": 2, "items": {"$ref": f"{_REF}Layout"}},
            "at": {
                "type": ["array", "null"],
                "items": {**_PLACE},
                "description": "Centre line of each transom from the whole frame's top outer edge, in the "
                "order's units; null shares the daylight equally.",
            },
        },
        "required": ["rows"],
        "additionalProperties": False,
    },
}
"""The tree form of a layout; ``layouts`` reads it without a schema, so it is written out here."""


class SchemaWriter(OpenAPIConverter):
    """Turns marshmallow schemas and fields into JSON Schema."""

    def schema2jsonschema(self, schema: Schema) -> dict[str, Any]:
        """One schema: description from its docstring, needed members in the order of its fields."""
        made: dict[str, Any] = super().schema2jsonschema(schema)  # type: ignore[no-untyped-call] # of apispec
        needed = [name for name, field in schema.fields.items() if field.required]
        if needed:
            made["required"] = needed
        if isinstance(schema, Part):
            _allow_nulls(schema, made["properties"])
        if isinstance(schema, OrderSchema):
            self._part_defaults(made)
        elif isinstance(schema, FigureSchema):
            made["oneOf"] = [{"required": ["value"]}, {"required": ["rows"]}]
        return {"description": _meaning(schema), **made}

    def field2property(self, field: fields.Field[Any]) -> dict[str, Any]:
        """One field, ours included."""
        made: dict[str, Any] = super().field2property(field)
        if isinstance(field, WrittenLength | Count):
            made.update(_BOUNDS, pattern=_NO_CONTROL)
        elif isinstance(field, Readings):
            made["items"] = {**made["items"], **_BOUNDS, "pattern": _NO_CONTROL}
        elif isinstance(field, Number):
            made["pattern"] = _NUMBER_PATTERN
        elif isinstance(field, Flag):
            made["pattern"] = _FLAG_PATTERN
        elif isinstance(field, WrittenLayout):
            self._register_layout()
            del made["type"]
            text = {
                "type": "string",
                "minLength": 1,
                "maxLength": MOST_CHARACTERS,
                "pattern": _NO_CONTROL,
            }
            made["anyOf"] = [text, {"$ref": f"{_REF}Layout"}]
        elif isinstance(field, Editions):
            one = self._reference(field.schema)
            made["anyOf"] = [one, {"type": "array", "minItems": 1, "items": one}]
        elif isinstance(field, FigureTree):
            self._register_figures(field)
            made["$ref"] = f"{_REF}RulebookFigures"
        elif isinstance(field, Reading | FigureValue | TableRows):
            made.update(field.json_schema)
        return made

    def field2type_and_format(self, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
        """As apispec says, but a decimal that is written as text is a text."""
        if isinstance(field, fields.Decimal) and field.as_string:
            return {"type": "string", "pattern": _DECIMAL_PATTERN}
        made: dict[str, Any] = super().field2type_and_format(field, **kwargs)
        return made

    def field2range(self, field: fields.Field[Any], ret: dict[str, Any]) -> dict[str, Any]:
        """As apispec says, but a bound that is not part of the range excludes itself."""
        made: dict[str, Any] = super().field2range(field, ret=ret)
        for validator in field.validators:
            if isinstance(validator, validate.Range):
                if not validator.min_inclusive and "minimum" in made:
                    made["exclusiveMinimum"] = made.pop("minimum")
                if not validator.max_inclusive and "maximum" in made:
                    made["exclusiveMaximum"] = made.pop("maximum")
        return made

    def _reference(self, schema: Schema) -> dict[str, Any]:
        """A reference to a schema, which is put among the components."""
        made: dict[str, Any] = self.resolve_nested_schema(schema)  # type: ignore[no-untyped-call] # of apispec
        return made

    def _register_layout(self) -> None:
        for name, component in LAYOUT_COMPONENTS.items():
            self.spec.components.schemas.setdefault(name, component)

    def _register_figures(self, field: FigureTree) -> None:
        """An open tree: each member is a figure, its editions, or a further tree."""
        if "RulebookFigures" in self.spec.components.schemas:
            return
        figure = self._reference(field.schema)
        self.spec.components.schemas["RulebookFigures"] = {
            "description": "Figures and further sections by name.",
            "type": "object",
            "additionalProperties": {
                "anyOf": [
                    figure,
                    {"type": "array", "minItems": 1, "items": figure},
                    {"$ref": f"{_REF}RulebookFigures"},
                ]
            },
        }

    def _part_defaults(self, order: dict[str, Any]) -> None:
        """An order with ``defaults`` may leave any field of its openings to them."""
        schemas, properties = self.spec.components.schemas, order["properties"]
        whole = properties["openings"]["items"]
        schemas["OpeningFields"] = {
            **{key: value for key, value in schemas["Opening"].items() if key != "required"},
            "description": "Fields of an opening; none of them is needed by itself.",
        }
        some = {"$ref": f"{_REF}OpeningFields"}
        properties["defaults"] = {
            "description": properties["defaults"]["description"],
            "anyOf": [some, dict(_NULL)],
        }
        properties["openings"]["items"] = some
        order["if"] = {"properties": {"defaults": dict(_NULL)}}
        order["then"] = {"properties": {"openings": {"items": whole}}}


def _allow_nulls(schema: Schema, properties: dict[str, Any]) -> None:
    """In an order, absent and null mean the same: what need not be there may be null."""
    for name, field in schema.fields.items():
        if not field.required:
            properties[name] = _or_null(properties[name])


def _or_null(prop: dict[str, Any]) -> dict[str, Any]:
    if "$ref" in prop:
        rest = {key: value for key, value in prop.items() if key != "$ref"}
        return {**rest, "anyOf": [{"$ref": prop["$ref"]}, dict(_NULL)]}
    if "anyOf" in prop:
        return {**prop, "anyOf": [*prop["anyOf"], dict(_NULL)]}
    kinds = prop["type"]
    made = {**prop, "type": [*([kinds] if isinstance(kinds, str) else kinds), "null"]}
    if "enum" in prop:
        made["enum"] = [*prop["enum"], None]
    return made


def _meaning(schema: Schema) -> str:
    """First paragraph of a schema's docstring."""
    text = inspect.getdoc(type(schema)) or ""
    return " ".join(text.split("\n\n")[0].split())


class SchemaPlugin(MarshmallowPlugin):
    """apispec's plugin for marshmallow, with our writer."""

    Converter = SchemaWriter


_PREFIXES: Final = (
    ("sawready.catalogue.schemas", "System"),
    ("sawready.catalogue.rulebook_schema", "Rulebook"),
    ("sawready.catalogue.figure_fields", "Rulebook"),
)
"""Set before the names of schemas of these modules: an order has a sill, and a profile system has one too."""


def component_name(schema: type[Schema] | Schema) -> str:
    """Name of a schema among the components.

    Example:
        >>> component_name(OrderSchema)
        'Order'
    """
    kind = schema if isinstance(schema, type) else type(schema)
    name = kind.__name__.removesuffix("Schema")
    prefix = next((prefix for module, prefix in _PREFIXES if kind.__module__ == module), "")
    return name if name.startswith(prefix) else prefix + name


def schema_plugin() -> SchemaPlugin:
    """A plugin for one document."""
    return SchemaPlugin(schema_name_resolver=component_name)


def json_schema(schema: type[Schema], *, title: str, description: str | None = None) -> dict[str, Any]:
    """One self-contained JSON Schema document.

    Args:
        schema: the marshmallow schema at its root.
        title: what it describes.
        description: what to say of it; the first paragraph of the schema's docstring where None.
    Returns: the document; schemas inside it are under ``$defs``, by name.
    """
    spec = APISpec(title, VERSION, OPENAPI_VERSION, plugins=[schema_plugin()])
    root = component_name(schema)
    spec.components.schema(root, schema=schema)
    made: dict[str, Any] = _local(spec.to_dict()["components"]["schemas"], root)
    main = made.pop(root)
    document = {
        "$schema": DIALECT,
        "$comment": "Made from the program by `python -m sawready.published`; not to be edited by hand.",
        "title": title,
        **main,
    }
    if description is not None:
        document["description"] = description
    return {**document, "$defs": dict(sorted(made.items()))} if made else document


def _local(value: Any, root: str) -> Any:
    """References into the components as references into ``$defs``."""
    if isinstance(value, Mapping):
        made = {key: _local(inner, root) for key, inner in value.items()}
        ref = value.get("$ref")
        if isinstance(ref, str) and ref.startswith(_REF):
            name = ref.removeprefix(_REF)
            made["$ref"] = "#" if name == root else f"#/$defs/{name}"
        return made
    if isinstance(value, list | tuple):
        return [_local(inner, root) for inner in value]
    return value
