"""The command line: each command is loaded when it is asked for, as a worker needs none of the others."""

import os
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import click

from sawready.errors import ServiceError
from sawready.version import VERSION

EXIT_SETTINGS: Final = 2

COMMANDS: Final = {
    "check": "check",
    "bars": "bars",
    "sheet": "sheet",
    "labels": "sheet",
    "drawing": "sheet",
    "keys": "keys",
    "store": "backup",
}
"""Commands by name, with the module of this package that has them."""


class _Group(click.Group):
    """Loads commands, and turns our own exceptions into a sentence and exit status 2."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands."""
        return sorted({*super().list_commands(ctx), *COMMANDS})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command by its name."""
        if cmd_name in COMMANDS:
            found: click.Command = getattr(import_module(f"sawready.cli.{COMMANDS[cmd_name]}"), cmd_name)
            return found
        return super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        """Runs a command."""
        try:
            return super().invoke(ctx)
        except ServiceError as error:
            click.echo(f"sawready: {error}", err=True)
            ctx.exit(EXIT_SETTINGS)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(VERSION, prog_name="sawready", message="%(prog)s %(version)s")
def main() -> None:
    """Checks surveyed orders for replacement windows before anything is cut."""


_SYSTEM = click.option(
    "--system",
    "systems",
    multiple=True,
    metavar="FILE.yaml",
    help="Add a profile system; may be given again.",
)
_RULEBOOK_FILE = click.option(
    "--rulebook-file",
    "rulebooks",
    multiple=True,
    metavar="FILE.yaml",
    help="Add a rulebook; may be given again.",
)


@main.command()
@click.argument("reason", required=False)
def reasons(reason: str | None) -> None:
    """List the reasons, or show the page of one."""
    from sawready.report.pages import reason_list, reason_page  # noqa: PLC0415 - only where it is asked for

    if reason is None:
        click.echo(reason_list())
        return
    click.echo(reason_page(reason))


@main.command()
@click.option("--host", metavar="ADDRESS", help="Address to listen on; else SAWREADY_HOST, else 127.0.0.1.")
@click.option(
    "--port", type=click.IntRange(0, 65535), help="Port to listen on; else SAWREADY_PORT, else 8080."
)
@_SYSTEM
@_RULEBOOK_FILE
def serve(host: str | None, port: int | None, systems: tuple[str, ...], rulebooks: tuple[str, ...]) -> None:
    """Answer over HTTP until stopped."""
    from sawready.settings import Settings  # noqa: PLC0415 - only where it is asked for
    from sawready.web.serve import serve as run_service  # noqa: PLC0415 - likewise

    settings = Settings.from_environ(os.environ)
    changes: dict[str, Any] = {}
    if host is not None:
        changes["host"] = host
    if port is not None:
        changes["port"] = port
    if systems:
        changes["system_files"] = (*settings.system_files, *map(Path, systems))
    if rulebooks:
        changes["rulebook_files"] = (*settings.rulebook_files, *map(Path, rulebooks))
    run_service(settings.with_(**changes))
