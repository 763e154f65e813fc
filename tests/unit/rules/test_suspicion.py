"""Suspects in the terms of an order: place, axis, view, unit, and what becomes of the findings they explain."""

from decimal import Decimal
from typing import Any

import pytest

from rules_cases import Case, order_of
from sawready.catalogue.load import Catalogue
from sawready.model.finding import Finding
from sawready.pipeline import OpeningResult, OrderResult, check_order

BUILTIN = Catalogue.load_builtin()


def result_of(*changes: dict[str, Any], **order: Any) -> OrderResult:
    """The case order with an opening for each change."""
    data = {"name": "one", "kind": "pass", "openings": list(changes), "order": order}
    return check_order(order_of(Case("none", data)), catalogue=BUILTIN)


def told(change: dict[str, Any], **order: Any) -> OpeningResult:
    (opening,) = result_of(change, **order).openings
    return opening


def reasons(opening: OpeningResult) -> list[str]:
    return [found.reason for found in opening.findings]


def found(reason: str, opening: OpeningResult) -> Finding:
    (one,) = [each for each in opening.findings if each.reason == reason]
    return one


SWAPPED: dict[str, Any] = {"widths": [1509, 1570, 1507]}


def test_a_suspect_takes_the_place_of_the_findings_it_explains() -> None:
    opening = told(SWAPPED)
    assert reasons(opening) == ["reading-digits-swapped"]
    assert opening.decision == "queried"


def test_findings_of_the_other_axis_stay() -> None:
    """Heights that taper by 18 mm are a wall, and no consequence of a swapped width."""
    opening = told({**SWAPPED, "heights": [1242, 1233, 1224]})
    places = {(each.reason, each.at) for each in opening.findings}
    assert ("reading-digits-swapped", "/openings/0/widths/1") in places
    assert ("readings-disagree", "/openings/0/heights") in places
    assert not any(
        at.startswith("/openings/0/widths") and reason != "reading-digits-swapped" for reason, at in places
    )


def test_two_slips_in_one_opening_are_two_suspects() -> None:
    opening = told({**SWAPPED, "heights": [1228, 1328, 1230]})
    assert [(each.reason, each.at, each.candidates) for each in opening.findings] == [
        ("reading-digits-swapped", "/openings/0/widths/1", (1507.0,)),
        ("reading-step-slip", "/openings/0/heights/1", (1228.0,)),
    ]


@pytest.mark.parametrize(
    ("heights", "place"),
    [
        ([1290, 1209, 1207], 0),
        ([1207, 1209, 1290], 2),
        ([None, 1290, 1207], 1),
        ([1207, None, 1290], 2),
    ],
)
@pytest.mark.parametrize("view", ["inside", "outside"])
def test_a_suspect_points_at_the_reading_as_the_order_lists_it(
    heights: list[int | None], place: int, view: str
) -> None:
    """Seen from inside, the left height is the right one from outside; blanks keep their place."""
    change = {"heights": heights, "layout": "fixed | fixed", "diagonals": None}
    opening = told(change, viewed_from=view)
    assert heights[place] == 1290
    if None in heights:  # of two readings either may be wrong, and both are asked about
        places = {each.at for each in opening.findings if each.reason == "reading-digits-swapped"}
        assert places == {f"/openings/0/heights/{number}" for number, each in enumerate(heights) if each}
    else:
        assert found("reading-digits-swapped", opening).at == f"/openings/0/heights/{place}"


def test_three_readings_in_one_cell_are_pointed_at_together() -> None:
    assert (
        found("reading-digits-swapped", told({"widths": ["1509 / 1570 / 1507"]})).at == "/openings/0/widths/0"
    )


def test_readings_from_the_defaults_are_pointed_at_there() -> None:
    swapped = told({"widths": None}, defaults=SWAPPED)
    assert found("reading-digits-swapped", swapped).at == "/defaults/widths/1"
    outside = told({"widths": None}, defaults={"widths": [1452, 57, 1449]})
    assert reasons(outside) == ["reading-unit-slip"]
    assert found("reading-unit-slip", outside).at == "/defaults/widths/1"


def test_an_order_in_inches_is_asked_in_inches_and_measured_in_millimetres() -> None:
    """61 3/8 in is 1558.925 mm, as 1 in is 25.4 mm exactly (NIST SP 811, B.8)."""
    inches = {"widths": ["59 3/8", "61 3/8", "59 1/4"], "heights": ["49", "49", "49 1/8"]}
    opening = told({**inches, "sill": None, "set_back": None}, units="in")
    one = found("reading-step-slip", opening)
    assert one.measured is not None
    assert (one.measured.value, one.measured.unit) == (1558.925, "mm")
    assert one.candidates == (1508.125,)
    assert one.remedy is not None
    assert "61 3/8 in" in one.remedy
    assert "should it be 59 3/8 in?" in one.remedy


@pytest.mark.parametrize(
    ("change", "field", "was", "candidate"),
    [
        ({"widths": [1452, 57, 1449]}, "widths/1", 57, 1447.8),
        ({"widths": [1509, 1508, 1507], "heights": [1203, 1204, 1205], "diagonals": [76, 1931]}, "diagonals/0", 76, 1930.4),
        ({"widths": [1507], "frame": {"width": Decimal("149.7")}}, "frame/width", 149.7, 1497),
        ({"widths": [1507], "inside": {"width": 61}}, "inside/width", 61, 1549.4),
    ],
)  # fmt: skip
def test_a_length_outside_its_range_is_weighed_and_asked_about_once(
    change: dict[str, Any], field: str, was: float, candidate: float
) -> None:
    """Least size in the rulebook is 150 mm; what lies below is where a slip of unit is plainest."""
    opening = told(change)
    assert reasons(opening) == ["reading-unit-slip"]
    one = opening.findings[0]
    assert one.measured is not None
    assert (one.at, one.measured.value, one.candidates) == (f"/openings/0/{field}", was, (candidate,))
    assert opening.decision == "rejected"


def test_a_slip_of_one_length_leaves_another_outside_its_range_alone() -> None:
    opening = told({"widths": [1452, 57, 1449], "inside": {"width": 4}})
    assert {(each.reason, each.at) for each in opening.findings} == {
        ("reading-unit-slip", "/openings/0/widths/1"),
        ("value-out-of-range", "/openings/0/inside/width"),
    }


@pytest.mark.parametrize(
    "unknown",
    [
        {"gap": {"left": "a bit"}},
        {"to_come": {"top": "some"}},
        {"extenders": {"left": "wide"}},
        {"colour": {"outside": None}},
        {"widths": [1507, "l5O7", 1510]},
        {"diagonals": [1960, "?"]},
    ],
)
def test_a_frame_is_not_judged_where_what_it_follows_from_is_not_known(unknown: dict[str, Any]) -> None:
    """1487 for an opening of 1507 is the gap taken twice, unless there is more to come off than we can read."""
    ordered = {"widths": [1507], "frame": {"width": 1487}}
    assert reasons(told(ordered)) == ["gap-taken-twice"]
    assert "gap-taken-twice" not in reasons(told({**ordered, **unknown}))


@pytest.mark.parametrize(
    "unknown", [{"sill": {"projection": 20}}, {"frame": {"height_includes_sill": "maybe"}}]
)
def test_a_height_is_not_judged_beside_a_sill_that_is_not_known(unknown: dict[str, Any]) -> None:
    ordered = {"heights": [1228], "frame": {"height": 1218, "height_includes_sill": False}}
    assert "sill-height-forgotten" in reasons(told(ordered))
    other = told({"heights": [1228], **unknown, "frame": {**ordered["frame"], **unknown.get("frame", {})}})
    assert "sill-height-forgotten" not in reasons(other)


def test_without_a_system_the_survey_is_weighed_and_the_frame_is_not() -> None:
    opening = told({**SWAPPED, "frame": {"width": 1487}}, system="none-such")
    assert set(reasons(opening)) == {"reading-digits-swapped", "system-unknown"}


def test_without_a_rulebook_nothing_is_weighed() -> None:
    assert reasons(told(SWAPPED, rulebook="none-such")) == ["rulebook-unknown"]


def test_hinge_sides_do_not_make_two_windows_unlike() -> None:
    """Three windows alike but for their hinges outvote one that matches only lying down."""
    lying = {"widths": [1213], "heights": [1468], "diagonals": None, "layout": "side-hung left"}
    up = {**lying, "widths": [1468], "heights": [1213]}
    result = result_of(
        up, {**up, "opening_ref": "W2", "layout": "side-hung right"}, {**lying, "opening_ref": "W3"}
    )
    assert "width-height-swapped" in reasons(result.openings[2])
    other = {**lying, "opening_ref": "W3", "layout": "fixed"}
    result = result_of(up, {**up, "opening_ref": "W2", "layout": "side-hung right"}, other)
    assert "width-height-swapped" not in reasons(result.openings[2])


def answer(reason: str, measured: float | None) -> dict[str, Any]:
    return {
        "opening_ref": "W1",
        "reason": reason,
        "measured": measured,
        "by": "A. Person",
        "on": "2026-11-20",
    }


def test_an_answer_settles_a_suspicion_and_what_it_explained_stands_again() -> None:
    """Who says that the wall is so has not said that the joint may be 36 mm wide."""
    opening = told(SWAPPED, answers=[answer("reading-digits-swapped", 1570)])
    one = found("reading-digits-swapped", opening)
    assert one.severity == "note"
    assert "Answered by A. Person on 2026-11-20" in one.message
    assert {each.reason for each in opening.findings if each.severity != "note"} == {
        "readings-disagree",
        "gap-too-large",
    }


def test_an_answer_for_another_value_settles_nothing() -> None:
    opening = told(SWAPPED, answers=[answer("reading-digits-swapped", 1571)])
    assert reasons(opening) == ["reading-digits-swapped"]
    assert opening.findings[0].severity == "query"
    assert opening.findings[0].message.endswith("was for 1571; the value is now 1570.")


def test_a_reject_is_not_answered_away() -> None:
    opening = told({"widths": [1452, 57, 1449]}, answers=[answer("reading-unit-slip", 57)])
    assert reasons(opening) == ["reading-unit-slip"]
    assert opening.findings[0].severity == "reject"
    assert opening.decision == "rejected"
