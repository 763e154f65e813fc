"""The shape of an order: one set of marshmallow schemas for checking and for the published JSON Schema.

Fields here say what kind of value may stand where. What a length or a count means is read afterwards,
in ``normalise``, where the units of the order are known.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar, Final

from marshmallow import RAISE, Schema, ValidationError, fields, validate

MOST_OPENINGS: Final = 500
"""Openings that one order may hold; more is a mistake or an attack (engineering note S8)."""

MOST_TEXT: Final = 2000
"""Characters that one text may hold (engineering note S8)."""

VIEWS: Final = ("outside", "inside")
UNITS: Final = ("mm", "cm", "m", "in", "ft")
NUMBER_STYLES: Final = ("en", "eu", "ch", "unknown")
FACES: Final = ("brick", "render", "plaster", "old_frame")
SLOPES: Final = ("jambs", "head")
SILL_FITS: Final = ("between_reveals", "horns_into_wall", "notched_round_brick")
SAFETY: Final = ("none", "toughened", "laminated")
GASES: Final = ("air", "argon", "krypton")
ELEMENTS: Final = ("window", "door", "side_panel")
TERRAINS: Final = ("0", "I", "II", "III", "IV")
BANDS: Final = ("A++", "A+", "A", "B", "C", "D", "E", "F", "G")
YES: Final = frozenset({"yes", "true", "y"})
NO: Final = frozenset({"no", "false", "n"})

_BIDI_AND_CONTROL: Final = frozenset(
    [chr(code) for code in (*range(32), *range(127, 160), *range(0x202A, 0x202F), *range(0x2066, 0x206A))]
    + [chr(code) for code in range(0xD800, 0xE000)]  # half characters, which no text file can hold
)

_LINE_PATTERN: Final = (
    r"^[^\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]*"
    r"[^\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069\s]"
    r"[^\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]*$"
)
"""A text that is not blank, without control characters, for the published schema."""

_PROSE_PATTERN: Final = _LINE_PATTERN.replace(r"\u0000-\u001f", r"\u0000-\u0008\u000b\u000c\u000e-\u001f")
"""The same, but line ends and tabs may stand in it."""


NEEDED: Final = "it is needed"
"""Why a required value is missed; the finding says who needs it."""


def fault(reason: str, because: str, **facts: Any) -> dict[str, Any]:
    """A fault as the schemas report it: the reason's name and what its message needs.

    A value that is itself an object or a list is left out: marshmallow copies what it holds, level by level.
    """
    return {
        "reason": reason,
        "because": because,
        **{name: fact for name, fact in facts.items() if not isinstance(fact, dict | list)},
    }


class Checked(fields.Field[Any]):
    """A field that is accepted or refused as it stands, without being turned into something else."""

    kind: ClassVar[str] = "a value"
    remedy: ClassVar[str | None] = None
    default_error_messages: dict[str, Any] = {  # noqa: RUF012 - marshmallow reads it from the class
        "required": fault("value-missing", NEEDED),
        "null": fault("value-missing", NEEDED),
    }

    def _publish(self, keyword: str, value: Any) -> None:
        """Adds a keyword of the published JSON Schema, where the field does not state it itself."""
        self.metadata = {keyword: value, **self.metadata}

    def accepts(self, value: Any) -> bool:
        """Whether the value may stand here; decides nothing about its meaning."""
        raise NotImplementedError

    def complaint(self, value: Any) -> dict[str, Any]:
        """The fault of a value that may not stand here."""
        return fault(
            "value-unreadable", f"{_seen(value)} is not {self.kind}", value=value, remedy=self.remedy
        )

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Any:
        del attr, data, kwargs
        if not self.accepts(value):
            raise ValidationError([self.complaint(value)])
        return value


_MOST_BITS: Final = 200
"""Longer whole numbers are not written out: Python refuses to write some of them."""


def _seen(value: Any) -> str:
    """The value as a message shows it."""
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value[:60]}"' if value.strip() else "an empty text"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, int) and value.bit_length() > _MOST_BITS:
        return "a number of more than 60 digits"
    if isinstance(value, int | float | Decimal):
        return str(value)[:60]
    return f"a value of kind {type(value).__name__}"


class Text(Checked):
    """A short text without control characters."""

    kind = "a text"

    def __init__(self, *, most: int = 200, is_prose: bool = False, **kwargs: Any) -> None:
        self.most = most
        self._allowed = "\n\r\t" if is_prose else ""
        super().__init__(**kwargs)
        self._publish("type", "string")
        self._publish("minLength", 1)
        self._publish("maxLength", most)
        self._publish("pattern", _PROSE_PATTERN if is_prose else _LINE_PATTERN)

    def accepts(self, value: Any) -> bool:
        """Text of the right length, nothing unprintable in it."""
        if type(value) is not str or len(value) > self.most or not value.strip():
            return False
        return value.isprintable() or not (_BIDI_AND_CONTROL - set(self._allowed)).intersection(value)

    def complaint(self, value: Any) -> dict[str, Any]:
        """Says whether kind, length or a control character is the trouble."""
        if isinstance(value, str) and len(value) > self.most:
            return fault(
                "value-unreadable", f"it has {len(value)} characters; {self.most} are the most", value=value
            )
        if isinstance(value, str) and not value.strip():
            return fault("value-unreadable", "it is blank")
        if isinstance(value, str):
            odd = next(sign for sign in value if sign in _BIDI_AND_CONTROL and sign not in self._allowed)
            return fault("value-unreadable", f"it holds the control character U+{ord(odd):04X}", value=value)
        return super().complaint(value)


class WrittenLength(Checked):
    """A length: a number in the order's units, or text that may carry its own unit."""

    kind = "a length"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._publish("type", ["number", "string"])

    def accepts(self, value: Any) -> bool:
        """A number or text; what it says is read later."""
        kind = type(value)
        return kind is str or kind is int or kind is Decimal or kind is float


class Readings(Checked):
    """One to three readings of one axis."""

    kind = "a list of readings"

    def __init__(self, *, least: int = 1, most: int = 3, **kwargs: Any) -> None:
        self.least, self.most = least, most
        super().__init__(**kwargs)
        self._publish("type", "array")
        self._publish("minItems", least)
        self._publish("maxItems", most)
        self._publish("items", {"type": ["number", "string", "null"]})

    def accepts(self, value: Any) -> bool:
        """A list of as many as may be; each reading is read later."""
        return (
            type(value) is list
            and len(value) <= self.most
            and sum(item is not None for item in value) >= self.least
        )

    def complaint(self, value: Any) -> dict[str, Any]:
        """Says whether the kind or the count is the trouble."""
        wanted = f"{self.least} to {self.most}" if self.least else f"at most {self.most}"
        remedy = f"List {wanted} readings, such as [{', '.join(('1812', '1808', '1810')[: self.most])}]."
        if isinstance(value, list):
            if all(item is None for item in value) and self.least:
                return fault("value-missing", "it holds no reading", value=value)
            return fault(
                "value-unreadable", f"it holds {len(value)} readings; {wanted} are taken", remedy=remedy
            )
        return fault("value-unreadable", f"{_seen(value)} is not a list of {wanted} readings", remedy=remedy)


class Choice(Checked):
    """One of a few words."""

    def __init__(self, words: tuple[str, ...], **kwargs: Any) -> None:
        self.words = words
        self._set = frozenset(words)
        super().__init__(**kwargs)
        self._publish("type", "string")
        self._publish("enum", list(words))

    def accepts(self, value: Any) -> bool:
        """One of the words, as written."""
        return type(value) is str and value in self._set

    def complaint(self, value: Any) -> dict[str, Any]:
        """Names the words that would do."""
        words = ", ".join(self.words[:-1]) + f" or {self.words[-1]}"
        return fault(
            "value-unreadable",
            f"{_seen(value)} is not {words}",
            value=value,
            known=self.words,
            remedy=f"State {words}.",
        )


class Flag(Checked):
    """Yes or no."""

    kind = "yes or no"
    remedy = "State yes or no."

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._publish("type", ["boolean", "string"])

    def accepts(self, value: Any) -> bool:
        """A truth value, or one of the words for it."""
        return value is True or value is False or (type(value) is str and value.strip().lower() in YES | NO)


class Number(Checked):
    """A plain number that is no length, in the unit of its name."""

    kind = "a plain number"

    def __init__(self, *, least: float, most: float, is_whole: bool = False, **kwargs: Any) -> None:
        self.least, self.most, self.is_whole = least, most, is_whole
        super().__init__(**kwargs)
        self._publish("type", ["integer" if is_whole else "number", "string"])
        self._publish("minimum", least)
        self._publish("maximum", most)

    def read(self, value: Any) -> Decimal | None:
        """The number, or None where it is none."""
        if type(value) is str:
            text = value.strip()
            plain = text.removeprefix("-").replace(".", "", 1)
            if (
                not (plain.isascii() and plain.isdigit())
                or len(plain) > 18
                or text.endswith(".")
                or text.startswith(".")
            ):
                return None
            value = text
        elif type(value) is float:
            value = repr(value)
        elif type(value) is not int and type(value) is not Decimal:
            return None
        number = Decimal(value)
        return (
            None
            if not number.is_finite() or (self.is_whole and number != number.to_integral_value())
            else number
        )

    def accepts(self, value: Any) -> bool:
        """A number within its range."""
        number = self.read(value)
        return number is not None and self.least <= number <= self.most

    def complaint(self, value: Any) -> dict[str, Any]:
        """Says whether the form or the range is the trouble."""
        number = self.read(value)
        if number is None:
            kind = "a whole number" if self.is_whole else self.kind
            return fault("value-unreadable", f"{_seen(value)} is not {kind}", value=value)
        return fault(
            "value-out-of-range",
            f"{_seen(value)} lies outside {self.least:.12g} to {self.most:.12g}",
            value=value,
            number=float(number),
            limit=self.least if number < self.least else self.most,
        )


class Count(Checked):
    """How many alike: a whole number, or text such as ``2 off``."""

    kind = "a count"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._publish("type", ["integer", "string"])

    def accepts(self, value: Any) -> bool:
        """A number or text; what it says is read later."""
        kind = type(value)
        return kind is int or kind is str or kind is Decimal or kind is float

    def complaint(self, value: Any) -> dict[str, Any]:
        """A count that is none has a reason of its own."""
        return fault("quantity-not-a-count", f"{_seen(value)} is not a count", value=value)


class WrittenLayout(Checked):
    """A layout as text, or as a tree of columns, rows and lights."""

    kind = "a layout"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._publish("type", ["string", "object"])

    def accepts(self, value: Any) -> bool:
        """Text or a tree; what it says is read later."""
        return type(value) is str or type(value) is dict

    def complaint(self, value: Any) -> dict[str, Any]:
        """A layout that is none has a reason of its own."""
        return fault("layout-unreadable", f"{_seen(value)} is neither text nor a tree", value=value)


class Part(Schema):
    """Base of every schema of an order: an unknown field is a fault that names it."""

    class Meta:
        """Settings of marshmallow."""

        unknown = RAISE

    error_messages: dict[str, Any] = {  # noqa: RUF012 - marshmallow reads it from the class
        "unknown": fault("field-unknown", "no such field"),
        "type": fault("value-unreadable", "it is not an object"),
    }


def inner(schema: type[Part], description: str, **kwargs: Any) -> fields.Nested:
    """A nested object of an order."""
    return fields.Nested(
        schema,
        error_messages={"required": fault("value-missing", NEEDED)},
        metadata={"description": description},
        **kwargs,
    )


def told(description: str, **more: Any) -> dict[str, Any]:
    """Metadata for the published schema."""
    return {"description": description, **more}


class SurveySchema(Part):
    """When and by whom it was measured."""

    date = Text(most=40, metadata=told("Day of the survey, YYYY-MM-DD."))
    surveyor = Text(metadata=told("Who measured."))
    revision = Number(least=0, most=100_000, is_whole=True, metadata=told("Counts up with each re-survey."))


class InsideSchema(Part):
    """Sizes between the plaster faces."""

    width = WrittenLength(metadata=told("Inside width."))
    height = WrittenLength(metadata=told("Inside height."))


class SidesSchema(Part):
    """A length for each side, left and right as seen from the stated view."""

    left = WrittenLength()
    right = WrittenLength()
    top = WrittenLength()
    bottom = WrittenLength()


class FrameSchema(Part):
    """The frame as ordered, to be checked."""

    width = WrittenLength(metadata=told("Over all."))
    height = WrittenLength(metadata=told("Over all; height_includes_sill says whether the sill is in it."))
    height_includes_sill = Flag(metadata=told("Needed where a height is stated and there is a sill."))


class SillSchema(Part):
    """The sill as ordered."""

    projection = WrittenLength(required=True, metadata=told("Depth from back to nose."))
    fit = Choice(SILL_FITS, required=True, metadata=told("How its ends meet the wall."))
    horn_left = WrittenLength(metadata=told("Past the left reveal; needed unless between_reveals."))
    horn_right = WrittenLength(metadata=told("Past the right reveal; needed unless between_reveals."))


class SurveyedSchema(Part):
    """The survey's own drawing, where the order was drawn afresh."""

    viewed_from = Choice(VIEWS, metadata=told("The view of the survey's drawing."))
    layout = WrittenLayout(required=True, metadata=told("Layout as the survey drew it."))


class ColourSchema(Part):
    """Colours of the two faces; the outside one decides gaps and reinforcement."""

    outside = Text(required=True, metadata=told("Colour outside; anything but white counts as coloured."))
    inside = Text(metadata=told("Colour inside."))


class GlazingSchema(Part):
    """The glass unit."""

    unit = Text(required=True, most=60, metadata=told("Panes and cavities from outside, such as 4-20-4."))
    safety = Choice(SAFETY, metadata=told("Safety glass; none when absent."))
    u_g = Number(least=0.1, most=7, metadata=told("Transmittance of the unit, W/(m2 K)."))
    gas = Choice(GASES, metadata=told("Filling of the cavities; with emissivity it stands in for u_g."))
    emissivity = Number(
        least=0.01, most=0.9, metadata=told("Corrected emissivity of the coated face in each cavity.")
    )
    impact_class = Number(
        least=1,
        most=3,
        is_whole=True,
        metadata=told("Impact class of the weakest pane, EN 12600: 1, 2 or 3."),
    )


class DoorBesideSchema(Part):
    """How far off a door is, left and right as seen from the stated view."""

    left = WrittenLength()
    right = WrittenLength()


class SiteSchema(Part):
    """Where the building stands, for the wind on it."""

    basic_wind_m_s = Number(
        least=5, most=80, metadata=told("Basic wind velocity of the place, m/s, from its map.")
    )
    terrain = Choice(TERRAINS, metadata=told("Terrain category of EN 1991-1-4: 0 is open sea, IV a town."))
    height_m = Number(least=0.1, most=200, metadata=told("Height of the building above ground, m."))
    altitude_m = Number(least=0, most=2000, metadata=told("Altitude above the sea, m; 0 when absent."))


class OpeningSchema(Part):
    """One opening: what was measured, what is ordered for it."""

    opening_ref = Text(required=True, most=80, metadata=told("The firm's name for the opening."))
    quantity = Count(metadata=told("How many alike; 1 when absent."))
    room = Text(metadata=told("Room that it serves."))
    storey = Number(least=-5, most=200, is_whole=True, metadata=told("0 is the ground floor."))
    floor_to_sill = WrittenLength(metadata=told("Finished floor to the bottom of the frame, inside."))
    measured_to = Choice(FACES, metadata=told("Face that the readings were taken to."))
    widths = Readings(required=True, metadata=told("Top, middle, bottom; one to three."))
    heights = Readings(required=True, metadata=told("Left, middle, right; one to three."))
    diagonals = Readings(least=0, most=2, metadata=told("Top left to bottom right, then the other."))
    slope = Choice(SLOPES, metadata=told("Which pair is out where the diagonals differ; jambs when absent."))
    inside = inner(InsideSchema, "Sizes between the plaster faces.")
    to_come = inner(SidesSchema, "Finishes still to be applied on each side; they come off the aperture.")
    frame = inner(FrameSchema, "The frame as ordered; worked out where absent.")
    gap = inner(SidesSchema, "Own expansion gap on each side, instead of the rulebook's.")
    extenders = inner(SidesSchema, "Width of the frame extender on each side.")
    sill = inner(SillSchema, "The sill; none where absent.")
    set_back = WrittenLength(metadata=told("Frame behind the wall face."))
    layout = WrittenLayout(required=True, metadata=told("Lights and dividers, as seen from the stated view."))
    surveyed = inner(SurveyedSchema, "The survey's own drawing.")
    colour = inner(ColourSchema, "Colours of the two faces.", required=True)
    glazing = inner(GlazingSchema, "The glass unit.", required=True)
    vent_mm2 = Number(least=0, most=1_000_000, is_whole=True, metadata=told("Background ventilation, mm2."))
    old_vent_mm2 = Number(
        least=0,
        most=1_000_000,
        is_whole=True,
        metadata=told("Background ventilation of the window that comes out, mm2; 0 where it had none."),
    )
    element = Choice(ELEMENTS, metadata=told("What it is glazed into; window when absent."))
    door_beside = inner(DoorBesideSchema, "From the frame's edge to the edge of a door beside it.")
    energy_band = Choice(BANDS, metadata=told("Declared energy rating band of the window."))
    escape = Flag(metadata=told("Has to serve as a way out."))
    design_wind_pa = Number(least=0, most=10_000, metadata=told("Design wind pressure, Pa."))
    note = Text(most=MOST_TEXT, is_prose=True, metadata=told("For people; nothing is worked out from it."))


class AnswerSchema(Part):
    """A named person's answer to a query."""

    opening_ref = Text(required=True, most=80, metadata=told("The opening that it is about."))
    reason = Text(required=True, most=80, metadata=told("The query's reason."))
    measured = Number(least=-1e9, most=1e9, metadata=told("The measured value that it answers."))
    by = Text(required=True, metadata=told("Who answered."))
    on = Text(required=True, most=40, metadata=told("Day of the answer, YYYY-MM-DD."))
    note = Text(most=MOST_TEXT, is_prose=True, metadata=told("Why."))


class OrderSchema(Part):
    """An order of surveyed openings."""

    order_ref = Text(required=True, most=80, metadata=told("The firm's name for the order."))
    system = Text(required=True, most=80, metadata=told("Profile system."))
    rulebook = Text(required=True, most=80, metadata=told("Rulebook of the region."))
    units = Choice(UNITS, metadata=told("Unit of bare numbers."))
    number_style = Choice(NUMBER_STYLES, metadata=told("en 1,200.5; eu 1.200,5; ch 1'200.5; en when absent."))
    viewed_from = Choice(VIEWS, metadata=told("The view that every left and right is stated from."))
    survey = inner(SurveySchema, "The survey.")
    site = inner(SiteSchema, "The site, for the wind pressure where design_wind_pa is not stated.")
    defaults = fields.Dict(metadata=told("Any field of an opening, used where an opening does not state it."))
    openings = fields.List(
        fields.Nested(OpeningSchema),
        required=True,
        validate=validate.Length(min=1, max=MOST_OPENINGS),
        metadata=told("The openings."),
    )
    answers = fields.List(fields.Nested(AnswerSchema), metadata=told("Answers to queries."))


OPENING: Final = OpeningSchema()
"""Checks one opening, defaults merged in."""

ORDER_HEAD: Final = OrderSchema(exclude=("openings", "answers", "defaults"))
"""Checks what an order says of itself."""

ANSWER: Final = AnswerSchema()
"""Checks one answer."""
