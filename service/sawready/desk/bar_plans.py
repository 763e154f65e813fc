"""Bars for one order or many: whose lists, which pieces, and the plan as it is published."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

import orjson

from sawready.bars import idle_offcuts, longer_than_trim, one_system, saw, stock_for
from sawready.calc.nesting import OldOffcut, Piece, Plan
from sawready.desk.caller import Caller
from sawready.desk.keeping import Desk
from sawready.desk.lists import ReadList, read_list
from sawready.desk.papers import read_worked_out
from sawready.desk.refusals import RefusedError, Why
from sawready.errors import SettingsError
from sawready.model.order import Opening
from sawready.model.pointer import pointer
from sawready.pipeline import OrderResult
from sawready.report import bar_plan

NM: Final = 1_000_000

QUICK_WORK: Final = 1_000_000_000
"""Counted work for one list of bars where somebody waits, about a second; a plan that it cuts short says so."""

MOST_PIECES: Final = 50_000
"""Pieces of one plan: some 3000 windows, a day of a large works; searched in about a minute and a half, the
answer has some 15 MB."""


@dataclass(frozen=True, slots=True)
class WantedOrder:
    """An order that is to be planned; the only one of its name, and its newest revision, where None."""

    order_ref: str
    firm: str | None = None
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class WantedPlan:
    """A plan that is asked for; what is None stands as system or ``data/saw.yaml`` say.

    Attributes:
        orders: whose pieces.
        bar_mm: length of a fresh bar of every profile. [mm]
        kerf_mm: thickness of the blade's cut. [mm]
        trim_mm: taken off every bar, both ends together. [mm]
        keep_mm: least offcut worth keeping. [mm]
        offcuts: old ones, to be used up first.
        is_listed: whether the orders stand in a list that refusals point into.
    """

    orders: tuple[WantedOrder, ...]
    bar_mm: Fraction | None = None
    kerf_mm: Fraction | None = None
    trim_mm: Fraction | None = None
    keep_mm: Fraction | None = None
    offcuts: tuple[OldOffcut, ...] = ()
    is_listed: bool = True

    def as_dict(self) -> dict[str, Any]:
        """A form that can be kept and read back by ``from_dict``."""
        lengths = {name: getattr(self, name) for name in _LENGTHS}
        return {
            "orders": [[each.order_ref, each.firm, each.revision] for each in self.orders],
            **{name: None if value is None else str(value) for name, value in lengths.items()},
            "offcuts": [[each.profile, each.length_nm, each.quantity, each.colour] for each in self.offcuts],
            "is_listed": self.is_listed,
        }

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> "WantedPlan":
        """What ``as_dict`` has written."""
        return cls(
            tuple(WantedOrder(*each) for each in kept["orders"]),
            **{name: None if kept[name] is None else Fraction(kept[name]) for name in _LENGTHS},
            offcuts=tuple(OldOffcut(*each) for each in kept["offcuts"]),
            is_listed=kept["is_listed"],
        )


_LENGTHS: Final = ("bar_mm", "kerf_mm", "trim_mm", "keep_mm")


@dataclass(frozen=True, slots=True)
class Lists:
    """The cutting lists of a plan, in the order in which they were named."""

    found: tuple[ReadList, ...]

    @property
    def pieces(self) -> int:
        """How many pieces they hold."""
        return sum(row["count"] for each in self.found for row in each.document["pieces"])

    @property
    def firms(self) -> frozenset[str]:
        """Whose they are."""
        return frozenset(each.order.firm for each in self.found)

    def fingerprint(self, wanted: WantedPlan) -> str:
        """The same for the same pieces, standing and options, and for no others."""
        heads = [[each.document[name] for name in _HEAD] for each in self.found]
        return hashlib.sha256(orjson.dumps([heads, wanted.as_dict()])).hexdigest()


_HEAD: Final = ("order_ref", "firm", "revision", "digest", "standing")


def read_lists(desk: Desk, caller: Caller, wanted: WantedPlan) -> Lists:
    """The cutting lists that a plan needs: what the caller may cut, or nothing at all.

    A plan that left an order out would be taken for the whole, so one order that cannot be had refuses all.

    Raises: RefusedError naming each order that cannot be planned and why, also where there are too many
        pieces; StoreError.
    """
    found: list[ReadList] = []
    refused: list[tuple[int, RefusedError]] = []
    for number, each in enumerate(wanted.orders):
        try:
            found.append(
                read_list(
                    desk.store, caller, each.order_ref, kind="cutting", firm=each.firm, number=each.revision
                )
            )
        except RefusedError as trouble:
            refused.append((number, trouble))
    if refused:
        raise _together(refused, wanted)
    lists = Lists(tuple(found))
    keys = [(each.order.firm, each.order.order_ref) for each in found]
    twice = [number for number, key in enumerate(keys) if key in keys[:number]]
    if twice:
        raise _refuse(
            "Orders are named twice, and would be cut twice.",
            [
                Why("It is named before.", "Name it once.", "value-unreadable", pointer("orders", number))
                for number in twice
            ],
        )
    if lists.pieces > MOST_PIECES:
        raise _refuse(
            f"The orders hold {lists.pieces} pieces; {MOST_PIECES} can be planned together.",
            [Why("They are too many for one plan.", "Plan fewer orders together.", pointer="/orders")],
        )
    return lists


def _refuse(detail: str, whys: Iterable[Why]) -> RefusedError:
    return RefusedError("bars-refused", detail, whys)


def _together(refused: Sequence[tuple[int, RefusedError]], wanted: WantedPlan) -> RefusedError:
    """One refusal of several orders; that of the only one of a call keeps its own kind."""
    if not wanted.is_listed:
        return refused[0][1]
    of = len(wanted.orders)
    name = "not-found" if any(each.name == "not-found" for _, each in refused) else "bars-refused"
    whys = [
        Why(
            trouble.detail if trouble.detail == why.detail else f"{trouble.detail} {why.detail}",
            why.remedy,
            why.reason,
            pointer("orders", number),
        )
        for number, trouble in refused
        for why in (trouble.whys or (Why(trouble.detail, "Correct its name, or take it out."),))
    ]
    if len(refused) == of == 1:
        return RefusedError(refused[0][1].name, refused[0][1].detail, whys)
    return RefusedError(name, f"{len(refused)} of {of} orders cannot be planned; nothing was.", whys)


def plan_document(desk: Desk, caller: Caller, wanted: WantedPlan, *, work: int | None) -> dict[str, Any]:
    """The plan as it is published.

    Each order is worked out anew for its colours and bars, and has to come to the result that is kept. Only
    accepted openings are planned; the others are named.

    Args:
        desk: the desk.
        caller: who.
        wanted: what.
        work: limit of counted work for each list.
    Raises: RefusedError, as ``read_lists``, and where an order comes to another result; StoreError.
    """
    lists = read_lists(desk, caller, wanted)
    read: list[tuple[ReadList, OrderResult]] = []
    refused: list[tuple[int, RefusedError]] = []
    for number, each in enumerate(wanted.orders):
        firm = lists.found[number].order.firm
        try:
            read.append(read_worked_out(desk, caller, each.order_ref, firm=firm, number=each.revision))
        except RefusedError as trouble:
            refused.append((number, trouble))
    if refused:
        raise _together(refused, wanted)
    return bar_plan.as_json(_plan(read, wanted, work=work), orders=[_head(*each) for each in read])


def _head(found: ReadList, checked: OrderResult) -> dict[str, Any]:
    return {**{name: found.document[name] for name in _HEAD}, "left_out": sorted(_not_accepted(checked))}


def _not_accepted(checked: OrderResult) -> set[str]:
    return {each.sized.opening.opening_ref or "" for each in checked.openings if each.decision != "accepted"}


def _plan(read: Sequence[tuple[ReadList, OrderResult]], wanted: WantedPlan, *, work: int | None) -> Plan:
    from sawready.calc.nesting import plan_bars  # noqa: PLC0415 - its extra may be absent

    pieces = [
        piece for number, (found, checked) in enumerate(read) for piece in _pieces(number, found, checked)
    ]
    systems = {checked.system.name: checked.system for _, checked in read if checked.system is not None}
    used = [(piece.profile, each[1].system) for each in read for piece in _pieces(0, *each)]
    try:
        one_system((profile, system.name) for profile, system in used if system is not None)
        stock = stock_for({piece.profile for piece in pieces}, systems.values(), bar_mm=wanted.bar_mm)
    except SettingsError as trouble:
        why = Why(f"{trouble}.", "Plan the orders of each system apart.", pointer="/orders")
        raise _refuse("The orders cannot be planned together.", [why]) from None
    with_saw = saw(kerf_mm=wanted.kerf_mm, trim_mm=wanted.trim_mm, keep_mm=wanted.keep_mm)
    try:
        longer_than_trim(wanted.bar_mm, with_saw)
    except SettingsError as trouble:
        why = Why(f"{trouble}.", "State the bar in millimetres.", pointer="/bar_mm")
        raise _refuse("Nothing can be cut from such bars.", [why]) from None
    plan = plan_bars(pieces, stock=stock, saw=with_saw, offcuts=wanted.offcuts, work=work)
    return replace(plan, remarks=tuple(idle_offcuts(pieces, wanted.offcuts)))


def _pieces(number: int, found: ReadList, checked: OrderResult) -> list[Piece]:
    """The pieces of one list, colours kept apart."""
    colours = {each.sized.opening.opening_ref: _colour(each.sized.opening) for each in checked.openings}
    left_out = _not_accepted(checked)
    return [
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
            firm=found.document["firm"],
            at=pointer("orders", number, "pieces", place),
        )
        for place, row in enumerate(found.document["pieces"])
        if row["opening_ref"] not in left_out
    ]


def _colour(opening: Opening) -> str | None:
    outside, inside = opening.colour_outside, opening.colour_inside
    return f"{outside}/{inside}" if outside and inside and outside != inside else outside or inside
