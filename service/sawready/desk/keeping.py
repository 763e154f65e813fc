"""Orders come in: kept once, revised by a re-survey, settled by answers."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, Final

import orjson
import sqlalchemy as sa

from sawready.catalogue.load import Catalogue
from sawready.desk import cut_already
from sawready.desk.caller import Caller
from sawready.desk.documents import Upload, content_of, read_back, stored
from sawready.desk.finding_order import keepable, the_order
from sawready.desk.refusals import RefusedError, Why
from sawready.pipeline import CallerDefaults, OrderResult, check_order
from sawready.readers.raw import RawOrder
from sawready.report.as_json import result_bytes
from sawready.store import orders, trail
from sawready.store.orders import KeptOrder, NewRevision, Revision
from sawready.store.store import RaceError, Store

_CLOSE: Final = 0.05
"""Half of the last digit of a reported length, as ``pipeline`` has it. [mm]"""

MOST_ANSWERS: Final = 5000
"""Answers that one order may gather."""

Also = Callable[[sa.Connection, "Kept"], None]
"""Further work of the same transaction, such as keeping the answer of the call."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of an order.

    Attributes:
        order: as it stands now.
        result: its published result.
        outcome: ``kept``, ``revised``, ``answered`` or ``unchanged``.
        checked: what the check gave; None where the order stood already.
    """

    order: KeptOrder
    result: bytes
    outcome: str
    checked: OrderResult | None = None


class Desk:
    """The desk of one service.

    Args:
        store: where orders are kept.
        catalogue: profile systems and rulebooks on file.
    """

    def __init__(self, store: Store, catalogue: Catalogue) -> None:
        self.store = store
        self.catalogue = catalogue

    def keep(
        self, caller: Caller, raw: RawOrder, defaults: CallerDefaults, *, also: Also | None = None
    ) -> Kept:
        """Checks an order and keeps it. The same sheet again gives what is kept already.

        Raises: RefusedError for an order without a usable name, and where another order of this name is
            kept; StoreError.
        """
        checked, upload, result = self._checked(raw, defaults)
        name = keepable(checked.order.order_ref)
        new = _new("upload", caller, checked, upload, result, content_of(raw, defaults), {})

        def work(tx: sa.Connection) -> Kept:
            found = orders.find(tx, caller.sight, name, firm=caller.firm)
            if found:
                kept = _again(tx, found[0], new)
            else:
                order = orders.insert(tx, firm=caller.firm, order_ref=name, new=new)
                kept = Kept(order, result, "kept", checked)
                _note(tx, "order-kept", caller, order)
            if also is not None:
                also(tx, kept)
            return kept

        return self.store.write(work)

    def revise(
        self,
        caller: Caller,
        order_ref: str,
        raw: RawOrder,
        defaults: CallerDefaults,
        *,
        holds: Callable[[KeptOrder], None],
        already_cut: tuple[str, ...] | None,
        also: Also | None = None,
    ) -> Kept:
        """Takes a re-survey as a new revision; answers that were given are kept.

        Args:
            caller: who.
            order_ref: which order.
            raw: the order as it is now.
            defaults: what the caller says for what it leaves open.
            holds: raises where the caller does not hold the order as it stands.
            already_cut: openings of which the released list is cut already; needed once one is released.
            also: further work of the same transaction.
        Raises: RefusedError, StoreError.
        """

        def work(tx: sa.Connection) -> Kept:
            order = the_order(tx, caller, order_ref, firm=caller.firm)
            holds(order)
            before = orders.newest(tx, order)
            merged = replace_data(raw, _with_answers(raw.data, read_back(before.document).data))
            checked, upload, result = self._checked(merged, defaults)
            if keepable(checked.order.order_ref) != order.order_ref:
                raise RefusedError(
                    "not-an-order",
                    "The order in the body has another name than the one in the address.",
                    [
                        Why(
                            "The names differ.",
                            f"Name it {order.order_ref}.",
                            "value-unreadable",
                            "/order_ref",
                        )
                    ],
                )
            cut = cut_already.after_revision(tx, order, before, already_cut)
            new = _new("resurvey", caller, checked, upload, result, content_of(raw, defaults), cut)
            revised = _revised(tx, order, new)
            _note(tx, "order-revised", caller, revised, already_cut=sorted(cut))
            kept = Kept(revised, result, "revised", checked)
            if also is not None:
                also(tx, kept)
            return kept

        return self.store.write(work)

    def answer(
        self,
        caller: Caller,
        order_ref: str,
        answer: Mapping[str, Any],
        *,
        holds: Callable[[KeptOrder], None],
        also: Also | None = None,
    ) -> Kept:
        """Settles a query of an order; that is a new revision.

        Args:
            caller: who.
            order_ref: which order.
            answer: opening_ref, reason, measured, by, on, note.
            holds: raises where the caller does not hold the order as it stands.
            also: further work of the same transaction.
        Raises: RefusedError where there is no such query, or it asks about another value; StoreError.
        """
        given = {name: value for name, value in answer.items() if value is not None}
        given.setdefault("on", datetime.now(UTC).date().isoformat())

        def work(tx: sa.Connection) -> Kept:
            order = the_order(tx, caller, order_ref, firm=caller.firm)
            holds(order)
            before = orders.newest(tx, order)
            _refuse_answer(orjson.loads(before.result), given)
            upload = read_back(before.document)
            data = _with_answers({**upload.data, "answers": [given]}, upload.data)
            if len(data["answers"]) > MOST_ANSWERS:
                raise RefusedError(
                    "answer-refused", f"The order has {MOST_ANSWERS} answers, which are the most."
                )
            upload = replace(upload, data=data)
            checked = self._check(upload)
            result = result_bytes(checked, cell_of=None if upload.cells is None else upload.cell)
            cut = cut_already.after_answer(order, before)
            new = _new("answer", caller, checked, upload, result, before.content, cut)
            revised = _revised(tx, order, new)
            orders.insert_answer(tx, revised, given, key_id=caller.key_id)
            facts = {name: str(given[name]) for name in ("opening_ref", "reason", "by", "on")}
            _note(tx, "query-answered", caller, revised, **facts)
            kept = Kept(revised, result, "answered", checked)
            if also is not None:
                also(tx, kept)
            return kept

        return self.store.write(work)

    def check_again(self, revision: Revision) -> dict[str, Any]:
        """The result of a revision, worked out anew from what came, as far as it is published."""
        checked: dict[str, Any] = orjson.loads(result_bytes(self.worked_out(revision)))
        return checked

    def worked_out(self, revision: Revision) -> OrderResult:
        """A revision worked out anew from what came, with everything that is not published."""
        return self._check(read_back(revision.document))

    def _check(self, upload: Upload) -> OrderResult:
        return check_order(
            upload.data, catalogue=self.catalogue, caller=upload.caller, problems=upload.problems
        )

    def _checked(self, raw: RawOrder, defaults: CallerDefaults) -> tuple[OrderResult, Upload, bytes]:
        """The check of an order, the order as it is kept, and its published result."""
        upload = Upload(raw.data, defaults, tuple(raw.problems))
        checked = self._check(upload)
        result = result_bytes(checked, cell_of=None if raw.places is None else raw.cell)
        if raw.places is not None:
            cells: dict[str, tuple[int, str | None]] = {}
            for opening in checked.openings:
                for found in opening.findings:
                    cell = raw.cell(found.at)
                    if cell is not None:
                        cells[found.at] = (cell.line, cell.column)
            upload = replace(upload, cells=cells)
        return checked, upload, result


def replace_data(raw: RawOrder, data: dict[str, Any]) -> RawOrder:
    """The same record with other data."""
    return replace(raw, data=data)


def _new(
    cause: str,
    caller: Caller,
    checked: OrderResult,
    upload: Upload,
    result: bytes,
    content: str,
    cut: Mapping[str, Any],
) -> NewRevision:
    published = orjson.loads(result)
    return NewRevision(
        cause=cause,
        decision=checked.decision,
        digest=published["digest"],
        content=content,
        document=stored(upload),
        result=result,
        cut=cut,
        key_id=caller.key_id,
        findings=tuple(
            (opening["opening_ref"], found)
            for opening in published["openings"]
            for found in opening["findings"]
        ),
    )


def _again(tx: sa.Connection, order: KeptOrder, new: NewRevision) -> Kept:
    """An order that comes again: the same sheet is answered as it is kept, its answers included."""
    newest = orders.newest(tx, order)
    if newest.content == new.content:
        return Kept(order, newest.result, "unchanged")
    raise RefusedError(
        "order-exists",
        f"Another order of this name is kept: revision {order.revision}.",
        [
            Why(
                f"What is kept came on {order.received_at[:10]} and differs from what was sent.",
                "Send a re-survey with PUT and If-Match, or choose another order_ref.",
                pointer="/order_ref",
            )
        ],
    )


def _revised(tx: sa.Connection, order: KeptOrder, new: NewRevision) -> KeptOrder:
    revised = orders.revise(tx, order, new)
    if revised is None:
        raise RaceError
    return revised


def stale(order: KeptOrder) -> RefusedError:
    """The refusal of a change to an order that has changed meanwhile."""
    return RefusedError(
        "precondition-failed",
        f"The order has changed since it was read; it now stands at revision {order.revision}.",
        [Why("The entity tag is not that of the order.", "Read the order again.", parameter="If-Match")],
    )


def _note(tx: sa.Connection, event: str, caller: Caller, order: KeptOrder, **facts: Any) -> None:
    trail.note(
        tx,
        event,
        key_id=caller.key_id,
        firm=order.firm,
        order_id=order.order_id,
        revision=order.revision,
        digest=order.digest,
        **facts,
    )


def _with_answers(data: dict[str, Any], before: Mapping[str, Any]) -> dict[str, Any]:
    """An order with the answers that it had before, in front of its own."""
    own, kept = data.get("answers"), before.get("answers")
    if not isinstance(kept, list) or not kept or not isinstance(own, list | None):
        return data
    added = [answer for answer in own or () if answer not in kept]
    return {**data, "answers": [*kept, *added]}


def _refuse_answer(result: Mapping[str, Any], answer: Mapping[str, Any]) -> None:
    """Refuses an answer to what was not asked."""
    opening = next(
        (each for each in result["openings"] if each["opening_ref"] == answer["opening_ref"]), None
    )
    if opening is None:
        raise _answer_refused(
            "The order has no such opening.", "Name an opening of the order.", "/opening_ref"
        )
    about = [found for found in opening["findings"] if found["reason"] == answer["reason"]]
    if not about:
        raise _answer_refused(
            f"{answer['opening_ref']} has no such finding.", "Name a query of its result.", "/reason"
        )
    queries = [found for found in about if found["severity"] == "query"]
    if not queries:
        rejected = any(found["severity"] == "reject" for found in about)
        detail = "It must not be cut; no answer settles that." if rejected else "It is no open query."
        remedy = "Correct the order and send it with PUT." if rejected else "There is nothing to answer."
        raise _answer_refused(f"{answer['reason']}: {detail}", remedy, "/reason")
    given = answer.get("measured")
    values = [None if found["measured"] is None else found["measured"] for found in queries]
    if not any(_is_same(value, given) for value in values):
        first = values[0]
        now = "no value" if first is None else f"{first['value']:g} {first['unit']}".strip()
        raise _answer_refused(
            f"The query is about {now}, the answer about {'no value' if given is None else given}.",
            "Look at the query again and answer the value that it names.",
            "/measured",
        )


def _is_same(value: Mapping[str, Any] | None, given: Any) -> bool:
    """Whether an answer is about a query's value, as the pipeline sees it."""
    if value is None or given is None:
        return value is None and given is None
    off: float = abs(float(Decimal(str(given))) - value["value"])
    return off <= _CLOSE


def _answer_refused(detail: str, remedy: str, pointer: str) -> RefusedError:
    return RefusedError("answer-refused", detail, [Why(detail, remedy, pointer=pointer)])
