"""A run that is killed anywhere goes on and ends byte for byte as if nothing had happened."""

import contextlib
import io
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from functools import partialmethod
from pathlib import Path
from unittest.mock import patch

import pytest

from batch_runs import Kept, content, run
from order_generator import sheet
from sawready.batch import chunks
from sawready.batch import folder as folders
from sawready.batch.folder import DATA, JOURNAL, OutputError
from sawready.batch.run import Batch
from sawready.batch.settings import GivenFile, RunSettings
from sawready.cli.check import _Text
from sawready.errors import SettingsError
from sawready.normalise import CallerDefaults

SETTINGS = RunSettings(CallerDefaults())


class Killed(BaseException):
    """Stands for the power going."""


@pytest.fixture(scope="module", autouse=True)
def many_chunks() -> Iterator[None]:
    """Small files are parted as large ones are, so that a short run has many chunks."""
    with patch.object(chunks, "SMALL_FILE_BYTES", 0):
        yield


@pytest.fixture(scope="module")
def orders(tmp_path_factory, many_chunks) -> Path:
    folder = tmp_path_factory.mktemp("orders")
    (folder / "a.csv").write_bytes(sheet(60, seed=3, fault_share=0.2))
    (folder / "b.csv").write_bytes(b"order_ref,system\n" * 2)
    (folder / "c.csv").write_bytes(sheet(25, seed=4))
    return folder


@pytest.fixture(scope="module")
def undisturbed(orders, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    run(orders, out=out)
    return out


class Disk:
    """The disk of a machine whose power goes at a given step; what was not synced may be lost.

    Steps are syncs of files and folders, renames and removals, in the order in which the program asks.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *, dies_at: int | None) -> None:
        self.steps = 0
        self._dies_at = dies_at
        self.synced: dict[str, int] = {}
        self._fsync, self._replace, self._unlink = os.fsync, Path.replace, Path.unlink
        monkeypatch.setattr(os, "fsync", self._sync)
        monkeypatch.setattr(Path, "replace", partialmethod(_renamed, self))
        monkeypatch.setattr(Path, "unlink", partialmethod(_removed, self))

    def _step(self, action, *arguments):
        if self._dies_at is not None and self.steps >= self._dies_at:
            raise Killed
        self.steps += 1
        return action(*arguments)

    def remove(self, path: Path) -> None:
        """Removes a file."""
        self._step(self._unlink, path, True)
        self.synced.pop(str(path), None)

    def rename(self, path: Path, target: Path) -> None:
        """Gives a file another name."""
        self._step(self._replace, path, target)
        self.synced[str(target)] = self.synced.pop(str(path), 0)

    def _sync(self, descriptor: int) -> None:
        self._step(self._fsync, descriptor)
        path = Path(f"/proc/self/fd/{descriptor}").readlink()
        self.synced[str(path)] = os.fstat(descriptor).st_size

    def lose(self, folder: Path, chance: random.Random) -> None:
        """Leaves of what was not synced any part, the last of it garbled."""
        for path in folder.iterdir():
            size, safe = path.stat().st_size, self.synced.get(str(path), 0)
            if size > safe:
                kept = chance.randint(safe, size)
                with path.open("r+b") as stream:
                    stream.truncate(kept)
                    if kept > safe:
                        stream.seek(kept - 1)
                        stream.write(b"\0")


def _renamed(path: Path, disk: Disk, target: Path) -> None:
    disk.rename(path, target)


def _removed(path: Path, disk: Disk, **_: bool) -> None:
    disk.remove(path)


def test_the_power_may_go_at_any_step(orders, undisturbed, tmp_path, monkeypatch):
    """At each sync, rename and removal of a whole run in turn, with unsynced bytes lost or garbled."""
    monkeypatch.setattr(folders, "COMMIT_SECONDS", 0)
    with pytest.MonkeyPatch.context() as context:
        disk = Disk(context, dies_at=None)
        run(orders, out=tmp_path / "count")
    assert content(tmp_path / "count") == content(undisturbed)
    chance = random.Random(1)
    for step in range(disk.steps):
        out = tmp_path / f"out{step}"
        with pytest.MonkeyPatch.context() as context:
            dying = Disk(context, dies_at=step)
            with contextlib.suppress(Killed):
                run(orders, out=out)
        dying.lose(out, chance)
        whole = (out / "manifest.json").exists()
        if whole:
            assert content_without_journal(out) == content(undisturbed)
        kept = run(orders, out=out, is_resumed=True)
        assert content(out) == content(undisturbed), f"after step {step}"
        assert kept.lines == (undisturbed / "results.ndjson").read_bytes()


def content_without_journal(out: Path) -> dict[str, str]:
    found = content(out)
    found.pop(JOURNAL, None)
    return found


def test_what_lies_there_from_an_earlier_run_is_replaced_whole_or_not_at_all(orders, tmp_path, monkeypatch):
    """Until the new run is whole the old one stands; a folder with a manifest is never a mixture."""
    monkeypatch.setattr(folders, "COMMIT_SECONDS", 0)
    old, new = tmp_path / "old", tmp_path / "new"
    run(orders / "a.csv", out=old)
    run(orders / "c.csv", out=new)
    before, after = content(old), content(new)
    with pytest.MonkeyPatch.context() as context:
        disk = Disk(context, dies_at=None)
        run(orders / "c.csv", out=old)
    steps = disk.steps
    for step in range(steps):
        run(orders / "a.csv", out=old)
        with pytest.MonkeyPatch.context() as context:
            Disk(context, dies_at=step)
            with contextlib.suppress(Killed):
                run(orders / "c.csv", out=old)
        if (old / "manifest.json").exists():
            found = {name: digest for name, digest in content(old).items() if not name.endswith(".part")}
            assert found in (before, after)
        run(orders / "c.csv", out=old, is_resumed=True)
        assert content(old) == after


_DRIVER = """
import os, sys
from sawready.batch import folder
folder.COMMIT_SECONDS = 0.0
from sawready.cli.main import main
sys.stderr.write("ready")
sys.stderr.flush()
main(sys.argv[1:])
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="needs kill -9")
@pytest.mark.parametrize(("jobs", "points"), [(1, 20), (2, 5)])
def test_kill_at_random_points(tmp_path, jobs, points):
    """SIGKILL whenever the output reaches a random length, many times over one run."""
    (tmp_path / "a.csv").write_bytes(sheet(600, seed=5, fault_share=0.1))
    command = [sys.executable, "-c", _DRIVER, "check", str(tmp_path / "a.csv"), "--format", "ndjson"]
    command += ["--chunk-openings", "10", "--jobs", str(jobs)]
    whole = tmp_path / "whole"
    straight = subprocess.run([*command, "--out", str(whole)], capture_output=True, check=False)  # noqa: S603
    size = (whole / "results.ndjson").stat().st_size
    chance = random.Random(jobs)
    kills = 0
    out = tmp_path / "out"
    part = out / "results.ndjson.part"
    for target in sorted(chance.randrange(1, size) for _ in range(points)):
        with subprocess.Popen(  # noqa: S603
            [*command, "--out", str(out), "--resume"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ) as process:
            while process.poll() is None and (not part.exists() or part.stat().st_size < target):
                time.sleep(0.001)
            if process.poll() is None:
                process.send_signal(signal.SIGKILL)
        kills += process.returncode == -signal.SIGKILL
    assert kills == points
    done = subprocess.run([*command, "--out", str(out), "--resume"], capture_output=True, check=False)  # noqa: S603
    assert content(out) == content(whole)
    assert (done.stdout, done.returncode) == (straight.stdout, straight.returncode)


def begun(orders: Path, out: Path, *, stop_after: int = 5, settings: RunSettings = SETTINGS) -> None:
    """A run that stops after some chunks, with what it has done on disk."""
    kept = Kept()
    seen = 0

    def stop(lines, told):
        nonlocal seen
        seen += 1
        if seen > stop_after:
            raise KeyboardInterrupt

    kept.write = stop
    batch = Batch((str(orders),), settings, out, chunk_openings=7)
    with pytest.raises(KeyboardInterrupt):
        batch.run(kept, stdin=io.BytesIO(), stderr=io.StringIO())


def test_stopping_by_hand_loses_nothing(orders, undisturbed, tmp_path):
    """What has been written before Ctrl-C counts, and is not done again."""
    out = tmp_path / "out"
    begun(orders, out)
    lines = (out / JOURNAL).read_bytes().splitlines()
    assert json.loads(lines[-1].split(b"\t")[0])["chunks"] == 5
    run(orders, out=out, is_resumed=True)
    assert content(out) == content(undisturbed)


@pytest.mark.parametrize(
    ("settings", "chunk_openings", "says"),
    [
        (RunSettings(CallerDefaults(units="cm")), 7, "the options or files of settings"),
        (RunSettings(CallerDefaults(), column_map=GivenFile("m", b"firm: Harbour")), 7, "files of settings"),
        (SETTINGS, 8, "the size of its chunks"),
    ],
)
def test_a_run_is_not_resumed_under_other_settings(orders, tmp_path, settings, chunk_openings, says):
    """Half of the results by one rulebook and half by another would be worse than none."""
    begun(orders, tmp_path / "out")
    with pytest.raises(SettingsError, match=f"{says}.* changed since. Run without --resume"):
        run(orders, out=tmp_path / "out", settings=settings, chunk_openings=chunk_openings, is_resumed=True)


def test_a_run_is_not_resumed_over_another_input(orders, tmp_path):
    """The file that changed is named."""
    (tmp_path / "in").mkdir()
    for path in orders.iterdir():
        (tmp_path / "in" / path.name).write_bytes(path.read_bytes())
    begun(tmp_path / "in", tmp_path / "out")
    with (tmp_path / "in" / "c.csv").open("ab") as stream:
        stream.write(b"\n")
    with pytest.raises(SettingsError, match=r"the input \(.*c\.csv\) changed since"):
        run(tmp_path / "in", out=tmp_path / "out", is_resumed=True)
    run(tmp_path / "in", out=tmp_path / "out")
    assert (tmp_path / "out" / "manifest.json").exists()


def test_a_run_is_not_resumed_by_another_program(orders, tmp_path, monkeypatch):
    """Even of the same version."""
    begun(orders, tmp_path / "out")
    monkeypatch.setattr("sawready.batch.run.program_digest", lambda: "sha256:other")
    with pytest.raises(SettingsError, match="the program changed since"):
        run(orders, out=tmp_path / "out", is_resumed=True)


def test_a_journal_that_promises_more_than_there_is_is_not_believed(orders, tmp_path):
    """Somebody has touched the folder: nothing is guessed."""
    begun(orders, tmp_path / "out")
    (tmp_path / "out" / "cutting.csv.part").write_bytes(b"")
    with pytest.raises(SettingsError, match=r"cutting\.csv\.part is shorter than its journal says"):
        run(orders, out=tmp_path / "out", is_resumed=True)


def test_resume_of_a_finished_run_does_nothing_again(orders, undisturbed, tmp_path):
    """A nightly job may always say --resume; a finished run answers with what it has."""
    out = tmp_path / "out"
    run(orders, out=out)
    times = {path: path.stat().st_mtime_ns for path in out.iterdir()}
    kept = run(orders, out=out, is_resumed=True)
    assert {path: path.stat().st_mtime_ns for path in out.iterdir()} == times
    assert kept.lines == (undisturbed / "results.ndjson").read_bytes()


def test_resume_of_a_finished_run_with_a_file_gone_begins_anew(orders, undisturbed, tmp_path):
    """A folder that is not whole is not taken for whole."""
    out = tmp_path / "out"
    run(orders, out=out)
    (out / "glass.csv").unlink()
    run(orders, out=out, is_resumed=True)
    assert content(out) == content(undisturbed)


def test_the_text_report_of_a_resumed_run_is_whole(orders, tmp_path):
    """What was found before the kill is told again."""
    texts = []
    for is_resumed in (False, True):
        out = tmp_path / f"out{is_resumed}"
        if is_resumed:
            begun(orders, out)
        text = io.StringIO()
        batch = Batch((str(orders),), SETTINGS, out, None, is_resumed, chunk_openings=7)
        batch.run(_Text(text, most=3), stdin=io.BytesIO(), stderr=io.StringIO())
        texts.append(text.getvalue())
    assert texts[0] == texts[1]


def test_two_runs_do_not_write_one_folder(orders, tmp_path):
    """The second is told, and leaves the first alone."""
    kept = Kept()
    done = []

    def meddle(lines, told):
        if not done:
            done.append(True)
            with pytest.raises(SettingsError, match="another run is writing there"):
                run(orders, out=tmp_path / "out")

    kept.write = meddle
    Batch((str(orders),), SETTINGS, tmp_path / "out").run(kept, stdin=io.BytesIO(), stderr=io.StringIO())
    assert done


def test_a_full_disk_stops_the_run_with_a_sentence(orders, undisturbed, tmp_path, monkeypatch):
    """Half written files keep their unfinished names, and the run goes on when there is room."""
    out = tmp_path / "out"
    real = folders.OutFolder._append
    left = [40_000]

    def append(self, name, data):
        left[0] -= len(data)
        if left[0] < 0:
            raise OSError(28, "No space left on device")
        real(self, name, data)

    with pytest.MonkeyPatch.context() as context:
        context.setattr(folders.OutFolder, "_append", append)
        with pytest.raises(OutputError, match=r"No space left on device.*go on with --resume"):
            run(orders, out=out)
    assert not any((out / name).exists() for name in DATA)
    run(orders, out=out, is_resumed=True)
    assert content(out) == content(undisturbed)


def test_a_folder_that_cannot_be_written_is_told_at_once(orders, tmp_path):
    """Not after a night of work."""
    (tmp_path / "out").write_text("a file", encoding="utf-8")
    with pytest.raises(SettingsError, match="out"):
        run(orders, out=tmp_path / "out")
