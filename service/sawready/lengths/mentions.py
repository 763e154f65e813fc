"""Lengths that a refused text mentions, to be offered in the question; never an answer."""

import re
from typing import Final

from sawready.lengths.grammar import Sure, read_statement
from sawready.lengths.settle import Ask, candidates

_MENTION: Final = re.compile(
    r"(?:(?<![\w.,/·])|(?<=/)(?=[0-9]{3})|(?<=[0-9]x)|(?<![\w.,/·])[a-z](?=[0-9]{3}))"
    r"((?:[0-9]{1,2} {0,2}(?:'|ft\.?) {0,2}-? {0,2}(?=[0-9]))?"
    r"[0-9]{1,6}(?:[.,][0-9]{1,6})?(?:[ -]?[0-9]{1,2}/[0-9]{1,2}(?![0-9/]))?"
    r"(?: {0,2}(?:(?:mm|cm|m|ins|inches|inch|in|ft)(?![a-z])|\"|'))?)(?![0-9]|[.,·_][0-9])"
)
_MOST: Final = 6


def mentioned(text: str, ask: Ask) -> tuple[float, ...]:
    """Lengths within the limits that a cleaned text mentions, in mm, in order, without repeats.

    Example:
        >>> mentioned("1200 to 1210", Ask("'1200 to 1210'", "mm", "en", 150_000_000, None))
        (1200.0, 1210.0)
    """
    found = []
    for match in _MENTION.finditer(text):
        statement = read_statement(match[1].replace("'-", "' "), style=ask.style, unit=ask.unit)
        if isinstance(statement, Sure):
            found.append(statement.nm)
        elif statement is not None:
            found.extend(statement.candidates)
        if len(found) >= _MOST:
            break
    return candidates(found, ask=ask)
