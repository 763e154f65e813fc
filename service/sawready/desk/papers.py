"""What papers of a kept order are made from besides its lists: the order, worked out anew."""

import sqlalchemy as sa

from sawready.desk.caller import Caller
from sawready.desk.finding_order import the_order
from sawready.desk.keeping import Desk
from sawready.desk.lists import ReadList, read_list
from sawready.desk.refusals import RefusedError, Why
from sawready.pipeline import OrderResult
from sawready.report.as_json import digest_of
from sawready.store import orders
from sawready.store.orders import Revision


def read_worked_out(
    desk: Desk, caller: Caller, order_ref: str, *, firm: str | None = None, number: int | None = None
) -> tuple[ReadList, OrderResult]:
    """The cutting list of a revision, and the revision worked out anew from what the firm sent.

    Whoever may read the list may have the rest, and nobody else.

    Args:
        desk: the desk.
        caller: who.
        order_ref: which order.
        firm: firm of the order, for a factory that serves several.
        number: revision that is wanted; the newest where None.
    Raises: RefusedError, also where it no longer comes to the same result; StoreError.
    """
    found = read_list(desk.store, caller, order_ref, kind="cutting", firm=firm, number=number)

    def look(tx: sa.Connection) -> Revision:
        order = the_order(tx, caller, order_ref, firm=firm)
        revision = orders.revision(tx, order, found.document["revision"])
        if revision is None:
            raise RefusedError("not-found", "The order has no such revision.")
        return revision

    revision = desk.store.read(look)
    checked = desk.worked_out(
        revision
    )  # outside of the transaction, which would keep writers of SQLite waiting
    if digest_of(checked) != revision.digest:
        raise RefusedError(
            "list-not-released",
            "Worked out anew, the order comes to another result.",
            [
                Why(
                    "The program, a profile system or a rulebook has changed since it was checked.",
                    "Send the order again with PUT, and use what comes of it.",
                    reason="figures-changed",
                )
            ],
        )
    return found, checked
