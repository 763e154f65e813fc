"""Dividers and daylight: from a layout and a profile system to the fields that it makes.

x runs right from the frame's left outer edge and y down from its top outer edge, seen from outside.
Everything is a linear form of the frame's width ``W``, its height ``H`` and the stated places
``p0``, ``p1``, ... in the order in which they are met.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from sawready.calc.linear import Linear
from sawready.catalogue.profiles import Profile, ProfileSystem
from sawready.model.layout import Division, Layout, Light, Place

WIDTH = Linear.variable("W")
HEIGHT = Linear.variable("H")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch along one axis, from sight line to sight line. [mm]"""

    start: Linear
    end: Linear

    @property
    def size(self) -> Linear:
        """Length of the stretch. [mm]"""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Bounds:
    """The profile on each side of a field."""

    left: Profile
    right: Profile
    top: Profile
    bottom: Profile


@dataclass(frozen=True, slots=True)
class Field:
    """A light with the daylight that it fills and what stands round it."""

    light: Light
    x: Span
    y: Span
    bounds: Bounds


@dataclass(frozen=True, slots=True)
class Divider:
    """A mullion or transom.

    Attributes:
        part: ``mullion`` or ``transom``.
        profile: its profile.
        centre: centre line, x of a mullion or y of a transom. [mm]
        span: daylight of the divided field along the divider. [mm]
        meets_first: its top (left) end stands on the frame itself.
        meets_second: its bottom (right) end stands on the frame itself.
        sides: daylight across the divider on its two sides, the smaller index first. [mm]
        place: name of the variable of a stated place, else None.
        room: where a place is stated, how far it lies past the sight line or divider before it. [mm]
        room_after: for the last stated place of a division, how far it lies short of the end. [mm]
    """

    part: Literal["mullion", "transom"]
    profile: Profile
    centre: Linear
    span: Span
    meets_first: bool
    meets_second: bool
    sides: tuple[Span, Span]
    place: str | None
    room: Linear | None
    room_after: Linear | None


@dataclass(slots=True)
class Fields:
    """All fields and dividers of a frame; fields in reading order, dividers depth first."""

    lights: list[Field] = field(default_factory=list)
    dividers: list[Divider] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)


def daylight_shares(
    *, start_mm: Linear, end_mm: Linear, places_mm: "tuple[Linear | None, ...]", face_mm: Fraction
) -> list[Span]:
    """Daylight of each field of a division.

    Dividers without a place share the daylight between their neighbours equally.

    Formula: daylight = (end - start - (n - 1) f) / n for n fields between two fixed lines

    Args:
        start_mm: sight line where the division begins. [mm]
        end_mm: sight line where it ends. [mm]
        places_mm: centre line of each divider in order, None where it is to be equal. [mm]
        face_mm: sight line to sight line of the dividers, f. [mm]
    Returns: one stretch a field, in order. [mm]
    Example:
        >>> edge = Linear.constant
        >>> spans = daylight_shares(
        ...     start_mm=edge(62), end_mm=edge(1736), places_mm=(None,), face_mm=Fraction(76)
        ... )
        >>> [float(span.size.at({})) for span in spans]
        [799.0, 799.0]

    Source: geometry; equal means equal daylight, common practice.
    """
    spans: list[Span] = []
    begin = start_mm
    waiting = 1
    for place in (*places_mm, end_mm):
        if place is None:
            waiting += 1
            continue
        is_end = place is end_mm
        stop = end_mm if is_end else place - face_mm / 2
        daylight = (stop - begin - (waiting - 1) * face_mm) / waiting
        for number in range(waiting):
            left = begin + number * (daylight + face_mm)
            spans.append(Span(left, left + daylight))
        if not is_end:
            begin = place + face_mm / 2
            waiting = 1
    return spans


def divide(layout: Layout, system: ProfileSystem) -> Fields:
    """Splits the frame's daylight into the fields of a layout.

    Args:
        layout: as seen from outside.
        system: the profile system; it must have the dividers that the layout needs.
    Returns: fields and dividers as forms of ``W``, ``H`` and the places.
    Raises: ValueError where the system has no mullion or no transom that the layout needs.
    """
    frame = system.frame
    found = Fields()
    _split(
        layout,
        Span(Linear.constant(frame.face_mm), WIDTH - frame.face_mm),
        Span(Linear.constant(frame.face_mm), HEIGHT - frame.face_mm),
        Bounds(frame, frame, frame, frame),
        system,
        found,
    )
    return found


def _split(layout: Layout, x: Span, y: Span, bounds: Bounds, system: ProfileSystem, found: Fields) -> None:
    if isinstance(layout, Light):
        found.lights.append(Field(layout, x, y, bounds))
        return
    columns = layout.axis == "columns"
    profile = system.mullion if columns else system.transom
    if profile is None:
        raise ValueError(f"{system.name} has no {'mullion' if columns else 'transom'}")
    along, across = (y, x) if columns else (x, y)
    names, places = _placed(layout, found)
    spans = daylight_shares(
        start_mm=across.start, end_mm=across.end, places_mm=tuple(places), face_mm=profile.face_mm
    )
    last_placed = max((i for i, place in enumerate(places) if place is not None), default=-1)
    before = across.start
    for number, place in enumerate(places):
        centre = spans[number].end + profile.face_mm / 2
        found.dividers.append(
            Divider(
                part="mullion" if columns else "transom",
                profile=profile,
                centre=centre,
                span=along,
                meets_first=(bounds.top if columns else bounds.left) is system.frame,
                meets_second=(bounds.bottom if columns else bounds.right) is system.frame,
                sides=(spans[number], spans[number + 1]),
                place=names[number],
                room=None if place is None else place - before,
                room_after=across.end - place if place is not None and number == last_placed else None,
            )
        )
        before = before if place is None else place
    for number, part in enumerate(layout.parts):
        first, last = number == 0, number == len(layout.parts) - 1
        if columns:
            around = Bounds(
                bounds.left if first else profile,
                bounds.right if last else profile,
                bounds.top,
                bounds.bottom,
            )
            _split(part, spans[number], y, around, system, found)
        else:
            around = Bounds(
                bounds.left,
                bounds.right,
                bounds.top if first else profile,
                bounds.bottom if last else profile,
            )
            _split(part, x, spans[number], around, system, found)


def _placed(layout: Division, found: Fields) -> tuple[list[str | None], list[Linear | None]]:
    """Names and centre lines of the stated places; each becomes a variable of its own."""
    names: list[str | None] = []
    centres: list[Linear | None] = []
    for place in layout.places:
        if place is None:
            names.append(None)
            centres.append(None)
            continue
        name = f"p{len(found.places)}"
        found.places.append(place)
        names.append(name)
        stated = Linear.variable(name)
        centres.append(WIDTH - stated if place.from_far_edge else stated)
    return names, centres
