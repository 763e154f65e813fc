"""What is made of a kept order besides its lists: the fitter's sheet, and a plan of bars."""

from fractions import Fraction
from typing import Final

import sqlalchemy as sa

from sawready.bars import saw, stock_for
from sawready.calc.nesting import Piece, Plan, plan_bars
from sawready.desk.caller import Caller
from sawready.desk.finding_order import the_order
from sawready.desk.keeping import Desk
from sawready.desk.lists import ReadList, read_list
from sawready.desk.refusals import RefusedError, Why
from sawready.model.order import Opening
from sawready.pipeline import OrderResult
from sawready.report.as_json import digest_of
from sawready.store import orders

NM: Final = 1_000_000

WORK: Final = 1_000_000_000
"""Counted work for one list of bars, about a second; a plan that it cuts short says so."""


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

    def work(tx: sa.Connection) -> OrderResult:
        order = the_order(tx, caller, order_ref, firm=firm)
        revision = orders.revision(tx, order, found.document["revision"])
        if revision is None:
            raise RefusedError("not-found", "The order has no such revision.")
        checked = desk.worked_out(revision)
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
        return checked

    return found, desk.store.read(work)


def order_bars(found: ReadList, checked: OrderResult) -> Plan:
    """The pieces of a list on stock bars, colours kept apart.

    Args:
        found: the cutting list.
        checked: the order, which knows the colours and the system's bars.
    """
    colours = {each.sized.opening.opening_ref: _colour(each.sized.opening) for each in checked.openings}
    pieces = [
        Piece(
            profile=row["profile"],
            length_nm=round(Fraction(str(row["length_mm"])) * NM),
            quantity=row["count"],
            ends=row["ends"],
            colour=None if row["part"] == "reinforcement" else colours.get(row["opening_ref"]),
            order_ref=found.document["order_ref"],
            opening_ref=row["opening_ref"],
            part=row["part"],
            light=row["light"],
            at=f"/pieces/{number}",
        )
        for number, row in enumerate(found.document["pieces"])
    ]
    systems = [] if checked.system is None else [checked.system]
    stock = stock_for({piece.profile for piece in pieces}, systems)
    return plan_bars(pieces, stock=stock, saw=saw(), work=WORK)


def _colour(opening: Opening) -> str | None:
    outside, inside = opening.colour_outside, opening.colour_inside
    return f"{outside}/{inside}" if outside and inside and outside != inside else outside or inside
