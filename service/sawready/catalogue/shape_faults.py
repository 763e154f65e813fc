"""A file's tree against its schema: every fault with its line, and what could be read all the same."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from marshmallow import Schema, ValidationError

from sawready.catalogue.faults import Fault, Path
from sawready.catalogue.fields import MISSING
from sawready.catalogue.schemas import UNKNOWN
from sawready.catalogue.values import nearest, shape
from sawready.catalogue.yaml_door import Document

_WHOLE: Final = "_schema"
"""Marshmallow's key for a message about a mapping as a whole."""


def shaped(document: Document, schema: Schema) -> tuple[dict[str, Any], list[Fault]]:
    """What a schema makes of a document.

    Returns: the values that could be read, by key, and the faults of the others. With no fault the
        values are complete.
    """
    if not isinstance(document.data, dict):
        found = shape(document.data)
        return {}, [document.fault((), f"{found} is no settings file. Write each setting as key: value.")]
    try:
        loaded = schema.load(without_nulls(document.data))
    except ValidationError as trouble:
        valid = trouble.valid_data if isinstance(trouble.valid_data, dict) else {}
        return valid, [document.fault(path, text) for path, text in _told(trouble.messages, (), schema)]
    return dict(loaded), []


def without_nulls(tree: Any) -> Any:
    """The tree without the keys that have no value; absent and null mean the same."""
    if isinstance(tree, dict):
        return {key: without_nulls(value) for key, value in tree.items() if value is not None}
    if isinstance(tree, list):
        return [without_nulls(value) for value in tree]
    return tree


def _told(messages: Any, path: Path, schema: Schema) -> Iterator[tuple[Path, str]]:
    """Path and text of each message; the schema is the one that knows the keys at the path."""
    if isinstance(messages, Mapping):
        unknown = [key for key, inner in messages.items() if inner == [UNKNOWN]]
        meant = {key: nearest(str(key), sorted(schema.fields)) for key in unknown}
        for key, inner in messages.items():
            if key in meant:
                yield (*path, key), _unknown(meant[key], schema)
            elif key == _WHOLE:
                yield from _told(inner, path, schema)
            elif key not in meant.values() or not _is_missing(inner):
                yield from _told(inner, (*path, key), _inner(schema, key))
    else:
        for text in messages:
            yield path, str(text)


def _is_missing(messages: Any) -> bool:
    """Whether all that is wrong with a key is that it is not there; a misspelt one tells that already."""
    return isinstance(messages, list) and str(messages[0]).startswith(MISSING)


def _inner(schema: Schema, key: Any) -> Schema:
    """The schema of what stands under a key; rows and open sections keep the one around them."""
    inner = getattr(schema.fields.get(key), "schema", None)
    return inner if isinstance(inner, Schema) else schema


def _unknown(near: str | None, schema: Schema) -> str:
    known = ", ".join(sorted(schema.fields))
    return f"is not known here. {f'Did you mean {near}?' if near else f'Take it out; known here: {known}.'}"
