"""The catalogues: profile systems, rulebooks, reasons."""

from typing import Any, Final

from flask import Response

from sawready.catalogue.fields import Day
from sawready.order_schema import Part, told
from sawready.report import catalogue_pages as pages
from sawready.report.catalogue_schema import (
    ReasonListSchema,
    ReasonPageSchema,
    RulebookListSchema,
    RulebookPageSchema,
    SystemListSchema,
    SystemPageSchema,
)
from sawready.rules.registry import REASONS, catalogue_pages
from sawready.web.api import Calls, described, in_path
from sawready.web.parts import answer, parts
from sawready.web.problems import ErrorItem, ProblemError

MOST_NAME: Final = 80

catalogue = Calls("catalogue", __name__, description="Profile systems, rulebooks and reasons on file.")


class RulebookQuerySchema(Part):
    """Which view of a rulebook is wanted."""

    on = Day(
        metadata=told(
            "Day whose figures are wanted, YYYY-MM-DD; that of the last look at the sources if absent."
        )
    )


def _not_found(what: str, name: str, known: tuple[str, ...]) -> ProblemError:
    detail = f"No {what} of this name is on file."
    remedy = f"Use one of {', '.join(known)}." if len(known) <= 10 else "See the list for the names."
    return ProblemError("not-found", detail, errors=[ErrorItem(detail, remedy, parameter=name)])


@catalogue.call("/v1/systems")
@described(call="listSystems", fails=(400, 406))
@catalogue.gives(SystemListSchema)
def list_systems() -> Response:
    """The profile systems on file."""
    return answer(pages.system_list(parts().catalogue), is_kept=True)


@catalogue.call("/v1/systems/<string:name>", parameters=[in_path("name", "Its name.")])
@described(call="getSystem", fails=(400, 404, 406))
@catalogue.gives(SystemPageSchema)
def get_system(name: str) -> Response:
    """One profile system with all its figures."""
    systems = parts().catalogue
    system = systems.system(name)
    if system is None:
        raise _not_found("profile system", "name", systems.systems)
    return answer(pages.system_page(system), is_kept=True)


@catalogue.call("/v1/rulebooks")
@described(call="listRulebooks", fails=(400, 406))
@catalogue.gives(RulebookListSchema)
def list_rulebooks() -> Response:
    """The rulebooks on file."""
    return answer(pages.rulebook_list(parts().catalogue), is_kept=True)


@catalogue.call("/v1/rulebooks/<string:name>", parameters=[in_path("name", "Its name.")])
@described(call="getRulebook", fails=(400, 404, 406))
@catalogue.reads(RulebookQuerySchema)
@catalogue.gives(RulebookPageSchema)
def get_rulebook(query: dict[str, Any], name: str) -> Response:
    """One rulebook with the figures in force on a day, each with its source."""
    books = parts().catalogue
    rulebook = books.rulebook(name)
    if rulebook is None:
        raise _not_found("rulebook", "name", books.rulebooks)
    return answer(pages.rulebook_page(rulebook, on=query.get("on")), is_kept=True)


@catalogue.call("/v1/reasons")
@described(call="listReasons", fails=(400, 406))
@catalogue.gives(ReasonListSchema)
def list_reasons() -> Response:
    """Every reason that a finding can have."""
    return answer(pages.reason_list(catalogue_pages()), is_kept=True)


@catalogue.call("/v1/reasons/<string:reason>", parameters=[in_path("reason", "Its name.")])
@described(call="getReason", fails=(400, 404, 406))
@catalogue.gives(ReasonPageSchema)
def get_reason(reason: str) -> Response:
    """What one reason means, why it matters and what to do."""
    page = REASONS.get(reason)
    if page is None:
        raise _not_found("reason", "reason", tuple(REASONS))
    return answer(pages.reason_page(page), is_kept=True)
