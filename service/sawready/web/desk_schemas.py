"""The shape of what goes to and from the order desk."""

from typing import Final

from marshmallow import fields, validate

from sawready.model.finding import DECISIONS
from sawready.order_schema import (
    MOST_TEXT,
    UNITS,
    VIEWS,
    Choice,
    Flag,
    Number,
    Part,
    Text,
    WrittenLayout,
    WrittenLength,
    told,
)
from sawready.report.result_schema import (
    CUT_ENDS,
    DIGEST_PATTERN,
    MadeWithSchema,
    ResultSchema,
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

CAUSES: Final = ("upload", "resurvey", "answer")
VERDICTS: Final = ("yes", "ask", "no")
STANDINGS: Final = ("not-released", "released", "superseded")
MOST_PAGE: Final = 200


class OrderListQuerySchema(Part):
    """Which orders are wanted."""

    limit = Number(least=1, most=MOST_PAGE, is_whole=True, metadata=told("Orders on a page; 50 when absent."))
    cursor = Text(most=300, metadata=told("From the Link of the page before."))
    decision = Choice(DECISIONS, metadata=told("Only orders that came to this."))
    changed_from = Text(
        most=40, metadata=told("Only orders that changed on this day or after, YYYY-MM-DD, UTC.")
    )
    changed_to = Text(most=40, metadata=told("Only orders that changed on this day or before."))
    firm = Text(metadata=told("Only orders of this firm."))


class OrderQuerySchema(Part):
    """Which order is meant."""

    firm = Text(metadata=told("Firm of the order, where a factory serves several."))


class ListQuerySchema(OrderQuerySchema):
    """Which list is wanted."""

    revision = Number(
        least=1,
        most=1_000_000,
        is_whole=True,
        metadata=told("Revision that is wanted; the newest when absent."),
    )


class NewAnswerSchema(Part):
    """A named person's answer to a query of an order."""

    opening_ref = Text(required=True, most=80, metadata=told("The opening that it is about."))
    reason = Text(required=True, most=80, metadata=told("The query's reason."))
    measured = Number(
        least=-1e9,
        most=1e9,
        metadata=told("The measured value that it answers; needed where the query has one."),
    )
    by = Text(required=True, metadata=told("Who answers."))
    on = Text(most=40, metadata=told("Day of the answer, YYYY-MM-DD; today in UTC when absent."))
    note = Text(most=MOST_TEXT, is_prose=True, metadata=told("Why."))


class ReleaseRequestSchema(Part):
    """What the factory holds and is about to cut."""

    digest = Text(
        required=True,
        most=71,
        metadata=told("Digest of the result that the factory holds.", minLength=71, pattern=DIGEST_PATTERN),
    )


class ArrivalSchema(Part):
    """A delivered frame, as the fitter tapes it before the old window comes out."""

    opening_ref = Text(required=True, most=80, metadata=told("The opening that it is for."))
    by = Text(required=True, metadata=told("Who taped it."))
    units = Choice(UNITS, metadata=told("Unit of bare numbers."))
    width = WrittenLength(required=True, metadata=told("Frame over all, by tape."))
    height = WrittenLength(required=True, metadata=told("Frame over all, by tape."))
    height_includes_sill = Flag(
        metadata=told("Whether the sill is in that height; needed where one was ordered.")
    )
    viewed_from = Choice(VIEWS, metadata=told("Where the fitter stands; needed with hinge or layout."))
    hinge = Choice(("left", "right"), metadata=told("Hinge side of its one light that hangs at a side."))
    layout = WrittenLayout(metadata=told("The whole layout as it stands there; instead of hinge."))
    sill_length = WrittenLength(metadata=told("Length of the sill, by tape."))
    glass_mark = Text(metadata=told("What the lasting mark in the pane says."))


class ReleaseViewSchema(Written):
    """What was released of an order last."""

    revision = whole("Its revision.", least=1)
    digest = like(DIGEST_PATTERN, "Its digest.")
    factory = text("Factory that it was released to.")
    released_at = text("When, UTC.", metadata={"format": "date-time"})
    is_newest = flag("Whether no revision has come since.")


class OrderRowSchema(Written):
    """An order in a list."""

    order_ref = text("The firm's name for it.")
    firm = text("The firm.")
    revision = whole("Number of its newest revision.", least=1)
    decision = word(DECISIONS, "What the newest revision came to.")
    digest = like(DIGEST_PATTERN, "Digest of the newest result.")
    received_at = text("When it came first, UTC.", metadata={"format": "date-time"})
    changed_at = text("When it changed last, UTC.", metadata={"format": "date-time"})
    release = some(ReleaseViewSchema, "What was released of it last.", or_null=True)


class OrderListSchema(Written):
    """A page of orders, the last received first; Link leads to the next."""

    orders = many(OrderRowSchema, "The orders.")


class RevisionRowSchema(Written):
    """One revision."""

    revision = whole("Its number.", least=1)
    cause = word(CAUSES, "What made it.")
    decision = word(DECISIONS, "What it came to.")
    digest = like(DIGEST_PATTERN, "Digest of its result.")
    made_at = text("When, UTC.", metadata={"format": "date-time"})


class CutOpeningSchema(Written):
    """An opening that is cut already."""

    opening_ref = text("The opening.")
    revision = whole("Revision whose list it was cut from.", least=1)


class CutAgainSchema(Written):
    """An opening that was cut and is to be cut anew: what was cut for it is scrap."""

    opening_ref = text("The opening.")
    revision = whole("Revision whose list it was cut from.", least=1)
    because = text("What has changed.")


class ArrivalRowSchema(Written):
    """An arrival."""

    opening_ref = text("The opening.")
    revision = whole("Revision that it was held against.", least=1)
    verdict = word(VERDICTS, "May the old window come out?")
    made_at = text("When, UTC.", metadata={"format": "date-time"})


class OrderViewSchema(OrderRowSchema):
    """An order as it stands."""

    already_cut = many(CutOpeningSchema, "Openings that are said to be cut.")
    revisions = many(RevisionRowSchema, "Its revisions, the newest first.")
    arrivals = many(ArrivalRowSchema, "Frames that arrived, the newest first.")
    result = some(ResultSchema, "Result of the newest revision.")


class ListPieceSchema(Written):
    """Pieces or beads that are alike in every window of an opening."""

    opening_ref = text("The opening.")
    part = text("What it is.")
    profile = text("Stock name.")
    length_mm = above_zero("Length to cut. [mm]")
    ends = word(CUT_ENDS, "Angles of its two ends.")
    light = whole("Light that it belongs to; null for the frame.", or_null=True)
    count = whole("How many to cut.", least=1)
    working = text("How the length was worked out.")


class ListTotalSchema(Written):
    """One profile of a list."""

    profile = text("Stock name.")
    pieces = whole("How many pieces.")
    length_mm = number("Their length together. [mm]")


class ListPaneSchema(Written):
    """Panes that are alike in every window of an opening."""

    opening_ref = text("The opening.")
    light = whole("Its light.")
    width_mm = whole("Width. [mm]")
    height_mm = whole("Height. [mm]")
    unit = text("Panes and cavities.")
    safety = text("Kind of safety glass.")
    kg = number("Mass of one. [kg]")
    count = whole("How many to make.", least=1)


class ListHeadSchema(Written):
    """What a list is of."""

    order_ref = text("The order.")
    firm = text("Its firm.")
    revision = whole("Its revision.", least=1)
    digest = like(DIGEST_PATTERN, "Digest of the result that it comes from.")
    made_with = some(MadeWithSchema, "Program, system and rulebook.")
    already_cut = many(CutOpeningSchema, "Openings that are left out, as they are cut already.")
    cut_again = many(CutAgainSchema, "Openings that were cut for other sizes; what was cut is scrap.")


class ReleasedSchema(ListHeadSchema):
    """A list that is frozen and released to the saw, once."""

    pieces = many(ListPieceSchema, "Pieces and beads to cut.")
    totals = many(ListTotalSchema, "The same by profile.")
    glass = many(ListPaneSchema, "Panes to order.")
    released_at = text("When, UTC.", metadata={"format": "date-time"})
    factory = text("Factory that it is released to.")


class ReadListHeadSchema(ListHeadSchema):
    """A list with its standing."""

    standing = word(STANDINGS, "released: cut it; superseded: a newer revision has come; else it is a draft.")
    released_at = text("When, UTC.", or_null=True, metadata={"format": "date-time"})
    factory = text("Factory that it was released to.", or_null=True)


class CuttingListSchema(ReadListHeadSchema):
    """Pieces and beads to cut."""

    pieces = many(ListPieceSchema, "Pieces and beads; each row times its count.")
    totals = many(ListTotalSchema, "The same by profile.")


class GlassListSchema(ReadListHeadSchema):
    """Panes to order."""

    glass = many(ListPaneSchema, "Panes; each row times its count.")


class ArrivalCheckSchema(Written):
    """One look at the frame."""

    check = word(("release", "width", "height", "handing", "sill", "glass"), "What was looked at.")
    verdict = word(VERDICTS, "yes: as it should be; ask: a person decides first; no: it must not go in.")
    working = text("What was compared, and what came out.")
    do = text("What to do.", or_null=True)
    gap_mm = each(
        fields.Float(),
        "Gap left and right, or top and bottom. [mm]",
        or_null=True,
        validate=validate.Length(equal=2),
    )
    source = text("Where the limit comes from.", or_null=True)


class ArrivalResultSchema(Written):
    """Whether the old window may come out."""

    order_ref = text("The order.")
    revision = whole("Revision that the frame was held against.", least=1)
    opening_ref = text("The opening.")
    may_old_window_come_out = word(VERDICTS, "The worst of the checks.")
    checks = many(ArrivalCheckSchema, "Each look at the frame.")
    same_size_as = each(fields.String(), "Other openings of the order whose frame has this size.")
    do = text("What to do.")
    caution = text("What to look for before an old window comes out.")
    by = text("Who taped it.")
    at = text("When, UTC.", metadata={"format": "date-time"})
