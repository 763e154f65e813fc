"""The order desk over HTTP, on both databases: kept, revised, answered, listed, read as JSON and CSV."""

import base64
import csv
import hashlib
import io
import json
from decimal import Decimal
from typing import Any

import pytest

from desk_service import Service, order, queried, rejected
from sawready.store import orders as kept
from sawready.store import trail
from sawready.web.examples import EXAMPLE_SHEET

REF = "/v1/orders/TQ-0007"


def errors(response: Any) -> list[str]:
    assert response.mimetype == "application/problem+json", response.data
    return [error["reason"] for error in response.json["errors"]]


def problem(response: Any) -> tuple[int, str]:
    """Status and kind of a problem, once its shape is seen to be that of every other."""
    assert list(response.json) == ["type", "title", "status", "detail", "instance", "errors"], response.data
    assert response.json["status"] == response.status_code
    assert response.mimetype == "application/problem+json", response.data
    return response.status_code, response.json["type"].removeprefix("/problems/")


def queries(result: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "opening_ref": opening["opening_ref"],
            "reason": found["reason"],
            "measured": found["measured"] and found["measured"]["value"],
        }
        for opening in result["openings"]
        for found in opening["findings"]
        if found["severity"] == "query"
    ]


def answer_all(service: Service, result: dict[str, Any], path: str = REF) -> dict[str, Any]:
    for query in queries(result):
        given = {**query, "by": "AB", "on": "2026-11-03", "note": "measured again"}
        response = service.call("installer", "POST", f"{path}/answers", given)
        assert response.status_code == 200, response.data
        result = response.json
    return result


def test_an_order_is_kept_with_the_result_of_a_check(service: Service) -> None:
    checked = service.call("installer", "POST", "/v1/checks", order())
    response = service.keep(order())
    assert response.status_code == 201
    assert response.data == checked.data
    assert response.headers["Location"] == REF
    read = service.call("installer", "GET", REF)
    assert read.headers["ETag"] == response.headers["ETag"]
    assert read.json["result"] == checked.json
    assert (read.json["revision"], read.json["decision"], read.json["release"]) == (1, "accepted", None)
    again = service.call("installer", "GET", REF, If_None_Match=read.headers["ETag"])
    assert (again.status_code, again.data) == (304, b"")


def test_a_rejected_order_is_kept_too(service: Service) -> None:
    assert service.keep(rejected()).json["decision"] == "rejected"
    assert service.call("installer", "GET", REF).json["decision"] == "rejected"


def test_the_same_sheet_again_is_answered_as_it_is_kept(service: Service) -> None:
    first = service.keep(order())
    second = service.keep(order())
    assert (second.status_code, second.data) == (200, first.data)
    assert service.call("installer", "GET", REF).json["revision"] == 1
    assert problem(service.keep(order(room="hall"))) == (409, "order-exists")
    assert service.keep(order(room="hall"), "other_installer").status_code == 201  # another firm's own name


@pytest.mark.parametrize("ref", [None, " TQ", "/a", "a//b", "a/..", "a/release", "cutting-list"])
def test_an_order_that_no_address_leads_to_is_not_kept(service: Service, ref: str | None) -> None:
    body = order()
    body["order_ref"] = ref
    assert problem(service.keep(body)) == (422, "not-an-order")


@pytest.mark.parametrize("ref", ["TQ/7/2", "Haus 12 ä", "100%", "a?b#c", "~7", "a+b&c"])
def test_any_other_name_leads_to_its_order(service: Service, ref: str) -> None:
    response = service.keep(order(ref))
    assert response.status_code == 201
    assert service.call("installer", "GET", response.headers["Location"]).json["order_ref"] == ref


def test_a_re_survey_names_the_state_that_it_revises(service: Service) -> None:
    service.keep(order())
    tag = service.tag("TQ-0007")
    taller = order(heights=[1272, 1270, 1271], frame=None)
    assert problem(service.call("installer", "PUT", REF, taller)) == (428, "precondition-required")
    assert problem(service.call("installer", "PUT", REF, taller, If_Match='"other"')) == (
        412,
        "precondition-failed",
    )
    assert problem(service.call("installer", "PUT", REF, taller, If_Match=f"W/{tag}")) == (
        412,
        "precondition-failed",
    )
    revised = service.call("installer", "PUT", REF, taller, If_Match=tag)
    assert revised.status_code == 200
    assert revised.headers["ETag"] != tag
    assert problem(service.call("installer", "PUT", REF, taller, If_Match=tag)) == (
        412,
        "precondition-failed",
    )
    view = service.call("installer", "GET", REF).json
    assert [(each["revision"], each["cause"]) for each in view["revisions"]] == [
        (2, "resurvey"),
        (1, "upload"),
    ]
    other = service.call("installer", "PUT", REF, order("TQ-9999"), If_Match="*")
    assert problem(other) == (422, "not-an-order")


def test_an_answer_settles_a_query_and_is_not_asked_again(service: Service) -> None:
    asked = service.keep(queried()).json
    assert asked["decision"] == "queried"
    settled = answer_all(service, asked)
    assert settled["decision"] == "accepted"
    assert any("Answered by AB" in found["message"] for found in settled["openings"][0]["findings"])
    same = service.keep(queried())
    assert (same.status_code, same.json) == (200, settled)  # the same sheet again
    revised = service.revise("TQ-0007", queried(room="hall"))
    assert revised.json["decision"] == "accepted"  # a re-survey with the same values
    changed = queried()
    changed["openings"][0]["widths"] = [1834, 1808, 1812]
    asked_again = service.revise("TQ-0007", changed).json
    assert asked_again["decision"] == "queried"  # another value is asked about anew
    told = [found["message"] for found in asked_again["openings"][0]["findings"]]
    assert any("The answer by AB" in message for message in told), told


def test_an_answer_to_what_is_not_asked_is_refused(service: Service) -> None:
    query = queries(service.keep(queried()).json)[0]
    good = {**query, "by": "AB"}
    send = lambda **more: service.call("installer", "POST", f"{REF}/answers", {**good, **more})  # noqa: E731
    assert problem(send(opening_ref="W9")) == (409, "answer-refused")
    assert problem(send(reason="frame-too-wide")) == (409, "answer-refused")
    assert problem(send(measured=query["measured"] + 1)) == (409, "answer-refused")
    assert problem(send(measured=None)) == (409, "answer-refused")
    assert problem(send(by=None)) == (422, "body-not-usable")
    assert problem(send(bye="AB")) == (422, "body-not-usable")
    assert send().status_code == 200
    assert problem(send()) == (409, "answer-refused")  # it is settled now
    service.keep(rejected("TQ-0008"))
    body = {"opening_ref": "W1", "reason": "frame-too-wide", "measured": 1, "by": "AB"}
    refused = service.call("installer", "POST", "/v1/orders/TQ-0008/answers", body)
    assert problem(refused) == (409, "answer-refused")
    assert "must not be cut" in refused.json["detail"]


def test_a_sheet_is_kept_order_by_order(service: Service) -> None:
    headers = {"Content_Type": "text/csv"}
    first = service.call("installer", "POST", "/v1/orders", EXAMPLE_SHEET.encode(), **headers)
    assert first.status_code == 200
    assert first.json["summary"]["orders"]["read"] == 1
    assert service.call("installer", "GET", "/v1/orders/TQ-0009").json["result"] == first.json["results"][0]
    assert (
        service.call("installer", "POST", "/v1/orders", EXAMPLE_SHEET.encode(), **headers).data == first.data
    )
    wider = EXAMPLE_SHEET.replace("1208", "1209").encode()
    refused = service.call("installer", "POST", "/v1/orders", wider, **headers).json
    assert (refused["results"], refused["problems"][0]["type"]) == ([], "/problems/order-exists")
    tag = service.tag("TQ-0009")
    revised = service.call("installer", "PUT", "/v1/orders/TQ-0009", wider, If_Match=tag, **headers)
    assert revised.status_code == 200, revised.data
    keyed = service.call("installer", "POST", "/v1/orders", wider, Idempotency_Key="a", **headers)
    assert problem(keyed) == (400, "bad-parameter")


def test_one_bad_line_never_stops_the_rest(service: Service) -> None:
    lines = [json.dumps(order("L1")), "{", json.dumps(order(None)), json.dumps(queried("L2"))]  # type: ignore[arg-type]
    body = "\n".join(lines).encode()
    response = service.call("installer", "POST", "/v1/orders", body, Content_Type="application/x-ndjson")
    answered = [json.loads(line) for line in response.data.splitlines()]
    assert [each.get("decision", each.get("type")) for each in answered] == [
        "accepted",
        "/problems/unreadable-body",
        "/problems/not-an-order",
        "queried",
    ]
    assert [row["order_ref"] for row in service.call("installer", "GET", "/v1/orders").json["orders"]] == [
        "L2",
        "L1",
    ]


def test_an_idempotency_key_has_its_effect_once(service: Service) -> None:
    first = service.call("installer", "POST", "/v1/orders", order(), Idempotency_Key='"k-1"')
    again = service.call("installer", "POST", "/v1/orders", order(), Idempotency_Key="k-1")
    assert (again.status_code, again.data) == (201, first.data)
    assert (again.headers["Idempotency-Replayed"], again.headers["ETag"]) == ("true", first.headers["ETag"])
    other = service.call("installer", "POST", "/v1/orders", order("X"), Idempotency_Key="k-1")
    assert problem(other) == (422, "key-reused")
    assert (
        service.call("other_installer", "POST", "/v1/orders", order("X"), Idempotency_Key="k-1").status_code
        == 201
    )
    assert problem(service.call("installer", "POST", "/v1/orders", order(), Idempotency_Key="\x7f")) == (
        400,
        "bad-parameter",
    )


def test_a_release_that_was_lost_on_its_way_is_given_again_by_its_key(service: Service) -> None:
    digest = service.keep(order()).json["digest"]
    first = service.release("TQ-0007", digest, Idempotency_Key="r-1")
    again = service.release("TQ-0007", digest, Idempotency_Key="r-1")
    assert (again.status_code, again.data) == (200, first.data)
    assert errors(service.release("TQ-0007", digest)) == ["already-released"]


def test_pages_hold_every_order_once(service: Service) -> None:
    for number in range(7):
        service.keep(order(f"P{number}") if number % 2 else rejected(f"P{number}"))
    service.keep(order("M1"), "other_installer")
    seen, path = [], "/v1/orders?limit=2"
    while path:
        response = service.call("installer", "GET", path)
        seen += [row["order_ref"] for row in response.json["orders"]]
        link = response.headers.get("Link")
        path = "" if link is None else link[1 : link.index(">")]
        service.keep(order(f"N{len(seen)}"))  # what comes in meanwhile does not shift the pages
    assert seen == [f"P{number}" for number in range(6, -1, -1)]
    got = service.call("installer", "GET", "/v1/orders?decision=rejected").json["orders"]
    assert {row["decision"] for row in got} == {"rejected"}
    assert len(got) == 4
    today = got[0]["changed_at"][:10]
    for query, count in (
        (f"changed_from={today}", True),
        (f"changed_to={today}", True),
        ("changed_to=2020-01-01", False),
    ):
        assert bool(service.call("installer", "GET", f"/v1/orders?{query}").json["orders"]) is count
    link = service.call("installer", "GET", "/v1/orders?limit=1").headers["Link"]
    stolen = link[1 : link.index(">")]
    assert problem(service.call("other_installer", "GET", stolen)) == (400, "bad-parameter")
    for bad in ("cursor=abc", "limit=0", "limit=201", "decision=x", "changed_from=2026-W48-3", "x=1"):
        assert problem(service.call("installer", "GET", f"/v1/orders?{bad}")) == (400, "bad-parameter")


def test_lists_multiply_by_quantity_and_carry_their_digest(service: Service) -> None:
    result = service.keep(order(quantity=3)).json
    opening = result["openings"][0]
    response = service.call("installer", "GET", f"{REF}/cutting-list")
    body = response.json
    assert len(body["pieces"]) == len(opening["pieces"]) + len(opening["beads"])
    assert {piece["count"] for piece in body["pieces"]} == {3}
    assert body["standing"] == "not-released"
    added: dict[str, Decimal] = {}  # R9: added up anew, from the result alone
    for piece in (*opening["pieces"], *opening["beads"]):
        added[piece["profile"]] = added.get(piece["profile"], Decimal(0)) + 3 * Decimal(
            str(piece["length_mm"])
        )
    assert {total["profile"]: Decimal(str(total["length_mm"])) for total in body["totals"]} == added
    for path, accept in ((f"{REF}/cutting-list", "text/csv"), (f"{REF}/glass-list", "application/json")):
        got = service.call("installer", "GET", path, Accept=accept)
        digest = base64.b64encode(hashlib.sha256(got.data).digest()).decode()
        assert got.headers["Content-Digest"] == f"sha-256=:{digest}:"
        assert got.mimetype == accept
    assert problem(service.call("installer", "GET", f"{REF}/cutting-list", Accept="image/png")) == (
        406,
        "not-acceptable",
    )


def test_a_rejected_opening_gives_nothing_to_cut(service: Service) -> None:
    service.keep(rejected())
    assert service.call("installer", "GET", f"{REF}/cutting-list").json["pieces"] == []


def test_text_that_a_spreadsheet_could_run_is_made_harmless(service: Service) -> None:
    """S14."""
    service.keep(order("=1+1", opening_ref="@SUM(A1)"))
    path = "/v1/orders/%3D1%2B1/cutting-list"
    got = service.call("installer", "GET", path, Accept="text/csv")
    rows = list(csv.DictReader(io.StringIO(got.text)))
    assert {(row["order_ref"], row["opening_ref"]) for row in rows} == {("'=1+1", "'@SUM(A1)")}
    assert service.call("installer", "GET", path).json["order_ref"] == "=1+1"


def test_the_factory_gets_the_frozen_list_of_the_newest_accepted_revision(service: Service) -> None:
    old = service.keep(order()).json["digest"]
    not_yet = service.call("factory", "GET", f"{REF}/cutting-list")
    assert (problem(not_yet), errors(not_yet)) == ((409, "list-not-released"), ["not-released"])
    taller = order(heights=[1272, 1270, 1271], frame=None)
    new = service.revise("TQ-0007", taller).json["digest"]
    late = service.release("TQ-0007", old)
    assert errors(late) == ["superseded"]
    assert "W1 was 1798 x 1220 mm and is 1798 x 1230 mm" in late.json["detail"]
    assert errors(service.release("TQ-0007", f"sha256:{'0' * 64}")) == ["digest-unknown"]
    released = service.release("TQ-0007", new)
    assert released.status_code == 200
    assert (released.json["digest"], released.json["revision"]) == (new, 2)
    read = service.call("factory", "GET", f"{REF}/cutting-list").json
    assert (read["standing"], read["pieces"]) == ("released", released.json["pieces"])
    assert errors(service.release("TQ-0007", new, "second_factory")) == ["already-released"]


@pytest.mark.parametrize(("make", "reason"), [(rejected, "rejected"), (queried, "queried")])
def test_what_must_not_be_cut_is_not_released(service: Service, make, reason: str) -> None:
    digest = service.keep(make()).json["digest"]
    refused = service.release("TQ-0007", digest)
    assert problem(refused) == (409, "release-refused")
    assert set(errors(refused)) == {reason}
    assert "W1: " in refused.json["errors"][0]["detail"]
    assert service.call("installer", "GET", REF).json["release"] is None


def test_nothing_is_released_by_figures_that_have_changed(service: Service, catalogue, monkeypatch) -> None:
    digest = service.keep(order()).json["digest"]
    desk = service.app.extensions["sawready"].desk
    honest = desk.check_again

    def with_other_sizes(revision):
        result = honest(revision)
        result["openings"][0]["pieces"][0]["length_mm"] += 1
        return result

    monkeypatch.setattr(type(desk), "check_again", lambda _, revision: with_other_sizes(revision))
    assert errors(service.release("TQ-0007", digest)) == ["figures-changed"]


def two_openings(**second: Any) -> dict[str, Any]:
    body = order()
    body["openings"].append({**body["openings"][0], "opening_ref": "W2", "frame": None, **second})
    return body


def test_a_released_order_is_revised_only_by_saying_what_is_cut(service: Service) -> None:
    digest = service.keep(two_openings()).json["digest"]
    early = service.revise("TQ-0007", {**two_openings(), "already_cut": ["W1"]})
    assert problem(early) == (409, "cut-not-stated")
    assert service.release("TQ-0007", digest).status_code == 200
    smaller = two_openings(heights=[1250, 1252])
    assert problem(service.revise("TQ-0007", smaller)) == (409, "cut-not-stated")
    assert problem(service.revise("TQ-0007", {**smaller, "already_cut": ["W9"]})) == (409, "cut-not-stated")
    assert problem(service.revise("TQ-0007", {**smaller, "already_cut": "W1"})) == (422, "body-not-usable")
    revised = service.revise("TQ-0007", {**smaller, "already_cut": ["W1", "W2"]})
    assert revised.status_code == 200
    stopped = service.call("factory", "GET", f"{REF}/cutting-list")
    assert errors(stopped) == ["superseded"]
    kept_list = service.call("factory", "GET", f"{REF}/cutting-list?revision=1").json
    assert kept_list["standing"] == "superseded"
    released = service.release("TQ-0007", revised.json["digest"]).json
    assert {piece["opening_ref"] for piece in released["pieces"]} == {"W2"}
    assert released["already_cut"] == [{"opening_ref": "W1", "revision": 1}]
    assert [each["opening_ref"] for each in released["cut_again"]] == ["W2"]
    view = service.call("installer", "GET", REF).json
    assert {each["opening_ref"] for each in view["already_cut"]} == {"W1", "W2"}
    third = service.revise("TQ-0007", {**smaller, "already_cut": ["W1"]}).json
    again = service.release("TQ-0007", third["digest"]).json
    assert again["already_cut"] == [{"opening_ref": "W1", "revision": 1}]  # still from the first list


def test_a_factory_names_the_firm_where_two_have_an_order_of_one_name(service: Service) -> None:
    service.keep(order())
    service.keep(order(), "other_installer")
    several = service.call("second_factory", "GET", REF)
    assert problem(several) == (409, "several-firms")
    named = service.call("second_factory", "GET", f"{REF}?firm=Mill Glazing")
    assert named.json["firm"] == "Mill Glazing"
    assert service.call("factory", "GET", REF).json["firm"] == "Harbour Joinery"


def test_the_trail_says_who_did_what(service: Service) -> None:
    digest = answer_all(service, service.keep(queried()).json)["digest"]
    service.release("TQ-0007", digest)
    (found,) = service.store.read(lambda tx: kept.find(tx, kept.Sight(None), "TQ-0007"))
    entries = service.store.read(lambda tx: trail.entries_of(tx, found.order_id))
    events = [entry.event for entry in entries]
    assert events[0] == "order-kept"
    assert events[-1] == "list-released"
    assert set(events[1:-1]) == {"query-answered"}
    assert entries[-1].key_id == service.keys["factory"].split("_")[1]
    assert entries[-1].facts["digest"] == digest
