"""Checking orders without keeping them: POST /v1/checks."""

import json
import tempfile
from collections.abc import Collection, Iterable, Iterator
from typing import IO, Any, Final, cast

from flask import Response, g, request
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from sawready.errors import UnreadableError
from sawready.order_schema import NUMBER_STYLES, UNITS, VIEWS, Choice, Part, Text, told
from sawready.pipeline import CallerDefaults
from sawready.readers.column_map import DELIMITERS, ColumnMap
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.json_door import loads
from sawready.readers.json_orders import order_fault, read_ndjson
from sawready.readers.raw import RawOrder, Unreadable
from sawready.web import media
from sawready.web.answers import Checker, as_lines, as_object, begun
from sawready.web.api import REFERENCES, Calls, described
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_REJECTED, EXAMPLE_SHEET
from sawready.web.parts import Parts, parts
from sawready.web.problems import ErrorItem, ProblemError, of_no_order, of_unreadable
from sawready.web.requests import request_id

SOURCE: Final = "the request's body"

_STEP: Final = 64 * 1024
_IN_MEMORY: Final = 1024 * 1024
_CALLER_COLUMNS: Final = ("units", "number_style", "viewed_from", "system", "rulebook")

checks = Calls("checks", __name__, description="Checks orders and works out their sizes; keeps nothing.")


class CheckQuerySchema(Part):
    """What the caller says for orders that do not say it themselves."""

    units = Choice(UNITS, metadata=told("Unit of bare numbers."))
    number_style = Choice(NUMBER_STYLES, metadata=told("en 1,200.5; eu 1.200,5; ch 1'200.5."))
    viewed_from = Choice(VIEWS, metadata=told("The view that every left and right is stated from."))
    system = Text(most=80, metadata=told("Profile system."))
    rulebook = Text(most=80, metadata=told("Rulebook of the region."))
    delimiter = Choice(
        ("comma", "semicolon", "tab"),
        metadata=told("What parts the cells of a sheet; told by its header where absent. For text/csv only."),
    )


def _ref(name: str) -> dict[str, str]:
    return {"$ref": f"{REFERENCES}{name}"}


_LINES: Final[dict[str, Any]] = {
    "schema": {"type": "string", "description": "One JSON object a line, UTF-8, ended by a line feed."},
    "example": json.dumps(EXAMPLE_ORDER) + "\n" + json.dumps(EXAMPLE_REJECTED) + "\n",
    "x-item-schema": _ref("Order"),
}

BODY: Final[dict[str, Any]] = {
    "required": True,
    "description": "One order as JSON, many as lines of JSON, or a sheet with one opening a row. Sheets are "
    "UTF-8 or UTF-16 with a mark, or Windows-1252 where the charset says so. JSON may have up to 1 MiB, "
    "lines and sheets up to 64 MiB.",
    "content": {
        media.JSON: {
            "schema": _ref("Order"),
            "examples": {
                "accepted": {"summary": "An opening that can be made.", "value": EXAMPLE_ORDER},
                "rejected": {"summary": "The same with a frame that is too wide.", "value": EXAMPLE_REJECTED},
            },
        },
        media.NDJSON: _LINES,
        media.JSONL: _LINES,
        media.CSV: {
            "schema": {"type": "string", "description": "A sheet with a header row; columns in any order."},
            "example": EXAMPLE_SHEET,
        },
    },
}

_RESULT_LINES: Final[dict[str, Any]] = {
    "schema": {"type": "string", "description": "A line for each order: its result, or its problem."},
    "x-item-schema": {"anyOf": [_ref("Result"), _ref("Problem")]},
}

RESULTS: Final[dict[int, Any]] = {
    200: {
        "description": "The result. A rejected order is a normal answer. One order as JSON gives its result; "
        "a sheet gives results and a summary; lines give lines. Accept may ask for the other form.",
        "content": {
            media.JSON: {"schema": {"anyOf": [_ref("Result"), _ref("Batch")]}},
            media.NDJSON: _RESULT_LINES,
            media.JSONL: _RESULT_LINES,
        },
    }
}


@checks.call("/v1/checks", methods=["POST"])
@described(
    call="checkOrders",
    requestBody=BODY,
    responses=RESULTS,
    fails=(400, 406, 413, 415, 422),
)
@checks.reads(CheckQuerySchema)
def check_orders(query: dict[str, str]) -> Response:
    """Checks orders and works out their sizes, or says why not.

    One order, many, or a sheet; nothing is kept. Parameters stand in for what an order leaves open.
    """
    shared = parts()
    form = media.body_form(request)
    delimiter = query.pop("delimiter", None)
    checker = Checker(
        catalogue=shared.catalogue,
        caller=CallerDefaults(**query),
        metrics=shared.metrics,
        instance=request_id(),
        on_trouble=g.troubles.append,
    )
    if form.kind == "json":
        answered = media.wanted(request, (media.JSON, media.NDJSON, media.JSONL))
        written = checker.one(read_one(shared))
        return Response(written if answered == media.JSON else written + b"\n", mimetype=answered)
    return answer_many(checker, form, shared, supplied=query, delimiter=delimiter)


def answer_many(
    checker: Checker, form: media.BodyForm, shared: Parts, *, supplied: Collection[str], delimiter: str | None
) -> Response:
    """The answer to a body of many orders: lines, or a sheet.

    Args:
        checker: what is done with each order.
        form: what the body says it is.
        shared: the parts of the application.
        supplied: our columns whose values the caller supplies.
        delimiter: name of what parts the cells of a sheet; None to tell it by the header.
    Raises: ProblemError for a body that cannot be read as a whole.
    """
    answered = media.wanted(request, _offered(form))
    body = _spooled(shared.settings.most_upload_bytes)
    try:
        if form.kind == "ndjson":
            return _many(checker, read_ndjson(cast("Any", body), source=SOURCE), body, answered)
        sign = None if delimiter is None else DELIMITERS[delimiter]
        column_map = ColumnMap("the request", encoding=form.encoding, delimiter=sign)
        columns = [name for name in _CALLER_COLUMNS if name in supplied]
        sheet = SheetOrders(cast("Any", body), source=SOURCE, column_map=column_map, supplied=columns)
        return _many(checker, sheet, body, answered)
    except UnreadableError as trouble:
        body.close()
        raise ProblemError.of(of_unreadable(trouble)) from None


def read_sheet(
    form: media.BodyForm, shared: Parts, *, supplied: Collection[str], delimiter: str | None
) -> list[RawOrder | Unreadable]:
    """The orders of a sheet that is no larger than one order as JSON may be; else as `answer_many`."""
    body = _spooled(shared.settings.most_json_bytes)
    sign = None if delimiter is None else DELIMITERS[delimiter]
    column_map = ColumnMap("the request", encoding=form.encoding, delimiter=sign)
    columns = [name for name in _CALLER_COLUMNS if name in supplied]
    with body:
        try:
            return [*SheetOrders(cast("Any", body), source=SOURCE, column_map=column_map, supplied=columns)]
        except UnreadableError as trouble:
            raise ProblemError.of(of_unreadable(trouble)) from None


def read_many(shared: Parts) -> list[RawOrder | Unreadable]:
    """The orders of lines that are together no larger than one order as JSON may be."""
    with _spooled(shared.settings.most_json_bytes) as body:
        try:
            return [*read_ndjson(cast("Any", body), source=SOURCE)]
        except UnreadableError as trouble:
            raise ProblemError.of(of_unreadable(trouble)) from None


def read_value(most: int) -> Any:
    """The JSON value of the body. Raises ProblemError, status 400 or 413."""
    data = b"".join(_pieces(most))
    try:
        return loads(data, what="body")
    except UnreadableError as trouble:
        raise ProblemError.of(of_unreadable(trouble)) from None


def read_one(shared: Parts) -> RawOrder:
    """The one order of a JSON body. Raises ProblemError for a body that is none."""
    value = read_value(shared.settings.most_json_bytes)
    fault = order_fault(value)
    if fault is not None:
        raise ProblemError.of(of_no_order(fault))
    return RawOrder(value, SOURCE)


def _offered(form: media.BodyForm) -> tuple[str, ...]:
    """Media types of the answer, the usual one first: lines for lines, an object for a sheet."""
    if form.kind == "csv":
        return media.JSON, media.NDJSON, media.JSONL
    other = media.JSONL if form.media_type == media.NDJSON else media.NDJSON
    return form.media_type, other, media.JSON


def _many(
    checker: Checker,
    records: Iterable[RawOrder | Unreadable],
    body: IO[bytes],
    answered: str,
) -> Response:
    """Many orders, answered while they are checked.

    Raises: UnreadableError where the body as a whole cannot be read.
    """
    items = checker.each(begun(records))

    def pieces() -> Iterator[bytes]:
        with body:
            if answered == media.JSON:
                yield from as_object(items, checker.counts, lambda: getattr(records, "skipped_rows", {}))
            else:
                yield from as_lines(items)

    response = Response(pieces(), mimetype=answered)
    response.call_on_close(body.close)
    return response


def _spooled(most: int) -> IO[bytes]:
    """The body, held in memory while it is small and in a file that nobody else sees while it is not.

    It is read to its end before anything is answered: a client that sends all before it reads would
    otherwise wait for a service that waits for it.

    Raises: ProblemError, status 413, for a body over the limit, whatever its length was said to be.
    """
    spool = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115 - closed with the response
    try:
        for piece in _pieces(most):
            spool.write(piece)
    except BaseException:
        spool.close()
        raise
    spool.seek(0)
    return cast("IO[bytes]", spool)


def _pieces(most: int) -> Iterator[bytes]:
    """The body piece by piece.

    Raises: ProblemError, status 413, once it has more bytes than the most; status 400 where it ends before
        its stated length or cannot be read to its end. A server that ends bodies itself, such as gunicorn,
        does not tell the two apart: a sheet that was cut off between two rows would pass for the whole.
    """
    too_large = ProblemError("body-too-large", f"The body has more than {most} bytes, which are the most.")
    request.max_content_length = most + 1  # at the limit itself the framework cannot tell whether more comes
    left = most
    while True:
        try:
            piece = request.stream.read(_STEP)
        except RequestEntityTooLarge:
            raise too_large from None
        except HTTPException:
            raise
        except Exception as trouble:
            raise _cut_off() from trouble
        left -= len(piece)
        if left < 0:
            raise too_large
        if not piece:
            if most - left < (request.content_length or 0):
                raise _cut_off()
            return
        yield piece


def _cut_off() -> ProblemError:
    detail = "The body ends before its stated length, or its chunks are not as HTTP has them."
    return ProblemError(
        "bad-request", detail, errors=[ErrorItem(detail, "Send the whole body again.", pointer="")]
    )
