"""Orders that are kept: POST and GET /v1/orders, PUT /v1/orders/{order_ref}."""

import base64
import hashlib
import re
from datetime import date, timedelta
from typing import Any, Final
from urllib.parse import quote, urlencode

import orjson
import sqlalchemy as sa
from flask import Response, g, request
from werkzeug.routing import PathConverter

from sawready.desk.finding_order import CALLS, the_order
from sawready.desk.keeping import Desk, Kept
from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.order_schema import Text
from sawready.order_schema import told as meaning
from sawready.pipeline import CallerDefaults
from sawready.readers.raw import RawOrder, Unreadable
from sawready.store import orders as kept_orders
from sawready.web import media
from sawready.web.answers import Checker
from sawready.web.api import Calls, described, in_path
from sawready.web.checks import BODY, RESULTS, CheckQuerySchema, answer_many, read_one, read_sheet
from sawready.web.desk_schemas import (
    OrderListQuerySchema,
    OrderListSchema,
    OrderQuerySchema,
    OrderViewSchema,
)
from sawready.web.idempotency import HEADER, Once, stated_key
from sawready.web.parts import conditional, parts
from sawready.web.problems import (
    PROBLEMS,
    ErrorItem,
    Problem,
    ProblemError,
    of_refusal,
    of_refused,
    out_of_reach,
)
from sawready.web.requests import request_id, told
from sawready.web.views import caller, desk, holds, order_row, order_view, tagged

orders = Calls(
    "orders",
    __name__,
    description="The order desk: orders kept, revised, answered, released to the saw once, and checked when "
    "the frames arrive.",
)

ORDER_REF: Final = in_path("order_ref", "The firm's name for the order; a slash in it may stand as it is.")
_USUAL_PAGE: Final = 50
_MOST_CUT: Final = 500
_FILTERS: Final[tuple[str, ...]] = ("decision", "changed_from", "changed_to", "firm")
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class OrderName(PathConverter):
    """An order's name in an address: it may hold slashes, but does not end as a call about an order does."""

    regex = rf"(?!(?:.*/)?(?:{'|'.join(sorted(CALLS))})$)[^/].*?"


class ReviseQuerySchema(CheckQuerySchema):
    """What the caller says for an order that does not say it itself."""

    already_cut = Text(
        most=2000,
        metadata=meaning(
            "For a sheet: openings that are cut already, separated by commas; none for none. JSON has "
            "it as a list in the body."
        ),
    )


class Keeper(Checker):
    """Checks orders and keeps each of them."""

    def __init__(self, own_desk: Desk, **more: Any) -> None:
        super().__init__(**more)
        self._desk = own_desk
        self._who = caller()  # orders of a stream are checked when the request itself is over

    def one(self, raw: RawOrder) -> bytes:
        """The published result of an order that is kept now."""
        try:
            kept = self._desk.keep(self._who, raw, self._caller)
        except RefusedError as refused:
            raise ProblemError.of(of_refusal(refused)) from None
        except StoreError as trouble:
            self._on_trouble(told(trouble.__cause__ or trouble))
            raise ProblemError.of(out_of_reach()) from None
        self.count(kept)
        return kept.result

    def count(self, kept: Kept) -> None:
        """Counts what became of an order."""
        if kept.checked is not None:
            self._count(kept.checked)
        else:
            self.counts.add(orjson.loads(kept.result))


def _keeper(query: dict[str, Any]) -> Keeper:
    shared = parts()
    return Keeper(
        desk(),
        catalogue=shared.catalogue,
        caller=CallerDefaults(**query),
        metrics=shared.metrics,
        instance=request_id(),
        on_trouble=g.troubles.append,
    )


def address_of(order_ref: str) -> str:
    """Address of an order.

    Example:
        >>> address_of("TQ 7/2")
        '/v1/orders/TQ%207/2'
    """
    return f"/v1/orders/{quote(order_ref)}"


def kept_response(kept: Kept) -> Response:
    """The result of an order that is kept, with where it is and which state it has."""
    response = Response(kept.result, status=201 if kept.outcome == "kept" else 200, mimetype=media.JSON)
    response.headers["Location"] = address_of(kept.order.order_ref)
    return tagged(response, kept.order)


@orders.call("/v1/orders", methods=["POST"])
@described(
    call="keepOrders",
    requestBody=BODY,
    responses={
        **RESULTS,
        201: {
            "description": "One order, kept now; its result. Location and ETag are set.",
            "content": {media.JSON: {"schema": {"$ref": "#/components/schemas/Result"}}},
        },
    },
    fails=(400, 404, 406, 409, 413, 415, 422),
)
@orders.reads(CheckQuerySchema)
def keep_orders(query: dict[str, str]) -> Response:
    """Checks orders as /v1/checks does, and keeps them.

    A rejected order is kept too. The same sheet again is answered as it is kept, with the answers that were
    given since; another order of the same name is refused (409). One order as JSON may carry an
    Idempotency-Key. Of many, each is kept by itself.
    """
    keeper = _keeper({name: value for name, value in query.items() if name != "delimiter"})
    form = media.body_form(request)
    if form.kind != "json":
        if stated_key() is not None:
            detail = f"{HEADER} is for one order as JSON; many can be sent again as they are."
            raise ProblemError(
                "bad-parameter", detail, errors=[ErrorItem(detail, "Leave it out.", parameter=HEADER)]
            )
        return answer_many(keeper, form, parts(), supplied=query, delimiter=query.get("delimiter"))
    media.wanted(request, (media.JSON,))
    raw = read_one(parts())
    own_desk = desk()
    once = Once(own_desk.store, caller(), raw.data)

    def work() -> Response:
        kept = own_desk.keep(caller(), raw, keeper.defaults, also=once.keeping(kept_response))
        keeper.count(kept)
        return kept_response(kept)

    return once.run(work)


@orders.call("/v1/orders")
@described(call="listOrders", fails=(400, 404, 406))
@orders.reads(OrderListQuerySchema)
@orders.gives(OrderListSchema)
def list_orders(query: dict[str, Any]) -> Response:
    """Orders that the key sees, the last received first.

    Its own firm's, or for a factory those of the firms that it serves.
    """
    media.wanted(request, (media.JSON,))
    limit = int(query.get("limit", _USUAL_PAGE))
    filters = {name: query[name] for name in _FILTERS if name in query}
    mark = _mark(filters)
    before_id = _read_cursor(query["cursor"], mark) if "cursor" in query else None
    changed_from, changed_to = _day(query, "changed_from"), _day(query, "changed_to")

    def look(tx: sa.Connection) -> list[dict[str, Any]]:
        found = kept_orders.page(
            tx,
            caller().sight,
            limit=limit + 1,
            before_id=before_id,
            decision=query.get("decision"),
            changed_from=None if changed_from is None else changed_from.isoformat(),
            changed_before=None if changed_to is None else (changed_to + timedelta(days=1)).isoformat(),
            firm=query.get("firm"),
        )
        released = kept_orders.releases(tx, found)
        return [{"id": each.order_id, **order_row(each, released.get(each.order_id))} for each in found]

    rows = desk().store.read(look)
    ids = [row.pop("id") for row in rows]
    response = Response(orjson.dumps({"orders": rows[:limit]}), mimetype=media.JSON)
    if len(rows) > limit:
        cursor = base64.urlsafe_b64encode(f"{ids[limit - 1]}.{mark}".encode()).decode("ascii").rstrip("=")
        address = urlencode({**filters, "limit": limit, "cursor": cursor})
        response.headers["Link"] = f'</v1/orders?{address}>; rel="next"'
    return response


def _mark(filters: dict[str, Any]) -> str:
    """Binds a cursor to its filters and to who got it."""
    content = orjson.dumps([sorted(filters.items()), caller().firm, sorted(caller().roles)])
    return hashlib.sha256(content).hexdigest()[:16]


def _read_cursor(cursor: str, mark: str) -> int:
    try:
        text = base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode("ascii")
        number, _, bound = text.partition(".")
        if bound == mark and number.isdigit() and len(number) < 19:
            return int(number)
    except (ValueError, UnicodeError):
        pass
    detail = "The cursor is not from a page of these orders."
    raise ProblemError(
        "bad-parameter", detail, errors=[ErrorItem(detail, "Begin without one.", parameter="cursor")]
    )


def _day(query: dict[str, Any], name: str) -> date | None:
    written_day = query.get(name)
    if written_day is None:
        return None
    try:
        if _DAY.fullmatch(written_day):
            return date.fromisoformat(written_day)
    except ValueError:
        pass
    detail = f"{name} is no day of the form YYYY-MM-DD."
    raise ProblemError(
        "bad-parameter", detail, errors=[ErrorItem(detail, "Write it as 2026-11-25.", parameter=name)]
    )


@orders.call("/v1/orders/<order:order_ref>", parameters=[ORDER_REF])
@described(
    call="getOrder",
    responses={304: {"description": "It still is as If-None-Match says."}},
    fails=(400, 404, 406, 409),
)
@orders.reads(OrderQuerySchema)
@orders.gives(OrderViewSchema)
def get_order(query: dict[str, Any], order_ref: str) -> Response:
    """One order as it stands, with the result of its newest revision and its ETag."""
    media.wanted(request, (media.JSON,))

    def look(tx: sa.Connection) -> Response:
        order = the_order(tx, caller(), order_ref, firm=query.get("firm"))
        return tagged(Response(order_view(tx, order), mimetype=media.JSON), order)

    response = desk().store.read(look)
    response.headers["Cache-Control"] = "private, no-cache"
    return conditional(response)


@orders.call("/v1/orders/<order:order_ref>", methods=["PUT"], parameters=[ORDER_REF])
@described(
    call="reviseOrder",
    requestBody={
        "required": True,
        "description": "The order as it is now: JSON, or a sheet that holds this order alone. JSON may have "
        "a member already_cut besides, a list of openings, which is needed once a list was released.",
        "content": {
            media.JSON: {"schema": {"$ref": "#/components/schemas/Order"}},
            media.CSV: BODY["content"][media.CSV],
        },
    },
    responses={
        200: {
            "description": "Its result, as the newest revision; ETag is set.",
            "content": {media.JSON: {"schema": {"$ref": "#/components/schemas/Result"}}},
        }
    },
    fails=(400, 404, 406, 409, 412, 413, 415, 422, 428),
)
@orders.reads(ReviseQuerySchema)
def revise_order(query: dict[str, str], order_ref: str) -> Response:
    """Takes a re-survey: a new revision of the order, in the place of what it was.

    Answers that were given are kept and count where the measured value is the same. If-Match names the state
    that is revised. Once a list was released, already_cut says what of it is cut.
    """
    own_desk, shared = desk(), parts()
    media.wanted(request, (media.JSON,))
    delimiter, stated = query.pop("delimiter", None), query.pop("already_cut", None)
    form = media.body_form(request, read={media.JSON: "json", media.CSV: "csv"})
    look = holds(is_needed=True)
    cut: tuple[str, ...] | None = None
    if form.kind == "json":
        if stated is not None:
            detail = "JSON has already_cut as a list in the body."
            raise ProblemError(
                "bad-parameter", detail, errors=[ErrorItem(detail, "Move it.", parameter="already_cut")]
            )
        raw = read_one(shared)
        cut = _already_cut(raw.data)
    else:
        raw = _only_order(form, query, delimiter)
        if stated is not None:
            cut = (
                ()
                if stated.strip() == "none"
                else tuple(part.strip() for part in stated.split(",") if part.strip())
            )
    keeper = _keeper(query)
    kept = own_desk.revise(caller(), order_ref, raw, keeper.defaults, holds=look, already_cut=cut)
    keeper.count(kept)
    return kept_response(kept)


def _already_cut(data: dict[str, Any]) -> tuple[str, ...] | None:
    """What a body says is cut, taken out of it, as it is no part of an order."""
    cut = data.pop("already_cut", None)
    if cut is None:
        return None
    text = Text(most=80)
    if not isinstance(cut, list) or len(cut) > _MOST_CUT or not all(map(text.accepts, cut)):
        detail = f"It is no list of up to {_MOST_CUT} names of openings."
        raise ProblemError(
            "body-not-usable",
            "What is cut already cannot be read.",
            errors=[ErrorItem(detail, "List the openings that are cut.", "value-unreadable", "/already_cut")],
        )
    return tuple(dict.fromkeys(cut))


def _only_order(form: media.BodyForm, query: dict[str, str], delimiter: str | None) -> RawOrder:
    """The one order of a sheet. Raises ProblemError."""
    records = read_sheet(form, parts(), supplied=query, delimiter=delimiter)
    unreadable = next((each for each in records if isinstance(each, Unreadable)), None)
    if unreadable is not None:
        raise ProblemError.of(of_refused(unreadable))
    found = [each for each in records if isinstance(each, RawOrder)]
    if len(found) != 1:
        detail = f"The sheet holds {len(found)} orders; one is due."
        raise ProblemError.of(
            Problem(PROBLEMS["not-an-order"], detail, (ErrorItem(detail, "Send this order alone."),))
        )
    return found[0]
