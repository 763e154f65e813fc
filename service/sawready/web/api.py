"""The glue between the calls and their OpenAPI document.

flask-smorest collects what the calls say of themselves. Here it answers errors in our one shape, describes
them as such, and leaves out what it would describe without need.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final, NoReturn, TypeVar

from flask import Flask, Request
from flask_smorest import Api, Blueprint
from marshmallow import RAISE, Schema, ValidationError
from webargs.flaskparser import FlaskParser
from webargs.multidictproxy import MultiDictProxy

from sawready.json_schema import DIALECT, OPENAPI_VERSION, component_name, schema_plugin
from sawready.order_schema import OrderSchema
from sawready.readers.fault import nearest
from sawready.version import VERSION
from sawready.web import problems
from sawready.web.problems import ErrorItem, ProblemError, ProblemSchema
from sawready.web.remedies import remedy_of

_DESCRIPTION: Final = (
    "Checks surveyed orders for replacement PVC-U windows before anything is cut. An order goes in; for "
    "every opening come back the sizes to cut, or reasons that a person can act on. A rejected order is a "
    "normal answer (200) whose decision says so; problems (4xx) are for requests that are no order at all. "
    "Sizes that concern escape, guarding, safety glass and structure come with the usual caution: local "
    "codes and licensed practice decide."
)

REFERENCES: Final = "#/components/schemas/"


class QueryParser(FlaskParser):
    """Reads the parameters of an address; an unknown one, or one given twice, is refused."""

    DEFAULT_UNKNOWN_BY_LOCATION: Mapping[str, str] = {"query": RAISE}  # type: ignore[assignment] # it may be None
    DEFAULT_VALIDATION_STATUS = 400

    def load_querystring(self, req: Request, schema: Schema) -> Any:
        """The parameters. Raises ProblemError for one that is given twice."""
        for name, values in req.args.lists():
            if len(values) > 1:
                raise _bad_parameter([ErrorItem("It is given twice.", "Give it once.", parameter=name[:60])])
        return MultiDictProxy(req.args, schema)

    def handle_error(
        self,
        error: ValidationError,
        req: Request,
        schema: Schema,
        *,
        error_status_code: int | None,
        error_headers: Mapping[str, str] | None,
    ) -> NoReturn:
        """Ends the request with the problem that the faults amount to."""
        del req, error_status_code, error_headers
        by_name: Mapping[str, Any] = error.normalized_messages()["query"]  # type: ignore[no-untyped-call] # of marshmallow
        raise _bad_parameter([_of_parameter(name, faults, schema) for name, faults in by_name.items()])


def _bad_parameter(errors: list[ErrorItem]) -> ProblemError:
    names = ", ".join(error.parameter or "" for error in errors)
    return ProblemError("bad-parameter", f"Parameters that cannot be used: {names}.", errors=errors)


def _of_parameter(name: str, faults: Any, schema: Schema) -> ErrorItem:
    """The fault of one parameter."""
    fault = faults[0] if isinstance(faults, list) else faults
    if name not in schema.fields:
        near = nearest(name, schema.fields)
        remedy = f"Use one of {', '.join(schema.fields)}." if near is None else f"The nearest is {near}."
        return ErrorItem(
            "It is no parameter of this call.", remedy, reason="field-unknown", parameter=name[:60]
        )
    if isinstance(fault, Mapping):
        because = str(fault["because"])
        return ErrorItem(
            f"{because[:1].upper()}{because[1:]}.",
            remedy_of(schema, name, fault),
            reason=fault["reason"],
            parameter=name,
        )
    return ErrorItem(str(fault), f"Correct {name}.", reason="value-unreadable", parameter=name)


View = TypeVar("View", bound=Callable[..., Any])
Decorator = Callable[[View], View]


class Calls(Blueprint):  # type: ignore[misc] # flask-smorest has no types
    """A group of calls; its decorators keep the types of what they decorate."""

    ARGUMENTS_PARSER = QueryParser()

    def call(self, rule: str, **more: Any) -> Decorator[Any]:
        """Answers an address with a function."""
        decorate: Decorator[Any] = self.route(rule, **more)
        return decorate

    def reads(self, schema: type[Schema]) -> Decorator[Any]:
        """Hands the parameters of the address to the function, as its first argument."""
        decorate: Decorator[Any] = self.arguments(
            schema(), location="query"
        )  # made once, not with each request
        return decorate

    def gives(self, schema: type[Schema], *, status: int = 200, meaning: str | None = None) -> Decorator[Any]:
        """Says what the function answers."""
        decorate: Decorator[Any] = (
            self.response(status, schema, description=meaning)
            if status == 200
            else self.alt_response(status, schema=schema, description=meaning)
        )
        return decorate


class ServiceApi(Api):  # type: ignore[misc] # flask-smorest has no types
    """The calls of the service, with their document."""

    ERROR_SCHEMA = ProblemSchema
    DEFAULT_ERROR_RESPONSE_NAME = None  # every status is named; "default" would let any other pass

    def __init__(self, app: Flask) -> None:
        super().__init__(
            app,
            spec_kwargs={
                "title": "sawready",
                "version": VERSION,
                "openapi_version": OPENAPI_VERSION,
                "marshmallow_plugin": schema_plugin(),
                "info": {
                    "description": _DESCRIPTION,
                    "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
                },
                "jsonSchemaDialect": DIALECT,
                "servers": [{"url": "/", "description": "This service."}],
            },
        )
        for schema in (OrderSchema, ProblemSchema):
            self.spec.components.schema(component_name(schema), schema=schema)

    def register_schema(self, schema: type[Schema]) -> None:
        """Puts a schema among the components, for calls that refer to it by name."""
        if component_name(schema) not in self.spec.components.schemas:
            self.spec.components.schema(component_name(schema), schema=schema)

    def _register_error_handlers(self) -> None:
        """Leaves errors to ``requests``, which answers all of them in one shape."""

    def _register_doc_blueprint(self) -> None:
        """Leaves the document and its pages to ``docs``."""

    def _register_pagination_header(self) -> None:
        """Leaves out what no call uses."""

    def _register_etag_headers(self) -> None:
        """Leaves out what no call uses."""

    def _register_responses(self) -> None:
        """Describes the problems of each status, for calls that name it."""
        for status in sorted({kind.status for kind in problems.PROBLEMS.values()}):
            self.spec.components.response(_response_name(status), response_of(status), lazy=True)
        self.spec.components.header(
            "RequestId",
            {"description": "Number of the request.", "schema": {"type": "string"}, "required": True},
        )


def response_of(status: int) -> dict[str, Any]:
    """The response component of the problems of a status."""
    kinds = [kind for kind in problems.PROBLEMS.values() if kind.status == status]
    return {
        "description": " Or: ".join(f"{kind.title} ({kind.type})." for kind in kinds),
        "headers": {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}},
        "content": {problems.MEDIA_TYPE: {"schema": {"$ref": f"{REFERENCES}Problem"}}},
    }


def _response_name(status: int) -> str:
    return f"Problem{status}"


def described(*, call: str, fails: tuple[int, ...] = (), **more: Any) -> Decorator[Any]:
    """Says of a call what its schemas do not.

    Args:
        call: its ``operationId``.
        fails: statuses of the problems that it can answer, besides 405 and 500, which all can.
        more: further members of its description, such as ``requestBody`` or ``responses``.
    """
    responses = {status: _response_name(status) for status in sorted({*fails, 500})}
    own = more.pop("responses", {})
    decorate: Decorator[Any] = Blueprint.doc(operationId=call, responses={**own, **responses}, **more)
    return decorate


def in_path(name: str, meaning: str) -> dict[str, Any]:
    """Describes a part of an address."""
    return {"in": "path", "name": name, "description": meaning}
