"""What happens to an order that is kept: answers, release, lists, arrivals."""

from typing import Any, Final

import orjson
from flask import Response, request

from sawready.desk.arrival import Arrived, arrive
from sawready.desk.lists import CUTTING_COLUMNS, GLASS_COLUMNS, ListKind, read_list, rows_of
from sawready.desk.release import Released, release
from sawready.web import media
from sawready.web.api import REFERENCES, described
from sawready.web.desk_schemas import (
    ArrivalResultSchema,
    ArrivalSchema,
    CuttingListSchema,
    GlassListSchema,
    ListQuerySchema,
    NewAnswerSchema,
    OrderQuerySchema,
    ReleasedSchema,
    ReleaseRequestSchema,
)
from sawready.web.idempotency import Once
from sawready.web.orders import ORDER_REF, kept_response, orders
from sawready.web.views import caller, content_digest, csv_bytes, desk, holds, small_body, tagged

_ANSWER: Final = NewAnswerSchema()
_RELEASE: Final = ReleaseRequestSchema()
_ARRIVAL: Final = ArrivalSchema()

EXAMPLE_ANSWER: Final = {
    "opening_ref": "W3",
    "reason": "readings-disagree",
    "measured": 21,
    "by": "AB",
    "on": "2026-11-03",
    "note": "measured again",
}
EXAMPLE_RELEASE: Final = {"digest": f"sha256:{'0' * 64}"}
EXAMPLE_ARRIVAL: Final = {
    "opening_ref": "W1",
    "by": "CD",
    "units": "mm",
    "width": 1798,
    "height": 1250,
    "height_includes_sill": True,
    "viewed_from": "outside",
    "hinge": "left",
    "sill_length": 1910,
}
"""Of the order in ``examples``: invented, as it is."""


DESK_SCHEMAS: Final = (
    NewAnswerSchema,
    ReleaseRequestSchema,
    ArrivalSchema,
    CuttingListSchema,
    GlassListSchema,
)
"""Schemas that calls refer to by name."""


def _body(name: str, what: str, example: dict[str, Any]) -> dict[str, Any]:
    schema = {"$ref": f"{REFERENCES}{name}"}
    return {
        "required": True,
        "description": what,
        "content": {media.JSON: {"schema": schema, "example": example}},
    }


def _list_answer(name: str, what: str) -> dict[int, Any]:
    return {
        200: {
            "description": what,
            "content": {
                media.JSON: {"schema": {"$ref": f"{REFERENCES}{name}"}},
                media.CSV: {"schema": {"type": "string", "description": "A row for each row of the list."}},
            },
        }
    }


@orders.call("/v1/orders/<path:order_ref>/answers", methods=["POST"], parameters=[ORDER_REF])
@described(
    call="answerQuery",
    requestBody=_body("NewAnswer", "The answer.", EXAMPLE_ANSWER),
    responses={
        200: {
            "description": "The order's result with the query settled, as its newest revision; ETag is set.",
            "content": {media.JSON: {"schema": {"$ref": f"{REFERENCES}Result"}}},
        }
    },
    fails=(400, 404, 406, 409, 412, 413, 415, 422),
)
def answer_query(order_ref: str) -> Response:
    """A named person settles a query of an order.

    The answer holds while the measured value is unchanged, through re-surveys and further uploads of the same
    sheet. If-Match is looked at where it is sent; Idempotency-Key may be.
    """
    own_desk = desk()
    media.wanted(request, (media.JSON,))
    body = small_body(_ANSWER)
    once = Once(own_desk.store, caller(), body)
    look = holds(is_needed=False)
    return once.run(
        lambda: kept_response(
            own_desk.answer(caller(), order_ref, body, holds=look, also=once.keeping(kept_response))
        )
    )


def _released_response(released: Released) -> Response:
    response = Response(released.document, mimetype=media.JSON)
    response.headers["Content-Digest"] = content_digest(released.document)
    return tagged(response, released.order)


@orders.call("/v1/orders/<path:order_ref>/release", methods=["POST"], parameters=[ORDER_REF])
@described(
    call="releaseOrder",
    requestBody=_body("ReleaseRequest", "What the factory holds.", EXAMPLE_RELEASE),
    fails=(400, 404, 406, 409, 413, 415, 422),
)
@orders.reads(OrderQuerySchema)
@orders.gives(ReleasedSchema)
def release_order(query: dict[str, Any], order_ref: str) -> Response:
    """The factory asks before it cuts.

    It names the digest that it holds. Where that is the newest revision and accepted, the list is frozen and
    released, once; else 409 with each reason. Send an Idempotency-Key: where the answer is lost on its way,
    the same call gives it again.
    """
    own_desk = desk()
    media.wanted(request, (media.JSON,))
    body = small_body(_RELEASE)
    once = Once(own_desk.store, caller(), body)
    return once.run(
        lambda: _released_response(
            release(
                own_desk,
                caller(),
                order_ref,
                digest=body["digest"],
                firm=query.get("firm"),
                also=once.keeping(_released_response),
            )
        )
    )


def _list(order_ref: str, query: dict[str, Any], kind: ListKind) -> Response:
    """A list as JSON or as a sheet, by Accept."""
    answered = media.wanted(request, (media.JSON, media.CSV))
    number = None if "revision" not in query else int(query["revision"])
    found = read_list(desk().store, caller(), order_ref, kind=kind, firm=query.get("firm"), number=number)
    if answered == media.JSON:
        body = orjson.dumps(found.document)
        response = Response(body, mimetype=media.JSON)
    else:
        columns = CUTTING_COLUMNS if kind == "cutting" else GLASS_COLUMNS
        body = csv_bytes(columns, rows_of(found.document, kind))
        response = Response(body, content_type=f"{media.CSV}; charset=utf-8; header=present")
    response.headers["Content-Digest"] = content_digest(body)
    response.headers["Vary"] = "Accept"
    return response


@orders.call("/v1/orders/<path:order_ref>/cutting-list", parameters=[ORDER_REF])
@described(
    call="getCuttingList",
    responses=_list_answer("CuttingList", "Pieces and beads, each row times its count."),
    fails=(400, 404, 406, 409),
)
@orders.reads(ListQuerySchema)
def get_cutting_list(query: dict[str, Any], order_ref: str) -> Response:
    """Pieces and beads to cut, with the SHA-256 of the answer in Content-Digest.

    A factory gets what is released and not superseded; the order's own firm also sees what is not released.
    Each row says its standing.
    """
    return _list(order_ref, query, "cutting")


@orders.call("/v1/orders/<path:order_ref>/glass-list", parameters=[ORDER_REF])
@described(
    call="getGlassList",
    responses=_list_answer("GlassList", "Panes, each row times its count."),
    fails=(400, 404, 406, 409),
)
@orders.reads(ListQuerySchema)
def get_glass_list(query: dict[str, Any], order_ref: str) -> Response:
    """Panes to order, likewise."""
    return _list(order_ref, query, "glass")


def _arrived_response(arrived: Arrived) -> Response:
    return Response(arrived.document, mimetype=media.JSON)


@orders.call("/v1/orders/<path:order_ref>/arrivals", methods=["POST"], parameters=[ORDER_REF])
@described(
    call="frameArrived",
    requestBody=_body("Arrival", "The frame as the fitter tapes it.", EXAMPLE_ARRIVAL),
    fails=(400, 404, 406, 409, 413, 415, 422),
)
@orders.gives(ArrivalResultSchema)
def frame_arrived(order_ref: str) -> Response:
    """Says of a delivered frame whether the old window may come out.

    Its taped sizes, handing, sill and glass mark are held against the survey, each with its working, and with
    what to do where it does not fit.
    """
    own_desk = desk()
    media.wanted(request, (media.JSON,))
    body = small_body(_ARRIVAL)
    once = Once(own_desk.store, caller(), body)
    return once.run(
        lambda: _arrived_response(
            arrive(own_desk, caller(), order_ref, body, also=once.keeping(_arrived_response))
        )
    )
