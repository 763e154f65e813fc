"""What was acknowledged is there after the worst: a killed service, a full disk, a database that is gone."""

import os
import shutil
import stat
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

import crash_writer
from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.store import orders as kept
from sawready.store.store import Store

NOBODY = 65534


def is_refused_whole(response: Any) -> bool:
    """Whether the answer is the problem of a store that cannot be used."""
    return (
        response.status_code == 503
        and response.json["type"] == "/problems/unavailable"
        and response.headers["Retry-After"] == "5"
    )


def refs(service: Service) -> list[str]:
    found = service.store.read(lambda tx: kept.page(tx, kept.Sight(None), limit=100))
    return [each.order_ref for each in found]


@pytest.mark.slow
def test_a_service_that_is_killed_under_load_loses_nothing(store_url: str, monkeypatch) -> None:
    """R1: a few rounds of the run that ``python tests/crash_writer.py`` makes in full."""
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([*sys.path]))
    tally = crash_writer.run(store_url, rounds=3, seed=20261125, most_s=0.8)
    assert tally.acknowledged > 3
    assert (tally.lost, tally.torn) == ([], [])


def test_a_full_disk_is_said_and_leaves_no_part_of_an_order(catalogue: Catalogue, tmp_path: Path) -> None:
    """R8: SQLite's own code for a full disk, met in the middle of an order."""
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    service = Service(store, catalogue)
    service.keep(order("A"))

    @sa.event.listens_for(store.engine, "checkout")
    def shrink(connection: Any, record: Any, proxy: Any) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")

    big = order("B", note="x" * 2000)
    big["openings"] = [{**big["openings"][0], "opening_ref": f"W{number}"} for number in range(60)]
    assert is_refused_whole(service.keep(big))
    assert refs(service) == ["A"]
    assert '"troubles"' in service.log.getvalue()
    sa.event.remove(store.engine, "checkout", shrink)
    store.engine.dispose()  # the limit is held by each connection
    assert service.keep(big).status_code == 201
    assert sorted(refs(service)) == ["A", "B"]


def test_a_file_that_may_not_grow_is_said(tmp_path: Path) -> None:
    """R8: a real failure of the system to write, by the limit that it puts on the size of files."""
    program = """
import json, resource, signal, sys
sys.path.insert(0, sys.argv[2])
from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.store.store import Store
service = Service(Store.open(sys.argv[1]), Catalogue.load_builtin())
service.keep(order("A"))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
size = service.store.file.stat().st_size
resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
big = order("B")
big["openings"] = [{**big["openings"][0], "opening_ref": f"W{n}"} for n in range(60)]
statuses = [service.keep(big).status_code]
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
statuses.append(service.call("installer", "GET", "/v1/orders/B").status_code)
statuses.append(service.keep(big).status_code)
print(json.dumps(statuses))
"""
    tests = str(Path(__file__).parents[1])
    done = subprocess.run(  # noqa: S603 - our own program
        [sys.executable, "-c", program, f"sqlite:///{tmp_path}/desk.sqlite3", tests],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert done.stdout.strip() == "[503, 404, 201]"


def test_a_folder_that_cannot_be_written_is_said(catalogue: Catalogue) -> None:
    """R8: no journal can be made in it."""
    folder = Path(tempfile.mkdtemp(dir="/tmp"))
    try:
        store = Store.open(f"sqlite:///{folder}/desk.sqlite3")
        service = Service(store, catalogue)
        service.keep(order("A"))
        store.engine.dispose()
        (folder / "desk.sqlite3").chmod(0o444)
        for other in folder.iterdir():
            other.chmod(0o444)
        folder.chmod(stat.S_IRUSR | stat.S_IXUSR | stat.S_IROTH | stat.S_IXOTH)
        is_root = os.geteuid() == 0
        if is_root:
            os.seteuid(NOBODY)  # root may write anywhere
        try:
            response = service.keep(order("B"))
            ready = service.call(None, "GET", "/readyz")
        finally:
            if is_root:
                os.seteuid(0)
        assert is_refused_whole(response), response.data
        assert (ready.status_code, ready.json["checks"]["store"]) == (503, "fail")
        folder.chmod(0o700)
        (folder / "desk.sqlite3").chmod(0o600)
        store.engine.dispose()
        assert refs(service) == ["A"]
        store.close()
    finally:
        folder.chmod(0o700)
        shutil.rmtree(folder)


def test_a_file_that_was_taken_away_is_not_written_on(catalogue: Catalogue, tmp_path: Path) -> None:
    """An open connection would go on into a file that nobody finds any more."""
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    service = Service(store, catalogue)
    service.keep(order("A"))
    (tmp_path / "desk.sqlite3").rename(tmp_path / "away.sqlite3")
    assert is_refused_whole(service.keep(order("B")))
    assert not (tmp_path / "desk.sqlite3").exists()
    (tmp_path / "away.sqlite3").rename(tmp_path / "desk.sqlite3")
    assert service.keep(order("B")).status_code == 201


def test_a_database_that_goes_and_comes_back(catalogue: Catalogue, cluster: Any) -> None:
    """R8: the server is stopped under the service, as by a crash, and started again."""
    url = cluster.database()
    reached = Store.reach(url)
    reached.migrate()
    reached.close()
    service = Service(Store.open(url), catalogue)
    service.keep(order("A"))
    cluster.stop()
    try:
        assert is_refused_whole(service.keep(order("B")))
        assert service.call(None, "GET", "/livez").status_code == 200
        assert service.call(None, "GET", "/readyz").status_code == 503
    finally:
        cluster.start()
    assert refs(service) == ["A"]
    assert service.keep(order("B")).status_code == 201
    service.store.close()


@pytest.mark.parametrize("statement", range(1, 6))
def test_a_store_that_fails_at_any_statement_keeps_nothing_of_the_order(
    service: Service, statement: int
) -> None:
    """R8, S22: the connection is lost in mid-request, before each statement in turn."""
    seen = []

    def lose(connection: Any, cursor: Any, sql: str, *rest: Any) -> None:
        if sql.lstrip().upper().startswith(("INSERT", "UPDATE", "DELETE", "SELECT")):
            seen.append(sql)
            if len(seen) == statement + 1:  # the first looks for the key
                raise sa.exc.OperationalError(sql, {}, ConnectionError("secret place"))

    service.call("installer", "GET", "/v1/systems")  # the key and its quota are known from now on
    sa.event.listen(service.store.engine, "before_cursor_execute", lose)
    try:
        response = service.call("installer", "POST", "/v1/orders", order("B"), Idempotency_Key="k")
    finally:
        sa.event.remove(service.store.engine, "before_cursor_execute", lose)
    assert is_refused_whole(response), response.data
    for told in (b"secret", b"INSERT", b"sqlalchemy", b"Traceback"):
        assert told not in response.data
        assert told.decode() not in service.log.getvalue()
    assert refs(service) == []
    again = service.call("installer", "POST", "/v1/orders", order("B"), Idempotency_Key="k")
    assert again.status_code == 201


def test_a_clock_that_steps_back_keeps_times_in_order(service: Service, monkeypatch) -> None:
    """R8."""
    first = service.keep(order("A"))
    monkeypatch.setattr("sawready.store.orders.now", lambda: "2001-01-01T00:00:00.000000Z")
    assert service.revise("A", order("A", room="hall")).status_code == 200
    view = service.call("installer", "GET", "/v1/orders/A").json
    assert view["changed_at"] >= view["received_at"]
    times = [each["made_at"] for each in view["revisions"]]
    assert times == sorted(times, reverse=True)
    assert first.status_code == 201


def test_the_log_takes_one_line_whatever_is_sent(service: Service) -> None:
    """S20."""
    name = 'A\n{"level":"error"}\r\n\x1b[31m'
    body = order("B", note=name.replace("\x1b", ""))
    service.call("installer", "POST", "/v1/orders", body, X_Request_Id='x"}{"fake":1', Idempotency_Key="k")
    service.call("installer", "GET", "/v1/orders/%0A%7B%22fake%22:1%7D")
    lines = service.log.getvalue().splitlines()
    assert len(lines) == 2
    assert "fake" not in service.log.getvalue()
