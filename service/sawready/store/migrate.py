"""Brings a store to the form that this version of the program needs, and says whether it has it."""

from importlib import resources
from typing import Any, Final

import sqlalchemy as sa
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.runtime.environment import EnvironmentContext
from alembic.script import ScriptDirectory

from sawready.store.tables import METADATA

HEAD: Final = "0002"
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
    script = ScriptDirectory.from_config(config)

    def steps(step: Any, context: Any) -> Any:
        del context
        return script._upgrade_revs("head", step)  # noqa: SLF001 - as Alembic's own command does

    with EnvironmentContext(config, script, fn=steps, destination_rev="head") as environment:
        environment.configure(connection=connection, target_metadata=METADATA)
        environment.run_migrations()
    return HEAD
