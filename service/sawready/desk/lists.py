"""Lists for the saw and the glass works: every piece of an order, multiplied by how many are alike."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Literal

import orjson
import sqlalchemy as sa

from sawready.desk.caller import Caller
from sawready.desk.cut_already import Cut
from sawready.desk.finding_order import the_order
from sawready.desk.made import mark_of, openings_of, size_of
from sawready.desk.refusals import RefusedError, Why
from sawready.store import orders
from sawready.store.orders import KeptOrder, Release, Revision
from sawready.store.store import Store

ListKind = Literal["cutting", "glass"]

CUTTING_COLUMNS: Final = (
    "order_ref", "revision", "standing", "opening_ref", "part", "profile", "length_mm", "ends", "light",
    "count", "working",
)  # fmt: skip
GLASS_COLUMNS: Final = (
    "order_ref", "revision", "standing", "opening_ref", "light", "width_mm", "height_mm", "unit", "safety",
    "kg", "count",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReadList:
    """A list as a caller gets it.

    Attributes:
        order: whose it is.
        document: the list, as it is published.
    """

    order: KeptOrder
    document: dict[str, Any]


def list_document(order: KeptOrder, result: Mapping[str, Any], cut: Cut) -> dict[str, Any]:
    """Everything that is to be cut for a revision.

    Args:
        order: the order.
        result: its published result.
        cut: what is cut already.
    Returns: head, ``already_cut``, ``cut_again``, ``pieces``, ``totals`` and ``glass``.
    """
    openings = openings_of(result)
    left_out = {
        ref for ref, opening in openings.items() if ref in cut and cut[ref]["mark"] == mark_of(opening)
    }
    todo = [each for each in result["openings"] if each["opening_ref"] not in left_out]
    pieces = [
        {
            "opening_ref": opening["opening_ref"],
            **{name: piece[name] for name in ("part", "profile", "length_mm", "ends", "light")},
            "count": opening["quantity"],
            "working": piece["working"],
        }
        for opening in todo
        for piece in (*opening["pieces"], *opening["beads"])
    ]
    glass = [
        {
            "opening_ref": opening["opening_ref"],
            **{name: pane[name] for name in ("light", "width_mm", "height_mm", "unit", "safety", "kg")},
            "count": opening["quantity"],
        }
        for opening in todo
        for pane in opening["glass"]
    ]
    return {
        "order_ref": order.order_ref,
        "firm": order.firm,
        "revision": order.revision,
        "digest": result["digest"],
        "made_with": result["made_with"],
        "already_cut": [
            {"opening_ref": ref, "revision": cut[ref]["revision"]} for ref in openings if ref in left_out
        ],
        "cut_again": [
            {"opening_ref": ref, "revision": cut[ref]["revision"], "because": _changed(cut[ref], opening)}
            for ref, opening in openings.items()
            if ref in cut and ref not in left_out
        ]
        + [
            {"opening_ref": ref, "revision": each["revision"], "because": "it is no longer in the order"}
            for ref, each in cut.items()
            if ref not in openings
        ],
        "pieces": pieces,
        "totals": totals(pieces),
        "glass": glass,
    }


def _changed(was: Mapping[str, Any], opening: Mapping[str, Any]) -> str:
    now = size_of(opening)
    if was["size"] == now:
        return "what is cut for it has changed, though its frame has not"
    return f"it was cut for a frame of {was['size']} and is now {now}"


def totals(pieces: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """How many pieces and how much of each profile a list holds.

    Example:
        >>> totals([{"profile": "frame-62", "length_mm": 1804.1, "count": 3}])
        [{'profile': 'frame-62', 'pieces': 3, 'length_mm': 5412.3}]
    """
    sums: dict[str, tuple[int, Decimal]] = {}
    for piece in pieces:
        count, length = sums.get(piece["profile"], (0, Decimal(0)))
        added = Decimal(str(piece["length_mm"])) * piece["count"]
        sums[piece["profile"]] = count + piece["count"], length + added
    return [
        {"profile": profile, "pieces": count, "length_mm": float(length)}
        for profile, (count, length) in sums.items()
    ]


def read_list(
    store: Store,
    caller: Caller,
    order_ref: str,
    *,
    kind: ListKind,
    firm: str | None = None,
    number: int | None = None,
) -> ReadList:
    """A list of an order.

    A factory gets released lists only, and one that a newer revision has overtaken only where it asks for
    that revision by number; its standing then says so. The order's own firm also gets what is not released.

    Args:
        store: where orders are kept.
        caller: who.
        order_ref: which order.
        kind: the cutting list or the glass list.
        firm: firm of the order, for a factory that serves several.
        number: revision that is wanted; the newest where None.
    Raises: RefusedError, StoreError.
    """

    def work(tx: sa.Connection) -> ReadList:
        order = the_order(tx, caller, order_ref, firm=firm)
        wanted = order.revision if number is None else number
        revision = orders.revision(tx, order, wanted)
        if revision is None:
            raise RefusedError(
                "not-found",
                "The order has no such revision.",
                [Why("There is none.", f"The newest is {order.revision}.", parameter="revision")],
            )
        release = orders.release(tx, order, wanted)
        document = _draft(caller, order, revision) if release is None else orjson.loads(release.document)
        return ReadList(order, _part(document, kind, order, wanted, release))

    return store.read(work)


def _draft(caller: Caller, order: KeptOrder, revision: Revision) -> dict[str, Any]:
    """The list of a revision that is not released."""
    if not caller.sees_drafts(order):
        if order.released_revision is not None:
            raise RefusedError(
                "list-not-released",
                f"Revision {order.released_revision} was released; revision {order.revision} has come since.",
                [
                    Why(
                        "What was released is superseded.",
                        "Stop cutting it, and ask for the release of the newest revision.",
                        reason="superseded",
                    )
                ],
            )
        why = Why("It is not released.", "Ask for its release first.", reason="not-released")
        raise RefusedError("list-not-released", "No list of this order is released.", [why])
    return list_document(
        KeptOrder(**{**_fields(order), "revision": revision.revision}),
        orjson.loads(revision.result),
        revision.cut,
    )


def _fields(order: KeptOrder) -> dict[str, Any]:
    return {name: getattr(order, name) for name in KeptOrder.__slots__}


def _part(
    document: dict[str, Any], kind: ListKind, order: KeptOrder, number: int, release: Release | None
) -> dict[str, Any]:
    """One of the two lists, with its standing."""
    standing = "released" if number == order.revision else "superseded"
    if release is None:
        standing = "not-released"
    head = {
        **{name: document[name] for name in ("order_ref", "firm", "revision", "digest", "made_with")},
        "standing": standing,
        "released_at": None if release is None else release.made_at,
        "factory": None if release is None else release.factory,
        "already_cut": document["already_cut"],
        "cut_again": document["cut_again"],
    }
    if kind == "cutting":
        return {**head, "pieces": document["pieces"], "totals": document["totals"]}
    return {**head, "glass": document["glass"]}


def rows_of(document: Mapping[str, Any], kind: ListKind) -> list[dict[str, Any]]:
    """The rows of a list for a sheet; each says which revision it is of, and how that stands."""
    head = {name: document[name] for name in ("order_ref", "revision", "standing")}
    return [{**head, **row} for row in document["pieces" if kind == "cutting" else "glass"]]
