"""Brings a store to the form that this version of the program needs, and says whether it has it."""

from importlib import resources
from typing import Final

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

HEAD: Final = "0001"
"""Newest step of ``migrations``; a test holds it against the files."""


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(resources.files("sawready.store") / "migrations"))
    return config


def newest_step() -> str | None:
    """Newest step among the files."""
    return ScriptDirectory.from_config(_config()).get_current_head()


def step_of(connection: sa.Connection) -> str | None:
    """Step that a store has; None for an empty one."""
    return MigrationContext.configure(connection).get_current_revision()


def migrate(connection: sa.Connection) -> str:
    """Takes a store to the newest step, inside the transaction of the connection. Returns: that step."""
    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    return HEAD
