"""The columns of our own sheet: name, place in the order, whether needed. Stated here and nowhere else."""

from dataclasses import dataclass
from typing import Final, Literal

Level = Literal["order", "opening"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the sheet.

    Attributes:
        name: its heading.
        level: ``order`` where it says the same of every opening of an order, else ``opening``.
        path: member names, and the place in a list, that lead to its value from the order or opening.
        is_required: a sheet without it is not read.
    """

    name: str
    level: Level
    path: tuple[str | int, ...]
    is_required: bool = False

    @property
    def is_reading(self) -> bool:
        """Whether it is one reading of a list, such as the middle width."""
        return len(self.path) == 2 and isinstance(self.path[1], int)


def _order(name: str, *path: str | int, needed: bool = False) -> Column:
    return Column(name, "order", path or (name,), needed)


def _opening(name: str, *path: str | int, needed: bool = False) -> Column:
    return Column(name, "opening", path or (name,), needed)


COLUMNS: Final[tuple[Column, ...]] = (
    _order("order_ref", needed=True),
    _order("system", needed=True),
    _order("rulebook"),
    _order("units"),
    _order("number_style"),
    _order("viewed_from"),
    _order("survey_date", "survey", "date"),
    _order("surveyor", "survey", "surveyor"),
    _order("survey_revision", "survey", "revision"),
    _order("site_basic_wind_m_s", "site", "basic_wind_m_s"),
    _order("site_terrain", "site", "terrain"),
    _order("site_height_m", "site", "height_m"),
    _order("site_altitude_m", "site", "altitude_m"),
    _opening("opening_ref", needed=True),
    _opening("quantity"),
    _opening("room"),
    _opening("storey"),
    _opening("floor_to_sill"),
    _opening("measured_to"),
    _opening("width_top", "widths", 0, needed=True),
    _opening("width_middle", "widths", 1),
    _opening("width_bottom", "widths", 2),
    _opening("height_left", "heights", 0, needed=True),
    _opening("height_middle", "heights", 1),
    _opening("height_right", "heights", 2),
    _opening("diagonal_1", "diagonals", 0),
    _opening("diagonal_2", "diagonals", 1),
    _opening("slope"),
    _opening("inside_width", "inside", "width"),
    _opening("inside_height", "inside", "height"),
    _opening("to_come_left", "to_come", "left"),
    _opening("to_come_right", "to_come", "right"),
    _opening("to_come_top", "to_come", "top"),
    _opening("to_come_bottom", "to_come", "bottom"),
    _opening("frame_width", "frame", "width"),
    _opening("frame_height", "frame", "height"),
    _opening("height_includes_sill", "frame", "height_includes_sill"),
    _opening("gap_left", "gap", "left"),
    _opening("gap_right", "gap", "right"),
    _opening("gap_top", "gap", "top"),
    _opening("gap_bottom", "gap", "bottom"),
    _opening("extender_top", "extenders", "top"),
    _opening("extender_bottom", "extenders", "bottom"),
    _opening("extender_left", "extenders", "left"),
    _opening("extender_right", "extenders", "right"),
    _opening("sill_projection", "sill", "projection"),
    _opening("sill_fit", "sill", "fit"),
    _opening("sill_horn_left", "sill", "horn_left"),
    _opening("sill_horn_right", "sill", "horn_right"),
    _opening("set_back"),
    _opening("layout", needed=True),
    _opening("surveyed_viewed_from", "surveyed", "viewed_from"),
    _opening("surveyed_layout", "surveyed", "layout"),
    _opening("colour_outside", "colour", "outside"),
    _opening("colour_inside", "colour", "inside"),
    _opening("glazing_unit", "glazing", "unit"),
    _opening("glazing_safety", "glazing", "safety"),
    _opening("glazing_u_g", "glazing", "u_g"),
    _opening("glazing_gas", "glazing", "gas"),
    _opening("glazing_emissivity", "glazing", "emissivity"),
    _opening("glazing_impact_class", "glazing", "impact_class"),
    _opening("vent_mm2"),
    _opening("old_vent_mm2"),
    _opening("element"),
    _opening("door_beside_left", "door_beside", "left"),
    _opening("door_beside_right", "door_beside", "right"),
    _opening("energy_band"),
    _opening("escape"),
    _opening("design_wind_pa"),
    _opening("note"),
)
"""In the order of the order form; a sheet may have them in any order."""

BY_NAME: Final[dict[str, Column]] = {column.name: column for column in COLUMNS}

REQUIRED: Final[tuple[str, ...]] = tuple(column.name for column in COLUMNS if column.is_required)
