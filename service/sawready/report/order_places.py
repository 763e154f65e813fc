"""From the result of an order to what people look at: every place in millimetres, every name in words."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from sawready.calc.fit import NM, AxisFit
from sawready.calc.plan import LightPlan, Plan
from sawready.model.finding import NOTE, WEIGHT, Finding
from sawready.model.order import Answer, Opening, Order
from sawready.model.pointer import tokens_of
from sawready.pipeline import OpeningResult, OrderResult
from sawready.report.as_json import result_dict
from sawready.report.order_view import (
    ApertureView,
    Box,
    DividerView,
    LightView,
    Masses,
    Noted,
    OpeningView,
    Opens,
    OrderView,
    Side,
    SillView,
    turned_field,
)
from sawready.sizing import Fixings, Sized

_HINGE: Final[dict[str, Side]] = {"top-hung": "top", "bottom-hung": "bottom"}


def order_view(result: OrderResult) -> OrderView:
    """An order as people look at it, seen from outside.

    Args:
        result: what comes of the order.
    """
    published = result_dict(result)
    order, rulebook = result.order, result.rulebook
    strip = None if rulebook is None else rulebook.backing_strip_above_gap_nm
    return OrderView(
        order_ref=order.order_ref,
        decision=result.decision,
        digest=published["digest"],
        made_with=published["made_with"],
        survey=_survey(order),
        system_title=None if result.system is None else result.system.title,
        rulebook_title=None if rulebook is None else rulebook.title,
        strip_above_mm=None if strip is None else strip / NM,
        openings=tuple(
            opening_view(opening, published=own, order_ref=order.order_ref, answers=order.answers)
            for opening, own in zip(result.openings, published["openings"], strict=True)
        ),
    )


def opening_view(
    result: OpeningResult,
    *,
    published: Mapping[str, Any],
    order_ref: str | None,
    answers: Iterable[Answer] = (),
) -> OpeningView:
    """One opening, seen from outside.

    Args:
        result: what comes of it.
        published: the same as published.
        order_ref: the order's name.
        answers: the order's answers to queries.
    """
    sized, opening = result.sized, result.sized.opening
    frame = _frame(sized)
    plan = sized.plan if frame is not None and "lights" not in sized.missing else None
    face = 0.0 if sized.system is None else float(sized.system.frame.face_mm)
    aperture = _aperture(sized, frame)
    return OpeningView(
        order_ref=order_ref,
        opening_ref=opening.opening_ref,
        room=opening.room,
        storey=opening.storey,
        quantity=opening.quantity,
        view="outside",
        decision=result.decision,
        published=published,
        aperture=aperture,
        frame=frame,
        face_mm=face,
        extenders=() if frame is None else _extenders(opening, frame),
        lights=()
        if plan is None
        else tuple(_light(sized, plan, number, light) for number, light in enumerate(plan.lights, 1)),
        dividers=() if plan is None else _dividers(sized, plan),
        sill=None if frame is None or aperture is None else _sill(sized, frame, aperture),
        holes={} if plan is None or sized.fixings is None else _holes(sized.fixings, plan.denominator),
        noted=_noted(result, answers),
        masses=None if result.decision == "rejected" or plan is None else _masses(sized, plan),
        safety={number: glazed.safety for number, glazed in enumerate(sized.glazed, 1)},
        colours=(opening.colour_outside, opening.colour_inside),
        wants=_wants(opening),
        joint=None if sized.bead is None else sized.bead.joint,
    )


def _survey(order: Order) -> str:
    parts = []
    if order.survey_date is not None:
        parts.append(f"surveyed {order.survey_date.isoformat()}")
    if order.surveyor:
        parts.append(f"by {order.surveyor}")
    if order.survey_revision is not None:
        parts.append(f"revision {order.survey_revision}")
    return " ".join(parts)


def _wants(opening: Opening) -> tuple[str, ...]:
    found = []
    if opening.escape:
        found.append("escape window")
    if opening.vent_mm2:
        found.append(f"background ventilation {opening.vent_mm2} mm²")
    return tuple(found)


def _frame(sized: Sized) -> Box | None:
    """The frame at its origin, where both of its sizes are known and above nought."""
    if sized.width is None or sized.height is None:
        return None
    width, height = sized.width.size_nm / NM, sized.height.size_nm / NM
    return Box(0.0, 0.0, width, height) if width > 0 and height > 0 else None


def _aperture(sized: Sized, frame: Box | None) -> ApertureView | None:
    if frame is None or sized.width is None or sized.height is None:
        return _bare_aperture(sized)
    across, upright = sized.width, sized.height
    left, right = _clear(across)
    top, bottom = _clear(upright)
    clear = Box(
        -left, -top, frame.width + left + right, frame.height + top + bottom + upright.upstand_nm / NM
    )
    lean_across, lean_upright = _lean(across), _lean(upright)
    return ApertureView(
        outline=_outline(clear, lean_across, lean_upright, sized.opening.diagonals_nm),
        clear=clear,
        width_mm=across.least_nm / NM,
        height_mm=upright.least_nm / NM,
        lean_mm=lean_across or lean_upright,
    )


def _bare_aperture(sized: Sized) -> ApertureView | None:
    """The opening from its readings alone, where there is no frame to place in it."""
    opening = sized.opening
    widths = [reading for reading in opening.widths_nm if reading is not None]
    heights = [reading for reading in opening.heights_nm if reading is not None]
    if not widths or not heights:
        return None
    finishes = opening.to_come_nm
    width = (min(widths) - finishes[0] - finishes[1]) / NM
    height = (min(heights) - finishes[2] - finishes[3]) / NM
    if width <= 0 or height <= 0:
        return None
    clear = Box(0.0, 0.0, width, height)
    return ApertureView(_outline(clear, 0.0, 0.0, ()), clear, width, height, 0.0)


def _clear(fit: AxisFit) -> tuple[float, float]:
    """From the frame to the wall at both ends, extenders included. [mm]."""
    first, second, over = fit.clearance
    return (first / over + fit.extender_nm[0]) / NM, (second / over + fit.extender_nm[1]) / NM


def _lean(fit: AxisFit) -> float:
    return fit.lean_numerator / fit.lean_denominator / NM


def _outline(
    clear: Box, lean_across: float, lean_upright: float, diagonals: tuple[int | None, ...]
) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]:
    """Corners of the opening: the upright rectangle that is free, and what leans out of it on two sides.

    With the first diagonal (top left to bottom right) the longer, the head has slipped to the left
    against the bottom, or the left jamb has risen against the right.
    """
    left, top, right, bottom = clear.x, clear.y, clear.right, clear.bottom
    is_first_longer = len(diagonals) == 2 and (diagonals[0] or 0) > (diagonals[1] or 0)
    if lean_upright:
        up, down = (lean_upright, 0.0) if is_first_longer else (0.0, lean_upright)
        return (left, top - up), (right, top - down), (right, bottom + up), (left, bottom + down)
    near, far = (lean_across, 0.0) if is_first_longer else (0.0, lean_across)
    return (left - near, top), (right + far, top), (right + near, bottom), (left - far, bottom)


def _extenders(opening: Opening, frame: Box) -> tuple[tuple[Side, Box], ...]:
    left, right, top, bottom = (width / NM for width in opening.extenders_nm)
    height = top + frame.height + bottom
    boxes: tuple[tuple[Side, Box], ...] = (
        ("left", Box(-left, -top, left, height)),
        ("right", Box(frame.right, -top, right, height)),
        ("top", Box(0.0, -top, frame.width, top)),
        ("bottom", Box(0.0, frame.bottom, frame.width, bottom)),
    )
    return tuple((side, box) for side, box in boxes if box.width > 0 and box.height > 0)


def _light(sized: Sized, plan: Plan, number: int, light: LightPlan) -> LightView:
    def mm(ref: int) -> float:
        return sized.values[ref] / (plan.denominator * NM)

    daylight = Box(mm(light.x[0]), mm(light.y[0]), mm(light.daylight[0]), mm(light.daylight[1]))
    kind = light.light.kind
    sash, glass = None, daylight
    hinge: Side | None = None
    opens: Opens | None = None
    if light.sash is not None and sized.system is not None and sized.system.sash is not None:
        across, upright = mm(light.sash[0]), mm(light.sash[1])
        sash = daylight.grown((across - daylight.width) / 2)._replace(width=across, height=upright)
        glass = sash.grown(-float(sized.system.sash.face_mm))
        hinge = _HINGE.get(kind) or light.light.hinge or "left"
        opens = "inward" if kind == "tilt-turn" else sized.system.opens
    return LightView(number, kind, hinge, opens, daylight, sash, glass)


def _dividers(sized: Sized, plan: Plan) -> tuple[DividerView, ...]:
    def mm(ref: int) -> float:
        return sized.values[ref] / (plan.denominator * NM)

    found = []
    for divider in plan.dividers:
        centre, start, end = mm(divider.centre), mm(divider.span[0]), mm(divider.span[1])
        face = float(divider.profile.face_mm)
        if divider.part == "mullion":
            box = Box(centre - face / 2, start, face, end - start)
        else:
            box = Box(start, centre - face / 2, end - start, face)
        found.append(DividerView(divider.part, box, centre))
    return tuple(found)


def _sill(sized: Sized, frame: Box, aperture: ApertureView) -> SillView | None:
    sill, order, width = sized.sill, sized.opening.sill, sized.width
    if sill is None or order is None or width is None or sized.sill_length_nm is None or order.fit is None:
        return None
    top = frame.bottom + sized.opening.extenders_nm[3] / NM
    length, upstand = sized.sill_length_nm / NM, float(sill.upstand_mm)
    horns: tuple[float | None, float | None] = (None, None)
    if order.fit == "between_reveals":
        start = -sized.opening.extenders_nm[0] / NM
    else:
        horns = (order.horn_left_nm or 0) / NM, (order.horn_right_nm or 0) / NM
        corners = aperture.outline
        reveal = (corners[2][0] + corners[3][0] - width.readings_nm[-1] / NM) / 2
        start = reveal - (order.horn_left_nm or 0) / NM
    return SillView(
        box=Box(start, top, length, upstand),
        profile=sill.name,
        fit=order.fit,
        projection_mm=float(sill.projection_mm),
        horn_left_mm=horns[0],
        horn_right_mm=horns[1],
    )


def _holes(fixings: Fixings, over: int) -> dict[Side, tuple[float, ...]]:
    sides: tuple[tuple[Side, Any], ...] = (
        ("left", fixings.left),
        ("right", fixings.right),
        ("top", fixings.top),
        ("bottom", fixings.bottom),
    )
    return {
        side: tuple(float(place / (over * NM)) for place in holes.at)
        for side, holes in sides
        if holes is not None
    }


def _masses(sized: Sized, plan: Plan) -> Masses | None:
    """Masses of what is carried: its own parts only, without sill and extenders."""
    system, values = sized.system, sized.values
    if system is None or len(sized.glazed) != len(plan.lights):
        return None
    grams = beads = 0.0
    for member in plan.members:
        grams += values[member.finished] * member.mass_kg_m
        steel = member.steel
        if steel is not None and values[member.finished] >= steel.from_nm * plan.denominator:
            grams += values[steel.cut] * steel.mass_kg_m
    for light in plan.lights:
        beads += sum(values[bead.cut] * light.bead_kg_m for bead in light.beads)
    whole = plan.denominator * NM * 1000
    bare = grams / whole + len(plan.sashes) * system.hardware_kg_per_sash
    panes = {number: glazed.glass_kg for number, glazed in enumerate(sized.glazed, 1)}
    return Masses(
        window=bare + beads / whole + sum(panes.values()),
        bare=bare,
        sashes={n: glazed.sash_kg for n, glazed in enumerate(sized.glazed, 1) if glazed.sash_kg is not None},
        panes=panes,
    )


def _noted(result: OpeningResult, answers: Iterable[Answer]) -> tuple[Noted, ...]:
    opening = result.sized.opening
    mine = [answer for answer in answers if answer.opening_ref == opening.opening_ref]
    ordered = sorted(result.findings, key=lambda found: -WEIGHT[found.severity])
    return tuple(
        Noted(number, found, field_of(found.at, result.sized), _settled_by(found, mine))
        for number, found in enumerate(ordered, 1)
    )


def _settled_by(found: Finding, answers: list[Answer]) -> Answer | None:
    """The answer that turned a query into this note; its message says so."""
    if found.severity != NOTE:
        return None
    for answer in reversed(answers):
        if answer.reason == found.reason and f"Answered by {answer.by} on {answer.on}" in found.message:
            return answer
    return None


def field_of(at: str, sized: Sized) -> str:
    """The field of an opening that a pointer names, sides as seen from outside.

    Args:
        at: RFC 6901 pointer into the order as written.
        sized: the opening.
    Returns: path below the opening, empty for all of it, ``order`` for a member of the order.
    """
    tokens = tokens_of(at)
    base = tokens_of(sized.base)
    if tokens[: len(base)] == base:
        tokens = tokens[len(base) :]
    elif tokens[:1] == ("defaults",):
        tokens = tokens[1:]
    else:
        return "order"
    if tokens[:1] == ("heights",) and len(tokens) > 1 and tokens[1].isdigit():
        tokens = (*tokens[:2], str(max(len(sized.opening.heights_nm), int(tokens[1]) + 1)))
    field = "/".join(tokens)
    return turned_field(field) if sized.is_turned else field
