"""What the office has sent, and what comes of it: read, checked and written as the command line does it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any, Final, Literal

import orjson

from sawready.batch.chunks import refused_file
from sawready.batch.inputs import SUFFIXES, shown_kind
from sawready.batch.work import refusal
from sawready.catalogue.load import Catalogue
from sawready.errors import StoreError, UnreadableError
from sawready.pipeline import CallerDefaults, OrderResult, check_order
from sawready.readers.column_map import ColumnMap, load_column_map
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.orders import read_orders
from sawready.readers.raw import Kind, RawOrder, Skipped, Unreadable
from sawready.report.as_csv import (
    CUTTING,
    FINDINGS,
    GLASS,
    cutting_lines,
    finding_lines,
    glass_lines,
    heading,
    unreadable_line,
)
from sawready.report.as_json import CellOf, result_bytes, unreadable_bytes

ListName = Literal["results.ndjson", "findings.csv", "cutting.csv", "glass.csv"]

LISTS: Final[dict[ListName, tuple[str, str]]] = {
    "cutting.csv": ("Cutting list", "pieces and beads of the accepted openings"),
    "glass.csv": ("Glass list", "panes of the accepted openings"),
    "findings.csv": ("Findings", "every finding with its cell, for a spreadsheet"),
    "results.ndjson": ("Results", "everything, for programs"),
}
"""Files that the page gives out: title and what is in them. The same bytes as ``sawready check --out``."""

MOST_NAME: Final = 100
MOST_ANSWERS: Final = 200

KeptAnswers = Callable[[str | None], Sequence[dict[str, Any]]]
"""Gives the answers that are kept for an order of a name."""

_HEADINGS: Final = {"findings.csv": FINDINGS, "cutting.csv": CUTTING, "glass.csv": GLASS}
_FAILED: Final = "The service failed on this order; what was sent is not at fault."


@dataclass(frozen=True, slots=True)
class Upload:
    """One file as it came, with what was said and answered since.

    Attributes:
        name: as its user named it, for people; never a path.
        kind: csv, json or ndjson.
        data: its bytes.
        owner: firm that sent it.
        caller: what stands in for what orders leave open.
        map_name: name of the column map.
        map_data: the column map; None where the sheet has our own headings.
        answers: for queries, each with the number of its order in ``order``.
        handed_in: what became of its orders at the desk, see ``office_desk``.
    """

    name: str
    kind: Kind
    data: bytes
    owner: str
    caller: dict[str, str] = field(default_factory=dict)
    map_name: str = ""
    map_data: bytes | None = None
    answers: tuple[dict[str, Any], ...] = ()
    handed_in: tuple[dict[str, Any], ...] = ()

    @property
    def defaults(self) -> CallerDefaults:
        """What stands in for what orders leave open."""
        return CallerDefaults(**self.caller)

    def column_map(self) -> ColumnMap | None:
        """The column map. Raises SettingsError for one that cannot be used."""
        if self.map_data is None or self.kind != "csv":
            return None
        return load_column_map(self.map_data, name=self.map_name)

    def packed(self) -> bytes:
        """The upload as bytes, for the shelf."""
        head = {
            "name": self.name,
            "kind": self.kind,
            "owner": self.owner,
            "caller": self.caller,
            "map_name": self.map_name,
            "map_bytes": None if self.map_data is None else len(self.map_data),
            "answers": self.answers,
            "handed_in": self.handed_in,
        }
        return b"%b\n%b%b" % (orjson.dumps(head), self.map_data or b"", self.data)

    @classmethod
    def unpacked(cls, content: bytes) -> "Upload":
        """The upload of such bytes."""
        line, _, rest = content.partition(b"\n")
        head = orjson.loads(line)
        size = head.pop("map_bytes")
        own_map = None if size is None else rest[:size]
        answers, handed_in = (tuple(head.pop(name)) for name in ("answers", "handed_in"))
        return cls(data=rest[size or 0 :], map_data=own_map, answers=answers, handed_in=handed_in, **head)

    def answers_of(self, number: int) -> list[dict[str, Any]]:
        """The answers that were given to queries of one order.

        Args:
            number: of the order in its file, from 0.
        """
        return [
            {name: value for name, value in each.items() if name != "order"}
            for each in self.answers
            if each["order"] == number
        ]


def tidy_name(written: str | None, fallback: str) -> str:
    r"""The name of a file for people: without folders, control characters, or more than 100 characters.

    Example:
        >>> tidy_name("C:\\\\surveys\\\\..\\\\week 47.csv", "pasted"), tidy_name("../..", "pasted")
        ('week 47.csv', 'pasted')
    """
    last = (written or "").replace("\\", "/").rpartition("/")[2]
    name = "".join(sign for sign in last if sign.isprintable()).strip()[-MOST_NAME:]
    return name if name.strip(".") else fallback


def kind_of_upload(name: str, data: bytes) -> Kind:
    """Kind of an upload: by the end of its name, else by how it begins."""
    for suffix, kind in SUFFIXES.items():
        if name.lower().endswith(suffix):
            return kind
    return shown_kind(BytesIO(data))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one order.

    Attributes:
        number: of the order in its file, from 0; what was refused counts as well.
        raw: the order as it was read, without the answers that were given since.
        result: what comes of it with them.
    """

    number: int
    raw: RawOrder
    result: OrderResult

    @property
    def cell_of(self) -> CellOf | None:
        """Finds the cell of a pointer; None for JSON."""
        return None if self.raw.places is None else self.raw.cell


class Check:
    """Goes through an upload once.

    Attributes:
        skipped: rows of a sheet that hold no opening, once it was gone through.
    """

    def __init__(
        self,
        upload: Upload,
        catalogue: Catalogue,
        *,
        kept_answers: KeptAnswers | None = None,
        on_trouble: Callable[[Exception], None] | None = None,
    ) -> None:
        """Begins.

        Args:
            upload: what was sent.
            catalogue: profile systems and rulebooks on file.
            kept_answers: answers that are kept for an order of a name; None where nothing is kept.
            on_trouble: told of a failure of our own, for the log.
        """
        self.upload = upload
        self._catalogue = catalogue
        self._kept_answers = kept_answers
        self._on_trouble = on_trouble
        self.skipped: list[Skipped] = []

    def outcomes(self, *, only: int | None = None) -> Iterator[Outcome | Unreadable]:
        """What came of each order, in the order of the file, or what was refused in its place.

        Args:
            only: number of the one order that is wanted.
        Raises: SettingsError for a column map that cannot be used.
        """
        for number, item in enumerate(self._items()):
            if only is not None and number != only:
                continue
            if isinstance(item, Unreadable):
                yield item
                continue
            given = self.upload.answers_of(number)
            try:
                result = self._result(item, given)
                kept = self._kept_for(result)
                if kept:
                    result = self._result(item, [*kept, *(each for each in given if each not in kept)])
            except StoreError:
                raise
            except Exception as trouble:  # noqa: BLE001 - one order must not stop the rest; it is logged and told
                if self._on_trouble is not None:
                    self._on_trouble(trouble)
                yield Unreadable(
                    item.source, item.line, None, "row-unreadable", _FAILED, "Send it once more."
                )
                continue
            yield Outcome(number, item, result)

    def _result(self, item: RawOrder, answers: Sequence[dict[str, Any]]) -> OrderResult:
        own = item.data.get("answers")
        data = item.data
        if answers and isinstance(own, list | None):
            data = {**data, "answers": [*(own or ()), *(each for each in answers if each not in (own or ()))]}
        return check_order(
            data, catalogue=self._catalogue, caller=self.upload.defaults, problems=item.problems
        )

    def _kept_for(self, result: OrderResult) -> list[dict[str, Any]]:
        """Answers that are kept for an order that asks something."""
        if self._kept_answers is None:
            return []
        asks = any(found.severity == "query" for each in result.openings for found in each.findings)
        return [*self._kept_answers(result.order.order_ref)] if asks else []

    def _items(self) -> Iterator[RawOrder | Unreadable]:
        upload = self.upload
        caller = upload.defaults
        try:
            orders = read_orders(
                BytesIO(upload.data),
                kind=upload.kind,
                source=upload.name,
                column_map=upload.column_map(),
                supplied=[name for name in ("system", "rulebook") if name in upload.caller],
                units=caller.units,
                number_style=caller.number_style,
            )
            yield from orders
        except UnreadableError as trouble:
            yield refused_file(upload.name, trouble)
            return
        if isinstance(orders, SheetOrders):
            self.skipped = orders.skipped


def list_bytes(check: Check, name: ListName) -> bytes:
    """One of the lists, the same bytes as ``sawready check --out`` writes for the file.

    Args:
        check: of what was sent.
        name: which list.
    """
    lines: list[bytes] = []
    if name in _HEADINGS:
        lines.append(heading(_HEADINGS[name]).encode())
    for each in check.outcomes():
        if isinstance(each, Unreadable):
            if name == "results.ndjson":
                lines.append(unreadable_bytes(refusal(each)) + b"\n")
            elif name == "findings.csv":
                lines.append(unreadable_line(refusal(each), file=check.upload.name).encode())
        elif name == "results.ndjson":
            lines.append(result_bytes(each.result, cell_of=each.cell_of) + b"\n")
        elif name == "findings.csv":
            lines.append(finding_lines(each.result, file=check.upload.name, cell_of=each.cell_of).encode())
        else:
            write = cutting_lines if name == "cutting.csv" else glass_lines
            lines.append(write(each.result).encode())
    return b"".join(lines)
