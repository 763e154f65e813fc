"""The service as it really runs, under both server programs: hostile bytes, proxies, its log, its stop.

What stands here cannot be seen in the test client, as each server program hands requests over in its own way.
"""

import contextlib
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from desk_service import order
from sawready.store import keys
from sawready.store.store import Store

PROGRAMS = {"waitress": ["-m", "sawready", "serve"], "gunicorn": ["-m", "sawready.operations.run"]}
HOST = b"Host: 127.0.0.1\r\nConnection: close\r\n"
JSON = b"Content-Type: application/json\r\n"

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="gunicorn does not run there"),
]


class Running:
    """A service in processes of its own.

    Args:
        program: which server program.
        folder: where its store and its log are.
        with_key: whether there is a key, so that nobody is answered without.
    """

    def __init__(self, program: str, folder: Path, *, with_key: bool = True) -> None:
        url = f"sqlite:///{folder}/desk.sqlite3"
        store = Store.open(url)
        self.key = ""
        if with_key:
            self.key = store.write(lambda tx: keys.add(tx, role="installer", firm="Harbour Joinery"))[1]
        store.close()
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port: int = probe.getsockname()[1]
        self._log = folder / "log"
        environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            "SAWREADY_STORE": url,
            "SAWREADY_PORT": str(self.port),
            "WEB_CONCURRENCY": "1",
        }
        with self._log.open("wb") as log:
            self.process = subprocess.Popen(  # noqa: S603 - our own program
                [sys.executable, *PROGRAMS[program]], env=environment, stderr=log, stdout=log
            )
        for _ in range(600):
            with contextlib.suppress(OSError, http.client.HTTPException):
                if self.get("/livez").status == 200:
                    return
            time.sleep(0.05)
        raise TimeoutError(self.log)

    @property
    def log(self) -> str:
        """What it has logged."""
        return self._log.read_text("utf-8")

    def get(self, path: str, **headers: str) -> http.client.HTTPResponse:
        """Asks for an address, without a key."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request("GET", path, headers={"Connection": "close", **named})
        with contextlib.closing(connection):
            response = connection.getresponse()
            response.read()
        return response

    def raw(self, *pieces: bytes, is_ended: bool = False) -> tuple[int, bytes]:
        """Sends bytes as they are. Returns: status and body of the answer; 0 where there is none."""
        with socket.create_connection(("127.0.0.1", self.port), 20) as connection:
            for piece in pieces:
                connection.sendall(piece)
            if is_ended:
                connection.shutdown(socket.SHUT_WR)
            answer = b""
            with contextlib.suppress(OSError):
                while more := connection.recv(65536):
                    answer += more
        head, _, body = answer.partition(b"\r\n\r\n")
        return (int(head.split(b" ", 2)[1]) if head else 0), body

    def stop(self) -> int:
        """Ends it. Returns: its status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        return self.process.wait(60)


@pytest.fixture(scope="module", params=PROGRAMS)
def running(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    made = Running(request.param, tmp_path_factory.mktemp(request.param))
    yield made
    made.stop()


def post(running: Running, *headers: bytes) -> bytes:
    key = b"Authorization: Bearer %b\r\n" % running.key.encode()
    return b"POST /v1/orders HTTP/1.1\r\n" + HOST + JSON + key + b"".join(headers) + b"\r\n"


@pytest.mark.parametrize(
    "chunks", [b"zz\r\n{}\r\n0\r\n\r\n", b"-5\r\n{}\r\n0\r\n\r\n", b"2\r\n{}XX0\r\n\r\n"]
)
def test_chunks_that_are_no_http_are_the_senders_fault(running: Running, chunks: bytes) -> None:
    status, body = running.raw(post(running, b"Transfer-Encoding: chunked\r\n"), chunks)
    assert status == 400, body


@pytest.mark.parametrize("media_type", [b"application/json", b"text/csv", b"application/x-ndjson"])
def test_a_body_that_is_cut_off_is_not_taken_for_the_whole(running: Running, media_type: bytes) -> None:
    """Some rows of a sheet, or some lines, are not an order of fewer windows."""
    body = json.dumps(order("CUT")).encode() + b"\n"
    head = post(running, b"Content-Length: %d\r\n" % (len(body) + 50)).replace(
        b"application/json", media_type
    )
    status, answer = running.raw(head, body, is_ended=True)
    assert status in (0, 400), answer  # one of the two does not even answer a client that has gone
    assert running.get("/v1/orders/CUT", Authorization=f"Bearer {running.key}").status == 404


@pytest.mark.parametrize(
    "start",
    [
        b"GARBAGE\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nConnection: close\r\n\r\n",  # RFC 9112, section 3.2: Host is needed
        b"GET /livez HTTP/1.1\r\nHost: saw.example\r\nConnection: close\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nHost: a\r\nHost: b\r\nConnection: close\r\n\r\n",
        b"GET /v1/orders/\xff\xfe HTTP/1.1\r\n" + HOST + b"\r\n",
        b"GET /livez HTTP/1.1\r\n" + HOST + b"X : a\r\n\r\n",
        b"POST /v1/checks HTTP/1.1\r\n" + HOST + JSON + b"Content-Length: -5\r\n\r\n",
        b"POST /v1/checks HTTP/1.1\r\n" + HOST + JSON + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\n{}",
    ],
)
def test_what_is_no_request_is_400(running: Running, start: bytes) -> None:
    assert running.raw(start)[0] == 400
    assert running.get("/livez").status == 200


@pytest.mark.parametrize("header", ["Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Proto", "X-Real-IP"])
def test_what_a_proxy_on_the_machine_hands_on_comes_from_elsewhere(running: Running, header: str) -> None:
    """A server program that takes such headers away would open the counts to the world."""
    assert running.get("/metrics").status == 200
    assert running.get("/metrics", **{header: "127.0.0.1"}).status == 401


@pytest.mark.parametrize("program", PROGRAMS)
def test_without_keys_a_proxy_on_the_machine_opens_nothing(program: str, tmp_path: Path) -> None:
    running = Running(program, tmp_path, with_key=False)
    try:
        assert running.get("/v1/orders").status == 200
        assert running.get("/v1/orders", X_Forwarded_For="192.0.2.7").status == 403
    finally:
        running.stop()


@pytest.mark.parametrize("program", PROGRAMS)
def test_every_line_of_the_log_is_json_and_repeats_nothing(program: str, tmp_path: Path) -> None:
    """S20, for what the server program itself writes as well."""
    running = Running(program, tmp_path)
    secret = b"CUSTOMER"
    running.raw(b"GET /%b HTTP/1.1 %b\r\n\r\n" % (secret, secret))
    running.raw(b"GET /livez HTTP/1.1\r\n" + HOST + secret + b" : a\r\n\r\n")
    running.raw(b"POST /v1/checks HTTP/1.1\r\n" + HOST + b"Content-Length: %b\r\n\r\n" % (b"9" * 5000))
    running.raw(b"GET /%b HTTP/1.1\r\n" % secret + HOST + b"\r\n")
    assert running.stop() == 0
    first, *lines = running.log.splitlines()
    if program == "gunicorn":
        lines = [first, *lines]
    else:
        assert first.startswith("sawready answers on http://127.0.0.1:")
    assert len(lines) > 2
    assert all("event" in json.loads(line) for line in lines), lines
    assert "CUSTOMER" not in running.log


@pytest.mark.parametrize("program", PROGRAMS)
def test_a_stop_lets_what_is_under_way_be_finished(program: str, tmp_path: Path) -> None:
    """A sheet of many orders is being answered when SIGTERM comes; every line of its answer still arrives."""
    running = Running(program, tmp_path)
    count = 300
    body = b"".join(json.dumps(order(f"S{number}")).encode() + b"\n" for number in range(count))
    key = b"Authorization: Bearer %b\r\n" % running.key.encode()
    head = b"POST /v1/checks HTTP/1.1\r\n" + HOST + key + b"Content-Type: application/x-ndjson\r\n"
    answers: list[tuple[int, bytes]] = []
    thread = threading.Thread(
        target=lambda: answers.append(running.raw(head + b"Content-Length: %d\r\n\r\n" % len(body), body))
    )
    thread.start()
    time.sleep(0.3)
    assert running.stop() == 0
    thread.join()
    ((status, answer),) = answers
    assert status == 200
    assert answer.count(b'"decision":"accepted","digest"') == count
