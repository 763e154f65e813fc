"""How the cells of one sheet become the nested order: worked out once per header, then run per row."""

from collections.abc import Callable, Collection, Sequence
from itertools import compress
from operator import itemgetter
from typing import Any, Final, NamedTuple

from sawready.model.finding import REJECT, Cell, Finding
from sawready.model.pointer import pointer, tokens_of
from sawready.order_schema import MOST_OPENINGS
from sawready.patterns import RowShape, row_shape
from sawready.readers.column_map import PAIR_COLUMNS, ColumnMap, PairOrder
from sawready.readers.columns import COLUMNS, Column
from sawready.readers.csv_match import MOST_NAMED, matched
from sawready.readers.fault import shown
from sawready.readers.raw import RawOrder

SEPARATOR: Final = "\x1f"
"""Parts the cells of a row that is held: a control character, which no cell can hold."""

MOST_REMEMBERED: Final = 1000
"""Paths whose columns are remembered."""

SOURCE: Final = "contract of the order, section 2"

Values = tuple[str, ...]


class PairPlaces(NamedTuple):
    """Where a cell with both sizes stands among a row's values, its heading, and which comes first."""

    width: int
    height: int
    heading: str
    order: PairOrder | None


class Group:
    """The rows of one order while the sheet is read, held compactly.

    Attributes:
        head: values of the order's own columns in its first row.
        others: differing values of later rows, with the line of the first row of each.
        lines: physical line of each row.
        bodies: values of the opening's columns of each row, joined; no more than an order may have.
        problems: findings of single rows.
    """

    __slots__ = ("bodies", "head", "lines", "others", "problems")

    def __init__(self) -> None:
        self.head: Values = ()
        self.others: dict[Values, int] = {}
        self.lines: list[int] = []
        self.bodies: list[str] = []
        self.problems: list[Finding] = []

    @property
    def count(self) -> int:
        """How many rows it has."""
        return len(self.lines)

    def add(self, line: int, head: Values, body: str) -> None:
        """Takes a row in."""
        if not self.lines:
            self.head = head
        elif head != self.head:
            self.others.setdefault(head, line)
        self.lines.append(line)
        if len(self.bodies) < MOST_OPENINGS:
            self.bodies.append(body)


class SheetOrder:
    """An order of a sheet as its rows, of which the nested form is made only where it is needed.

    Attributes:
        source: name of the sheet.
        head: values of the order's own columns.
    """

    __slots__ = ("_group", "_plan", "head", "source")

    def __init__(self, plan: "Plan", group: Group, source: str) -> None:
        self._plan = plan
        self._group = group
        self.source = source
        self.head = group.head

    @property
    def count(self) -> int:
        """How many openings it has."""
        return self._group.count

    @property
    def is_plain(self) -> bool:
        """Whether the sheet itself has nothing to say of it, and its rows agree about the order."""
        return not self._group.problems and not self._group.others

    @property
    def shape(self) -> RowShape:
        """Where the columns of its openings stand."""
        return row_shape(self._plan.body)

    @property
    def rows(self) -> list[list[str]]:
        """Of each opening, the texts of its columns, and a blank one behind them."""
        # One split for each row, with the blank put behind it beforehand.
        return [(body + SEPARATOR).split(SEPARATOR) for body in self._group.bodies]

    def record(self) -> dict[str, Any]:
        """The order in its nested form without its openings."""
        return self._plan.head(self._group, [])

    def opening(self, number: int) -> tuple[dict[str, Any], list[Finding]]:
        """One opening in its nested form, and what the sheet has to say of it."""
        opening, gaps = self._plan.opening(self._group.bodies[number].split(SEPARATOR))
        places = _Places(self._plan, self._group)
        return opening, [self._plan.first_missing(name, number, places) for name in gaps]

    def cell(self, at: str) -> Cell | None:
        """Line and heading of the value at a pointer."""
        return _Places(self._plan, self._group).cell(at)

    def raw(self) -> RawOrder:
        """The whole order in its nested form."""
        return self._plan.order(self._group, self.source)

    def content(self) -> str:
        """What it says, whatever the order of the columns: each column's name and value that is not blank."""
        plan, group = self._plan, self._group
        names = [column.name for column in plan.columns]
        heads = [group.head, *group.others]
        parts = [
            name + SEPARATOR + value
            for head in heads
            for name, value in zip(names, head, strict=False)
            if value
        ]
        body_names = plan.body
        for body in group.bodies:
            parts.append("")
            parts += [
                name + SEPARATOR + value
                for name, value in zip(body_names, body.split(SEPARATOR), strict=True)
                if value
            ]
        return "\n".join(parts)


class Plan:
    """Which cell of a sheet goes where.

    Attributes:
        header: the sheet's headings.
        columns: our columns that the sheet or the map's defaults give: the order's, those of its
            openings, readings last.
        headings: heading of each, None where only a default gives it.
        unnamed: numbers of the columns without a heading, which must be blank.
        body: names of the columns that belong to openings, in their order.
    """

    def __init__(
        self,
        header: Sequence[str],
        *,
        line: int,
        column_map: ColumnMap | None = None,
        supplied: Collection[str] = (),
    ) -> None:
        """Matches headings with columns.

        Args:
            header: the headings.
            line: their physical line.
            column_map: how a firm's own sheet is read.
            supplied: our columns whose values the caller supplies by other means.
        Raises: FaultError naming every heading that is unknown, and every needed or mapped column that
            is not there.
        """
        self.header = tuple(header)
        index = matched(header, line=line, column_map=column_map, supplied=supplied)
        defaults = {} if column_map is None else dict(column_map.defaults)
        given = [column for column in COLUMNS if column.name in index or column.name in defaults]
        self.columns = tuple(sorted(given, key=_rank))
        self.unnamed = [number for number, name in enumerate(header) if not name]
        self._extra = [defaults[column.name] for column in self.columns if column.name not in index]
        places: list[int] = []
        self.headings: list[str | None] = []
        for column in self.columns:
            place = index.get(column.name)
            if place is None:
                place = len(header) + sum(heading is None for heading in self.headings)
                self.headings.append(None)
            else:
                self.headings.append(header[place])
            places.append(place)
        self._pick = _picker(places, width=len(header))
        self._fill = [
            (number, defaults[column.name])
            for number, column in enumerate(self.columns)
            if column.name in defaults and self.headings[number] is not None
        ]
        self._heads = sum(column.level == "order" for column in self.columns)
        body = self.columns[self._heads :]
        self.body = tuple(column.name for column in body)
        self._parents = [
            str(column.path[0]) if len(column.path) == 2 else None for column in body if not column.is_reading
        ]
        self._keys = [str(column.path[-1]) for column in body if not column.is_reading]
        self._lists = _slices(body)
        self.pair = self._pair_of(column_map)
        self._under: dict[tuple[tuple[str, ...], int, int], tuple[int, ...]] = {}

    def _pair_of(self, column_map: ColumnMap | None) -> PairPlaces | None:
        """Where both sizes of one cell go."""
        if column_map is None or column_map.sizes is None:
            return None
        names = [column.name for column in self.columns]
        width, height = (names.index(name) for name in PAIR_COLUMNS)
        return PairPlaces(width, height, column_map.sizes.heading, column_map.sizes.order)

    def under(self, tokens: tuple[str, ...], start: int, end: int) -> tuple[int, ...]:
        """Places of the columns on the way to a value, or below it; of a list, of all its readings.

        Args:
            tokens: path of the value, from the order or from its opening.
            start, end: columns to look at.
        """
        key = (tokens, start, end)
        found = self._under.get(key)
        if found is None:
            found = tuple(place for place in range(start, end) if _is_under(self.columns[place], tokens))
            if len(self._under) < MOST_REMEMBERED:
                self._under[key] = found
        return found

    def value(self, name: str, values: Values) -> str:
        """The value of one of our columns in a row; blank where the sheet lacks it."""
        return next(
            (text for column, text in zip(self.columns, values, strict=True) if column.name == name), ""
        )

    def reference(self, cells: list[str]) -> tuple[str, str | None]:
        """The opening's reference in a row, and the heading of its column."""
        number = next(number for number, column in enumerate(self.columns) if column.name == "opening_ref")
        return self.values(cells)[number], self.headings[number]

    def values(self, cells: list[str]) -> Values:
        """The values of a row in the order of `columns`: white space off, defaults for blanks."""
        stripped = list(map(str.strip, cells))
        stripped += self._extra
        values = self._pick(stripped)
        if self._fill:
            filled = list(values)
            for number, default in self._fill:
                if not filled[number]:
                    filled[number] = default
            values = tuple(filled)
        return values

    def parted(self, values: Values) -> tuple[Values, str]:
        """The order's own values, and those of the opening joined for keeping."""
        return values[: self._heads], SEPARATOR.join(values[self._heads :])

    def order(self, group: Group, source: str) -> RawOrder:
        """The raw order of a group, in the nested form that JSON has."""
        problems = list(group.problems)
        data = self.head(group, problems)
        places = _Places(self, group)
        openings: list[dict[str, Any]] = []
        for number, body in enumerate(group.bodies):
            opening, gaps = self.opening(body.split(SEPARATOR))
            openings.append(opening)
            if gaps:
                problems.extend(self.first_missing(name, number, places) for name in gaps)
        data["openings"] = openings
        return RawOrder(data, source, group.lines[0], problems, places.cell)

    def opening(self, values: Sequence[str]) -> tuple[dict[str, Any], list[str]]:
        """One opening in its nested form, and the names of readings that lack their first."""
        opening: dict[str, Any] = {}
        # Readings stand last, so that the names end before them.
        for parent, key, value in compress(zip(self._parents, self._keys, values, strict=False), values):
            if parent is None:
                opening[key] = value
            elif parent in opening:
                opening[parent][key] = value
            else:
                opening[parent] = {key: value}
        gaps: list[str] = []
        for name, start, end, has_first in self._lists:
            if values[start] and has_first:
                opening[name] = list(filter(None, values[start:end]))
            elif readings := list(filter(None, values[start:end])):
                opening[name] = readings
                gaps.append(name)
        return opening, gaps

    def head(self, group: Group, problems: list[Finding]) -> dict[str, Any]:
        """The order's own values in their nested form; one that its rows contradict is a problem and left out."""
        data: dict[str, Any] = {}
        heads = [group.head, *group.others]
        lines = [group.lines[0], *group.others.values()]
        for number, column in enumerate(self.columns[: self._heads]):
            stated: dict[str, int] = {}
            for head, line in zip(heads, lines, strict=True):
                if head[number]:
                    stated.setdefault(head[number], line)
            if len(stated) > 1:
                problems.append(self._contradiction(number, column, stated))
            elif stated:
                value = next(iter(stated))
                if len(column.path) == 1:
                    data[str(column.path[0])] = value
                else:
                    data.setdefault(str(column.path[0]), {})[column.path[1]] = value
        return data

    def _contradiction(self, number: int, column: Column, stated: dict[str, int]) -> Finding:
        shown_ = [f"{shown(value)} (line {line})" for value, line in stated.items()]
        told = ", ".join(shown_[: MOST_NAMED - 1]) if len(shown_) > 2 else shown_[0]
        last = shown_[-1] if len(shown_) <= MOST_NAMED else f"{len(shown_) - MOST_NAMED + 1} more"
        words = column.name.replace("_", " ")
        return Finding(
            reason="value-ambiguous",
            severity=REJECT,
            at=pointer(*column.path),
            message=f"The {words} can be read in more than one way: rows of the order say {told} and {last}.",
            candidates=tuple(stated)[:MOST_NAMED],
            remedy=f"State one {words} in all rows of the order.",
            source=SOURCE,
            cell=Cell(list(stated.values())[1], self.headings[number]),
        )

    def first_missing(self, name: str, opening: int, places: "_Places") -> Finding:
        """What is said of later readings of which the first is blank."""
        first = next(column for column in COLUMNS if column.path == (name, 0))
        words = first.name.replace("_", " ")
        return Finding(
            reason="value-missing",
            severity=REJECT,
            at=pointer("openings", opening, name, 0),
            message=f"The {words} is missing: later readings of its kind are given.",
            remedy=f"State the {words}, or move the readings up to it.",
            source=SOURCE,
            cell=places.column_cell(opening, first),
        )


class _Places:
    """Finds cells of an order's values, when asked."""

    __slots__ = ("_group", "_plan")

    def __init__(self, plan: Plan, group: Group) -> None:
        self._plan = plan
        self._group = group

    def cell(self, at: str) -> Cell | None:
        """Line and heading of the value at a pointer; of the value around it where it has no cell."""
        tokens = tokens_of(at)
        if len(tokens) > 1 and tokens[0] == "openings" and tokens[1].isdecimal():
            number = int(tokens[1])
            if number < len(self._group.lines):
                return self._in_opening(number, tokens[2:])
        return self._in_order(tokens)

    def column_cell(self, opening: int, column: Column) -> Cell:
        """Cell of one column in one opening's row."""
        columns = self._plan.columns
        heading = self._plan.headings[columns.index(column)] if column in columns else None
        return Cell(self._group.lines[opening], heading)

    def _in_opening(self, number: int, tokens: Sequence[str]) -> Cell:
        line = self._group.lines[number]
        values = self._group.bodies[number].split(SEPARATOR)
        start = len(self._plan.columns) - len(values)
        found = self._plan.under(tuple(tokens), start, len(self._plan.columns))
        filled = [place for place in found if values[place - start]]
        is_reading = len(tokens) > 1 and tokens[1].isdecimal()
        if filled and is_reading and self._plan.columns[filled[0]].is_reading:
            return Cell(line, self._plan.headings[filled[min(int(tokens[1]), len(filled) - 1)]])
        return Cell(line, self._plan.headings[(filled or found)[0]] if found and tokens else None)

    def _in_order(self, tokens: Sequence[str]) -> Cell:
        found = self._plan.under(tuple(tokens), 0, len(self._group.head)) if tokens else ()
        rows = [(self._group.lines[0], self._group.head)]
        rows += [(line, head) for head, line in self._group.others.items()]
        for line, head in rows:
            for place in found:
                if head[place]:
                    return Cell(line, self._plan.headings[place])
        return Cell(self._group.lines[0], self._plan.headings[found[0]] if found else None)


def _is_under(column: Column, tokens: Sequence[str]) -> bool:
    """Whether a column's value lies on the way to a value, or below it."""
    path = [str(step) for step in column.path]
    if column.is_reading:
        path = path[:1]
    length = min(len(path), len(tokens))
    return path[:length] == list(tokens[:length])


def _rank(column: Column) -> int:
    """Where a column's values stand in a row that is held."""
    if column.level == "order":
        return 0
    return 2 if column.is_reading else 1


def _slices(columns: Sequence[Column]) -> list[tuple[str, int, int, bool]]:
    """Of each list of readings: its name, where its columns begin and end, whether it has its first."""
    slices = []
    for name in dict.fromkeys(str(column.path[0]) for column in columns if column.is_reading):
        places = [place for place, column in enumerate(columns) if column.path[0] == name]
        has_first = columns[places[0]].path[1] == 0
        slices.append((name, places[0], places[-1] + 1, has_first))
    return slices


def _picker(places: list[int], *, width: int) -> Callable[[list[str]], Values]:
    """A function that takes the cells at some places."""
    if places == list(range(width)):
        return tuple
    return itemgetter(*places)
