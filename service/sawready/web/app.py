"""The HTTP application: ``create_app`` builds it from its parts and hands it over."""

from typing import TextIO

from flask import Flask, Response

from sawready.catalogue.load import Catalogue
from sawready.desk.keeping import Desk
from sawready.report.result_schema import ResultSchema
from sawready.settings import Settings
from sawready.store.store import Store
from sawready.web import bars as _bars  # noqa: F401 - its calls join the blueprints
from sawready.web import papers as _papers  # noqa: F401 - likewise
from sawready.web.access import calls_without_access, describe_access
from sawready.web.answers import BatchSchema
from sawready.web.api import ServiceApi, response_of
from sawready.web.auth import guard_calls
from sawready.web.bar_schemas import BAR_SCHEMAS
from sawready.web.catalogue import catalogue as catalogue_calls
from sawready.web.checks import checks
from sawready.web.desk_calls import DESK_SCHEMAS
from sawready.web.docs import docs
from sawready.web.metrics import Metrics
from sawready.web.office import blueprint as office_pages
from sawready.web.operations import operations
from sawready.web.orders import OrderName, orders
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
    settings: Settings, catalogue: Catalogue, store: Store | None = None, *, log: TextIO | None = None
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
    app.url_map.converters["order"] = OrderName
    own_desk = None if store is None else Desk(store, catalogue)
    shared = Parts(settings, catalogue, store, Metrics(), own_desk)
    hand_over(app, shared)
    follow_requests(app, shared, log=log)
    guard_calls(app, shared)
    api = ServiceApi(app)
    for schema in (ResultSchema, BatchSchema, *DESK_SCHEMAS, *BAR_SCHEMAS):
        api.register_schema(schema)
    for calls in (checks, orders, catalogue_calls, operations, docs):
        api.register_blueprint(calls)
    app.register_blueprint(office_pages)
    without = calls_without_access(app)
    if without:
        raise LookupError(f"nobody has said who may make these calls: {', '.join(without)}")
    shared.document = api.spec.to_dict()
    describe_access(app, shared.document, response_of)
    return app
