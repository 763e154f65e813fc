"""The OpenAPI document arranged for a page: calls by group, schemas as tables, examples as text."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sawready.web.api import REFERENCES

_METHODS: Final = ("get", "post", "put", "delete")
_BOUNDS: Final = (
    ("minimum", "from"),
    ("exclusiveMinimum", "above"),
    ("maximum", "to"),
    ("exclusiveMaximum", "below"),
)


@dataclass(frozen=True, slots=True)
class Word:
    """A piece of text, with where it leads."""

    text: str
    href: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table of members or parameters."""

    name: str
    kind: tuple[Word, ...]
    is_needed: bool
    meaning: str


@dataclass(frozen=True, slots=True)
class Form:
    """One media type of a body or an answer."""

    media_type: str
    kind: tuple[Word, ...]
    examples: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """One status of a call."""

    status: str
    meaning: str
    forms: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class Call:
    """One call of the service."""

    anchor: str
    method: str
    path: str
    summary: str
    description: str
    parameters: tuple[Row, ...]
    body: str | None
    forms: tuple[Form, ...]
    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Calls of one subject."""

    name: str
    description: str
    calls: tuple[Call, ...]


@dataclass(frozen=True, slots=True)
class SchemaView:
    """One schema as a table; without members it is told by its kind alone."""

    name: str
    description: str
    kind: tuple[Word, ...]
    rows: tuple[Row, ...]


def groups(document: Mapping[str, Any]) -> tuple[Group, ...]:
    """The calls of a document by their tags, in the document's order."""
    calls: dict[str, list[Call]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        for method in _METHODS:
            if method in item:
                operation = item[method]
                shared = item.get("parameters", ())
                calls[operation["tags"][0]].append(_call(document, path, method, operation, shared))
    return tuple(
        Group(tag["name"], tag["description"], tuple(calls[tag["name"]])) for tag in document["tags"]
    )


def schemas(document: Mapping[str, Any]) -> tuple[SchemaView, ...]:
    """The schemas of a document by name."""
    return tuple(
        SchemaView(
            name=name,
            description=schema.get("description", ""),
            kind=tuple(_kind(schema)),
            rows=tuple(_rows(schema)),
        )
        for name, schema in sorted(document["components"]["schemas"].items())
    )


def written(value: Any) -> str:
    """An example as text: what is text already stays as it is."""
    return value if isinstance(value, str) else json.dumps(value, indent=2, ensure_ascii=False)


def _call(
    document: Mapping[str, Any],
    path: str,
    method: str,
    operation: Mapping[str, Any],
    shared: Iterable[Mapping[str, Any]],
) -> Call:
    body = operation.get("requestBody")
    return Call(
        anchor=operation["operationId"],
        method=method.upper(),
        path=path,
        summary=operation.get("summary", ""),
        description=operation.get("description", ""),
        parameters=tuple(_parameter(each) for each in (*shared, *operation.get("parameters", ()))),
        body=None if body is None else body["description"],
        forms=() if body is None else tuple(_forms(body["content"])),
        answers=tuple(
            Answer(status, told["description"], tuple(_forms(told.get("content", {}))))
            for status, told in sorted(
                (status, _resolved(document, response)) for status, response in operation["responses"].items()
            )
        ),
    )


def _resolved(document: Mapping[str, Any], response: Mapping[str, Any]) -> Mapping[str, Any]:
    if "$ref" not in response:
        return response
    found: Any = document
    for token in response["$ref"].removeprefix("#/").split("/"):
        found = found[token]
    resolved: Mapping[str, Any] = found
    return resolved


def _parameter(parameter: Mapping[str, Any]) -> Row:
    return Row(
        parameter["name"],
        tuple(_kind(parameter["schema"])),
        bool(parameter.get("required")),
        parameter.get("description", ""),
    )


def _forms(content: Mapping[str, Any]) -> Iterator[Form]:
    for media_type, told in content.items():
        kind = tuple(_kind(told.get("schema", {})))
        if "x-item-schema" in told:
            kind = (*kind, Word("; each line "), *_kind(told["x-item-schema"]))
        examples = [
            (example["summary"], written(example["value"])) for example in told.get("examples", {}).values()
        ]
        if "example" in told:
            examples.append(("Example", written(told["example"])))
        yield Form(media_type, kind, tuple(examples))


def _rows(schema: Mapping[str, Any]) -> Iterator[Row]:
    needed = schema.get("required", ())
    for name, member in schema.get("properties", {}).items():
        yield Row(name, tuple(_kind(member)), name in needed, member.get("description", ""))


def _kind(schema: Mapping[str, Any]) -> Iterator[Word]:
    """What a value may be, in words and links."""
    if "$ref" in schema:
        name = schema["$ref"].removeprefix(REFERENCES)
        yield Word(name, f"#schema-{name}")
        return
    if "anyOf" in schema:
        for number, option in enumerate(schema["anyOf"]):
            if number:
                yield Word(" or ")
            yield from _kind(option)
        return
    if "enum" in schema:
        yield Word(", ".join("null" if each is None else str(each) for each in schema["enum"]))
        return
    kinds = schema.get("type", "any value")
    for number, kind in enumerate([kinds] if isinstance(kinds, str) else kinds):
        if number:
            yield Word(" or ")
        if kind == "array":
            yield from _list(schema)
        else:
            yield Word(kind + _bounds(schema, kind))


def _list(schema: Mapping[str, Any]) -> Iterator[Word]:
    least, most = schema.get("minItems"), schema.get("maxItems")
    if least is not None and least == most:
        count = f"list of {least}"
    elif most is not None:
        count = f"list of {least or 0} to {most}"
    else:
        count = "list" if least is None else f"list of {least} or more"
    yield Word(f"{count}: ")
    yield from _kind(schema.get("items", {}))


def _bounds(schema: Mapping[str, Any], kind: str) -> str:
    if kind in ("number", "integer"):
        words = [f"{word} {schema[key]:g}" for key, word in _BOUNDS if key in schema]
        return f" {' '.join(words)}" if words else ""
    if kind == "string" and "maxLength" in schema:
        return f" of up to {schema['maxLength']} characters"
    if kind == "string" and "format" in schema:
        return f" ({schema['format']})"
    return ""
