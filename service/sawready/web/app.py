"""The HTTP application: ``create_app`` builds it from its parts and hands it over."""

from typing import Any, TextIO

from flask import Flask, Response

from sawready.catalogue.load import Catalogue
from sawready.report.result_schema import ResultSchema
from sawready.settings import Settings
from sawready.web.answers import BatchSchema
from sawready.web.api import ServiceApi
from sawready.web.catalogue import catalogue as catalogue_calls
from sawready.web.checks import checks
from sawready.web.docs import docs
from sawready.web.metrics import Metrics
from sawready.web.operations import operations
from sawready.web.parts import Parts, hand_over
from sawready.web.requests import follow_requests


class ServiceApp(Flask):
    """Flask, with an empty answer to OPTIONS."""

    def make_default_options_response(self) -> Response:
        """The methods that an address takes."""
        response: Response = super().make_default_options_response()
        response.status_code = 204
        response.headers["Allow"] = ", ".join(sorted(response.allow))
        del response.headers["Content-Type"]
        return response


def create_app(
    settings: Settings, catalogue: Catalogue, store: Any = None, *, log: TextIO | None = None
) -> Flask:
    """The application.

    Args:
        settings: as read from environment and options.
        catalogue: profile systems and rulebooks on file.
        store: where orders are kept; None for a service that keeps nothing.
        log: where log lines go; standard error where None.
    """
    app = ServiceApp("sawready.web", static_folder=None)
    app.config.update(
        PROPAGATE_EXCEPTIONS=False,  # a failure is a problem too, in tests as well
        MAX_CONTENT_LENGTH=settings.most_json_bytes,
    )
    app.url_map.merge_slashes = False
    shared = Parts(settings, catalogue, store, Metrics())
    hand_over(app, shared)
    follow_requests(app, shared, log=log)
    api = ServiceApi(app)
    for schema in (ResultSchema, BatchSchema):
        api.register_schema(schema)
    for calls in (checks, catalogue_calls, operations, docs):
        api.register_blueprint(calls)
    shared.document = api.spec.to_dict()
    return app
