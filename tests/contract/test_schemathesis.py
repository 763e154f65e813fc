"""The live service against its own document: every call, every check of schemathesis, a fixed seed.

One status is set by hand: 200 for data that break the schema of an order, as a rejected order is a normal
answer. The check ``never_accepted`` stands in for it.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
import schemathesis
from schemathesis import Config
from schemathesis.core.parameters import ParameterLocation
from schemathesis.engine import Status, events, from_schema

from desk_service import Service
from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.store.store import Store
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_REJECTED, EXAMPLE_SHEET

SEED = 20261125
TEXT_FORMS = ("application/x-ndjson", "application/jsonl", "text/csv")

REFUSED = [200, 201, 400, 403, 404, 406, 409, 412, 413, 415, 422, 428]
CONFLICTS = [400, 403, 404, 406, 409, 412, 422]
"""Data that keep to the schema may still name an order that is not there, or stand against what is kept, and
a length or a cursor is read for its meaning only after its shape."""

ORDERS = st.sampled_from([EXAMPLE_ORDER, EXAMPLE_REJECTED, {"openings": [{}]}, {"openings": [None, 7]}])
CELLS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"], exclude_characters='",;'), max_size=8
)


@st.composite
def sheets(draw: st.DrawFn) -> bytes:
    """A sheet that can be read: our header, and rows of any text."""
    header, *rows = EXAMPLE_SHEET.splitlines()
    width = header.count(",") + 1
    drawn = draw(st.lists(st.lists(CELLS, min_size=width, max_size=width), max_size=3))
    quoted = [",".join(f'"{cell}"' for cell in row) for row in drawn]
    return "\r\n".join([header, *rows, *quoted, ""]).encode()


@pytest.fixture
def media_types() -> Iterator[None]:
    """Says how bodies that are no single JSON value are made up."""
    lines = st.lists(ORDERS, min_size=1, max_size=4).map(
        lambda orders: "".join(f"{json.dumps(order)}\n" for order in orders).encode()
    )
    schemathesis.openapi.media_type("application/x-ndjson", lines, aliases=["application/jsonl"])
    schemathesis.openapi.media_type("text/csv", sheets())
    yield
    from schemathesis.specs.openapi import media_types as registry  # noqa: PLC0415 - there is no public way back

    registry.unregister_all()


def never_accepted(_: Any, response: Any, case: Any) -> None:
    """An order that breaks its schema is refused, or rejected, but never accepted or queried.

    Left out are orders with defaults: what a default says counts only where an opening leaves it open.
    Questions have no decision.
    """
    body = case.meta.components.get(ParameterLocation.BODY) if case.meta else None
    if (
        response.status_code == 200
        and body is not None
        and body.mode.is_negative
        and not case.body.get("defaults")
        and "questions" not in response.json()
    ):
        assert response.json()["decision"] == "rejected", case.body


def is_read(value: Any) -> bool:
    """Whether every number in it is one that the JSON door takes: exponents beyond 30 are refused."""
    if isinstance(value, dict):
        return all(map(is_read, value.values()))
    if isinstance(value, list):
        return all(map(is_read, value))
    return not isinstance(value, float) or value == 0 or 1e-30 <= abs(value) <= 1e30


def filter_body(_: Any, body: Any) -> bool:
    """JSON Schema cannot say "no tiny numbers", so none are made up."""
    return is_read(body)


@pytest.mark.slow
@pytest.mark.parametrize("role", ["installer", "factory"])
def test_the_live_service_keeps_to_its_document(
    media_types: None, catalogue: Catalogue, tmp_path: Path, role: str
) -> None:
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    service = Service(store, catalogue, Settings(log_requests=False, requests_per_minute=10_000_000))
    service.keep(EXAMPLE_ORDER)
    app = service.app
    with app.test_client() as client:
        document = client.get("/openapi.json", buffered=True).get_json()
    # texts cannot be sent as examples of a media type with a strategy of its own; test_openapi sends them
    # a sheet and what parts its cells cannot be made up apart from each other; test_web_checks has both
    for path in ("/v1/checks", "/v1/questions"):
        call = document["paths"][path]["post"]
        for media_type in TEXT_FORMS:
            del call["requestBody"]["content"][media_type]["example"]
        call["parameters"] = [each for each in call["parameters"] if each["name"] != "delimiter"]
    # an Idempotency-Key is for one order as JSON, and is refused with a sheet; test_orders_web has both
    keep = document["paths"]["/v1/orders"]["post"]
    keep["parameters"] = [
        each for each in keep["parameters"] if each["name"] not in ("Idempotency-Key", "delimiter")
    ]
    for media_type in TEXT_FORMS:
        del keep["requestBody"]["content"][media_type]["example"]
    revise = document["paths"]["/v1/orders/{order_ref}"]["put"]
    # what is cut already is said in the body of JSON and in the address of a sheet; test_orders_web has both
    revise["parameters"] = [
        each for each in revise["parameters"] if each["name"] not in ("already_cut", "delimiter")
    ]
    del revise["requestBody"]["content"]["text/csv"]["example"]
    config = Config.from_dict(
        {
            "headers": {"Authorization": f"Bearer {service.keys[role]}"},
            "seed": SEED,
            "generation": {"max-examples": 10, "deterministic": True, "database": "none"},
            "phases": {"coverage": {"generate-duplicate-query-parameters": True}},
            "checks": {
                "negative_data_rejection": {"expected-statuses": REFUSED},
                "positive_data_acceptance": {"expected-statuses": ["2xx", *CONFLICTS]},
                "missing_required_header": {"expected-statuses": [403, 404, 406, 415, 428]},
                # it hands an argument to the test client that the client does not know; test_access_matrix
                # asks every call with no key and with a wrong one
                "ignored_auth": {"enabled": False},
            },
        }
    )
    schemathesis.check(never_accepted)
    schema = schemathesis.openapi.from_dict(document, config=config)
    schema.app = app
    schema.hook(filter_body)
    cases, failures, phases = 0, [], set()
    for event in from_schema(schema).execute():
        if isinstance(event, events.ScenarioFinished):
            phases.add(event.phase.value)
            cases += len(event.recorder.interactions)
            for found in event.recorder.checks.values():
                failures.extend(
                    f"{event.label}: {check.name}: {why.failure}\n{why.code_sample}"
                    for check in found
                    if check.status is not Status.SUCCESS and (why := check.failure_info)
                )
        elif isinstance(event, events.NonFatalError | events.FatalError):
            failures.append(str(event))
    assert not failures, "\n\n".join(dict.fromkeys(failures))
    assert {"examples", "coverage", "fuzzing"} <= phases
    assert cases > 500
