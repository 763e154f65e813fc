"""What the office looks at: decisions and findings, an opening drawn, answers to queries, lists to take away."""

import importlib.util
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Final

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from sawready.model.order import View
from sawready.order_schema import ANSWER
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_legend import APEX_WORDS
from sawready.report.drawing_marks import TRIANGLES, Triangle
from sawready.report.drawing_svg import drawing_svg
from sawready.report.drawing_words import words_of
from sawready.report.order_places import order_view
from sawready.shape import faults_of
from sawready.web.office_desk import at_desk, checking, keep_answer
from sawready.web.office_frame import MAP, Faults, blueprint, page, upload_of
from sawready.web.office_map import count_of
from sawready.web.office_session import office
from sawready.web.office_upload import LISTS, MOST_ANSWERS, Outcome, Upload, list_bytes
from sawready.web.office_view import DECIDED, GROUPS, WORDS, one_opening, shown, shown_opening
from sawready.web.parts import parts
from sawready.web.problems import ProblemError

SHEETS: Final = "fitters_sheets.pdf"

_VIEWS: Final[tuple[View, ...]] = ("outside", "inside")
_MOST_PLACE: Final = 10_000_000


@blueprint.get("/office/<string:token>")
def show_result(token: str) -> Response:
    """What came of an upload."""
    return _show_result(token, upload_of(token), {}, [])


def _show_result(token: str, upload: Upload, given: Mapping[str, str], faults: Faults) -> Response:
    found = shown(checking(upload))
    return page(
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
        at_desk=at_desk(upload, found.outcomes),
    )


def _answered(upload: Upload, number: str) -> dict[str, Any] | None:
    """The answer that was given last, for the page that follows it."""
    if not (number.isascii() and number.isdigit() and len(number) < 4):
        return None
    place = int(number) - 1
    return upload.answers[place] if 0 <= place < len(upload.answers) else None


@blueprint.post("/office/<string:token>/answers")
def take_answer(token: str) -> AnyResponse:
    """Takes a named person's answer to a query, and checks the order again with it."""
    upload = upload_of(token)
    form = request.form
    place = [count_of(form.get(name, ""), _MOST_PLACE) for name in ("order", "opening", "finding")]
    order, opening, index = (-1 if number is None else number for number in place)
    prefix = f"{order}-{opening}-{index}"
    faults: Faults = []
    answer = _answer(upload, order, opening, index, faults)
    if answer is None:
        return _show_result(
            token, upload, {f"{prefix}-{name}": form.get(name, "") for name in ("by", "note")}, faults
        )
    changed = replace(upload, answers=(*upload.answers, answer), handed_in=())
    office().shelf.put("upload", changed.packed(), token)
    keep_answer(changed, order)
    address = url_for("office.show_result", token=token, answered=len(changed.answers), _anchor="answered")
    return redirect(address, 303)


def _answer(upload: Upload, order: int, opening: int, index: int, faults: Faults) -> dict[str, Any] | None:
    """The answer of the form; None where something is wrong with it."""
    form, field = request.form, f"{order}-{opening}-{index}"
    found = one_opening(checking(upload), order, opening) if order >= 0 <= opening else None
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
    upload = upload_of(token)
    found = one_opening(checking(upload), order, opening)
    if found is None:
        raise ProblemError("not-found", "The upload has no such opening.")
    view: View = "inside" if request.args.get("view") == "inside" else "outside"
    triangle = _triangle(request.args.get("triangle"))
    whole = order_view(found[0].result)
    own = whole.openings[opening]
    seen = own.seen_from(view)
    return page(
        "opening.html",
        token=token,
        upload=upload,
        order=order,
        opening=opening,
        shown=shown_opening(found[0], opening, found[0].result.openings[opening]),
        own=own,
        views=_VIEWS,
        view=view,
        triangles=APEX_WORDS if any(light.hinge is not None for light in own.lights) else {},
        triangle=triangle,
        drawing=drawing_svg(own, DrawingStyle(view, triangle)),
        words=words_of(seen)[: len(words_of(seen)) - len(seen.noted)],  # findings have a list of their own
        decided=DECIDED,
        severities=WORDS,
    )


def _triangle(asked: str | None) -> Triangle:
    """Where the point of the opening triangle is: as it is asked for, else as the service is set."""
    wanted = asked or parts().settings.triangle
    return next((each for each in TRIANGLES if each == wanted), TRIANGLES[0])


@blueprint.get("/office/<string:token>/files/<string:name>")
def give_file(token: str, name: str) -> Response:
    """A list to take away."""
    upload = upload_of(token)
    if name in LISTS:
        data = list_bytes(checking(upload), name)
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
    from sawready.report.sheet import SheetStyle, SheetWriter  # noqa: PLC0415 - its extra may be absent

    writer = SheetWriter(SheetStyle(_triangle(None)))
    for each in checking(upload).outcomes():
        if isinstance(each, Outcome):
            writer.add(order_view(each.result))
    if not writer.pages:
        raise ProblemError("not-found", "No order could be read, so there is no sheet.")
    return writer.finish()
