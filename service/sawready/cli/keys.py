"""``sawready keys``: who may call the service."""

import os
from datetime import UTC, datetime, timedelta
from typing import cast

import click

from sawready.errors import SettingsError
from sawready.settings import NO_STORE, Settings
from sawready.store import keys as kept
from sawready.store.clock import now, written
from sawready.store.store import Store


def store_address(url: str | None) -> str:
    """The store that a command is about: by its option, else by the environment.

    Raises: SettingsError where there is none.
    """
    address = url or Settings.from_environ(os.environ).store
    if address == NO_STORE:
        raise SettingsError("no store is named. Give --store or set SAWREADY_STORE.")
    return address


STORE_OPTION = click.option("--store", "url", metavar="URL", help="Store; else SAWREADY_STORE.")


@click.group()
def keys() -> None:
    """Keys of the service: add, list, revoke."""


@keys.command()
@click.option("--role", required=True, type=click.Choice(kept.ROLES), help="What the key may do.")
@click.option("--firm", required=True, help="Firm that it belongs to.")
@click.option(
    "--serves",
    multiple=True,
    metavar="FIRM",
    help="Of a factory's key: a firm whose orders it sees; may be given again; * for all.",
)
@click.option("--note", default="", help="What it is for.")
@click.option("--days", type=click.IntRange(1, 3660), help="Days after which it ends; never where left out.")
@STORE_OPTION
def add(role: str, firm: str, serves: tuple[str, ...], note: str, days: int | None, url: str | None) -> None:
    """Make a key and show it, once.

    Only its hash is stored. To change a key, add a new one, hand it over, then revoke the old one.
    """
    for name, text in (("--firm", firm), ("--note", note), *(("--serves", each) for each in serves)):
        if text != text.strip() or len(text) > 200 or not (text.isprintable() or not text):
            raise SettingsError(f"{name} is no plain text of up to 200 characters.")
    if not firm:
        raise SettingsError("--firm is empty.")
    if role == "factory" and not serves:
        raise SettingsError("a factory's key needs --serves: the firms whose orders it sees, or * for all.")
    if role != "factory" and serves:
        raise SettingsError("--serves is for the role factory; every other role sees its own firm.")
    ends = None if days is None else written(datetime.now(UTC) + timedelta(days=days))
    store = Store.open(store_address(url))
    try:
        key, shown = store.write(
            lambda tx: kept.add(
                tx, role=cast("kept.Role", role), firm=firm, serves=serves, note=note, expires_at=ends
            )
        )
    finally:
        store.close()
    click.echo(shown)
    click.echo(f"Key {key.key_id}, {role} of {firm}. It is shown this once; keep it safe.", err=True)


@keys.command("list")
@STORE_OPTION
def list_keys(url: str | None) -> None:
    """List the keys, without their secrets."""
    store = Store.open(store_address(url), may_make=False)
    try:
        found = store.read(kept.every)
    finally:
        store.close()
    moment = now()
    for key in found:
        state = "in use" if key.holds(moment) else "revoked" if key.revoked_at else "ended"
        serves = f" serving {', '.join(key.serves)}" if key.serves else ""
        ends = f", ends {key.expires_at[:10]}" if key.expires_at else ""
        note = f": {key.note}" if key.note else ""
        click.echo(
            f"{key.key_id}  {key.role:<10}  {state:<7}  {key.firm}{serves}, "
            f"made {key.made_at[:10]}{ends}{note}"
        )
    if not found:
        click.echo("There are no keys. The service answers on this machine only.", err=True)


@keys.command()
@click.argument("key_id")
@STORE_OPTION
def revoke(key_id: str, url: str | None) -> None:
    """End a key; every worker refuses it within five seconds."""
    parts = kept.split(key_id)  # a whole key is taken too, as that is what people have at hand
    store = Store.open(store_address(url), may_make=False)
    try:
        done = store.write(lambda tx: kept.revoke(tx, key_id if parts is None else parts[0]))
    finally:
        store.close()
    if not done:
        raise SettingsError("there is no key of this name in use. See: sawready keys list")
    click.echo("revoked")
