"""What of an order is cut already, revision by revision.

Once a list is released, the saw may have begun. Whoever revises the order says then which openings are
cut. What was cut for an opening stays with it as a mark: the next list leaves the opening out where the
same things are to be cut, and has it cut anew where they differ.
"""

from collections.abc import Mapping
from typing import Any

import orjson
import sqlalchemy as sa

from sawready.desk.made import mark_of, openings_of, size_of
from sawready.desk.refusals import RefusedError, Why
from sawready.store import orders
from sawready.store.orders import KeptOrder, Revision

Cut = Mapping[str, Mapping[str, Any]]
"""By opening: ``revision`` whose list it was cut from, ``mark`` of what was cut, its ``size`` in words."""


def after_revision(
    tx: sa.Connection, order: KeptOrder, before: Revision, already_cut: tuple[str, ...] | None
) -> Cut:
    """What is cut by the time of a re-survey.

    Args:
        tx: the transaction of the re-survey.
        order: the order.
        before: its newest revision.
        already_cut: openings that are said to be cut; None where nothing is said.
    Raises: RefusedError where a list is released and nothing is said, or where an opening is named that
        no list was released of.
    """
    if order.released_revision is None:
        if already_cut:
            why = Why("No list of this order is released.", "Leave already_cut out.", pointer="/already_cut")
            raise RefusedError("cut-not-stated", "Nothing of this order can be cut yet.", [why])
        return {}
    if already_cut is None:
        raise RefusedError(
            "cut-not-stated",
            f"Revision {order.released_revision} is released to the saw, so a re-survey says what is cut.",
            [
                Why(
                    "already_cut is missing.",
                    "Ask the factory, and list the openings that are cut; an empty list says that none is.",
                    reason="value-missing",
                    pointer="/already_cut",
                )
            ],
        )
    released = orders.revision(tx, order, order.released_revision)
    assert released is not None  # noqa: S101 - a foreign key holds it
    openings = openings_of(orjson.loads(released.result))
    earlier: Cut = {**released.cut, **before.cut}
    cut: dict[str, Mapping[str, Any]] = {}
    for number, ref in enumerate(already_cut):
        opening = openings.get(ref)
        if opening is None and ref not in earlier:
            why = Why(
                f"{ref} is not in the released list.",
                f"Name openings of revision {order.released_revision}.",
                pointer=f"/already_cut/{number}",
            )
            raise RefusedError("cut-not-stated", "An opening is named that was not released.", [why])
        if opening is None:
            cut[ref] = earlier[ref]
        else:
            mark = mark_of(opening)
            known = earlier.get(ref)
            # cut under an earlier list and left out of this one: it is that list which it was cut from
            if known is not None and known["mark"] == mark:
                cut[ref] = known
            else:
                cut[ref] = {"revision": order.released_revision, "mark": mark, "size": size_of(opening)}
    return cut


def after_answer(order: KeptOrder, before: Revision) -> Cut:
    """What is cut by the time of an answer: what was said to be.

    Raises: RefusedError where the newest revision is released: its list is frozen, and it has no query.
    """
    if order.released_revision == order.revision:
        raise RefusedError(
            "answer-refused",
            "This revision is released to the saw; it has no query left.",
            [Why("It is released.", "Send a re-survey with PUT.", reason="already-released")],
        )
    return dict(before.cut)
