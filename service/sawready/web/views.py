"""The order desk's answers, and what its calls have in common."""

import base64
import hashlib
import importlib.util
import io
from collections.abc import Callable, Iterable
from typing import Any, Final

import orjson
import sqlalchemy as sa
from flask import Response, g, request
from marshmallow import Schema

from sawready.desk.caller import Caller
from sawready.desk.keeping import Desk, stale
from sawready.model.pointer import pointer
from sawready.report.as_csv import Table
from sawready.shape import faults_of, without_nulls
from sawready.store import orders
from sawready.store.orders import KeptOrder, Release
from sawready.web.checks import read_value
from sawready.web.media import JSON, body_form
from sawready.web.parts import parts
from sawready.web.problems import ErrorItem, ProblemError
from sawready.web.remedies import remedy_of

IF_MATCH: Final = "If-Match"


def desk() -> Desk:
    """The desk of the service. Raises ProblemError, status 404, where it keeps nothing."""
    shared = parts()
    if shared.desk is None:
        raise ProblemError("not-found", "This service keeps no orders; it was started without a store.")
    found: Desk = shared.desk
    return found


def caller() -> Caller:
    """Who calls."""
    found: Caller = g.caller
    return found


def needs(packages: tuple[str, ...], lack: str) -> None:
    """Refuses what this service was installed without. Raises ProblemError, status 404."""
    if any(importlib.util.find_spec(name) is None for name in packages):
        raise ProblemError("not-found", f"This service {lack}; it was installed without that extra.")


def small_body(schema: Schema) -> dict[str, Any]:
    """The JSON body of a call, held against its schema.

    Raises: ProblemError, status 400, 413, 415 or 422.
    """
    body_form(request, read={JSON: "json"})
    value = read_value(parts().settings.most_json_bytes)
    faults = faults_of(schema, value)
    if faults:
        errors = [
            ErrorItem(
                f"{fault['because'][:1].upper()}{fault['because'][1:]}.",
                remedy_of(schema, str(path[0]) if path else "", fault),
                reason=fault["reason"],
                pointer=pointer(*path),
            )
            for path, fault in faults
        ]
        places = ", ".join(dict.fromkeys(str(path[0]) for path, _ in faults if path)) or "the whole"
        raise ProblemError("body-not-usable", f"The body cannot be used, for {places[:200]}.", errors=errors)
    found: dict[str, Any] = without_nulls(value)
    return found


def tagged(response: Response, order: KeptOrder) -> Response:
    """An answer with the entity tag of the order as it stands now."""
    response.headers["ETag"] = f'"{order.tag}"'
    return response


def holds(*, is_needed: bool) -> Callable[[KeptOrder], None]:
    """A look at whether the caller holds the order as it stands, by If-Match.

    Args:
        is_needed: whether the call must say which state it is about.
    Raises: ProblemError, status 428, where it must and does not.
    """
    stated = request.headers.get(IF_MATCH)
    if stated is None:
        if is_needed:
            detail = "The call needs If-Match with the ETag of the order."
            error = ErrorItem(detail, "Read the order first.", parameter=IF_MATCH)
            raise ProblemError("precondition-required", detail, errors=[error])
        return lambda _: None
    tags = request.if_match

    def look(order: KeptOrder) -> None:
        if not (tags.star_tag or tags.is_strong(order.tag)):
            raise stale(order)

    return look


def release_view(order: KeptOrder, release: Release | None) -> dict[str, Any] | None:
    """What was released of an order last."""
    if release is None:
        return None
    return {
        "revision": release.revision,
        "digest": release.digest,
        "factory": release.factory,
        "released_at": release.made_at,
        "is_newest": release.revision == order.revision,
    }


def order_row(order: KeptOrder, release: Release | None) -> dict[str, Any]:
    """An order in a list."""
    return {
        "order_ref": order.order_ref,
        "firm": order.firm,
        "revision": order.revision,
        "decision": order.decision,
        "digest": order.digest,
        "received_at": order.received_at,
        "changed_at": order.changed_at,
        "release": release_view(order, release),
    }


def order_view(tx: sa.Connection, order: KeptOrder) -> bytes:
    """An order as it stands."""
    newest = orders.newest(tx, order)
    release = orders.releases(tx, [order]).get(order.order_id)
    return orjson.dumps(
        {
            **order_row(order, release),
            "already_cut": [
                {"opening_ref": ref, "revision": cut["revision"]} for ref, cut in newest.cut.items()
            ],
            "revisions": orders.revision_list(tx, order),
            "arrivals": orders.arrivals(tx, order),
            "result": orjson.Fragment(newest.result),
        }
    )


def content_digest(body: bytes) -> str:
    """The digest of a body as the header Content-Digest has it (RFC 9530).

    Example:
        >>> content_digest(b"")
        'sha-256=:47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=:'
    """
    return f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode('ascii')}:"


def csv_bytes(columns: Iterable[str], rows: Iterable[dict[str, Any]]) -> bytes:
    """Rows as a sheet; text that a spreadsheet could take for a formula is made harmless."""
    stream = io.StringIO(newline="")
    Table(stream, [*columns]).write(rows)
    return stream.getvalue().encode("utf-8")
