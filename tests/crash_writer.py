"""Kills a service under load, again and again, and counts what it had acknowledged and lost.

``python tests/crash_writer.py --store URL --rounds 200`` is the full run; the tests make a short one. A
writer sends orders, answers and releases over HTTP to a real service in a process of its own, and notes
each acknowledgement in a file of its own before it goes on. The service is killed with SIGKILL at a random
moment. Then the store is opened anew and every acknowledged step is looked for, byte by byte.

A killed process proves nothing about power that fails: what the operating system holds outlives it.
"""

import argparse
import contextlib
import hashlib
import http.client
import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from desk_service import order
from sawready.store import orders as kept
from sawready.store.store import Store


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass
class Tally:
    """What came of a run."""

    rounds: int = 0
    acknowledged: int = 0
    lost: list[str] = field(default_factory=list)
    torn: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        return (
            f"{self.rounds} rounds, {self.acknowledged} acknowledged writes, {len(self.lost)} lost, "
            f"{len(self.torn)} torn"
        )


class Writer(threading.Thread):
    """Sends orders one after the other and remembers what was acknowledged, until the service is gone."""

    def __init__(self, port: int, name: str) -> None:
        super().__init__(daemon=True)
        self._port, self._prefix = port, name
        self.kept: dict[str, str] = {}
        self.released: dict[str, str] = {}

    def run(self) -> None:
        """Sends until the service is gone."""
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=10)
        number = 0
        with contextlib.closing(connection), contextlib.suppress(OSError, http.client.HTTPException):
            while True:
                ref = f"{self._prefix}-{number}"
                status, body = _post(connection, "/v1/orders", order(ref))
                if status == 201:
                    self.kept[ref] = hashlib.sha256(body).hexdigest()
                    digest = json.loads(body)["digest"]
                    status, body = _post(connection, f"/v1/orders/{ref}/release", {"digest": digest})
                    if status == 200:
                        self.released[ref] = hashlib.sha256(body).hexdigest()
                number += 1


def _post(connection: http.client.HTTPConnection, path: str, body: object) -> tuple[int, bytes]:
    connection.request("POST", path, json.dumps(body), {"Content-Type": "application/json"})
    with connection.getresponse() as response:
        return response.status, response.read()


def one_round(
    url: str, number: int, tally: Tally, chance: random.Random, *, writers: int, most_s: float
) -> None:
    """Starts the service, kills it under load, and looks for everything that it acknowledged."""
    port = _free_port()
    environment = {
        **os.environ,
        "SAWREADY_STORE": url,
        "SAWREADY_PORT": str(port),
        "SAWREADY_LOG_REQUESTS": "no",
    }
    service = subprocess.Popen(
        [sys.executable, "-m", "sawready", "serve"],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(600):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.2):
                break
            time.sleep(0.05)
        threads = [Writer(port, f"{number}-{each}") for each in range(writers)]
        for thread in threads:
            thread.start()
        time.sleep(chance.uniform(0.1, most_s))
    finally:
        service.send_signal(signal.SIGKILL)
        service.wait()
    for thread in threads:
        thread.join()
    tally.rounds += 1
    look(url, threads, tally)


def look(url: str, writers: list[Writer], tally: Tally) -> None:
    """Counts what is lost or torn of what was acknowledged."""
    store = Store.open(url, may_make=False)
    sight = kept.Sight(None)
    for writer in writers:
        tally.acknowledged += len(writer.kept) + len(writer.released)
        for ref, digest in writer.kept.items():
            found = store.read(lambda tx, ref=ref: kept.find(tx, sight, ref))
            if not found:
                tally.lost.append(ref)
                continue
            newest = store.read(lambda tx, order=found[0]: kept.newest(tx, order))
            if hashlib.sha256(newest.result).hexdigest() != digest:
                tally.torn.append(ref)
            if ref in writer.released:
                release = store.read(lambda tx, order=found[0]: kept.release(tx, order, 1))
                if release is None or found[0].released_revision != 1:
                    tally.lost.append(f"release of {ref}")
                elif hashlib.sha256(release.document).hexdigest() != writer.released[ref]:
                    tally.torn.append(f"release of {ref}")
    # what was not acknowledged may be there or not, but never in part
    for entry in store.read(lambda tx: kept.page(tx, sight, limit=10_000_000)):
        parts = store.read(lambda tx, order=entry: (kept.revision(tx, order, 1), kept.release(tx, order, 1)))
        if parts[0] is None or (parts[1] is not None) is not (entry.released_revision == 1):
            tally.torn.append(f"{entry.order_ref}, in part")
    if store.file is not None:
        with contextlib.closing(sqlite3.connect(store.file)) as connection:
            if connection.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                tally.torn.append("the file")
    store.close()


def run(
    url: str, *, rounds: int, seed: int, writers: int = 3, most_s: float = 1.0, each: bool = False
) -> Tally:
    """A run of several rounds on one store."""
    made = Store.reach(url)
    made.migrate()
    made.close()
    tally, chance = Tally(), random.Random(seed)
    for number in range(rounds):
        one_round(url, number, tally, chance, writers=writers, most_s=most_s)
        if each:
            print(tally, flush=True)  # noqa: T201 - a program for people
    return tally


def main() -> int:
    """Runs it. Returns: exit status, 1 where anything was lost or torn."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--store", help="address; a SQLite file that is removed afterwards where absent")
    parser.add_argument("--postgresql", action="store_true", help="start a PostgreSQL of its own")
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=20261125)
    options = parser.parse_args()
    with contextlib.ExitStack() as stack:
        url = options.store
        if options.postgresql:
            from postgres import Cluster, programs  # noqa: PLC0415 - its driver is an extra

            found = programs()
            if found is None:
                parser.error("PostgreSQL is not installed")
            cluster = Cluster(found)
            stack.callback(cluster.close)
            url = cluster.database()
        elif url is None:
            folder = stack.enter_context(tempfile.TemporaryDirectory())
            url = f"sqlite:///{Path(folder) / 'crash.sqlite3'}"
        tally = run(url, rounds=options.rounds, seed=options.seed, each=True)
    for each in (*tally.lost, *tally.torn):
        print(each)  # noqa: T201 - a program for people
    return 1 if tally.lost or tally.torn else 0


if __name__ == "__main__":
    sys.exit(main())
