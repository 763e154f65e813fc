"""For operators: is it up, is it ready, what has it done."""

from typing import Any

from flask import Response, request
from marshmallow import fields

from sawready.report.result_schema import Written, text, word
from sawready.version import VERSION
from sawready.web import metrics
from sawready.web.api import Calls, described
from sawready.web.media import wanted
from sawready.web.parts import answer, parts

operations = Calls("operations", __name__, description="For operators of the service.")


class HealthSchema(Written):
    """Whether the service is well."""

    status = word(("pass", "fail"), "pass: it answers orders; fail: it does not.")
    version = text("Version of the program.")
    checks = fields.Dict(
        required=True,
        metadata={
            "description": "What was looked at, and how it stands.",
            "additionalProperties": {"type": "string", "enum": ["pass", "fail"]},
        },
    )


def _health(checks: dict[str, bool]) -> dict[str, Any]:
    words = {name: "pass" if is_well else "fail" for name, is_well in checks.items()}
    status = "pass" if all(checks.values()) else "fail"
    return {"status": status, "version": VERSION, "checks": words}


@operations.call("/livez")
@described(call="isAlive", fails=(406,))
@operations.gives(HealthSchema)
def is_alive() -> Response:
    """Whether the process answers; looks at nothing else."""
    return answer(_health({}))


@operations.call("/readyz")
@described(call="isReady", fails=(406,))
@operations.gives(HealthSchema)
@operations.gives(HealthSchema, status=503, meaning="Not ready; the checks say why.")
def is_ready() -> Response:
    """Whether orders can be checked: systems and rulebooks are on file, a store, if any, is in reach."""
    shared = parts()
    checks = {"catalogue": bool(shared.catalogue.systems and shared.catalogue.rulebooks)}
    if shared.store is not None:
        checks["store"] = shared.store.is_ready()
    health = _health(checks)
    response = answer(health)
    response.status_code = 200 if health["status"] == "pass" else 503
    return response


@operations.call("/metrics")
@described(
    call="getMetrics",
    fails=(403, 406),
    responses={
        200: {
            "description": "Counts in the text form that collectors read.",
            "content": {"text/plain": {"schema": {"type": "string"}}},
        }
    },
)
def get_metrics() -> Response:
    """Counts of requests, orders, openings and findings."""
    wanted(request, ("text/plain",))
    return Response(parts().metrics.text(), content_type=metrics.MEDIA_TYPE)
