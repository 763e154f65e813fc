"""What every page of the office has: who may see it, its policy, its frame, and what a failure looks like."""

from typing import Any, Final

from flask import Blueprint, Response, g, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge
from werkzeug.wrappers import Response as AnyResponse

from sawready.desk.refusals import RefusedError
from sawready.errors import SettingsError, StoreError
from sawready.version import VERSION
from sawready.web import office_session, problems
from sawready.web.media import HTML
from sawready.web.office_session import office, visitor
from sawready.web.office_upload import Upload
from sawready.web.parts import parts
from sawready.web.problems import Problem, ProblemError
from sawready.web.requests import told

POLICY: Final = (
    "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""Content security policy of these pages: our own style sheet, our own forms, nothing else."""

MAP: Final = "columns.yaml"

_FIELDS: Final = 200
_SPARE: Final = 64 * 1024
_OPEN: Final = frozenset({"office.give_style", "office.ask_for_key", "office.take_key"})

blueprint = Blueprint("office", __name__)

Faults = list[tuple[str, str]]
"""What is wrong with a form: the field, and a sentence."""


@blueprint.before_request
def begin() -> AnyResponse | None:
    """Lets people in who may be in, and forms that are from here."""
    most = parts().settings.most_json_bytes
    request.max_content_length = 2 * most + _SPARE
    request.max_form_memory_size = most + _SPARE
    request.max_form_parts = _FIELDS
    if request.endpoint == "office.give_style":
        return None
    office_session.find_visitor()
    if request.method == "POST":
        office_session.refuse_strange_form()
    if g.office_caller is None and request.endpoint not in _OPEN:
        return redirect(url_for("office.ask_for_key"), 303)
    return None


@blueprint.after_request
def end(response: Response) -> Response:
    """Gives the pages their policy, and the visitor the cookie; what was sent has been read by now."""
    request.close()
    if response.mimetype == HTML:
        response.headers["Content-Security-Policy"] = POLICY
    office_session.set_cookie(response)
    return response


@blueprint.errorhandler(Exception)
def failed(error: Exception) -> Response:
    """Any failure as a page."""
    problem = _problem(error)
    told_of = page("failure.html", problem=problem)
    told_of.status_code = problem.kind.status
    told_of.headers.update(
        {name: value for name, value in problem.headers.items() if name != "WWW-Authenticate"}
    )
    return told_of


def _problem(error: Exception) -> Problem:
    if isinstance(error, ProblemError):
        return error.problem
    if isinstance(error, RefusedError):
        return problems.of_refusal(error)
    if isinstance(error, StoreError):
        g.troubles.append(told(error.__cause__ or error))
        return problems.out_of_reach()
    if isinstance(error, SettingsError):
        return Problem(problems.PROBLEMS["body-not-usable"], str(error))
    if isinstance(error, RequestEntityTooLarge):
        return Problem(problems.PROBLEMS["body-too-large"], too_large())
    if isinstance(error, HTTPException):
        return problems.of_http(error)
    g.troubles.append(told(error))
    return Problem(problems.PROBLEMS["internal-error"], "The service failed; what was sent is not at fault.")


def page(template: str, *, faults: Faults | None = None, **facts: Any) -> Response:
    """A page of the office; status 422 where something has to be corrected on it.

    Args:
        template: its template.
        faults: what is wrong with the form that was sent.
        facts: what the template needs.
    """
    written = render_template(
        f"office/{template}",
        version=VERSION,
        faults=faults or [],
        fault_of=dict(reversed(faults or [])),
        mark=office_session.form_mark() if "office_cookie" in g else "",
        has_keys=g.get("office_has_keys", False),
        caller=g.get("office_caller"),
        **facts,
    )
    return Response(written, 422 if faults else 200, mimetype=HTML)


def too_large() -> str:
    """What is said of a file over the limit."""
    most = parts().settings.most_json_bytes
    return (
        f"The page takes a file of up to {most / 1024:,.0f} KiB. Check a larger one with the command "
        "sawready check, or send it to the service in parts."
    )


def upload_of(token: str) -> Upload:
    """An upload of the visitor's own firm. Raises ProblemError, status 404, for any other."""
    content = office().shelf.get("upload", token)
    upload = None if content is None else Upload.unpacked(content)
    if upload is None or upload.owner != visitor().firm:
        raise ProblemError(
            "not-found", "There is no such upload, or it is no longer kept. Upload the file again."
        )
    return upload
