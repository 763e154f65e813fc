"""The journey of one order: what decides, what answers settle, and what they do not."""

from typing import Any

import pytest

from sawready.catalogue.load import Catalogue
from sawready.model.finding import NOTE, QUERY, REJECT, Finding
from sawready.pipeline import CallerDefaults, check_order
from sawready.report.as_json import result_dict
from strategies import order_of


def _opening(**more: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "widths": [1210],
        "heights": [1000],
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    return {**base, **more}


def _answer(reason: str, measured: Any = None, **more: Any) -> dict[str, Any]:
    return {
        "opening_ref": "W1",
        "reason": reason,
        "measured": measured,
        "by": "AB",
        "on": "2026-11-03",
        **more,
    }


@pytest.fixture
def check(catalogue: Catalogue) -> Any:
    def told(opening: dict[str, Any], *answers: dict[str, Any]) -> dict[str, Any]:
        order = order_of(opening, answers=list(answers)) if answers else order_of(opening)
        found: dict[str, Any] = result_dict(check_order(order, catalogue=catalogue))["openings"][0]
        return found

    return told


def _severities(told: dict[str, Any], *reasons: str) -> list[str]:
    return [
        found["severity"] for reason in reasons for found in told["findings"] if found["reason"] == reason
    ]


def _message(told: dict[str, Any], reason: str) -> str:
    return next(found["message"] for found in told["findings"] if found["reason"] == reason)


WIDE_GAP = {"gap": {"left": 12}}
"""Brings one query: a gap of 12 mm where 10 are the most."""


def test_an_answer_turns_its_query_into_a_note_that_says_who_answered(check: Any) -> None:
    told = check(_opening(**WIDE_GAP), _answer("gap-too-large", 12, note="agreed on site."))
    assert told["decision"] == "accepted"
    assert _severities(told, "gap-too-large") == ["note"]
    assert _message(told, "gap-too-large").endswith("Answered by AB on 2026-11-03: agreed on site.")


def test_an_answer_without_a_note_names_who_and_when(check: Any) -> None:
    told = check(_opening(**WIDE_GAP), _answer("gap-too-large", 12))
    assert _message(told, "gap-too-large").endswith("Answered by AB on 2026-11-03.")


@pytest.mark.parametrize("measured", [12.04, 11.96, "12", "12.0"])
def test_an_answer_holds_within_half_of_the_last_digit_reported(check: Any, measured: Any) -> None:
    assert check(_opening(**WIDE_GAP), _answer("gap-too-large", measured))["decision"] == "accepted"


@pytest.mark.parametrize(("measured", "was"), [(12.1, "12.1"), (11, "11"), (None, "no value")])
def test_an_answer_to_another_value_settles_nothing_and_is_told(check: Any, measured: Any, was: str) -> None:
    told = check(_opening(**WIDE_GAP), _answer("gap-too-large", measured))
    assert told["decision"] == "queried"
    assert f"The answer by AB on 2026-11-03 was for {was}; the value is now 12." in _message(
        told, "gap-too-large"
    )


def test_of_several_answers_the_one_to_the_present_value_counts(check: Any) -> None:
    answers = [_answer("gap-too-large", 12), _answer("gap-too-large", 14, by="CD")]
    told = check(_opening(**WIDE_GAP), *answers)
    assert told["decision"] == "accepted"
    assert "Answered by AB" in _message(told, "gap-too-large")


def test_an_answer_about_another_opening_or_reason_settles_nothing(check: Any) -> None:
    for answer in (_answer("gap-too-large", 12, opening_ref="W2"), _answer("readings-disagree", 12)):
        assert check(_opening(**WIDE_GAP), answer)["decision"] == "queried"


def test_a_rejection_cannot_be_answered_away(check: Any) -> None:
    told = check(_opening(frame={"width": 1206}), _answer("frame-too-wide", 2))
    assert told["decision"] == "rejected"
    assert "An answer by AB does not settle this: it must not be cut." in _message(told, "frame-too-wide")


def test_a_note_stays_as_it_is_whoever_answers(check: Any) -> None:
    opening = _opening(widths=["1210 mm", "121 cm"])
    plain, answered = check(opening), check(opening, _answer("unit-differs"))
    assert _message(answered, "unit-differs") == _message(plain, "unit-differs")


def test_an_answer_to_a_query_without_a_value_needs_none(catalogue: Catalogue) -> None:
    problems = [_problem("/openings/0", QUERY)]
    for measured, decision in ((None, "accepted"), (5, "queried")):
        order = order_of(_opening(), answers=[_answer("row-unreadable", measured)])
        result = check_order(order, catalogue=catalogue, problems=problems)
        assert result.decision == decision
    assert "was for 5; the value is now none." in result.openings[0].findings[0].message


def test_one_answer_settles_all_queries_of_its_reason_and_value(check: Any) -> None:
    opening = _opening(heights=[700], layout="fixed /@200 fixed")
    assert _severities(check(opening), "fixing-not-possible") == ["query", "query"]
    answer = _answer("fixing-not-possible", 150)
    assert _severities(check(opening, answer), "fixing-not-possible") == ["note", "note"]


def test_a_reading_that_is_answered_for_stands_and_so_do_its_consequences(check: Any) -> None:
    """A frame of 1798 in a hole of 1708: the slip is asked about in its place, but must not hide it."""
    opening = _opening(widths=[1812, 1708, 1810], frame={"width": 1798})
    asked = check(opening)
    assert _severities(asked, "reading-step-slip") == ["query"]
    assert _severities(asked, "frame-too-wide", "readings-disagree") == []
    told = check(opening, _answer("reading-step-slip", 1708))
    assert told["decision"] == "rejected"
    assert _severities(told, "reading-step-slip", "frame-too-wide", "readings-disagree") == [
        "note",
        "reject",
        "query",
    ]


def test_a_consequence_that_came_back_can_be_answered_as_well(check: Any) -> None:
    opening = _opening(widths=[1509, 1570, 1507])
    assert _severities(check(opening), "reading-digits-swapped", "readings-disagree") == ["query"]
    told = check(opening, _answer("reading-digits-swapped", 1570))
    asked = {
        found["reason"]: found["measured"]["value"]
        for found in told["findings"]
        if found["severity"] == "query"
    }
    assert set(asked) == {"readings-disagree", "gap-too-large"}
    answers = [_answer("reading-digits-swapped", 1570), *(_answer(*each) for each in asked.items())]
    assert check(opening, *answers)["decision"] == "accepted"


def test_an_order_takes_its_worst_openings_decision(catalogue: Catalogue) -> None:
    fine, asked, wrong = _opening(), _opening(**WIDE_GAP), _opening(frame={"width": 1206})
    for openings, decision in (
        ([fine], "accepted"),
        ([fine, asked], "queried"),
        ([asked, wrong, fine], "rejected"),
    ):
        named = [{**opening, "opening_ref": f"W{number}"} for number, opening in enumerate(openings)]
        assert check_order(order_of(*named), catalogue=catalogue).decision == decision


def test_what_the_caller_says_fills_what_the_order_leaves_open(catalogue: Catalogue) -> None:
    order = order_of(_opening())
    for name in ("units", "system", "rulebook", "viewed_from"):
        del order[name]
    caller = CallerDefaults(units="mm", system="demo70", rulebook="england", viewed_from="outside")
    assert check_order(order, catalogue=catalogue, caller=caller).decision == "accepted"
    assert check_order(order, catalogue=catalogue).decision == "rejected"


def test_what_the_order_says_goes_before_what_the_caller_says(catalogue: Catalogue) -> None:
    order = order_of(_opening(), units="mm")
    caller = CallerDefaults(units="in", number_style="eu")
    assert check_order(order, catalogue=catalogue, caller=caller).decision == "accepted"


def _problem(at: str, severity: Any = REJECT) -> Finding:
    return Finding(
        "row-unreadable", severity, at, "Line 3 contradicts line 2.", remedy="Correct one of them."
    )


def test_a_problem_of_the_door_stands_with_the_opening_it_points_at(catalogue: Catalogue) -> None:
    order = order_of(
        _opening(), _opening(opening_ref="W2"), *(_opening(opening_ref=f"W{n}") for n in range(3, 12))
    )
    for at in ("/openings/1", "/openings/1/widths/0"):
        result = check_order(order, catalogue=catalogue, problems=[_problem(at)])
        assert [opening.decision for opening in result.openings] == [
            "accepted",
            "rejected",
            *["accepted"] * 9,
        ]


def test_a_problem_of_the_whole_order_stands_with_every_opening(catalogue: Catalogue) -> None:
    order = order_of(_opening(), _opening(opening_ref="W2"))
    result = check_order(
        order, catalogue=catalogue, problems=[_problem("/rulebook", QUERY), _problem("", NOTE)]
    )
    assert [opening.decision for opening in result.openings] == ["queried", "queried"]
    assert all(len(opening.findings) == 2 for opening in result.openings)


def test_what_the_door_left_out_is_not_told_as_missing_besides(catalogue: Catalogue) -> None:
    opening = _opening()
    del opening["layout"]
    result = check_order(order_of(opening), catalogue=catalogue, problems=[_problem("/openings/0/layout")])
    assert [found.reason for found in result.openings[0].findings] == ["row-unreadable"]
