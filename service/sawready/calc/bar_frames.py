"""Wind on every mullion and transom of a window: which fields lean on it, and which bars end on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sawready.calc.bar_loads import BarResponse, PointLoad, SlopingLoad, field_loads, simply_supported
from sawready.calc.plan import NM, DividerPlan, Plan, Ref

_MIDSPAN_SHARE: Final = 1.0263
"""Greatest deflection over that at midspan, at most, for any loads that act one way: the limit of a point
load near a support is 16 / (9 sqrt 3) = 1.0264; it is smaller for every other load."""

_N_MM2_PER_PA: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Strip:
    """A field beside a bar: from one place to another along it, out to the next bar or the frame."""

    start: Ref | None
    end: Ref | None
    far: Ref


@dataclass(frozen=True, slots=True)
class Ending:
    """A bar that ends on this one: its number, whether by its first end, and the line of its middle."""

    bar: int
    by_first_end: bool
    centre: Ref


@dataclass(frozen=True, slots=True)
class Bar:
    """One divider of a plan and what leans on it.

    Attributes:
        centre: its own middle line.
        start, end: sight lines between which it stands.
        past: how far each end runs past its sight line. [nm over the denominator]
        strips: fields on both sides; open ends reach to the end of the bar.
        endings: bars that end on it.
    """

    centre: Ref
    start: Ref
    end: Ref
    past: int
    strips: tuple[Strip, ...]
    endings: tuple[Ending, ...]


@dataclass(frozen=True, slots=True)
class BarLoad:
    """A bar under a pressure of 1 Pa.

    Attributes:
        span_mm: between its two ends, where it is held. [mm]
        reactions_n: at its two ends. [N/Pa]
        deflection_n_mm3: greatest deflection times E I, never less than the exact one. [N mm3/Pa]
        is_exact: no bar ends on it, so that the closed form holds.
    """

    span_mm: float
    reactions_n: tuple[float, float]
    deflection_n_mm3: float
    is_exact: bool


_KNOWN: Final[dict[Plan, tuple[Bar, ...]]] = {}
_MOST_KNOWN: Final = 4096


def bars_of(plan: Plan, values: Sequence[int]) -> tuple[Bar, ...]:
    """What leans on each divider of a plan; the same for every size of it, so it is kept by plan.

    Args:
        plan: a plan whose dividers all lie inside their fields.
        values: of its forms, for any sound size.
    Returns: one bar a divider, in the plan's order.
    Source: geometry, section 3.
    """
    bars = _KNOWN.get(plan)
    if bars is None:
        bars = tuple(_bar(plan, number, values) for number in range(len(plan.dividers)))
        if len(_KNOWN) < _MOST_KNOWN:
            _KNOWN[plan] = bars
    return bars


def _bar(plan: Plan, number: int, values: Sequence[int]) -> Bar:
    divider = plan.dividers[number]
    strips: list[Strip] = []
    endings: list[Ending] = []
    for side in (0, 1):
        edge = divider.sides[side][1 - side]
        ends_here = sorted(
            (
                Ending(other, side == 1, bar.centre)
                for other, bar in enumerate(plan.dividers)
                if bar.part != divider.part
                and bar.span[1 - side] == edge
                and _is_between(bar.centre, divider.span, values)
            ),
            key=lambda ending: values[ending.centre],
        )
        endings += ends_here
        lines: list[Ref | None] = [None, *(ending.centre for ending in ends_here), None]
        touching = sorted(_touching(plan, divider, side, edge, values))
        for place, (_, far_edge, along) in enumerate(touching):
            far = _far_line(plan, divider, side, far_edge, along, values)
            strips.append(Strip(lines[place], lines[place + 1], far))
    past = int(divider.profile.end_allowance_mm * NM * plan.denominator)
    return Bar(divider.centre, *divider.span, past, tuple(strips), tuple(endings))


def _is_between(line: Ref, span: tuple[Ref, Ref], values: Sequence[int]) -> bool:
    return values[span[0]] < values[line] < values[span[1]]


def _touching(
    plan: Plan, divider: DividerPlan, side: int, edge: Ref, values: Sequence[int]
) -> list[tuple[int, Ref, tuple[Ref, Ref]]]:
    """Lights along one side: place along the bar, far sight line, sight lines along the bar."""
    found = []
    for light in plan.lights:
        across, along = (light.x, light.y) if divider.part == "mullion" else (light.y, light.x)
        inside = values[divider.span[0]] <= values[along[0]] and values[along[1]] <= values[divider.span[1]]
        if across[1 - side] == edge and inside:
            found.append((values[along[0]], across[side], along))
    return found


def _far_line(
    plan: Plan, divider: DividerPlan, side: int, far_edge: Ref, along: tuple[Ref, Ref], values: Sequence[int]
) -> Ref:
    """Middle of the bar beyond a field; the sight line where that is the frame, which the wall holds."""
    for other in plan.dividers:
        if (
            other.part == divider.part
            and other.sides[1 - side][side] == far_edge
            and values[other.span[0]] <= values[along[0]]
            and values[along[1]] <= values[other.span[1]]
        ):
            return other.centre
    return far_edge


def bar_loads_per_pa(plan: Plan, values: Sequence[int]) -> list[BarLoad]:
    """Every divider of a window under a wind of 1 Pa; a wind of q gives q times as much.

    Fields hand their load over by 45 degree lines, measured to the middle lines of the bars and to the
    sight line of the frame. Bars are simply supported between their ends. Where a bar ends on another,
    its reaction is a point load there, and the deflection given is an upper bound: all of a field's
    load in its middle, and midspan's deflection raised by 2.63 %. ``bar_response`` gives the exact one.

    Formula: a = min(B, L) / 2; one field a side: d E I = sum w (5 L^2 - 4 a^2)^2 / 1920; else
    d E I <= 1.0263 sum P b (3 L^2 - 4 b^2) / 48, b the nearer distance to an end

    Args:
        plan: a plan whose dividers all lie inside their fields.
        values: of its forms.
    Returns: one load a divider, in the plan's order.
    Raises: nothing for a plan with sound values.
    Source: engineering practice, derived; beam theory. Checked in tests/unit/calc/test_bar_frames.py.
    """
    bars = bars_of(plan, values)
    scale = 1 / (plan.denominator * NM)
    loads: list[BarLoad | None] = [None] * len(bars)
    for number in range(len(bars) - 1, -1, -1):
        bar = bars[number]
        first = (values[bar.start] - bar.past) * scale
        span = (values[bar.end] + bar.past) * scale - first
        centre = values[bar.centre] * scale
        is_exact = not bar.endings
        square = span * span
        total = moment = bent = 0.0
        for strip in bar.strips:
            begin = first if strip.start is None else values[strip.start] * scale
            length = (first + span if strip.end is None else values[strip.end] * scale) - begin
            ramp = min(abs(values[strip.far] * scale - centre), length) / 2
            force = _N_MM2_PER_PA * ramp * (length - ramp)
            if is_exact:
                part = 5 * square - 4 * ramp * ramp
                bent += _N_MM2_PER_PA * ramp * part * part / 1920
            else:
                middle = begin - first + length / 2
                near = min(middle, span - middle)
                bent += _MIDSPAN_SHARE * force * near * (3 * square - 4 * near * near) / 48
            total += force
            moment += force * (begin - first + length / 2)
        for ending in bar.endings:
            carried = loads[ending.bar]
            assert carried is not None  # noqa: S101 - inner dividers come after outer ones
            force = carried.reactions_n[0 if ending.by_first_end else 1]
            middle = values[ending.centre] * scale - first
            near = min(middle, span - middle)
            bent += _MIDSPAN_SHARE * force * near * (3 * square - 4 * near * near) / 48
            total += force
            moment += force * middle
        at_end = moment / span
        loads[number] = BarLoad(span, (total - at_end, at_end), bent, is_exact)
    return [load for load in loads if load is not None]


def bar_response(plan: Plan, values: Sequence[int], number: int) -> BarResponse:
    """One divider under a wind of 1 Pa, exactly.

    Args:
        plan: a plan whose dividers all lie inside their fields.
        values: of its forms.
        number: of the divider in the plan.
    Returns: reactions, greatest moment and greatest deflection, each per Pa.
    Raises: ValueError where the values are not sound.
    Source: beam theory, ``bar_loads.simply_supported``. Checked in tests/unit/calc/test_bar_frames.py.
    """
    bars = bars_of(plan, values)
    loads = bar_loads_per_pa(plan, values)
    bar, scale = bars[number], 1 / (plan.denominator * NM)
    first = (values[bar.start] - bar.past) * scale
    span = loads[number].span_mm
    centre = values[bar.centre] * scale
    sloping: list[SlopingLoad] = []
    for strip in bar.strips:
        begin = first if strip.start is None else values[strip.start] * scale
        end = first + span if strip.end is None else values[strip.end] * scale
        sloping += field_loads(
            pressure_pa=1.0,
            field_width_mm=abs(values[strip.far] * scale - centre),
            start_mm=max(begin - first, 0.0),
            length_mm=min(end - begin, span),
        )
    points = [
        PointLoad(
            values[ending.centre] * scale - first,
            loads[ending.bar].reactions_n[0 if ending.by_first_end else 1],
        )
        for ending in bar.endings
    ]
    return simply_supported(span_mm=span, sloping=sloping, points=points)
