"""The shape of what is published: results with their findings, catalogue pages, problems.

These schemas write nothing, ``as_json`` does that for speed; they are the source of the published JSON
Schemas and of the OpenAPI document, and tests hold every answer against them. Every key is always there;
what does not apply is null.
"""

from collections.abc import Iterable
from typing import Any, Final

from marshmallow import RAISE, Schema, fields, validate

from sawready.model.finding import DECISIONS, WEIGHT
from sawready.model.layout import KINDS
from sawready.order_schema import SAFETY

FRAME_SIDES: Final = ("head", "bottom", "left", "right")

ROUND: Final = ("top", "bottom", "left", "right")

PIECE_PARTS: Final = (
    *(f"frame-{side}" for side in FRAME_SIDES),
    *(f"sash-{side}" for side in ROUND),
    "mullion",
    "transom",
    "reinforcement",
    *(f"extender-{side}" for side in ROUND),
    "sill",
)
"""What a piece can be, by the words of the contract."""

BEAD_PARTS: Final = tuple(f"bead-{side}" for side in ROUND)

CUT_ENDS: Final = ("45/45", "90/90", "90/45", "45/90")
"""Angles of the two ends of a piece, in degrees."""

REASON_PATTERN: Final = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"
DIGEST_PATTERN: Final = r"^sha256:[0-9a-f]{64}$"
POINTER_PATTERN: Final = r"^$|^/([^~]|~[01])*$"
REFERENCE_PATTERN: Final = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}@sha256:[0-9a-f]{64}$"


class Written(Schema):
    """Base of what is published: every key there, no other."""

    class Meta:
        """Settings of marshmallow."""

        unknown = RAISE


def _more(meaning: str, or_null: bool, more: dict[str, Any]) -> dict[str, Any]:
    metadata = {"description": meaning, **more.pop("metadata", {})}
    return {"required": True, "allow_none": or_null, "metadata": metadata, **more}


def text(meaning: str, *, or_null: bool = False, **more: Any) -> fields.String:
    """A text."""
    return fields.String(**_more(meaning, or_null, more))


def word(words: Iterable[str], meaning: str, *, or_null: bool = False) -> fields.String:
    """One of a few words."""
    return text(meaning, or_null=or_null, validate=validate.OneOf([*words]))


def like(pattern: str, meaning: str, *, or_null: bool = False) -> fields.String:
    """A text of a form."""
    return text(meaning, or_null=or_null, validate=validate.Regexp(pattern))


def number(meaning: str, *, or_null: bool = False, **more: Any) -> fields.Float:
    """A number."""
    return fields.Float(**_more(meaning, or_null, more))


def above_zero(meaning: str, *, or_null: bool = False) -> fields.Float:
    """A number above zero, such as the length of a piece."""
    return number(meaning, or_null=or_null, validate=validate.Range(min=0, min_inclusive=False))


def whole(meaning: str, *, least: int = 0, or_null: bool = False) -> fields.Integer:
    """A whole number."""
    return fields.Integer(**_more(meaning, or_null, {"strict": True, "validate": validate.Range(min=least)}))


def flag(meaning: str) -> fields.Boolean:
    """A claim that is true or not."""
    return fields.Boolean(**_more(meaning, False, {}))


def day(meaning: str, *, or_null: bool = False) -> fields.Date:
    """A day of the calendar, YYYY-MM-DD."""
    return fields.Date(**_more(meaning, or_null, {}))


def some(schema: type[Schema], meaning: str, *, or_null: bool = False) -> fields.Nested:
    """An object."""
    return fields.Nested(schema, **_more(meaning, or_null, {}))


def each(inner: fields.Field[Any], meaning: str, *, or_null: bool = False, **more: Any) -> fields.List[Any]:
    """A list."""
    return fields.List(inner, **_more(meaning, or_null, more))


def many(schema: type[Schema], meaning: str) -> fields.List[Any]:
    """A list of objects."""
    return each(fields.Nested(schema), meaning)


def pair(inner: fields.Field[Any], meaning: str, *, or_null: bool = False) -> fields.List[Any]:
    """Width and height."""
    return each(inner, meaning, or_null=or_null, validate=validate.Length(equal=2))


class QuantitySchema(Written):
    """A number with its unit."""

    value = number("As a report writes it.")
    unit = text("Empty for a plain number.")


class CellSchema(Written):
    """A place in a sheet or text."""

    line = whole("Physical line, from 1.", least=1)
    column = text("Name of the column; its number in a text that is no sheet.", or_null=True)


class NumberOrText(fields.Field[Any]):
    """A length, a count, or words."""


class FindingSchema(Written):
    """What is wrong with an opening, where, by how much, and what to do about it."""

    reason = like(REASON_PATTERN, "Name in the catalogue of reasons; never changes its meaning.")
    severity = word(WEIGHT, "reject: must not be cut; query: a person answers first; note: carries on.")
    at = like(POINTER_PATTERN, "Place in the JSON order, an RFC 6901 pointer.")
    cell = some(CellSchema, "Place in the sheet; null for an order that came as JSON.", or_null=True)
    message = text("Measured value, limit and unit.")
    measured = some(QuantitySchema, "What was judged, where it is a number.", or_null=True)
    limit = some(QuantitySchema, "What it was judged against, where there is such a figure.", or_null=True)
    candidates = each(
        NumberOrText(metadata={"type": ["number", "string"]}),
        "Readings worth offering to the person who is asked: millimetres for lengths, else text.",
    )
    remedy = text("What to do.", or_null=True)
    source = text("Document or rulebook entry behind the limit.", or_null=True)


class NotAppliedSchema(Written):
    """A check that could not be made."""

    reason = like(REASON_PATTERN, "The reason that it looks for.")
    because = text("The fact that it lacks.")


class ReadingsMmSchema(Written):
    """The readings as understood, seen from the order's view; one that could not be read is null."""

    widths = each(fields.Float(allow_none=True), "Top, middle, bottom. [mm]")
    heights = each(fields.Float(allow_none=True), "Left, middle, right. [mm]")
    diagonals = each(fields.Float(allow_none=True), "Top left to bottom right, then the other. [mm]")


class FrameWorkingSchema(Written):
    """The sums behind a frame size."""

    width = text("Sum in words.", or_null=True)
    height = text("Sum in words.", or_null=True)


class FrameSizeSchema(Written):
    """Frame over all, without sill."""

    width_mm = number("Width. [mm]", or_null=True)
    height_mm = number("Height. [mm]", or_null=True)
    working = some(FrameWorkingSchema, "How it was worked out.")


class ClearanceSchema(Written):
    """Space between frame and wall at each side."""

    left_mm = number("Left. [mm]", or_null=True)
    right_mm = number("Right. [mm]", or_null=True)
    top_mm = number("Top. [mm]", or_null=True)
    bottom_mm = number("Bottom, below the sill where there is one. [mm]", or_null=True)


class SillCutSchema(Written):
    """The sill."""

    profile = text("Stock name.")
    length_mm = above_zero("Length to cut. [mm]")


class LightCutSchema(Written):
    """One light, in reading order as seen from outside."""

    light = word(KINDS, "What it is.")
    hinge = word(("left", "right"), "Hinge side, seen from outside.", or_null=True)
    daylight_mm = pair(fields.Float(), "Clear width and height inside the sight lines. [mm]")
    sash_mm = pair(fields.Float(), "Sash over all; null where fixed. [mm]", or_null=True)
    glass_mm = pair(fields.Integer(strict=True), "Width and height of the glass. [mm]", or_null=True)
    glass_kg = number("Mass of the glass. [kg]", or_null=True)
    sash_kg = number("Mass of the glazed sash; null where fixed. [kg]", or_null=True)


class PieceSchema(Written):
    """One piece of profile to cut."""

    part = word(PIECE_PARTS, "What it is.")
    profile = text("Stock name.")
    length_mm = above_zero("Length to cut, tip to tip. [mm]")
    ends = word(CUT_ENDS, "Angles of the two ends. [degrees]")
    light = whole("The light that it belongs to, from 0; null where it belongs to the frame.", or_null=True)
    working = text("How the length was worked out.", or_null=True)


class BeadCutSchema(PieceSchema):
    """One bead to cut."""

    part = word(BEAD_PARTS, "Side of the light.")
    light = whole("The light that it belongs to, from 0.")


class PaneSchema(Written):
    """One glass unit."""

    width_mm = whole("Width. [mm]", least=1)
    height_mm = whole("Height. [mm]", least=1)
    unit = text("Panes and cavities from outside.")
    safety = word(SAFETY, "Safety glass.")
    kg = number("Mass. [kg]")
    light = whole("The light that it belongs to, from 0.")


def _holes(side: str, start: str) -> fields.List[Any]:
    return each(fields.Float(), f"{side}, from the {start}. [mm]")


class FixingPlacesSchema(Written):
    """Where fixing holes stand along each side of the frame."""

    left = _holes("Left", "top")
    right = _holes("Right", "top")
    top = _holes("Head", "left")
    bottom = _holes("Bottom", "left")


class OpeningResultSchema(Written):
    """What comes of one opening; a rejected one has nothing that could be cut."""

    opening_ref = text("As the order names it.", or_null=True)
    quantity = whole("How many alike.", least=1, or_null=True)
    decision = word(DECISIONS, "By its worst finding.")
    findings = many(FindingSchema, "What is wrong, in question or worth saying.")
    not_applied = many(NotAppliedSchema, "Checks that could not be made, so that silence is no pass.")
    readings_mm = some(ReadingsMmSchema, "The readings as understood.")
    frame = some(FrameSizeSchema, "The frame, where it can be worked out.", or_null=True)
    clearance = some(ClearanceSchema, "Space round the frame, where it can be worked out.", or_null=True)
    sill = some(SillCutSchema, "The sill, if any.", or_null=True)
    lights = many(LightCutSchema, "Lights in reading order as seen from outside.")
    pieces = many(PieceSchema, "Pieces to cut for one window.")
    beads = many(BeadCutSchema, "Beads to cut for one window.")
    glass = many(PaneSchema, "Glass units of one window.")
    fixings = some(FixingPlacesSchema, "Fixing holes.", or_null=True)


class MadeWithSchema(Written):
    """What the result was made with."""

    sawready = text("Version of the program.")
    system = like(REFERENCE_PATTERN, "Name and digest of the profile system, where known.", or_null=True)
    rulebook = like(REFERENCE_PATTERN, "Name and digest of the rulebook, where known.", or_null=True)


class ResultSchema(Written):
    """What comes of an order: a decision, and sizes to cut or reasons why not."""

    order_ref = text("As the order names itself.", or_null=True)
    decision = word(DECISIONS, "The worst of its openings.")
    digest = like(
        DIGEST_PATTERN,
        "SHA-256 of the result as written, without this member and without cells; the same order, program, "
        "system and rulebook give the same.",
    )
    made_with = some(MadeWithSchema, "Program, system and rulebook.")
    openings = many(OpeningResultSchema, "One for each opening of the order.")
