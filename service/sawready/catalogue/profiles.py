"""A profile system: everything that one make of profile decides about a window.

All lengths are exact millimetres (`Fraction`, from the text of the file); masses and second moments
are floats. What each figure means in the geometry stands in its attribute line. Objects compare and
hash by identity, so that a compiled plan can be kept per system.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

ColourClass = Literal["white", "coloured"]
Material = Literal["pvcu", "aluminium", "timber", "steel"]
Opens = Literal["outward", "inward"]
Joint = Literal["mitred", "square"]

COLOUR_CLASSES: Final[tuple[ColourClass, ...]] = ("white", "coloured")
"""White outside, or any other colour or foil."""

MATERIALS: Final[tuple[Material, ...]] = ("pvcu", "aluminium", "timber", "steel")
"""Frame materials that a gap table may list."""

OPENER_KINDS: Final[tuple[str, ...]] = ("side-hung", "top-hung", "bottom-hung", "tilt-turn")
"""Kinds of opening light, by the words of an order's layout."""


@dataclass(frozen=True, slots=True, eq=False)
class Reinforcement:
    """Steel inside a member.

    Attributes:
        name: stock name of the steel.
        set_back_mm: stops short of each end of the member's finished length by this. [mm]
        from_mm: finished member length at and above which it is fitted, by colour class. [mm]
        bar_mm: stock bar length. [mm]
        mass_kg_m: mass per metre. [kg/m]
        i_mm4: second moment of area against wind, where known. [mm4]
    """

    name: str
    set_back_mm: Fraction
    from_mm: Mapping[str, Fraction]
    bar_mm: Fraction
    mass_kg_m: float
    i_mm4: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """Outer frame, sash, mullion or transom.

    Attributes:
        name: stock name of the profile.
        face_mm: outer edge to sight line; for a divider sight line to sight line. [mm]
        rebate_mm: depth of the glazing rebate behind the sight line. [mm]
        bar_mm: stock bar length. [mm]
        mass_kg_m: mass per metre. [kg/m]
        weld_allowance_mm: burned off at each welded end; 0 for dividers. [mm]
        overlap_mm: how far a sash laps past the sight line around it; 0 unless sash. [mm]
        end_allowance_mm: how far each end of a divider runs past the sight line it meets; 0 unless
            divider. [mm]
        ends: angles of the two cut ends, such as ``45/45``.
        i_mm4: second moment of area against wind, where known. [mm4]
        reinforcement: the steel that goes inside, if any.
        flip: whether mitred pieces may be turned over when they are nested onto bars.
    """

    name: str
    face_mm: Fraction
    rebate_mm: Fraction
    bar_mm: Fraction
    mass_kg_m: float
    weld_allowance_mm: Fraction = Fraction(0)
    overlap_mm: Fraction = Fraction(0)
    end_allowance_mm: Fraction = Fraction(0)
    ends: str = "45/45"
    i_mm4: float | None = None
    reinforcement: Reinforcement | None = None
    flip: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Extender:
    """Frame extender, sold in a few widths.

    Attributes:
        name: stock name.
        widths_mm: the widths on offer, ascending. [mm]
        bar_mm: stock bar length. [mm]
        mass_kg_m: mass per metre. [kg/m]
    """

    name: str
    widths_mm: tuple[Fraction, ...]
    bar_mm: Fraction
    mass_kg_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Bead:
    """Glazing bead for one thickness of unit.

    Attributes:
        unit_mm: nominal thickness of the unit; serves units within 0.5 mm of it. [mm]
        name: stock name.
        height_mm: height of the bead above the rebate base. [mm]
        joint: ``mitred`` (45/45) or ``square`` (horizontals run through, 90/90).
        allowance_mm: added to the length of each bead. [mm]
        bar_mm: stock bar length. [mm]
        mass_kg_m: mass per metre. [kg/m]
    """

    unit_mm: Fraction
    name: str
    height_mm: Fraction
    joint: Joint
    allowance_mm: Fraction
    bar_mm: Fraction
    mass_kg_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Sill:
    """Sill profile under the frame.

    Attributes:
        name: stock name.
        projection_mm: depth from front to back, by which an order picks it. [mm]
        upstand_mm: how much of the aperture height it takes under the frame. [mm]
        bar_mm: stock bar length. [mm]
        mass_kg_m: mass per metre. [kg/m]
    """

    name: str
    projection_mm: Fraction
    upstand_mm: Fraction
    bar_mm: Fraction
    mass_kg_m: float


@dataclass(frozen=True, slots=True, eq=False)
class ClearOpening:
    """What an open sash takes off its own outer size; the rest is the clear opening, for escape.

    Attributes:
        width_loss_mm: clear width is the sash's outer width less this. [mm]
        height_loss_mm: clear height is the sash's outer height less this. [mm]
    """

    width_loss_mm: Fraction
    height_loss_mm: Fraction


@dataclass(frozen=True, slots=True, eq=False)
class Opener:
    """Limits of one kind of opening light.

    Attributes:
        kind: one of OPENER_KINDS.
        width_mm: least and greatest outer width of the sash. [mm]
        height_mm: least and greatest outer height of the sash. [mm]
        most_kg: greatest mass of the glazed sash. [kg]
        clear_opening: what the open sash leaves free, where the file says.
    """

    kind: str
    width_mm: tuple[Fraction, Fraction]
    height_mm: tuple[Fraction, Fraction]
    most_kg: float
    clear_opening: ClearOpening | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Thermal:
    """Heat figures of the system.

    Attributes:
        u_f_w_m2k: transmittance of the frame members. [W/(m2 K)]
        psi_g_w_mk: linear transmittance of the glass edge. [W/(m K)]
    """

    u_f_w_m2k: float
    psi_g_w_mk: float


@dataclass(frozen=True, slots=True, eq=False)
class ProfileSystem:
    """One profile system as read from its file.

    Attributes:
        name: the file's ``system``, by which orders call it.
        title: for people.
        source: where the figures come from.
        depth_mm: depth of the frame from front to back. [mm]
        glass_clearance_mm: gap between glass edge and rebate base, each edge. [mm]
        hardware_kg_per_sash: allowance for hinges, gear and handle. [kg]
        frame_width_mm: least and greatest frame width. [mm]
        frame_height_mm: least and greatest frame height. [mm]
        daylight_least_mm: least side of a light's daylight. [mm]
        frame: outer frame profile.
        beads: one a unit thickness, thinnest first.
        sills: shallowest first; none where the system has none.
        openers: limits by opener kind; a kind that is absent cannot be made.
        digest: ``sha256:`` and the hash of the file's content; comments, spacing and line ends do not count.
        sash: sash profile; none where nothing opens.
        mullion: upright divider; none where the system cannot be divided so.
        transom: level divider, likewise.
        extender: frame extender, where there is one.
        thermal: heat figures, where stated.
        material: frame material, for the gap table.
        opens: which way opening lights go, where the kind leaves it open.
    """

    name: str
    title: str
    source: str
    depth_mm: Fraction
    glass_clearance_mm: Fraction
    hardware_kg_per_sash: float
    frame_width_mm: tuple[Fraction, Fraction]
    frame_height_mm: tuple[Fraction, Fraction]
    daylight_least_mm: Fraction
    frame: Profile
    beads: tuple[Bead, ...]
    sills: tuple[Sill, ...]
    openers: Mapping[str, Opener]
    digest: str
    sash: Profile | None = None
    mullion: Profile | None = None
    transom: Profile | None = None
    extender: Extender | None = None
    thermal: Thermal | None = None
    material: Material = "pvcu"
    opens: Opens = "outward"

    @property
    def reference(self) -> str:
        """Name and digest, as a result's ``made_with`` states them."""
        return f"{self.name}@{self.digest}"
