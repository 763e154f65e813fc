"""The service as it is started: a real server on a real socket, from start to stop."""

import http.client
import io
import json
import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sawready.errors import CatalogueError, SettingsError
from sawready.settings import Settings
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_SHEET
from sawready.web.serve import is_own_machine, load_catalogue, make_server

LIMIT = 300_000


@pytest.fixture(scope="module")
def server() -> Iterator[Any]:
    settings = Settings(port=0, most_json_bytes=20_000, most_upload_bytes=LIMIT, log_requests=False)
    made = make_server(settings, load_catalogue(settings), log=io.StringIO())
    thread = threading.Thread(target=made.run, daemon=True)
    thread.start()
    yield made
    made.close()
    thread.join(10)


@pytest.fixture
def connection(server) -> Iterator[http.client.HTTPConnection]:
    made = http.client.HTTPConnection("127.0.0.1", server.effective_port, timeout=20)
    yield made
    made.close()


def post(connection: http.client.HTTPConnection, body: Any, media_type: str, **more: Any) -> Any:
    connection.request("POST", "/v1/checks", body, {"Content-Type": media_type, **more})
    return connection.getresponse()


def test_an_order_is_answered_over_a_socket(connection) -> None:
    response = post(connection, json.dumps(EXAMPLE_ORDER), "application/json")
    assert response.status == 200
    assert json.loads(response.read())["decision"] == "accepted"
    assert response.headers["Server"] is None


def test_many_orders_come_as_a_stream(connection) -> None:
    line = json.dumps(EXAMPLE_ORDER) + "\n"
    response = post(connection, line * 200, "application/x-ndjson")
    answered = response.read().splitlines()
    assert len(answered) == 200
    assert len(set(answered)) == 1


def test_a_chunked_body_is_read(connection) -> None:
    pieces = [EXAMPLE_SHEET[:50].encode(), EXAMPLE_SHEET[50:].encode()]
    connection.request("POST", "/v1/checks", iter(pieces), {"Content-Type": "text/csv"}, encode_chunked=True)
    response = connection.getresponse()
    assert json.loads(response.read())["summary"]["orders"]["accepted"] == 1


@pytest.mark.parametrize(("size", "status"), [(LIMIT, 200), (LIMIT + 1, 413), (LIMIT * 3 // 2, 413)])
@pytest.mark.parametrize("is_chunked", [True, False])
def test_the_limit_holds_however_the_body_comes(connection, size, status, is_chunked) -> None:
    order = b'{"openings":[{}]}\n'
    body = order + b"\n" * (size - len(order))
    pieces: Any = (body[at : at + 50_000] for at in range(0, size, 50_000)) if is_chunked else body
    connection.request(
        "POST", "/v1/checks", pieces, {"Content-Type": "application/jsonl"}, encode_chunked=is_chunked
    )
    response = connection.getresponse()
    answered = json.loads(response.read())
    assert response.status == status
    assert ("decision" in answered) == (status == 200)


@pytest.mark.parametrize("method", ["TRACE", "PATCH", "FOO"])
def test_other_methods_are_refused(connection, method) -> None:
    connection.request(method, "/v1/checks")
    response = connection.getresponse()
    assert (response.status, response.headers["Allow"]) == (405, "OPTIONS, POST")


@pytest.mark.parametrize(
    "raw",
    [
        b"GET /livez HTTP/1.1\r\nHost: a\r\nContent-Length: x\r\n\r\n",
        b"GET /\xff\xfe HTTP/1.1\r\nHost: localhost\r\n\r\n",
        b"GET /%00%ff%2e%2e HTTP/1.1\r\nHost: localhost\r\n\r\n",
        b"GET /v1/systems/%2e%2e%2f HTTP/1.1\r\nHost: localhost\r\n\r\n",
        b"POST /v1/checks HTTP/1.1\r\nHost: localhost\r\nContent-Type: \xff\r\nContent-Length: 2\r\n\r\n{}",
        b"GET /livez HTTP/1.1\r\nHost: localhost\r\nAccept: \xff;q=zz\r\n\r\n",
        b"GET /v1/systems?%ff=%ff HTTP/1.1\r\nHost: localhost\r\n\r\n",
        b"GET /livez HTTP/1.0\r\n\r\n",
        b"nonsense\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: gzip\r\n\r\n",
    ],
)
def test_no_bytes_make_the_service_fail(server, raw) -> None:
    with socket.create_connection(("127.0.0.1", server.effective_port), timeout=20) as sent:
        sent.sendall(raw)
        status = int(sent.recv(4096).split(b" ", 2)[1])
    assert 200 <= status < 500 or status == 501  # RFC 9112, section 6.1: a transfer coding that is not known


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "example.org", "", "127.0.0.1.example.org"])  # noqa: S104 - to be refused
def test_an_address_that_others_can_reach_is_refused_without_keys(catalogue, host) -> None:
    with pytest.raises(SettingsError, match="no keys") as raised:
        make_server(Settings(host=host, port=0), catalogue)
    assert repr(host) in str(raised.value)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.9.9.9", "localhost", "::1", "[::1]"])
def test_addresses_of_the_machine_itself_are_known(host) -> None:
    assert is_own_machine(host)


def test_a_port_that_is_taken_is_named(server, catalogue) -> None:
    with pytest.raises(SettingsError, match=f"127.0.0.1:{server.effective_port} cannot be listened on"):
        make_server(Settings(port=int(server.effective_port)), catalogue)


def test_files_of_further_systems_and_rulebooks_are_loaded(tmp_path: Path) -> None:
    missing = tmp_path / "none.yaml"
    with pytest.raises(CatalogueError, match=r"none\.yaml"):
        load_catalogue(Settings(system_files=(missing,)))
    with pytest.raises(CatalogueError, match=r"none\.yaml"):
        load_catalogue(Settings(rulebook_files=(missing,)))


@pytest.mark.skipif(sys.platform == "win32", reason="SIGTERM ends a process at once there")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_says_where_it_answers_and_stops_when_told(number: int) -> None:
    program = "import sys; from sawready.settings import Settings; from sawready.web.serve import serve\n"
    program += "serve(Settings(port=0, store='none'))"
    source = str(Path(__file__).parents[2] / "service")
    with subprocess.Popen(  # noqa: S603 - a program of our own
        [sys.executable, "-c", program],
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": source},
    ) as process:
        assert process.stderr is not None
        said = process.stderr.readline()
        assert said.startswith("sawready answers on http://127.0.0.1:")
        assert "this machine only" in said
        port = int(said.split("127.0.0.1:")[1].split(",")[0])
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.request("GET", "/livez")
        assert connection.getresponse().status == 200
        connection.close()
        process.send_signal(number)
        rest = process.communicate(timeout=20)[1]
    assert process.returncode == 0
    assert [json.loads(line)["call"] for line in rest.splitlines()] == ["/livez"]
