"""The catalogue of profile systems and rulebooks; the only module of it that touches files.

A file goes through the strict YAML door, the schema of its kind, the plausible ranges and the checks of
its figures against each other, and every mistake found on the way is told in one pass with its line.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from marshmallow import Schema

from sawready.catalogue import build
from sawready.catalogue.checks import rulebook_faults, system_faults
from sawready.catalogue.faults import CatalogueFileError, Fault
from sawready.catalogue.plausible import PlausibleRanges, plausible_ranges
from sawready.catalogue.profiles import ProfileSystem
from sawready.catalogue.rulebook import Rulebook
from sawready.catalogue.rulebook_schema import RulebookSchema
from sawready.catalogue.schemas import SystemSchema
from sawready.catalogue.shape_faults import shaped
from sawready.catalogue.yaml_door import MOST_BYTES, Document, load_yaml
from sawready.errors import CatalogueError

Entry = TypeVar("Entry", ProfileSystem, Rulebook)


class Catalogue:
    """Profile systems and rulebooks by name; adding a file gives a new catalogue.

    Args:
        systems: profile systems by name.
        rulebooks: rulebooks by name, each as in force on the day it was last checked.
    """

    def __init__(self, systems: Mapping[str, ProfileSystem], rulebooks: Mapping[str, Rulebook]) -> None:
        self._systems = dict(sorted(systems.items()))
        self._rulebooks = dict(sorted(rulebooks.items()))

    @classmethod
    def load_builtin(cls) -> "Catalogue":
        """The systems and rulebooks that come with the program."""
        systems = [read_system(data, name=name) for name, data in _builtin("systems")]
        rulebooks = [read_rulebook(data, name=name) for name, data in _builtin("rulebooks")]
        return cls({system.name: system for system in systems}, {book.name: book for book in rulebooks})

    @property
    def systems(self) -> tuple[str, ...]:
        """Names of the profile systems, sorted."""
        return tuple(self._systems)

    @property
    def rulebooks(self) -> tuple[str, ...]:
        """Names of the rulebooks, sorted."""
        return tuple(self._rulebooks)

    def system(self, name: str) -> ProfileSystem | None:
        """The profile system of that name, or None."""
        return self._systems.get(name)

    def rulebook(self, name: str) -> Rulebook | None:
        """The rulebook of that name, or None; its `on` gives the view of another day."""
        return self._rulebooks.get(name)

    def with_system(self, system: ProfileSystem, *, file: str = "this system") -> "Catalogue":
        """The catalogue with one more system.

        Raises: CatalogueError where the name is taken by one with other figures.
        """
        return Catalogue(_added(self._systems, system, file=file), self._rulebooks)

    def with_rulebook(self, rulebook: Rulebook, *, file: str = "this rulebook") -> "Catalogue":
        """The catalogue with one more rulebook, likewise."""
        return Catalogue(self._systems, _added(self._rulebooks, rulebook, file=file))

    def with_system_file(self, path: str | Path) -> "Catalogue":
        """The catalogue with the system of a file.

        Raises: CatalogueError naming the file, and each mistake in it with its line.
        """
        return self.with_system(read_system(_content(path), name=str(path)), file=str(path))

    def with_rulebook_file(self, path: str | Path) -> "Catalogue":
        """The catalogue with the rulebook of a file, likewise."""
        return self.with_rulebook(read_rulebook(_content(path), name=str(path)), file=str(path))


def read_system(data: bytes | str, *, name: str) -> ProfileSystem:
    """A profile system from the content of its file.

    Args:
        data: the YAML text; bytes are UTF-8.
        name: the file as its user named it, for messages.
    Raises: CatalogueError naming every mistake with its line.
    """
    document = load_yaml(data, name=name)
    read = _checked(document, SystemSchema(), _ranges()["system"], system_faults)
    return build.profile_system(read, digest=build.digest_of(document.data))


def read_rulebook(data: bytes | str, *, name: str) -> Rulebook:
    """A rulebook from the content of its file, as in force on the day it was last checked; likewise."""
    document = load_yaml(data, name=name)
    read = _checked(document, RulebookSchema(), _ranges()["rulebook"], rulebook_faults)
    return build.rulebook_editions(read, digest=build.digest_of(document.data)).on(None)


def _checked(
    document: Document,
    schema: Schema,
    ranges: PlausibleRanges,
    agree: Callable[[Document, Mapping[str, Any]], list[Fault]],
) -> dict[str, Any]:
    """The complete data of a document. Raises CatalogueFileError with every fault."""
    data, faults = shaped(document, schema)
    faults = [*faults, *ranges.faults(document, data), *agree(document, data)]
    if faults:
        raise CatalogueFileError(faults)
    return data


def _added(entries: Mapping[str, Entry], entry: Entry, *, file: str) -> dict[str, Entry]:
    """The entries with one more. Raises CatalogueError where its name is taken by other figures."""
    known = entries.get(entry.name)
    if known is not None and known.digest != entry.digest:
        raise CatalogueError(
            f"{file}: the name {entry.name} is taken by '{known.title}', which has other content. "
            "Give this one another name."
        )
    return {**entries, entry.name: known or entry}


def _content(path: str | Path) -> bytes:
    """The bytes of a file, no more than the YAML door takes and one."""
    try:
        with Path(path).open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as trouble:
        why = getattr(trouble, "strerror", None) or "no usable path"
        raise CatalogueError(f"{path}: cannot be read ({why}). Check the path and who may read it.") from None


def _builtin(folder: str) -> list[tuple[str, bytes]]:
    """Name and content of the files of one folder that come with the program."""
    files = resources.files("sawready.catalogue").joinpath("data", folder).iterdir()
    return sorted((file.name, file.read_bytes()) for file in files if file.name.endswith(".yaml"))


@lru_cache(maxsize=1)
def _ranges() -> Mapping[str, PlausibleRanges]:
    """The plausible ranges that come with the program."""
    file = resources.files("sawready.catalogue").joinpath("data", "plausible.yaml")
    return plausible_ranges(load_yaml(file.read_bytes(), name=file.name))
