"""RFC 6901 pointers: the place of a value inside an order."""

import re
from collections.abc import Iterable
from typing import Any, Final
from urllib.parse import quote

_BAD_ESCAPE: Final = re.compile(r"~(?![01])")
_INDEX: Final = re.compile(r"(?:0|[1-9][0-9]{0,17})", re.ASCII)
_FRAGMENT_SAFE: Final = "!$&'()*+,;=:@/?~-._"


def escape(token: str | int) -> str:
    """One reference token with ``~`` and ``/`` escaped.

    Example:
        >>> escape("a/b~c")
        'a~1b~0c'

    Source: RFC 6901, section 3.
    """
    return str(token).replace("~", "~0").replace("/", "~1")


def pointer(*tokens: str | int) -> str:
    """Pointer to a value, from member names and list positions.

    Example:
        >>> pointer("openings", 0, "frame", "width")
        '/openings/0/frame/width'
        >>> pointer()
        ''

    Source: RFC 6901, section 3.
    """
    return pointer_of(tokens)


def pointer_of(tokens: Iterable[str | int]) -> str:
    """As `pointer`, from any series of tokens."""
    return "".join(f"/{escape(token)}" for token in tokens)


def tokens_of(text: str) -> tuple[str, ...]:
    """Reference tokens of a pointer, unescaped.

    Raises: ValueError if the text is no pointer (no leading ``/``, or a ``~`` without 0 or 1).

    Example:
        >>> tokens_of("/a~1b/0")
        ('a/b', '0')

    Source: RFC 6901, sections 3 and 4.
    """
    if not text:
        return ()
    if not text.startswith("/"):
        raise ValueError(f"A pointer begins with '/', this one does not: {text!r}")
    if _BAD_ESCAPE.search(text):
        raise ValueError(f"A '~' of a pointer is followed by 0 or 1, here it is not: {text!r}")
    return tuple(part.replace("~1", "/").replace("~0", "~") for part in text[1:].split("/"))


def resolve(document: Any, text: str) -> Any:
    """The value that a pointer names in a document of dicts and lists.

    Raises: ValueError if the text is no pointer; LookupError if it names nothing.

    Example:
        >>> resolve({"openings": [{"room": "hall"}]}, "/openings/0/room")
        'hall'

    Source: RFC 6901, section 4.
    """
    value = document
    for token in tokens_of(text):
        if isinstance(value, dict):
            value = value[token]
        elif isinstance(value, list) and _INDEX.fullmatch(token):
            value = value[int(token)]
        else:
            raise LookupError(f"{text!r} names nothing: no place {token!r}")
    return value


def fragment(text: str) -> str:
    """A pointer as a URI fragment, the form that problem details use.

    Example:
        >>> fragment("/a b")
        '#/a%20b'

    Source: RFC 6901, section 6.
    """
    return "#" + quote(text, safe=_FRAGMENT_SAFE)
