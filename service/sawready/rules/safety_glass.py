"""Safety glass: where people can fall against a pane, and what it has to be there."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from sawready.calc.plan import NM, Plan
from sawready.calc.safety import (
    Element,
    critical_place,
    impact_class_is_enough,
    least_impact_class,
    small_pane,
    thick_annealed_is_enough,
)
from sawready.catalogue.building import BuildingFigures, building_figures
from sawready.catalogue.figures import Figure
from sawready.model.shown import apart, plain, quantity
from sawready.rules.registry import QUERY, REJECT, Hit, Hits, NotJudged, known, rule
from sawready.rules.window_heat import panes_of
from sawready.sizing import Sized

_ORDINARY: Final = "none"


@dataclass(frozen=True, slots=True)
class Place:
    """Where the glass of a light is: its lowest edge, and what makes it critical.

    Attributes:
        light: number of the light.
        bottom: lowest visible edge above the floor. [nm over the denominator]
        limit: the figure that it was compared with.
        beside: the figure of a door's reach, where that made it critical.
        distance: from the pane's nearer edge to a door; None where none is stated. [nm over the denominator]
        size: visible width and height of the pane. [nm over the denominator]
    """

    light: int
    bottom: int
    limit: Figure
    beside: Figure | None
    distance: int | None
    size: tuple[int, int]

    @property
    def is_at_door(self) -> bool:
        """It is judged as glass in a door or in a side panel."""
        return self.beside is not None


@rule(
    reason="safety-glass-needed",
    about="glazing",
    severity=REJECT,
    needs=("lights", "floor_to_sill", "safety_figures"),
    asks=("door_beside", "impact_class"),
    title="Ordinary glass where people can fall against it",
    message="The glass of light {light} begins {height} mm above the floor{where}; below {limit} mm it has "
    "to be safety glass, and {safety} is ordered.",
    remedy="Order toughened or laminated glass for this light. Local codes and licensed practice decide.",
    source="rulebook, glazing.safety_window_below_mm",
)
def safety_glass_needed(ctx: Sized) -> Hits:
    """Ordinary glass low in a wall breaks into blades under a stumbling child.

    Critical is glass in a window below one height, and in a door, or within reach beside one, below a
    greater height. A small pane of thick ordinary glass, or glass thick enough for its size, may stay. A
    wide pane in a door or beside one needs a safer impact class than others.
    """
    plan, opening, floor = known(ctx.plan), ctx.opening, known(ctx.opening.floor_to_sill_nm)
    figures = building_figures(known(ctx.rulebook))
    highest_nm = figures.window_below_nm
    if opening.element != "window" or opening.door_beside_nm != (None, None):
        highest_nm = max(highest_nm, figures.door_below_nm)
    if floor >= highest_nm:
        return ()
    highest = highest_nm * plan.denominator
    frame_bottom = (floor + known(ctx.height).size_nm) * plan.denominator
    hits: list[Hit | NotJudged] = []
    for number, light in enumerate(plan.lights):
        bottom = frame_bottom - ctx.values[light.glass_y[1]]
        if bottom >= highest:
            continue
        place = _place(ctx, plan, figures, number, bottom)
        if isinstance(place, NotJudged):
            hits.append(place)
        elif place is not None and (hit := _judged(ctx, plan, figures, place)) is not None:
            hits.append(hit)
    return hits


def _place(
    ctx: Sized, plan: Plan, figures: BuildingFigures, number: int, bottom: int
) -> Place | NotJudged | None:
    """Where a pane is critical; None where it is not."""
    wide, high, inset = panes_of(plan, known(ctx.system))[number]
    size = (ctx.values[wide] - inset, ctx.values[high] - inset)
    distance = _door_distance(ctx, plan, number, inset // 2)
    door, reach = figures.door_below, figures.beside_door
    try:
        verdict = critical_place(
            element=ctx.opening.element,
            pane_bottom_mm=_in_mm(bottom, plan),
            door_distance_mm=None if distance is None or reach is None else _in_mm(distance, plan),
            figures=known(figures.critical),
        )
    except ValueError:
        return NotJudged("how far the side panel is from its door is not stated (door_beside)")
    if not verdict.critical:
        return None
    is_in_door = ctx.opening.element == Element.DOOR
    is_beside = reach is not None and distance is not None and distance <= reach.nm * plan.denominator
    if door is None or not (is_in_door or is_beside):
        return Place(number, bottom, known(figures.window_below), None, distance, size)
    return Place(number, bottom, door, door if is_in_door else reach, None if is_in_door else distance, size)


def _door_distance(ctx: Sized, plan: Plan, number: int, inset: int) -> int | None:
    """From the nearer edge of a pane to the nearest door that is stated. [nm over the denominator]."""
    left, right = ctx.opening.door_beside_nm
    light = plan.lights[number]
    found = []
    if left is not None:
        found.append(left * plan.denominator + ctx.values[light.x[0]] + inset)
    if right is not None:
        found.append((right + known(ctx.width).size_nm) * plan.denominator - ctx.values[light.x[1]] + inset)
    return min(found, default=None)


def _judged(ctx: Sized, plan: Plan, figures: BuildingFigures, place: Place) -> Hit | None:
    """The hit of a pane in a critical place; None where its glass will do."""
    opening = ctx.opening
    safety = plan.lights[place.light].light.safety or opening.safety
    if safety == _ORDINARY and opening.impact_class is None:
        return None if _may_be_ordinary(ctx, plan, figures, place) else _ordinary(plan, place)
    return _wrong_class(ctx, plan, figures, place, safety)


def _in_mm(value: int, plan: Plan) -> Fraction:
    return Fraction(value, plan.denominator * NM)


def _may_be_ordinary(ctx: Sized, plan: Plan, figures: BuildingFigures, place: Place) -> bool:
    """A small pane, or one that is thick enough for its size."""
    glass = ctx.opening.glass
    width, height = (_in_mm(side, plan) for side in place.size)
    if glass is None or width <= 0 or height <= 0:
        return False
    thickness = min(glass.panes_mm)
    if figures.small is not None:
        side, area, least = figures.small
        if small_pane(
            width_mm=width,
            height_mm=height,
            thickness_mm=thickness,
            most_side_mm=side.number,
            most_area_m2=area.number,
            least_thickness_mm=least.number,
        ).ok:
            return True
    return thick_annealed_is_enough(
        width_mm=width, height_mm=height, thickness_mm=thickness, sizes=figures.thick_sizes
    )


def _ordinary(plan: Plan, place: Place) -> Hit:
    text, bound = apart(_in_mm(place.bottom, plan), place.limit.number)
    facts = {
        "light": place.light + 1,
        "height": plain(_in_mm(place.bottom, plan), len(text.split(".")[1])),
        "limit": plain(place.limit.number),
        "safety": _ORDINARY,
        "where": _where(plan, place),
    }
    may_reject = place.limit.may_reject and (place.beside is None or place.beside.may_reject)
    return Hit(
        "glazing/safety",
        facts,
        measured=quantity(text, "mm"),
        limit=quantity(bound, "mm"),
        severity=None if may_reject else QUERY,
        source=place.limit.cited,
    )


def _where(plan: Plan, place: Place) -> str:
    """What makes a place critical besides its height."""
    if place.beside is None:
        return ""
    if place.distance is None:
        return " in a door"
    distance = plain(_in_mm(place.distance, plan), 3)
    return f" and {distance} mm from a door ({plain(place.beside.number)} mm counts as beside it)"


def _wrong_class(ctx: Sized, plan: Plan, figures: BuildingFigures, place: Place, safety: str) -> Hit | None:
    """Safety glass of too low a class, or of none stated where only a better one will do."""
    usual, wide, over = figures.impact_class, figures.impact_class_wide, figures.wide_over
    stated = ctx.opening.impact_class
    if usual is None:
        return None
    width = _in_mm(place.size[0], plan)
    least, figure = int(usual.number), usual
    if wide is not None and over is not None:
        least = least_impact_class(
            element=ctx.opening.element,
            pane_width_mm=width,
            usual_class=int(usual.number),
            wide_class=int(wide.number),
            wide_over_mm=over.number,
            beside_door=place.is_at_door,
        )
        figure = usual if least == usual.number else wide
    if impact_class_is_enough(stated_class=stated, least_class=least):
        return None
    if stated is None and least == usual.number:
        return None
    facts = {
        "light": place.light + 1,
        "height": plain(_in_mm(place.bottom, plan)),
        "where": _where(plan, place),
        "width": plain(width),
        "safety": safety,
        "stated": "no impact class is stated" if stated is None else f"class {stated} is stated",
        "least": least,
    }
    return Hit(
        "glazing/safety" if stated is None else "glazing/impact_class",
        facts,
        measured=None if stated is None else quantity(str(stated), ""),
        limit=quantity(str(least), ""),
        severity=QUERY if stated is None or not figure.may_reject else REJECT,
        source=figure.cited,
        message="The {width} mm wide glass of light {light} begins {height} mm above the floor{where}: it "
        "needs impact class {least} or a lower number, and {stated} ({safety}).",
        remedy="Order glass of class {least} or a lower number, marked so, and state impact_class. "
        "Local codes and licensed practice decide.",
    )
