"""The fitter's sheet of a kept order, and questions to the surveyor."""

from typing import Any, Final

import orjson
from flask import Response, request

from sawready.desk.papers import read_worked_out
from sawready.order_schema import Choice, told
from sawready.pipeline import CallerDefaults, OrderResult, check_order
from sawready.readers.raw import RawOrder, Unreadable
from sawready.report.drawing_marks import TRIANGLES
from sawready.report.order_places import order_view
from sawready.report.questions import questions_of
from sawready.web import media
from sawready.web.api import described
from sawready.web.checks import BODY, CheckQuerySchema, checks, read_many, read_one, read_sheet
from sawready.web.desk_schemas import ListQuerySchema
from sawready.web.orders import ORDER_REF, orders
from sawready.web.parts import parts
from sawready.web.views import caller, content_digest, desk, needs

PDF: Final = "application/pdf"

_SHEET: Final[dict[int, Any]] = {
    200: {
        "description": "The sheet, a page an opening.",
        "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
    }
}
_QUESTIONS: Final[dict[int, Any]] = {
    200: {
        "description": "The questions, in the order of the orders; empty where there is nothing to ask.",
        "content": {
            media.JSON: {
                "schema": {
                    "type": "object",
                    "required": ["questions"],
                    "additionalProperties": False,
                    "properties": {
                        "questions": {
                            "type": "array",
                            "items": {
                                "type": "object",
                                "required": [
                                    "surveyor",
                                    "order_ref",
                                    "opening_ref",
                                    "at",
                                    "reason",
                                    "question",
                                    "candidates",
                                ],
                                "additionalProperties": False,
                                "properties": {
                                    "surveyor": {"type": "string"},
                                    "order_ref": {"type": ["string", "null"]},
                                    "opening_ref": {"type": ["string", "null"]},
                                    "at": {"type": "string"},
                                    "reason": {"type": "string"},
                                    "question": {"type": "string"},
                                    "candidates": {"type": "array", "items": {"type": ["string", "number"]}},
                                },
                            },
                        }
                    },
                }
            }
        },
    }
}


class SheetQuerySchema(ListQuerySchema):
    """Which sheet is wanted, and how it is drawn."""

    triangle = Choice(
        TRIANGLES,
        metadata=told(
            "Where the point of the opening triangle is; as the service is set when absent. The sheet says which."
        ),
    )


def _worked_out(order_ref: str, query: dict[str, Any]) -> tuple[Any, OrderResult]:
    number = None if "revision" not in query else int(query["revision"])
    return read_worked_out(desk(), caller(), order_ref, firm=query.get("firm"), number=number)


@orders.call("/v1/orders/<path:order_ref>/sheet", parameters=[ORDER_REF])
@described(call="getSheet", responses=_SHEET, fails=(400, 404, 406, 409))
@orders.reads(SheetQuerySchema)
def get_sheet(query: dict[str, Any], order_ref: str) -> Response:
    """The fitter's sheet as PDF; whoever may read the lists may read it."""
    media.wanted(request, (PDF,))
    needs(("reportlab", "segno"), "writes no sheets")
    from sawready.report.sheet import SheetStyle, sheet_pdf  # noqa: PLC0415 - its extra may be absent

    triangle = query.pop("triangle", parts().settings.triangle)
    _, checked = _worked_out(order_ref, query)
    body = sheet_pdf([order_view(checked)], SheetStyle(triangle))
    response = Response(body, mimetype=PDF)
    response.headers["Content-Digest"] = content_digest(body)
    return response


@checks.call("/v1/questions", methods=["POST"])
@described(call="askSurveyors", requestBody=BODY, responses=_QUESTIONS, fails=(400, 406, 413, 415, 422))
@checks.reads(CheckQuerySchema)
def ask_surveyors(query: dict[str, str]) -> Response:
    """What only the surveyor can answer, one sentence each, ready to send; nothing is kept.

    Rows that cannot be read are told by POST /v1/checks; they are passed over here.
    """
    shared = parts()
    form = media.body_form(request)
    media.wanted(request, (media.JSON,))
    delimiter = query.pop("delimiter", None)
    defaults = CallerDefaults(**query)
    found: list[RawOrder | Unreadable]
    if form.kind == "json":
        found = [read_one(shared)]
    elif form.kind == "csv":
        found = read_sheet(form, shared, supplied=query, delimiter=delimiter)
    else:
        found = read_many(shared)
    asked = [
        question
        for each in found
        if isinstance(each, RawOrder)
        for question in questions_of(
            check_order(each.data, catalogue=shared.catalogue, caller=defaults, problems=each.problems)
        )
    ]
    return Response(orjson.dumps({"questions": asked}), mimetype=media.JSON)
