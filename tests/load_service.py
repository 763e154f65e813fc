"""Sends one order of three openings 200 times a second to a service under gunicorn, for 30 seconds.

``python tests/load_service.py`` starts the service on loopback with a store and a key of its own, sends from
this second process, and prints what came of it. Requests fall due by the clock, whether the last one is
answered or not, and each is timed from when it fell due, so that a stall counts against all that it delays.
"""

import argparse
import contextlib
import http.client
import json
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from desk_service import order
from sawready.store import keys
from sawready.store.store import Store


def three_openings(ref: str) -> bytes:
    """An order of three openings."""
    made = order(ref)
    first = made["openings"][0]
    made["openings"] = [{**first, "opening_ref": f"W{number}"} for number in range(3)]
    return json.dumps(made).encode()


class Sender(threading.Thread):
    """One connection that takes the next request that falls due."""

    def __init__(self, port: int, key: str, path: str, due: "Due") -> None:
        super().__init__(daemon=True)
        self._port, self._path, self._due = port, path, due
        self._headers = {"Content-Type": "application/json", "Authorization": f"Bearer {key}"}
        self.took_s: list[float] = []
        self.statuses: dict[int, int] = {}

    def run(self) -> None:
        """Sends until nothing falls due any more."""
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=20)
        with contextlib.closing(connection):
            self._send(connection)

    def _send(self, connection: http.client.HTTPConnection) -> None:
        while (taken := self._due.next()) is not None:
            number, at = taken
            time.sleep(max(0.0, at - time.perf_counter()))
            connection.request("POST", self._path, three_openings(f"L{number}"), self._headers)
            response = connection.getresponse()
            response.read()
            self.took_s.append(time.perf_counter() - at)
            self.statuses[response.status] = self.statuses.get(response.status, 0) + 1


class Due:
    """Requests by the clock."""

    def __init__(self, per_s: float, seconds: float, first: int) -> None:
        self._per_s, self._count, self._at, self._first = per_s, int(per_s * seconds), 0, first
        self._start = time.perf_counter() + 0.2
        self._lock = threading.Lock()

    def next(self) -> tuple[int, float] | None:
        """The next request and when it falls due; None where there is no more."""
        with self._lock:
            if self._at >= self._count:
                return None
            self._at += 1
            return self._first + self._at, self._start + (self._at - 1) / self._per_s


def resident_mib(pid: int) -> float:
    """Memory of a process and of those that it started, in MiB."""
    total = 0
    for status in Path("/proc").glob("[0-9]*/status"):
        with contextlib.suppress(OSError):
            text = status.read_text("ascii", "replace")
            facts = dict(line.split(":", 1) for line in text.splitlines() if ":" in line)
            if int(facts["Pid"]) == pid or int(facts["PPid"]) == pid:
                total += int(facts.get("VmRSS", "0 kB").split()[0])
    return total / 1024


def load(port: int, key: str, path: str, *, per_s: float, seconds: float, first: int, senders: int) -> str:
    """One run. Returns: what came of it, in a line."""
    due = Due(per_s, seconds, first)
    threads = [Sender(port, key, path, due) for _ in range(senders)]
    began = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    took = sorted(each for thread in threads for each in thread.took_s)
    statuses: dict[int, int] = {}
    for thread in threads:
        for status, count in thread.statuses.items():
            statuses[status] = statuses.get(status, 0) + count
    hundredths = statistics.quantiles(took, n=100)
    return (
        f"{path}: {len(took) / (time.perf_counter() - began):.0f}/s, p50 {1000 * hundredths[49]:.1f} ms, "
        f"p95 {1000 * hundredths[94]:.1f} ms, p99 {1000 * hundredths[98]:.1f} ms, "
        f"most {1000 * took[-1]:.1f} ms, answers {statuses}"
    )


def main() -> None:
    """Runs it."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--per-second", type=float, default=200)
    parser.add_argument("--seconds", type=float, default=30)
    parser.add_argument("--senders", type=int, default=16)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--path", action="append", help="/v1/checks or /v1/orders; both where left out")
    options = parser.parse_args()
    seconds = min(options.seconds, 300.0)
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/load.sqlite3"
        store = Store.open(url)
        _, key = store.write(lambda tx: keys.add(tx, role="installer", firm="Harbour Joinery"))
        store.close()
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        environment = {
            **os.environ,
            "SAWREADY_STORE": url,
            "SAWREADY_PORT": str(port),
            "SAWREADY_REQUESTS_PER_MINUTE": "1000000",
            "WEB_CONCURRENCY": str(options.workers),
        }
        service = subprocess.Popen(
            [sys.executable, "-m", "sawready.operations.run"], env=environment, stderr=subprocess.DEVNULL
        )
        try:
            for _ in range(400):
                with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.2):
                    break
                time.sleep(0.05)
            first = 0
            for path in options.path or ["/v1/checks", "/v1/orders"]:
                load(port, key, path, per_s=50, seconds=3, first=first, senders=options.senders)
                before = resident_mib(service.pid)
                told = load(
                    port,
                    key,
                    path,
                    per_s=options.per_second,
                    seconds=seconds,
                    first=first + 1000,
                    senders=options.senders,
                )
                print(f"{told}, memory {before:.0f} then {resident_mib(service.pid):.0f} MiB", flush=True)  # noqa: T201
                first += 1_000_000
        finally:
            service.send_signal(signal.SIGTERM)
            service.wait(40)


if __name__ == "__main__":
    main()
