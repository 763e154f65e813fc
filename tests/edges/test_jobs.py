"""Jobs: worked off once and never lost, whoever dies; seen by the firm that asked; few at a time; removed."""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.desk.foreman import Foreman
from sawready.store import jobs
from sawready.store.clock import written
from sawready.store.migrate import HEAD, migrate
from sawready.store.store import Store
from sawready.store.tables import JOBS

pytest.importorskip("highspy", reason="planning bars needs the extra 'bars'")

ASYNC = {"Prefer": "respond-async"}
LEASE_S = 30.0


def new(firm: str = "A", fingerprint: str = "1") -> jobs.NewJob:
    return jobs.NewJob("bars", firm, "key", {firm}, fingerprint, b"{}", 1, 10)


def add(store: Store, *args: str, per_firm: int = 4) -> jobs.Job:
    return store.write(lambda tx: jobs.add(tx, new(*args), per_firm=per_firm))


def take(store: Store, *, lease_s: float = LEASE_S, at_once: int = 9) -> jobs.Job | None:
    return store.write(lambda tx: jobs.take_up(tx, lease_s=lease_s, at_once=at_once))


def state(store: Store, job: jobs.Job) -> str:
    found = store.read(lambda tx: jobs.find(tx, job.job_id))
    return "gone" if found is None else found.state


@contextlib.contextmanager
def working(service: Service, **more: Any) -> Iterator[list[dict[str, Any]]]:
    """A foreman that works while the block runs; what it tells."""
    told: list[dict[str, Any]] = []
    foreman = Foreman(service.store, service.settings, tell=lambda **facts: told.append(facts), **more)
    foreman.start()
    try:
        yield told
    finally:
        foreman.stop()


def until_ended(service: Service, location: str, name: str = "installer", most_s: float = 60) -> Any:
    """The answer of a job once it has ended."""
    for _ in range(int(most_s * 10)):
        answer = service.call(name, "GET", location)
        assert answer.status_code in (200, 303), answer.data
        if answer.status_code == 303 or answer.get_json()["state"] == "failed":
            return answer
        assert answer.headers["Retry-After"] == "2"
        time.sleep(0.1)
    raise AssertionError(f"{answer.get_json()} after {most_s} s")


def test_a_job_gives_what_is_answered_at_once(service: Service) -> None:
    """On each database: 202, then 303 to the result, which is the plan that a small request gets."""
    service.keep(order("A", quantity=2))
    service.keep(order("B"))
    body = {"orders": [{"order_ref": "A"}, {"order_ref": "B"}], "kerf_mm": 3, "bar_mm": "6500"}
    at_once = service.call("installer", "POST", "/v1/bars", body).get_json()
    asked = service.call("installer", "POST", "/v1/bars", body, **ASYNC)
    assert asked.status_code == 202
    result = f"{asked.headers['Location']}/result"
    assert service.call("installer", "GET", result).get_json()["type"] == "/problems/no-result"
    with working(service) as told:
        ended = until_ended(service, asked.headers["Location"])
    assert ended.headers["Location"] == result == ended.get_json()["result"]
    assert service.call("installer", "GET", result).get_json() == at_once
    assert ended.get_json()["bars"] == sum(each["bars"] for each in at_once["summary"])
    as_sheet = service.call("installer", "GET", result, Accept="text/csv")
    small = service.call("installer", "POST", "/v1/bars", body, Accept="text/csv")
    assert as_sheet.data == small.data
    assert [(each["event"], each["outcome"], each["attempt"]) for each in told] == [("job", "done", 1)]


def test_the_same_work_is_done_once(service: Service) -> None:
    """Asked for again it is the same job, then its result; a re-survey makes it another."""
    service.keep(order("A"))
    first, again = (service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC) for _ in range(2))
    assert first.headers["Location"] == again.headers["Location"]
    with working(service):
        until_ended(service, first.headers["Location"])
    done = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    assert (done.status_code, done.headers["Location"]) == (303, f"{first.headers['Location']}/result")
    service.revise("A", order("A", quantity=2))
    other = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    assert other.status_code == 202
    assert other.headers["Location"] != first.headers["Location"]


def test_what_was_overtaken_while_the_job_waited_is_not_planned(service: Service) -> None:
    """A factory's job on a list that a re-survey supersedes fails and says so, as the call would."""
    digest = service.keep(order("A")).get_json()["digest"]
    service.release("A", digest)
    asked = service.call("factory", "POST", "/v1/bars", {"orders": [{"order_ref": "A"}]}, **ASYNC)
    service.revise("A", {**order("A", quantity=2), "already_cut": []})
    with working(service):
        failed = until_ended(service, asked.headers["Location"], "factory").get_json()
    assert (failed["state"], failed["problem"]["type"]) == ("failed", "/problems/list-not-released")
    assert [(each["pointer"], each["reason"]) for each in failed["problem"]["errors"]] == [
        ("#/orders/0", "superseded")
    ]
    no_result = service.call("factory", "GET", f"{asked.headers['Location']}/result")
    assert (no_result.status_code, "Retry-After" in no_result.headers) == (409, False)


def test_another_firms_job_is_byte_for_byte_one_that_is_not_there(service: Service) -> None:
    """S4; also for a key of the same factory that does not serve the order's firm."""
    from sawready.store import keys  # noqa: PLC0415 - only here

    service.keep(order("A"))
    digest = service.call("installer", "GET", "/v1/orders/A").get_json()["digest"]
    service.release("A", digest)
    service.keys["narrow"] = service.store.write(
        lambda tx: keys.add(tx, role="factory", firm="Quay Frames", serves=("Nobody Else",))
    )[1]
    body = {"orders": [{"order_ref": "A"}]}
    job = service.call("factory", "POST", "/v1/bars", body, **ASYNC).headers["Location"]
    assert service.call("factory", "GET", job).status_code == 200
    for name in ("installer", "other_installer", "strange_factory", "second_factory", "narrow"):
        for path in (job, f"{job}/result"):
            answers = []
            for address in (path, path.replace(job, f"/v1/jobs/{'0' * 32}")):
                answer = service.call(name, "GET", address)
                number = answer.headers["X-Request-Id"].encode()
                headers = {
                    key: value for key, value in answer.headers if key not in ("X-Request-Id", "RateLimit")
                }
                answers.append((answer.status_code, headers, answer.data.replace(number, b"")))
            assert answers[0] == answers[1]
            assert answers[0][0] == 404


def test_a_firm_has_only_so_many_jobs(service: Service) -> None:
    """429 with Retry-After; another firm is not held up by it."""
    for number in range(service.settings.jobs_per_firm + 1):
        service.keep(order(f"A{number}"))
        answer = service.call("installer", "GET", f"/v1/orders/A{number}/bars", **ASYNC)
    assert (answer.status_code, answer.get_json()["type"]) == (429, "/problems/too-many-jobs")
    assert answer.headers["Retry-After"] == "10"
    assert service.call("installer", "GET", "/v1/orders/A0/bars", **ASYNC).status_code == 202
    service.keep(order("B"), "other_installer")
    assert service.call("other_installer", "GET", "/v1/orders/B/bars", **ASYNC).status_code == 202


def test_a_firm_keeps_only_so_many_jobs(service: Service, monkeypatch: pytest.MonkeyPatch) -> None:
    """The oldest makes room when its time is over, and Retry-After says when that is."""
    monkeypatch.setattr(jobs, "MOST_KEPT", 1)
    for ref in ("A", "B"):
        service.keep(order(ref))
    first = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    with working(service):
        until_ended(service, first.headers["Location"])
    answer = service.call("installer", "GET", "/v1/orders/B/bars", **ASYNC)
    assert answer.status_code == 429
    assert 23 * 3600 < int(answer.headers["Retry-After"]) <= 24 * 3600


def test_failed_jobs_make_room(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """They have no result to keep; a result is never removed before its time."""
    monkeypatch.setattr(jobs, "MOST_KEPT", 2)
    ended = []
    for number in range(2):
        add(store, "A", str(number))
        taken = take(store)
        assert taken is not None
        ended.append(taken)
    store.write(lambda tx: jobs.fail(tx, ended[0], b"{}", hours=1))
    store.write(lambda tx: jobs.finish(tx, ended[1], b"{}", bars=1, hours=1))
    add(store, "A", "next")
    assert [state(store, job) for job in ended] == ["gone", "done"]
    with pytest.raises(jobs.TooManyError):
        add(store, "A", "one more")


def test_jobs_are_counted_right_under_a_rush(store: Store) -> None:
    """Many ask at the same time, and no more than may get in; each is then taken up by one worker alone."""
    refused: list[bool] = []

    def ask(number: int) -> None:
        try:
            add(store, "A", str(number), per_firm=5)
        except jobs.TooManyError:
            refused.append(True)

    threads = [threading.Thread(target=ask, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(refused) == 7
    taken: list[str] = []

    def work() -> None:
        job = take(store, at_once=3)
        if job is not None:
            taken.append(job.job_id)

    threads = [threading.Thread(target=work) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(taken) == len(set(taken)) == 3


def test_firms_take_turns(store: Store) -> None:
    """A firm that asks for much does not hold up one that asks for little."""
    for number in range(3):
        add(store, "A", str(number))
    add(store, "B", "x")
    order_of_work = [job.firm for _ in range(4) if (job := take(store)) is not None]
    assert order_of_work == ["A", "B", "A", "A"]


def test_a_job_whose_worker_died_is_taken_up_and_ended_once(store: Store) -> None:
    """The lease runs out, another takes it up, and what the first one still says counts for nothing."""
    job = add(store)
    first = take(store, lease_s=0.2)
    assert first is not None
    assert take(store) is None
    time.sleep(0.3)
    second = take(store)
    assert second is not None
    assert (second.job_id, second.attempt) == (job.job_id, 2)
    assert not store.write(lambda tx: jobs.renew(tx, first, lease_s=9))
    assert not store.write(lambda tx: jobs.finish(tx, first, b"first", bars=1, hours=1))
    assert not store.write(lambda tx: jobs.hand_back(tx, first))
    assert store.write(lambda tx: jobs.finish(tx, second, b"second", bars=1, hours=1))
    assert not store.write(lambda tx: jobs.finish(tx, second, b"twice", bars=1, hours=1))
    assert store.read(lambda tx: jobs.result(tx, job.job_id)) == b"second"


def test_a_job_that_is_handed_back_is_taken_up_at_once(store: Store) -> None:
    job = add(store)
    first = take(store)
    assert first is not None
    assert store.write(lambda tx: jobs.hand_back(tx, first))
    second = take(store)
    assert second is not None
    assert (second.job_id, second.attempt, second.crashes) == (job.job_id, 2, 0)


def test_a_job_that_is_begun_again_and_again_is_given_up(store: Store) -> None:
    """So that one on which everything dies does not come back for ever."""
    job = add(store)
    store.write(lambda tx: tx.execute(JOBS.update().values(attempt=jobs.MOST_ATTEMPTS)))
    assert take(store) is None
    store.write(lambda tx: jobs.tidy(tx, b"{}", hours=1))
    assert state(store, job) == "failed"


def test_results_are_removed_when_their_time_is_over(store: Store) -> None:
    """At once for whoever asks, and from the store when a foreman next tidies up."""
    job = add(store)
    taken = take(store)
    assert taken is not None
    store.write(lambda tx: jobs.finish(tx, taken, b"{}", bars=1, hours=1))
    over = written(datetime.now(UTC) - timedelta(seconds=1))
    store.write(lambda tx: tx.execute(JOBS.update().values(kept_until=over)))
    assert state(store, job) == "gone"
    assert store.write(lambda tx: jobs.tidy(tx, b"{}", hours=1)) == 1
    assert store.read(lambda tx: tx.scalar(sa.select(sa.func.count()).select_from(JOBS))) == 0


def test_a_process_that_dies_is_tried_once_more_and_then_told(service: Service) -> None:
    """The service lives on, the job says that it failed, and the same may be asked for again."""
    service.keep(order("A"))
    asked = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    killed = (sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGKILL)")
    with working(service, command=killed) as told:
        failed = until_ended(service, asked.headers["Location"]).get_json()
    assert failed["problem"]["type"] == "/problems/internal-error"
    assert [(each["outcome"], each["attempt"]) for each in told] == [("died", 1), ("died", 2)]
    again = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    assert again.status_code == 202
    assert again.headers["Location"] != asked.headers["Location"]
    with working(service):
        assert until_ended(service, again.headers["Location"]).status_code == 303


def test_a_failure_of_the_program_is_logged_without_what_it_quotes(service: Service) -> None:
    """Where it came from, but no message."""
    service.keep(order("A"))
    location = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC).headers["Location"]
    service.store.write(lambda tx: tx.execute(JOBS.update().values(request=b'{"secret": 1}')))
    with working(service) as told:
        until_ended(service, location)
    assert told[0]["outcome"]["kind"] == "KeyError"
    assert "secret" not in json.dumps(told)


def test_half_an_output_is_no_result(service: Service) -> None:
    """A process that is killed while it writes has done nothing."""
    service.keep(order("A"))
    asked = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    half = (sys.executable, "-c", "print('{\"bars\":1,\"size\":9}'); print('{}', end='')")
    with working(service, command=half):
        assert until_ended(service, asked.headers["Location"]).get_json()["state"] == "failed"


def test_a_job_that_takes_too_long_is_given_up(service: Service) -> None:
    """Its process is ended."""
    service.keep(order("A"))
    asked = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    sleeper = (sys.executable, "-c", "import time; time.sleep(60)")
    began = time.monotonic()
    with working(service, command=sleeper, most_s=0.5):
        failed = until_ended(service, asked.headers["Location"]).get_json()
    assert time.monotonic() - began < 20
    assert "longer than a job may" in failed["problem"]["detail"]


def test_a_foreman_that_stops_hands_its_job_back(service: Service) -> None:
    """A graceful stop loses nothing and waits for nothing; the next foreman does the job."""
    service.keep(order("A"))
    asked = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    sleeper = (sys.executable, "-c", "import time; time.sleep(60)")
    with working(service, command=sleeper):
        while service.call("installer", "GET", asked.headers["Location"]).get_json()["state"] == "waiting":
            time.sleep(0.05)
        began = time.monotonic()
    assert time.monotonic() - began < 5
    assert service.call("installer", "GET", asked.headers["Location"]).get_json()["state"] == "waiting"
    with working(service):
        done = until_ended(service, asked.headers["Location"]).get_json()
    assert (done["state"], done["attempt"]) == ("done", 2)


def test_a_lease_is_renewed_while_the_work_goes_on(service: Service) -> None:
    """Work that outlasts several leases is not taken up by anybody else."""
    service.keep(order("A"))
    asked = service.call("installer", "GET", "/v1/orders/A/bars", **ASYNC)
    slow = "import sys, time; time.sleep(3); print('{\"bars\":1,\"size\":2}'); print('{}', end='')"
    command = (sys.executable, "-c", slow)
    with (
        working(service, command=command, lease_s=1, beat_s=0.2),
        working(service, command=command, lease_s=1),
    ):
        done = until_ended(service, asked.headers["Location"]).get_json()
    assert (done["state"], done["attempt"]) == ("done", 1)


def test_a_store_of_the_form_before_is_brought_to_form(store_url: str) -> None:
    """Step 0002 adds the table, and orders that were kept stay."""
    store = Store.reach(store_url)
    store.migrate()
    store.write(lambda tx: tx.execute(sa.text("DROP TABLE jobs")))
    store.write(lambda tx: tx.execute(sa.text("UPDATE alembic_version SET version_num = '0001'")))
    assert store.write(migrate) == HEAD
    assert add(store).state == "waiting"
    store.close()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _asked(url: str, body: Any = None, **headers: str) -> tuple[int, dict[str, str], Any]:
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(url, data, {"Content-Type": "application/json", **headers})  # noqa: S310 - our own service
    with _OPENER.open(request, timeout=30) as response:
        return response.status, dict(response.headers), json.loads(response.read())


class _Stay(urllib.request.HTTPRedirectHandler):
    def http_error_303(self, req: Any, fp: Any, code: int, msg: str, headers: Any) -> Any:
        """Gives the answer itself."""
        del req, code, msg, headers
        return fp


_OPENER = urllib.request.build_opener(_Stay)


class Running:
    """A real service in a process of its own."""

    def __init__(self, url: str, program: str) -> None:
        self.port = _free_port()
        self.base = f"http://127.0.0.1:{self.port}"
        command = {
            "waitress": [sys.executable, "-m", "sawready", "serve"],
            "gunicorn": [sys.executable, "-m", "sawready.operations.run"],
        }[program]
        self.process = subprocess.Popen(  # noqa: S603 - our own program
            command,
            env={
                **os.environ,
                "PYTHONPATH": os.pathsep.join(sys.path),
                "SAWREADY_STORE": url,
                "SAWREADY_PORT": str(self.port),
                "SAWREADY_LOG_REQUESTS": "no",
                "SAWREADY_BARS_AT_ONCE": "50",
                "SAWREADY_JOBS_AT_ONCE": "2",
                "WEB_CONCURRENCY": "2",
            },
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        for _ in range(600):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 0.2):
                break
            time.sleep(0.05)

    def kill(self) -> None:
        """Kills it with everything that it has started."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def _large(ref: str) -> dict[str, Any]:
    """An order whose plan takes some seconds: sizes that differ, in two colours."""
    made = order(ref)
    model = made["openings"][0]
    made["openings"] = [
        {
            **model,
            "opening_ref": f"W{number}",
            "widths": [1000 + 7 * number] * 3,
            "frame": {"width": 990 + 7 * number, "height": 1220, "height_includes_sill": False},
            "quantity": 2,
        }
        for number in range(60)
    ]
    for opening in made["openings"]:
        opening.pop("diagonals", None)
    return made


@pytest.mark.slow
@pytest.mark.parametrize("program", ["waitress", "gunicorn"])
def test_jobs_outlive_a_service_that_is_killed(store_url: str, program: str) -> None:
    """Killed with SIGKILL in the middle, several times over: every job is done, once, and none is lost."""
    if program == "gunicorn":
        pytest.importorskip("gunicorn", reason="several workers need the extra 'server'")
    made = Store.reach(store_url)
    made.migrate()
    running = Running(store_url, program)
    try:
        locations = []
        for ref in ("L1", "L2", "L3"):
            assert _asked(f"{running.base}/v1/orders", _large(ref))[0] == 201
            status, headers, _ = _asked(f"{running.base}/v1/orders/{ref}/bars")
            assert status == 202
            locations.append(headers["Location"])
        for _ in range(2):
            for _ in range(300):
                if any(_asked(running.base + each)[2]["state"] == "running" for each in locations):
                    break
                time.sleep(0.05)
            running.kill()
            running = Running(store_url, program)
        ended: dict[str, Any] = {}
        for _ in range(1200):
            for each in locations:
                status, _, view = _asked(running.base + each)
                if status == 303:
                    ended[each] = view
            if len(ended) == len(locations):
                break
            time.sleep(0.1)
        assert {view["state"] for view in ended.values()} == {"done"}
        assert len(ended) == 3
        assert any(view["attempt"] > 1 for view in ended.values())
        for each, view in ended.items():
            plan = _asked(f"{running.base}{each}/result")[2]
            pieces = sum(len(bar["pieces"]) for profile in plan["profiles"] for bar in profile["bars"])
            assert (pieces, plan["findings"]) == (view["pieces"], [])
        running.process.send_signal(signal.SIGTERM)
        assert running.process.wait(timeout=40) == 0
    finally:
        running.kill()
    made.close()


@pytest.mark.slow
def test_a_process_of_a_job_ends_with_its_service() -> None:
    """A killed service leaves nobody behind that works for nobody."""
    command = [sys.executable, "-P", "-m", "sawready.desk.job_work"]
    process = subprocess.Popen(  # noqa: S603 - our own program
        command, stdin=subprocess.PIPE, env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    )
    assert process.stdin is not None
    process.stdin.write(
        b'{"store":"sqlite:////dev/null/none","system_files":[],"rulebook_files":[],"request":"{}"}\n'
    )
    process.stdin.close()
    assert process.wait(timeout=30) in (0, 3)


def test_a_job_is_done_with_the_systems_of_the_service(catalogue: Catalogue) -> None:
    """Its process loads what the service has, so that digests agree."""
    from sawready.desk.job_work import catalogue_of  # noqa: PLC0415 - only here

    assert catalogue_of([], []).systems == catalogue.systems
