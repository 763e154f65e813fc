"""Pieces in, a bar plan out: this is the call for everyone outside the package."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final, TypeVar

from sawready.model.finding import REJECT, Finding
from sawready.model.shown import apart, mm, plain, quantity, shown

from .guard import Guard
from .leftovers import Limits
from .lists import CuttingList, cutting_list
from .pieces import BarStock, OldOffcut, Piece, Saw
from .plan import Plan, ProfilePlan
from .reserve import roomiest
from .solve import prove, solve

WORK: Final = 20_000_000_000
"""Counted work for the fewest bars of one list; some 20 s on one core, for the few lists that need it."""

TIDY_WORK: Final = (50_000_000, 400_000)
"""Counted work for gathering what is left over: so much a list, and so much more a piece."""

SOLVER_FAILED: Final = "The solver for fewer bars gave up; the plan is right, but may take more than needed."

Key = tuple[str, str | None]
"""Profile and colour."""

_T = TypeVar("_T", Piece, OldOffcut)


def plan_bars(
    pieces: Iterable[Piece],
    *,
    stock: Mapping[str, BarStock],
    saw: Saw,
    offcuts: Iterable[OldOffcut] = (),
    limit_s: float | None = None,
    work: int | None = WORK,
) -> Plan:
    """Which piece comes from which bar, with the fewest fresh bars.

    Each profile, and within it each colour, is planned by itself. Old offcuts go before fresh bars.
    Among plans with equally few fresh bars the one is sought that uses most of the old offcuts, leaves
    the fewest offcuts too short to keep, and the longest single one to keep.

    The same input gives the same plan on any machine as long as the clock does not cut it short.

    Args:
        pieces: what to cut, in any order; equal ones may come together or apart.
        stock: fresh bars by profile.
        saw: what the saw takes and what is worth keeping.
        offcuts: what lies on the rack; those of profiles that have no pieces are left alone.
        limit_s: wall-clock limit for everything; None for none. Short lists come first. [s]
        work: limit of counted work for each list; None for none.
    Returns: the plan; pieces that no bar holds are findings in it.
    Raises: ValueError if a profile of the pieces has no stock, or a limit is below zero.

    Example:
        >>> frame = Piece("frame-62", 1_804_000_000, quantity=6, ends="45/45")
        >>> saw = Saw(kerf_nm=4_000_000, trim_nm=20_000_000, keep_nm=500_000_000)
        >>> plan = plan_bars([frame], stock={"frame-62": BarStock(6_000_000_000)}, saw=saw)
        >>> plan.profiles[0].new_bars, plan.profiles[0].bound
        (2, 2)
    """
    guard = Guard(limit_s)
    wanted = _by_list(pieces)
    for profile, _ in wanted:
        if profile not in stock:
            raise ValueError(f"no bar length is known for profile {profile!r}")
    racks = _by_list(offcuts)
    lists = {
        key: cutting_list(wanted[key], stock=stock[key[0]], offcuts=racks.get(key, ()), saw=saw)
        for key in sorted(wanted, key=_sort_key)
    }
    plans = {
        key: _planned(key, lists[key], guard, work)
        for key in sorted(lists, key=lambda key: (lists[key].pieces, *_sort_key(key)))
        if lists[key].pieces
    }
    findings = [_too_long(piece, listed) for listed in lists.values() for piece in listed.too_long]
    return Plan(saw, _numbered([plans[key] for key in lists if key in plans]), tuple(findings))


def _by_list(things: Iterable[_T]) -> dict[Key, list[_T]]:
    """Pieces or offcuts by profile and colour."""
    found: dict[Key, list[_T]] = {}
    for thing in things:
        found.setdefault((thing.profile, thing.colour), []).append(thing)
    return found


def _sort_key(key: Key) -> tuple[str, str]:
    return key[0], key[1] or ""


def _planned(key: Key, listed: CuttingList, guard: Guard, work: int | None) -> ProfilePlan:
    """The plan of one list."""
    problem, grid, saw = listed.problem, listed.grid, listed.saw
    made = ProfilePlan(
        *key,
        bar_nm=listed.stock.bar_nm,
        bars=(),
        new_bars=0,
        bound=0,
        method="first-fit",
        is_turned=listed.turn_face_nm is not None,
        remarks=listed.remarks,
    )
    if not problem.weights or grid is None:
        return replace(made, bars=listed.bars(()))
    search = guard.share(work)
    solved = solve(problem, guard=search)
    limits = Limits(grid.joint, grid.scaled_down(saw.scrap_nm), grid.scaled_up(saw.keep_nm))
    tidying = guard.share(TIDY_WORK[0] + TIDY_WORK[1] * problem.pieces)
    packing = roomiest(problem, solved.packing, limits, tidying)
    bars = listed.bars(packing)
    bound = solved.bound if listed.loose is None else prove(listed.loose, bars=solved.bars, guard=search)
    stopped_by = search.stopped_by
    if stopped_by is None and tidying.stopped_by == "time":
        stopped_by = "time"
    return replace(
        made,
        bars=bars,
        new_bars=sum(not bar.is_old_offcut for bar in bars),
        bound=bound,
        method=solved.method,
        stopped_by=stopped_by,
        remarks=(*made.remarks, SOLVER_FAILED) if solved.has_failed else made.remarks,
        is_searched=solved.searched and listed.loose is None,
    )


def _numbered(plans: Iterable[ProfilePlan]) -> tuple[ProfilePlan, ...]:
    """The plans with the bars of a profile counted through all its colours."""
    numbered: list[ProfilePlan] = []
    for plan in plans:
        before = 0
        if numbered and numbered[-1].profile == plan.profile:
            before = numbered[-1].bars[-1].number
        numbered.append(
            replace(plan, bars=tuple(replace(bar, number=before + bar.number) for bar in plan.bars))
        )
    return tuple(numbered)


def _too_long(piece: Piece, listed: CuttingList) -> Finding:
    """What to say of a piece that no bar holds."""
    length, limit = mm(piece.nested_nm), mm(listed.longest_nm)
    text, bound = apart(length, limit)
    what = (piece.part or "piece").replace("-", " ")
    of = f" of opening {piece.opening_ref}" if piece.opening_ref else ""
    order = f" (order {piece.order_ref})" if piece.order_ref else ""
    bar = plain(mm(listed.stock.bar_nm))
    return Finding(
        reason="piece-longer-than-bar",
        severity=REJECT,
        at=piece.at,
        cell=piece.cell,
        message=(
            f"The {what}{of}{order} is {text} mm long, {piece.quantity} off; a {bar} mm bar of"
            f" {piece.profile} gives {bound} mm after {plain(mm(listed.saw.trim_nm))} mm of trim."
        ),
        measured=quantity(text, "mm"),
        limit=quantity(shown(limit), "mm"),
        remedy="Order longer bars, or couple two frames.",
        source="bar length and trim of this plan",
    )
