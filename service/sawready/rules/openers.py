"""Lights and dividers: what the profile system can be made into."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache

from sawready.calc.plan import Plan
from sawready.catalogue.profiles import ProfileSystem
from sawready.model.layout import Layout, lights_of
from sawready.model.shown import apart, mm, plain, quantity, shown
from sawready.rules.registry import REJECT, Bound, Hit, Hits, known, rule
from sawready.rules.where import light_in_words
from sawready.sizing import Sized

Bounds = tuple[int, str, int, int, int, int, int, int]
"""Light, kind, width and height of its sash, then least and most of either. [nm over the denominator]"""


@lru_cache(maxsize=4096)
def _bounds(plan: Plan, system: ProfileSystem) -> tuple[Bounds, ...]:
    """Limits of every opening light that the system knows."""
    scale = 1_000_000 * plan.denominator
    found = []
    for number, kind, width, height in plan.sashes:
        opener = system.openers.get(kind)
        if opener is not None:
            least_width, most_width = (int(limit * scale) for limit in opener.width_mm)
            least_height, most_height = (int(limit * scale) for limit in opener.height_mm)
            found.append((number, kind, width, height, least_width, most_width, least_height, most_height))
    return tuple(found)


@lru_cache(maxsize=4096)
def _least_daylight(plan: Plan, system: ProfileSystem) -> int:
    """Least side of a daylight. [nm over the denominator]"""
    return int(system.daylight_least_mm * 1_000_000 * plan.denominator)


@lru_cache(maxsize=8192)
def _unknown_kinds(layout: Layout, system: ProfileSystem) -> tuple[str, ...]:
    """Kinds of opener in a layout that the system does not have."""
    wanted = {light.kind: None for light in lights_of(layout) if light.kind != "fixed"}
    return tuple(kind for kind in wanted if kind not in system.openers)


@rule(
    reason="opener-not-in-system",
    about="openers",
    severity=REJECT,
    needs=("system", "layout"),
    title="A kind of opener that the system cannot be made into",
    message="{system} has no {kind} opener; it has {known}.",
    remedy="Choose another kind of opener, or another system.",
    source="profile system, openers",
)
def opener_not_in_system(ctx: Sized) -> Hits:
    """Hinges and gear for it do not exist in this system, so the sash could not be hung."""
    system, layout = ctx.system, ctx.opening.layout
    assert system is not None  # noqa: S101 - the rule needs it
    assert layout is not None  # noqa: S101 - the rule needs it
    unknown = _unknown_kinds(layout, system)
    if not unknown and "plan" not in ctx.missing:
        return ()
    listed = ", ".join(system.openers) or "only fixed lights"
    hits = [
        Hit("layout", {"system": system.name, "kind": kind, "known": listed}, candidates=list(system.openers))
        for kind in unknown
    ]
    lacks = ctx.missing.get("plan", "")
    if not hits and lacks.startswith(f"{system.name} has no "):
        facts = {"lacks": lacks}
        hits.append(Hit("layout", facts, message="The layout cannot be made: {lacks}."))
    return hits


def _rooms(ctx: Sized) -> Iterator[Bound]:
    """A stated place leaves room on both sides of its divider."""
    for divider in known(ctx.plan).dividers:
        for room in (divider.room, divider.room_after):
            if room is not None:
                yield room, 1, None


@rule(
    reason="divider-outside-frame",
    about="openers",
    severity=REJECT,
    needs=("plan",),
    within=_rooms,
    title="A divider placed outside the field that it divides",
    message="The {part} at {place} mm does not lie inside the {least} to {most} mm left for it.",
    remedy="Correct its place: the distance of its centre line from the frame's {edge} outer edge, rising.",
    source="geometry, section 3",
)
def divider_outside_frame(ctx: Sized) -> Hits:
    """A divider on or past the frame, or past its neighbour, leaves a light without any size."""
    plan, values = ctx.plan, ctx.values
    assert plan is not None  # noqa: S101 - the rule needs it
    hits = []
    for divider in plan.dividers:
        if divider.room is None:
            continue
        is_before = values[divider.room] <= 0
        is_after = divider.room_after is not None and values[divider.room_after] <= 0
        if not is_before and not is_after:
            continue
        centre = ctx.mm(divider.centre)
        low: Fraction | None = centre - ctx.mm(divider.room)
        high = None if divider.room_after is None else centre + ctx.mm(divider.room_after)
        assert divider.place is not None  # noqa: S101 - only a stated place has room
        if plan.places[divider.place].from_far_edge and ctx.width is not None:
            width = mm(ctx.width.size_nm)
            low, high = None if high is None else width - high, None if low is None else width - low
            is_before = is_after
        stated = mm(ctx.places_nm[divider.place])
        limit = low if is_before else high
        facts = {
            "part": divider.part,
            "place": plain(stated),
            "least": "first" if low is None else plain(low),
            "most": "last" if high is None else plain(high),
            "edge": "top" if divider.part == "transom" else "left",
        }
        hits.append(
            Hit(
                "layout",
                facts,
                measured=quantity(shown(stated), "mm"),
                limit=None if limit is None else quantity(shown(limit), "mm"),
            )
        )
    return hits


def _daylights(ctx: Sized) -> Iterator[Bound]:
    """No daylight is below the least."""
    plan = known(ctx.plan)
    least = _least_daylight(plan, known(ctx.system))
    for light in plan.lights:
        for side in light.daylight:
            yield side, least, None


@rule(
    reason="light-too-small",
    about="openers",
    severity=REJECT,
    needs=("lights",),
    within=_daylights,
    title="A light too small to be made",
    message="The daylight of {light} is {width} x {height} mm; {least} mm is the least for either side.",
    remedy="Move or leave out a divider, or check the size of the frame.",
    source="profile system, daylight_least_mm",
)
def light_too_small(ctx: Sized) -> Hits:
    """Beads and glass of so small a field cannot be cut and sprung in."""
    plan, system = ctx.plan, ctx.system
    assert plan is not None  # noqa: S101 - the rule needs it
    assert system is not None  # noqa: S101 - a plan needs it
    floor = _least_daylight(plan, system)
    values = ctx.values
    if all(
        values[light.daylight[0]] >= floor and values[light.daylight[1]] >= floor for light in plan.lights
    ):
        return ()
    least = system.daylight_least_mm
    hits = []
    for number, light in enumerate(plan.lights):
        width, height = ctx.mm(light.daylight[0]), ctx.mm(light.daylight[1])
        if width >= least and height >= least:
            continue
        text, limit = apart(min(width, height), least)
        facts = {
            "light": light_in_words(plan, number),
            "width": plain(width, 3),
            "height": plain(height, 3),
            "least": plain(least),
        }
        hits.append(
            Hit(
                "layout",
                facts,
                measured=quantity(text, "mm"),
                limit=quantity(limit, "mm"),
                source=system.source,
            )
        )
    return hits


def _sashes(*, is_width: bool, is_most: bool) -> Callable[[Sized], Iterator[Bound]]:
    """No sash is past a limit of its kind."""

    def within(ctx: Sized) -> Iterator[Bound]:
        for _, _, wide, high, least_width, most_width, least_height, most_height in _bounds(
            known(ctx.plan), known(ctx.system)
        ):
            side = wide if is_width else high
            if is_most:
                yield side, None, most_width if is_width else most_height
            else:
                yield side, least_width if is_width else least_height, None

    return within


def _least_sashes(ctx: Sized) -> Iterator[Bound]:
    """No sash is too small for its gear, either way."""
    yield from _sashes(is_width=True, is_most=False)(ctx)
    yield from _sashes(is_width=False, is_most=False)(ctx)


@rule(
    reason="opener-too-wide",
    about="openers",
    severity=REJECT,
    needs=("lights",),
    within=_sashes(is_width=True, is_most=True),
    title="A sash wider than its hinges allow",
    message="The sash of {light} is {size} mm wide; {limit} mm is the most for {kind}.",
    remedy="Move the divider, divide the light, or choose another kind of opener.",
    source="profile system, openers",
)
def opener_too_wide(ctx: Sized) -> Hits:
    """A sash too wide for its stays sags, binds, and can come off."""
    return _out_of_limits(ctx, is_width=True, is_most=True)


@rule(
    reason="opener-too-tall",
    about="openers",
    severity=REJECT,
    needs=("lights",),
    within=_sashes(is_width=False, is_most=True),
    title="A sash taller than its hinges allow",
    message="The sash of {light} is {size} mm high; {limit} mm is the most for {kind}.",
    remedy="Add or move a transom, or choose another kind of opener.",
    source="profile system, openers",
)
def opener_too_tall(ctx: Sized) -> Hits:
    """A sash too tall for its gear does not lock at its corners."""
    return _out_of_limits(ctx, is_width=False, is_most=True)


@rule(
    reason="opener-too-small",
    about="openers",
    severity=REJECT,
    needs=("lights",),
    within=_least_sashes,
    title="A sash too small for its gear",
    message="The sash of {light} is {size} mm {way}; {limit} mm is the least for {kind}.",
    remedy="Move the divider, or make the light fixed.",
    source="profile system, openers",
)
def opener_too_small(ctx: Sized) -> Hits:
    """Hinges and lock need their length of sash; below it they cannot be screwed on."""
    return [
        *_out_of_limits(ctx, is_width=True, is_most=False),
        *_out_of_limits(ctx, is_width=False, is_most=False),
    ]


def _out_of_limits(ctx: Sized, *, is_width: bool, is_most: bool) -> Hits:
    plan, system, values = ctx.plan, ctx.system, ctx.values
    assert plan is not None  # noqa: S101 - the rules need it
    assert system is not None  # noqa: S101 - a plan needs it
    hits: list[Hit] = []
    for number, kind, wide, high, least_width, most_width, least_height, most_height in _bounds(plan, system):
        size, least, most = (
            (values[wide], least_width, most_width) if is_width else (values[high], least_height, most_height)
        )
        if (size <= most) if is_most else (size >= least or size < 0):
            continue
        exact, bound = (
            Fraction(value, 1_000_000 * plan.denominator) for value in (size, most if is_most else least)
        )
        text, limit = apart(exact, bound)
        facts = {
            "light": light_in_words(plan, number),
            "size": plain(exact, len(text.split(".")[1])),
            "limit": plain(bound),
            "kind": kind,
            "way": "wide" if is_width else "high",
        }
        hits.append(Hit("layout", facts, measured=quantity(text, "mm"), limit=quantity(limit, "mm")))
    return hits


@rule(
    reason="opener-too-heavy",
    about="openers",
    severity=REJECT,
    needs=("lights", "glass"),
    title="A sash heavier than its hinges carry",
    message="The sash of {light} weighs {mass} kg with its glass; {limit} kg is the most for {kind}.",
    remedy="Divide the light, choose thinner glass, or another kind of opener.",
    source="profile system, openers",
)
def opener_too_heavy(ctx: Sized) -> Hits:
    """Overloaded hinges drop the sash on its frame, and in the end on somebody."""
    plan, system = ctx.plan, ctx.system
    assert plan is not None  # noqa: S101 - the rule needs it
    assert system is not None  # noqa: S101 - a plan needs it
    hits = []
    for number, kind, *_ in plan.sashes:
        opener = system.openers.get(kind)
        mass = ctx.glazed[number].sash_kg
        if opener is None or mass is None or mass <= opener.most_kg:
            continue
        text, limit = apart(Fraction(mass), Fraction(opener.most_kg), digits=2)
        facts = {
            "light": light_in_words(plan, number),
            "mass": text,
            "limit": plain(Fraction(opener.most_kg)),
            "kind": kind,
        }
        hits.append(Hit("layout", facts, measured=quantity(text, "kg"), limit=quantity(limit, "kg")))
    return hits
