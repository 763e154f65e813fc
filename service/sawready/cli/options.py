"""What every command that reads orders takes: where they are, and what stands in for what they leave open."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

import click

from sawready.batch.settings import RunSettings
from sawready.catalogue.load import Catalogue
from sawready.cli.batch import Run, read_map
from sawready.pipeline import CallerDefaults

Command = Callable[..., Any]


def catalogue_with(systems: tuple[str, ...], rulebooks: tuple[str, ...]) -> Catalogue:
    """The catalogue that comes with the program, and the user's own files.

    Raises: CatalogueError naming a file that cannot be used.
    """
    catalogue = Catalogue.load_builtin()
    for path in systems:
        catalogue = catalogue.with_system_file(path)
    for path in rulebooks:
        catalogue = catalogue.with_rulebook_file(path)
    return catalogue


@dataclass(frozen=True, slots=True)
class Reading:
    """The options of a command that reads orders, as given."""

    columns: str | None
    units: str | None
    number_style: str | None
    viewed_from: str | None
    rulebook: str | None
    profile_system: str | None
    systems: tuple[str, ...]
    rulebooks: tuple[str, ...]

    @property
    def caller(self) -> CallerDefaults:
        """What stands in for what orders leave open."""
        return CallerDefaults(
            units=self.units,
            number_style=self.number_style,
            viewed_from=self.viewed_from,
            system=self.profile_system,
            rulebook=self.rulebook,
        )

    def settings(self) -> RunSettings:
        """The same for a run over many orders. Raises ServiceError for a file that cannot be used."""
        return RunSettings.of(
            self.caller, systems=self.systems, rulebooks=self.rulebooks, column_map=self.columns
        )

    def run(self) -> Run:
        """What every order is checked with. Raises ServiceError for a file that cannot be used."""
        caller = self.caller
        column_map = None if self.columns is None else read_map(self.columns)
        return Run(catalogue_with(self.systems, self.rulebooks), caller, column_map)


_OPTIONS = (
    click.option(
        "--columns", metavar="MAP.yaml", help="Column map for sheets; else x.columns.yaml beside it."
    ),
    click.option(
        "--units",
        type=click.Choice(["mm", "cm", "m", "in", "ft"]),
        help="Unit of bare numbers where an order states none.",
    ),
    click.option(
        "--number-style",
        type=click.Choice(["en", "eu", "ch", "unknown"]),
        help="How numbers are written where an order does not say.",
    ),
    click.option(
        "--viewed-from",
        type=click.Choice(["outside", "inside"]),
        help="View of left and right where an order states none.",
    ),
    click.option("--rulebook", metavar="NAME", help="Rulebook where an order names none."),
    click.option("--profile-system", metavar="NAME", help="Profile system where an order names none."),
    click.option(
        "--system",
        "systems",
        multiple=True,
        metavar="FILE.yaml",
        help="Add a profile system; repeatable.",
    ),
    click.option(
        "--rulebook-file",
        "rulebooks",
        multiple=True,
        metavar="FILE.yaml",
        help="Add a rulebook; may be given again.",
    ),
)


def reads_orders(command: Command) -> Command:
    """Gives a command the options of reading, as one argument ``reading``."""

    @wraps(command)
    def with_reading(**values: Any) -> Any:
        own = {name: values.pop(name) for name in Reading.__dataclass_fields__}
        return command(reading=Reading(**own), **values)

    for option in reversed(_OPTIONS):
        with_reading = option(with_reading)
    return with_reading
