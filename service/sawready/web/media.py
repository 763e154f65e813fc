"""Media types: what a body says it is, and in which form the answer is wanted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from flask import Request

from sawready.readers.csv_text import ENCODINGS
from sawready.web.problems import ErrorItem, ProblemError

JSON: Final = "application/json"
NDJSON: Final = "application/x-ndjson"
JSONL: Final = "application/jsonl"
CSV: Final = "text/csv"
HTML: Final = "text/html"

BodyKind = Literal["json", "ndjson", "csv"]

BODY_KINDS: Final[dict[str, BodyKind]] = {JSON: "json", NDJSON: "ndjson", JSONL: "ndjson", CSV: "csv"}
"""Media types of bodies that are read, and the door of each."""

_JSON_CHARSETS: Final = frozenset({"utf-8", "utf8", "us-ascii", "ascii"})


@dataclass(frozen=True, slots=True)
class BodyForm:
    """What a body says it is.

    Attributes:
        media_type: as sent, without parameters.
        kind: which door reads it.
        encoding: declared codec of a sheet, or None to tell it by its first bytes.
    """

    media_type: str
    kind: BodyKind
    encoding: str | None = None


def body_form(request: Request, *, read: dict[str, BodyKind] = BODY_KINDS) -> BodyForm:
    """The form of a request's body, by its headers.

    Args:
        request: the request.
        read: media types that the call reads.
    Raises: ProblemError, status 415, where the media type is missing or not read, where the charset is
        not read, and for a compressed body.
    """
    coding = request.headers.get("Content-Encoding", "").strip().lower()
    if coding not in ("", "identity"):
        raise _unsupported(
            "The body is compressed; bodies are read as they are.",
            "Content-Encoding",
            "Send the body uncompressed.",
            {"Accept-Encoding": "identity"},
        )
    accepted = {"Accept": ", ".join(read)}
    kind = read.get(request.mimetype)
    if kind is None:
        said = "No Content-Type is stated" if not request.mimetype else "The Content-Type is not read"
        raise _unsupported(
            f"{said}; {_listed(list(read))} are.", "Content-Type", f"Send one of {', '.join(read)}.", accepted
        )
    charset = request.mimetype_params.get("charset", "").strip().lower()
    encoding = None
    if kind == "csv":
        encoding = ENCODINGS.get(charset)
        if charset and encoding is None:
            raise _unsupported(
                "The charset of the sheet is not read.",
                "Content-Type",
                f"Send one of {', '.join(sorted(ENCODINGS))}, or leave it out.",
                accepted,
            )
        if request.mimetype_params.get("header", "present").strip().lower() != "present":
            raise _unsupported(
                "A sheet without a header row is not read.", "Content-Type", "Send the header row.", accepted
            )
    elif charset and charset not in _JSON_CHARSETS:
        raise _unsupported(
            "JSON is read as UTF-8 only.", "Content-Type", "Send UTF-8 and leave the charset out.", accepted
        )
    return BodyForm(request.mimetype, kind, encoding)


def wanted(request: Request, offered: Sequence[str]) -> str:
    """The media type to answer in.

    Args:
        request: the request.
        offered: media types that can be given, the usual one first.
    Raises: ProblemError, status 406, where the header Accept takes none of them.
    """
    if not request.accept_mimetypes:
        return offered[0]
    best = request.accept_mimetypes.best_match(offered)
    if best is None:
        raise ProblemError("not-acceptable", f"This call answers {_listed(offered)}.")
    return best


def _unsupported(detail: str, header: str, remedy: str, headers: dict[str, str]) -> ProblemError:
    return ProblemError(
        "unsupported-media-type",
        detail,
        errors=[ErrorItem(detail, remedy, parameter=header)],
        headers=headers,
    )


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
