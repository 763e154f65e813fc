"""``sawready store``: migrate, back up, restore."""

from pathlib import Path

import click

from sawready.cli.keys import STORE_OPTION, store_address
from sawready.store import backup as backups
from sawready.store.store import Store


@click.group()
def store() -> None:
    """The store of orders: migrate, backup, restore."""


@store.command()
@STORE_OPTION
def migrate(url: str | None) -> None:
    """Bring the store to the form that this version needs; a new one is made."""
    opened = Store.reach(store_address(url))
    try:
        step = opened.migrate()
    finally:
        opened.close()
    click.echo(f"the store has the form {step}")


@store.command()
@click.argument("file", type=click.Path(path_type=Path))
@STORE_OPTION
def backup(file: Path, url: str | None) -> None:
    """Write a backup to FILE while the service goes on.

    FILE is a SQLite store of its own, checked before it appears. It holds no secret of any key.
    """
    opened = Store.open(store_address(url), may_make=False)
    try:
        backups.back_up(opened, file)
    finally:
        opened.close()
    click.echo(f"backup written to {file}")


@store.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--replace", is_flag=True, help="Put it in the place of a SQLite store; stop the service first."
)
@STORE_OPTION
def restore(file: Path, replace: bool, url: str | None) -> None:
    """Make a store out of the backup FILE: a new SQLite file, or an empty PostgreSQL database."""
    backups.restore(file, store_address(url), is_replaced=replace)
    click.echo("restored")
