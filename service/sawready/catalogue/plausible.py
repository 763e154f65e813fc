"""Whether the figures of a file are plausible, by ranges that are data with sources."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, TypeAlias

from marshmallow import fields

from sawready.catalogue.faults import CatalogueFileError, Fault, Path
from sawready.catalogue.fields import ExactRange, about
from sawready.catalogue.figure_fields import EditionList, SourcedSchema, unit_of
from sawready.catalogue.schemas import Strict
from sawready.catalogue.shape_faults import shaped
from sawready.catalogue.values import number_text
from sawready.catalogue.yaml_door import Document

_CHECK: Final = "Check the figure, its decimal point and its unit."
_FIGURE_NUMBERS: Final = ("value", "least", "most", "usual")


class RangeSchema(SourcedSchema):
    """One range of the file of plausible ranges."""

    range = ExactRange(**about("least and greatest that is plausible"))


class PlausibleSchema(Strict):
    """The file of plausible ranges: by kind of file, by path of the figure."""

    system = fields.Dict(keys=fields.String(), values=fields.Nested(RangeSchema), required=True)
    rulebook = fields.Dict(keys=fields.String(), values=fields.Nested(RangeSchema), required=True)


@dataclass(frozen=True, slots=True)
class PlausibleRange:
    """What a figure can plausibly be, both ends included."""

    least: Fraction
    most: Fraction
    source: str


Node: TypeAlias = "PlausibleRange | dict[str, Node]"


class PlausibleRanges:
    """The ranges of one kind of file, looked up by path; ``*`` stands for any key or row.

    Args:
        ranges: range by dotted path. No path leads on from a path that has a range, and beside a ``*``
            no key is named.
    """

    def __init__(self, ranges: Mapping[str, PlausibleRange]) -> None:
        self.ranges = ranges
        self._top: dict[str, Node] = {}
        for path, limits in ranges.items():
            *inner, last = path.split(".")
            node = self._top
            for step in inner:
                below = node.setdefault(step, {})
                if not isinstance(below, dict):
                    raise TypeError(f"{path}: a range lies on the way to another")
                node = below
            node[last] = limits

    def faults(self, document: Document, data: Mapping[str, Any]) -> list[Fault]:
        """Each figure of a file's data that lies outside its range, with its line."""
        return [document.fault(path, text) for path, text in _outside(data, self._top, ())]


def plausible_ranges(document: Document) -> dict[str, PlausibleRanges]:
    """The ranges by kind of file: ``system`` and ``rulebook``.

    Raises: CatalogueFileError where the document is no table of ranges.
    """
    data, faults = shaped(document, PlausibleSchema())
    if faults:
        raise CatalogueFileError(faults)
    ranges = {kind: {path: _range(row) for path, row in rows.items()} for kind, rows in data.items()}
    return {kind: PlausibleRanges(rows) for kind, rows in ranges.items()}


def _range(row: Mapping[str, Any]) -> PlausibleRange:
    least, most = row["range"]
    return PlausibleRange(least, most, row["source"])


def _outside(data: Any, node: Node, path: Path) -> Iterator[tuple[Path, str]]:
    """Path and text of each figure outside its range."""
    if isinstance(data, EditionList):
        for edition, place in zip(data, data.places, strict=True):
            yield from _outside(edition, node, path + place)
    elif isinstance(node, PlausibleRange):
        yield from _outside_range(data, node, path)
    elif isinstance(data, Mapping):
        for key, inner in data.items():
            below = node.get(key) or node.get("*")
            if below is not None:
                yield from _outside(inner, below, (*path, key))
    elif isinstance(data, list):
        for row, inner in enumerate(data):
            yield from _outside(inner, node["*"], (*path, row))


def _outside_range(data: Any, limits: PlausibleRange, path: Path) -> Iterator[tuple[Path, str]]:
    """The same where the range stands: for a number, for numbers, for a rulebook's figure."""
    if isinstance(data, Mapping):
        for key in _FIGURE_NUMBERS:
            yield from _outside_range(data.get(key), limits, (*path, key))
    elif isinstance(data, tuple):
        for number in data:
            yield from _outside_range(number, limits, path)
    elif isinstance(data, Fraction | float) and not limits.least <= data <= limits.most:
        units = [unit_of(step) for step in path if isinstance(step, str) and unit_of(step)]
        unit = f" {units[-1]}" if units else ""
        span = f"{number_text(limits.least)} to {number_text(limits.most)}"
        yield (
            path,
            f"{number_text(data)}{unit} is not plausible; {span}{unit} is ({limits.source}). {_CHECK}",
        )
