"""Orders and what belongs to them. Only ``find`` and ``page`` look for orders, and both tell firms apart."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import sqlalchemy as sa

from sawready.store.clock import now
from sawready.store.tables import ANSWERS, ARRIVALS, FINDINGS, ORDERS, RELEASES, REVISIONS

_ORDER_OF_FIRM: Final = sa.select(ORDERS).where(
    ORDERS.c.firm == sa.bindparam("firm"), ORDERS.c.order_ref == sa.bindparam("order_ref")
)
_NEW_ORDER: Final = ORDERS.insert()
_NEW_REVISION: Final = REVISIONS.insert()
_NEW_FINDING: Final = FINDINGS.insert()
_NEW_ANSWER: Final = ANSWERS.insert()
_NEW_RELEASE: Final = RELEASES.insert()
_NEW_ARRIVAL: Final = ARRIVALS.insert()


@dataclass(frozen=True, slots=True)
class Sight:
    """Whose orders a caller sees; None for those of every firm."""

    firms: frozenset[str] | None

    def sees(self, firm: str) -> bool:
        """Whether a firm's orders are seen."""
        return self.firms is None or firm in self.firms


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """An order as it stands; see ``tables.ORDERS``."""

    order_id: int
    firm: str
    order_ref: str
    revision: int
    decision: str
    digest: str
    version: int
    received_at: str
    changed_at: str
    released_revision: int | None

    @property
    def tag(self) -> str:
        """Its entity tag, without quotes: no two states of an order have the same."""
        return f"{self.version}-{self.digest.removeprefix('sha256:')[:16]}"


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision of an order; see ``tables.REVISIONS``."""

    revision: int
    cause: str
    decision: str
    digest: str
    content: str
    document: bytes
    result: bytes
    cut: Mapping[str, Any]
    key_id: str
    made_at: str


@dataclass(frozen=True, slots=True)
class Release:
    """A frozen list; see ``tables.RELEASES``."""

    revision: int
    digest: str
    factory: str
    document: bytes
    made_at: str


@dataclass(frozen=True, slots=True)
class NewRevision:
    """A revision to be kept; ``findings`` are those of its published result, by opening."""

    cause: str
    decision: str
    digest: str
    content: str
    document: bytes
    result: bytes
    cut: Mapping[str, Any]
    key_id: str
    findings: tuple[tuple[str | None, Mapping[str, Any]], ...]


def _seen(sight: Sight) -> sa.ColumnElement[bool]:
    """The condition that keeps one firm's orders from another."""
    return sa.true() if sight.firms is None else ORDERS.c.firm.in_(sorted(sight.firms))


def _plain(row: sa.RowMapping) -> dict[str, Any]:
    """A row by plain names, as SQLAlchemy's are a kind of text of its own."""
    return {str(name): value for name, value in row.items()}


def _order(row: sa.RowMapping) -> KeptOrder:
    return KeptOrder(**_plain(row))


def find(tx: sa.Connection, sight: Sight, order_ref: str, *, firm: str | None = None) -> list[KeptOrder]:
    """Orders of a name that are seen: none, one, or for a factory one of each firm."""
    if firm is not None:
        # the common case, and the quick one: a statement that is made once
        rows = (
            tx.execute(_ORDER_OF_FIRM, {"firm": firm, "order_ref": order_ref}) if sight.sees(firm) else None
        )
        return [] if rows is None else [_order(row) for row in rows.mappings()]
    query = sa.select(ORDERS).where(_seen(sight), ORDERS.c.order_ref == order_ref).order_by(ORDERS.c.firm)
    return [_order(row) for row in tx.execute(query.limit(50)).mappings()]


def page(
    tx: sa.Connection,
    sight: Sight,
    *,
    limit: int,
    before_id: int | None = None,
    decision: str | None = None,
    changed_from: str | None = None,
    changed_before: str | None = None,
    firm: str | None = None,
) -> list[KeptOrder]:
    """Orders that are seen, the last received first."""
    query = sa.select(ORDERS).where(_seen(sight)).order_by(ORDERS.c.order_id.desc()).limit(limit)
    if before_id is not None:
        query = query.where(ORDERS.c.order_id < before_id)
    if decision is not None:
        query = query.where(ORDERS.c.decision == decision)
    if changed_from is not None:
        query = query.where(ORDERS.c.changed_at >= changed_from)
    if changed_before is not None:
        query = query.where(ORDERS.c.changed_at < changed_before)
    if firm is not None:
        query = query.where(ORDERS.c.firm == firm)
    return [_order(row) for row in tx.execute(query).mappings()]


def insert(tx: sa.Connection, *, firm: str, order_ref: str, new: NewRevision) -> KeptOrder:
    """Keeps a new order with its first revision."""
    moment = now()
    values = {
        "firm": firm,
        "order_ref": order_ref,
        "revision": 1,
        "decision": new.decision,
        "digest": new.digest,
        "version": 1,
        "received_at": moment,
        "changed_at": moment,
        "released_revision": None,
    }
    order_id = int(tx.execute(_NEW_ORDER, values).inserted_primary_key[0])  # type: ignore[index] # one column
    order = KeptOrder(order_id, **values)  # type: ignore[arg-type] # the values of the row just made
    _insert_revision(tx, order, new, moment)
    return order


def revise(tx: sa.Connection, order: KeptOrder, new: NewRevision) -> KeptOrder | None:
    """Keeps a further revision, if the order still stands as it was read; None where it does not."""
    moment = max(now(), order.changed_at)
    changed = tx.execute(
        ORDERS.update()
        .where(ORDERS.c.order_id == order.order_id, ORDERS.c.version == order.version)
        .values(
            revision=order.revision + 1,
            decision=new.decision,
            digest=new.digest,
            version=order.version + 1,
            changed_at=moment,
        )
    )
    if changed.rowcount != 1:
        return None
    revised = KeptOrder(
        order.order_id,
        order.firm,
        order.order_ref,
        order.revision + 1,
        new.decision,
        new.digest,
        order.version + 1,
        order.received_at,
        moment,
        order.released_revision,
    )
    _insert_revision(tx, revised, new, moment)
    return revised


def _insert_revision(tx: sa.Connection, order: KeptOrder, new: NewRevision, moment: str) -> None:
    of = {"order_id": order.order_id, "revision": order.revision}
    tx.execute(
        _NEW_REVISION,
        dict(
            **of,
            cause=new.cause,
            decision=new.decision,
            digest=new.digest,
            content=new.content,
            document=new.document,
            result=new.result,
            cut=json.dumps(new.cut, ensure_ascii=False),
            key_id=new.key_id,
            made_at=moment,
        ),
    )
    rows = [
        {
            **of,
            "number": number,
            "opening_ref": opening_ref,
            "reason": found["reason"],
            "severity": found["severity"],
            "measured": None if found["measured"] is None else float(found["measured"]["value"]),
            "unit": None if found["measured"] is None else found["measured"]["unit"],
        }
        for number, (opening_ref, found) in enumerate(new.findings)
    ]
    if rows:
        tx.execute(_NEW_FINDING, rows)


def insert_answer(tx: sa.Connection, order: KeptOrder, answer: Mapping[str, Any], *, key_id: str) -> None:
    """Keeps the answer that made the newest revision of an order."""
    measured = answer.get("measured")
    tx.execute(
        _NEW_ANSWER,
        {
            "order_id": order.order_id,
            "revision": order.revision,
            "opening_ref": answer["opening_ref"],
            "reason": answer["reason"],
            "measured": None if measured is None else str(measured),
            "answered_by": answer["by"],
            "answered_on": answer["on"],
            "note": answer.get("note"),
            "key_id": key_id,
            "made_at": order.changed_at,
        },
    )


def _revision(row: sa.RowMapping) -> Revision:
    fields = _plain(row)
    del fields["order_id"]
    fields["cut"] = json.loads(fields["cut"])
    return Revision(**fields)


def revision(tx: sa.Connection, order: KeptOrder, number: int) -> Revision | None:
    """One revision of an order."""
    row = (
        tx.execute(
            sa.select(REVISIONS).where(REVISIONS.c.order_id == order.order_id, REVISIONS.c.revision == number)
        )
        .mappings()
        .one_or_none()
    )
    return None if row is None else _revision(row)


def newest(tx: sa.Connection, order: KeptOrder) -> Revision:
    """The newest revision of an order."""
    found = revision(tx, order, order.revision)
    assert found is not None  # noqa: S101 - written in the same transaction as the order's row
    return found


def revision_list(tx: sa.Connection, order: KeptOrder) -> list[dict[str, Any]]:
    """What there is of each revision beside its documents, the newest first."""
    of = REVISIONS.c
    query = sa.select(of.revision, of.cause, of.decision, of.digest, of.made_at)
    rows = tx.execute(query.where(of.order_id == order.order_id).order_by(of.revision.desc()))
    return [_plain(row) for row in rows.mappings()]


def revision_with(tx: sa.Connection, order: KeptOrder, digest: str) -> int | None:
    """Number of the newest revision that has a digest."""
    number: int | None = tx.scalar(
        sa.select(sa.func.max(REVISIONS.c.revision)).where(
            REVISIONS.c.order_id == order.order_id, REVISIONS.c.digest == digest
        )
    )
    return number


def insert_release(
    tx: sa.Connection, order: KeptOrder, *, factory: str, document: bytes, key_id: str
) -> KeptOrder | None:
    """Freezes the list of the newest revision, if the order still stands as it was read; None if not."""
    moment = max(now(), order.changed_at)
    changed = tx.execute(
        ORDERS.update()
        .where(ORDERS.c.order_id == order.order_id, ORDERS.c.version == order.version)
        .values(released_revision=order.revision, version=order.version + 1, changed_at=moment)
    )
    if changed.rowcount != 1:
        return None
    tx.execute(
        _NEW_RELEASE,
        {
            "order_id": order.order_id,
            "revision": order.revision,
            "digest": order.digest,
            "factory": factory,
            "document": document,
            "key_id": key_id,
            "made_at": moment,
        },
    )
    return KeptOrder(
        order.order_id,
        order.firm,
        order.order_ref,
        order.revision,
        order.decision,
        order.digest,
        order.version + 1,
        order.received_at,
        moment,
        order.revision,
    )


def releases(tx: sa.Connection, orders: Iterable[KeptOrder]) -> dict[int, Release]:
    """The newest release of each order that has one, by order."""
    pairs = [(each.order_id, each.released_revision) for each in orders if each.released_revision is not None]
    if not pairs:
        return {}
    rows = tx.execute(
        sa.select(RELEASES).where(sa.tuple_(RELEASES.c.order_id, RELEASES.c.revision).in_(pairs))
    )
    return {row.order_id: _release(row) for row in rows}


def release(tx: sa.Connection, order: KeptOrder, number: int) -> Release | None:
    """The release of one revision."""
    row = tx.execute(
        sa.select(RELEASES).where(RELEASES.c.order_id == order.order_id, RELEASES.c.revision == number)
    ).one_or_none()
    return None if row is None else _release(row)


def _release(row: sa.Row[Any]) -> Release:
    return Release(row.revision, row.digest, row.factory, row.document, row.made_at)


def insert_arrival(
    tx: sa.Connection,
    order: KeptOrder,
    *,
    revision_number: int,
    opening_ref: str,
    verdict: str,
    taped: bytes,
    document: bytes,
    key_id: str,
) -> None:
    """Keeps what came of an arrival."""
    tx.execute(
        _NEW_ARRIVAL,
        {
            "order_id": order.order_id,
            "revision": revision_number,
            "opening_ref": opening_ref,
            "verdict": verdict,
            "taped": taped,
            "document": document,
            "key_id": key_id,
            "made_at": now(),
        },
    )


def arrivals(tx: sa.Connection, order: KeptOrder) -> list[dict[str, Any]]:
    """The arrivals of an order, the newest first."""
    of = ARRIVALS.c
    query = sa.select(of.opening_ref, of.revision, of.verdict, of.made_at)
    rows = tx.execute(query.where(of.order_id == order.order_id).order_by(of.arrival_id.desc()).limit(500))
    return [_plain(row) for row in rows.mappings()]
