"""Keys: only hashes are stored, they end when told, wrong ones all take the same path, and a quota holds."""

import io
import json
import sqlite3
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.cli.main import main
from sawready.errors import SettingsError
from sawready.settings import Settings
from sawready.store import keys
from sawready.store.store import Store
from sawready.web import auth
from sawready.web.auth import Doorkeeper
from sawready.web.rate import Rates
from sawready.web.serve import make_server


def add(store: Store, **more: Any) -> tuple[keys.Key, str]:
    return store.write(lambda tx: keys.add(tx, **{"role": "installer", "firm": "A", **more}))


def run(*arguments: str, url: str) -> Any:
    return CliRunner().invoke(main, [*arguments, "--store", url])


def test_no_secret_is_in_the_store_or_the_log(service: Service, store_url: str) -> None:
    """S1, S20."""
    service.keep(order())
    service.call(None, "GET", "/v1/orders", Authorization=f"Bearer {service.keys['installer']}x")
    secrets = [written.split("_")[2] for written in service.keys.values()]
    assert all(len(secret) == 64 for secret in secrets)
    if service.store.file is not None:
        dump = "\n".join(sqlite3.connect(service.store.file).iterdump()).encode()
        dump += service.store.file.read_bytes()
        assert not any(secret.encode() in dump for secret in secrets)
        assert keys.hashed(secrets[0]).encode() in dump
    lines = service.log.getvalue()
    assert not any(secret in lines for secret in secrets)
    assert all(json.loads(line) for line in lines.splitlines())


def test_every_wrong_key_takes_the_same_path(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """S2: an unknown key and a wrong secret cost one look and one comparison each."""
    key, written = add(store)
    doorkeeper = Doorkeeper(store)
    assert doorkeeper.who(written) is not None
    done: list[str] = []
    look, compare = keys.find, keys.is_right

    def counted_look(tx: Any, key_id: str) -> Any:
        done.append("look")
        return look(tx, key_id)

    def counted_compare(secret: str, secret_sha256: str) -> bool:
        done.append("compare")
        return compare(secret, secret_sha256)

    monkeypatch.setattr(keys, "find", counted_look)
    monkeypatch.setattr(keys, "is_right", counted_compare)
    paths = []
    for wrong in (f"saw_{'0' * 12}_{'0' * 64}", f"saw_{key.key_id}_{'0' * 64}"):
        assert doorkeeper.who(wrong) is None
        paths.append([step for step in done if step == "look"])
        done.clear()
    assert paths[0] == paths[1] == ["look"]
    for nonsense in ("", "saw_", f"saw_{key.key_id}", written.upper(), f"{written}\n", f"x{written}"):
        assert doorkeeper.who(nonsense) is None
    assert done == []


def test_a_revoked_key_ends_within_five_seconds_on_every_worker(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """S5: two workers that remember it forget it by the clock."""
    key, written = add(store)
    workers = [Doorkeeper(store), Doorkeeper(store)]
    assert all(worker.who(written) for worker in workers)
    assert store.write(lambda tx: keys.revoke(tx, key.key_id))
    assert not store.write(lambda tx: keys.revoke(tx, key.key_id))
    assert auth.REMEMBERED_S <= 5
    now = time.monotonic
    monkeypatch.setattr(auth.time, "monotonic", lambda: now() + 5)
    assert not any(worker.who(written) for worker in workers)


def test_a_key_ends_on_its_day_and_two_overlap(store: Store) -> None:
    """S5."""
    _, over = add(store, expires_at="2020-01-01T00:00:00.000000Z")
    _, old = add(store)
    _, new = add(store)
    doorkeeper = Doorkeeper(store)
    assert doorkeeper.who(over) is None
    assert doorkeeper.who(old) == doorkeeper.who(old)
    assert doorkeeper.who(new) is not None


def test_workers_together_keep_to_the_quota(store: Store) -> None:
    """S23: four workers, 400 requests, a quota of 100."""
    workers = [Rates(store, 100) for _ in range(4)]
    allowed = [workers[number % 4].spend("k").is_allowed for number in range(400)]
    assert 90 <= sum(allowed) <= 110


def test_a_spent_quota_is_said_with_the_time_to_wait(store: Store, catalogue: Catalogue) -> None:
    service = Service(store, catalogue, Settings(requests_per_minute=3))
    answers = [service.call("installer", "GET", "/v1/systems") for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert answers[0].headers["RateLimit-Policy"] == '"default";q=3;w=60'
    assert answers[3].json["type"] == "/problems/too-many-requests"
    assert int(answers[3].headers["Retry-After"]) >= 1
    assert service.call("factory", "GET", "/v1/systems").status_code == 200  # another key's own


def test_keys_are_made_listed_and_revoked_by_command(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/desk.sqlite3"
    made = run(
        "keys", "add", "--role", "factory", "--firm", "Quay Frames", "--serves", "Harbour Joinery", url=url
    )
    assert made.exit_code == 0, made.output
    written = made.stdout.strip()
    key_id, secret = keys.split(written) or ("", "")
    listed = run("keys", "list", url=url)
    assert "Quay Frames serving Harbour Joinery" in listed.stdout
    assert secret not in listed.output
    assert run("keys", "revoke", key_id, url=url).exit_code == 0
    assert "revoked" in run("keys", "list", url=url).stdout
    assert run("keys", "revoke", key_id, url=url).exit_code == 2
    for role, *more in (
        ("factory", "--firm", "F"),
        ("installer", "--firm", "F", "--serves", "x"),
        ("installer", "--firm", "\x07"),
        ("installer", "--firm", ""),
    ):
        wrong = ["--role", role, *more]
        assert run("keys", "add", *wrong, url=url).exit_code == 2


def test_the_store_is_migrated_saved_and_restored_by_command(tmp_path: Path) -> None:
    url, saved = f"sqlite:///{tmp_path}/desk.sqlite3", str(tmp_path / "saved.sqlite3")
    assert run("store", "backup", saved, url=url).exit_code == 2  # nothing is there yet
    assert run("store", "migrate", url=url).exit_code == 0
    assert run("store", "backup", saved, url=url).exit_code == 0
    assert run("store", "restore", saved, url=url).exit_code == 2
    assert run("store", "restore", saved, "--replace", url=url).exit_code == 0
    assert run("keys", "list", url="none").exit_code == 2


def test_others_are_listened_to_only_once_there_are_keys(tmp_path: Path, catalogue: Catalogue) -> None:
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    settings = Settings(host="0.0.0.0", port=0)  # noqa: S104 - what is tested
    with pytest.raises(SettingsError, match="no keys"):
        make_server(settings, catalogue, store, log=io.StringIO())
    add(store)
    server = make_server(settings, catalogue, store, log=io.StringIO())
    server.close()
    store.close()
