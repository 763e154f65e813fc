"""The shape of the published catalogues: profile systems, rulebooks and reasons."""

from typing import get_args

from marshmallow import fields

from sawready.catalogue.figures import CONFIDENCES
from sawready.catalogue.profiles import MATERIALS
from sawready.catalogue.schemas import SystemSchema
from sawready.model.finding import WEIGHT
from sawready.report.result_schema import (
    REASON_PATTERN,
    REFERENCE_PATTERN,
    NumberOrText,
    Written,
    day,
    each,
    like,
    many,
    some,
    text,
    word,
)
from sawready.rules.registry import About, Stage


def _some_number(meaning: str) -> NumberOrText:
    return NumberOrText(required=True, allow_none=True, metadata={"type": "number", "description": meaning})


class SystemSummarySchema(Written):
    """A profile system in a list."""

    name = text("By which orders call it.")
    title = text("For people.")
    reference = like(REFERENCE_PATTERN, "Name and digest, as a result's made_with states them.")
    material = word(MATERIALS, "Frame material.")
    opens = word(("outward", "inward"), "Which way opening lights go.")
    source = text("Where its figures come from.")


class SystemListSchema(Written):
    """The profile systems on file."""

    systems = many(SystemSummarySchema, "By name.")


class SystemPageSchema(Written):
    """A profile system with all its figures."""

    reference = like(REFERENCE_PATTERN, "Name and digest, as a result's made_with states them.")
    system = some(SystemSchema, "Its figures, in the form of a system file.")


class RulebookSummarySchema(Written):
    """A rulebook in a list."""

    name = text("By which orders call it.")
    title = text("For people.")
    reference = like(REFERENCE_PATTERN, "Name and digest, as a result's made_with states them.")
    checked = day("Day on which its figures were last compared with their sources.", or_null=True)


class RulebookListSchema(Written):
    """The rulebooks on file."""

    rulebooks = many(RulebookSummarySchema, "By name.")


class FigurePageSchema(Written):
    """A figure that is in force, and where it comes from."""

    path = text("Sections and name, parted by points.")
    value = NumberOrText(
        required=True,
        allow_none=True,
        metadata={
            "description": "A number, least and greatest, numbers, or a word; null where rows hold it.",
            "type": ["number", "string", "array"],
            "items": {"type": "number"},
        },
    )
    unit = text("Empty for counts and ratios; 'word' for a word.")
    rows = each(
        fields.Dict(metadata={"additionalProperties": {"type": ["number", "string"]}}), "Rows of a table."
    )
    least = _some_number("Least that is allowed.")
    most = _some_number("Greatest that is allowed.")
    usual = _some_number("What is usual.")
    source = text("Document, edition and table, or that it is common practice or from memory.")
    confidence = word(CONFIDENCES, "A figure of low confidence may query, never reject.")
    edition = text("Edition of the document.", or_null=True)
    paragraph = text("Place in the document.", or_null=True)
    in_force = day("First day on which it holds.", or_null=True)
    checked = day("Day of the last look at the source.", or_null=True)
    note = text("Remark.", or_null=True)


class RulebookPageSchema(RulebookSummarySchema):
    """A rulebook with the figures in force on a day."""

    on = day("The day; null for the day on which the figures were last checked.", or_null=True)
    figures = many(FigurePageSchema, "By path.")


class ReasonPageSchema(Written):
    """What a reason means, why it matters and what to do."""

    name = like(REASON_PATTERN, "Never changes its meaning.")
    about = word(get_args(About), "Family.")
    severity = word(WEIGHT, "Usual severity; a rulebook may make it stricter.")
    stage = word(get_args(Stage), "On reading, before the sizes are worked out, or after.")
    title = text("Heading.")
    why = text("What it means and why it matters.")
    message = text("Form of the message; names in braces stand for figures of the order.")
    remedy = text("What to do, likewise.")
    source = text("Document or rulebook entry behind the figure.")
    since = text("Version that brought it.")
    needs = each(fields.String(), "Facts without which the check is listed as not applied.")


class ReasonListSchema(Written):
    """The catalogue of reasons."""

    reasons = many(ReasonPageSchema, "In the order of the catalogue.")
