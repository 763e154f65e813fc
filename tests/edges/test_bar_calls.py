"""Bars of many orders over HTTP: what is planned together, what is refused, what becomes a job."""

import csv
import io
import json
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from desk_service import Service, order, queried, rejected
from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.store.store import Store

ROOT = Path(__file__).parents[2]


@pytest.fixture
def desk(tmp_path: Path, catalogue: Catalogue) -> Service:
    return Service(Store.open(f"sqlite:///{tmp_path}/desk.sqlite3"), catalogue)


def named(*refs: str, **more: Any) -> dict[str, Any]:
    return {"orders": [{"order_ref": ref} for ref in refs], **more}


def rows_of(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))


def test_pieces_of_all_orders_are_planned_together(desk):
    """Every piece of both lists, once, with its order; fewer bars than each order by itself."""
    wanted: Counter[tuple[str, ...]] = Counter()
    apart = 0
    for ref in ("A", "B", "C"):
        desk.keep(order(ref, quantity=3))
        for row in desk.call("installer", "GET", f"/v1/orders/{ref}/cutting-list").get_json()["pieces"]:
            wanted[ref, row["opening_ref"], row["profile"], row["part"], str(row["length_mm"])] += row[
                "count"
            ]
        alone = desk.call("installer", "GET", f"/v1/orders/{ref}/bars").get_json()
        apart += sum(each["bars"] for each in alone["summary"])
    answer = desk.call("installer", "POST", "/v1/bars", named("A", "B", "C"), Accept="text/csv")
    names = ("order_ref", "opening_ref", "profile", "part", "length_mm")
    assert Counter(tuple(row[name] for name in names) for row in rows_of(answer)) == wanted
    assert {row["firm"] for row in rows_of(answer)} == {"Harbour Joinery"}
    together = desk.call("installer", "POST", "/v1/bars", named("A", "B", "C")).get_json()
    assert sum(each["bars"] for each in together["summary"]) < apart
    assert [each["order_ref"] for each in together["orders"]] == ["A", "B", "C"]


def test_the_answer_fits_its_schema(desk):
    """Of one order and of many, as schemas/ has it."""
    schema = json.loads((ROOT / "schemas" / "bar_plan.schema.json").read_text("utf-8"))
    desk.keep(order("A"))
    desk.keep(order("B"))
    for answer in (
        desk.call("installer", "POST", "/v1/bars", named("A", "B")),
        desk.call("installer", "GET", "/v1/orders/A/bars"),
    ):
        Draft202012Validator(schema).validate(answer.get_json())


def test_bar_saw_and_old_offcuts_are_those_of_the_request(desk):
    """Shorter bars take more of them, a kerf of 0 is one, an offcut of the right colour goes first."""
    desk.keep(order("A", quantity=4))
    usual = desk.call("installer", "POST", "/v1/bars", named("A")).get_json()
    changed = desk.call(
        "installer",
        "POST",
        "/v1/bars",
        named(
            "A",
            bar_mm=3000,
            kerf_mm=0,
            trim_mm="10.5",
            keep_mm=250,
            offcuts=[
                {"profile": "frame-62", "length_mm": 1900, "quantity": 2, "colour": "white"},
                {"profile": "frame-62", "length_mm": 1900},
                {"profile": "frame-26", "length_mm": 1900},
            ],
        ),
    ).get_json()
    assert changed["saw"] == {"kerf_mm": 0.0, "trim_mm": 10.5, "keep_mm": 250.0, "scrap_mm": 100.0}
    by_name = {(each["profile"], each["colour"]): each for each in changed["summary"]}
    assert by_name["frame-62", "white"]["old_offcuts"] == 2
    assert {each["bar_mm"] for each in changed["summary"]} == {3000.0}
    assert sum(each["bars"] for each in changed["summary"]) > sum(each["bars"] for each in usual["summary"])
    assert changed["remarks"] == [
        "1 old offcut of frame-26 was left alone: no piece has this profile.",
        "1 old offcut of frame-62 without a colour was left alone: the pieces of frame-62 are white.",
    ]


def test_a_plan_passes_the_independent_verifier(desk):
    """Complete, no bar over length, kerf and trim counted; the verifier shares no code with the planner."""
    desk.keep(order("A", quantity=5))
    desk.keep(order("B", quantity=2))
    plan = desk.call("installer", "POST", "/v1/bars", named("A", "B")).get_json()
    assert verify_document(plan) == []


def verify_document(plan: dict[str, Any]) -> list[str]:
    """Bars of a published plan that are over length, by adding up ends and starts."""
    kerf, trim = (Fraction(str(plan["saw"][name])) for name in ("kerf_mm", "trim_mm"))
    wrong = []
    for profile in plan["profiles"]:
        for bar in profile["bars"]:
            end = None
            for piece in bar["pieces"]:
                start = Fraction(str(piece["start_mm"]))
                if end is not None and start < end + kerf:
                    wrong.append(f"{profile['profile']} {bar['bar']}: pieces overlap")
                end = start + Fraction(str(piece["length_mm"]))
            if end is None or end > Fraction(str(bar["stock_mm"])) - trim / 2:
                wrong.append(f"{profile['profile']} {bar['bar']}: over length")
    return wrong


def test_only_accepted_openings_are_planned_and_the_others_are_named(desk):
    """Of a draft: the opening that is queried is left out, and said to be."""
    mixed = order("A")
    asked = queried("A")["openings"][0]
    mixed["openings"].append({**asked, "opening_ref": "W2"})
    assert desk.keep(mixed).get_json()["decision"] == "queried"
    plan = desk.call("installer", "POST", "/v1/bars", named("A")).get_json()
    assert plan["orders"][0]["left_out"] == ["W2"]
    assert plan["orders"][0]["standing"] == "not-released"
    found = {
        piece["opening_ref"] for each in plan["profiles"] for bar in each["bars"] for piece in bar["pieces"]
    }
    assert found == {"W1"}


def test_one_order_that_cannot_be_planned_refuses_all_with_the_reason_of_each(desk):
    """A factory: one released, one not, one overtaken, one that is not there."""
    for ref in ("A", "B", "C"):
        digest = desk.keep(order(ref)).get_json()["digest"]
        if ref != "B":
            assert desk.release(ref, digest).status_code == 200
    revised = {**order("C", quantity=2), "already_cut": []}
    assert desk.revise("C", revised).status_code == 200
    answer = desk.call("factory", "POST", "/v1/bars", named("A", "B", "C", "nowhere"))
    assert answer.status_code == 404
    told = [(each["pointer"], each["reason"]) for each in answer.get_json()["errors"]]
    assert told == [("#/orders/1", "not-released"), ("#/orders/2", "superseded"), ("#/orders/3", None)]
    answer = desk.call("factory", "POST", "/v1/bars", named("A", "B"))
    assert (answer.status_code, answer.get_json()["type"]) == (409, "/problems/bars-refused")
    assert desk.call("factory", "POST", "/v1/bars", named("A")).status_code == 200
    only = desk.call("factory", "POST", "/v1/bars", named("B"))
    assert (only.status_code, only.get_json()["type"]) == (409, "/problems/list-not-released")


def test_an_order_that_is_named_twice_is_not_cut_twice(desk):
    """Also under its firm's name."""
    desk.keep(order("A"))
    body = named("A", "A")
    body["orders"][1]["firm"] = "Harbour Joinery"
    answer = desk.call("installer", "POST", "/v1/bars", body)
    assert answer.status_code == 409
    assert answer.get_json()["errors"][0]["pointer"] == "#/orders/1"


def test_orders_of_several_firms_keep_their_names_apart(desk):
    """Two firms have an order of one name; each piece says whose it is."""
    for name in ("installer", "other_installer"):
        digest = desk.keep(order("A"), name).get_json()["digest"]
        assert (
            desk.call(
                "second_factory", "POST", f"/v1/orders/A/release?firm={firm_of(name)}", {"digest": digest}
            ).status_code
            == 200
        )
    answer = desk.call("second_factory", "POST", "/v1/bars", named("A"))
    assert (answer.status_code, answer.get_json()["type"]) == (409, "/problems/several-firms")
    both = {
        "orders": [{"order_ref": "A", "firm": firm_of(name)} for name in ("installer", "other_installer")]
    }
    answer = desk.call("second_factory", "POST", "/v1/bars", both, Accept="text/csv")
    assert {row["firm"] for row in rows_of(answer)} == {"Harbour Joinery", "Mill Glazing"}


def firm_of(name: str) -> str:
    return {"installer": "Harbour Joinery", "other_installer": "Mill Glazing"}[name]


def test_another_firms_order_is_answered_as_one_that_is_not_there(desk):
    """S4: byte for byte, the number of the request and the quota apart."""
    desk.keep(order("A"))
    answers = []
    for ref in ("A", "B"):
        answer = desk.call("other_installer", "POST", "/v1/bars", named(ref))
        number = answer.headers["X-Request-Id"].encode()
        answers.append((answer.status_code, answer.data.replace(number, b"")))
    assert answers[0] == answers[1]
    assert answers[0][0] == 404


def test_a_rejected_order_gives_an_empty_plan(desk):
    """As its list has no pieces."""
    desk.keep(rejected("A"))
    plan = desk.call("installer", "POST", "/v1/bars", named("A")).get_json()
    assert (plan["profiles"], plan["orders"][0]["left_out"]) == ([], ["W1"])


@pytest.mark.parametrize(
    ("body", "place"),
    [
        ({}, "#/orders"),
        ({"orders": []}, "#/orders"),
        ({"orders": [{"order_ref": "A"}] * 501}, "#/orders"),
        ({"orders": [None]}, "#/orders/0"),
        ({"orders": "A"}, "#/orders"),
        ({"orders": [{}]}, "#/orders/0/order_ref"),
        (named("A", kerf_mm=-1), "#/kerf_mm"),
        (named("A", kerf_mm=51), "#/kerf_mm"),
        (named("A", bar_mm=0), "#/bar_mm"),
        (named("A", bar_mm="6 m"), "#/bar_mm"),
        (named("A", keep=3), "#/keep"),
        (named("A", offcuts=[{"profile": "x", "length_mm": -1}]), "#/offcuts/0/length_mm"),
        (named("A", offcuts=[{"profile": "x", "length_mm": 900, "quantity": 1.5}]), "#/offcuts/0/quantity"),
    ],
)
def test_a_body_that_cannot_be_used_is_told_by_place(desk, body, place):
    """422 with value and remedy; nothing is guessed."""
    answer = desk.call("installer", "POST", "/v1/bars", body)
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == place


def test_two_systems_with_a_profile_of_one_name_are_not_planned_together(desk, tmp_path):
    """Their bars are not the same, whatever they are called."""
    from sawready.bars import one_system  # noqa: PLC0415 - beside what it is about
    from sawready.errors import SettingsError  # noqa: PLC0415 - the same

    with pytest.raises(SettingsError, match="frame-62 is one of demo70 and another of other"):
        one_system([("frame-62", "demo70"), ("frame-62", "other")])


def test_too_many_pieces_are_refused_before_any_work(desk, monkeypatch):
    """With the number and what to do."""
    monkeypatch.setattr("sawready.desk.bar_plans.MOST_PIECES", 10)
    desk.keep(order("A"))
    answer = desk.call("installer", "POST", "/v1/bars", named("A"))
    assert (answer.status_code, answer.get_json()["type"]) == (409, "/problems/bars-refused")
    assert "10 can be planned together" in answer.get_json()["detail"]


@pytest.mark.parametrize(
    ("prefer", "status"),
    [
        ("respond-async", 202),
        ("wait=10, Respond-Async;x=1", 202),
        ("respond-asynchronously", 200),
        ("return=minimal", 200),
    ],
)
def test_who_prefers_a_job_gets_one(desk, prefer, status):
    """RFC 7240: the preference is told to have been applied."""
    desk.keep(order("A"))
    for method, path, body in (("POST", "/v1/bars", named("A")), ("GET", "/v1/orders/A/bars", None)):
        answer = desk.call("installer", method, path, body, Prefer=prefer)
        assert answer.status_code == status
        if status == 202:
            assert answer.headers["Preference-Applied"] == "respond-async"
            assert answer.headers["Location"] == f"/v1/jobs/{answer.get_json()['job_id']}"
            assert answer.get_json()["state"] == "waiting"


def test_a_large_plan_becomes_a_job(tmp_path, catalogue):
    """By the pieces of the setting, of one order and of many."""
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    desk = Service(store, catalogue, Settings(requests_per_minute=1_000_000, bars_at_once=40))
    desk.keep(order("A"))
    desk.keep(order("B"))
    listed = desk.call("installer", "GET", "/v1/orders/A/cutting-list").get_json()
    pieces = sum(row["count"] for row in listed["pieces"])
    assert 20 < pieces <= 40
    assert desk.call("installer", "GET", "/v1/orders/A/bars").status_code == 200
    answer = desk.call("installer", "POST", "/v1/bars", named("A", "B"))
    assert answer.status_code == 202
    assert (answer.get_json()["orders"], answer.get_json()["pieces"]) == (2, 2 * pieces)
    desk.keep(order("C", quantity=9))
    assert desk.call("installer", "GET", "/v1/orders/C/bars").status_code == 202
