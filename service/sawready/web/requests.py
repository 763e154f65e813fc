"""What every request goes through: its number, its log line, the headers of its answer."""

import re
import sys
import time
import traceback
import uuid
from pathlib import PurePath
from typing import Any, Final, TextIO

import orjson
import structlog
from flask import Flask, Response, g, request
from werkzeug.exceptions import HTTPException

from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.settings import Settings
from sawready.web import problems
from sawready.web.media import HTML
from sawready.web.parts import Parts
from sawready.web.problems import ErrorItem, Problem, ProblemError

REQUEST_ID: Final = "X-Request-Id"
METHODS: Final = ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS")
"""Methods that some call takes; any other is named "other" in logs and counts."""

_SANE_ID: Final = re.compile(r"[A-Za-z0-9._-]{1,64}", re.ASCII)
_TRACE_PARENT: Final = re.compile(r"[0-9a-f]{2}-([0-9a-f]{32})-[0-9a-f]{16}-[0-9a-f]{2}", re.ASCII)
_HOST: Final = re.compile(r"(\[[0-9a-f:.]{2,45}\]|[a-z0-9._-]{1,253})(?::[0-9]{1,5})?", re.ASCII)
_FRAMES: Final = 12
_TROUBLES: Final = 10

_PAGE_POLICY: Final = (
    "default-src 'none'; style-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
_DATA_POLICY: Final = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'"


def make_log(stream: TextIO | None) -> Any:
    """A log that writes one JSON object a line; to standard error where the stream is None."""
    return structlog.wrap_logger(
        structlog.PrintLogger(stream or sys.stderr),
        processors=[
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.JSONRenderer(),
        ],
    )


def request_id() -> str:
    """Number of the request at hand."""
    number: str = g.request_id
    return number


def follow_requests(app: Flask, shared: Parts, *, log: TextIO | None) -> None:
    """Gives every request its number, its headers, its log line and its counts.

    The log names the call, never what a customer sent: no address beyond the call's own form, no
    parameter, no body, no message of an exception.

    Args:
        app: the application.
        shared: its parts.
        log: where log lines go; standard error where None.
    """
    logger = make_log(log)

    @app.before_request
    def begin() -> None:
        g.began = time.perf_counter()
        g.troubles = []
        sent = request.headers.get(REQUEST_ID, "")
        g.request_id = sent if _SANE_ID.fullmatch(sent) else uuid.uuid4().hex
        _refuse_host(shared.settings)
        _refuse_parameters(app)

    @app.after_request
    def end(response: Response) -> Response:
        _set_headers(response)
        entry = _entry(response)
        began, troubles = g.began, g.troubles

        def finish() -> None:
            if troubles:
                entry["troubles"] = troubles[:_TROUBLES]
            seconds = time.perf_counter() - began
            shared.metrics.requests.labels(entry["call"], entry["method"], str(entry["status"])).inc()
            shared.metrics.seconds.labels(entry["call"]).observe(seconds)
            if shared.settings.log_requests:
                logger.info("request", **entry, ms=round(1000 * seconds, 2))

        response.call_on_close(finish)
        return response

    app.register_error_handler(Exception, failure_response)


def _refuse_host(settings: Settings) -> None:
    """Refuses requests that are addressed to a name which this service does not answer for.

    Else a page of anybody's could have its own name lead to this machine, and read the answers.

    Raises: ProblemError, status 400.
    """
    stated = request.environ.get("HTTP_HOST")
    if stated is None and request.environ.get("SERVER_PROTOCOL") != "HTTP/1.1":
        return  # RFC 9112, section 3.2: only HTTP/1.1 needs it
    match = _HOST.fullmatch((stated or "").lower())
    if match is None or match.group(1) not in settings.host_names:
        raise ProblemError("bad-request", "The request is addressed to a name that is not answered for here.")


def _refuse_parameters(app: Flask) -> None:
    """Refuses parameters on a call that takes none; the others refuse what they do not know themselves.

    Raises: ProblemError, status 400.
    """
    if not request.args or request.endpoint is None or not request.path.startswith("/v1/"):
        return
    view = app.view_functions[request.endpoint]
    if "arguments" not in getattr(view, "_apidoc", {}):
        raise ProblemError(
            "bad-parameter",
            "The call takes no parameters.",
            errors=[
                ErrorItem("It is unknown here.", "Leave it out.", "field-unknown", parameter=name[:60])
                for name in request.args
            ],
        )


def _set_headers(response: Response) -> None:
    headers = response.headers
    headers[REQUEST_ID] = g.request_id
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "no-referrer"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    policy = _PAGE_POLICY if response.mimetype == HTML else _DATA_POLICY
    headers.setdefault("Content-Security-Policy", policy)  # the office page has its own, for its forms
    headers.setdefault("Cache-Control", "no-store")


def _entry(response: Response) -> dict[str, Any]:
    """What the log says of a request."""
    entry: dict[str, Any] = {
        "request_id": g.request_id,
        "call": "none" if request.url_rule is None else request.url_rule.rule,
        "method": request.method if request.method in METHODS else "other",
        "status": response.status_code,
        "bytes_in": request.content_length,
    }
    caller = g.get("caller")
    if caller is not None:
        entry["key"] = caller.key_id
    trace = _TRACE_PARENT.fullmatch(request.headers.get("traceparent", ""))
    if trace is not None:
        entry["trace_id"] = trace.group(1)
    return entry


def failure_response(error: Exception) -> Response:
    """The answer to an exception: its problem, that of an HTTP error, or a failure of our own."""
    if isinstance(error, ProblemError):
        return problem_response(error.problem)
    if isinstance(error, RefusedError):
        return problem_response(problems.of_refusal(error))
    if isinstance(error, StoreError):
        g.troubles.append(told(error.__cause__ or error))
        return problem_response(problems.out_of_reach())
    original = getattr(error, "original_exception", None)
    if isinstance(error, HTTPException) and original is None:
        return problem_response(problems.of_http(error))
    g.troubles.append(told(original or error))
    return problem_response(
        Problem(problems.PROBLEMS["internal-error"], "The service failed; what was sent is not at fault.")
    )


def problem_response(problem: Problem) -> Response:
    """A problem as an answer."""
    response = Response(orjson.dumps(problem.as_dict(g.get("request_id"))), status=problem.kind.status)
    response.headers["Content-Type"] = problems.MEDIA_TYPE
    response.headers.update(problem.headers)
    return response


def told(error: BaseException) -> dict[str, Any]:
    """An exception for the log: its kind and where it came from, but not its message, which may quote."""
    frames = traceback.extract_tb(error.__traceback__)[-_FRAMES:]
    return {
        "kind": type(error).__name__,
        "at": [f"{PurePath(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames],
    }
