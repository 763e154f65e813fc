"""The shape of what goes to and from the calls for bars and jobs."""

from typing import Any, Final

from marshmallow import fields, validate

from sawready.catalogue.saw import saw_figures
from sawready.order_schema import NEEDED, Number, Part, Text, fault, told
from sawready.readers.bar_lists import MOST_PIECES_A_ROW
from sawready.report.result_schema import (
    CUT_ENDS,
    DIGEST_PATTERN,
    FindingSchema,
    Written,
    above_zero,
    each,
    flag,
    like,
    many,
    number,
    some,
    text,
    whole,
    word,
)
from sawready.store.jobs import STATES
from sawready.web.desk_schemas import STANDINGS
from sawready.web.problems import ProblemSchema

MOST_ORDERS: Final = 500
"""Orders of one plan, as many as an order may have openings."""

MOST_OFFCUTS: Final = 5000
"""Rows of old offcuts that come with one plan."""

LEAST_OFFCUT_MM: Final = 0.1
"""The finest step of a length on a bar. [mm]"""


def _saw_figure(name: str, meaning: str) -> Number:
    """A length that stands in the place of a figure of ``data/saw.yaml``, within its range."""
    figure = saw_figures()[name]
    shown = f"{meaning} [mm]; {float(figure.value_mm):g} when absent"
    if name == "bar_mm":
        shown = f"{meaning} [mm]; as the profile system says when absent"
    return Number(least=float(figure.least_mm), most=float(figure.most_mm), metadata=told(f"{shown}."))


class BarOrderSchema(Part):
    """An order whose pieces are wanted."""

    order_ref = Text(required=True, most=80, metadata=told("The firm's name for it."))
    firm = Text(metadata=told("Firm of the order, where a factory serves several."))
    revision = Number(
        least=1,
        most=1_000_000,
        is_whole=True,
        metadata=told("Revision that is wanted; the newest when absent."),
    )


class OffcutSchema(Part):
    """Old offcuts of one length."""

    profile = Text(required=True, most=80, metadata=told("Stock name."))
    length_mm = Number(
        required=True,
        least=LEAST_OFFCUT_MM,
        most=float(saw_figures()["bar_mm"].most_mm),
        metadata=told("Length over all. [mm]"),
    )
    quantity = Number(
        least=1, most=MOST_PIECES_A_ROW, is_whole=True, metadata=told("How many; 1 when absent.")
    )
    colour = Text(
        most=165, metadata=told("As the plan names it: white, or outside/inside; absent for reinforcement.")
    )


def _list_of(schema: type[Part], meaning: str, *, least: int, most: int, **more: Any) -> fields.List[Any]:
    because = f"it has {least} to {most} entries" if least else f"it has at most {most} entries"
    return fields.List(
        fields.Nested(schema),
        validate=validate.Length(min=least or None, max=most, error=because),
        error_messages={
            "required": fault("value-missing", NEEDED),
            "invalid": fault("value-unreadable", "it is not a list"),
        },
        metadata=told(meaning),
        **more,
    )


class BarsRequestSchema(Part):
    """Orders whose pieces are to be planned together onto stock bars."""

    orders = _list_of(BarOrderSchema, "Whose pieces.", least=1, most=MOST_ORDERS, required=True)
    bar_mm = _saw_figure("bar_mm", "Length of a fresh bar of every profile.")
    kerf_mm = _saw_figure("kerf_mm", "Thickness of the saw's cut.")
    trim_mm = _saw_figure("trim_mm", "Taken off each bar, both ends together.")
    keep_mm = _saw_figure("keep_mm", "Least offcut worth keeping.")
    offcuts = _list_of(OffcutSchema, "Old offcuts, used up before fresh bars.", least=0, most=MOST_OFFCUTS)


class PlannedOrderSchema(Written):
    """An order that a plan is for, as it stood then."""

    order_ref = text("The order.")
    firm = text("Its firm.")
    revision = whole("Its revision.", least=1)
    digest = like(DIGEST_PATTERN, "Digest of the result that the pieces come from.")
    standing = word(STANDINGS, "released: cut it; superseded: a newer revision has come; else it is a draft.")
    left_out = each(fields.String(), "Openings that are not accepted, and so not planned.")


class PlanSawSchema(Written):
    """What the plan assumes of the saw."""

    kerf_mm = number("Thickness of the cut. [mm]")
    trim_mm = number("Taken off each bar, both ends together. [mm]")
    keep_mm = number("Least offcut worth keeping. [mm]")
    scrap_mm = number("Up to this length a rest counts as nothing. [mm]")


class ProfileSummarySchema(Written):
    """How good the plan of one profile and colour is."""

    profile = text("Stock name.")
    colour = text("Colour, where it makes a difference.", or_null=True)
    bar_mm = above_zero("Length of a fresh bar. [mm]")
    pieces = whole("Pieces.")
    bars = whole("Fresh bars.")
    bound = whole("Fewest fresh bars that can do, proved.")
    gap = whole("Bars above that bound; 0 means that no plan needs fewer.")
    old_offcuts = whole("Old offcuts used.")
    used_share = number("Length of the pieces over that of bars and offcuts.")
    offcuts_kept_mm = each(fields.Float(), "Offcuts worth keeping. [mm]")
    limit_fired = word(("work", "time"), "The limit that cut the search short.", or_null=True)
    method = text("What found the plan.")
    searched = flag("Whether an exact search found no plan with a bar less.")
    turned = flag("Whether every second piece is turned.")
    remarks = each(fields.String(), "What to know besides.")


class CutPieceSchema(Written):
    """One piece on a bar."""

    position = whole("1, 2, 3 from the left.", least=1)
    start_mm = number("Its left tip from the bar's left end. [mm]")
    length_mm = above_zero("Length to cut. [mm]")
    ends = word(CUT_ENDS, "Angles of its two ends.")
    turned = flag("Whether its outer face lies the other way round.")
    order_ref = text("The order.", or_null=True)
    opening_ref = text("The opening.", or_null=True)
    part = text("What it is.", or_null=True)
    light = whole("Light that it belongs to; null for the frame.", or_null=True)
    firm = text("Firm of the order.", or_null=True)


class CutBarSchema(Written):
    """One bar or old offcut and what is cut from it."""

    bar = whole("Its number, counted through all bars of the profile.", least=1)
    stock_mm = above_zero("Length over all. [mm]")
    old_offcut = flag("Whether it comes from the rack of offcuts.")
    pieces = many(CutPieceSchema, "Pieces in the order of cutting.")
    offcut_mm = number("What is left behind the last cut, the trim taken off. [mm]")
    offcut_kept = flag("Whether that is worth keeping.")


class ProfileBarsSchema(Written):
    """The bars of one profile and colour."""

    profile = text("Stock name.")
    colour = text("Colour, where it makes a difference.", or_null=True)
    bars = many(CutBarSchema, "Bars, old offcuts first.")


class BarPlanSchema(Written):
    """Pieces on stock bars, with a proved least number of bars beside each profile."""

    orders = many(PlannedOrderSchema, "Orders of the desk that it is for; empty for a plan of the command.")
    saw = some(PlanSawSchema, "What it assumes of the saw.")
    summary = many(ProfileSummarySchema, "How good it is, by profile and colour.")
    limit_fired = word(("work", "time"), "A limit that cut any search short.", or_null=True)
    remarks = each(fields.String(), "What to know of the whole, such as old offcuts that nothing fits.")
    findings = many(FindingSchema, "Pieces that no bar holds; all others are planned.")
    profiles = many(ProfileBarsSchema, "Bars by profile and colour.")


class JobSchema(Written):
    """Work that is done while nobody waits."""

    job_id = text("Its number.")
    kind = word(("bars",), "What is done.")
    state = word(STATES, "How far it is.")
    orders = whole("Orders that it is about.")
    pieces = whole("Pieces that they hold.")
    bars = whole("Fresh bars of the plan, once it is done.", or_null=True)
    attempt = whole("How often it was begun; more than once where the service was stopped meanwhile.")
    asked_at = text("When it was asked for, UTC.", metadata={"format": "date-time"})
    begun_at = text("When it was first begun, UTC.", or_null=True, metadata={"format": "date-time"})
    ended_at = text("When it ended, UTC.", or_null=True, metadata={"format": "date-time"})
    kept_until = text(
        "When it is removed with its result, UTC.", or_null=True, metadata={"format": "date-time"}
    )
    result = text("Address of the result, once it is done.", or_null=True)
    problem = some(ProblemSchema, "Why it failed.", or_null=True)


BAR_SCHEMAS: Final = (BarsRequestSchema, BarPlanSchema, JobSchema)
"""Schemas that calls refer to by name."""

EXAMPLE_BARS: Final[dict[str, Any]] = {
    "orders": [{"order_ref": "EX-1"}],
    "bar_mm": 6500,
    "keep_mm": 600,
    "offcuts": [{"profile": "frame-62", "length_mm": 2310, "quantity": 2, "colour": "white"}],
}
"""Of the order in ``examples``: invented, as it is."""
