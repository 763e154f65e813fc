"""Bars for one order or many, at once or as a job: /v1/bars, /v1/orders/{order_ref}/bars, /v1/jobs/{job_id}."""

from collections.abc import Mapping
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any, Final, NoReturn

import orjson
import sqlalchemy as sa
from flask import Response, request

from sawready.calc.nesting import OldOffcut
from sawready.desk.bar_plans import (
    QUICK_WORK,
    Lists,
    WantedOrder,
    WantedPlan,
    plan_document,
    read_lists,
)
from sawready.desk.caller import Caller
from sawready.desk.job_work import caller_dict
from sawready.desk.refusals import RefusedError, Why
from sawready.report import bar_plan
from sawready.store import jobs
from sawready.store.clock import FORM
from sawready.store.jobs import Job, NewJob, TooManyError
from sawready.web import media
from sawready.web.api import REFERENCES, described, in_path
from sawready.web.bar_schemas import EXAMPLE_BARS, BarsRequestSchema
from sawready.web.desk_schemas import ListQuerySchema
from sawready.web.orders import ORDER_REF, orders
from sawready.web.parts import parts
from sawready.web.problems import ProblemError, of_refusal
from sawready.web.views import caller, content_digest, csv_bytes, desk, needs, small_body

_NM: Final = 1_000_000
_BODY: Final = BarsRequestSchema()
_COLUMNS: Final = (*bar_plan.COLUMNS, "colour", "firm")

RESPOND_ASYNC: Final = "respond-async"
LOOK_AGAIN_S: Final = 2
"""What Retry-After says of a job: most take a few seconds. [s]"""

JOB_ID: Final = in_path("job_id", "Number of the job.")

_PLAN: Final[dict[str, Any]] = {
    media.JSON: {"schema": {"$ref": f"{REFERENCES}BarPlan"}},
    media.CSV: {"schema": {"type": "string", "description": "A row a piece, in the order of cutting."}},
}
_JOB: Final[dict[str, Any]] = {media.JSON: {"schema": {"$ref": f"{REFERENCES}Job"}}}
_LOCATION: Final[dict[str, Any]] = {
    "Location": {"description": "Where to look.", "schema": {"type": "string", "format": "uri-reference"}}
}
_ANSWERS: Final[dict[int, Any]] = {
    200: {
        "description": "The plan: bars with their pieces, a proved least number of bars beside each profile. "
        "limit_fired says where a longer search might save a bar; a job searches longer.",
        "content": _PLAN,
    },
    202: {
        "description": "A job does it; Location leads there. The same work that was asked for before is "
        "answered with its job.",
        "headers": _LOCATION,
        "content": _JOB,
    },
    303: {
        "description": "A job has done this very work already; Location leads to its result.",
        "headers": _LOCATION,
        "content": _JOB,
    },
}


def prefers_async() -> bool:
    """Whether the caller would rather have a job (RFC 7240).

    Each preference may carry a value and parameters, and several header fields count as one.
    """
    stated = ",".join(request.headers.getlist("Prefer"))
    names = (part.split(";")[0].split("=")[0].strip().lower() for part in stated.split(","))
    return RESPOND_ASYNC in names


@orders.call("/v1/bars", methods=["POST"])
@described(
    call="planBars",
    requestBody={
        "required": True,
        "description": "The orders, and what differs from the usual saw.",
        "content": {
            media.JSON: {"schema": {"$ref": f"{REFERENCES}BarsRequest"}, "example": EXAMPLE_BARS},
        },
    },
    responses=_ANSWERS,
    fails=(400, 404, 406, 409, 413, 415, 422),
)
def plan_bars() -> Response:
    """The pieces of many orders on stock bars, planned together by profile and colour.

    Who may read an order's cutting list may plan it. One order that cannot be planned refuses all, with the
    reason of each. Each piece names its firm, order, opening and part. A large plan, and any with Prefer:
    respond-async, becomes a job (202); a firm has only so many at a time (429).
    """
    answered = _answered()
    body = small_body(_BODY)
    wanted = WantedPlan(
        tuple(
            WantedOrder(
                each["order_ref"],
                each.get("firm"),
                None if each.get("revision") is None else int(each["revision"]),
            )
            for each in body["orders"]
        ),
        bar_mm=_length(body, "bar_mm"),
        kerf_mm=_length(body, "kerf_mm"),
        trim_mm=_length(body, "trim_mm"),
        keep_mm=_length(body, "keep_mm"),
        offcuts=tuple(
            OldOffcut(
                each["profile"],
                round(Fraction(str(each["length_mm"]).strip()) * _NM),
                int(each.get("quantity", 1)),
                each.get("colour"),
            )
            for each in body.get("offcuts", ())
        ),
    )
    return _plan(wanted, answered)


def _length(body: Mapping[str, Any], name: str) -> Fraction | None:
    """A length of the body, exactly; None where it has none. [mm]."""
    return Fraction(str(body[name]).strip()) if name in body else None


def _answered() -> str:
    """The form of the answer; refuses where this service plans no bars."""
    answered = media.wanted(request, (media.JSON, media.CSV))
    needs(("numpy", "highspy"), "plans no bars")
    return answered


@orders.call("/v1/orders/<path:order_ref>/bars", parameters=[ORDER_REF])
@described(call="getBars", responses=_ANSWERS, fails=(400, 404, 406, 409))
@orders.reads(ListQuerySchema)
def get_bars(query: dict[str, Any], order_ref: str) -> Response:
    """The cutting list on stock bars, with the fewest bars; whoever may read the list may read it.

    A large one, and any with Prefer: respond-async, becomes a job, as with POST /v1/bars.
    """
    answered = _answered()
    number = None if "revision" not in query else int(query["revision"])
    wanted = WantedPlan((WantedOrder(order_ref, query.get("firm"), number),), is_listed=False)
    return _plan(wanted, answered)


def _plan(wanted: WantedPlan, answered: str) -> Response:
    """The plan where it is small, else the job that makes it."""
    lists = read_lists(desk(), caller(), wanted)
    is_preferred = prefers_async()
    if is_preferred or lists.pieces > parts().settings.bars_at_once:
        response = _queued(wanted, lists)
        if is_preferred:
            response.headers["Preference-Applied"] = RESPOND_ASYNC
        return response
    document = plan_document(desk(), caller(), wanted, work=QUICK_WORK)
    return _plan_response(orjson.dumps(document), document, answered)


def _plan_response(written: bytes, document: Mapping[str, Any] | None, answered: str) -> Response:
    """A plan in the form that is wanted."""
    if answered == media.JSON:
        response = Response(written, mimetype=media.JSON)
    else:
        plan = orjson.loads(written) if document is None else document
        written = csv_bytes(_COLUMNS, bar_plan.document_rows(plan))
        response = Response(written, content_type=f"{media.CSV}; charset=utf-8; header=present")
    response.headers["Content-Digest"] = content_digest(written)
    response.headers["Vary"] = "Accept"
    return response


def _queued(wanted: WantedPlan, lists: Lists) -> Response:
    """The job that makes a plan, or its result where that is there already."""
    who = caller()
    new = NewJob(
        kind="bars",
        firm=who.firm,
        key_id=who.key_id,
        firms=lists.firms,
        fingerprint=lists.fingerprint(wanted),
        request=orjson.dumps({"caller": caller_dict(who), "plan": wanted.as_dict()}),
        orders=len(lists.found),
        pieces=lists.pieces,
    )
    per_firm = parts().settings.jobs_per_firm
    try:
        job = desk().store.write(lambda tx: jobs.add(tx, new, per_firm=per_firm))
    except TooManyError as trouble:
        _refuse_more(trouble, per_firm)
    if job.state == "done":
        return _job_response(job)
    response = Response(orjson.dumps(job_view(job)), status=202, mimetype=media.JSON)
    response.headers["Location"] = _address(job)
    response.headers["Retry-After"] = str(LOOK_AGAIN_S)
    return response


def _refuse_more(trouble: TooManyError, per_firm: int) -> NoReturn:
    if not trouble.is_kept:
        raise ProblemError(
            "too-many-jobs",
            f"The firm has {per_firm} jobs waiting and running, which are the most.",
            headers={"Retry-After": "10"},
        )
    wait_s = 60
    if trouble.until is not None:
        until = datetime.strptime(trouble.until, FORM).replace(tzinfo=UTC)
        wait_s = max(1, round((until - datetime.now(UTC)).total_seconds()))
    raise ProblemError(
        "too-many-jobs",
        f"The firm has {jobs.MOST_KEPT} jobs that are kept, which are the most; the oldest goes first.",
        headers={"Retry-After": str(wait_s)},
    )


def _address(job: Job) -> str:
    return f"/v1/jobs/{job.job_id}"


def job_view(job: Job) -> dict[str, Any]:
    """A job as it is published."""
    problem = None
    if job.problem is not None:
        said = orjson.loads(job.problem)
        refused = RefusedError(said["name"], said["detail"], [Why(**why) for why in said["whys"]])
        problem = of_refusal(refused).as_dict(None)
    return {
        **{name: getattr(job, name) for name in _SHOWN},
        "result": f"{_address(job)}/result" if job.state == "done" else None,
        "problem": problem,
    }


_SHOWN: Final = (
    "job_id", "kind", "state", "orders", "pieces", "bars", "attempt", "asked_at", "begun_at", "ended_at",
    "kept_until",
)  # fmt: skip


def _sees(who: Caller, job: Job) -> bool:
    """Whether a job is shown: to keys of the firm that asked, if they see all of its orders."""
    return job.firm == who.firm and all(map(who.sight.sees, job.firms))


def _the_job(job_id: str) -> Job:
    """A job that the caller sees. Raises RefusedError, as for one that is not there."""

    def look(tx: sa.Connection) -> Job | None:
        return jobs.find(tx, job_id)

    job = desk().store.read(look)
    if job is None or not _sees(caller(), job):
        raise RefusedError("not-found", "No job of this number is here; jobs are removed after their time.")
    return job


def _job_response(job: Job) -> Response:
    """A job as it stands; one that is done leads to its result."""
    response = Response(orjson.dumps(job_view(job)), mimetype=media.JSON)
    if job.state == "done":
        response.status_code = 303
        response.headers["Location"] = f"{_address(job)}/result"
    elif job.state in ("waiting", "running"):
        response.headers["Retry-After"] = str(LOOK_AGAIN_S)
    return response


@orders.call("/v1/jobs/<string:job_id>", parameters=[JOB_ID])
@described(
    call="getJob",
    responses={
        200: {
            "description": "It waits, runs, or has failed; Retry-After says when to look again.",
            "content": _JOB,
        },
        303: {
            "description": "It is done; Location leads to its result.",
            "headers": _LOCATION,
            "content": _JOB,
        },
    },
    fails=(404, 406),
)
def get_job(job_id: str) -> Response:
    """How far a job is. It is kept with its result for some hours after it has ended, and then removed.

    A job is seen by the keys of the firm that asked for it, as far as they see its orders.
    """
    media.wanted(request, (media.JSON, media.CSV))  # a client that wants the result as CSV asks for that here
    return _job_response(_the_job(job_id))


@orders.call("/v1/jobs/<string:job_id>/result", parameters=[JOB_ID])
@described(
    call="getJobResult",
    responses={200: {"description": "The plan, as it was when the job ended.", "content": _PLAN}},
    fails=(404, 406, 409),
)
def get_job_result(job_id: str) -> Response:
    """What came of a job that is done. orders says which revisions were planned, and how they stood."""
    answered = media.wanted(request, (media.JSON, media.CSV))
    job = _the_job(job_id)
    if job.state != "done":
        state = {"waiting": "waits", "running": "is being worked on"}.get(job.state, "has failed")
        headers = {} if job.state == "failed" else {"Retry-After": str(LOOK_AGAIN_S)}
        raise ProblemError("no-result", f"The job {state}; {_address(job)} says more.", headers=headers)
    written = desk().store.read(lambda tx: jobs.result(tx, job.job_id))
    if written is None:  # its time was over between the two looks
        raise RefusedError("not-found", "No job of this number is here; jobs are removed after their time.")
    return _plan_response(written, None, answered)
