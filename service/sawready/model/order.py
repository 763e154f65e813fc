"""An order in our units and terms: whole nanometres, seen from outside."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Literal

from sawready.model.glass_unit import GlassUnit
from sawready.model.layout import Layout

View = Literal["outside", "inside"]
SillFit = Literal["between_reveals", "horns_into_wall", "notched_round_brick"]

Sides = tuple[int, int, int, int]
"""Left, right, top, bottom, seen from outside. [nm]"""


@dataclass(frozen=True, slots=True)
class SillOrder:
    """The sill as ordered.

    Attributes:
        projection_nm: depth from front to back. [nm]
        fit: ``between_reveals``, ``horns_into_wall`` or ``notched_round_brick``; None where unclear.
        horn_left_nm, horn_right_nm: horns past the reveal; None where not stated. [nm]
    """

    projection_nm: int | None
    fit: SillFit | None
    horn_left_nm: int | None
    horn_right_nm: int | None


@dataclass(frozen=True, slots=True)
class Site:
    """Where the building stands, for the wind on it.

    Attributes:
        basic_wind_m_s: basic wind velocity of the place, from its map. [m/s]
        terrain: terrain category of EN 1991-1-4, ``0`` to ``IV``.
        height_m: height of the building above ground. [m]
        altitude_m: above the sea; None where not stated. [m]
    """

    basic_wind_m_s: float | None
    terrain: str | None
    height_m: float | None
    altitude_m: float | None


@dataclass(frozen=True)
class Opening:
    """One opening, as far as it could be read.

    Lengths are nanometres seen from outside. A reading that could not be read is None in its list.

    Attributes:
        index: number in the order, from 0.
        opening_ref: the firm's name for it.
        quantity: how many alike; None where it is no count.
        widths_nm: top, middle, bottom. [nm]
        heights_nm: left, middle, right. [nm]
        diagonals_nm: top-left to bottom-right, then the other. [nm]
        is_head_sloping: the head is out of level, not the jambs.
        to_come_nm: finishes still to come on each side. [nm]
        frame_width_nm, frame_height_nm: as stated, the height without sill. [nm]
        stated_height_nm: the height as stated, before a sill in it was taken off. [nm]
        own_gap_nm: the order's own gap on each side, None where it leaves that to the rulebook. [nm]
        extenders_nm: extender width on each side. [nm]
        gas: filling of the glass unit's cavities, where stated.
        emissivity: corrected emissivity of the coated face in each cavity, where stated.
        impact_class: stated class of the weakest pane by EN 12600.
        old_vent_mm2: ventilators of the window that comes out; None where not stated. [mm2]
        element: ``window``, ``door`` or ``side_panel``.
        door_beside_nm: from the frame's left and right edge to a door; None where not stated. [nm]
        energy_band: declared rating band of the window.
        unread: names of what was stated but could not be read; checks that need them do not run.
        reading_places: for ``widths``, ``heights`` or ``diagonals`` with a blank among them, where each reading
            stands in the order's list, in the order's own view.
        is_view_known: the view is stated, or nothing depends on it.
    """

    index: int
    opening_ref: str | None
    quantity: int | None
    room: str | None
    storey: int | None
    floor_to_sill_nm: int | None
    measured_to: str | None
    widths_nm: tuple[int | None, ...]
    heights_nm: tuple[int | None, ...]
    diagonals_nm: tuple[int | None, ...]
    is_head_sloping: bool
    inside_width_nm: int | None
    inside_height_nm: int | None
    to_come_nm: Sides
    frame_width_nm: int | None
    frame_height_nm: int | None
    stated_height_nm: int | None
    height_includes_sill: bool | None
    own_gap_nm: tuple[int | None, int | None, int | None, int | None]
    extenders_nm: Sides
    sill: SillOrder | None
    set_back_nm: int | None
    layout: Layout | None
    surveyed_layout: Layout | None
    colour_outside: str | None
    colour_inside: str | None
    glass: GlassUnit | None
    safety: str
    u_g_w_m2k: float | None
    vent_mm2: int | None
    escape: bool | None
    design_wind_pa: float | None
    note: str | None = None
    gas: str | None = None
    emissivity: float | None = None
    impact_class: int | None = None
    old_vent_mm2: int | None = None
    element: str = "window"
    door_beside_nm: tuple[int | None, int | None] = (None, None)
    energy_band: str | None = None
    unread: frozenset[str] = field(default_factory=frozenset)
    reading_places: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    is_view_known: bool = True

    @property
    def has_own_gap(self) -> bool:
        """Whether the order states a gap of its own on any side."""
        return self.own_gap_nm != (None, None, None, None)

    @cached_property
    def colour_class(self) -> str | None:
        """``white`` where the outside is white, else ``coloured``; None where no colour is known."""
        if self.colour_outside is None:
            return None
        return "white" if self.colour_outside.strip().casefold() == "white" else "coloured"


@dataclass(frozen=True, slots=True)
class Answer:
    """A named person's answer to a query.

    Attributes:
        opening_ref: the opening it is about.
        reason: the query's reason.
        measured: the value that it answers; it holds only while that value is unchanged.
        by: who answered.
        on: the day of the answer.
        note: why.
    """

    opening_ref: str
    reason: str
    measured: float | None
    by: str
    on: str
    note: str | None


@dataclass(frozen=True, slots=True)
class Order:
    """What an order says of itself, beside its openings."""

    order_ref: str | None
    system: str | None
    rulebook: str | None
    units: str | None
    number_style: str
    viewed_from: View | None
    survey_date: date | None
    surveyor: str | None
    survey_revision: int | None
    answers: tuple[Answer, ...] = ()
    site: Site | None = None
