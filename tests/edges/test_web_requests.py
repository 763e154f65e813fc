"""What every request goes through: number, headers, log, methods, hosts, failures, sizes."""

import io
import json
import re

import pytest

from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.web import answers
from sawready.web.access import OWN_DOOR
from sawready.web.app import create_app
from sawready.web.examples import EXAMPLE_ORDER

GETS = [
    "/v1/systems",
    "/v1/systems/demo70",
    "/v1/rulebooks",
    "/v1/rulebooks/england",
    "/v1/reasons",
    "/v1/reasons/frame-too-wide",
    "/livez",
    "/readyz",
    "/metrics",
    "/openapi.json",
    "/docs",
    "/docs/reasons",
    "/docs/style.css",
    "/problems",
    "/problems/not-an-order",
]
DATA_POLICY = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'"
PAGE_POLICY = (
    "default-src 'none'; style-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)


def test_every_address_without_a_place_in_it_is_looked_at_here(app) -> None:
    """So that a new call cannot escape the tests of headers."""
    known = {re.sub(r"/(demo70|england|frame-too-wide|not-an-order)$", "/<string:_>", path) for path in GETS}
    own_pages = [rule for rule in app.url_map.iter_rules() if rule.endpoint.startswith(OWN_DOOR)]
    assert all(rule.rule == "/" or rule.rule.startswith("/office/") for rule in own_pages)  # test_office_page
    others = [rule for rule in app.url_map.iter_rules() if rule not in own_pages]
    rules = {re.sub(r"<string:\w+>", "<string:_>", rule.rule) for rule in others}
    of_the_desk = ("/v1/orders", "/v1/bars", "/v1/jobs")  # test_access_matrix looks at those
    rules = {rule for rule in rules if not rule.startswith(of_the_desk)}
    assert rules == known | {"/v1/checks", "/v1/questions"}


@pytest.mark.parametrize("path", [*GETS, "/nothing", "/v1/systems/nothing", "/v1/checks", "/v1/questions"])
@pytest.mark.parametrize("method", ["GET", "HEAD", "OPTIONS", "DELETE", "TRACE"])
def test_every_answer_carries_the_headers_that_keep_browsers_out(client, method, path) -> None:
    """OWASP ASVS 5.0, section 3.4 (browser security headers), from memory."""
    headers = client.open(path, method=method).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    is_page = headers.get("Content-Type", "").startswith("text/html")
    assert headers["Content-Security-Policy"] == (PAGE_POLICY if is_page else DATA_POLICY)
    assert headers["Cache-Control"] in ("no-store", "no-cache")
    assert re.fullmatch(r"[0-9a-f]{32}", headers["X-Request-Id"])
    assert "Server" not in headers


def test_what_comes_of_an_order_is_kept_nowhere(check) -> None:
    assert check(EXAMPLE_ORDER).headers["Cache-Control"] == "no-store"
    assert check("{").headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("path", "content_type"),
    [
        ("/livez", "application/json"),
        ("/openapi.json", "application/json"),
        ("/docs", "text/html; charset=utf-8"),
        ("/docs/style.css", "text/css; charset=utf-8"),
        ("/metrics", "text/plain; version=0.0.4; charset=utf-8"),
        ("/nothing", "application/problem+json"),
    ],
)
def test_media_types_are_exact(client, path, content_type) -> None:
    assert client.get(path).content_type == content_type


@pytest.mark.parametrize("number", ["a", "3f2.A_b-9", "x" * 64])
def test_a_sane_number_of_the_client_is_taken(client, number) -> None:
    response = client.get("/nothing", headers={"X-Request-Id": number})
    assert response.headers["X-Request-Id"] == number
    assert response.json["instance"] == number


@pytest.mark.parametrize("number", ["", "x" * 65, "a b", "ä", "<script>", "a;b", "../x"])
def test_any_other_number_is_replaced(client, number) -> None:
    response = client.get("/livez", headers={"X-Request-Id": number.encode("utf-8").decode("latin-1")})
    assert re.fullmatch(r"[0-9a-f]{32}", response.headers["X-Request-Id"])


# methods


@pytest.mark.parametrize("path", GETS)
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "TRACE", "CONNECT", "NONSENSE"])
def test_a_method_that_an_address_does_not_take_is_405(client, path, method) -> None:
    """RFC 9110, section 15.5.6."""
    response = client.open(path, method=method)
    assert response.status_code == 405
    assert response.headers["Allow"] == "GET, HEAD, OPTIONS"
    assert response.content_type == "application/problem+json"


@pytest.mark.parametrize("path", GETS)
def test_head_answers_the_headers_of_get(client, path) -> None:
    get, head = client.get(path), client.head(path)
    assert (head.status_code, head.data) == (200, b"")
    assert head.content_type == get.content_type


def test_options_names_the_methods_and_nothing_else(client) -> None:
    response = client.options("/v1/checks")
    assert (response.status_code, response.data, response.headers["Allow"]) == (204, b"", "OPTIONS, POST")
    assert "Content-Type" not in response.headers
    assert not [name for name, _ in response.headers if name.startswith("Access-Control")]


@pytest.mark.parametrize(
    "path", ["/v1/systems/", "/v1//systems", "/V1/systems", "/docs/../livez", "/v1/systems/a/b"]
)
def test_addresses_are_taken_as_they_are(client, path) -> None:
    """No redirect, no second spelling."""
    assert client.get("/", environ_overrides={"PATH_INFO": path}).status_code == 404


# hosts


@pytest.mark.parametrize(
    "host", ["example.org", "127.0.0.1.example.org", "192.0.2.1", "bad host", "localhost:8080.x"]
)
def test_a_foreign_host_name_is_refused(client, host) -> None:
    """Else a page of anybody's could have its own name lead to this machine and read the answers."""
    response = client.get("/livez", headers={"Host": host})
    assert (response.status_code, response.json["type"]) == (400, "/problems/bad-request")


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:8080", "[::1]:80", "LOCALHOST"])
def test_names_of_the_machine_itself_are_answered(client, host) -> None:
    assert client.get("/livez", headers={"Host": host}).status_code == 200


def test_further_host_names_are_a_setting(catalogue: Catalogue) -> None:
    app = create_app(Settings(trusted_hosts=("saw.example",), log_requests=False), catalogue)
    assert app.test_client().get("/livez", headers={"Host": "saw.example"}, buffered=True).status_code == 200
    assert app.test_client().get("/livez", buffered=True).status_code == 400


# the log


def test_each_request_is_one_line_of_json(client, check, log) -> None:
    """So that a log can be searched by machine."""
    check(EXAMPLE_ORDER)
    client.get("/v1/systems/nothing?x=1")
    client.open("/nothing", method="NONSENSE")
    first, second, third = [json.loads(line) for line in log.getvalue().splitlines()]
    assert first["event"] == "request"
    assert (first["call"], first["method"], first["status"]) == ("/v1/checks", "POST", 200)
    assert first["bytes_in"] == len(json.dumps(EXAMPLE_ORDER))
    assert first["ms"] > 0
    assert first["timestamp"].endswith("Z")
    assert (second["call"], second["status"]) == ("/v1/systems/<string:name>", 400)
    assert (third["call"], third["method"]) == ("none", "other")


def test_nothing_that_a_client_sends_reaches_the_log(client, check, log) -> None:
    """Neither text nor a line of its own making."""
    text = 'CUSTOMER\r\n{"event": "forged"}'
    check({**EXAMPLE_ORDER, "order_ref": text})
    check(text)
    check(EXAMPLE_ORDER, query="?system=CUSTOMER")
    client.get("/v1/systems/CUSTOMER?CUSTOMER=CUSTOMER")
    client.get("/CUSTOMER", headers={"User-Agent": "CUSTOMER", "Referer": "CUSTOMER", "Cookie": "CUSTOMER=1"})
    client.open("/livez", method="CUSTOMER")
    assert len(log.getvalue().splitlines()) == 6
    assert "CUSTOMER" not in log.getvalue()
    assert "forged" not in log.getvalue()


def test_the_trace_of_the_caller_is_logged(client, log) -> None:
    """W3C Trace Context, section 3.2; the value is the example there."""
    trace = "4bf92f3577b34da6a3ce929d0e0e4736"
    client.get("/livez", headers={"traceparent": f"00-{trace}-00f067aa0ba902b7-01"})
    client.get("/livez", headers={"traceparent": "nonsense"})
    first, second = [json.loads(line) for line in log.getvalue().splitlines()]
    assert first["trace_id"] == trace
    assert "trace_id" not in second


def test_the_log_can_be_left_out(catalogue: Catalogue, capsys) -> None:
    create_app(Settings(log_requests=False), catalogue).test_client().get("/livez", buffered=True)
    assert capsys.readouterr() == ("", "")


def test_the_log_goes_to_standard_error(catalogue: Catalogue, capsys) -> None:
    create_app(Settings(), catalogue).test_client().get("/livez", buffered=True)
    out, err = capsys.readouterr()
    assert out == ""
    assert json.loads(err)["call"] == "/livez"


# failures


def test_a_failure_tells_nothing_of_the_inside(check, monkeypatch, log) -> None:
    """No stack, no path, no message; the log has kind and places under the request's number."""

    def fails(*args: object, **kwargs: object) -> None:
        raise RuntimeError("secret figure 1812")

    monkeypatch.setattr(answers, "check_order", fails)
    response = check(EXAMPLE_ORDER)
    assert response.status_code == 500
    found = response.json
    assert found["type"] == "/problems/internal-error"
    assert not re.search(r"Traceback|File |\.py|secret|RuntimeError", response.get_data(as_text=True))
    (entry,) = [json.loads(line) for line in log.getvalue().splitlines()]
    assert entry["request_id"] == found["instance"]
    (trouble,) = entry["troubles"]
    assert trouble["kind"] == "RuntimeError"
    assert trouble["at"][-1].endswith("fails")
    assert "secret" not in log.getvalue()


# sizes of bodies


@pytest.fixture
def small(catalogue: Catalogue):
    settings = Settings(most_json_bytes=2000, most_upload_bytes=4000, log_requests=False)
    return create_app(settings, catalogue).test_client()


def padded(size: int) -> bytes:
    body = json.dumps({"openings": [{}]}).encode()
    return body + b" " * (size - len(body))


@pytest.mark.parametrize(
    ("media_type", "most"), [("application/json", 2000), ("application/x-ndjson", 4000), ("text/csv", 4000)]
)
def test_a_body_at_its_limit_is_read_and_one_byte_more_is_413(small, media_type, most) -> None:
    at_limit = small.post("/v1/checks", data=padded(most), content_type=media_type, buffered=True)
    assert at_limit.status_code in (200, 400)
    beyond = small.post("/v1/checks", data=padded(most + 1), content_type=media_type, buffered=True)
    assert (beyond.status_code, beyond.json["type"]) == (413, "/problems/body-too-large")
    assert str(most) in beyond.json["detail"]


@pytest.mark.parametrize(
    ("media_type", "most"), [("application/json", 2000), ("application/x-ndjson", 4000), ("text/csv", 4000)]
)
def test_a_body_without_a_stated_length_is_bounded_too(small, media_type, most) -> None:
    """As a server hands over chunked bodies: no length, and the end of input marked."""
    for size, is_read in ((most, True), (most + 1, False), (50 * most, False)):
        response = small.post(
            "/v1/checks",
            input_stream=io.BytesIO(padded(size)),
            content_type=media_type,
            environ_overrides={"wsgi.input_terminated": True},
            buffered=True,
        )
        assert (response.status_code != 413) == is_read


def test_a_body_that_is_shorter_than_stated_is_refused(client) -> None:
    for media_type in ("application/json", "text/csv"):
        response = client.post(
            "/v1/checks", data=b"{}", content_type=media_type, environ_overrides={"CONTENT_LENGTH": "100"}
        )
        assert response.status_code == 400
