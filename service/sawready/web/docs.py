"""The documentation: the OpenAPI document, and pages made from it that need no network and no script."""

from collections.abc import Callable
from importlib import resources
from typing import Any, Final

import orjson
from flask import Response, render_template, request

from sawready.pipeline import check_order
from sawready.readers.json_door import loads
from sawready.report.as_json import result_dict
from sawready.rules.registry import catalogue_pages
from sawready.rules.run import FACTS
from sawready.version import VERSION
from sawready.web import docs_view
from sawready.web.api import Calls, described, in_path
from sawready.web.examples import EXAMPLE_ORDER, EXAMPLE_REJECTED
from sawready.web.media import HTML, JSON, wanted
from sawready.web.parts import kept, parts
from sawready.web.problems import PROBLEMS, ErrorItem, ProblemError

_STYLE: Final = "text/css"
_PAGE: Final = {
    200: {"description": "A page for people.", "content": {HTML: {"schema": {"type": "string"}}}},
}

docs = Calls("documentation", __name__, description="What this service is and how to talk to it.")


def _page(name: str, template: str, facts: Callable[[], dict[str, Any]]) -> Response:
    """A page, made once for each application."""
    wanted(request, (HTML,))
    pages = parts().pages
    if name not in pages:
        pages[name] = render_template(template, version=VERSION, **facts())
    return kept(Response(pages[name], mimetype=HTML))


@docs.call("/openapi.json")
@described(
    call="getDocument",
    fails=(406,),
    responses={
        200: {"description": "An OpenAPI 3.1 document.", "content": {JSON: {"schema": {"type": "object"}}}}
    },
)
def get_document() -> Response:
    """This service as an OpenAPI document."""
    wanted(request, (JSON,))
    return kept(Response(orjson.dumps(parts().document, option=orjson.OPT_INDENT_2), mimetype=JSON))


@docs.call("/docs")
@described(call="getDocumentation", fails=(406,), responses=_PAGE)
def get_documentation() -> Response:
    """This documentation as a page."""
    return _page("docs", "docs.html", _documentation)


@docs.call("/docs/reasons")
@described(call="getReasonPages", fails=(406,), responses=_PAGE)
def get_reason_pages() -> Response:
    """The catalogue of reasons as a page."""
    return _page("reasons", "reasons.html", _reasons)


@docs.call("/docs/style.css")
@described(
    call="getStyle",
    fails=(406,),
    responses={
        200: {"description": "How the pages look.", "content": {_STYLE: {"schema": {"type": "string"}}}}
    },
)
def get_style() -> Response:
    """The style of the pages."""
    wanted(request, (_STYLE,))
    file = resources.files("sawready.web").joinpath("static", "style.css")
    return kept(Response(file.read_bytes(), mimetype=_STYLE))


@docs.call("/problems")
@described(call="listProblems", fails=(406,), responses=_PAGE)
def list_problems() -> Response:
    """Every kind of problem, as a page."""
    return _page("problems", "problems.html", lambda: {"problems": PROBLEMS.values(), "heading": "Problems"})


@docs.call(
    "/problems/<string:name>",
    parameters=[in_path("name", "Last part of the problem's type.")],
)
@described(call="getProblem", fails=(404, 406), responses=_PAGE)
def get_problem(name: str) -> Response:
    """What one kind of problem means, as a page; the type of a problem leads here."""
    problem = PROBLEMS.get(name)
    if problem is None:
        detail = "No kind of problem has this name."
        error = ErrorItem(detail, "See /problems.", parameter="name")
        raise ProblemError("not-found", detail, errors=[error])
    facts = {"problems": [problem], "heading": problem.title}
    return _page(f"problem {name}", "problems.html", lambda: facts)


def _documentation() -> dict[str, Any]:
    document = parts().document
    examples = (("An order that can be made", EXAMPLE_ORDER), ("One that cannot", EXAMPLE_REJECTED))
    return {
        "description": document["info"]["description"],
        "groups": docs_view.groups(document),
        "schemas": docs_view.schemas(document),
        "problems": PROBLEMS.values(),
        "examples": [
            (title, docs_view.written(order), docs_view.written(_shortened(_checked(order))))
            for title, order in examples
        ],
    }


def _checked(order: Any) -> dict[str, Any]:
    """The result of an example, worked out by this very service."""
    return result_dict(check_order(loads(orjson.dumps(order)), catalogue=parts().catalogue))


def _shortened(result: dict[str, Any]) -> dict[str, Any]:
    """A result with the first two of each long list, for a page."""
    for opening in result["openings"]:
        for name in ("not_applied", "pieces", "beads"):
            if len(opening[name]) > 2:
                opening[name] = [*opening[name][:2], f"... and {len(opening[name]) - 2} more"]
    return result


def _reasons() -> dict[str, Any]:
    families: dict[str, list[Any]] = {}
    for reason in catalogue_pages():
        families.setdefault(reason.about, []).append(reason)
    return {"families": families, "facts": FACTS}
