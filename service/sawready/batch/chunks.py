"""Input cut into chunks: each whole in itself, small enough to hold, and the same however many work on them.

A small file goes into a chunk as it stands, many of them into one. A large sheet is read here, row by row,
as only its reader knows which rows belong together; its orders are packed as they are held. Lines of a
large NDJSON file are cut at line ends and read by whoever checks them.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from typing import BinaryIO, Final, cast

from sawready.batch.inputs import Input
from sawready.batch.progress import Watched
from sawready.batch.settings import GivenFile, RunSettings, map_of
from sawready.errors import ServiceError, UnreadableError
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.csv_plan import Group, Plan, SheetOrder
from sawready.readers.json_orders import MOST_FILE_BYTES, MOST_LINE_BYTES, read_json, read_ndjson
from sawready.readers.marks import UTF8_BOM
from sawready.readers.orders import read_orders
from sawready.readers.raw import Kind, RawOrder, Unreadable

CHUNK_OPENINGS: Final = 512
"""Openings of a chunk: some four megabytes of results, and a few hundredths of a second of work."""

SMALL_FILE_BYTES: Final = 64 * 1024
"""A file up to this size goes into a chunk as it stands."""

_BYTES_OF_OPENING: Final[Mapping[Kind, int]] = {"csv": 128, "json": 512, "ndjson": 512}
"""About what an opening takes in each kind, to tell how much work bytes are."""

_SPACE: Final = b" \t\r\n"

Item = RawOrder | SheetOrder | Unreadable


@dataclass(slots=True)
class Part:
    """What a chunk holds of one file.

    Attributes:
        file: its name.
        firm: whose it is.
        skipped: rows that held no opening, by kind, where they are known already.
    """

    file: str
    firm: str
    skipped: dict[str, int] = field(default_factory=dict)

    def items(self, settings: RunSettings) -> Iterator[Item]:
        """Its orders, and what was refused in place of one. Counts what is skipped on the way."""
        raise NotImplementedError


@dataclass(slots=True)
class WholeFile(Part):
    """A small file as it stands."""

    kind: Kind = "csv"
    data: bytes = b""
    column_map: GivenFile | None = None

    def items(self, settings: RunSettings) -> Iterator[Item]:
        """Reads the file."""
        try:
            orders = orders_of(_stream(self.data), self.kind, self.file, self.column_map, settings)
            if isinstance(orders, SheetOrders):
                yield from _of_groups(orders.groups, orders.plan, self.file)
            else:
                yield from orders
        except UnreadableError as error:
            yield refused_file(self.file, error)
            return
        if isinstance(orders, SheetOrders):
            self.skipped = dict(orders.skipped_rows)


@dataclass(slots=True)
class SheetRows(Part):
    """Orders of a large sheet, as its reader held them."""

    plan: Plan | None = None
    held: list[Group | Unreadable] = field(default_factory=list)

    def items(self, settings: RunSettings) -> Iterator[Item]:
        """Makes orders of the rows."""
        del settings
        plan = self.plan
        assert plan is not None  # noqa: S101 - rows come with their plan
        yield from _of_groups(self.held, plan, self.file)


def _of_groups(groups: Iterable[Group | Unreadable], plan: Plan, file: str) -> Iterator[Item]:
    """Orders of rows that are held together."""
    for item in groups:
        yield item if isinstance(item, Unreadable) else SheetOrder(plan, item, file)


@dataclass(slots=True)
class Lines(Part):
    """Lines of a large NDJSON file."""

    data: bytes = b""
    first_line: int = 1

    def items(self, settings: RunSettings) -> Iterator[Item]:
        """Reads the lines."""
        del settings
        try:
            yield from read_ndjson(_stream(self.data), source=self.file, first_line=self.first_line)
        except UnreadableError as error:
            yield refused_file(self.file, error)


@dataclass(slots=True)
class Items(Part):
    """Orders that have been read, and what was refused."""

    read: list[RawOrder | Unreadable] = field(default_factory=list)

    def items(self, settings: RunSettings) -> Iterator[Item]:
        """Gives them."""
        del settings
        yield from self.read


@dataclass(slots=True)
class Chunk:
    """One piece of work.

    Attributes:
        number: its place, from 0.
        parts: what it holds, in the order of the input.
        rows: rows of sheets in it that its cutter has counted.
        end_bytes: bytes of input up to its end.
    """

    number: int
    parts: list[Part]
    rows: int
    end_bytes: int


class CountsError(ServiceError):
    """What came out is not what went in; nothing of the run may be used."""


def orders_of(
    stream: BinaryIO, kind: Kind, name: str, column_map: GivenFile | None, settings: RunSettings
) -> Iterator[RawOrder | Unreadable]:
    """Orders of one file as its reader gives them.

    Raises: UnreadableError, at once or on the way, for a file that cannot be read at all.
    """
    return read_orders(
        stream,
        kind=kind,
        source=name,
        column_map=None if column_map is None or kind != "csv" else map_of(column_map),
        supplied=settings.supplied,
        units=settings.caller.units,
        number_style=settings.caller.number_style,
    )


def refused_file(name: str, error: UnreadableError) -> Unreadable:
    """A file that cannot be read, as what stands in its place."""
    remedy = getattr(error, "remedy", None) or "Correct the file and give it again."
    return Unreadable(
        name, error.line, error.column, error.reason, error.detail, remedy, pointer=error.pointer
    )


def _unopened(name: str, error: OSError) -> Unreadable:
    reason = error.strerror or "it cannot be opened"
    return Unreadable(
        name, None, None, "row-unreadable", f"{name} cannot be read: {reason}.", "Check the file."
    )


def _stream(data: bytes) -> BinaryIO:
    return BytesIO(data)


@dataclass(frozen=True, slots=True)
class Source:
    """An input that is ready to be cut.

    Attributes:
        name: as messages name it.
        firm: whose it is.
        open: gives its bytes, anew each time, and their kind.
        size: how many bytes; 0 where it is not known.
        column_map: how it is read, where it is a sheet of somebody's own.
        close: lets go of what is held.
    """

    name: str
    firm: str
    open: Callable[[], tuple[BinaryIO, Kind]]
    size: int
    column_map: GivenFile | None
    close: Callable[[], None] = lambda: None

    @classmethod
    def of(cls, given: Input, settings: RunSettings, stdin: BinaryIO) -> "Source":
        """Looks at an input: its size, its column map, whose it is.

        Raises: SettingsError for a column map that cannot be used.
        """
        column_map = settings.column_map
        if column_map is None and given.map_path is not None:
            column_map = GivenFile.read(given.map_path)
        firm = map_of(column_map).firm if column_map is not None else None
        if given.path is None:
            kept, kind = given.open(stdin)
            size = kept.seek(0, 2)
            return cls(given.name, firm or "", lambda: (_again(kept), kind), size, column_map, kept.close)
        try:
            size = given.path.stat().st_size
        except OSError:
            size = 0
        firm = firm or given.path.absolute().parent.name
        return cls(given.name, firm, lambda: given.open(stdin), size, column_map)


def _again(kept: BinaryIO) -> BinaryIO:
    """Standard input from its beginning; it stays when this is closed."""
    kept.seek(0)
    return cast("BinaryIO", Watched(kept, is_kept=True))


class _Cutter:
    """Fills one chunk after the other."""

    def __init__(self, chunk_openings: int) -> None:
        self._most = chunk_openings
        self._number = 0
        self._before = 0
        self._parts: list[Part] = []
        self._weight = self._rows = 0

    def add(self, part: Part, openings: int, rows: int = 0) -> None:
        """Puts a part into the chunk at hand."""
        self._parts.append(part)
        self._weight += openings
        self._rows += rows

    @property
    def is_full(self) -> bool:
        """Whether the chunk is to be given out."""
        return self._weight >= self._most

    @property
    def room(self) -> int:
        """Openings that the chunk may still take."""
        return max(self._most - self._weight, 1)

    def chunk(self, here: int) -> Chunk:
        """The chunk at hand, and an empty one after it.

        Args:
            here: bytes of the file at hand that have been read.
        """
        made = Chunk(self._number, self._parts, self._rows, self._before + here)
        self._number += 1
        self._parts, self._weight, self._rows = [], 0, 0
        return made

    def passed(self, size: int) -> None:
        """Notes a file that is through."""
        self._before += size

    @property
    def is_empty(self) -> bool:
        """Whether nothing waits."""
        return not self._parts


def cut(
    sources: Iterable[Source],
    settings: RunSettings,
    *,
    chunk_openings: int = CHUNK_OPENINGS,
) -> Iterator[Chunk]:
    """Chunks of all inputs, in their order; the same for the same input.

    Args:
        sources: what to read.
        settings: how.
        chunk_openings: openings of a chunk.
    Raises: CountsError where a sheet's rows are not all accounted for.
    """
    cutter = _Cutter(chunk_openings)
    for source in sources:
        try:
            stream, kind = source.open()
        except OSError as error:
            cutter.add(Items(source.name, source.firm, read=[_unopened(source.name, error)]), 1)
        else:
            with stream:
                yield from _cut_file(source, stream, kind, settings, cutter)
        cutter.passed(source.size)
        if cutter.is_full:
            yield cutter.chunk(0)
    if not cutter.is_empty:
        yield cutter.chunk(0)


def _cut_file(
    source: Source, stream: BinaryIO, kind: Kind, settings: RunSettings, cutter: _Cutter
) -> Iterator[Chunk]:
    name, firm = source.name, source.firm
    try:
        head = stream.read(SMALL_FILE_BYTES + 1)
        if len(head) <= SMALL_FILE_BYTES:
            part = WholeFile(name, firm, kind=kind, data=head, column_map=source.column_map)
            cutter.add(part, len(head) // _BYTES_OF_OPENING[kind] + 1)
            return
        stream.seek(0)
        if kind == "csv":
            yield from _cut_sheet(source, stream, settings, cutter)
        elif kind == "ndjson":
            yield from _cut_lines(source, stream, cutter)
        else:
            yield from _cut_json(source, stream, cutter)
    except UnreadableError as error:
        cutter.add(Items(name, firm, read=[refused_file(name, error)]), 1)
    except OSError as error:
        cutter.add(Items(name, firm, read=[_unopened(name, error)]), 1)


def _cut_sheet(source: Source, stream: BinaryIO, settings: RunSettings, cutter: _Cutter) -> Iterator[Chunk]:
    orders = orders_of(stream, "csv", source.name, source.column_map, settings)
    assert isinstance(orders, SheetOrders)  # noqa: S101 - that is what a sheet gives
    held: list[Group | Unreadable] = []
    weight = rows = given = 0
    for item in orders.groups:
        held.append(item)
        if isinstance(item, Group):
            rows += item.count
            weight += item.count
        else:
            weight += 1
        if weight >= cutter.room:
            cutter.add(SheetRows(source.name, source.firm, plan=orders.plan, held=held), weight, rows)
            yield cutter.chunk(stream.tell())
            given += rows
            held, weight, rows = [], 0, 0
    if given + rows + orders.rows_too_many != orders.tally.rows:
        raise CountsError(
            f"{source.name}: {orders.tally.rows} rows were read, but {given + rows} went on. "
            "Use nothing of this run, and report it."
        )
    part = SheetRows(source.name, source.firm, dict(orders.skipped_rows), plan=orders.plan, held=held)
    cutter.add(part, weight, rows)


def _cut_lines(source: Source, stream: BinaryIO, cutter: _Cutter) -> Iterator[Chunk]:
    size = _BYTES_OF_OPENING["ndjson"]
    is_empty = True
    line = 1
    for data in _whole_lines(stream, cutter.room * size):
        count = data.count(b"\n")
        if (data.removeprefix(UTF8_BOM) if line == 1 else data).strip(_SPACE):
            is_empty = False
            cutter.add(Lines(source.name, source.firm, data=data, first_line=line), len(data) // size + 1)
        line += count
        if cutter.is_full:
            yield cutter.chunk(stream.tell())
    if is_empty:  # the reader says what is wrong with it
        cutter.add(Lines(source.name, source.firm), 1)


def _whole_lines(stream: BinaryIO, size: int) -> Iterator[bytes]:
    """Pieces of a stream that end where a line ends.

    Of a line that is longer than any may be, no more is kept than shows that it is.
    """
    while data := stream.read(size):
        if not data.endswith(b"\n"):
            rest = stream.readline(MOST_LINE_BYTES + 1)
            data += rest
            if len(rest) > MOST_LINE_BYTES and not rest.endswith(b"\n"):
                begin = data.rfind(b"\n") + 1
                data = data[: begin + MOST_LINE_BYTES + 1] + b"\n"
                while (step := stream.readline(size)) and not step.endswith(b"\n"):
                    pass
        yield data


def _cut_json(source: Source, stream: BinaryIO, cutter: _Cutter) -> Iterator[Chunk]:
    read: list[RawOrder | Unreadable] = []
    weight = 0
    for item in read_json(stream.read(MOST_FILE_BYTES + 1), source=source.name):
        read.append(item)
        weight += 1 if isinstance(item, Unreadable) else len(item.data["openings"])
        if weight >= cutter.room:
            cutter.add(Items(source.name, source.firm, read=read), weight)
            yield cutter.chunk(source.size)
            read, weight = [], 0
    if read:
        cutter.add(Items(source.name, source.firm, read=read), weight)
