"""What the outcome of a run depends on besides its input: options, files given with them, the program."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import orjson

from sawready.catalogue.load import Catalogue, read_rulebook, read_system
from sawready.catalogue.yaml_door import MOST_BYTES
from sawready.errors import SettingsError
from sawready.normalise import CallerDefaults
from sawready.readers.column_map import ColumnMap, load_column_map


@dataclass(frozen=True, slots=True)
class GivenFile:
    """A file of settings as it was given; whoever needs its content reads it from here.

    Attributes:
        name: as messages name it.
        data: its bytes.
    """

    name: str
    data: bytes = field(repr=False)

    @classmethod
    def read(cls, path: str | Path) -> "GivenFile":
        """Reads a file.

        Raises: SettingsError where it cannot be read.
        """
        try:
            with Path(path).open("rb") as stream:
                return cls(str(path), stream.read(MOST_BYTES + 1))
        except OSError as error:
            raise SettingsError(f"{path}: {error.strerror or 'it cannot be opened'}") from error


@dataclass(frozen=True, slots=True)
class RunSettings:
    """Everything that decides results besides the orders. Travels to every worker.

    Attributes:
        caller: options that fill in what the orders leave open.
        systems: profile systems added to the catalogue.
        rulebooks: rulebooks added to it.
        column_map: how sheets are read; None for our own columns, or the map beside the sheet.
    """

    caller: CallerDefaults
    systems: tuple[GivenFile, ...] = ()
    rulebooks: tuple[GivenFile, ...] = ()
    column_map: GivenFile | None = None

    @classmethod
    def of(
        cls,
        caller: CallerDefaults,
        *,
        systems: Sequence[str] = (),
        rulebooks: Sequence[str] = (),
        column_map: str | None = None,
    ) -> "RunSettings":
        """Settings with the files of some paths, all of them tried.

        Raises: SettingsError or CatalogueError for a file that cannot be used; it names every mistake.
        """
        settings = cls(
            caller,
            tuple(map(GivenFile.read, systems)),
            tuple(map(GivenFile.read, rulebooks)),
            None if column_map is None else GivenFile.read(column_map),
        )
        settings.catalogue()
        if settings.column_map is not None:
            map_of(settings.column_map)
        return settings

    def catalogue(self) -> Catalogue:
        """The catalogue with the files added; the same object for the same files."""
        return _catalogue(self.systems, self.rulebooks)

    @property
    def supplied(self) -> tuple[str, ...]:
        """Our columns that a sheet may lack, as an option stands in for them."""
        return tuple(name for name in ("system", "rulebook") if getattr(self.caller, name) is not None)

    def as_dict(self) -> dict[str, object]:
        """The settings as a manifest shows them: files by the digest of their bytes."""
        caller = self.caller
        return {
            "units": caller.units,
            "number_style": caller.number_style,
            "viewed_from": caller.viewed_from,
            "profile_system": caller.system,
            "rulebook": caller.rulebook,
            "systems": [digest_of(file.data) for file in self.systems],
            "rulebooks": [digest_of(file.data) for file in self.rulebooks],
            "columns": None if self.column_map is None else digest_of(self.column_map.data),
        }

    @property
    def digest(self) -> str:
        """The digest of `as_dict`."""
        return digest_of(orjson.dumps(self.as_dict()))


def digest_of(data: bytes) -> str:
    """SHA-256 with its name in front.

    Example:
        >>> digest_of(b"")[:19]
        'sha256:e3b0c44298fc'
    """
    return f"sha256:{hashlib.sha256(data).hexdigest()}"


@lru_cache(maxsize=8)
def _catalogue(systems: tuple[GivenFile, ...], rulebooks: tuple[GivenFile, ...]) -> Catalogue:
    catalogue = Catalogue.load_builtin()
    for file in systems:
        catalogue = catalogue.with_system(read_system(file.data, name=file.name), file=file.name)
    for file in rulebooks:
        catalogue = catalogue.with_rulebook(read_rulebook(file.data, name=file.name), file=file.name)
    return catalogue


@lru_cache(maxsize=1024)
def map_of(file: GivenFile) -> ColumnMap:
    """The column map of a file. Raises SettingsError naming every mistake in it."""
    return load_column_map(file.data, name=file.name)


@lru_cache(maxsize=1)
def program_digest() -> str:
    """Digest of the program's own files, so that a run is never continued or joined by another program."""
    root = Path(__file__).parents[1]
    kinds = {".py", ".yaml", ".html"}
    whole = hashlib.sha256()
    for path in sorted(path for path in root.rglob("*") if path.suffix in kinds):
        whole.update(path.relative_to(root).as_posix().encode() + b"\0")
        whole.update(hashlib.sha256(path.read_bytes()).digest())
    return f"sha256:{whole.hexdigest()}"
