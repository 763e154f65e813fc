"""What the openings of an order share: the ventilators of a room, the site. Worked out once an order."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sawready.model.order import Opening, Site

RoomKey = tuple[str, int | None]


@dataclass(frozen=True, slots=True)
class Room:
    """The openings of an order that serve one room on one storey, each counted as often as it is ordered.

    Attributes:
        first: number of the first of them, with which a finding about the room stands.
        refs: their references.
        given_mm2: ventilators of all whose area is stated, together. [mm2]
        unknown: references of those whose area is not stated.
        old_mm2: ventilators of all windows that come out, as far as stated; None where none is. [mm2]
        is_old_known: the old ventilators are stated for every one of them.
    """

    first: int
    refs: tuple[str, ...]
    given_mm2: int
    unknown: tuple[str, ...]
    old_mm2: int | None
    is_old_known: bool


@dataclass(frozen=True, slots=True)
class OrderFacts:
    """What every opening of an order may look up.

    Attributes:
        rooms: the room of each opening by its number; openings without a room are not in it.
        site: where the building stands.
    """

    rooms: dict[int, Room]
    site: Site | None


NO_FACTS: Final = OrderFacts({}, None)


def order_facts(openings: Sequence[Opening], site: Site | None) -> OrderFacts:
    """The facts that the openings of an order share.

    Args:
        openings: all of them.
        site: as the order states it.
    """
    by_room: dict[RoomKey, list[Opening]] = {}
    for opening in openings:
        if opening.room is not None:
            key = (" ".join(opening.room.casefold().split()), opening.storey)
            by_room.setdefault(key, []).append(opening)
    rooms: dict[int, Room] = {}
    for members in by_room.values():
        room = _room(members)
        for opening in members:
            rooms[opening.index] = room
    return OrderFacts(rooms, site)


def _room(members: list[Opening]) -> Room:
    given = old = stated = 0
    unknown: list[str] = []
    for opening in members:
        if opening.vent_mm2 is None or opening.quantity is None:
            unknown.append(_ref(opening))
        else:
            given += opening.vent_mm2 * opening.quantity
        if opening.old_vent_mm2 is not None:
            old += opening.old_vent_mm2 * (opening.quantity or 1)
            stated += 1
    return Room(
        first=members[0].index,
        refs=tuple([_ref(opening) for opening in members]),
        given_mm2=given,
        unknown=tuple(unknown),
        old_mm2=old if stated else None,
        is_old_known=stated == len(members),
    )


def _ref(opening: Opening) -> str:
    return opening.opening_ref or f"opening {opening.index + 1}"
