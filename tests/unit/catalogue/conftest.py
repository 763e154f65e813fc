"""Files to take apart: the ones that come with the program, as text."""

from collections.abc import Callable
from importlib import resources

import pytest

from sawready.catalogue.rulebook_schema import CoreSchema
from sawready.errors import CatalogueError


def builtin_text(folder: str, name: str) -> str:
    """Text of a file that comes with the program."""
    file = resources.files("sawready.catalogue").joinpath("data", folder, name)
    return file.read_text(encoding="utf-8")


def core_text(text: str) -> str:
    """The part of a rulebook that every one has, so that a test can add sections of its own."""
    kept: list[str] = []
    keeps = True
    for line in text.split("\n"):
        if line[:1].isalpha():
            keeps = line.split(":")[0] in CoreSchema().fields
        if keeps:
            kept.append(line)
    return "\n".join(kept) + "\n"


@pytest.fixture(scope="session")
def demo70_text() -> str:
    return builtin_text("systems", "demo70.yaml")


@pytest.fixture(scope="session")
def demo82_text() -> str:
    return builtin_text("systems", "demo82-inward.yaml")


@pytest.fixture(scope="session")
def england_text() -> str:
    return core_text(builtin_text("rulebooks", "england.yaml"))


@pytest.fixture(scope="session")
def england_whole_text() -> str:
    return builtin_text("rulebooks", "england.yaml")


@pytest.fixture
def changed() -> Callable[..., str]:
    """A text with some parts changed, each of which must be there."""

    def change(text: str, *changes: tuple[str, str]) -> str:
        for before, after in changes:
            assert before in text, before
            text = text.replace(before, after, 1)
        return text

    return change


@pytest.fixture
def mistakes() -> Callable[..., list[str]]:
    """The lines of the error that a call raises; none where it raises none."""

    def told(call: Callable[..., object], *args: object, **kwargs: object) -> list[str]:
        try:
            call(*args, **kwargs)
        except CatalogueError as error:
            return str(error).split("\n")
        return []

    return told
