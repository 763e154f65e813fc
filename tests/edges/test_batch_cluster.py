"""The same run on a real Dask cluster: a scheduler and two workers, processes of their own."""

import io
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import pytest

from batch_runs import Kept, content, run
from order_generator import sheet
from sawready.batch import chunks
from sawready.batch.executors import WorkersLostError
from sawready.batch.run import Batch
from sawready.batch.settings import RunSettings
from sawready.errors import SettingsError
from sawready.normalise import CallerDefaults

pytest.importorskip("distributed", reason="needs the extra cluster")

# The library's own clean-up in the client leaves sockets to the collector.
pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

_START_SECONDS = 60


class Cluster:
    """A scheduler and its workers on this machine."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = folder / "scheduler.json"
        self.scheduler = self._start(
            "dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(self._file)
        )
        self._wait(self._file.exists)
        self.address: str = json.loads(self._file.read_text(encoding="utf-8"))["address"]
        self.workers: list[subprocess.Popen] = []

    def _start(self, module: str, *arguments: str) -> subprocess.Popen:
        log = (self._folder / f"{module}-{len(list(self._folder.iterdir()))}.log").open("wb")
        with log:
            return subprocess.Popen(  # noqa: S603 - the library's own commands
                [sys.executable, "-m", f"distributed.cli.{module}", "--no-dashboard", *arguments],
                stdout=log,
                stderr=log,
                cwd=self._folder,
                env=dict(os.environ, PYTHONPATH=os.pathsep.join(path for path in sys.path if path)),
            )

    def add_workers(self, count: int) -> None:
        """Starts workers of one thread each, and waits until the scheduler knows them."""
        for _ in range(count):
            worker = self._start(
                "dask_worker",
                self.address,
                "--nthreads",
                "1",
                "--no-nanny",
                "--local-directory",
                str(self._folder),
            )
            self.workers.append(worker)
        logs = list(self._folder.glob("dask_worker-*.log"))
        self._wait(lambda: sum(b"Registered to:" in path.read_bytes() for path in logs) >= len(logs))

    @staticmethod
    def _wait(is_there) -> None:
        end = time.monotonic() + _START_SECONDS
        while not is_there():
            assert time.monotonic() < end, "the cluster does not start"
            time.sleep(0.05)

    def close(self) -> None:
        """Ends every process."""
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


@pytest.fixture
def cluster(tmp_path_factory) -> Iterator[Cluster]:
    made = Cluster(tmp_path_factory.mktemp("cluster"))
    try:
        yield made
    finally:
        made.close()


@pytest.fixture
def orders(tmp_path) -> Iterator[Path]:
    """Orders in a few files, cut into some forty chunks."""
    folder = tmp_path / "orders"
    folder.mkdir()
    (folder / "a.csv").write_bytes(sheet(250, seed=11, fault_share=0.1))
    (folder / "b.csv").write_bytes(sheet(50, seed=12))
    with patch.object(chunks, "SMALL_FILE_BYTES", 0):
        yield folder


def test_a_cluster_gives_the_same_bytes_though_a_worker_dies(cluster, orders, tmp_path):
    """Two workers; one is killed while it works, and what it held is done by the other."""
    run(orders, out=tmp_path / "alone")
    cluster.add_workers(2)
    seen = 0
    kept = Kept()
    keep = kept.write

    def kill_one(lines, told):
        nonlocal seen
        keep(lines, told)
        seen += 1
        if seen == 10:
            cluster.workers[0].kill()

    kept.write = kill_one
    batch = Batch(
        (str(orders),),
        RunSettings(CallerDefaults()),
        tmp_path / "out",
        scheduler=cluster.address,
        chunk_openings=7,
    )
    batch.run(kept, stdin=io.BytesIO(), stderr=io.StringIO())
    assert cluster.workers[0].poll() is not None
    assert cluster.workers[1].poll() is None
    assert seen > 20
    assert content(tmp_path / "out") == content(tmp_path / "alone")
    assert kept.lines == (tmp_path / "alone" / "results.ndjson").read_bytes()


def test_a_run_that_loses_its_cluster_goes_on_without(cluster, orders, tmp_path):
    """The scheduler goes; what is done stays, and --resume ends the run here."""
    run(orders, out=tmp_path / "alone")
    cluster.add_workers(1)
    kept = Kept()
    seen = 0

    def lose_it(lines, told):
        nonlocal seen
        seen += 1
        if seen == 5:
            cluster.close()

    kept.write = lose_it
    batch = Batch(
        (str(orders),),
        RunSettings(CallerDefaults()),
        tmp_path / "out",
        scheduler=cluster.address,
        chunk_openings=7,
    )
    with pytest.raises(WorkersLostError, match="--resume"):
        batch.run(kept, stdin=io.BytesIO(), stderr=io.StringIO())
    run(orders, out=tmp_path / "out", is_resumed=True)
    assert content(tmp_path / "out") == content(tmp_path / "alone")


def test_a_cluster_without_workers_is_told_at_once(cluster, orders):
    """Nothing would ever come of it."""
    with pytest.raises(SettingsError, match="it has no workers"):
        run(orders, scheduler=cluster.address)
