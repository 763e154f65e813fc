"""Making and fixing: bars that are long enough, holes that keep their distances."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sawready.model.shown import apart, mm, plain, quantity, shown
from sawready.rules.registry import QUERY, REJECT, SILL, Bound, Hit, Hits, known, rule
from sawready.sizing import Sized

if TYPE_CHECKING:
    from sawready.calc.fixing import Holes

_BROKEN = {
    "too-short": "there is no room for two holes",
    "corner": "a divider leaves no place for a hole {corner} to {corner_most} mm from the corner",
    "divider": "a hole comes nearer than {from_divider} mm to a divider",
    "centres": "the dividers leave a stretch of more than {centres} mm without a hole",
}


@rule(
    reason="fixing-not-possible",
    about="making",
    severity=QUERY,
    needs=("lights", "rulebook"),
    title="No set of fixing holes keeps the rules",
    message="On the {side}, {what}, about {where} mm from its {end}.",
    remedy="Agree another way of fixing this side; the best set of holes is given.",
    source="rulebook, fixings",
)
def fixing_not_possible(ctx: Sized) -> Hits:
    """Without its fixings a frame moves in the wind until its seal tears."""
    if ctx.fixings is None or ctx.plan is None or ctx.rulebook is None or not ctx.fixings.are_broken:
        return ()
    figures = ctx.rulebook.fixings
    words = {
        "corner": plain(mm(figures.corner_nm)),
        "corner_most": plain(mm(figures.corner_most_nm)),
        "from_divider": plain(mm(figures.from_divider_nm)),
        "centres": plain(mm(figures.centres_most_nm)),
    }
    hits = []
    sides: tuple[tuple[str, Holes | None], ...] = (
        ("left side", ctx.fixings.left),
        ("right side", ctx.fixings.right),
        ("head", ctx.fixings.top),
        ("bottom", ctx.fixings.bottom),
    )
    for side, holes in sides:
        if holes is None or not holes.broken:
            continue
        what = " and ".join(_BROKEN[name].format_map(words) for name in holes.broken)
        where = holes.at[0] if holes.where is None else holes.where
        place = plain(mm(where) / ctx.plan.denominator)
        end = "left end" if side in {"head", "bottom"} else "top"
        hits.append(
            Hit(
                "layout",
                {"side": side, "what": what, "where": place, "end": end},
                measured=quantity(place, "mm"),
                source=ctx.rulebook.figure("fixings.corner_mm").source,
                message="The {side} of {where} mm is too short for two holes."
                if holes.broken == ("too-short",)
                else None,
            )
        )
    return hits


def _pieces(ctx: Sized) -> Iterator[tuple[str, int, int]]:
    """Part, length and bar of every piece, over the plan's denominator. [nm]"""
    plan, values = ctx.plan, ctx.values
    assert plan is not None  # noqa: S101 - the rule needs it
    scale = plan.denominator
    for member in plan.members:
        yield member.part, values[member.cut], member.bar_nm * scale
        steel = member.steel
        if steel is not None and values[member.finished] >= steel.from_nm * scale:
            yield "reinforcement", values[steel.cut], steel.bar_nm * scale
    for light in plan.lights:
        for bead in light.beads:
            yield bead.part, values[bead.cut], bead.bar_nm * scale
    system = ctx.system
    if ctx.sill is not None and ctx.sill_length_nm is not None:
        yield "sill", ctx.sill_length_nm * scale, int(ctx.sill.bar_mm * 1_000_000) * scale
    if (
        system is not None
        and system.extender is not None
        and ctx.width is not None
        and ctx.height is not None
    ):
        bar = int(system.extender.bar_mm * 1_000_000) * scale
        left, right, top, bottom = ctx.opening.extenders_nm
        if top or bottom:
            yield "extender", ctx.width.size_nm * scale, bar
        if left or right:
            yield "extender", (ctx.height.size_nm + top + bottom) * scale, bar


def _bars(ctx: Sized) -> Iterator[Bound]:
    """No cut is longer than its bar."""
    plan = known(ctx.plan)
    for cut, bar in plan.bars:
        yield cut, None, bar
    if ctx.sill is not None:
        yield SILL, None, int(ctx.sill.bar_mm * 1_000_000)
    extender = known(ctx.system).extender
    if extender is not None:
        bar = int(extender.bar_mm * 1_000_000)
        left, right, top, bottom = ctx.opening.extenders_nm
        head, _, upright, _ = (member.finished for member in plan.members[:4])
        if top or bottom:
            yield head, None, bar * plan.denominator
        if left or right:
            yield upright, None, (bar - top - bottom) * plan.denominator


@rule(
    reason="piece-longer-than-bar",
    about="making",
    severity=REJECT,
    needs=("lights",),
    within=_bars,
    title="A piece longer than the bar it is cut from",
    message="The {part} is {length} mm long; its bar is {bar} mm.",
    remedy="Order longer bars, or couple two frames.",
    source="profile system, bar_mm",
)
def piece_longer_than_bar(ctx: Sized) -> Hits:
    """It cannot be cut, and is better known before the other pieces are."""
    plan = ctx.plan
    assert plan is not None  # noqa: S101 - the rule needs it
    found: dict[str, Hit] = {}
    values = ctx.values
    is_over = any(values[cut] > bar for cut, bar in plan.bars)
    if not is_over and ctx.sill_length_nm is not None and ctx.sill is not None:
        is_over = ctx.sill_length_nm > ctx.sill.bar_mm * 1_000_000
    if not is_over and not any(ctx.opening.extenders_nm):
        return ()
    for part, length, bar in _pieces(ctx):
        if length <= bar or part in found:
            continue
        long, limit = (mm(value) / plan.denominator for value in (length, bar))
        text, bound = apart(long, limit)
        facts = {"part": part.replace("-", " "), "length": text, "bar": plain(limit)}
        at = "sill" if part == "sill" else "layout"
        found[part] = Hit(at, facts, measured=quantity(text, "mm"), limit=quantity(shown(limit), "mm"))
        del bound
    return list(found.values())
