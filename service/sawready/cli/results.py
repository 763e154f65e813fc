"""Published results as files: told from orders, held against their digests, matched with their orders."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

import orjson

from sawready.errors import SettingsError

_KEYS: Final = frozenset({"decision", "digest", "made_with", "openings"})
_LOOKED_AT: Final = 4096
"""Bytes in which a result has named its digest: before them stand only its name and its decision."""

_MOST_BYTES: Final = 512 * 1024 * 1024


def digest_as_written(result: Mapping[str, Any]) -> str:
    """The digest of a result as it stands: SHA-256 without the digest itself and without cells.

    Args:
        result: a published result with its keys in the order of the schema.
    """
    bare = {name: value for name, value in result.items() if name != "digest"}
    bare["openings"] = [
        {
            **opening,
            "findings": [
                {name: value for name, value in found.items() if name != "cell"}
                for found in opening["findings"]
            ],
        }
        for opening in result["openings"]
    ]
    return f"sha256:{hashlib.sha256(orjson.dumps(bare)).hexdigest()}"


def results_in(path: Path) -> list[dict[str, Any]] | None:
    """The results of a file; None where it holds something else, such as orders.

    A file has one result a line (``sawready check --out``), one result, or an object with ``results`` (the
    answer of the service).

    Args:
        path: a .json, .ndjson or .jsonl file.
    Raises: SettingsError for a result that was changed after it was written, and for a file that cannot be
        opened or is too large.
    """
    if path.suffix.lower() not in {".json", ".ndjson", ".jsonl"}:
        return None
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise SettingsError(f"{path} has more than 512 MiB; give its results in smaller files.")
        if not _may_hold_results(path):
            return None
        data = path.read_bytes()
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror or 'it cannot be opened'}") from error
    found = list(_objects(data))
    if not found or not all(isinstance(each, dict) and each.keys() >= _KEYS for each in found):
        return None
    for number, result in enumerate(found, 1):
        _hold_against_digest(result, path, number)
    return found


def _may_hold_results(path: Path) -> bool:
    """A look at the beginning, so that a large file of orders is not read for nothing."""
    with path.open("rb") as stream:
        return b'"digest"' in stream.read(_LOOKED_AT)


def _objects(data: bytes) -> Iterator[Any]:
    try:
        whole = orjson.loads(data)
    except orjson.JSONDecodeError:
        try:
            yield from [orjson.loads(line) for line in data.splitlines() if line.strip()]
        except orjson.JSONDecodeError:
            return
        return
    if isinstance(whole, dict) and isinstance(whole.get("results"), list):
        yield from whole["results"]
    else:
        yield whole


def _hold_against_digest(result: Mapping[str, Any], path: Path, number: int) -> None:
    try:
        own = digest_as_written(result)
    except (KeyError, TypeError, AttributeError):
        own = ""
    if own != result["digest"]:
        raise SettingsError(
            f"{path}: result {number} ({result.get('order_ref')!s:.80}) does not fit its digest, so it was "
            "changed after it was written. Check its order again and use that result."
        )


def matched(result: Mapping[str, Any], orders: Mapping[str, Iterable[tuple[str, Any]]]) -> Any:
    """What was checked anew from the order of a result, where its digest is the same.

    Args:
        result: a published result.
        orders: what was checked anew, each with its digest, by order reference.
    Raises: SettingsError where the order is not there, or now gives another result.
    """
    name = result["order_ref"]
    anew = list(orders.get(name, ()))
    if not anew:
        raise SettingsError(f"The order of result {name!s:.80} is not among the orders given with --orders.")
    for digest, checked in anew:
        if digest == result["digest"]:
            return checked
    raise SettingsError(
        f"The result of {name!s:.80} has the digest {result['digest'][:23]}, its order now gives "
        f"{anew[-1][0][:23]}: the order, the program, the profile system or the rulebook has changed since. "
        "Check the order again and use the new result."
    )
