"""The shape of a system file: the one source for checking it and for its published schema.

The shape of a rulebook file is in `rulebook_schema`, built on the same base. A schema reads the text
tree of the YAML door. It says which keys there are, which are needed, what each means and what kind of
value it takes. Whether a figure is plausible is data (`plausible`), whether figures agree with each
other is `checks`. An unknown key is refused with the nearest known one.
"""

from typing import Any, Final

from marshmallow import Schema, fields, validate

from sawready.catalogue.fields import (
    Ascending,
    Choice,
    Exact,
    ExactRange,
    Measure,
    Name,
    Text,
    YesNo,
    about,
)
from sawready.catalogue.profiles import MATERIALS, OPENER_KINDS

UNKNOWN: Final = "unknown-key"
"""Stands in marshmallow's messages for a key that the schema does not have."""


class Strict(Schema):
    """A mapping whose keys are all known."""

    error_messages = {  # noqa: RUF012 - marshmallow declares it as an instance variable
        "unknown": UNKNOWN,
        "type": "must be a mapping of keys and values. Write each as key: value.",
    }


class Rows(fields.Nested):
    """A list of mappings."""

    default_error_messages = {  # noqa: RUF012 - marshmallow declares it as an instance variable
        "type": "must be a list of rows. Begin each row with '- ' and give its keys and values."
    }

    def __init__(self, nested: type[Schema], **kwargs: Any) -> None:
        super().__init__(nested, many=True, **kwargs)


def part(nested: type[Schema], meaning: str, *, required: bool = True) -> fields.Nested:
    """A mapping inside another."""
    return fields.Nested(nested, **about(meaning, required=required))


def bar_mm() -> Exact:
    """Stock length of a profile."""
    return Exact(**about("stock bar length [mm]"))


def mass_kg_m() -> Measure:
    """Mass of a profile."""
    return Measure(**about("mass per metre [kg/m]"))


def i_mm4() -> Measure:
    """Second moment of area of a profile."""
    return Measure(**about("second moment of area against wind, if known [mm4]", required=False))


def range_mm(what: str) -> ExactRange:
    """Least and greatest length."""
    return ExactRange(**about(f"least and greatest {what} [mm, mm]"))


class FromLengthSchema(Strict):
    """Lengths from which steel goes in."""

    white = Exact(**about("finished member length at and above which white members get steel [mm]"))
    coloured = Exact(**about("the same for every other colour [mm]"))


class ReinforcementSchema(Strict):
    """Steel inside a member."""

    name = Name(**about("stock name of the steel"))
    set_back_mm = Exact(**about("how far it stops short of each end of the finished member [mm]"))
    from_mm = part(FromLengthSchema, "member lengths from which it is fitted, by colour class")
    bar_mm = bar_mm()
    mass_kg_m = mass_kg_m()
    i_mm4 = i_mm4()


class MemberSchema(Strict):
    """What every member has."""

    name = Name(**about("stock name of the profile"))
    face_mm = Exact(**about("outer edge to sight line; of a divider sight line to sight line [mm]"))
    rebate_mm = Exact(**about("depth of the glazing rebate behind the sight line [mm]"))
    bar_mm = bar_mm()
    mass_kg_m = mass_kg_m()
    i_mm4 = i_mm4()
    reinforcement = part(ReinforcementSchema, "the steel inside, if any", required=False)
    flip = YesNo(**about("whether mitred pieces may be turned over on the bar; no if absent", required=False))


class FrameSchema(MemberSchema):
    """Outer frame."""

    weld_allowance_mm = Exact(**about("burned off at each welded end [mm]"))


class SashSchema(FrameSchema):
    """Moving frame of an opening light."""

    overlap_mm = Exact(**about("how far the sash laps past the sight line of what surrounds it [mm]"))


class DividerSchema(MemberSchema):
    """Mullion or transom."""

    end_allowance_mm = Exact(**about("how far each end runs past the sight line that it meets [mm]"))
    ends = Choice(("90/90", "45/45", "90/45", "45/90"), **about("angles of the two cut ends"))


class ExtenderSchema(Strict):
    """Frame extender."""

    name = Name(**about("stock name"))
    widths_mm = Ascending(**about("widths on offer, smallest first [mm]"))
    bar_mm = bar_mm()
    mass_kg_m = mass_kg_m()


class ProfilesSchema(Strict):
    """The members of a system."""

    frame = part(FrameSchema, "outer frame")
    sash = part(SashSchema, "sash; needed where anything opens", required=False)
    mullion = part(DividerSchema, "upright divider, if there is one", required=False)
    transom = part(DividerSchema, "level divider, if there is one", required=False)
    extender = part(ExtenderSchema, "frame extender, if there is one", required=False)


class BeadSchema(Strict):
    """Bead for one thickness of unit."""

    unit_mm = Exact(**about("nominal thickness of the glass unit; serves units within 0.5 mm of it [mm]"))
    name = Name(**about("stock name"))
    height_mm = Exact(**about("height of the bead [mm]"))
    joint = Choice(("mitred", "square"), **about("how the beads meet in the corners"))
    allowance_mm = Exact(**about("added to the length of each bead [mm]"))
    bar_mm = bar_mm()
    mass_kg_m = mass_kg_m()


class SillSchema(Strict):
    """Sill profile."""

    name = Name(**about("stock name"))
    projection_mm = Exact(**about("depth from front to back [mm]"))
    upstand_mm = Exact(**about("how much of the aperture height it takes under the frame [mm]"))
    bar_mm = bar_mm()
    mass_kg_m = mass_kg_m()


class ClearOpeningSchema(Strict):
    """What an open sash leaves free."""

    width_loss_mm = Exact(**about("clear width is the sash's outer width less this [mm]"))
    height_loss_mm = Exact(**about("clear height is the sash's outer height less this [mm]"))


class OpenerSchema(Strict):
    """Limits of one kind of opening light."""

    width_mm = range_mm("outer width of the sash")
    height_mm = range_mm("outer height of the sash")
    most_kg = Measure(**about("greatest mass of the glazed sash [kg]"))
    clear_opening = part(ClearOpeningSchema, "what the open sash leaves free, for escape", required=False)


OpenersSchema = Strict.from_dict(
    {kind: part(OpenerSchema, f"limits of a {kind} light", required=False) for kind in OPENER_KINDS},
    name="OpenersSchema",
)


class FrameSizeSchema(Strict):
    """Least and greatest frame."""

    width_mm = range_mm("frame width")
    height_mm = range_mm("frame height")


class ThermalSchema(Strict):
    """Heat figures."""

    u_f_w_m2k = Measure(**about("transmittance of the frame members [W/(m2 K)]"))
    psi_g_w_mk = Measure(**about("linear transmittance of the glass edge [W/(m K)]"))


class SystemSchema(Strict):
    """A profile system file."""

    system = Name(**about("name by which orders call the system"))
    title = Text(**about("title for people"))
    source = Text(**about("where the figures come from, with edition or date"))
    material = Choice(MATERIALS, **about("frame material, for the gap table; pvcu if absent", required=False))
    opens = Choice(
        ("outward", "inward"), **about("which way opening lights go; outward if absent", required=False)
    )
    depth_mm = Exact(**about("depth of the frame from front to back [mm]"))
    glass_clearance_mm = Exact(**about("gap between glass edge and rebate base, each edge [mm]"))
    hardware_kg_per_sash = Measure(**about("allowance for hinges, gear and handle [kg]"))
    frame_size = part(FrameSizeSchema, "least and greatest frame")
    daylight_least_mm = Exact(**about("least side of a light's daylight [mm]"))
    thermal = part(ThermalSchema, "heat figures, if known", required=False)
    profiles = part(ProfilesSchema, "the members")
    beads = Rows(
        BeadSchema,
        validate=validate.Length(min=1, error="has no row. Add a bead for each unit thickness."),
        **about("glazing beads, one row a unit thickness"),
    )
    sills = Rows(SillSchema, **about("sill profiles, if any", required=False))
    openers = part(OpenersSchema, "limits by kind of opening light", required=False)
