"""What the calls of one application share; made by ``create_app``, found by ``parts``."""

from dataclasses import dataclass, field
from typing import Any, Final

import orjson
from flask import Flask, Response, current_app, request

from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.web.media import JSON, wanted
from sawready.web.metrics import Metrics
from sawready.web.problems import ErrorItem, ProblemError

_KEY: Final = "sawready"


@dataclass(slots=True)
class Parts:
    """The parts of one application.

    Attributes:
        settings: as read.
        catalogue: profile systems and rulebooks on file.
        store: where orders are kept; None for a service that keeps nothing.
        metrics: counts for operators.
        desk: the order desk; None where nothing is kept.
        document: the OpenAPI document, once every call is registered.
        pages: documentation pages that were made already, by name.
    """

    settings: Settings
    catalogue: Catalogue
    store: Any
    metrics: Metrics
    desk: Any = None
    document: dict[str, Any] = field(default_factory=dict)
    pages: dict[str, str] = field(default_factory=dict)


def hand_over(app: Flask, shared: Parts) -> None:
    """Gives an application its parts."""
    app.extensions[_KEY] = shared


def parts() -> Parts:
    """The parts of the application that answers the request at hand."""
    shared: Parts = current_app.extensions[_KEY]
    return shared


def answer(payload: Any, *, is_kept: bool = False) -> Response:
    """A JSON answer.

    Args:
        payload: what to write.
        is_kept: whether the answer stays the same for a while: it gets an ``ETag``, and a client that
            holds the same answer is told so (304).
    Raises: ProblemError, status 406, where the client takes no JSON.
    """
    wanted(request, (JSON,))
    response = Response(orjson.dumps(payload), mimetype=JSON)
    return kept(response) if is_kept else response


def kept(response: Response) -> Response:
    """An answer that may be held by the client if it asks each time whether it still stands."""
    response.headers["Cache-Control"] = "no-cache"
    response.add_etag()
    return conditional(response)


def conditional(response: Response) -> Response:
    """The answer, or 304 where the client says that it holds the same.

    Raises: ProblemError, status 412, where If-Match names another state.
    """
    response.make_conditional(request)
    if response.status_code == 412:
        detail = "The entity tag in If-Match is not the one that this has now."
        error = ErrorItem(detail, "Read it without If-Match.", parameter="If-Match")
        raise ProblemError("precondition-failed", detail, errors=[error])
    return response
