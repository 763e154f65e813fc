"""The factory asks before it cuts: one revision, released once, to one factory, or reasons why not."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import orjson
import sqlalchemy as sa

from sawready.desk.caller import Caller
from sawready.desk.finding_order import the_order
from sawready.desk.keeping import Desk
from sawready.desk.lists import list_document
from sawready.desk.made import differences
from sawready.desk.refusals import RefusedError, Why
from sawready.store import orders, trail
from sawready.store.clock import now
from sawready.store.orders import KeptOrder, Revision
from sawready.store.store import RaceError

MOST_TOLD: Final = 12
"""Findings and differences that a refusal names; the rest is counted."""


@dataclass(frozen=True, slots=True)
class Released:
    """A frozen list, as it is answered, and the order as it stands now."""

    order: KeptOrder
    document: bytes


def release(
    desk: Desk,
    caller: Caller,
    order_ref: str,
    *,
    digest: str,
    firm: str | None = None,
    also: Callable[[sa.Connection, Released], None] | None = None,
) -> Released:
    """Releases the newest revision of an order to the saw.

    The sizes are worked out once more from what the firm sent; where they no longer come out the same,
    because a profile system or rulebook has changed, nothing is released.

    Args:
        desk: the desk.
        caller: the factory.
        order_ref: which order.
        firm: its firm, for a factory that serves several.
        digest: the digest that the factory holds.
        also: further work of the same transaction.
    Raises: RefusedError with the reasons ``rejected``, ``queried``, ``superseded``, ``already-released``,
        ``digest-unknown`` or ``figures-changed``; StoreError.
    """

    def work(tx: sa.Connection) -> Released:
        order = the_order(tx, caller, order_ref, firm=firm)
        newest = orders.newest(tx, order)
        whys = _against(tx, desk, order, newest, digest)
        if whys:
            raise RefusedError("release-refused", f"Nothing is released: {_first(whys)}", whys)
        document = list_document(order, orjson.loads(newest.result), newest.cut)
        frozen = orjson.dumps({**document, "released_at": now(), "factory": caller.firm})
        done = orders.insert_release(tx, order, factory=caller.firm, document=frozen, key_id=caller.key_id)
        if done is None:
            raise RaceError
        trail.note(
            tx,
            "list-released",
            key_id=caller.key_id,
            firm=order.firm,
            order_id=order.order_id,
            revision=order.revision,
            digest=order.digest,
            factory=caller.firm,
        )
        released = Released(done, frozen)
        if also is not None:
            also(tx, released)
        return released

    return desk.store.write(work)


def _first(whys: list[Why]) -> str:
    detail = whys[0].detail
    return detail[:1].lower() + detail[1:]


def _against(tx: sa.Connection, desk: Desk, order: KeptOrder, newest: Revision, digest: str) -> list[Why]:
    """What stands against a release; nothing where it may go ahead."""
    if digest != order.digest:
        return [_other_digest(tx, order, newest, digest)]
    if order.released_revision == order.revision:
        done = orders.release(tx, order, order.revision)
        assert done is not None  # noqa: S101 - written in the same transaction as the order's row
        return [
            Why(
                f"Revision {order.revision} is released already, on {done.made_at[:19]}Z to {done.factory}.",
                "Do not cut it a second time. The factory that has it finds it at cutting-list.",
                reason="already-released",
                pointer="/digest",
            )
        ]
    if order.decision != "accepted":
        return _undecided(order, orjson.loads(newest.result))
    changed = differences(orjson.loads(newest.result), desk.check_again(newest))
    if changed:
        return [
            Why(
                f"The sizes no longer come out as they were checked: {_some(changed)}.",
                "A profile system or rulebook has changed. Let the firm send the order again with PUT.",
                reason="figures-changed",
            )
        ]
    return []


def _other_digest(tx: sa.Connection, order: KeptOrder, newest: Revision, digest: str) -> Why:
    held = orders.revision_with(tx, order, digest)
    if held is None:
        return Why(
            "The digest is that of no revision of this order.",
            f"Read the order; its newest revision is {order.revision}.",
            reason="digest-unknown",
            pointer="/digest",
        )
    old = orders.revision(tx, order, held)
    assert old is not None  # noqa: S101 - just found
    changed = differences(orjson.loads(old.result), orjson.loads(newest.result))
    what = f": {_some(changed)}" if changed else ""
    return Why(
        f"Revision {held} is superseded by revision {order.revision} of {newest.made_at[:10]}, "
        f"which is {order.decision}{what}.",
        "Throw the old list away, read the order, and ask for the release of the newest revision.",
        reason="superseded",
        pointer="/digest",
    )


def _undecided(order: KeptOrder, result: Mapping[str, Any]) -> list[Why]:
    severity = "reject" if order.decision == "rejected" else "query"
    found = [
        (opening["opening_ref"], each)
        for opening in result["openings"]
        for each in opening["findings"]
        if each["severity"] == severity
    ]
    whys = [
        Why(
            f"{opening_ref or 'An opening without a name'}: {each['reason']}. {each['message']}",
            each["remedy"],
            reason=order.decision,
        )
        for opening_ref, each in found[:MOST_TOLD]
    ]
    if len(found) > MOST_TOLD:
        whys.append(
            Why(f"And {len(found) - MOST_TOLD} more; the order's result has them all.", None, order.decision)
        )
    return whys or [Why(f"The order is {order.decision}.", "Read its result.", reason=order.decision)]


def _some(told: list[str]) -> str:
    more = f"; and {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
    return "; ".join(told[:MOST_TOLD]) + more
