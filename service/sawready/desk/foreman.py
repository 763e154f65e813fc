"""The foreman: takes jobs out of the store and has each done by a process of its own.

Every process of the service has as many foremen as jobs may run at once, and the store sees to it that no
more run in all. A foreman keeps a lease on its job for as long as the job's process lives; where the whole
service is killed, the lease runs out within ``LEASE_S`` and another foreman takes the job up from the start.
"""

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import orjson
import sqlalchemy as sa

from sawready.errors import StoreError
from sawready.settings import Settings
from sawready.store import jobs
from sawready.store.jobs import Job
from sawready.store.store import RaceError, Store

LEASE_S: Final = 15.0
"""How long a job is a foreman's without renewal: after a crash it stands still for no longer. [s]"""

BEAT_S: Final = 3.0
"""How often a lease is renewed; several renewals may fail before it runs out. [s]"""

LOOK_S: Final = 1.0
"""How often a foreman without work looks for some. [s]"""

MOST_S: Final = 1800.0
"""After this long a job is given up; the largest plans take some two minutes on one core. [s]"""

_TIDY_S: Final = 60.0
_STEP_S: Final = 0.1

Tell = Callable[..., None]

_DIED: Final[dict[str, Any]] = {
    "name": "internal-error",
    "detail": "The service failed on the job, twice; what was asked for is not at fault. The log holds more.",
    "whys": [],
}
_TOO_LONG: Final[dict[str, Any]] = {
    "name": "internal-error",
    "detail": "The job took longer than a job may. Plan fewer orders together.",
    "whys": [],
}
_TOO_OFTEN: Final[dict[str, Any]] = {
    "name": "internal-error",
    "detail": "The job was begun again and again, and never came to its end.",
    "whys": [],
}


class Foreman:
    """Works off jobs in a thread until it is stopped.

    Args:
        store: where the jobs are.
        settings: how many run at once, how long results are kept, which systems and rulebooks.
        tell: told of each job that ends here, for the log.
        lease_s: as LEASE_S; tests make it short. [s]
        beat_s: as BEAT_S. [s]
        most_s: as MOST_S. [s]
        command: the process that does a job.
    """

    def __init__(
        self,
        store: Store,
        settings: Settings,
        *,
        tell: Tell | None = None,
        lease_s: float = LEASE_S,
        beat_s: float = BEAT_S,
        most_s: float = MOST_S,
        command: tuple[str, ...] = (sys.executable, "-P", "-m", "sawready.desk.job_work"),
    ) -> None:
        self._store, self._settings = store, settings
        self._tell = tell or (lambda **_: None)
        self._lease_s, self._beat_s, self._most_s = lease_s, beat_s, most_s
        self._command = command
        self._stopping = threading.Event()
        self._threads: list[threading.Thread] = []
        self._tidied = 0.0

    def start(self) -> None:
        """Begins to look for jobs."""
        for number in range(self._settings.jobs_at_once):
            thread = threading.Thread(target=self._run, name=f"foreman-{number}", daemon=True)
            self._threads.append(thread)
            thread.start()

    def stop(self) -> None:
        """Stops: a job that is under way is handed back, so that another foreman takes it up at once."""
        self._stopping.set()
        for thread in self._threads:
            thread.join()
        self._threads.clear()

    def _run(self) -> None:
        while not self._stopping.is_set():
            try:
                job = self._next()
                if job is not None:
                    self._do(job)
                    continue
            except (StoreError, RaceError) as trouble:
                self._tell(event="job-store", trouble=str(trouble))
            except OSError as trouble:  # no process can be started; the job comes up again with its lease
                self._tell(event="job-process", trouble=type(trouble).__name__)
            self._stopping.wait(LOOK_S)

    def _next(self) -> Job | None:
        if time.monotonic() - self._tidied > _TIDY_S or not self._tidied:
            self._tidied = time.monotonic()
            hours = self._settings.job_hours
            self._store.write(lambda tx: jobs.tidy(tx, orjson.dumps(_TOO_OFTEN), hours=hours))
        if not self._store.read(jobs.are_there_to_do):
            return None
        return self._store.write(
            lambda tx: jobs.take_up(tx, lease_s=self._lease_s, at_once=self._settings.jobs_at_once)
        )

    def _do(self, job: Job) -> None:
        """Has a job done and ends it, unless it is no longer this foreman's."""
        began = time.monotonic()
        output = self._output_of(job, began)
        if output is None:
            return
        hours = self._settings.job_hours
        head, document = _read(output)
        if head is not None and "again" in head:
            self._end_quietly(lambda tx: jobs.hand_back(tx, job))
            self._tell(event="job-store", trouble=head["again"])
            self._stopping.wait(self._beat_s)
            return
        if head is None or "trouble" in head:
            is_mine = self._end(lambda tx: jobs.crashed(tx, job, orjson.dumps(_DIED), hours=hours))
            outcome = "died" if head is None else head["trouble"]
        elif "problem" in head:
            is_mine = self._end(lambda tx: jobs.fail(tx, job, orjson.dumps(head["problem"]), hours=hours))
            outcome = head["problem"]["name"]
        else:
            is_mine = self._end(lambda tx: jobs.finish(tx, job, document, bars=head["bars"], hours=hours))
            outcome = "done"
        self._tell(
            event="job",
            job=job.job_id,
            kind=job.kind,
            attempt=job.attempt,
            outcome=outcome if is_mine else "lost",
            s=round(time.monotonic() - began, 1),
        )

    def _end(self, work: Callable[[sa.Connection], bool]) -> bool:
        """Ends a job in the store, trying again while that is out of reach. Returns: whether it was ours."""
        until = time.monotonic() + self._lease_s
        while True:
            try:
                return self._store.write(work)
            except StoreError:
                if time.monotonic() > until or self._stopping.is_set():
                    return False
                self._stopping.wait(LOOK_S)

    def _output_of(self, job: Job, began: float) -> bytes | None:
        """What the process of a job writes; None where the job was handed back, lost or given up."""
        process = self._started(job)
        output = bytearray()
        reader = threading.Thread(target=lambda: output.extend(_all(process)), daemon=True)
        reader.start()
        renewed = time.monotonic()
        too_long = orjson.dumps(_TOO_LONG)
        try:
            while reader.is_alive():
                reader.join(_STEP_S)
                if self._stopping.is_set():
                    self._end_quietly(lambda tx: jobs.hand_back(tx, job))
                    return None
                if time.monotonic() - began > self._most_s:
                    self._end(lambda tx: jobs.fail(tx, job, too_long, hours=self._settings.job_hours))
                    return None
                if time.monotonic() - renewed > self._beat_s:
                    renewed = time.monotonic()
                    if not self._is_still_mine(job):
                        return None
        finally:
            process.kill()
            process.wait()
            reader.join()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError):
                        stream.close()
        return bytes(output)

    def _is_still_mine(self, job: Job) -> bool:
        try:
            return self._store.write(lambda tx: jobs.renew(tx, job, lease_s=self._lease_s))
        except StoreError:
            return True  # whether it is, shows at its end

    def _end_quietly(self, work: Callable[[sa.Connection], bool]) -> None:
        with contextlib.suppress(StoreError):  # then its lease runs out
            self._store.write(work)

    def _started(self, job: Job) -> subprocess.Popen[bytes]:
        """The process that does a job, told what to do."""
        task = {
            "store": self._store.engine.url.render_as_string(hide_password=False),
            "system_files": [str(path) for path in self._settings.system_files],
            "rulebook_files": [str(path) for path in self._settings.rulebook_files],
            "request": job.request.decode("utf-8"),
        }
        root = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join(part for part in (root, os.environ.get("PYTHONPATH", "")) if part)
        process = subprocess.Popen(  # noqa: S603 - our own interpreter and module
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,  # what a customer wrote could stand in a traceback
            env={**os.environ, "PYTHONPATH": path},
        )
        if process.stdin is not None:
            with contextlib.suppress(OSError):  # one that has died at once shows by its empty output
                process.stdin.write(orjson.dumps(task) + b"\n")
                process.stdin.flush()
        return process


def _all(process: subprocess.Popen[bytes]) -> bytes:
    return b"" if process.stdout is None else process.stdout.read()


def _read(output: bytes) -> tuple[dict[str, Any] | None, bytes]:
    """What a process says of its job, and the result; None where it died before it was through."""
    head, found, document = output.partition(b"\n")
    if not found:
        return None, b""
    said: dict[str, Any] = orjson.loads(head)
    return (None, b"") if len(document) != said.get("size", 0) else (said, document)
