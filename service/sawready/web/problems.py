"""One shape for every error: problem details, each type with a page of its own.

Source: RFC 9457 (problem details), RFC 6901 section 6 (pointers as URI fragments), RFC 9110 section 15.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from werkzeug.exceptions import HTTPException, MethodNotAllowed

from sawready.desk.refusals import RefusedError
from sawready.errors import ServiceError, UnreadableError
from sawready.model.finding import Cell
from sawready.model.pointer import fragment
from sawready.readers.fault import Fault, FaultError
from sawready.readers.raw import Unreadable
from sawready.report.result_schema import REASON_PATTERN, CellSchema, Written, like, many, some, text, whole

MEDIA_TYPE: Final = "application/problem+json"
TYPE_PREFIX: Final = "/problems/"


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """A kind of problem; its name never changes its meaning.

    Attributes:
        name: the last part of its ``type``.
        status: HTTP status.
        title: a few words, always the same.
        meaning: when it is answered and what to do; the text of its page.
    """

    name: str
    status: int
    title: str
    meaning: str

    @property
    def type(self) -> str:
        """The ``type`` member: a reference that leads to the page of this kind."""
        return TYPE_PREFIX + self.name


_KINDS: Final = (
    ProblemKind(
        "unreadable-body",
        400,
        "The body cannot be read",
        "The bytes are no JSON, no sheet or no line of JSON, or hold something that is refused on purpose: a "
        "member given twice, NaN, nesting deeper than 32, control characters, an unclosed quote. The errors "
        "name place, value and remedy. Correct the body and send it again.",
    ),
    ProblemKind(
        "bad-parameter",
        400,
        "A parameter cannot be used",
        "A parameter of the address is unknown, given twice, or has a value that is none of those it takes. "
        "Unknown parameters are refused, as a misspelt unit would otherwise be passed over. Correct the "
        "address.",
    ),
    ProblemKind(
        "bad-request",
        400,
        "The request cannot be understood",
        "The request is no proper HTTP request, is cut off, or is addressed to a host name that this service "
        "does not answer for. Check address and client.",
    ),
    ProblemKind(
        "key-needed",
        401,
        "A key is needed",
        "The call needs a key in the header Authorization, as Bearer and the key, and there is none, or it "
        "is unknown, ended or revoked. Ask whoever runs the service for a key.",
    ),
    ProblemKind(
        "forbidden",
        403,
        "Not open to this caller",
        "The role of the key does not do this, or what was asked for is answered on the machine itself only. "
        "The detail says who does.",
    ),
    ProblemKind(
        "not-found",
        404,
        "Nothing has this address",
        "No call, profile system, rulebook, reason, order, job or page has this address or name. Check it "
        "against the documentation, and names against the lists. Jobs are removed some time after they end.",
    ),
    ProblemKind(
        "method-not-allowed",
        405,
        "The address does not take this method",
        "The address exists, but not for this method. The header Allow lists those that it takes.",
    ),
    ProblemKind(
        "not-acceptable",
        406,
        "None of the accepted media types can be given",
        "The header Accept asks for media types that this call does not answer. The detail lists those that "
        "it does.",
    ),
    ProblemKind(
        "order-exists",
        409,
        "Another order of this name is kept",
        "An order of this name is kept already and differs from what was sent. The same sheet again is no "
        "problem: it is answered as it is kept. A re-survey is sent with PUT and If-Match.",
    ),
    ProblemKind(
        "answer-refused",
        409,
        "The answer settles no query",
        "There is no such query, or it is about another value by now, or the opening is rejected, which no "
        "answer settles. Read the order's result and answer what it asks.",
    ),
    ProblemKind(
        "release-refused",
        409,
        "Nothing is released to the saw",
        "The errors name each reason. rejected: the order must not be cut. queried: a person answers first. "
        "superseded: a newer revision has come. already-released: it was released once, and is not a second "
        "time. digest-unknown: no revision has this digest. figures-changed: a profile system or rulebook "
        "has changed since the order was checked. Nothing was changed; do not cut.",
    ),
    ProblemKind(
        "list-not-released",
        409,
        "The list is not released",
        "A factory gets lists that are released and not superseded. Ask for the release first. Only the "
        "order's own firm sees lists before that.",
    ),
    ProblemKind(
        "bars-refused",
        409,
        "The orders cannot be planned together",
        "The errors name each order that keeps the bars from being planned, and why: it is not released, was "
        "superseded, is named twice, several firms have one of its name, or it comes to another result by now; "
        "or the orders are too many for one plan, or use one name for profiles of two systems. Nothing was "
        "planned, as a plan that left an order out would be taken for the whole.",
    ),
    ProblemKind(
        "no-result",
        409,
        "The job has no result",
        "The job waits, is being worked on, or has failed; GET /v1/jobs/{job_id} says which, and why it "
        "failed. The header Retry-After says when to look again.",
    ),
    ProblemKind(
        "cut-not-stated",
        409,
        "What is cut already is not stated",
        "A list of this order was released, so its pieces may be cut. A re-survey says in already_cut which "
        "openings are; an empty list says that none is. Ask the factory.",
    ),
    ProblemKind(
        "several-firms",
        409,
        "Several firms have an order of this name",
        "A factory serves several firms, and more than one has an order of this name. Name the firm in the "
        "parameter firm.",
    ),
    ProblemKind(
        "precondition-failed",
        412,
        "The order has changed since it was read",
        "The entity tag in If-Match is not that of the order as it stands: somebody has revised, answered or "
        "released it meanwhile. Read the order again and decide anew.",
    ),
    ProblemKind(
        "body-too-large",
        413,
        "The body is too large",
        "The body has more bytes than this call takes. Send orders as a stream of lines, or in several "
        "requests.",
    ),
    ProblemKind(
        "unsupported-media-type",
        415,
        "The body has a media type that is not read",
        "The header Content-Type is missing or names a form that this call does not read, or the body is "
        "compressed. The header Accept lists the media types that are read.",
    ),
    ProblemKind(
        "not-an-order",
        422,
        "The body is not an order",
        "The body can be read but is no order at all: no object, or one without a list of 1 to 500 openings. "
        "An order with faults in it is no problem of this kind: it is checked, and its result says what is "
        "wrong.",
    ),
    ProblemKind(
        "body-not-usable",
        422,
        "The body cannot be used",
        "The body can be read, but members are missing, unknown, or have values that cannot be used. The "
        "errors name each with its place.",
    ),
    ProblemKind(
        "key-reused",
        422,
        "The Idempotency-Key was used for something else",
        "The same Idempotency-Key came with another body before. Choose a new one for each thing to be done, "
        "and the same one only to repeat it.",
    ),
    ProblemKind(
        "precondition-required",
        428,
        "If-Match is missing",
        "A change of an order names the state that it is about: read the order, and send its ETag in "
        "If-Match.",
    ),
    ProblemKind(
        "too-many-requests",
        429,
        "Too many requests",
        "The key has made as many requests as it may for now. The header Retry-After says when to go on.",
    ),
    ProblemKind(
        "too-many-jobs",
        429,
        "The firm has as many jobs as it may",
        "The firm has as many jobs waiting and running, or kept, as the service takes. The header Retry-After "
        "says when to ask again; the same work that was asked for already is answered with its job.",
    ),
    ProblemKind(
        "internal-error",
        500,
        "The service failed",
        "The fault is in the service and not in what was sent. The log holds more under the request's "
        "number. Nothing was cut, kept or released.",
    ),
    ProblemKind(
        "unavailable",
        503,
        "The service cannot answer now",
        "Something that the service needs is out of reach. Try again later.",
    ),
)

PROBLEMS: Final[Mapping[str, ProblemKind]] = {kind.name: kind for kind in _KINDS}
"""Every kind of problem by its name."""

_BY_STATUS: Final = {kind.status: kind for kind in reversed(_KINDS) if kind.name != "bad-parameter"} | {
    400: PROBLEMS["bad-request"]
}


class ErrorItemSchema(Written):
    """One fault of a request, with its place."""

    pointer = text("Place in the JSON body, a pointer in the form of a URI fragment.", or_null=True)
    cell = some(CellSchema, "Line and column in a sheet or text.", or_null=True)
    parameter = text("The parameter of the address, or the header.", or_null=True)
    reason = like(
        REASON_PATTERN,
        "Name in the catalogue of reasons, or on the page of the problem, where it has one.",
        or_null=True,
    )
    detail = text("Place and value in a sentence.")
    remedy = text("What to do.", or_null=True)


class ProblemSchema(Written):
    """Problem details (RFC 9457)."""

    type = text("Kind of problem; leads to its page.", metadata={"format": "uri-reference"})
    title = text("The kind in a few words.")
    status = whole("HTTP status.", least=400)
    detail = text("What is wrong this time.")
    instance = text("Number of the request, as in the header X-Request-Id.", or_null=True)
    errors = many(ErrorItemSchema, "Each fault with its place.")


@dataclass(frozen=True, slots=True)
class ErrorItem:
    """One fault of a request; see ErrorItemSchema."""

    detail: str
    remedy: str | None = None
    reason: str | None = None
    pointer: str | None = None
    cell: Cell | None = None
    parameter: str | None = None

    def as_dict(self) -> dict[str, Any]:
        """The published form, keys in schema order."""
        return {
            "pointer": None if self.pointer is None else fragment(self.pointer),
            "cell": None if self.cell is None else self.cell.as_dict(),
            "parameter": self.parameter,
            "reason": self.reason,
            "detail": self.detail,
            "remedy": self.remedy,
        }


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one request, or with one of many orders in it."""

    kind: ProblemKind
    detail: str
    errors: tuple[ErrorItem, ...] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    def as_dict(self, instance: str | None) -> dict[str, Any]:
        """The published form.

        Args:
            instance: number of the request.
        """
        return {
            "type": self.kind.type,
            "title": self.kind.title,
            "status": self.kind.status,
            "detail": self.detail,
            "instance": instance,
            "errors": [error.as_dict() for error in self.errors],
        }


class ProblemError(ServiceError):
    """Ends a request with a problem."""

    def __init__(
        self,
        name: str,
        detail: str,
        *,
        errors: Iterable[ErrorItem] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.problem = Problem(PROBLEMS[name], detail, tuple(errors), headers or {})

    @classmethod
    def of(cls, problem: Problem) -> "ProblemError":
        """Ends a request with a problem that is made already."""
        error = cls(problem.kind.name, problem.detail)
        error.problem = problem
        return error


def of_unreadable(trouble: UnreadableError) -> Problem:
    """The problem of bytes that a door refuses."""
    cell = None if trouble.line is None else Cell(trouble.line, trouble.column)
    fact = trouble.fault if isinstance(trouble, FaultError) else None
    error = ErrorItem(
        detail=trouble.detail if fact is None else fact.detail,
        remedy=None if fact is None else fact.remedy,
        reason=trouble.reason,
        pointer=trouble.pointer,
        cell=cell,
    )
    return Problem(PROBLEMS["unreadable-body"], trouble.detail, (error,))


def of_no_order(fault: Fault) -> Problem:
    """The problem of a body that can be read but is no order at all."""
    remedy = fault.remedy if fault.pointer else "Send one order object, or many as lines of JSON."
    error = ErrorItem(fault.detail, remedy, "row-unreadable", fault.pointer or "")
    return Problem(PROBLEMS["not-an-order"], f"{fault.detail} {remedy}", (error,))


def of_refused(refused: Unreadable) -> Problem:
    """The problem of one row, line or order that a door refuses while the rest goes on."""
    line = refused.first_line if refused.line is None else refused.line
    error = ErrorItem(
        detail=refused.detail,
        remedy=refused.remedy,
        reason=refused.reason,
        pointer=refused.pointer,
        cell=None if line is None else Cell(line, refused.column),
    )
    where = "" if line is None else f"Line {line}: "
    return Problem(PROBLEMS["unreadable-body"], f"{where}{refused.detail}", (error,))


def of_http(error: HTTPException) -> Problem:
    """The problem of an error that the framework itself raises."""
    status = error.code or 500
    if status in _BY_STATUS:
        kind = _BY_STATUS[status]
    elif 400 <= status < 500:
        kind = PROBLEMS["bad-request"]
    else:
        kind = PROBLEMS["internal-error"]
    headers: dict[str, str] = {}
    detail = f"{kind.title}."
    if status == 404:
        detail = "Nothing has this address; /docs lists what there is."
    if isinstance(error, MethodNotAllowed):
        allowed: Sequence[str] = sorted(error.valid_methods or ())
        headers["Allow"] = ", ".join(allowed)
        detail = f"The address takes {', '.join(allowed)}."
    return Problem(kind, detail, (), headers)


def of_refusal(refused: RefusedError) -> Problem:
    """The problem of what the desk refuses."""
    errors = tuple(
        ErrorItem(why.detail, why.remedy, why.reason, why.pointer, None, why.parameter)
        for why in refused.whys
    )
    return Problem(PROBLEMS[refused.name], refused.detail, errors)


def out_of_reach() -> Problem:
    """The problem of a store that cannot be used."""
    detail = "The store of orders cannot be used now; nothing of this request was kept."
    return Problem(PROBLEMS["unavailable"], detail, (), {"Retry-After": "5"})
