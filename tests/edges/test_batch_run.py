"""A run over many orders: the same bytes for any number of workers, counts that add up, tables that agree."""

import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from unittest.mock import patch

import pytest
from click.testing import CliRunner

from batch_runs import content, run, summary
from order_generator import sheet
from sawready.batch import chunks, executors
from sawready.batch.chunks import Chunk, CountsError
from sawready.batch.executors import HereExecutor, Workers, WorkersLostError, checked_in_order, workers
from sawready.batch.progress import Progress
from sawready.batch.run import _refuse_lost
from sawready.batch.settings import RunSettings, program_digest
from sawready.batch.tally import FileCounts, Tally
from sawready.batch.work import Checked, Wanted
from sawready.cli.main import main
from sawready.normalise import CallerDefaults
from sawready.report.as_csv import CUTTING, FINDINGS, GLASS, harmless

SAMPLES = Path(__file__).parents[2] / "sample_orders"
SETTINGS = RunSettings(CallerDefaults())


@pytest.fixture(scope="module", autouse=True)
def many_chunks() -> Iterator[None]:
    """Small files are parted as large ones are, so that a short run has many chunks."""
    with patch.object(chunks, "SMALL_FILE_BYTES", 0):
        yield


@pytest.fixture(scope="module")
def orders(tmp_path_factory, many_chunks) -> Path:
    """A sheet of three hundred openings, and a copy of the sample orders of every kind beside it."""
    folder = tmp_path_factory.mktemp("orders")
    (folder / "a.csv").write_bytes(sheet(300, seed=7, fault_share=0.1))
    for path in SAMPLES.iterdir():
        if path.is_file() and path.suffix != ".md":
            (folder / path.name).write_bytes(path.read_bytes())
    (folder / "bad.csv").write_bytes(b"order_ref,system\n" * 2)
    (folder / "notes.txt").write_text("no input", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def alone(orders, tmp_path_factory) -> Path:
    """What one process makes of them."""
    out = tmp_path_factory.mktemp("alone") / "out"
    run(orders, out=out)
    return out


def table(path: Path) -> list[dict]:
    with path.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def results(out: Path) -> list[dict]:
    return [json.loads(line) for line in (out / "results.ndjson").read_text(encoding="utf-8").splitlines()]


@pytest.mark.slow
@pytest.mark.parametrize("jobs", [2, 7])
def test_any_number_of_processes_gives_the_same_bytes(orders, alone, tmp_path, jobs):
    """Every file of the folder, and standard output."""
    kept = run(orders, out=tmp_path / "out", jobs=jobs)
    assert content(tmp_path / "out") == content(alone)
    assert kept.lines == (alone / "results.ndjson").read_bytes()


def test_chunks_of_another_size_give_the_same_results(orders, alone, tmp_path):
    """Only the manifest says how the input was cut."""
    run(orders, out=tmp_path, chunk_openings=1000)
    other, same = content(tmp_path), content(alone)
    del other["manifest.json"], same["manifest.json"]
    assert other == same


def test_every_record_comes_to_something(orders, alone):
    """Read = accepted + queried + rejected + unreadable + skipped, in all, by file and by firm."""
    counts = summary(alone)
    for each in (counts["records"], *counts["files"].values(), *counts["firms"].values()):
        parts = (each[name] for name in ("accepted", "queried", "rejected", "unreadable", "skipped"))
        assert each["read"] == sum(parts)
    openings = [opening for result in results(alone) if result["order_ref"] for opening in result["openings"]]
    assert counts["openings"]["read"] == len(openings)
    assert counts["records"]["unreadable"] == counts["unreadable"] == 1
    assert counts["records"]["skipped"] == sum(counts["skipped_rows"].values()) > 0
    assert counts["files"][str(orders / "a.csv")]["read"] == 300
    assert counts["passed_over"] == [str(orders / "notes.txt")]


def test_reasons_are_counted_exactly(alone):
    """By reason and by severity, as the findings table has them."""
    counts = summary(alone)
    found = table(alone / "findings.csv")
    by_reason = {reason: sum(row["reason"] == reason for row in found) for reason in counts["reasons"]}
    assert by_reason == counts["reasons"]
    assert sum(counts["severities"].values()) == len(found)


def test_tables_say_what_the_results_say(alone):
    """Each row follows from the published result, written by the csv module."""

    def as_cells(rows, columns):
        text = io.StringIO()
        writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow([harmless("" if row.get(name) is None else row[name]) for name in columns])
        return text.getvalue().encode()

    cuts, panes, found = [], [], []
    files = [row["file"] for row in table(alone / "orders.csv")]
    for result, file in zip(results(alone), files, strict=True):
        for opening in result["openings"]:
            whose = {name: opening[name] for name in ("opening_ref", "quantity")}
            whose["order_ref"] = result["order_ref"]
            if opening["decision"] == "accepted":
                cuts += [{**piece, **whose} for piece in (*opening["pieces"], *opening["beads"])]
                panes += [{**pane, **whose} for pane in opening["glass"]]
            for each in opening["findings"]:
                cell, measured, limit = (each[name] or {} for name in ("cell", "measured", "limit"))
                found.append(
                    each
                    | {"file": file, "line": cell.get("line"), "column": cell.get("column")}
                    | {"order_ref": result["order_ref"], "opening_ref": opening["opening_ref"]}
                    | {"measured": measured.get("value"), "limit": limit.get("value")}
                    | {"unit": measured.get("unit") or limit.get("unit")}
                    | {"candidates": "; ".join(map(str, each["candidates"]))}
                )
    assert (alone / "cutting.csv").read_bytes() == as_cells(cuts, CUTTING)
    assert (alone / "glass.csv").read_bytes() == as_cells(panes, GLASS)
    assert (alone / "findings.csv").read_bytes() == as_cells(found, FINDINGS)


def test_every_order_is_listed_with_what_it_was_read_as(orders, alone, tmp_path):
    """An order has the same digest from a sheet of other column order; another record has another."""
    (tmp_path / "b.csv").write_bytes(
        b"order_ref,system,layout,opening_ref,height_left,width_top\nB,demo70,fixed,W1,1,2\n"
    )
    (tmp_path / "c.csv").write_bytes(
        b"system,order_ref,opening_ref,width_top,height_left,layout\ndemo70,B,W1,2,1,fixed\n"
    )
    (tmp_path / "d.csv").write_bytes(
        b"system,order_ref,opening_ref,width_top,height_left,layout\ndemo70,B,W1,2,3,fixed\n"
    )
    run(*(tmp_path / f"{name}.csv" for name in "bcd"), out=tmp_path / "out")
    records = [row["record"] for row in table(tmp_path / "out" / "orders.csv")]
    assert records[0] == records[1] != records[2]
    listed = table(alone / "orders.csv")
    assert [row["order_ref"] for row in listed] == [result["order_ref"] or "" for result in results(alone)]
    assert listed[-1]["decision"] == "unreadable" or "unreadable" in {row["decision"] for row in listed}


def test_an_order_of_half_characters_has_a_digest_too(tmp_path):
    """JSON may hold half of a surrogate pair and numbers of any length; nothing raises for it."""
    order = '{"order_ref": "A", "note": "\\ud800", "openings": [{"opening_ref": 1e999, "quantity": %s}]}' % (
        "9" * 80
    )
    (tmp_path / "a.json").write_text(order, encoding="utf-8")
    run(tmp_path / "a.json", out=tmp_path / "out")
    assert len(table(tmp_path / "out" / "orders.csv")) == 1


def test_a_run_may_not_eat_its_own_results(tmp_path):
    """A folder that is input and output at once would check its own results the next night."""
    (tmp_path / "results.ndjson").write_bytes(b'{"openings": [{}]}\n')
    done = CliRunner().invoke(main, ["check", str(tmp_path), "--out", str(tmp_path)])
    assert done.exit_code == 2
    assert "Give --out a folder of its own" in done.stderr


@pytest.mark.parametrize("option", ["--resume", "--since=somewhere"])
def test_resume_and_since_need_a_folder(orders, option):
    """What they go on with, or compare, lies in one."""
    done = CliRunner().invoke(main, ["check", str(orders / "a.csv"), option])
    assert done.exit_code == 2
    assert "need --out" in done.stderr


def test_a_long_text_report_is_capped_with_exact_totals(orders):
    """The first few of each reason are written, and how many more there are."""
    text = (
        CliRunner()
        .invoke(main, ["check", str(orders / "a.csv"), "--format", "text", "--most-shown", "2"])
        .stdout
    )
    whole = (
        CliRunner()
        .invoke(main, ["check", str(orders / "a.csv"), "--format", "text", "--most-shown", "0"])
        .stdout
    )
    for reason in ("handling-needs-two", "value-unreadable"):
        total = whole.count(f": {reason},")
        assert text.count(f": {reason},") == 2
        assert f"  {reason}: {total - 2} more, {total} in all\n" in text
    clean = whole.count(": ACCEPTED") - sum(
        ": note:" in part for part in whole.split("\n\n") if ": ACCEPTED" in part
    )
    assert clean >= 0
    assert "in all" not in whole
    assert text.splitlines()[-2:] == whole.splitlines()[-2:]


class Terminal(io.StringIO):
    """A stream that somebody watches."""

    def isatty(self) -> bool:
        """It is watched."""
        return True


def test_progress_tells_rate_share_and_time_left():
    """Halfway through after ten seconds, ten are left."""
    now = iter([0.0, 10.0, 10.0])
    stream = Terminal()
    progress = Progress(stream, total_bytes=1000, clock=lambda: next(now))
    progress.done(400, 500)
    assert stream.getvalue().strip() == "400 openings, 40/s, 50%, about 10 s left"


def test_progress_after_a_resume_counts_what_is_done_now():
    """The share is of the whole input, the time left by the pace of this run."""
    now = iter([0.0, 10.0, 10.0])
    stream = Terminal()
    progress = Progress(stream, total_bytes=1000, clock=lambda: next(now))
    progress.resumed(500)
    progress.done(100, 600)
    assert stream.getvalue().strip() == "100 openings, 10/s, 60%, about 40 s left"


def test_progress_is_quiet_where_nobody_watches(orders):
    """A log gets no line that is written over."""
    done = CliRunner().invoke(main, ["check", str(orders / "a.csv"), "--format", "ndjson"])
    assert done.stderr == ""


class DyingExecutor(HereExecutor):
    """Loses its workers on some calls."""

    def __init__(self, deaths: list[bool]) -> None:
        self.deaths = deaths

    def submit(self, fn, /, *args, **kwargs):
        """Does the work, or dies over it."""
        if self.deaths and self.deaths.pop(0):
            raise executors.BrokenProcessPool
        return super().submit(fn, *args, **kwargs)


def dying(deaths: list[bool]) -> Workers:
    return Workers(lambda: nullcontext((DyingExecutor(deaths), 2)))


CHUNKS = [Chunk(number, [], 0, 0) for number in range(9)]


def test_work_of_dead_workers_is_done_again():
    """Nothing is lost, nothing comes twice, and the order is kept."""
    with dying([False, True, False, False, True, False, True]) as force:
        done = [chunk.number for chunk, _ in checked_in_order(CHUNKS, SETTINGS, Wanted(), force)]
    assert done == list(range(9))


def test_workers_that_die_again_and_again_stop_the_run():
    """A chunk that kills every worker would go round for ever."""
    with dying([True] * 100) as force, pytest.raises(WorkersLostError, match="--resume"):
        list(checked_in_order(CHUNKS, SETTINGS, Wanted(), force))


def test_workers_of_another_program_are_turned_away(orders, monkeypatch):
    """Half the results by one version and half by another would be no results at all."""

    def other(settings, chunk, wanted):
        return Checked(chunk.number, {"results.ndjson": b""}, Tally(), program="sha256:other")

    monkeypatch.setattr(executors, "check_chunk", other)
    done = CliRunner().invoke(main, ["check", str(orders / "a.csv")])
    assert done.exit_code == 2
    assert "another version of the program" in done.stderr


def test_openings_that_do_not_come_back_are_noticed(orders, monkeypatch):
    """The cutter's own count of rows is held against what the worker counts."""
    path = orders.parent / "large.csv"
    path.write_bytes(sheet(1000))

    def losing(settings, chunk, wanted):
        return Checked(chunk.number, {"results.ndjson": b""}, Tally(), program=program_digest())

    monkeypatch.setattr(executors, "check_chunk", losing)
    with pytest.raises(CountsError, match="only 0 came back"):
        run(path)


def test_counts_that_do_not_add_up_stop_the_run():
    """A lost record is worse than no run."""
    with pytest.raises(CountsError, match=r"a\.csv"):
        _refuse_lost(Tally(files={"a.csv": FileCounts(read=2, accepted=1)}))


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="needs kill -9")
def test_worker_processes_end_with_a_killed_parent(tmp_path):
    """A run that is killed leaves no process behind that holds memory for ever."""
    path = tmp_path / "large.csv"
    path.write_bytes(sheet(4000))
    environ = dict(os.environ, SAWREADY_TEST_MARK=str(tmp_path))
    command = [sys.executable, "-m", "sawready", "check", str(path), "--format", "ndjson", "--jobs", "2"]
    run_ = subprocess.Popen(command, stdout=subprocess.PIPE, env=environ)  # noqa: S603 - our own
    assert run_.stdout is not None
    run_.stdout.readline()
    assert len(marked(tmp_path)) >= 3
    run_.send_signal(signal.SIGKILL)
    run_.stdout.close()
    run_.wait()
    end = time.monotonic() + 10
    while marked(tmp_path) and time.monotonic() < end:
        time.sleep(0.05)
    assert marked(tmp_path) == []


def marked(folder: Path) -> list[int]:
    """Processes that were started with a mark in their environment."""
    found = []
    for path in Path("/proc").glob("[0-9]*/environ"):
        try:
            if f"SAWREADY_TEST_MARK={folder}".encode() in path.read_bytes().split(b"\0"):
                found.append(int(path.parent.name))
        except OSError:
            continue
    return found


def test_workers_by_options(monkeypatch):
    """One job is done here; a scheduler takes precedence."""
    monkeypatch.setattr(executors, "CONNECT_SECONDS", 1)
    with workers() as force:
        assert force.submit(SETTINGS, CHUNKS[0], Wanted()).done()
        assert force.width == 1
    done = CliRunner().invoke(main, ["check", str(SAMPLES), "--scheduler", "tcp://127.0.0.1:9"])
    assert done.exit_code == 2
    assert "no scheduler answers there" in done.stderr
