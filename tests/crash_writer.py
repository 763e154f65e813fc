"""Kills a service under load, again and again, and counts what it had acknowledged and lost.

``python tests/crash_writer.py --rounds 200`` is the full run on SQLite, with ``--postgresql`` that on a
PostgreSQL of its own; the tests make a short one. Writers send orders, re-surveys, answers, releases and
arrivals over HTTP to a real service in processes of its own (one process in one round, two workers of
gunicorn in the next), and note each acknowledgement before they go on. All processes of the service are
killed with SIGKILL at a random moment, and with ``--database-too`` the database server is cut off as well.
Then the store is opened anew, and every acknowledged step is looked for, byte by byte; once more at the end.

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
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from desk_service import order, queried
from sawready.store import orders as kept
from sawready.store.store import Store
from sawready.store.tables import ANSWERS, ARRIVALS, FINDINGS, ORDERS, RELEASES, REPLAYS, REVISIONS, TRAIL

SERVERS = (["-m", "sawready", "serve"], ["-m", "sawready.operations.run"])
ARRIVAL = {
    "opening_ref": "W1",
    "by": "CD",
    "units": "mm",
    "width": 1798,
    "height": 1220,
    "height_includes_sill": False,
}


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


Step = tuple[str, str, int]
"""What was acknowledged: its kind (revision, release, arrival or replay), of which order, and its number."""


class Writer(threading.Thread):
    """Takes orders through the desk one after the other and remembers what was acknowledged.

    Attributes:
        steps: SHA-256 of each answer.
    """

    def __init__(self, port: int, name: str) -> None:
        super().__init__(daemon=True)
        self._port, self._prefix = port, name
        self.steps: dict[Step, str] = {}
        self.surprises: list[str] = []

    def run(self) -> None:
        """Sends until the service is gone."""
        self._connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=20)
        number = 0
        with contextlib.closing(self._connection), contextlib.suppress(OSError, http.client.HTTPException):
            while True:
                self._life(f"{self._prefix}-{number}", number)
                number += 1

    def _life(self, ref: str, number: int) -> None:
        """One order from its upload to its frame; every third is queried and answered, every fourth revised."""
        is_queried = number % 3 == 0
        made = (queried if is_queried else order)(ref)
        path, revision = f"/v1/orders/{ref}", 1
        result = self._send("POST", "/v1/orders", made, ("revision", ref, 1), Idempotency_Key=ref)
        if is_queried:
            for query in _queries(result):
                revision += 1
                result = self._send("POST", f"{path}/answers", query, ("revision", ref, revision))
        if number % 4 == 0:
            revision += 1
            made["openings"][0]["room"] = "hall"
            result = self._send("PUT", path, made, ("revision", ref, revision), If_Match="*")
        asked = {"digest": result["digest"]}
        self._send("POST", f"{path}/release", asked, ("release", ref, revision), Idempotency_Key=ref)
        if number % 2 == 0:
            self._send("POST", f"{path}/arrivals", ARRIVAL, ("arrival", ref, revision))

    def _send(self, method: str, path: str, body: object, step: Step, **headers: str) -> Any:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        self._connection.request(
            method, path, json.dumps(body), {"Content-Type": "application/json", **named}
        )
        with self._connection.getresponse() as response:
            written = response.read()
        if response.status not in (200, 201):
            self.surprises.append(f"{step}: {response.status} {written[:300]!r}")
            raise ConnectionAbortedError
        self.steps[step] = hashlib.sha256(written).hexdigest()
        return json.loads(written)


def _queries(result: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "opening_ref": opening["opening_ref"],
            "reason": found["reason"],
            "measured": found["measured"] and found["measured"]["value"],
            "by": "AB",
        }
        for opening in result["openings"]
        for found in opening["findings"]
        if found["severity"] == "query"
    ]


def one_round(
    url: str, number: int, tally: Tally, chance: random.Random, *, writers: int, most_s: float,
    stop_database: Callable[[], None] | None = None,
) -> list[Writer]:  # fmt: skip
    """Starts the service, kills it under load, and looks for everything that it acknowledged."""
    port = _free_port()
    environment = {
        **os.environ,
        "SAWREADY_STORE": url,
        "SAWREADY_PORT": str(port),
        "SAWREADY_LOG_REQUESTS": "no",
        "WEB_CONCURRENCY": "2",
    }
    service = subprocess.Popen(  # noqa: S603 - our own program
        [sys.executable, *SERVERS[number % len(SERVERS)]],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,  # its workers are killed with it
    )
    threads = [Writer(port, f"{number}-{each}") for each in range(writers)]
    try:
        _wait(port)
        for thread in threads:
            thread.start()
        time.sleep(chance.uniform(0.1, most_s))
        if stop_database is not None:
            stop_database()
    finally:
        os.killpg(service.pid, signal.SIGKILL)
        service.wait()
    for thread in threads:
        thread.join()
    tally.rounds += 1
    return threads


def _wait(port: int) -> None:
    """Waits until the service answers. Raises: TimeoutError."""
    for _ in range(1200):
        with contextlib.suppress(OSError, http.client.HTTPException):
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
            with contextlib.closing(connection):
                connection.request("GET", "/livez")
                if connection.getresponse().status == 200:
                    return
        time.sleep(0.05)
    raise TimeoutError("the service did not start")


def look(store: Store, steps: dict[Step, str], tally: Tally, *, after_id: int = 0) -> int:
    """Counts what is lost or torn of what was acknowledged.

    Args:
        store: the store, opened anew.
        steps: what was acknowledged.
        tally: where it is counted.
        after_id: orders up to this number were looked through for parts already.
    Returns: number of the newest order.
    """
    for (kind, ref, number), digest in steps.items():
        found = store.read(lambda tx, step=(kind, ref, number): _found(tx, *step))
        if found is None:
            tally.lost.append(f"{kind} {number} of {ref}")
        elif hashlib.sha256(found).hexdigest() != digest:
            tally.torn.append(f"{kind} {number} of {ref}")
    newest: int = store.read(lambda tx: _look_for_parts(tx, tally, after_id))
    if store.file is not None:
        with contextlib.closing(sqlite3.connect(store.file)) as connection:
            if connection.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                tally.torn.append("the file")
    return newest


def _found(tx: sa.Connection, kind: str, ref: str, number: int) -> bytes | None:
    """What the store has of a step that was acknowledged."""
    orders = kept.find(tx, kept.Sight(None), ref)
    if not orders:
        return None
    if kind == "revision":
        revision = kept.revision(tx, orders[0], number)
        return None if revision is None else revision.result
    if kind == "release":
        release = kept.release(tx, orders[0], number)
        return None if release is None else release.document
    at = (ARRIVALS.c.order_id == orders[0].order_id, ARRIVALS.c.revision == number)
    document: bytes | None = tx.scalar(sa.select(ARRIVALS.c.document).where(*at))
    return document


def _look_for_parts(tx: sa.Connection, tally: Tally, after_id: int) -> int:
    """What was not acknowledged may be there or not, but never in part: every order is looked through."""
    newest = after_id
    for row in tx.execute(sa.select(ORDERS).where(ORDERS.c.order_id > after_id)).mappings().all():
        order_id, newest = row["order_id"], max(newest, row["order_id"])
        revisions = tx.execute(
            sa.select(REVISIONS).where(REVISIONS.c.order_id == order_id).order_by(REVISIONS.c.revision)
        ).all()
        count = {
            table.name: tx.scalar(
                sa.select(sa.func.count()).select_from(table).where(table.c.order_id == order_id)
            )
            for table in (FINDINGS, ANSWERS, RELEASES, ARRIVALS, TRAIL)
        }
        published = [json.loads(revision.result) for revision in revisions]
        findings = [each for one in published for opening in one["openings"] for each in opening["findings"]]
        answers = [revision for revision in revisions if revision.cause == "answer"]
        replays = [revisions[0].result] if revisions else []
        if row["released_revision"] is not None:
            replays.append(
                tx.scalar(
                    sa.select(RELEASES.c.document).where(
                        RELEASES.c.order_id == order_id, RELEASES.c.revision == row["released_revision"]
                    )
                )
            )
        kept_replays = tx.scalars(
            sa.select(REPLAYS.c.body).where(REPLAYS.c.replay_key == row["order_ref"])
        ).all()
        whole = (
            [revision.revision for revision in revisions] == list(range(1, row["revision"] + 1))
            and published[-1]["digest"] == row["digest"] == revisions[-1].digest
            and count["findings"] == len(findings)
            and count["answers"] == len(answers)
            and count["releases"] == (row["released_revision"] is not None)
            and count["trail"] == len(revisions) + count["releases"] + count["arrivals"]
            and row["version"] == len(revisions) + count["releases"]
            and sorted(kept_replays) == sorted(replays)
        )
        if not whole:
            tally.torn.append(f"{row['order_ref']}, in part")
    return newest


def run(
    url: str, *, rounds: int, seed: int, writers: int = 4, most_s: float = 1.5, each: bool = False,
    database: Any = None,
) -> Tally:  # fmt: skip
    """A run of several rounds on one store.

    Args:
        url: the store, which is made.
        rounds: how often the service is killed.
        seed: of the moments at which it is.
        writers: connections that send at once.
        most_s: longest time under load. [s]
        each: whether each round is told on standard output.
        database: the cluster of PostgreSQL to cut off with the service; None to leave it alone.
    """
    made = Store.reach(url)
    made.migrate()
    made.close()
    tally, chance, steps, newest = Tally(), random.Random(seed), {}, 0
    for number in range(rounds):
        threads = one_round(
            url, number, tally, chance, writers=writers, most_s=most_s,
            stop_database=None if database is None else database.stop,
        )  # fmt: skip
        if database is not None:
            database.start()
        new = {step: digest for thread in threads for step, digest in thread.steps.items()}
        tally.torn += [each for thread in threads for each in thread.surprises] if database is None else []
        tally.acknowledged += len(new)
        steps.update(new)
        store = Store.open(url, may_make=False)
        newest = look(store, new, tally, after_id=newest)
        store.close()
        if each:
            print(tally, flush=True)  # noqa: T201 - a program for people
    store = Store.open(url, may_make=False)
    look(store, steps, tally)
    store.close()
    return tally


def main() -> int:
    """Runs it. Returns: exit status, 1 where anything was lost or torn."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--store", help="address; a SQLite file that is removed afterwards where absent")
    parser.add_argument("--postgresql", action="store_true", help="start a PostgreSQL of its own")
    parser.add_argument(
        "--database-too", action="store_true", help="cut off that PostgreSQL each time as well"
    )
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=1.5, help="longest time under load in a round")
    parser.add_argument("--seed", type=int, default=20261125)
    options = parser.parse_args()
    if options.database_too and not options.postgresql:
        parser.error("--database-too needs --postgresql")
    with contextlib.ExitStack() as stack:
        url, cluster = options.store, None
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
        tally = run(
            url, rounds=options.rounds, seed=options.seed, most_s=options.seconds, each=True,
            database=cluster if options.database_too else None,
        )  # fmt: skip
    print(f"At the end: {tally}")  # noqa: T201 - a program for people
    for each in (*tally.lost, *tally.torn):
        print(each)  # noqa: T201 - a program for people
    return 1 if tally.lost or tally.torn else 0


if __name__ == "__main__":
    sys.exit(main())
