"""Finds the one order that a caller means; what they may not see is not there."""

import unicodedata
from typing import Final

import sqlalchemy as sa

from sawready.desk.caller import Caller
from sawready.desk.refusals import RefusedError, Why
from sawready.store import orders
from sawready.store.orders import KeptOrder

CALLS: Final = frozenset(
    {"answers", "release", "cutting-list", "glass-list", "bars", "arrivals", "sheet", "drawing"}
)
"""Words that end the address of a call about an order, so no order can be kept under a name that ends so."""


def the_order(tx: sa.Connection, caller: Caller, order_ref: str, *, firm: str | None = None) -> KeptOrder:
    """The order of a name that a caller sees.

    Raises: RefusedError where there is none, or, for a factory, several.
    """
    found = orders.find(tx, caller.sight, unicodedata.normalize("NFC", order_ref), firm=firm)
    if not found:
        raise RefusedError("not-found", "No order of this name is here.")
    if len(found) > 1:
        firms = ", ".join(order.firm for order in found)
        raise RefusedError(
            "several-firms",
            "Several firms have an order of this name.",
            [Why(f"It is an order of {firms}.", "Name the firm with ?firm=.", parameter="firm")],
        )
    return found[0]


def keepable(order_ref: str | None) -> str:
    """The name that an order is kept under.

    Raises: RefusedError for an order without a name, and for a name that no address can lead to.
    """
    if order_ref is None:
        raise _unnamed("The order has no order_ref to be kept under.", "value-missing", "Name the order.")
    name = unicodedata.normalize("NFC", order_ref)
    parts = name.split("/")
    if name != name.strip() or any(part in ("", ".", "..") for part in parts):
        raise _unnamed(
            "The order_ref has blanks at its ends, or empty parts beside a slash, so no address leads to it.",
            "value-unreadable",
            "Choose a plain name.",
        )
    if parts[-1] in CALLS:
        raise _unnamed(
            f"The order_ref ends in {parts[-1]}, which is the name of a call.",
            "value-unreadable",
            "Choose another name.",
        )
    return name


def _unnamed(detail: str, reason: str, remedy: str) -> RefusedError:
    why = Why(detail, remedy, reason=reason, pointer="/order_ref")
    return RefusedError("not-an-order", f"The order cannot be kept. {detail}", [why])
