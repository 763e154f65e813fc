"""Who may make which call: every call of the service stands here, and one that does not stops the start."""

from dataclasses import dataclass
from typing import Any, Final

from flask import Flask

from sawready.store.keys import ROLES


@dataclass(frozen=True, slots=True)
class Access:
    """Who may make a call.

    Attributes:
        roles: roles that may; every role of a key where it is all of them.
        is_open: whether it is answered to anybody.
        is_open_here: whether it is answered to anybody on the machine itself.
    """

    roles: frozenset[str]
    is_open: bool = False
    is_open_here: bool = False

    @property
    def words(self) -> str:
        """Who may, in words."""
        if self.is_open:
            return "Open to everybody."
        here = ", or on the machine itself without one" if self.is_open_here else ""
        if self.roles == ANY_KEY.roles:
            return f"Needs any key{here}."
        return f"Needs a key of the role {' or '.join(sorted(self.roles))}{here}."


OPEN: Final = Access(frozenset(), is_open=True)
ANY_KEY: Final = Access(frozenset(ROLES))
INSTALLER: Final = Access(frozenset({"installer"}))
FACTORY: Final = Access(frozenset({"factory"}))
ADMIN_OR_HERE: Final = Access(frozenset({"admin"}), is_open_here=True)

ACCESS: Final[dict[str, Access]] = {
    "checks.check_orders": ANY_KEY,
    "checks.ask_surveyors": ANY_KEY,
    "catalogue.list_systems": ANY_KEY,
    "catalogue.get_system": ANY_KEY,
    "catalogue.list_rulebooks": ANY_KEY,
    "catalogue.get_rulebook": ANY_KEY,
    "catalogue.list_reasons": ANY_KEY,
    "catalogue.get_reason": ANY_KEY,
    "orders.keep_orders": INSTALLER,
    "orders.list_orders": ANY_KEY,
    "orders.get_order": ANY_KEY,
    "orders.revise_order": INSTALLER,
    "orders.answer_query": INSTALLER,
    "orders.release_order": FACTORY,
    "orders.get_cutting_list": ANY_KEY,
    "orders.get_glass_list": ANY_KEY,
    "orders.get_bars": ANY_KEY,
    "orders.plan_bars": ANY_KEY,
    "orders.get_job": ANY_KEY,
    "orders.get_job_result": ANY_KEY,
    "orders.get_sheet": ANY_KEY,
    "orders.frame_arrived": INSTALLER,
    "operations.is_alive": OPEN,
    "operations.is_ready": OPEN,
    "operations.get_metrics": ADMIN_OR_HERE,
    "documentation.get_document": OPEN,
    "documentation.get_documentation": OPEN,
    "documentation.get_reason_pages": OPEN,
    "documentation.get_style": OPEN,
    "documentation.list_problems": OPEN,
    "documentation.get_problem": OPEN,
}
"""By endpoint. Whose orders a role sees is decided in ``desk.caller``."""


def _header(name: str, meaning: str, *, is_needed: bool = False, most: int = 200) -> dict[str, Any]:
    schema = {"type": "string", "minLength": 1, "maxLength": most}
    return {"in": "header", "name": name, "required": is_needed, "description": meaning, "schema": schema}


_ONCE: Final = _header(
    "Idempotency-Key",
    "A text of the client's own for this very thing to be done; the same call under it is done once, and its "
    "answer is given again, for 48 hours.",
)
_IF_MATCH: Final = _header("If-Match", "The ETag of the order as the client read it.")
_PREFER: Final = _header(
    "Prefer", "respond-async asks for a job (202) whatever the size (RFC 7240); other preferences are left."
)
HEADERS: Final[dict[str, list[dict[str, Any]]]] = {
    "keepOrders": [_ONCE],
    "getOrder": [_header("If-None-Match", "An ETag; where the order still has it, 304 is answered.")],
    "getBars": [_PREFER],
    "planBars": [_PREFER],
    "reviseOrder": [{**_IF_MATCH, "required": True}],
    "answerQuery": [_IF_MATCH, _ONCE],
    "releaseOrder": [_ONCE],
    "frameArrived": [_ONCE],
}
"""Headers that calls look at, by ``operationId``."""


OWN_DOOR: Final = "office."
"""How the endpoints of pages begin that let people in by a door of their own (``office_session``)."""


def calls_without_access(app: Flask) -> list[str]:
    """Calls that nobody has said of who may make them."""
    endpoints = {rule.endpoint for rule in app.url_map.iter_rules()}
    return sorted(name for name in endpoints - set(ACCESS) if not name.startswith(OWN_DOOR))


def describe_access(app: Flask, document: dict[str, Any], problem_of: Any) -> None:
    """Says in the OpenAPI document who may make each call, and which problems come of it.

    Args:
        app: the application.
        document: its document, which is changed.
        problem_of: gives the response component of a status.
    """
    components = document["components"]
    components["securitySchemes"] = {
        "key": {
            "type": "http",
            "scheme": "bearer",
            "description": "A key as `sawready keys add` shows it. Where there are no keys, none is needed.",
        }
    }
    by_operation = {}
    for endpoint, access in ACCESS.items():
        view = app.view_functions.get(endpoint)
        if view is not None:
            told = getattr(view, "_apidoc", {})["manual_doc"]  # what flask-smorest keeps of a call
            by_operation[told["operationId"]] = access
    for item in document["paths"].values():
        for operation in item.values():
            if not isinstance(operation, dict) or "operationId" not in operation:
                continue
            if operation["operationId"] in HEADERS:
                operation.setdefault("parameters", []).extend(HEADERS[operation["operationId"]])
            access = by_operation[operation["operationId"]]
            if access.is_open:
                continue
            operation["description"] = f"{operation.get('description', '')}\n\n{access.words}".strip()
            operation["security"] = [{"key": []}, {}] if access.is_open_here else [{"key": []}]
            for status in (401, 403, 429, 503):
                name = f"Problem{status}"
                components["responses"].setdefault(name, problem_of(status))
                operation["responses"].setdefault(str(status), {"$ref": f"#/components/responses/{name}"})
            operation["responses"] = dict(sorted(operation["responses"].items()))
    components["responses"] = dict(sorted(components["responses"].items()))
