"""From an opening to all its sizes: the step between reading an order and judging it.

Nothing is judged here. Where a fact is missing, ``Sized.missing`` says which and why, so that the rules
that need it can be listed as not applied.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Final, NamedTuple

from sawready.calc.fit import AxisFit, Lean, axis_fit, lean_of
from sawready.calc.fixing import FixingFigures, Holes, holes
from sawready.calc.mass import pane_mass_kg
from sawready.calc.plan import NM, Plan, compile_plan
from sawready.catalogue.policy import policy
from sawready.catalogue.profiles import Bead, ProfileSystem, Sill
from sawready.catalogue.rulebook import GapFigure, Rulebook
from sawready.model.layout import Division, Layout, Light, Place
from sawready.model.order import Opening
from sawready.order_facts import NO_FACTS, OrderFacts

__all__ = ["Fixings", "Glazed", "Sized", "size_opening"]


class Fixings(NamedTuple):
    """Fixing holes on each side, from the top or the left, seen from outside. [nm]"""

    left: Holes
    right: Holes
    top: Holes | None
    bottom: Holes | None

    @property
    def are_broken(self) -> bool:
        """Whether some side has no set of holes that keeps the rules."""
        return bool(
            self.left.broken
            or self.right.broken
            or (self.top is not None and self.top.broken)
            or (self.bottom is not None and self.bottom.broken)
        )


class Glazed(NamedTuple):
    """Glass and mass of one light.

    Attributes:
        glass_mm: width and height of the pane, whole millimetres. [mm]
        glass_kg: mass of the pane. [kg]
        sash_kg: mass of the glazed sash with its hardware; None for a fixed light. [kg]
        safety: kind of safety glass of this light.
    """

    glass_mm: tuple[int, int]
    glass_kg: float
    sash_kg: float | None
    safety: str


@dataclass(slots=True)
class Sized:
    """An opening with everything that could be worked out of it.

    Attributes:
        opening: the opening, seen from outside.
        system, rulebook: what it is judged by; None where unknown.
        missing: facts that are not there, each with the reason; an empty reason means that the opening
            does not have such a thing at all.
        lean: what its diagonals say.
        width, height: frame against aperture on each axis.
        gaps: rulebook figures of the gap in width and height.
        gaps_most: rulebook figures of the largest gap in width and height.
        sill: sill profile that serves the ordered projection.
        sill_length_nm: length to cut the sill. [nm]
        bead: bead that serves the glass unit.
        plan, values: cutting plan of the layout and the values of its forms.
        places_nm: stated places of dividers, in the plan's order. [nm]
        glazed: glass and mass by light.
        fixings: fixing holes.
        shared: what the openings of its order share.
        base, is_turned, from_defaults: how to name a place in the order as it was written.
    """

    opening: Opening
    system: ProfileSystem | None
    rulebook: Rulebook | None
    base: str
    is_turned: bool
    from_defaults: frozenset[str]
    missing: dict[str, str] = field(default_factory=dict)
    lean: Lean | None = None
    width: AxisFit | None = None
    height: AxisFit | None = None
    gaps: tuple[GapFigure | None, GapFigure | None] = (None, None)
    gaps_most: tuple[GapFigure | None, GapFigure | None] = (None, None)
    sill: Sill | None = None
    sill_length_nm: int | None = None
    bead: Bead | None = None
    plan: Plan | None = None
    values: list[int] = field(default_factory=list)
    places_nm: tuple[int, ...] = ()
    glazed: list[Glazed] = field(default_factory=list)
    fixings: Fixings | None = None
    shared: OrderFacts = NO_FACTS

    @property
    def index(self) -> int:
        """Number of the opening in its order."""
        return self.opening.index

    def mm(self, ref: int) -> Fraction:
        """Exact value of a form of the plan. [mm]"""
        assert self.plan is not None  # noqa: S101 - a ref comes from the plan
        return Fraction(self.values[ref], self.plan.denominator * NM)


def size_opening(
    opening: Opening,
    *,
    system: ProfileSystem | None,
    rulebook: Rulebook | None,
    base: str,
    is_turned: bool,
    from_defaults: frozenset[str],
    shared: OrderFacts = NO_FACTS,
) -> Sized:
    """Works out whatever the facts allow.

    Args:
        opening: as read, seen from outside.
        system, rulebook: what it is made in and judged by; None where unknown.
        base, is_turned, from_defaults: how to name a place in the order as it was written.
        shared: what the openings of its order share.
    """
    sized = Sized(opening, system, rulebook, base, is_turned, from_defaults, shared=shared)
    if system is None:
        sized.missing["system"] = "the profile system is not known"
    if rulebook is None:
        sized.missing["rulebook"] = "the rulebook is not known"
    _fit_frame(sized)
    _pick_profiles(sized)
    if opening.layout is None:
        sized.missing["layout"] = _unreadable(opening, "layout") or "there is no layout"
    _plan_lights(sized)
    if sized.sill is not None and sized.width is not None:
        sized.sill_length_nm = sill_length_nm(opening, sized.width)
    _note_optional_facts(sized)
    return sized


def _usable(readings: tuple[int | None, ...]) -> tuple[int, ...] | None:
    """The readings, where every one given could be read."""
    if not readings or None in readings:
        return None
    return readings  # type: ignore[return-value] # no None is in it


def _unreadable(opening: Opening, *names: str) -> str | None:
    """The first of some fields that was stated but could not be read, in words."""
    if opening.unread:
        for name in names:
            if name in opening.unread:
                return f"no readable {_UNREAD_WORDS.get(name, name.replace('/', ' ').replace('_', ' '))}"
    return None


_UNREAD_WORDS: Final = {
    "to_come": "finishes to come",
    "colour/outside": "outside colour",
    "frame/height_includes_sill": "word on whether the height includes the sill",
    "glazing/unit": "glass unit",
    "glazing": "glass unit",
    "surveyed/layout": "drawing of the survey",
    "surveyed": "drawing of the survey",
    "floor_to_sill": "height of the sill above the floor",
    "set_back": "set-back",
}


def _fit_frame(sized: Sized) -> None:
    opening, missing = sized.opening, sized.missing
    widths, heights = _usable(opening.widths_nm), _usable(opening.heights_nm)
    if widths is None:
        missing["widths"] = "a width could not be read" if opening.widths_nm else "there is no width"
    if heights is None:
        missing["heights"] = "a height could not be read" if opening.heights_nm else "there is no height"
    _read_diagonals(sized, widths, heights)
    _pick_sill(sized)
    both = _unreadable(opening, "to_come", "gap", "extenders", "slope", "colour/outside", "colour")
    if both is None and opening.colour_class is None:
        both = "there is no outside colour"
    both = missing.get("system") or missing.get("rulebook") or both
    # A lean that nobody could work out is not in the frame: a diagonal that cannot be read stops the sizing.
    both = both or _unreadable(opening, "diagonals")
    sill_trouble = None
    if sized.sill is None:  # a sill that is there but unknown takes an unknown height
        sill_trouble = missing.get("sill_profile") or None
    widths_trouble = missing.get("widths") or both or _unreadable(opening, "frame/width", "frame")
    heights_trouble = (
        missing.get("heights")
        or both
        or _unreadable(opening, "frame/height", "frame/height_includes_sill", "frame")
    )
    heights_trouble = heights_trouble or sill_trouble
    lean_axis_height = opening.is_head_sloping
    if widths_trouble is None and widths is not None:
        lean = None if lean_axis_height else sized.lean
        if not _fit_axis(sized, 0, widths, lean):
            widths_trouble = "the rulebook's gap table ends below this width"
    if heights_trouble is None and heights is not None:
        lean = sized.lean if lean_axis_height else None
        if not _fit_axis(sized, 1, heights, lean):
            heights_trouble = "the rulebook's gap table ends below this height"
    if widths_trouble is not None:
        missing["width"] = widths_trouble
    if heights_trouble is not None:
        missing["height"] = heights_trouble


def _fit_axis(sized: Sized, axis: int, readings: tuple[int, ...], lean: Lean | None) -> bool:
    """Fits the frame on one axis, and notes the gap figures. False where the rulebook has none for it."""
    opening, system, rulebook = sized.opening, sized.system, sized.rulebook
    assert system is not None  # noqa: S101 - the caller has seen to it
    assert rulebook is not None  # noqa: S101 - the caller has seen to it
    first, second = (0, 1) if axis == 0 else (2, 3)
    finishes = opening.to_come_nm[first] + opening.to_come_nm[second]
    span = min(readings) - finishes
    figure = rulebook.gaps.at((system.material, opening.colour_class or ""), span)
    most = rulebook.gaps_most.at(("", ""), span)
    if axis == 0:
        sized.gaps, sized.gaps_most = (figure, sized.gaps[1]), (most, sized.gaps_most[1])
    else:
        sized.gaps, sized.gaps_most = (sized.gaps[0], figure), (sized.gaps_most[0], most)
    own = opening.own_gap_nm[first], opening.own_gap_nm[second]
    if figure is None and None in own:
        return False
    by_rulebook = 0 if figure is None else figure.nm
    gap = (by_rulebook if own[0] is None else own[0], by_rulebook if own[1] is None else own[1])
    upstand = 0
    stated = opening.frame_width_nm
    if axis == 1:
        stated = opening.frame_height_nm
        if sized.sill is not None:
            upstand = _upstand_nm(sized.sill)
            if stated is not None and opening.height_includes_sill:
                stated -= upstand
    fit = axis_fit(
        readings_nm=readings,
        finishes_nm=finishes,
        gap_nm=gap,
        extender_nm=(opening.extenders_nm[first], opening.extenders_nm[second]),
        upstand_nm=upstand,
        lean=lean,
        stated_nm=stated,
    )
    if axis == 0:
        sized.width = fit
    else:
        sized.height = fit
    return True


@lru_cache(maxsize=1024)
def _upstand_nm(sill: Sill) -> int:
    return int(sill.upstand_mm * NM)


def _read_diagonals(sized: Sized, widths: tuple[int, ...] | None, heights: tuple[int, ...] | None) -> None:
    opening, rulebook = sized.opening, sized.rulebook
    trouble = _unreadable(opening, "diagonals")
    if trouble is None:
        if not opening.diagonals_nm:
            trouble = "no diagonals"
        elif len(opening.diagonals_nm) == 1:
            trouble = "only one diagonal"
        elif widths is None or heights is None:
            trouble = sized.missing.get("widths") or sized.missing.get("heights")
        elif rulebook is None:
            trouble = sized.missing["rulebook"]
    if trouble is not None:
        sized.missing["diagonals"] = trouble
        return
    pair = _usable(opening.diagonals_nm)
    assert widths is not None  # noqa: S101 - a missing width is trouble
    assert heights is not None  # noqa: S101 - a missing height is trouble
    assert rulebook is not None  # noqa: S101 - a missing rulebook is trouble
    assert pair is not None  # noqa: S101 - an unread diagonal is trouble
    sized.lean = lean_in(opening, widths, heights, rulebook)


def lean_in(opening: Opening, widths: tuple[int, ...], heights: tuple[int, ...], rulebook: Rulebook) -> Lean:
    """What two diagonals that could be read say."""
    pair: tuple[int, int] = opening.diagonals_nm  # type: ignore[assignment] # the caller has seen to it
    return lean_of(
        widths_nm=widths,
        heights_nm=heights,
        diagonals_nm=pair,
        is_head_sloping=opening.is_head_sloping,
        differ_from_nm=rulebook.diagonals_differ_from_nm,
    )


@lru_cache(maxsize=4096)
def nearest_sill(system: ProfileSystem, projection_nm: int) -> Sill | None:
    """The sill profile that serves a projection, or None where none comes near enough. [nm]"""
    near = min(
        system.sills,
        key=lambda sill: (abs(sill.projection_mm * NM - projection_nm), sill.projection_mm),
        default=None,
    )
    if near is None or abs(near.projection_mm * NM - projection_nm) > policy().sill_match_nm:
        return None
    return near


def _pick_sill(sized: Sized) -> None:
    """The sill profile nearest to the ordered projection, within the match tolerance."""
    opening, system = sized.opening, sized.system
    if opening.sill is None:
        trouble = _unreadable(opening, "sill")
        sized.missing["sill_profile"] = trouble or ""
        sized.missing["sill"] = trouble or ""
        return
    if system is None:
        sized.missing["sill_profile"] = sized.missing["system"]
        return
    wanted = opening.sill.projection_nm
    if wanted is None:
        sized.missing["sill_profile"] = "the sill's projection is not known"
        return
    sized.sill = nearest_sill(system, wanted)
    if sized.sill is None:
        sized.missing["sill_profile"] = "no sill profile of the system has this projection"


def _pick_profiles(sized: Sized) -> None:
    opening, system = sized.opening, sized.system
    if opening.glass is None:
        trouble = _unreadable(opening, "glazing/unit", "glazing")
        sized.missing["glass"] = trouble or "no glass unit"
        return
    if system is None:
        return
    sized.bead = serving_bead(system, opening.glass.thickness_mm)


@lru_cache(maxsize=4096)
def serving_bead(system: ProfileSystem, thickness_mm: Fraction) -> Bead | None:
    """The bead that serves a unit, or None where none comes near enough. [mm]

    Of two that serve it equally well the thinner unit's bead, which is the stouter one, is taken.
    """
    near = min(system.beads, key=lambda bead: (abs(bead.unit_mm - thickness_mm), bead.unit_mm), default=None)
    if near is None or abs(near.unit_mm - thickness_mm) * NM > policy().bead_serves_nm:
        return None
    return near


@lru_cache(maxsize=8192)
def _shape(layout: Layout) -> tuple[Layout, tuple[Place, ...]]:
    """The layout with its places blanked, and the places in the order of the plan's variables."""
    places: list[Place] = []

    def blank(part: Layout) -> Layout:
        if isinstance(part, Light):
            return part
        own: list[Place | None] = []
        for place in part.places:
            own.append(None if place is None else Place(0, place.from_far_edge))
            if place is not None:
                places.append(place)
        return Division(part.axis, tuple(blank(inner) for inner in part.parts), tuple(own))

    return blank(layout), tuple(places)


@lru_cache(maxsize=4096)
def _plan(shape: Layout, system: ProfileSystem, colour_class: str, bead: Bead | None) -> Plan | str:
    """The compiled plan, or why the system cannot make the layout."""
    try:
        return compile_plan(shape, system, colour_class=colour_class, bead=bead)
    except ValueError as error:
        return str(error)


def _plan_lights(sized: Sized) -> None:
    opening, system = sized.opening, sized.system
    trouble = sized.missing.get("system") or sized.missing.get("width") or sized.missing.get("height")
    trouble = trouble or sized.missing.get("layout")
    if trouble is not None:
        sized.missing["plan"] = sized.missing["lights"] = trouble
        return
    assert system is not None  # noqa: S101 - a missing system is trouble
    assert opening.layout is not None  # noqa: S101 - a missing layout is trouble
    assert sized.width is not None  # noqa: S101 - a missing width is trouble
    assert sized.height is not None  # noqa: S101 - a missing height is trouble
    shape, places = _shape(opening.layout)
    plan = _plan(shape, system, opening.colour_class or "", sized.bead)
    if isinstance(plan, str):
        sized.missing["plan"] = sized.missing["lights"] = plan
        return
    sized.plan = plan
    sized.places_nm = tuple([place.nm for place in places])
    width, height = sized.width.size_nm, sized.height.size_nm
    sized.values = plan.values(width_nm=width, height_nm=height, places_nm=sized.places_nm)
    if sized.places_nm and not are_dividers_inside(plan, sized.values):
        sized.missing["lights"] = "a divider lies outside the field that it divides"
    glass = opening.glass
    if glass is not None:
        glazing = Glazing(plan, system, glass_mm=glass.glass_mm, safety=opening.safety)
        sized.glazed = glazing.of(sized.values)
    if sized.rulebook is not None and width > 0 and height > 0:
        holes_of = Sides(plan, sized.rulebook)
        sized.fixings = holes_of(width, height, sized.values)


def are_dividers_inside(plan: Plan, values: Sequence[int]) -> bool:
    """Whether every stated place leaves a light on both sides of its divider."""
    return all(
        (divider.room is None or values[divider.room] > 0)
        and (divider.room_after is None or values[divider.room_after] > 0)
        for divider in plan.dividers
    )


class Glazing:
    """Weighs the lights of a plan.

    Args:
        plan: the plan.
        system: what it is made in.
        glass_mm: all glass of the unit together. [mm]
        safety: kind of safety glass of lights without a kind of their own.
    """

    __slots__ = ("_gear_kg", "_glass_mm", "_lights", "_per_m2_mm", "_whole")

    def __init__(self, plan: Plan, system: ProfileSystem, *, glass_mm: Fraction, safety: str) -> None:
        self._whole = plan.denominator * NM
        self._glass_mm = float(glass_mm)
        self._per_m2_mm = policy().glass_kg_per_m2_mm
        self._gear_kg = system.hardware_kg_per_sash
        self._lights = tuple((*light[:2], light[2] or safety, *light[3:]) for light in _weighed(plan))

    def of(self, values: Sequence[int]) -> list[Glazed]:
        """Glass and mass of each light.

        Args:
            values: values of the plan's forms. [nm over the denominator]
        """
        whole, glass_mm, per_m2_mm = self._whole, self._glass_mm, self._per_m2_mm
        found: list[Glazed] = []
        for across, up, safety, members, beads, bead_kg_m in self._lights:
            width, height = values[across] // whole, values[up] // whole
            glass_kg = pane_mass_kg(width_mm=width, height_mm=height, glass_mm=glass_mm, per_m2_mm=per_m2_mm)
            sash_kg = None
            if members:
                grams = 0.0
                for finished, mass, level, steel_cut, steel_mass in members:
                    length = values[finished]
                    grams += length * mass
                    if level is not None and length >= level:
                        grams += values[steel_cut] * steel_mass
                for cut in beads:
                    grams += values[cut] * bead_kg_m
                sash_kg = glass_kg + grams / (whole * 1000) + self._gear_kg
            # By place: this runs for each light, and names cost more than the sums.
            found.append(tuple.__new__(Glazed, ((width, height), glass_kg, sash_kg, safety)))
        return found


_Weighed = tuple[
    int, int, str | None, tuple[tuple[int, float, int | None, int, float], ...], tuple[int, ...], float
]
"""Forms of the glass, safety glass of the light's own, members and beads of its sash with their masses."""


@lru_cache(maxsize=4096)
def _weighed(plan: Plan) -> tuple[_Weighed, ...]:
    """What the masses of each light follow from; a fixed light has no members."""
    found = []
    for light in plan.lights:
        members = []
        for number in light.members:
            member, steel = plan.members[number], plan.members[number].steel
            level = None if steel is None else steel.from_nm * plan.denominator
            steel_of = (0, 0.0) if steel is None else (steel.cut, steel.mass_kg_m)
            members.append((member.finished, member.mass_kg_m, level, *steel_of))
        beads = tuple(bead.cut for bead in light.beads)
        found.append((*light.glass, light.light.safety, tuple(members), beads, light.bead_kg_m))
    return tuple(found)


@lru_cache(maxsize=64)
def _figures(rulebook: Rulebook, denominator: int) -> FixingFigures:
    fixings = rulebook.fixings
    return FixingFigures(
        corner=fixings.corner_nm * denominator,
        corner_most=fixings.corner_most_nm * denominator,
        centres_most=fixings.centres_most_nm * denominator,
        from_divider=fixings.from_divider_nm * denominator,
        least=fixings.least_per_side,
    )


class Sides:
    """Places the fixing holes on the four sides of a frame.

    Args:
        plan: its plan.
        rulebook: whose figures count.
    """

    __slots__ = ("_figures", "_head_and_bottom_from_nm", "_marks", "_over")

    def __init__(self, plan: Plan, rulebook: Rulebook) -> None:
        self._marks, self._over = plan.marks, plan.denominator
        self._figures = _figures(rulebook, plan.denominator)
        self._head_and_bottom_from_nm = rulebook.fixings.head_and_bottom_from_nm

    def __call__(self, width_nm: int, height_nm: int, values: Sequence[int]) -> Fixings:
        """The holes.

        Args:
            width_nm, height_nm: of the frame. [nm]
            values: values of the plan's forms. [nm over the denominator]
        """
        left, right, top, bottom = self._marks
        figures, over = self._figures, self._over
        on_left = _along(height_nm * over, left, values, figures)
        on_top = on_bottom = None
        if width_nm > self._head_and_bottom_from_nm:
            on_top = _along(width_nm * over, top, values, figures)
            on_bottom = on_top if bottom == top else _along(width_nm * over, bottom, values, figures)
        on_right = on_left if right == left else _along(height_nm * over, right, values, figures)
        return tuple.__new__(Fixings, (on_left, on_right, on_top, on_bottom))


def _along(length: int, marks: tuple[int, ...], values: Sequence[int], figures: FixingFigures) -> Holes:
    """Holes along one side, clear of the dividers that meet it."""
    centres = tuple([centre for mark in marks if 0 < (centre := values[mark]) < length]) if marks else ()
    return holes(length=length, dividers=centres, figures=figures)


def sill_length_nm(opening: Opening, width: AxisFit) -> int | None:
    """Length of the sill by the way its ends meet the wall; None where that is not known. [nm].

    Args:
        opening: an opening with a sill.
        width: its frame in its width.
    """
    sill = opening.sill
    if sill is None or sill.fit is None:
        return None
    if sill.fit == "between_reveals":
        return width.size_nm + opening.extenders_nm[0] + opening.extenders_nm[1]
    if sill.horn_left_nm is None or sill.horn_right_nm is None:
        return None
    return width.readings_nm[-1] + sill.horn_left_nm + sill.horn_right_nm


_FLOOR: Final = "no height of the sill above the floor"


def _note_optional_facts(sized: Sized) -> None:
    opening, missing = sized.opening, sized.missing
    if opening.surveyed_layout is None:
        missing["surveyed_layout"] = _unreadable(opening, "surveyed/layout", "surveyed") or ""
    if opening.floor_to_sill_nm is None:
        missing["floor_to_sill"] = _unreadable(opening, "floor_to_sill") or _FLOOR
    if opening.sill is not None and opening.set_back_nm is None:
        missing["set_back"] = _unreadable(opening, "set_back") or "no set-back"
    if opening.sill is not None and opening.sill.fit is None:
        missing["sill"] = "how the sill's ends meet the wall is not known"
