"""What kind of room a survey's word stands for, read once from data/rooms.yaml."""

import re
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError

HABITABLE: Final = "habitable"
"""The kind of room that people live and sleep in."""


@cache
def _words() -> tuple[tuple[re.Pattern[str], str], ...]:
    """A pattern for each word, with its kind of room."""
    data = files("sawready.catalogue").joinpath("data", "rooms.yaml").read_bytes()
    kinds = load_yaml(data, name="rooms.yaml", error=CatalogueError).data["kinds"]
    return tuple(
        (re.compile(rf"(?<![a-z]){re.escape(word)}(?![a-z])"), kind)
        for kind, words in kinds.items()
        for word in words
    )


@lru_cache(maxsize=4096)
def kinds_of_room(room: str) -> frozenset[str]:
    """Kinds of room that a survey's words name.

    A room of two uses is of two kinds. A word inside a longer one that fits does not count besides.

    Args:
        room: as the survey has it, such as ``Bedroom 2 (front)``.
    Returns: kinds by the words of data/rooms.yaml; empty where no word fits.
    Example:
        >>> sorted(kinds_of_room("Bedroom 2 (front)")), sorted(kinds_of_room("kitchen/living"))
        (['habitable'], ['habitable', 'kitchen'])
    """
    text = " ".join(room.casefold().split())
    found = [(*match.span(), kind) for pattern, kind in _words() for match in pattern.finditer(text)]
    return frozenset(
        kind
        for start, end, kind in found
        if not any(
            (other, until) != (start, end) and other <= start and end <= until for other, until, _ in found
        )
    )
