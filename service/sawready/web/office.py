"""The page for the office: upload, look, answer, take the lists away. Plain pages, no script.

Every address of it is a page for people, so none is in the OpenAPI document: what it does, programs do by
``POST /v1/checks``. Its own guard lets people in (``office_session``).
"""

import importlib.util
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from importlib import resources
from typing import Any, Final

from flask import Blueprint, Response, g, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge
from werkzeug.wrappers import Response as AnyResponse

from sawready.desk.refusals import RefusedError
from sawready.errors import SettingsError, StoreError
from sawready.order_schema import ANSWER
from sawready.readers.column_map import load_column_map
from sawready.readers.columns import REQUIRED
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_svg import drawing_svg
from sawready.report.drawing_words import words_of
from sawready.report.order_places import order_view
from sawready.shape import faults_of
from sawready.version import VERSION
from sawready.web import office_map, office_session, problems
from sawready.web.media import HTML
from sawready.web.office_rows import preview
from sawready.web.office_session import office, visitor
from sawready.web.office_upload import (
    LISTS,
    MOST_ANSWERS,
    Check,
    Outcome,
    Upload,
    kind_of_upload,
    list_bytes,
    tidy_name,
)
from sawready.web.office_view import DECIDED, GROUPS, WORDS, one_opening, shown, shown_opening
from sawready.web.parts import kept, parts
from sawready.web.problems import Problem, ProblemError
from sawready.web.requests import told

POLICY: Final = (
    "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""Content security policy of these pages: our own style sheet, our own forms, nothing else."""

SHEETS: Final = "fitters_sheets.pdf"
MAP: Final = "columns.yaml"

_FIELDS: Final = 200
_SPARE: Final = 64 * 1024
_ZIP: Final = b"PK\x03\x04"
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
    page = _page("failure.html", problem=problem)
    page.status_code = problem.kind.status
    page.headers.update(
        {name: value for name, value in problem.headers.items() if name != "WWW-Authenticate"}
    )
    return page


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
        return Problem(problems.PROBLEMS["body-too-large"], _too_large())
    if isinstance(error, HTTPException):
        return problems.of_http(error)
    g.troubles.append(told(error))
    return Problem(problems.PROBLEMS["internal-error"], "The service failed; what was sent is not at fault.")


def _page(template: str, *, faults: Faults | None = None, **facts: Any) -> Response:
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


def _too_large() -> str:
    most = parts().settings.most_json_bytes
    return (
        f"The page takes a file of up to {most / 1024:,.0f} KiB. Check a larger one with the command "
        "sawready check, or send it to the service in parts."
    )


@blueprint.get("/office/style.css")
def give_style() -> Response:
    """How the pages look."""
    file = resources.files("sawready.web").joinpath("static", "office.css")
    return kept(Response(file.read_bytes(), mimetype="text/css"))


@blueprint.get("/office/key")
def ask_for_key() -> AnyResponse:
    """The page that asks for a key."""
    if g.office_caller is not None:
        return redirect(url_for("office.ask_for_file"), 303)
    return _page("key.html")


@blueprint.post("/office/key")
def take_key() -> AnyResponse:
    """Begins a session."""
    if not office_session.begin_session(request.form.get("key", "").strip()):
        return _page(
            "key.html", faults=[("key", "The key is unknown, ended or revoked. Check it, or ask for one.")]
        )
    return redirect(url_for("office.ask_for_file"), 303)


@blueprint.post("/office/leave")
def leave() -> AnyResponse:
    """Ends the session."""
    office_session.end_session()
    return redirect(url_for("office.ask_for_file"), 303)


@blueprint.get("/")
def ask_for_file() -> Response:
    """The form to upload an order."""
    return _ask_for_file({}, [])


def _ask_for_file(given: Mapping[str, str], faults: Faults) -> Response:
    return _page("upload.html", faults=faults, given=given, choices=_caller_choices(), most=_too_large())


def _caller_choices() -> dict[str, tuple[str, ...]]:
    catalogue = parts().catalogue
    return {**office_map.CHOICES, "system": catalogue.systems, "rulebook": catalogue.rulebooks}


def _said(faults: Faults) -> dict[str, str]:
    """What a form says for orders that do not say it themselves."""
    found = {}
    for name, values in _caller_choices().items():
        text = request.form.get(name, "").strip()
        if text and text in values:
            found[name] = text
        elif text:
            faults.append((name, f"{name.replace('_', ' ')} is none of those that there are. Choose one."))
    return found


@blueprint.post("/")
def take_file() -> AnyResponse:
    """Takes a file, or what was pasted, and goes on to what came of it."""
    faults: Faults = []
    name, data = _sent(faults)
    map_name, map_data = _sent_map(faults)
    caller = _said(faults)
    if faults:
        return _ask_for_file(request.form, faults)
    kind = kind_of_upload(name, data)
    upload = Upload(name, kind, data, visitor().firm, caller, map_name, map_data if kind == "csv" else None)
    token = office().shelf.put("upload", upload.packed())
    needs_map = kind == "csv" and upload.map_data is None and not _has_our_headings(upload)
    return redirect(
        url_for("office.ask_for_columns" if needs_map else "office.show_result", token=token), 303
    )


def _sent(faults: Faults) -> tuple[str, bytes]:
    """Name and bytes of the file, or of what was pasted."""
    most = parts().settings.most_json_bytes
    file, pasted = request.files.get("file"), request.form.get("pasted", "")
    name, data = "pasted", pasted.encode("utf-8", "surrogatepass")
    if file is not None and file.filename:
        name, data = tidy_name(file.filename, "upload"), file.stream.read(most + 1)
        if pasted.strip():
            faults.append(("pasted", "There is a file and pasted text. Choose one of the two."))
    elif not pasted.strip():
        faults.append(("file", "Choose a file, or paste rows or JSON."))
    if len(data) > most:
        faults.append(("file" if name != "pasted" else "pasted", _too_large()))
    elif data.startswith(_ZIP):
        faults.append(
            ("file", "This is a workbook of a spreadsheet program, not a sheet. Save it as CSV there first.")
        )
    elif name != "pasted" and not data:
        faults.append(("file", "The file is empty. Choose another."))
    return name, data


def _sent_map(faults: Faults) -> tuple[str, bytes | None]:
    """Name and bytes of the column map; None where there is none."""
    file = request.files.get("columns")
    if file is None or not file.filename:
        return "", None
    name, data = tidy_name(file.filename, MAP), file.stream.read(parts().settings.most_json_bytes)
    try:
        load_column_map(data, name=name)
    except SettingsError as trouble:
        faults.append(("columns", str(trouble)))
    return name, data


def _has_our_headings(upload: Upload) -> bool:
    found = preview(upload.data, skip_rows=0, most=1)
    supplied = {*found.header, *(name for name in ("system", "rulebook") if name in upload.caller)}
    return found.trouble is None and supplied.issuperset(REQUIRED)


def _upload(token: str) -> Upload:
    """An upload of the visitor's own firm. Raises ProblemError, status 404, for any other."""
    content = office().shelf.get("upload", token)
    upload = None if content is None else Upload.unpacked(content)
    if upload is None or upload.owner != visitor().firm:
        raise ProblemError(
            "not-found", "There is no such upload, or it is no longer kept. Upload the file again."
        )
    return upload


@blueprint.get("/office/<string:token>/columns")
def ask_for_columns(token: str) -> Response:
    """The form that says what the columns of a sheet are."""
    upload = _upload(token)
    if upload.kind != "csv":
        raise ProblemError("not-found", "Only a sheet has columns.")
    skip = request.args.get("skip_rows", "")
    number = office_map.skip_rows_of(skip)
    faults: Faults = (
        [] if number is not None or not skip else [("skip_rows", "Say how many rows, as a number.")]
    )
    found = preview(upload.data, skip_rows=number)
    given = {f"column_{at}": office_map.same_heading(text) for at, text in enumerate(found.header)}
    return _ask_for_columns(token, upload, {**upload.caller, **given}, found, faults)


def _ask_for_columns(
    token: str, upload: Upload, given: Mapping[str, str], found: Any, faults: Faults
) -> Response:
    return _page(
        "columns.html",
        faults=faults,
        token=token,
        upload=upload,
        given=given,
        preview=found,
        choices=_caller_choices(),
        columns=office_map.choices(),
        ignored=office_map.IGNORED,
    )


@blueprint.post("/office/<string:token>/columns")
def take_columns(token: str) -> AnyResponse:
    """Takes what the columns are, and goes on to what came of the sheet."""
    upload = _upload(token)
    faults: Faults = []
    said = _said(faults)
    skip = office_map.skip_rows_of(request.form.get("skip_rows", ""))
    found = preview(upload.data, skip_rows=skip or 0)
    if found.trouble is not None:
        faults.append(("skip_rows", found.trouble))
    chosen = {at: request.form.get(f"column_{at}", "") for at in range(len(found.header))}
    written, wrong = office_map.made_map(found.header, chosen, said, skip or 0)
    faults.extend(wrong)
    if not faults:
        try:
            load_column_map(written, name=MAP)
        except SettingsError as trouble:
            faults.append(("column_0", str(trouble)))
    if faults:
        return _ask_for_columns(token, upload, request.form, found, faults)
    mapped = replace(upload, caller={}, map_name=MAP, map_data=written)
    office().shelf.put("upload", mapped.packed(), token)
    return redirect(url_for("office.show_result", token=token), 303)


@blueprint.get("/office/<string:token>")
def show_result(token: str) -> Response:
    """What came of an upload."""
    return _show_result(token, _upload(token), {}, [])


def _show_result(token: str, upload: Upload, given: Mapping[str, str], faults: Faults) -> Response:
    found = shown(upload, _check(upload))
    return _page(
        "result.html",
        faults=faults,
        token=token,
        upload=upload,
        found=found,
        given=given,
        answered=_answered(upload, request.args.get("answered", "")),
        decided=DECIDED,
        groups=GROUPS,
        lists=LISTS,
        sheets=SHEETS if _has_sheets() else None,
        map_file=MAP if upload.map_data is not None else None,
    )


def _check(upload: Upload) -> Check:
    return Check(upload, parts().catalogue, on_trouble=lambda trouble: g.troubles.append(told(trouble)))


def _answered(upload: Upload, number: str) -> dict[str, Any] | None:
    """The answer that was given last, for the page that follows it."""
    if not (number.isascii() and number.isdigit() and len(number) < 4):
        return None
    place = int(number) - 1
    return upload.answers[place] if 0 <= place < len(upload.answers) else None


@blueprint.post("/office/<string:token>/answers")
def take_answer(token: str) -> AnyResponse:
    """Takes a named person's answer to a query, and checks the order again with it."""
    upload = _upload(token)
    form = request.form
    place = [office_map.skip_rows_of(form.get(name, "")) for name in ("order", "opening", "finding")]
    order, opening, index = (-1 if number is None else number for number in place)
    prefix = f"{order}-{opening}-{index}"
    faults: Faults = []
    answer = _answer(upload, order, opening, index, faults)
    if answer is None:
        return _show_result(
            token, upload, {f"{prefix}-{name}": form.get(name, "") for name in ("by", "note")}, faults
        )
    changed = replace(upload, answers=(*upload.answers, answer))
    office().shelf.put("upload", changed.packed(), token)
    address = url_for("office.show_result", token=token, answered=len(changed.answers), _anchor="answered")
    return redirect(address, 303)


def _answer(upload: Upload, order: int, opening: int, index: int, faults: Faults) -> dict[str, Any] | None:
    """The answer of the form; None where something is wrong with it."""
    form, field = request.form, f"{order}-{opening}-{index}"
    found = one_opening(upload, parts().catalogue, order, opening) if order >= 0 <= opening else None
    shown_one = None if found is None else shown_opening(found[0], opening, found[0].result.openings[opening])
    query = next((each for each in shown_one.findings if each.index == index), None) if shown_one else None
    if (
        found is None
        or shown_one is None
        or query is None
        or not shown_one.is_answerable
        or query.found.severity != "query"
        or query.found.reason != form.get("reason")
        or query.measured != form.get("measured")
    ):
        faults.append(("findings", "This query is not open, or no longer the same. Look at the list again."))
        return None
    answer: dict[str, Any] = {
        "opening_ref": found[0].result.openings[opening].sized.opening.opening_ref,
        "reason": query.found.reason,
        "by": form.get("by", "").strip(),
        "on": datetime.now(UTC).date().isoformat(),
    }
    if query.found.measured is not None:
        answer["measured"] = query.found.measured.value
    if form.get("note", "").strip():
        answer["note"] = form["note"].strip()
    if not answer["by"]:
        faults.append((f"{field}-by", "Say who answers: a name or initials."))
    else:
        for path, fault in faults_of(ANSWER, answer):
            name = "note" if path[:1] == ("note",) else "by"
            faults.append((f"{field}-{name}", f"The {name} cannot be used: {fault['because']}."))
    if len(upload.answers) >= MOST_ANSWERS:
        faults.append(
            ("findings", f"There are {MOST_ANSWERS} answers, which are the most. Send the order anew.")
        )
    return None if faults else {"order": order, **answer}


@blueprint.get("/office/<string:token>/openings/<int(max=99999999):order>/<int(max=999):opening>")
def show_opening(token: str, order: int, opening: int) -> Response:
    """One opening: its drawing, its sizes, what is to be said of it."""
    upload = _upload(token)
    found = one_opening(upload, parts().catalogue, order, opening)
    if found is None:
        raise ProblemError("not-found", "The upload has no such opening.")
    view = "inside" if request.args.get("view") == "inside" else "outside"
    whole = order_view(found[0].result)
    own = whole.openings[opening]
    drawn = drawing_svg(own, DrawingStyle(view))  # type: ignore[arg-type] # one of the two
    return _page(
        "opening.html",
        token=token,
        upload=upload,
        order=order,
        opening=opening,
        shown=shown_opening(found[0], opening, found[0].result.openings[opening]),
        own=own,
        view=view,
        other="outside" if view == "inside" else "inside",
        drawing=drawn,
        words=words_of(own.seen_from(view)),  # type: ignore[arg-type] # one of the two
        decided=DECIDED,
        severities=WORDS,
    )


@blueprint.get("/office/<string:token>/files/<string:name>")
def give_file(token: str, name: str) -> Response:
    """A list to take away."""
    upload = _upload(token)
    if name in LISTS:
        data = list_bytes(upload, parts().catalogue, name)
        kind = (
            "application/x-ndjson" if name.endswith("ndjson") else "text/csv; charset=utf-8; header=present"
        )
    elif name == MAP and upload.map_data is not None:
        data, kind = upload.map_data, "application/yaml"
    elif name == SHEETS and _has_sheets():
        data, kind = _sheets(upload), "application/pdf"
    else:
        raise ProblemError("not-found", "There is no such file.")
    response = Response(data, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _has_sheets() -> bool:
    """Whether what the fitter's sheet is written with is installed."""
    return all(importlib.util.find_spec(name) is not None for name in ("reportlab", "segno"))


def _sheets(upload: Upload) -> bytes:
    """The fitter's sheets of every order, the same bytes as ``sawready sheet`` writes."""
    from sawready.report.sheet import SheetWriter  # noqa: PLC0415 - its extra may be absent

    writer = SheetWriter()
    for each in _check(upload).outcomes():
        if isinstance(each, Outcome):
            writer.add(order_view(each.result))
    if not writer.pages:
        raise ProblemError("not-found", "No order could be read, so there is no sheet.")
    return writer.finish()
