"""The store on SQLite and PostgreSQL: its form, its safe settings, its backups, its own refusals."""

import sqlite3
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from sawready.errors import SettingsError, StoreError
from sawready.store import backup, buckets, keys, orders, trail
from sawready.store.engine import NETWORK, file_system, journal_mode, read_url
from sawready.store.migrate import HEAD, newest_step
from sawready.store.store import Store
from sawready.store.tables import GROWING, METADATA, ORDERS

EVERYBODY = orders.Sight(None)


def new(decision: str = "accepted", digest: str = "a") -> orders.NewRevision:
    found = {"reason": "gap-too-large", "severity": "query", "measured": {"value": 19.0, "unit": "mm"}}
    return orders.NewRevision(
        "upload", decision, f"sha256:{digest * 64}", "content", b"{}", b"{}", {}, "key", (("W1", found),)
    )


def test_the_steps_give_what_the_tables_say(store: Store) -> None:
    context = {"compare_type": True}
    assert (
        store.read(lambda tx: compare_metadata(MigrationContext.configure(tx, opts=context), METADATA)) == []
    )
    assert newest_step() == HEAD == store.step()


def test_a_store_of_another_form_is_refused_at_the_start(store: Store, store_url: str) -> None:
    store.write(lambda tx: tx.execute(sa.text("UPDATE alembic_version SET version_num = '0000'")))
    with pytest.raises(SettingsError, match="has the form 0000"):
        Store.open(store_url)
    assert not store.is_ready()


def test_an_empty_database_is_refused_until_it_is_migrated(cluster) -> None:
    url = cluster.database()
    with pytest.raises(SettingsError, match="is empty"):
        Store.open(url)
    reached = Store.reach(url)
    assert reached.migrate() == HEAD
    reached.close()
    Store.open(url).close()


@pytest.mark.parametrize("table", GROWING)
@pytest.mark.parametrize("statement", ["DELETE FROM {}", "UPDATE {} SET {} = {}"])
def test_history_cannot_be_changed_or_removed(store: Store, table: str, statement: str) -> None:
    def fill(tx: sa.Connection) -> None:
        order = orders.insert(tx, firm="A", order_ref="1", new=new())
        orders.insert_answer(
            tx, order, {"opening_ref": "W1", "reason": "r", "by": "x", "on": "2026-11-25"}, key_id="k"
        )
        orders.insert_release(tx, order, factory="F", document=b"{}", key_id="k")
        orders.insert_arrival(
            tx, order, revision_number=1, opening_ref="W1", verdict="yes", taped=b"", document=b"", key_id="k"
        )
        trail.note(tx, "e", key_id="k", firm="A")

    store.write(fill)
    column = next(iter(METADATA.tables[table].columns)).name
    with pytest.raises(StoreError):
        store.write(lambda tx: tx.execute(sa.text(statement.format(table, column, column))))
    assert (
        store.read(lambda tx: tx.scalar(sa.select(sa.func.count()).select_from(METADATA.tables[table]))) == 1
    )


def test_nothing_of_a_unit_that_fails_is_kept(store: Store) -> None:
    def work(tx: sa.Connection) -> None:
        orders.insert(tx, firm="A", order_ref="1", new=new())
        raise KeyError

    with pytest.raises(KeyError):
        store.write(work)
    assert store.read(lambda tx: orders.page(tx, EVERYBODY, limit=9)) == []


def test_a_change_to_an_order_that_has_changed_meanwhile_does_nothing(store: Store) -> None:
    first = store.write(lambda tx: orders.insert(tx, firm="A", order_ref="1", new=new()))
    assert store.write(lambda tx: orders.revise(tx, first, new(digest="b"))) is not None
    assert store.write(lambda tx: orders.revise(tx, first, new(digest="c"))) is None
    assert (
        store.write(lambda tx: orders.insert_release(tx, first, factory="F", document=b"", key_id="k"))
        is None
    )
    (order,) = store.read(lambda tx: orders.find(tx, EVERYBODY, "1"))
    assert (order.revision, order.version, order.released_revision) == (2, 2, None)


def test_no_update_is_lost_between_many_writers(store: Store) -> None:
    """R3: 8 threads make 25 revisions each, and every one of them counts."""
    store.write(lambda tx: orders.insert(tx, firm="A", order_ref="1", new=new()))

    def revise(tx: sa.Connection) -> None:
        (order,) = orders.find(tx, EVERYBODY, "1")
        if orders.revise(tx, order, new()) is None:
            from sawready.store.store import RaceError  # noqa: PLC0415 - what units of work raise

            raise RaceError

    failures: list[BaseException] = []

    def many() -> None:
        for _ in range(25):
            while True:
                try:
                    store.write(revise)
                except StoreError:  # eight tries were not enough; a client would come again
                    continue
                except BaseException as trouble:  # noqa: BLE001 - told below
                    failures.append(trouble)
                break

    threads = [threading.Thread(target=many) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failures
    (order,) = store.read(lambda tx: orders.find(tx, EVERYBODY, "1"))
    assert (order.revision, order.version) == (201, 201)


def test_orders_of_other_firms_are_not_found(store: Store) -> None:
    store.write(lambda tx: orders.insert(tx, firm="A", order_ref="1", new=new()))
    sight = orders.Sight(frozenset({"B"}))
    assert store.read(lambda tx: orders.find(tx, sight, "1")) == []
    assert store.read(lambda tx: orders.page(tx, sight, limit=9)) == []
    assert store.read(lambda tx: orders.find(tx, orders.Sight(frozenset()), "1")) == []


def test_text_from_outside_never_becomes_sql(store: Store) -> None:
    """S19: what would end a statement is kept as the text that it is."""
    for nasty in ("'; DROP TABLE orders; --", '" OR ""="', "%", "a\\'b", "x' UNION SELECT * FROM keys --"):
        store.write(lambda tx, nasty=nasty: orders.insert(tx, firm=nasty, order_ref=nasty, new=new()))
        (found,) = store.read(lambda tx, nasty=nasty: orders.find(tx, EVERYBODY, nasty))
        assert (found.firm, found.order_ref) == (nasty, nasty)
    assert store.read(lambda tx: tx.scalar(sa.select(sa.func.count()).select_from(ORDERS))) == 5


def test_a_bucket_never_gives_more_than_it_holds(store: Store) -> None:
    """S23: four workers together spend the quota and no more; a clock that steps back changes nothing."""

    def take(now_s: float, wanted: float = 7) -> tuple[float, float]:
        return store.write(
            lambda tx: buckets.take(tx, key_id="k", wanted=wanted, most=100, per_second=1, now_s=now_s)
        )

    taken: list[float] = []

    def worker() -> None:
        taken.extend(take(1000.0)[0] for _ in range(10))

    threads = [threading.Thread(target=worker) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(taken) == 100
    assert take(900.0) == (0, 0)
    assert take(905.0)[0] == 5
    assert take(10_000.0, 500)[0] == 100


def test_a_backup_is_taken_while_orders_come_in_and_restored(
    store: Store, tmp_path: Path, store_url: str
) -> None:
    """R7: the backup is whole, holds a moment of the store, and makes a store again on either database."""
    key, shown = store.write(lambda tx: keys.add(tx, role="installer", firm="A"))
    for number in range(50):
        store.write(lambda tx, number=number: orders.insert(tx, firm="A", order_ref=str(number), new=new()))
    stop = threading.Event()

    def write_on() -> None:
        number = 50
        while not stop.is_set():
            store.write(
                lambda tx, number=number: orders.insert(tx, firm="A", order_ref=str(number), new=new())
            )
            number += 1

    thread = threading.Thread(target=write_on)
    thread.start()
    try:
        backup.back_up(store, tmp_path / "saved.sqlite3")
    finally:
        stop.set()
        thread.join()
    assert shown.split("_")[2].encode() not in (tmp_path / "saved.sqlite3").read_bytes()  # S1
    with pytest.raises(SettingsError, match="is there already"):
        backup.back_up(store, tmp_path / "saved.sqlite3")

    url = f"sqlite:///{tmp_path}/again.sqlite3"
    backup.restore(tmp_path / "saved.sqlite3", url)
    with pytest.raises(SettingsError, match="is there already"):
        backup.restore(tmp_path / "saved.sqlite3", url)
    backup.restore(tmp_path / "saved.sqlite3", url, is_replaced=True)
    again = Store.open(url, may_make=False)
    found = again.read(lambda tx: orders.page(tx, EVERYBODY, limit=10_000))
    assert {str(number) for number in range(50)} <= {order.order_ref for order in found}
    assert again.read(lambda tx: keys.find(tx, key.key_id))[0] == key
    for order in found:
        assert again.read(lambda tx, order=order: orders.newest(tx, order)).result == b"{}"
    again.close()


def test_a_backup_makes_a_postgresql_store_that_goes_on(cluster, tmp_path: Path) -> None:
    one = Store.open(f"sqlite:///{tmp_path}/one.sqlite3")
    one.write(lambda tx: orders.insert(tx, firm="A", order_ref="1", new=new()))
    backup.back_up(one, tmp_path / "saved.sqlite3")
    one.close()
    url = cluster.database()
    backup.restore(tmp_path / "saved.sqlite3", url)
    other = Store.open(url)
    other.write(lambda tx: orders.insert(tx, firm="A", order_ref="2", new=new()))  # its numbers count on
    assert len(other.read(lambda tx: orders.page(tx, EVERYBODY, limit=9))) == 2
    other.close()
    with pytest.raises(SettingsError, match="not empty"):
        backup.restore(tmp_path / "saved.sqlite3", url)


def test_a_damaged_backup_is_refused(tmp_path: Path) -> None:
    one = Store.open(f"sqlite:///{tmp_path}/one.sqlite3")
    backup.back_up(one, tmp_path / "saved.sqlite3")
    one.close()
    data = bytearray((tmp_path / "saved.sqlite3").read_bytes())
    data[4096 * 2 : 4096 * 4] = b"\xff" * 8192
    (tmp_path / "saved.sqlite3").write_bytes(data)
    with pytest.raises(SettingsError, match=r"damaged|no backup"):
        backup.restore(tmp_path / "saved.sqlite3", f"sqlite:///{tmp_path}/two.sqlite3")
    assert not (tmp_path / "two.sqlite3").exists()


def test_sqlite_runs_with_its_safe_settings(tmp_path: Path) -> None:
    """R2, R4: full synchronisation, foreign keys, the journal that is safe, IMMEDIATE writers."""
    one = Store.open(f"sqlite:///{tmp_path}/one.sqlite3")
    ask = lambda tx, name: tx.scalar(sa.text(f"PRAGMA {name}"))  # noqa: E731 - names of ours
    assert one.read(lambda tx: ask(tx, "synchronous")) == 2
    assert one.read(lambda tx: ask(tx, "foreign_keys")) == 1
    assert one.read(lambda tx: ask(tx, "journal_mode")).upper() == journal_mode()
    assert (tmp_path / "one.sqlite3").stat().st_mode & 0o077 == 0

    def second_writer_waits(tx: sa.Connection) -> None:
        other = sqlite3.connect(tmp_path / "one.sqlite3", timeout=0, isolation_level=None)
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()
        tx.execute(sa.text("SELECT 1"))

    one.write(second_writer_waits)
    one.close()


@pytest.mark.parametrize(
    ("version", "mode"), [((3, 40, 1), "TRUNCATE"), ((3, 51, 2), "TRUNCATE"), ((3, 51, 3), "WAL")]
)
def test_the_write_ahead_log_is_used_only_where_it_is_safe(version, mode) -> None:
    assert journal_mode(version) == mode


@pytest.mark.parametrize("kind", sorted(NETWORK))
def test_network_file_systems_are_refused(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    mounts = f"/dev/root / ext4 rw 0 0\nbox:/orders /srv {kind} rw 0 0\n"
    assert file_system(Path("/srv/orders/x.sqlite3"), mounts=mounts) == kind
    assert file_system(Path("/srvx/x.sqlite3"), mounts=mounts) == "ext4"
    monkeypatch.setattr("sawready.store.engine.file_system", lambda _: kind)
    with pytest.raises(SettingsError, match="network file system"):
        Store.open("sqlite:////srv/orders/x.sqlite3")


@pytest.mark.parametrize(
    "url",
    ["", "orders", "mysql://a:secret@b/c", "sqlite://", "sqlite:///:memory:", "sqlite:///a?mode=memory"],
)
def test_other_addresses_are_refused_without_repeating_them(url: str) -> None:
    with pytest.raises(SettingsError) as refused:
        read_url(url)
    assert "secret" not in str(refused.value)


def test_a_server_that_acknowledges_too_soon_is_refused(cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    url = cluster.database()
    reached = Store.reach(url)
    reached.migrate()
    monkeypatch.setattr(reached, "read", lambda _: "off")
    with pytest.raises(SettingsError, match="fsync off"):
        reached.check_server()
    reached.close()
