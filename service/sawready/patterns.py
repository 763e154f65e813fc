"""Openings that differ from one already judged only in their numbers: most of what a sheet holds.

A window of a street is like its neighbours but for its reference and its readings. The first of a kind is
read, sized and judged the long way; what does not follow from its numbers is kept as a pattern, and
whatever follows is worked out for each opening by the same functions. What a pattern may leave out is not
declared but watched: a check that looked at nothing but what the pattern fixes comes to the same for every
opening of it, and one that looked at anything else runs each time.

Nothing is decided here. A row that is not plainly like its pattern goes the long way.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from operator import itemgetter
from typing import Any, Final, Protocol

from marshmallow import Schema

from sawready.catalogue.load import Catalogue
from sawready.lengths import Count, Length, read_length, read_quantity
from sawready.model.finding import Finding
from sawready.model.order import Opening, Order
from sawready.normalise import CallerDefaults, OrderReader, ReadOpening, whole_number
from sawready.order_facts import OrderFacts
from sawready.order_schema import OPENING, ORDER_HEAD, Checked
from sawready.resizing import Resizer
from sawready.rules.run import Steps
from sawready.sizing import Sized

MOST_PATTERNS: Final = 8192
"""Patterns that are kept of one kind of head; with more the oldest half goes."""

MOST_TEXTS: Final = 8_192

_READINGS: Final = {
    "widths": ("width_top", "width_middle", "width_bottom"),
    "heights": ("height_left", "height_middle", "height_right"),
    "diagonals": ("diagonal_1", "diagonal_2"),
}
_OWN: Final = (
    "opening_ref",
    "quantity",
    "room",
    "storey",
    "floor_to_sill",
    "note",
    "frame_width",
    "frame_height",
)
"""Columns besides the readings that are an opening's own and no part of its pattern."""

_ASKED: Final = (
    "quantity",
    "room",
    "storey",
    "floor_to_sill",
    "frame_width",
    "frame_height",
    "diagonal_1",
    "diagonal_2",
)
"""Of these it is part of the pattern whether they are blank."""


class RowShape:
    """Where the columns of a sheet that belong to an opening stand in a row of texts.

    Args:
        names: our names of the columns, in their order in the row.

    Attributes:
        key_of: gives what makes the pattern of a row.
        places: number of each own column, or of a blank text behind the row.
        readings: the numbers of the columns of each list of readings.
        is_usual: whether the sheet has what the quick way needs.
    """

    def __init__(self, names: Sequence[str]) -> None:
        place = {name: number for number, name in enumerate(names)}
        blank = len(names)
        own = {*_OWN, *(name for columns in _READINGS.values() for name in columns)}
        fixed = [number for number, name in enumerate(names) if name not in own]
        asked = [place.get(name, blank) for name in _ASKED]
        pick, ask = itemgetter(*fixed, blank, blank), itemgetter(*asked)
        self.key_of: Callable[[Sequence[str]], tuple[tuple[str, ...], tuple[bool, ...]]] = lambda row: (
            pick(row),
            tuple(map(bool, ask(row))),
        )
        self.places = {name: place.get(name, blank) for name in _OWN}
        self.readings = {
            group: itemgetter(*(place.get(name, blank) for name in columns))
            for group, columns in _READINGS.items()
        }
        self.is_usual = {"opening_ref", "width_top", "height_left"} <= set(names)


@lru_cache(maxsize=256)
def row_shape(names: tuple[str, ...]) -> RowShape:
    """The shape of rows with these columns; the same object for the same columns."""
    return RowShape(names)


class _Read(dict[str, Any]):
    """Texts and what they say, each read once by the reader of its kind; None where that is not plain.

    Args:
        read: reads a text.
    """

    def __init__(self, read: Callable[[str], Any]) -> None:
        super().__init__()
        self._read = read

    def __missing__(self, text: str) -> Any:
        """Reads a text that has not been met."""
        if len(self) >= MOST_TEXTS:
            self.clear()
        value = self[text] = self._read(text)
        return value


def _checked(name: str, schema: Schema = OPENING) -> Callable[[str], str | None]:
    """Accepts a text as the schema's field does."""
    field = schema.fields[name]
    if not isinstance(field, Checked):
        raise TypeError(f"{name} is no field that is checked")
    return lambda text: text if field.accepts(text) else None


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """What openings of one kind share.

    Attributes:
        state: members of the opening that they have in common.
        sizes: sizes them as it did the first of them.
        is_turned: they are written from inside.
        steps: the checks that are left.
    """

    state: Mapping[str, Any]
    sizes: Resizer
    is_turned: bool
    steps: Steps


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """An opening that has been read by its pattern."""

    pattern: Pattern
    opening: Opening

    def sized(self, base: str, shared: OrderFacts) -> Sized | None:
        """Its sizes; None where its numbers lead elsewhere."""
        return self.pattern.sizes.sized(self.opening, base=base, shared=shared)


class Rows(Protocol):
    """An order of a sheet as its rows."""

    @property
    def head(self) -> tuple[str, ...]:
        """Values of the order's own columns, the reference first."""

    @property
    def is_plain(self) -> bool:
        """Whether the door has nothing to say of it."""

    @property
    def rows(self) -> Sequence[list[str]]:
        """Of each opening, the texts of its columns, and a blank one behind them."""

    @property
    def shape(self) -> RowShape:
        """Where they stand."""

    def record(self) -> dict[str, Any]:
        """The order in its nested form without its openings."""

    def opening(self, number: int) -> tuple[dict[str, Any], Sequence[Finding]]:
        """An opening in its nested form, and what the door has to say of it."""


class Patterns:
    """The patterns of openings under one kind of head.

    Args:
        reader: reads what the head decides: units, view, limits.
        shape: columns of the sheet.
    """

    def __init__(self, reader: OrderReader, shape: RowShape) -> None:
        self._shape = shape
        self._patterns: dict[Any, Pattern] = {}
        self._refs = _Read(_checked("opening_ref"))
        self._rooms = _Read(_checked("room"))
        self._note = _checked("note")
        self._storeys = _Read(_storey)
        self._quantities = _Read(_quantity)

        def lengths(kind: str, axis: str | None) -> _Read:
            least, most = reader.limits.get(kind) or reader.any_limit
            words = kind not in ("size", "diagonal")

            def read(text: str) -> int | None:
                found = read_length(
                    text,
                    unit=reader.units,
                    number_style=reader.number_style,
                    least_nm=least,
                    most_nm=most,
                    axis=axis,
                    words_for_none=words,
                )
                return found.nm if type(found) is Length and not found.remarks else None

            return _Read(read)

        self._widths, self._heights = lengths("size", "width"), lengths("size", "height")
        self._diagonals, self._floors = lengths("diagonal", None), lengths("", None)

    def known(self, index: int, texts: Sequence[str]) -> tuple[Any, Known | None]:
        """An opening by its pattern.

        Args:
            index: its number in the order.
            texts: of its columns, and a blank one behind them.
        Returns: what its pattern is known by, and the opening; None for one that goes the long way.
        """
        shape = self._shape
        key = shape.key_of(texts)
        pattern = self._patterns.get(key)
        if pattern is None:
            return key, None
        readings = shape.readings
        widths, heights = readings["widths"](texts), readings["heights"](texts)
        if not widths[0] or not heights[0]:
            return key, None
        places = shape.places
        widths_nm = tuple([self._widths[text] for text in widths if text])
        heights_nm = tuple([self._heights[text] for text in heights if text])
        diagonals_nm = tuple([self._diagonals[text] for text in readings["diagonals"](texts) if text])
        if None in widths_nm or None in heights_nm or None in diagonals_nm:
            return key, None
        own: dict[str, Any] = {"index": index}
        for name, member, read in (
            ("opening_ref", "opening_ref", self._refs),
            ("quantity", "quantity", self._quantities),
            ("room", "room", self._rooms),
            ("storey", "storey", self._storeys),
            ("floor_to_sill", "floor_to_sill_nm", self._floors),
            ("frame_width", "frame_width_nm", self._widths),
            ("frame_height", "frame_height_nm", self._heights),
        ):
            text = texts[places[name]]
            if text:
                value = own[member] = read[text]
                if value is None:
                    return key, None
            elif name == "opening_ref":
                return key, None
        if note := texts[places["note"]]:
            own["note"] = self._note(note)
            if own["note"] is None:
                return key, None
        if pattern.is_turned:
            heights_nm, diagonals_nm = heights_nm[::-1], diagonals_nm[::-1]
        opening = object.__new__(Opening)
        # A frozen value with some forty members: copying those of its pattern is ten times as quick as
        # setting each, and this happens once an opening.
        state = opening.__dict__
        state.update(pattern.state)
        state.update(own)
        state["widths_nm"], state["heights_nm"], state["diagonals_nm"] = widths_nm, heights_nm, diagonals_nm
        state["stated_height_nm"] = state["frame_height_nm"]
        return key, Known(pattern, opening)

    def learn(self, key: Any, read: ReadOpening, sized: Sized) -> None:
        """Makes a pattern of an opening that went the long way, where it is plain in everything.

        Args:
            key: what its pattern is known by.
            read: the opening, with what was found on reading it.
            sized: its sizes.
        """
        opening, plan = read.opening, sized.plan
        if read.findings or read.needs_view or opening.unread or opening.reading_places:
            return  # a fault may be of this opening alone, and the next of its kind be sound
        if plan is None or sized.fixings is None or "lights" in sized.missing or sized.bead is None:
            return
        if sized.width is None or sized.height is None or len(sized.glazed) != len(plan.lights):
            return
        if len(self._patterns) >= MOST_PATTERNS:
            for old in list(self._patterns)[: MOST_PATTERNS // 2]:
                del self._patterns[old]
        state = {**opening.__dict__, "note": None}
        self._patterns[key] = Pattern(state, Resizer(sized), read.is_turned, Steps.watched(sized))


def _quantity(text: str) -> int | None:
    read = read_quantity(text)
    return read.count if isinstance(read, Count) and not read.remarks else None


def _storey(text: str) -> int | None:
    return whole_number(text) if _checked("storey")(text) is not None else None


@dataclass(frozen=True, slots=True, eq=False)
class Head:
    """What an order's head decides, and the patterns met under it.

    Attributes:
        reader: reads its openings the long way.
        patterns: reads them by their patterns.
        order: the order itself.
    """

    reader: OrderReader
    patterns: Patterns
    order: Order


_MOST_HEADS: Final = 1024
_heads: dict[Any, tuple[Catalogue, OrderReader, Patterns] | None] = {}
_patterns: dict[Any, tuple[OrderReader, Patterns]] = {}
_ORDER_REF: Final = _Read(_checked("order_ref", ORDER_HEAD))
_FOLDED: Final = _Read(lambda text: "".join(text.casefold().split()))


def head_of(rows: Rows, *, catalogue: Catalogue, caller: CallerDefaults) -> Head | None:
    """The head of an order, where it is plain in everything; None for one that goes the long way.

    Args:
        rows: the order.
        catalogue: systems and rulebooks on file.
        caller: what the caller says for what the order leaves open.
    """
    order_ref = rows.head[0]
    if not rows.is_plain or not rows.shape.is_usual or _ORDER_REF[order_ref] is None:
        return None
    key = (rows.head[1:], rows.shape, caller, id(catalogue))
    if key not in _heads:
        if len(_heads) >= _MOST_HEADS:
            _heads.clear()
        _heads[key] = _read_head(rows, catalogue, caller)
    known = _heads[key]
    if known is None:
        return None
    _, reader, patterns = known
    return Head(reader, patterns, replace(reader.order, order_ref=order_ref))


def _read_head(
    rows: Rows, catalogue: Catalogue, caller: CallerDefaults
) -> tuple[Catalogue, OrderReader, Patterns] | None:
    """Reads a head the long way; the catalogue stays with it, so that its identity is its own."""
    reader = OrderReader(rows.record(), catalogue, caller)
    order, system, rulebook = reader.order, reader.system, reader.rulebook
    if reader.head or reader.viewed_from is None or system is None or rulebook is None:
        return None
    # What the openings of a head are read, sized and judged by; a surveyor or a date is no part of it.
    key = (
        rows.shape,
        reader.units,
        reader.number_style,
        reader.viewed_from,
        system,
        id(rulebook),
        order.site,
    )
    known = _patterns.get(key)
    if known is None or known[0].rulebook is not rulebook:
        if len(_patterns) >= _MOST_HEADS:
            _patterns.clear()
        known = _patterns[key] = reader, Patterns(reader, rows.shape)
    return catalogue, reader, known[1]


def are_references_apart(openings: Sequence[Opening]) -> bool:
    """Whether no two openings of an order have the same reference, spaces and case aside."""
    folded = [_FOLDED[opening.opening_ref] for opening in openings if opening.opening_ref is not None]
    return len(set(folded)) == len(folded)
