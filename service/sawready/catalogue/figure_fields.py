"""Figures of a rulebook file: each with its source, in one edition or several, in a tree of sections.

A figure is a mapping with ``value`` (a number, numbers, or a word) or ``rows`` (a table), ``source`` and
``confidence``; its unit follows from the end of its key (``_mm``) or is given. A list of such mappings
is the editions of one figure.
"""

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Any, ClassVar, Final

from marshmallow import Schema, ValidationError, fields

from sawready.catalogue import values
from sawready.catalogue.fields import Choice, Day, Exact, ExactRange, Text, about
from sawready.catalogue.figures import CONFIDENCES
from sawready.catalogue.schemas import Strict

UNITS: Final[Mapping[str, str]] = {
    "_mm": "mm",
    "_mm2": "mm2",
    "_mm4": "mm4",
    "_m": "m",
    "_m2": "m2",
    "_kg": "kg",
    "_kg_m": "kg/m",
    "_kg_m2": "kg/m2",
    "_kg_m3": "kg/m3",
    "_pa": "Pa",
    "_kpa": "kPa",
    "_mpa": "MPa",
    "_pa_s": "Pa s",
    "_j_kgk": "J/kgK",
    "_n": "N",
    "_n_mm": "N/mm",
    "_n_mm2": "N/mm2",
    "_n_m2": "N/m2",
    "_w_m2k": "W/m2K",
    "_w_mk": "W/mK",
    "_m2k_w": "m2K/W",
    "_m_s": "m/s",
    "_l_s": "l/s",
    "_c": "degC",
    "_k": "K",
    "_per_k": "1/K",
    "_deg": "deg",
    "_percent": "%",
}
"""Unit by the end of a key; the longest end that fits counts."""

WORD: Final = "word"
"""The unit of a figure whose value is a word, such as a class."""

MOST_TREE_DEPTH: Final = 6

_FIGURE_KEYS: Final = frozenset({"value", "rows", "source", "confidence", "unit", "edition", "in_force"})
_SECTION_MESSAGE: Final = "must be a figure with value, source and confidence, or a section of figures."


def unit_of(key: str) -> str:
    """The unit that a key's end names; empty where it names none.

    Example:
        >>> unit_of("u_value_most_w_m2k"), unit_of("area_least_m2"), unit_of("least_per_side")
        ('W/m2K', 'm2', '')
    """
    ends = [end for end in UNITS if key.endswith(end)]
    return UNITS[max(ends, key=len)] if ends else ""


class FigureValue(fields.Field[Fraction | tuple[Fraction, ...] | str]):
    """A number, a list of numbers, or a word; which of them is right depends on the figure."""

    json_schema: ClassVar = {
        "oneOf": [{"type": "number"}, {"type": "array", "items": {"type": "number"}}, {"type": "string"}]
    }

    def _deserialize(
        self, value: Any, attr: str | None, data: Any, **kwargs: Any
    ) -> Fraction | tuple[Fraction, ...] | str:
        del attr, kwargs
        try:
            if isinstance(value, list):
                return values.exact_list(value)
            if isinstance(data, Mapping) and data.get("unit") == WORD:
                return values.text(value)
            return values.exact(value)
        except ValueError as trouble:
            raise ValidationError(str(trouble)) from None


Row = dict[str, Fraction | str]


class TableRows(fields.Field[tuple[Row, ...]]):
    """Rows of a table: keys that end in a unit and some others hold numbers, all else is text."""

    NUMBERS: ClassVar[frozenset[str]] = frozenset({"value", "least", "most"})
    json_schema: ClassVar = {
        "type": "array",
        "minItems": 1,
        "items": {"type": "object", "additionalProperties": {"type": ["number", "string"]}},
    }

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> tuple[Row, ...]:
        del attr, data, kwargs
        if not isinstance(value, list) or not value:
            raise ValidationError(f"{values.shape(value)} is no list of rows. Begin each row with '- '.")
        rows: list[Row] = []
        errors: dict[str | int, Any] = {}
        for place, row in enumerate(value):
            try:
                rows.append(self._row(row))
            except ValidationError as trouble:
                errors[place] = trouble.messages
        if errors:
            raise ValidationError(errors)
        return tuple(rows)

    def _row(self, row: Any) -> Row:
        if not isinstance(row, Mapping):
            raise ValidationError(f"{values.shape(row)} is no row. Write its cells as key: value.")
        cells: Row = {}
        errors: dict[str, Any] = {}
        for key, cell in row.items():
            try:
                cells[key] = values.exact(cell) if key in self.NUMBERS or unit_of(key) else values.text(cell)
            except ValueError as trouble:
                errors[key] = [str(trouble)]
        if errors:
            raise ValidationError(errors)
        return cells


class SourcedSchema(Strict):
    """What every figure says about itself."""

    source = Text(**about("document, edition and table; or common practice, starting value, from memory"))
    confidence = Choice(CONFIDENCES, **about("high, medium or low; low may query, never reject"))
    note = Text(**about("remark for people", required=False))
    edition = Text(**about("edition of the document", required=False))
    paragraph = Text(**about("place in the document", required=False))
    in_force = Day(**about("first day on which the figure holds; always if absent", required=False))
    checked = Day(**about("day on which it was last compared with its source", required=False))


class FigureSchema(SourcedSchema):
    """One edition of a figure."""

    value = FigureValue(**about("a number, a list of numbers, or a word", required=False))
    rows = TableRows(**about("a table, in place of a value", required=False))
    unit = Text(**about("unit where the key does not end in one; 'word' for a word", required=False))
    range = ExactRange(**about("bounds between which the value must lie", required=False))
    least = Exact(**about("least that is allowed", required=False))
    most = Exact(**about("greatest that is allowed", required=False))
    usual = Exact(**about("what is usual", required=False))


class EditionList(list[dict[str, Any]]):
    """Editions of a figure as read, oldest first, with each one's place in the file."""

    def __init__(self, editions: list[tuple[dict[str, Any], tuple[int, ...]]]) -> None:
        super().__init__(edition for edition, _ in editions)
        self.places = tuple(place for _, place in editions)


class Editions(fields.Field[EditionList]):
    """One mapping, or a list of them with different days in force."""

    def __init__(self, nested: type[Schema], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.schema = nested()

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> EditionList:
        del data, kwargs
        if not isinstance(value, list):
            return EditionList([(self.edition(value, attr or ""), ())])
        if not value:
            raise ValidationError("has no edition. Give it as a mapping with value, source and confidence.")
        editions: list[tuple[dict[str, Any], tuple[int, ...]]] = []
        errors: dict[int | str, Any] = {}
        for place, item in enumerate(value):
            try:
                editions.append((self.edition(item, attr or ""), (place,)))
            except ValidationError as trouble:
                errors[place] = trouble.messages
        days: dict[date | None, int] = {}
        for edition, (place,) in editions:
            first = days.setdefault(edition.get("in_force"), place)
            if first != place:
                errors[place] = {
                    "in_force": [
                        f"is the same as in edition {first + 1}. Give each edition its own first day."
                    ]
                }
        if errors:
            raise ValidationError(errors)
        return EditionList(sorted(editions, key=lambda pair: pair[0].get("in_force", date.min)))

    def edition(self, value: Any, key: str) -> dict[str, Any]:
        """One edition of the figure under a key."""
        del key
        if not isinstance(value, Mapping):
            raise ValidationError(f"{values.shape(value)} has no source. {_SECTION_MESSAGE}")
        loaded: dict[str, Any] = self.schema.load(value)
        return loaded


class FigureField(Editions):
    """A figure: a number where nothing else is asked for.

    Args:
        kind: ``number``, ``range`` (least and greatest), ``count`` (whole, from 1) or ``any``.
    """

    def __init__(self, *, kind: str = "number", **kwargs: Any) -> None:
        super().__init__(FigureSchema, **kwargs)
        self.kind = kind

    def edition(self, value: Any, key: str) -> dict[str, Any]:
        """One edition, its value of the right kind, its unit filled in."""
        edition = super().edition(value, key)
        errors: dict[str, list[str]] = {}
        unit = unit_of(key)
        stated = edition.setdefault("unit", unit)
        if unit and stated != unit:
            errors["unit"] = [f"{stated!r} disagrees with the key, which says {unit}. Take it out."]
        if ("value" in edition) == ("rows" in edition):
            raise ValidationError("needs either value or rows. Give one of them.")
        trouble = self._wrong_kind(edition.get("value"))
        if trouble:
            errors["value"] = [trouble]
        errors.update(_out_of_own_range(edition))
        if errors:
            raise ValidationError(errors)
        return edition

    def _wrong_kind(self, value: Any) -> str | None:
        if self.kind == "number" and not isinstance(value, Fraction):
            return "must be one number. Write it without brackets."
        if self.kind == "range" and not (
            isinstance(value, tuple) and len(value) == 2 and value[0] < value[1]
        ):
            return "must be two numbers, the least below the greatest. Write them as [least, greatest]."
        if self.kind == "count" and not (
            isinstance(value, Fraction) and value.denominator == 1 and value >= 1
        ):
            return "must be a whole number from 1. Write it without decimals."
        return None


def _out_of_own_range(edition: Mapping[str, Any]) -> dict[str, list[str]]:
    """Faults of an edition's figures against its own ``range``."""
    bounds = edition.get("range")
    if bounds is None:
        return {}
    least, most = bounds
    faults: dict[str, list[str]] = {}
    for key in ("value", "least", "most", "usual"):
        value = edition.get(key)
        for number in value if isinstance(value, tuple) else (value,):
            if isinstance(number, Fraction) and not least <= number <= most:
                span = f"{values.number_text(least)} to {values.number_text(most)}"
                faults[key] = [f"{values.number_text(number)} is outside its own range, {span}. Correct one."]
    return faults


class FigureTree(fields.Field[dict[str, Any]]):
    """An open section: figures and further sections by name."""

    schema = FigureSchema()

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> dict[str, Any]:
        del attr, data, kwargs
        return self._section(value, depth=1)

    def _section(self, value: Any, *, depth: int) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise ValidationError(f"{values.shape(value)} is no section. It {_SECTION_MESSAGE}")
        if depth > MOST_TREE_DEPTH:
            raise ValidationError(f"sections nest deeper than {MOST_TREE_DEPTH}. Write them flatter.")
        section: dict[str, Any] = {}
        errors: dict[str, Any] = {}
        for key, inner in value.items():
            if not values.NAME.fullmatch(key) or "." in key:
                errors[key] = ["is no name. Use letters, digits and '_'."]
                continue
            try:
                if _is_figure(inner):
                    section[key] = FigureField(kind="any").deserialize(inner, key, value)
                else:
                    section[key] = self._section(inner, depth=depth + 1)
            except ValidationError as trouble:
                errors[key] = trouble.messages
        if errors:
            raise ValidationError(errors)
        return section


def _is_figure(value: Any) -> bool:
    return isinstance(value, list) or (isinstance(value, Mapping) and not _FIGURE_KEYS.isdisjoint(value))
