"""The shape of a rulebook file.

The sections that every rulebook has are spelled out, figure by figure. The further ones are open trees
of figures, whose keys the rules that use them define.
"""

from collections.abc import Mapping
from typing import Final

from sawready.catalogue.fields import Ascending, Day, ExactList, Name, Text, about
from sawready.catalogue.figure_fields import Editions, FigureField, FigureTree, SourcedSchema
from sawready.catalogue.profiles import MATERIALS
from sawready.catalogue.schemas import Strict, part

FURTHER_SECTIONS: Final[Mapping[str, str]] = {
    "thermal": "heat: transmittance limits and surface figures",
    "wind": "wind pressure and deflection",
    "structure": "materials and stiffness of members",
    "glazing": "glass strength, units and critical places",
    "escape": "escape openings",
    "ventilation": "background ventilation",
    "handling": "masses that people lift",
    "guarding": "guarding of low openings",
    "expansion": "movement of frames with heat",
    "condensation": "inside surface temperatures",
    "suspicion": "limits of the checks for slips in a survey",
    "site": "height, exposure and place of a building",
}
"""Sections that a rulebook may have besides those of the core; their figures are an open tree."""


class ColourGapsSchema(Strict):
    """Gaps of one frame material, one a band."""

    white = ExactList(**about("gap per side of white frames, one a band [mm]", required=False))
    coloured = ExactList(**about("the same for frames of any other colour [mm]", required=False))


GapTableSchema = SourcedSchema.from_dict(
    {
        "up_to_mm": Ascending(**about("greatest span of each band, itself included [mm]")),
        **{
            material: part(ColourGapsSchema, f"gaps of {material} frames", required=False)
            for material in MATERIALS
        },
    },
    name="GapTableSchema",
)


class GapMostSchema(SourcedSchema):
    """Largest gaps, one a band."""

    up_to_mm = Ascending(**about("greatest span of each band, itself included [mm]"))
    value = ExactList(**about("largest gap per side, one a band [mm]"))


def number(meaning: str, *, required: bool = True) -> FigureField:
    """A figure that is one number."""
    return FigureField(kind="number", **about(meaning, required=required))


def least_and_most(meaning: str) -> FigureField:
    """A figure that is a range."""
    return FigureField(kind="range", **about(meaning))


class LimitsSchema(Strict):
    """What an entry can sensibly be."""

    size_mm = least_and_most("least and greatest side of an aperture or frame [mm, mm]")
    diagonal_mm = least_and_most("least and greatest diagonal [mm, mm]")
    horn_mm = least_and_most("least and greatest horn of a sill [mm, mm]")
    sill_projection_mm = least_and_most("least and greatest projection of a sill [mm, mm]")
    finish_to_come_mm = least_and_most("least and greatest thickness of finish still to come [mm, mm]")
    own_gap_mm = least_and_most("least and greatest gap that an order may ask for [mm, mm]")


class SurveySchema(Strict):
    """Tolerances of a survey."""

    diagonals_differ_from_mm = number("difference of diagonals below which it is tape accuracy [mm]")
    diagonals_against_sides_mm = number("misfit of diagonals and sides above which one is wrong [mm]")
    readings_spread_mm = number("spread of the readings of one axis above which they are questioned [mm]")


class FixingsSchema(Strict):
    """Where fixing holes may stand."""

    corner_mm = number("first and last hole from the corner; most: where a divider forbids it [mm]")
    centres_most_mm = number("greatest spacing of holes [mm]")
    from_divider_mm = number("least distance from the centre line of a divider [mm]")
    least_per_side = FigureField(kind="count", **about("least number of holes a side"))
    head_and_bottom_from_mm = number("frame width above which head and bottom are fixed too [mm]")


class CoreSchema(Strict):
    """The part of a rulebook that every one has."""

    rulebook = Name(**about("name by which orders call the rulebook"))
    title = Text(**about("title for people"))
    checked = Day(
        **about(
            "day on which the figures were last compared with their sources; an order without a date is "
            "judged by the figures in force then",
            required=False,
        )
    )
    limits = part(LimitsSchema, "what an entry can sensibly be")
    gap_per_side_mm = Editions(GapTableSchema, **about("least gap per side by material and span"))
    gap_most_per_side_mm = Editions(GapMostSchema, **about("largest gap per side by span"))
    backing_strip_above_gap_mm = number("gap above which a backing strip is needed [mm]", required=False)
    survey = part(SurveySchema, "tolerances of a survey")
    fixings = part(FixingsSchema, "where fixing holes may stand")
    sill_overhang_mm = least_and_most("least and greatest overhang of a sill past the wall face [mm, mm]")


RulebookSchema = CoreSchema.from_dict(
    {section: FigureTree(**about(meaning, required=False)) for section, meaning in FURTHER_SECTIONS.items()},
    name="RulebookSchema",
)
