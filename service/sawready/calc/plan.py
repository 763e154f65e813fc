"""A cutting plan: one layout in one system, worked out once for every frame size.

Windows repeat: a few layouts make up most orders. A plan holds every length of a layout as whole-number
factors over one denominator, so that a window costs a handful of multiplications, and stays exact.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from operator import add, itemgetter, mul
from typing import Final

from sawready.calc import cutting, glazing
from sawready.calc.layout import HEIGHT, WIDTH, Bounds, Field, Fields, divide
from sawready.calc.linear import ONE, Linear, common_denominator
from sawready.catalogue.profiles import Bead, Profile, ProfileSystem
from sawready.model.layout import Layout, Light, Place

NM: Final = 1_000_000
"""Nanometres in a millimetre."""

Ref = int
"""Number of a form in its plan."""

Working = tuple[str | Ref, ...]
"""A sum in words: text, and forms whose value stands in their place."""


@dataclass(frozen=True, slots=True)
class Steel:
    """Reinforcement of a member, fitted from a finished length upward."""

    profile: str
    from_nm: int
    cut: Ref
    working: Working
    mass_kg_m: float
    bar_nm: int


@dataclass(frozen=True, slots=True)
class Member:
    """A piece of profile that every window of the plan needs."""

    part: str
    profile: str
    finished: Ref
    cut: Ref
    ends: str
    light: int | None
    working: Working
    mass_kg_m: float
    bar_nm: int
    steel: Steel | None


@dataclass(frozen=True, slots=True)
class BeadCut:
    """One glazing bead."""

    part: str
    profile: str
    cut: Ref
    ends: str
    working: Working
    bar_nm: int


@dataclass(frozen=True, slots=True)
class LightPlan:
    """Everything about one light but its members.

    Attributes:
        light: kind, hinge side (from outside) and own glass.
        x: left and right sight line of the daylight.
        y: its top and bottom sight line.
        daylight: its size.
        sash: outer size of the sash, for an opening light.
        glass: exact size of the glass, before it is taken down to whole millimetres.
        glass_y: top and bottom sight line of the visible glass.
        members: numbers of the sash's members in the plan.
        beads: top, bottom, left, right; empty where no bead serves the unit.
        bead_kg_m: mass of the bead.
    """

    light: Light
    x: tuple[Ref, Ref]
    y: tuple[Ref, Ref]
    daylight: tuple[Ref, Ref]
    sash: tuple[Ref, Ref] | None
    glass: tuple[Ref, Ref]
    glass_y: tuple[Ref, Ref]
    members: tuple[int, ...]
    beads: tuple[BeadCut, ...]
    bead_kg_m: float


@dataclass(frozen=True, slots=True)
class DividerPlan:
    """Where a divider stands and what it divides."""

    part: str
    profile: Profile
    member: int
    centre: Ref
    span: tuple[Ref, Ref]
    sides: tuple[tuple[Ref, Ref], tuple[Ref, Ref]]
    meets_first: bool
    meets_second: bool
    place: int | None
    room: Ref | None
    room_after: Ref | None


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """One layout in one system with one bead, for any frame size.

    Attributes:
        denominator: what every value is over; values are nanometres times this.
        constants, factors: of each form of one variable at most; noughts for the others.
        sides: picks the variable of each form from W and H.
        general: the other forms: (number, constant, factors of W, H and the places).
        places: the stated places, in the order of their variables.
        members: pieces of profile in published order.
        lights: in reading order.
        dividers: depth first.
        bars: each distinct cut with the bar that it comes from, over the denominator.
        marks: centre lines of the dividers that meet the left, right, top and bottom of the frame.
        sashes: number, kind, outer width and height of each opening light.
    """

    denominator: int
    constants: tuple[int, ...]
    factors: tuple[int, ...]
    sides: Callable[[tuple[int, int]], tuple[int, ...]]
    general: tuple[tuple[int, int, tuple[int, ...]], ...]
    places: tuple[Place, ...]
    members: tuple[Member, ...]
    lights: tuple[LightPlan, ...]
    dividers: tuple[DividerPlan, ...]
    bars: tuple[tuple[Ref, int], ...]
    sashes: tuple[tuple[int, str, Ref, Ref], ...]
    marks: tuple[tuple[Ref, ...], tuple[Ref, ...], tuple[Ref, ...], tuple[Ref, ...]]

    def values(self, *, width_nm: int, height_nm: int, places_nm: Sequence[int] = ()) -> list[int]:
        """Value of every form.

        Args:
            width_nm: width of the frame. [nm]
            height_nm: height of the frame, without sill. [nm]
            places_nm: the stated places in the plan's order. [nm]
        Returns: nanometres times the denominator, by number of the form.
        """
        # Forms of one side in one sweep without a loop in Python: it is what every opening needs most of.
        found = list(map(add, self.constants, map(mul, self.factors, self.sides((width_nm, height_nm)))))
        if self.general:
            variables = (width_nm, height_nm, *places_nm)
            for number, constant, factors in self.general:
                found[number] = constant + sum(map(mul, factors, variables))
        return found


class _Collector:
    """Numbers the forms of a plan, each distinct one once."""

    def __init__(self) -> None:
        self.forms: list[Linear] = []
        self._numbers: dict[tuple[tuple[str, Fraction], ...], int] = {}

    def __call__(self, form: Linear) -> Ref:
        key = form.key()
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.forms)
            self.forms.append(form)
        return number


def compile_plan(layout: Layout, system: ProfileSystem, *, colour_class: str, bead: Bead | None) -> Plan:
    """Works out a layout in a system.

    Args:
        layout: as seen from outside; only the presence of places matters, not where they are.
        system: the profile system.
        colour_class: ``white`` or ``coloured``; decides the reinforcement.
        bead: the bead that serves the glass unit, or None where none does.
    Returns: the plan.
    Raises: ValueError where the system lacks a divider or a sash that the layout needs.
    """
    fields = divide(layout, system)
    ref = _Collector()
    members: list[Member] = []
    frame = system.frame
    for part, finished in (
        ("frame-head", WIDTH),
        ("frame-bottom", WIDTH),
        ("frame-left", HEIGHT),
        ("frame-right", HEIGHT),
    ):
        members.append(_welded(part, frame, finished, None, colour_class, ref))
    dividers = _dividers(fields, colour_class, members, ref)
    lights = tuple(
        _light(number, field, system, colour_class, bead, members, ref)
        for number, field in enumerate(fields.lights)
    )
    denominator = common_denominator(ref.forms)
    names = ["W", "H", *(f"p{number}" for number in range(len(fields.places)))]
    constants, sole, sides = ([0] * len(ref.forms) for _ in range(3))
    general: list[tuple[int, int, tuple[int, ...]]] = []
    for number, form in enumerate(ref.forms):
        constant = int(form.terms.get(ONE, Fraction(0)) * NM * denominator)
        factors = tuple(int(form.terms.get(name, Fraction(0)) * denominator) for name in names)
        used = [index for index, factor in enumerate(factors) if factor]
        if used in ([], [0], [1]):
            sides[number] = used[0] if used else 0
            constants[number], sole[number] = constant, factors[sides[number]]
        else:
            general.append((number, constant, factors))
    return Plan(
        denominator,
        tuple(constants),
        tuple(sole),
        itemgetter(*sides),
        tuple(general),
        tuple(fields.places),
        tuple(members),
        lights,
        dividers,
        _bars(members, lights, denominator),
        tuple(
            (number, light.light.kind, *light.sash)
            for number, light in enumerate(lights)
            if light.sash is not None
        ),
        (
            tuple(each.centre for each in dividers if each.part == "transom" and each.meets_first),
            tuple(each.centre for each in dividers if each.part == "transom" and each.meets_second),
            tuple(each.centre for each in dividers if each.part == "mullion" and each.meets_first),
            tuple(each.centre for each in dividers if each.part == "mullion" and each.meets_second),
        ),
    )


def _bars(
    members: list[Member], lights: tuple[LightPlan, ...], denominator: int
) -> tuple[tuple[Ref, int], ...]:
    """Each distinct cut with its bar, steel too whether it is fitted or not."""
    found: dict[tuple[Ref, int], None] = {}
    for member in members:
        found[member.cut, member.bar_nm * denominator] = None
        if member.steel is not None:
            found[member.steel.cut, member.steel.bar_nm * denominator] = None
    for light in lights:
        for bead in light.beads:
            found[bead.cut, bead.bar_nm * denominator] = None
    return tuple(found)


def _text(value: Fraction) -> str:
    """A figure of a system as it reads in a sum: 3, 0.5."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"


def _twice(value: Fraction, sign: str) -> str:
    """`` + 2 x 3``, or nothing for a nought."""
    return f" {sign} 2 x {_text(value)}" if value else ""


def _steel(profile: Profile, finished: Linear, colour_class: str, ref: _Collector) -> Steel | None:
    steel = profile.reinforcement
    if steel is None:
        return None
    return Steel(
        profile=steel.name,
        from_nm=int(steel.from_mm[colour_class] * NM),
        cut=ref(cutting.reinforcement_length(finished_mm=finished, set_back_mm=steel.set_back_mm)),
        working=(ref(finished), _twice(steel.set_back_mm, "-")),
        mass_kg_m=steel.mass_kg_m,
        bar_nm=int(steel.bar_mm * NM),
    )


def _welded(
    part: str, profile: Profile, finished: Linear, light: int | None, colour_class: str, ref: _Collector
) -> Member:
    weld = profile.weld_allowance_mm
    return Member(
        part=part,
        profile=profile.name,
        finished=ref(finished),
        cut=ref(cutting.welded_length(finished_mm=finished, weld_allowance_mm=weld)),
        ends="45/45",
        light=light,
        working=(ref(finished), _twice(weld, "+")),
        mass_kg_m=profile.mass_kg_m,
        bar_nm=int(profile.bar_mm * NM),
        steel=_steel(profile, finished, colour_class, ref),
    )


def _dividers(
    fields: Fields, colour_class: str, members: list[Member], ref: _Collector
) -> tuple[DividerPlan, ...]:
    found = []
    for divider in fields.dividers:
        profile = divider.profile
        span = divider.span.size
        length = cutting.divider_length(span_mm=span, end_allowance_mm=profile.end_allowance_mm)
        found.append(
            DividerPlan(
                part=divider.part,
                profile=profile,
                member=len(members),
                centre=ref(divider.centre),
                span=(ref(divider.span.start), ref(divider.span.end)),
                sides=(
                    (ref(divider.sides[0].start), ref(divider.sides[0].end)),
                    (ref(divider.sides[1].start), ref(divider.sides[1].end)),
                ),
                meets_first=divider.meets_first,
                meets_second=divider.meets_second,
                place=None if divider.place is None else int(divider.place[1:]),
                room=None if divider.room is None else ref(divider.room),
                room_after=None if divider.room_after is None else ref(divider.room_after),
            )
        )
        members.append(
            Member(
                part=divider.part,
                profile=profile.name,
                finished=ref(length),
                cut=ref(length),
                ends=profile.ends,
                light=None,
                working=(ref(span), _twice(profile.end_allowance_mm, "+")),
                mass_kg_m=profile.mass_kg_m,
                bar_nm=int(profile.bar_mm * NM),
                steel=_steel(profile, length, colour_class, ref),
            )
        )
    return tuple(found)


def _light(
    number: int,
    field: Field,
    system: ProfileSystem,
    colour_class: str,
    bead: Bead | None,
    members: list[Member],
    ref: _Collector,
) -> LightPlan:
    width, height = field.x.size, field.y.size
    top, bottom = field.y.start, field.y.end
    sash: tuple[Ref, Ref] | None = None
    own: tuple[int, ...] = ()
    bounds = field.bounds
    glazed_width, glazed_height = width, height
    if field.light.kind != "fixed":
        profile = system.sash
        if profile is None:
            raise ValueError(f"{system.name} has no sash")
        outer_width = cutting.sash_outer_size(daylight_mm=width, overlap_mm=profile.overlap_mm)
        outer_height = cutting.sash_outer_size(daylight_mm=height, overlap_mm=profile.overlap_mm)
        sash = (ref(outer_width), ref(outer_height))
        first = len(members)
        for part, finished in (
            ("sash-top", outer_width),
            ("sash-bottom", outer_width),
            ("sash-left", outer_height),
            ("sash-right", outer_height),
        ):
            members.append(_welded(part, profile, finished, number, colour_class, ref))
        own = tuple(range(first, len(members)))
        bounds = Bounds(profile, profile, profile, profile)
        inset = profile.face_mm - profile.overlap_mm
        top, bottom = top + inset, bottom - inset
        glazed_width = cutting.sash_daylight(outer_mm=outer_width, face_mm=profile.face_mm)
        glazed_height = cutting.sash_daylight(outer_mm=outer_height, face_mm=profile.face_mm)
    rebate_width = glazing.rebate_size(
        daylight_mm=glazed_width,
        rebate_one_mm=bounds.left.rebate_mm,
        rebate_other_mm=bounds.right.rebate_mm,
    )
    rebate_height = glazing.rebate_size(
        daylight_mm=glazed_height,
        rebate_one_mm=bounds.top.rebate_mm,
        rebate_other_mm=bounds.bottom.rebate_mm,
    )
    clearance = system.glass_clearance_mm
    return LightPlan(
        light=field.light,
        x=(ref(field.x.start), ref(field.x.end)),
        y=(ref(field.y.start), ref(field.y.end)),
        daylight=(ref(width), ref(height)),
        sash=sash,
        glass=(
            ref(glazing.pane_size(rebate_size_mm=rebate_width, clearance_mm=clearance)),
            ref(glazing.pane_size(rebate_size_mm=rebate_height, clearance_mm=clearance)),
        ),
        glass_y=(ref(top), ref(bottom)),
        members=own,
        beads=()
        if bead is None
        else _beads(bead, bounds, (glazed_width, rebate_width), (glazed_height, rebate_height), ref),
        bead_kg_m=0.0 if bead is None else bead.mass_kg_m,
    )


def _beads(
    bead: Bead,
    bounds: Bounds,
    level: tuple[Linear, Linear],
    upright: tuple[Linear, Linear],
    ref: _Collector,
) -> tuple[BeadCut, ...]:
    allowance = bead.allowance_mm
    added = f" + {_text(allowance)}" if allowance > 0 else f" - {_text(-allowance)}" if allowance else ""
    ends = "45/45" if bead.joint == "mitred" else "90/90"
    across = glazing.running_bead_length(rebate_size_mm=level[1], allowance_mm=allowance)
    across_working: Working = (ref(level[0]), _rebates(bounds.left, bounds.right), added)
    down_sum = _rebates(bounds.top, bounds.bottom)
    if bead.joint == "mitred":
        down = glazing.running_bead_length(rebate_size_mm=upright[1], allowance_mm=allowance)
    else:
        down = glazing.standing_bead_length(
            rebate_size_mm=upright[1], bead_height_mm=bead.height_mm, allowance_mm=allowance
        )
        down_sum += _twice(bead.height_mm, "-")
    down_working: Working = (ref(upright[0]), down_sum, added)
    bar = int(bead.bar_mm * NM)
    return (
        BeadCut("bead-top", bead.name, ref(across), ends, across_working, bar),
        BeadCut("bead-bottom", bead.name, ref(across), ends, across_working, bar),
        BeadCut("bead-left", bead.name, ref(down), ends, down_working, bar),
        BeadCut("bead-right", bead.name, ref(down), ends, down_working, bar),
    )


def _rebates(one: Profile, other: Profile) -> str:
    if one.rebate_mm == other.rebate_mm:
        return _twice(one.rebate_mm, "+")
    return f" + {_text(one.rebate_mm)} + {_text(other.rebate_mm)}"
