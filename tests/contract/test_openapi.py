"""The OpenAPI document: valid, whole, up to date, and true of the running service."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from sawready.catalogue.load import Catalogue
from sawready.json_schema import DIALECT
from sawready.settings import Settings
from sawready.version import VERSION
from sawready.web.access import OWN_DOOR
from sawready.web.app import create_app

ROOT = Path(__file__).parents[2]
METHODS = ("get", "post", "put", "delete")
NAMES = {"order_ref": "TQ-0007", "name": "demo70", "reason": "frame-too-wide", "job_id": "0" * 32}
OTHER_NAMES = {"/v1/rulebooks/{name}": "england", "/problems/{name}": "not-an-order"}


@pytest.fixture(scope="module")
def app(catalogue: Catalogue) -> Flask:
    return create_app(Settings(log_requests=False), catalogue)


@pytest.fixture(scope="module")
def document(app: Flask) -> dict[str, Any]:
    made: dict[str, Any] = app.test_client().get("/openapi.json", buffered=True).get_json()
    return made


def operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, item in document["paths"].items():
        for method in METHODS:
            if method in item:
                yield path, method, item[method]


def resolved(document: dict[str, Any], value: dict[str, Any]) -> Any:
    while "$ref" in value:
        found: Any = document
        for name in value["$ref"].removeprefix("#/").split("/"):
            found = found[name]
        value = found
    return value


def references(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "$ref":
                yield inner
            else:
                yield from references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from references(inner)


def validator(document: dict[str, Any], schema: dict[str, Any]) -> Draft202012Validator:
    return Draft202012Validator({**schema, "components": document["components"]})


def address(path: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda match: OTHER_NAMES.get(path, NAMES[match[1]]), path)


def test_the_document_is_valid(document) -> None:
    """OpenAPI 3.1, by openapi-spec-validator."""
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []
    assert document["openapi"] == "3.1.0"
    assert document["info"]["version"] == VERSION


def test_the_published_document_is_that_of_the_service(document) -> None:
    assert json.loads((ROOT / "openapi" / "openapi.json").read_text("utf-8")) == document


def test_the_dialect_of_its_schemas_is_stated(document) -> None:
    """Else each reader of the document assumes its own."""
    assert document["jsonSchemaDialect"] == DIALECT
    for schema in document["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)


def test_every_call_has_a_name_of_its_own(document) -> None:
    """Else each reader of the document assumes its own."""
    named = [operation["operationId"] for _, _, operation in operations(document)]
    assert len(named) == len(set(named))
    assert all(re.fullmatch("[a-z][A-Za-z]+", name) for name in named)


def test_every_call_says_what_it_does(document) -> None:
    tags = {tag["name"] for tag in document["tags"]}
    for path, _, operation in operations(document):
        assert operation["summary"].endswith("."), path
        assert set(operation["tags"]) <= tags
        assert all(each["description"] for each in operation.get("parameters", ()))


def test_no_component_is_there_for_nothing(document) -> None:
    """Neither Error nor PaginationMetadata, nor any other."""
    used = set(references(document))
    for kind, components in document["components"].items():
        if kind == "securitySchemes":
            continue  # these are named, not referred to
        for name in components:
            assert f"#/components/{kind}/{name}" in used


def test_the_document_and_the_addresses_are_the_same(app, document) -> None:
    """Every address is in the document, and the reverse; but for the office's pages, which are for people."""
    rules = {
        (re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        if not rule.endpoint.startswith(OWN_DOOR)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    assert rules == {(path, method) for path, method, _ in operations(document)}


def test_every_status_is_named(document) -> None:
    """A default would let any answer pass."""
    for _, _, operation in operations(document):
        assert "default" not in operation["responses"]
        assert "500" in operation["responses"]


def test_every_error_is_a_problem(document) -> None:
    for path, _, operation in operations(document):
        for status, response in operation["responses"].items():
            content = resolved(document, response).get("content", {})
            if status >= "400" and (path, status) != ("/readyz", "503"):
                assert content == {
                    "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
                }


def test_every_answer_is_as_described(app, document) -> None:
    client = app.test_client()
    for path, method, operation in operations(document):
        if method != "get":
            continue
        response = client.get(address(path), buffered=True)
        content = resolved(document, operation["responses"][str(response.status_code)])["content"]
        assert response.mimetype in content, path
        if response.mimetype == "application/json":
            validator(document, content[response.mimetype]["schema"]).validate(response.get_json())


def test_every_example_is_an_order_and_is_answered_as_described(app, document) -> None:
    call = document["paths"]["/v1/checks"]["post"]
    described = call["responses"]["200"]["content"]
    sent = 0
    for media_type, form in call["requestBody"]["content"].items():
        for example in (
            [form["example"]] if "example" in form else [each["value"] for each in form["examples"].values()]
        ):
            if not isinstance(example, str):
                validator(document, form["schema"]).validate(example)
            elif "x-item-schema" in form:
                for line in example.splitlines():
                    validator(document, form["x-item-schema"]).validate(json.loads(line))
            data = example if isinstance(example, str) else json.dumps(example)
            response = app.test_client().post("/v1/checks", data=data, content_type=media_type, buffered=True)
            assert response.status_code == 200
            answer = described[response.mimetype]
            lines = [response.data] if response.mimetype == "application/json" else response.data.splitlines()
            for line in lines:
                schema = answer.get("x-item-schema", answer["schema"])
                validator(document, schema).validate(json.loads(line))
                assert "decision" in json.loads(line) or json.loads(line)["summary"]["orders"]["accepted"]
            sent += 1
    assert sent == 5


def test_lines_name_the_schema_of_each_line(document) -> None:
    """The document can only say "text"; OpenAPI 3.2 has itemSchema for it."""
    call = document["paths"]["/v1/checks"]["post"]
    for media_type in ("application/x-ndjson", "application/jsonl"):
        assert call["requestBody"]["content"][media_type]["x-item-schema"] == {
            "$ref": "#/components/schemas/Order"
        }
        assert call["responses"]["200"]["content"][media_type]["x-item-schema"]["anyOf"]


def test_parameters_of_orders_are_described(document) -> None:
    parameters = {each["name"]: each for each in document["paths"]["/v1/checks"]["post"]["parameters"]}
    assert set(parameters) == {"units", "number_style", "viewed_from", "system", "rulebook", "delimiter"}
    assert parameters["units"]["schema"]["enum"] == ["mm", "cm", "m", "in", "ft"]
    assert all(each["in"] == "query" and not each["required"] for each in parameters.values())
