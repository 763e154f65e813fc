"""Fields of the file schemas: each reads the text of one value by a function of `values`."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from fractions import Fraction
from functools import partial
from typing import Any, Final, TypeVar

from marshmallow import ValidationError, fields

from sawready.catalogue import values

T = TypeVar("T")

MISSING: Final = "is missing."
"""How the message about a needed key that is not there begins."""

_NUMBER: Final[Mapping[str, Any]] = {"type": "number"}
_NUMBERS: Final[Mapping[str, Any]] = {"type": "array", "items": _NUMBER, "minItems": 1}


def about(meaning: str, *, required: bool = True) -> dict[str, Any]:
    """Arguments of a field: what its value means, told where it is missing and in the published schema.

    Example:
        >>> about("depth of the frame [mm]")["metadata"]
        {'description': 'depth of the frame [mm]'}
    """
    return {
        "required": required,
        "metadata": {"description": meaning},
        "error_messages": {"required": f"{MISSING} Add it: {meaning}."},
    }


class Reading(fields.Field[T]):
    """A value that a function reads.

    Attributes:
        json_schema: what the value may be in the words of JSON Schema, for the published schema.
    """

    def __init__(self, read: Callable[[Any], T], json_schema: Mapping[str, Any], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.read = read
        self.json_schema = json_schema

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> T:
        del attr, data, kwargs
        try:
            return self.read(value)
        except ValueError as trouble:
            raise ValidationError(str(trouble)) from None


class Exact(Reading[Fraction]):
    """An exact number."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.exact, _NUMBER, **kwargs)


class Measure(Reading[float]):
    """A number that needs no exactness, such as a mass."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.measure, _NUMBER, **kwargs)


class ExactRange(Reading[tuple[Fraction, Fraction]]):
    """Least and greatest."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.exact_range, {**_NUMBERS, "minItems": 2, "maxItems": 2}, **kwargs)


class Ascending(Reading[tuple[Fraction, ...]]):
    """Numbers, each above the one before."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.ascending, {**_NUMBERS, "uniqueItems": True}, **kwargs)


class ExactList(Reading[tuple[Fraction, ...]]):
    """Numbers in the order given."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.exact_list, _NUMBERS, **kwargs)


class Text(Reading[str]):
    """One line of text for people."""

    def __init__(self, **kwargs: Any) -> None:
        bounds = {"type": "string", "minLength": 1, "maxLength": values.MOST_TEXT}
        super().__init__(values.text, bounds, **kwargs)


class Name(Reading[str]):
    """A name by which orders and lists call something."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.name, {"type": "string", "pattern": f"^{values.NAME.pattern}$"}, **kwargs)


class Day(Reading[date]):
    """A day of the calendar."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.day, {"type": "string", "format": "date"}, **kwargs)


class YesNo(Reading[bool]):
    """A claim that is true or not."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(values.yes_no, {"enum": [True, False, "yes", "no"]}, **kwargs)


class Choice(Reading[str]):
    """One of a few words."""

    def __init__(self, words: Iterable[str], **kwargs: Any) -> None:
        known = tuple(words)
        super().__init__(partial(values.choice, words=known), {"enum": list(known)}, **kwargs)
