"""The catalogues and the calls for operators."""

import json

import pytest

from sawready.catalogue.load import Catalogue, read_system
from sawready.report.catalogue_pages import system_page
from sawready.rules.registry import catalogue_pages
from sawready.settings import Settings
from sawready.version import VERSION
from sawready.web.app import create_app
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_REJECTED


def test_systems_are_listed_by_name(client, catalogue) -> None:
    systems = client.get("/v1/systems").json["systems"]
    assert [each["name"] for each in systems] == list(catalogue.systems)
    assert all(each["reference"] == catalogue.system(each["name"]).reference for each in systems)


def test_a_system_is_given_in_the_form_of_its_file(client, catalogue) -> None:
    """Written to a file, what is answered makes the same system again."""
    for name in catalogue.systems:
        page = client.get(f"/v1/systems/{name}").json
        again = read_system(json.dumps(page["system"]), name="again.yaml")
        assert system_page(again)["system"] == page["system"]
        assert again.frame.face_mm == catalogue.system(name).frame.face_mm
        assert page["reference"] == catalogue.system(name).reference


def test_rulebooks_are_listed_by_name(client, catalogue) -> None:
    assert [each["name"] for each in client.get("/v1/rulebooks").json["rulebooks"]] == list(
        catalogue.rulebooks
    )


def test_every_figure_of_a_rulebook_names_its_source(client) -> None:
    page = client.get("/v1/rulebooks/england").json
    assert {each["path"] for each in page["figures"]} >= {"gap_per_side_mm", "fixings.corner_mm"}
    assert all(each["source"] and each["confidence"] for each in page["figures"])
    assert page["on"] is None


def test_a_rulebook_is_given_as_in_force_on_a_day(client) -> None:
    assert client.get("/v1/rulebooks/england?on=2026-01-31").json["on"] == "2026-01-31"


@pytest.mark.parametrize("day", ["", "31.01.2026", "2026-13-01", "today", "2026-W05-6"])
def test_a_day_that_is_none_is_refused(client, day) -> None:
    response = client.get(f"/v1/rulebooks/england?on={day}")
    assert response.status_code == 400
    assert response.json["errors"][0]["parameter"] == "on"


def test_every_reason_has_its_page(client) -> None:
    reasons = client.get("/v1/reasons").json["reasons"]
    assert [each["name"] for each in reasons] == [page.name for page in catalogue_pages()]
    for reason in reasons:
        assert client.get(f"/v1/reasons/{reason['name']}").json == reason


@pytest.mark.parametrize(
    "path", ["/v1/systems/demo71", "/v1/rulebooks/mars", "/v1/reasons/none", "/problems/none"]
)
def test_a_name_that_is_not_on_file_is_404(client, path) -> None:
    response = client.get(path)
    assert response.status_code == 404
    assert response.json["type"] == "/problems/not-found"
    assert response.json["errors"][0]["remedy"]


@pytest.mark.parametrize(
    "path", ["/v1/systems", "/v1/systems/demo70", "/v1/reasons", "/v1/rulebooks", "/v1/nothing"]
)
def test_a_parameter_that_a_call_does_not_take_is_refused(client, path) -> None:
    response = client.get(f"{path}?limit=5")
    assert response.status_code == (404 if path == "/v1/nothing" else 400)


@pytest.mark.parametrize(
    "path", ["/v1/systems", "/v1/systems/demo70", "/v1/rulebooks/england", "/v1/reasons", "/docs"]
)
def test_what_the_client_holds_already_is_not_sent_again(client, path) -> None:
    """RFC 9110, section 13.1.2."""
    first = client.get(path)
    again = client.get(path, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert client.get(path, headers={"If-None-Match": '"other"'}).data == first.data


def test_the_process_is_alive(client) -> None:
    assert client.get("/livez").json == {"status": "pass", "version": VERSION, "checks": {}}


def test_the_service_is_ready(client) -> None:
    assert client.get("/readyz").json["checks"] == {"catalogue": "pass"}


def test_a_service_without_systems_is_not_ready(catalogue) -> None:
    empty = Catalogue({}, {name: catalogue.rulebook(name) for name in catalogue.rulebooks})
    response = create_app(Settings(log_requests=False), empty).test_client().get("/readyz", buffered=True)
    assert response.status_code == 503
    assert response.json == {"status": "fail", "version": VERSION, "checks": {"catalogue": "fail"}}


class BrokenStore:
    """A store out of reach."""

    def is_ready(self) -> bool:
        """Never."""
        return False


def test_a_service_without_its_store_is_alive_but_not_ready(catalogue) -> None:
    client = create_app(Settings(log_requests=False), catalogue, BrokenStore()).test_client()
    assert client.get("/livez", buffered=True).status_code == 200
    assert client.get("/readyz", buffered=True).json["checks"] == {"catalogue": "pass", "store": "fail"}


def test_counts_are_kept_of_requests_orders_and_findings(client, check) -> None:
    check(EXAMPLE_ORDER)
    check(EXAMPLE_REJECTED)
    check("{")
    check("{\n", "application/x-ndjson")
    told = client.get("/metrics").get_data(as_text=True)
    assert 'sawready_requests_total{call="/v1/checks",method="POST",status="200"} 3.0' in told
    assert 'sawready_requests_total{call="/v1/checks",method="POST",status="400"} 1.0' in told
    assert 'sawready_orders_checked_total{decision="rejected"} 1.0' in told
    assert 'sawready_findings_total{reason="frame-too-wide"} 1.0' in told
    assert "sawready_unreadable_total 1.0" in told
    assert "TQ-0007" not in told


def test_counts_are_told_to_the_machine_itself_only(client) -> None:
    response = client.get("/metrics", environ_overrides={"REMOTE_ADDR": "192.0.2.7"})
    assert (response.status_code, response.json["type"]) == (403, "/problems/forbidden")
    assert client.get("/metrics", environ_overrides={"REMOTE_ADDR": "::1"}).status_code == 200


def test_unknown_addresses_do_not_make_counts_grow(client) -> None:
    for number in range(20):
        client.get(f"/x{number}")
    told = client.get("/metrics").get_data(as_text=True)
    assert 'sawready_requests_total{call="none",method="GET",status="404"} 20.0' in told
    assert "/x1" not in told
