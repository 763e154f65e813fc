"""A whole upload comes to the desk: each order kept, found to be the same, revised, or refused with its reasons.

Whoever hands in has looked at how each order stood and names that state; an order that has changed since is
refused, as ``If-Match`` does for a program.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Literal

import orjson
import sqlalchemy as sa

from sawready.desk.caller import Caller
from sawready.desk.documents import content_of, read_back
from sawready.desk.finding_order import keepable
from sawready.desk.keeping import Desk, stale
from sawready.desk.refusals import RefusedError
from sawready.pipeline import CallerDefaults
from sawready.readers.raw import RawOrder
from sawready.store import orders
from sawready.store.orders import KeptOrder

Became = Literal["kept", "unchanged", "revised", "refused"]


@dataclass(frozen=True, slots=True)
class Standing:
    """How an order of a name stands at the desk.

    Attributes:
        order: as it stands.
        content: fingerprint of the sheet that it came as.
        answers: given so far.
    """

    order: KeptOrder
    content: str
    answers: tuple[dict[str, Any], ...]

    def is_same(self, raw: RawOrder, defaults: CallerDefaults) -> bool:
        """Whether an order is the very sheet that is kept.

        Args:
            raw: the order as it was read.
            defaults: what the caller said for what it leaves open.
        """
        return self.content == content_of(raw, defaults)

    def lacks(self, answers: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
        """The answers that are not kept yet."""
        known = {_mark(each) for each in self.answers if isinstance(each, Mapping)}
        return [each for each in answers if _mark(each) not in known]


@dataclass(frozen=True, slots=True)
class HandedIn:
    """What became of one order.

    Attributes:
        became: ``kept`` anew, ``unchanged`` where the same sheet is kept, ``revised``, or ``refused``.
        order: as it stands now; None where it was refused.
        before: the state that was revised; None elsewhere.
        answered: answers to queries that were kept with it.
        refusal: why it, or one of the answers, was refused; None where nothing was.
    """

    became: Became
    order: KeptOrder | None
    before: KeptOrder | None = None
    answered: int = 0
    refusal: RefusedError | None = None


def standings(desk: Desk, caller: Caller, order_refs: Iterable[str | None]) -> dict[str, Standing]:
    """How the firm's own orders of some names stand, by name; nothing for a name that is not kept.

    Raises: StoreError.
    """
    names: dict[str, str] = {}
    for order_ref in order_refs:
        with suppress(RefusedError):  # a name that nothing can be kept under
            names[order_ref or ""] = keepable(order_ref)

    def look(tx: sa.Connection) -> dict[str, Standing]:
        stand: dict[str, Standing] = {}
        for order_ref, name in names.items():
            found = orders.find(tx, caller.sight, name, firm=caller.firm)
            if found:
                newest = orders.newest(tx, found[0])
                answers = read_back(newest.document).data.get("answers")
                given = tuple(answers) if isinstance(answers, list) else ()
                stand[order_ref] = Standing(found[0], newest.content, given)
        return stand

    return desk.store.read(look) if names else {}


def hand_in(
    desk: Desk,
    caller: Caller,
    raw: RawOrder,
    defaults: CallerDefaults,
    *,
    order_ref: str | None,
    tag: str | None,
    answers: Sequence[Mapping[str, Any]] = (),
    already_cut: tuple[str, ...] | None = None,
) -> HandedIn:
    """Keeps one order, or revises the one of its name that is kept, and then keeps the answers given to it.

    Args:
        desk: the desk.
        caller: who.
        raw: the order as it was read, without the answers.
        defaults: what the caller said for what it leaves open.
        order_ref: its name as it was read; None where it has none.
        tag: entity tag of the state that the caller saw; None where the caller saw none of this name.
        answers: of named people to its queries.
        already_cut: openings of which the released list is cut already; needed once one is released.
    Returns: what became of it; a refusal is told of, never raised.
    Raises: StoreError.
    """
    before: list[KeptOrder] = []

    def holds(order: KeptOrder) -> None:
        if order.tag != tag:
            raise stale(order)
        before[:] = [order]

    became: Became
    try:
        try:
            kept = desk.keep(caller, raw, defaults)
            became = "kept" if kept.outcome == "kept" else "unchanged"
        except RefusedError as refused:
            if refused.name != "order-exists" or tag is None:
                raise
            kept = desk.revise(caller, order_ref or "", raw, defaults, holds=holds, already_cut=already_cut)
            became = "revised"
    except RefusedError as refused:
        return HandedIn("refused", None, refusal=refused)
    order, count, refusal = kept.order, 0, None
    stands_now = standings(desk, caller, [order.order_ref]) if answers else {}
    for answer in [each for stands in stands_now.values() for each in stands.lacks(answers)]:
        now = order.tag

        def stands(found: KeptOrder, now: str = now) -> None:
            if found.tag != now:
                raise stale(found)

        try:
            order = desk.answer(caller, order.order_ref, answer, holds=stands).order
            count += 1
        except RefusedError as refused:
            refusal = refused
    return HandedIn(became, order, before[0] if became == "revised" else None, count, refusal)


def _mark(answer: Mapping[str, Any]) -> bytes:
    """What tells answers apart: the query, its value, who answers it and why."""
    measured = answer.get("measured")
    value = None if measured is None else str(float(measured))
    names = ("opening_ref", "reason", "by", "note")
    return orjson.dumps([value, *(str(answer.get(name)) for name in names)])
