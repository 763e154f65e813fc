"""POST /v1/checks: orders as JSON, as lines, as a sheet; what is answered in which form."""

import copy
import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from sawready.pipeline import check_order
from sawready.readers.json_door import loads
from sawready.report.as_json import result_bytes
from sawready.web import answers
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_REJECTED, EXAMPLE_SHEET

NDJSON = "application/x-ndjson"
JSONL = "application/jsonl"
CSV = "text/csv"


def problem(response: TestResponse) -> dict[str, Any]:
    assert response.content_type == "application/problem+json"
    found: dict[str, Any] = json.loads(response.data)
    assert found["status"] == response.status_code
    return found


def lines(*orders: Any) -> str:
    return "".join(f"{order if isinstance(order, str) else json.dumps(order)}\n" for order in orders)


def without(order: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in order.items() if name not in names}


# one order


def test_one_order_answers_its_result_byte_for_byte(check, catalogue) -> None:
    response = check(EXAMPLE_ORDER)
    assert (response.status_code, response.content_type) == (200, "application/json")
    assert response.data == result_bytes(
        check_order(loads(json.dumps(EXAMPLE_ORDER).encode()), catalogue=catalogue)
    )


def test_a_rejected_order_is_a_normal_answer(check) -> None:
    response = check(EXAMPLE_REJECTED)
    assert response.status_code == 200
    assert response.json["decision"] == "rejected"
    assert [each["reason"] for each in response.json["openings"][0]["findings"]] == ["frame-too-wide"]


def test_the_same_order_gets_the_same_bytes_again(check) -> None:
    assert check(EXAMPLE_ORDER).data == check(EXAMPLE_ORDER).data


def test_decimals_are_exact(check) -> None:
    """A binary float of 1808.4 is not 1808.4; the door reads the digits that were written."""
    order = copy.deepcopy(EXAMPLE_ORDER)
    order["openings"][0]["widths"] = ["1812.1", 1808.4]
    body = json.dumps(order)
    assert check(body).json["openings"][0]["readings_mm"]["widths"] == [1812.1, 1808.4]
    assert isinstance(loads(body.encode())["openings"][0]["widths"][1], Decimal)


@pytest.mark.parametrize("media_type", [NDJSON, JSONL])
def test_one_order_can_be_answered_as_a_line(check, media_type) -> None:
    response = check(EXAMPLE_ORDER, Accept=media_type)
    assert response.mimetype == media_type
    assert response.data == check(EXAMPLE_ORDER).data + b"\n"


# what the caller says


@pytest.mark.parametrize(
    ("name", "value", "reason"),
    [
        ("units", "mm", "unit-not-stated"),
        ("viewed_from", "outside", "view-not-stated"),
        ("system", "demo70", "value-missing"),
        ("rulebook", "england", "value-missing"),
    ],
)
def test_a_parameter_stands_in_for_what_the_order_leaves_open(check, name, value, reason) -> None:
    order = without(EXAMPLE_ORDER, name)
    open_ = check(order).json
    assert reason in {each["reason"] for each in open_["openings"][0]["findings"]}
    assert check(order, query=f"?{name}={value}").json["decision"] == "accepted"


def test_a_parameter_does_not_overrule_the_order(check) -> None:
    assert check(EXAMPLE_ORDER, query="?units=in").data == check(EXAMPLE_ORDER).data


def test_number_style_of_the_caller_is_used(check) -> None:
    order = copy.deepcopy(EXAMPLE_ORDER)
    order["openings"][0]["widths"] = ["1.812,5", "1.808", "1.810"]
    result = check(order, query="?number_style=eu").json
    assert result["openings"][0]["readings_mm"]["widths"] == [1812.5, 1808.0, 1810.0]


@pytest.mark.parametrize(
    ("query", "parameter", "reason", "remedy"),
    [
        ("?units=parsec", "units", "value-unreadable", "State mm, cm, m, in or ft."),
        ("?unit=mm", "unit", "field-unknown", "The nearest is units."),
        ("?units=mm&units=mm", "units", None, "Give it once."),
        ("?system=", "system", "value-unreadable", "What is due: profile system."),
        (f"?system={'x' * 81}", "system", "value-unreadable", "What is due: profile system."),
        ("?rulebook=a%00b", "rulebook", "value-unreadable", "What is due: rulebook of the region."),
    ],
)
def test_a_parameter_that_cannot_be_used_is_refused_by_name(check, query, parameter, reason, remedy) -> None:
    response = check(EXAMPLE_ORDER, query=query)
    found = problem(response)
    assert (response.status_code, found["type"]) == (400, "/problems/bad-parameter")
    (error,) = found["errors"]
    assert (error["parameter"], error["reason"], error["remedy"]) == (parameter, reason, remedy)


# bodies that cannot be read


@pytest.mark.parametrize(
    ("body", "says", "pointer"),
    [
        (b"", "empty", "#"),
        (b"{", "end of the text", "#"),
        (b'{"order_ref": "A", "order_ref": "B"}', "stands twice", "#/order_ref"),
        (b'{"openings": [NaN]}', "NaN", "#/openings/0"),
        (b'{"openings": [-Infinity]}', "Infinity", "#/openings/0"),
        (b'{"order_ref": "\\ud800"}', "half", "#/order_ref"),
        (b'{"order_ref": "a\\u0000b"}', "U+0000", "#/order_ref"),
        (b'{"a/b": {"~": NaN}}', "NaN", "#/a~1b/~0"),
        (b"\xff\xfe{\x00}\x00", "UTF-16", None),
        (b'{"order_ref": "\xe9"}', "0xE9", None),
        (b"1234567890123456789", "more than 18 digits", "#"),
        (b'{"a": 1} {"b": 2}', "after the end", "#"),
    ],
)
def test_a_body_that_cannot_be_read_is_refused_with_its_place(check, body, says, pointer) -> None:
    response = check(body)
    found = problem(response)
    assert (response.status_code, found["type"]) == (400, "/problems/unreadable-body")
    (error,) = found["errors"]
    assert says in error["detail"]
    assert error["reason"] == "row-unreadable"
    assert error["remedy"]
    assert error["cell"]["line"] == 1
    if pointer is not None:
        assert error["pointer"] == pointer


@pytest.mark.parametrize("opening", ["[", '{"a":', '{"openings":[', '[{"a":['])
@pytest.mark.parametrize("media_type", ["application/json", NDJSON])
def test_deep_nesting_is_refused_and_never_recursed_into(check, opening, media_type) -> None:
    """50,000 brackets end in RecursionError with the plain decoder of the standard library."""
    response = check(opening * 50_000, media_type)
    if media_type == NDJSON:
        assert response.status_code == 200
        found = json.loads(response.data)
    else:
        found = problem(response)
    assert found["status"] == 400
    assert "deeper than 32" in found["detail"]


# bodies that are no order


@pytest.mark.parametrize(
    ("body", "says", "pointer"),
    [
        ([], "a list", "#"),
        ([EXAMPLE_ORDER], "a list", "#"),
        ("7", "number 7", "#"),
        ('"order"', "text 'order'", "#"),
        ("null", "null", "#"),
        ({}, "no openings", "#/openings"),
        ({"openings": None}, "no openings", "#/openings"),
        ({"openings": {}}, "an object", "#/openings"),
        ({"openings": []}, "no openings", "#/openings"),
        ({"openings": [{}] * 501}, "501 openings; 500 are the most", "#/openings"),
    ],
)
def test_what_is_no_order_is_refused(check, body, says, pointer) -> None:
    """The pointer of a whole body is the empty one (RFC 6901, section 5)."""
    response = check(body)
    found = problem(response)
    assert (response.status_code, found["type"]) == (422, "/problems/not-an-order")
    (error,) = found["errors"]
    assert says in error["detail"]
    assert (error["pointer"], error["reason"]) == (pointer, "row-unreadable")
    assert error["remedy"]


def test_five_hundred_openings_are_an_order(check) -> None:
    response = check({"openings": [{}] * 500})
    assert response.status_code == 200
    assert len(response.json["openings"]) == 500


@pytest.mark.parametrize("opening", [None, 7, "W1", [], {}, {"openings": []}, True])
def test_an_opening_that_is_none_is_a_finding_not_a_problem(check, opening) -> None:
    response = check({"openings": [opening]})
    assert response.status_code == 200
    assert response.json["decision"] == "rejected"


# media types


@pytest.mark.parametrize(
    "media_type", ["", "text/plain", "application/xml", "multipart/form-data", "json", "a/b/c"]
)
def test_a_body_of_another_media_type_is_415_and_not_422(check, media_type) -> None:
    """RFC 9110, section 15.5.16; a library that reads JSON by itself says "missing fields" instead."""
    response = check(EXAMPLE_ORDER, media_type)
    assert response.status_code == 415
    assert response.headers["Accept"] == "application/json, application/x-ndjson, application/jsonl, text/csv"
    assert problem(response)["errors"][0]["parameter"] == "Content-Type"


def test_the_media_type_is_looked_at_after_the_method(client) -> None:
    response = client.put("/v1/checks", data="x", content_type="text/plain")
    assert response.status_code == 405
    assert response.headers["Allow"] == "OPTIONS, POST"


@pytest.mark.parametrize(
    "media_type",
    [
        "application/json; charset=utf-16",
        "application/x-ndjson; charset=latin-1",
        "text/csv; charset=ebcdic-cp-us",
        "text/csv; header=absent",
    ],
)
def test_a_charset_or_form_that_is_not_read_is_415(check, media_type) -> None:
    assert check(EXAMPLE_ORDER, media_type).status_code == 415


@pytest.mark.parametrize(
    "media_type",
    ["application/json; charset=utf-8", "APPLICATION/JSON", "application/json;charset=UTF-8;x=y"],
)
def test_a_charset_that_is_read_is_let_pass(check, media_type) -> None:
    assert check(EXAMPLE_ORDER, media_type).status_code == 200


@pytest.mark.parametrize("coding", ["gzip", "br", "deflate", "identity, gzip"])
def test_a_compressed_body_is_refused(check, coding) -> None:
    response = check(EXAMPLE_ORDER, Content_Encoding=coding)
    assert response.status_code == 415
    assert response.headers["Accept-Encoding"] == "identity"


@pytest.mark.parametrize(
    "accept", ["text/html", "application/xml", "image/*", "application/json;q=0", "nonsense"]
)
def test_an_answer_that_cannot_be_given_is_406(check, accept) -> None:
    response = check(EXAMPLE_ORDER, Accept=accept)
    assert response.status_code == 406
    assert "application/json" in problem(response)["detail"]


@pytest.mark.parametrize("accept", ["*/*", "application/*", "text/html, application/json;q=0.5", ""])
def test_an_answer_that_can_be_given_is_given(check, accept) -> None:
    assert check(EXAMPLE_ORDER, Accept=accept).content_type == "application/json"


# many orders


def test_lines_answer_lines_in_their_order(check) -> None:
    response = check(lines(EXAMPLE_ORDER, EXAMPLE_REJECTED), NDJSON)
    assert (response.status_code, response.mimetype) == (200, NDJSON)
    assert response.data == check(EXAMPLE_ORDER).data + b"\n" + check(EXAMPLE_REJECTED).data + b"\n"


def test_lines_sent_as_jsonl_are_answered_as_jsonl(check) -> None:
    assert check(lines(EXAMPLE_ORDER), JSONL).mimetype == JSONL


def test_a_line_that_cannot_be_read_gets_its_problem_and_the_rest_goes_on(check) -> None:
    body = lines(EXAMPLE_ORDER, "{", "[1]", "", '{"openings": []}', EXAMPLE_REJECTED)
    response = check(body, NDJSON)
    first, broken, no_object, no_openings, last = [json.loads(line) for line in response.data.splitlines()]
    assert (first["decision"], last["decision"]) == ("accepted", "rejected")
    assert (broken["type"], broken["errors"][0]["cell"]["line"]) == ("/problems/unreadable-body", 2)
    assert (no_object["type"], no_object["errors"][0]["cell"]["line"]) == ("/problems/unreadable-body", 3)
    assert (no_openings["type"], no_openings["errors"][0]["cell"]["line"]) == ("/problems/unreadable-body", 5)
    assert no_openings["errors"][0]["pointer"] == "#/openings"
    assert broken["instance"] == response.headers["X-Request-Id"]


def test_lines_can_be_answered_as_one_object(check) -> None:
    response = check(lines(EXAMPLE_ORDER, "{", EXAMPLE_REJECTED), NDJSON, Accept="application/json")
    made = response.json
    assert [each["decision"] for each in made["results"]] == ["accepted", "rejected"]
    assert [each["status"] for each in made["problems"]] == [400]
    assert made["summary"] == {
        "orders": {"read": 2, "rejected": 1, "queried": 0, "accepted": 1},
        "openings": {"read": 2, "rejected": 1, "queried": 0, "accepted": 1},
        "unreadable": 1,
        "reasons": {"frame-too-wide": 1, "row-unreadable": 1},
        "skipped_rows": {},
    }


@pytest.mark.parametrize("body", [b"", b"\n\n", b"\xff\xfe{\x00}\x00"])
def test_lines_without_any_order_are_refused_as_a_whole(check, body) -> None:
    assert check(body, NDJSON).status_code == 400


def test_a_failure_on_one_order_does_not_stop_the_others(check, monkeypatch, log) -> None:
    """Nothing is lost: the order that the program fails on is told as a problem of ours."""

    def fails(raw: Any, **kwargs: Any) -> Any:
        if raw["order_ref"] == "TQ-0008":
            raise RuntimeError("customer text")
        return check_order(raw, **kwargs)

    monkeypatch.setattr(answers, "check_order", fails)
    response = check(lines(EXAMPLE_REJECTED, EXAMPLE_ORDER), NDJSON)
    failed, fine = [json.loads(line) for line in response.data.splitlines()]
    assert (failed["type"], failed["status"]) == ("/problems/internal-error", 500)
    assert failed["errors"][0]["cell"]["line"] == 1
    assert fine["decision"] == "accepted"
    (entry,) = [json.loads(line) for line in log.getvalue().splitlines()]
    assert entry["troubles"][0]["kind"] == "RuntimeError"
    assert "customer text" not in log.getvalue()


# a sheet


def test_a_sheet_answers_results_and_a_summary(check) -> None:
    response = check(EXAMPLE_SHEET, CSV)
    assert (response.status_code, response.content_type) == (200, "application/json")
    made = response.json
    assert [each["order_ref"] for each in made["results"]] == ["TQ-0009"]
    assert [each["opening_ref"] for each in made["results"][0]["openings"]] == ["W1", "W2"]
    assert made["problems"] == []
    assert made["summary"]["openings"]["read"] == 2


def test_findings_of_a_sheet_name_line_and_column(check) -> None:
    sheet = EXAMPLE_SHEET.replace(",905,", ",9o5,")
    (finding,) = check(sheet, CSV).json["results"][0]["openings"][1]["findings"]
    assert finding["cell"] == {"line": 3, "column": "width_top"}


def test_the_digest_is_that_of_the_same_order_as_json(check) -> None:
    (from_sheet,) = check(EXAMPLE_SHEET, CSV).json["results"]
    header, *rows = [line.split(",") for line in EXAMPLE_SHEET.splitlines()]
    told = [dict(zip(header, row, strict=True)) for row in rows]
    order = {name: told[0][name] for name in ("order_ref", "system", "rulebook", "units", "viewed_from")}
    order["openings"] = [
        {
            "opening_ref": row["opening_ref"],
            "widths": [row["width_top"], None, row["width_bottom"]],
            "heights": [row["height_left"], None, row["height_right"]],
            "layout": row["layout"],
            "colour": {"outside": row["colour_outside"]},
            "glazing": {"unit": row["glazing_unit"]},
        }
        for row in told
    ]
    assert check(order).json["digest"] == from_sheet["digest"]


def test_a_sheet_can_be_answered_as_lines(check) -> None:
    response = check(EXAMPLE_SHEET, CSV, Accept=NDJSON)
    assert response.mimetype == NDJSON
    assert json.loads(response.data)["order_ref"] == "TQ-0009"


def test_a_row_that_cannot_be_read_gets_its_problem_and_the_rest_goes_on(check) -> None:
    made = check(EXAMPLE_SHEET + "TQ-0010,demo70\r\n", CSV).json
    assert len(made["results"]) == 1
    assert made["problems"][0]["errors"][0]["cell"]["line"] == 4
    assert made["summary"]["unreadable"] == 1


def test_columns_that_the_caller_supplies_need_not_be_there(check) -> None:
    sheet = EXAMPLE_SHEET.replace("system,", "", 1).replace("demo70,", "")
    assert check(sheet, CSV).status_code == 400
    assert check(sheet, CSV, "?system=demo70").json["summary"]["orders"]["accepted"] == 1


@pytest.mark.parametrize(("name", "sign"), [("comma", ","), ("semicolon", ";"), ("tab", "\t")])
def test_what_parts_the_cells_may_be_declared(check, name, sign) -> None:
    sheet = EXAMPLE_SHEET.replace(",", sign)
    assert check(sheet, CSV, f"?delimiter={name}").json["summary"]["orders"]["accepted"] == 1
    assert check(sheet, CSV).json["summary"]["orders"]["accepted"] == 1


@pytest.mark.parametrize(
    ("charset", "codec"), [("utf-8", "utf-8"), ("", "utf-8-sig"), ("", "utf-16"), ("windows-1252", "cp1252")]
)
def test_encodings_of_sheets_are_read(check, charset, codec) -> None:
    sheet = EXAMPLE_SHEET.replace("TQ-0009", "Häring-9")
    media_type = f"{CSV}; charset={charset}" if charset else CSV
    made = check(sheet.encode(codec), media_type).json
    assert made["results"][0]["order_ref"] == "Häring-9"


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"order_ref\n",
        b"order_ref,order_ref\n1,2\n",
        EXAMPLE_SHEET.replace("TQ", "Ä").encode("cp1252"),
        b'a,"b\n',
    ],
)
def test_a_sheet_that_cannot_be_read_at_all_is_400(check, body) -> None:
    assert problem(check(body, CSV))["type"] == "/problems/unreadable-body"


def test_long_lists_of_problems_are_cut_but_counted(check, monkeypatch) -> None:
    monkeypatch.setattr(answers, "MOST_LISTED", 2)
    made = check(lines(*["{"] * 5), NDJSON, Accept="application/json").json
    assert len(made["problems"]) == 2
    assert made["summary"]["unreadable"] == 5


# any body


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from([*EXAMPLE_ORDER, *EXAMPLE_ORDER["openings"][0]]) | st.text(max_size=8),
            inner,
            max_size=5,
        )
    ),
    max_leaves=12,
)


@given(value=json_values)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_json_gets_a_planned_answer(check, value) -> None:
    assert check(value).status_code in {200, 400, 422}


@given(opening=json_values, head=json_values)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_openings_get_a_planned_answer(check, opening, head) -> None:
    order = {
        **EXAMPLE_ORDER,
        "openings": [EXAMPLE_ORDER["openings"][0], opening],
        "answers": head,
        "survey": head,
    }
    assert check(order).status_code in {200, 400}


@given(
    name=st.sampled_from(
        [*EXAMPLE_ORDER["openings"][0], "gap", "to_come", "inside", "surveyed", "extenders"]
    ),
    value=json_values,
)
@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_value_of_any_field_gets_a_planned_answer(check, name, value) -> None:
    order = {**EXAMPLE_ORDER, "openings": [{**EXAMPLE_ORDER["openings"][0], name: value}]}
    assert check(order).status_code in {200, 400}


@given(
    body=st.binary(max_size=200), media_type=st.sampled_from(["application/json", NDJSON, CSV, "text/plain"])
)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_get_a_planned_answer(check, body, media_type) -> None:
    response = check(body, media_type)
    assert response.status_code in {200, 400, 415, 422}
    assert b'"status":500' not in response.data


@given(text=st.text(max_size=12))
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_cell_of_a_sheet_gets_a_planned_answer(check, text) -> None:
    body = (EXAMPLE_SHEET + EXAMPLE_SHEET.splitlines()[1].replace("1210", text)).encode(
        "utf-8", "surrogatepass"
    )
    response = check(body, CSV)
    assert response.status_code in {200, 400}
    assert b'"status":500' not in response.data
