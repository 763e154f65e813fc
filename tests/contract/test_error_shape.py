"""One shape for every error: each kind of problem is provoked and held against its published schema."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from werkzeug.test import TestResponse

from sawready.catalogue.load import Catalogue
from sawready.rules.registry import REASONS
from sawready.settings import Settings
from sawready.web import answers
from sawready.web.app import create_app
from sawready.web.problems import PROBLEMS

ROOT = Path(__file__).parents[2]
KEYS = ["type", "title", "status", "detail", "instance", "errors"]
ITEM_KEYS = ["pointer", "cell", "parameter", "reason", "detail", "remedy"]
ORDER = b'{"openings": [{}]}'

Send = Callable[[FlaskClient], TestResponse]


def post(data: bytes, media_type: str = "application/json", query: str = "", **headers: str) -> Send:
    return lambda client: client.post(
        f"/v1/checks{query}", data=data, content_type=media_type, headers=headers, buffered=True
    )


def get(path: str, **more: Any) -> Send:
    return lambda client: client.get(path, buffered=True, **more)


PROVOKED: list[tuple[str, str, Send]] = [
    ("unreadable-body", "bad JSON", post(b"{")),
    ("unreadable-body", "a member twice", post(b'{"a":1,"a":1}')),
    ("unreadable-body", "no line", post(b"", "application/x-ndjson")),
    ("unreadable-body", "no sheet", post(b"x", "text/csv")),
    ("unreadable-body", "a quote that is not closed", post(b'order_ref,"system', "text/csv")),
    ("bad-parameter", "unknown", post(ORDER, query="?unit=mm")),
    ("bad-parameter", "wrong", post(ORDER, query="?units=x")),
    ("bad-parameter", "twice", post(ORDER, query="?units=mm&units=cm")),
    ("bad-parameter", "none taken", get("/v1/systems?x=1")),
    ("bad-parameter", "no day", get("/v1/rulebooks/england?on=x")),
    ("bad-request", "foreign host", get("/livez", headers={"Host": "example.org"})),
    ("bad-request", "cut off", lambda client: client.post(
        "/v1/checks",
        data=b"{}",
        content_type="application/json",
        environ_overrides={"CONTENT_LENGTH": "9"},
        buffered=True,
    )),
    ("forbidden", "from elsewhere", get("/metrics", environ_overrides={"REMOTE_ADDR": "192.0.2.1"})),
    ("not-found", "no address", get("/nothing")),
    ("not-found", "no system", get("/v1/systems/nothing")),
    ("not-found", "no problem", get("/problems/nothing")),
    ("method-not-allowed", "checks", get("/v1/checks")),
    ("method-not-allowed", "trace", lambda client: client.open("/livez", method="TRACE", buffered=True)),
    ("not-acceptable", "checks", post(ORDER, Accept="text/html")),
    ("not-acceptable", "catalogue", get("/v1/systems", headers={"Accept": "text/csv"})),
    ("not-acceptable", "page", get("/docs", headers={"Accept": "application/json"})),
    ("body-too-large", "JSON", post(ORDER + b" " * 2000)),
    ("body-too-large", "sheet", post(b"x" * 3001, "text/csv")),
    ("body-too-large", "lines", post(ORDER + b"\n" * 3000, "application/jsonl")),
    ("unsupported-media-type", "none", post(ORDER, "")),
    ("unsupported-media-type", "other", post(ORDER, "text/plain")),
    ("unsupported-media-type", "charset", post(ORDER, "application/json; charset=utf-16")),
    ("unsupported-media-type", "compressed", post(ORDER, **{"Content-Encoding": "gzip"})),
    ("not-an-order", "list", post(b"[]")),
    ("not-an-order", "no openings", post(b"{}")),
    ("not-an-order", "too many openings", post(json.dumps({"openings": [0] * 501}).encode())),
    ("internal-error", "failure", post(b'{"openings": [{"opening_ref": "fails"}]}')),
]  # fmt: skip


@pytest.fixture(scope="module")
def schema() -> Draft202012Validator:
    return Draft202012Validator(json.loads((ROOT / "schemas" / "problem.schema.json").read_text("utf-8")))


@pytest.fixture
def app(catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> Flask:
    real = answers.check_order

    def fails(raw: Any, **kwargs: Any) -> Any:
        if raw["openings"][0].get("opening_ref") == "fails":
            raise ZeroDivisionError
        return real(raw, **kwargs)

    monkeypatch.setattr(answers, "check_order", fails)
    settings = Settings(most_json_bytes=2000, most_upload_bytes=3000, log_requests=False)
    return create_app(settings, catalogue)


@pytest.mark.parametrize(
    ("name", "send"), [pytest.param(name, send, id=f"{name}: {why}") for name, why, send in PROVOKED]
)
def test_every_error_has_the_same_shape(app, schema, name, send) -> None:
    response = send(app.test_client())
    kind = PROBLEMS[name]
    assert response.content_type == "application/problem+json"
    found = json.loads(response.data)
    schema.validate(found)
    assert list(found) == KEYS
    assert (found["type"], found["title"]) == (f"/problems/{name}", kind.title)
    assert found["status"] == response.status_code == kind.status
    assert found["instance"] == response.headers["X-Request-Id"]
    assert found["detail"].endswith(".")
    for error in found["errors"]:
        assert list(error) == ITEM_KEYS
        assert error["pointer"] or error["cell"] or error["parameter"]
        assert error["detail"].endswith(".")
        assert error["reason"] is None or error["reason"] in REASONS


def test_every_kind_of_problem_is_provoked() -> None:
    """Those of the order desk need orders and keys; their tests provoke them and look at the same shape."""
    of_the_desk = {
        "key-needed", "order-exists", "answer-refused", "release-refused", "list-not-released", "cut-not-stated",
        "several-firms", "precondition-failed", "body-not-usable", "key-reused", "precondition-required",
        "too-many-requests", "unavailable", "bars-refused", "no-result", "too-many-jobs",
    }  # fmt: skip
    assert {name for name, _, _ in PROVOKED} == set(PROBLEMS) - of_the_desk


def test_every_status_that_is_answered_has_its_kind() -> None:
    """As far as no keys and nothing kept are concerned."""
    assert {kind.status for kind in PROBLEMS.values()} >= {400, 403, 404, 405, 406, 413, 415, 422}


@pytest.mark.parametrize("kind", PROBLEMS.values(), ids=str)
def test_the_type_of_a_problem_leads_to_its_page(app, kind) -> None:
    """RFC 9457, section 3.1.1: a type that can be looked up should lead to text for people."""
    response = app.test_client().get(kind.type, buffered=True)
    assert response.content_type == "text/html; charset=utf-8"
    assert kind.meaning[:40] in response.get_data(as_text=True)


@pytest.mark.parametrize(
    ("send", "header", "value"),
    [
        (get("/v1/checks"), "Allow", "OPTIONS, POST"),
        (
            post(ORDER, "text/plain"),
            "Accept",
            "application/json, application/x-ndjson, application/jsonl, text/csv",
        ),
        (post(ORDER, **{"Content-Encoding": "br"}), "Accept-Encoding", "identity"),
    ],
)
def test_a_refusal_says_in_its_headers_what_would_do(app, send, header, value) -> None:
    """RFC 9110, sections 10.2.1, 12.5.1 and 12.5.3."""
    assert send(app.test_client()).headers[header] == value
