"""What the openings of an order share: which of them serve one room, and what its ventilators come to."""

from typing import Any

from rules_cases import Case, order_of
from sawready.catalogue.load import Catalogue
from sawready.model.order import Opening, Site
from sawready.normalise import CallerDefaults, read_order
from sawready.order_facts import Room, order_facts


def openings(*changes: dict[str, Any]) -> list[Opening]:
    case = Case("none", {"name": "one", "kind": "pass", "openings": list(changes)})
    read = read_order(order_of(case), catalogue=Catalogue.load_builtin(), caller=CallerDefaults())
    return [each.opening for each in read.openings]


def room_of(*changes: dict[str, Any], index: int = 0) -> Room:
    return order_facts(openings(*changes), None).rooms[index]


def test_an_opening_without_a_room_shares_none() -> None:
    facts = order_facts(openings({}), Site(22.0, "II", 9.0, None))
    assert facts.rooms == {}
    assert facts.site == Site(22.0, "II", 9.0, None)


def test_openings_of_one_name_and_storey_are_one_room() -> None:
    changes = (
        {"opening_ref": "A", "room": "Front  Bedroom", "storey": 1, "vent_mm2": 3000},
        {"opening_ref": "B", "room": "kitchen", "vent_mm2": 8000},
        {"opening_ref": "C", "room": "front bedroom", "storey": 1, "vent_mm2": 2500, "quantity": 2},
        {"opening_ref": "D", "room": "front bedroom", "storey": 2, "vent_mm2": 9},
    )
    room = room_of(*changes)
    assert room == room_of(*changes, index=2)
    assert (room.first, room.refs, room.given_mm2, room.unknown) == (0, ("A", "C"), 8000, ())
    assert room_of(*changes, index=3).refs == ("D",)


def test_what_is_not_stated_is_told_by_name() -> None:
    room = room_of({"room": "hall"}, {"opening_ref": None, "room": "hall", "quantity": "some", "vent_mm2": 5})
    assert room.unknown == ("W1", "opening 2")
    assert (room.old_mm2, room.is_old_known) == (None, False)


def test_old_ventilators_are_known_only_when_every_window_states_them() -> None:
    one, other = {"room": "hall", "old_vent_mm2": 2000, "quantity": 2}, {"opening_ref": "W2", "room": "hall"}
    assert (room_of(one).old_mm2, room_of(one).is_old_known) == (4000, True)
    assert (room_of(one, other).old_mm2, room_of(one, other).is_old_known) == (4000, False)
