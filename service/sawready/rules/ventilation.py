"""Background ventilation of a room over all openings of an order that share it."""

from typing import Final

from sawready.calc.ventilation import room_ventilation
from sawready.catalogue.building import BuildingFigures, building_figures
from sawready.catalogue.rooms import kinds_of_room
from sawready.model.shown import quantity
from sawready.order_facts import Room
from sawready.rules.registry import QUERY, REJECT, Hit, Hits, NotJudged, known, rule
from sawready.sizing import Sized

NO_VENTS: Final = "no vent area"


@rule(
    reason="ventilation-too-small",
    about="rules",
    severity=QUERY,
    needs=("rulebook",),
    asks=("room", "vents", "ventilation_figures"),
    title="A room left with too little background ventilation",
    message="The ventilators of the {room} ({refs}) have {given} mm2 together; {needed} mm2 is the "
    "least{why}.",
    remedy="Order larger ventilators, or answer with what else airs the room; a night latch position does "
    "not count. Local codes and licensed practice decide.",
    source="rulebook, ventilation",
)
def ventilation_too_small(ctx: Sized) -> Hits:
    """New windows seal a room that the old ones aired by their draughts; damp and mould follow.

    All openings of the order with the same room and storey count together, each as often as it is
    ordered; the finding stands with the first of them. Where the old windows had ventilators of known
    size, the new ones must not be smaller; otherwise the least area for that kind of room counts.
    """
    opening, rulebook = ctx.opening, known(ctx.rulebook)
    room = ctx.shared.rooms.get(opening.index)
    if room is None:
        return (NotJudged("no room"),)
    if room.first != opening.index:
        return ()
    figures = building_figures(rulebook)
    if _is_dropped(room, figures):
        return (_hit(ctx, figures, room, room.old_mm2 or 0, is_dropped=True),)
    if figures.vents is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    kinds = kinds_of_room(opening.room or "")
    if not kinds:
        return (NotJudged(f'what kind of room "{opening.room}" is is not known'),)
    needed = max(figures.vents_mm2.get(kind, 0) for kind in kinds)
    if figures.like_for_like is not None and room.is_old_known and room.old_mm2:
        needed = room.old_mm2
    if room.given_mm2 >= needed:
        return ()
    if room.unknown:
        others = len(room.refs) > 1
        return (NotJudged(f"{NO_VENTS} of {', '.join(room.unknown)}" if others else NO_VENTS),)
    verdict = room_ventilation(given_mm2=[room.given_mm2], old_mm2=None, least_mm2=needed)
    return () if verdict.ok else (_hit(ctx, figures, room, needed, is_dropped=False),)


def _is_dropped(room: Room, figures: BuildingFigures) -> bool:
    """Whether less is ordered than the old windows are known to have had."""
    return (
        figures.like_for_like is not None
        and room.old_mm2 is not None
        and not room.unknown
        and room.given_mm2 < room.old_mm2
    )


def _hit(ctx: Sized, figures: BuildingFigures, room: Room, needed: int, *, is_dropped: bool) -> Hit:
    figure = known(figures.like_for_like if is_dropped else figures.vents)
    why = ", as much as the windows that come out have" if is_dropped else f" for it ({figure.cited})"
    return Hit(
        "vent_mm2",
        {
            "room": ctx.opening.room,
            "refs": ", ".join(room.refs),
            "given": room.given_mm2,
            "needed": needed,
            "why": why,
        },
        measured=quantity(str(room.given_mm2), "mm2"),
        limit=quantity(str(needed), "mm2"),
        severity=REJECT if is_dropped and figure.may_reject else QUERY,
        source=figure.cited,
    )
