"""Checks the shape of raw records against the schemas: a quick yes, or every fault with its place.

The quick way is compiled from the marshmallow schemas themselves and only ever says yes; whatever it
does not accept goes through marshmallow, which finds the faults. So the schemas stay the one source.
"""

from collections.abc import Callable, Iterator
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields

from sawready.order_schema import ANSWER, OPENING, ORDER_HEAD, Checked

Accepts = Callable[[Any], bool]
Path = tuple[str | int, ...]


def _accepts(field: fields.Field[Any]) -> Accepts:
    if isinstance(field, Checked):
        return field.accepts
    if isinstance(field, fields.Nested):
        return acceptor(field.schema)
    raise TypeError(f"no quick check for {type(field).__name__}")


def acceptor(schema: Schema) -> Accepts:
    """A function that says whether a record has the shape of a schema.

    Args:
        schema: a schema made of the fields of ``order_schema``; its fields load as they stand.
    Returns: a function of one raw record; nulls count as absent.
    Raises: TypeError for a kind of field that has no quick check.
    """
    checks = {name: _accepts(field) for name, field in schema.load_fields.items()}
    required = tuple(name for name, field in schema.load_fields.items() if field.required)
    known = checks.get

    def accepts(record: Any) -> bool:
        if type(record) is not dict:
            return False
        for name, value in record.items():
            if value is None:
                continue
            check = known(name)
            if check is None or not check(value):
                return False
        return all(record.get(name) is not None for name in required)

    return accepts


_DEEPEST: Final = 8
"""Levels of an order below which nothing is nested by the schemas; a layout's tree is read by itself."""


def without_nulls(value: Any, depth: int = 0) -> Any:
    """The record with absent members left out at every level; lists keep their nulls, which hold places."""
    if depth < _DEEPEST:
        if isinstance(value, dict):
            return {name: without_nulls(item, depth + 1) for name, item in value.items() if item is not None}
        if isinstance(value, list):
            return [without_nulls(item, depth + 1) for item in value]
    return value


def _flat(errors: Any, path: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    if isinstance(errors, list):
        for error in errors:
            if isinstance(error, dict) and isinstance(error.get("reason"), str):
                yield path, error
            else:
                yield path, {"reason": "value-unreadable", "because": str(error)}
    elif isinstance(errors, dict):
        if isinstance(
            errors.get("reason"), str
        ):  # a field may be called so too; then its faults stand under it
            yield path, errors
            return
        for name, inner in errors.items():
            yield from _flat(inner, path if name == "_schema" else (*path, name))


def faults_of(schema: Schema, record: Any) -> list[tuple[Path, dict[str, Any]]]:
    """Every fault in the shape of a record, each with its path, in the order of the schema, always the same.

    Args:
        schema: a schema of ``order_schema``.
        record: the raw record.
    """
    try:
        schema.load(without_nulls(record))
    except ValidationError as error:
        return sorted(_flat(error.messages, ()), key=lambda item: _rank(schema, item[0]))
    return []


def _rank(schema: Schema | None, path: Path) -> tuple[tuple[int, str], ...]:
    """Sorts paths by the order of the schema at each level, strange names after the others and by name.

    marshmallow tells strange names in an order that changes from process to process.
    """
    found: list[tuple[int, str]] = []
    for step in path:
        fields_here = {} if schema is None else schema.load_fields
        names = list(fields_here)
        found.append((names.index(str(step)) if step in fields_here else len(names), str(step)))
        field = fields_here.get(str(step))
        schema = field.schema if isinstance(field, fields.Nested) else None
    return tuple(found)


opening_accepts: Final = acceptor(OPENING)
order_head_accepts: Final = acceptor(ORDER_HEAD)
answer_accepts: Final = acceptor(ANSWER)
