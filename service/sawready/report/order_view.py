"""What people look at: one opening as a picture needs it, seen from outside or from inside.

Places are millimetres; x runs right from the left outer edge of the frame, y down from its top outer edge,
as in the geometry. Figures that are printed come from the published result, so that drawing, sheet and
result cannot say different things.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, NamedTuple

from sawready.model.finding import Decision, Finding
from sawready.model.order import Answer, View

Side = Literal["left", "right", "top", "bottom"]
Opens = Literal["outward", "inward"]
Point = tuple[float, float]

OTHER: Final[dict[str, Side]] = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
"""The side across."""

_TURNED: Final[dict[str, Side]] = {"left": "right", "right": "left", "top": "top", "bottom": "bottom"}


def turned_side(side: Side) -> Side:
    """The same side of a window as seen from the other face.

    Example:
        >>> turned_side("left"), turned_side("top")
        ('right', 'top')
    """
    return _TURNED[side]


def mm_text(value: float) -> str:
    """Millimetres to a tenth, without an idle nought.

    Example:
        >>> mm_text(1798.0), mm_text(649.3), mm_text(-3.0)
        ('1798', '649.3', '-3')
    """
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


class Box(NamedTuple):
    """An upright rectangle. [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge. [mm]."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its bottom edge. [mm]."""
        return self.y + self.height

    @property
    def middle(self) -> Point:
        """Its middle. [mm]."""
        return self.x + self.width / 2, self.y + self.height / 2

    def turned(self, about: float) -> "Box":
        """The same rectangle from the other face of a frame that is ``about`` wide."""
        return Box(about - self.x - self.width, self.y, self.width, self.height)

    def grown(self, by: float) -> "Box":
        """The rectangle with every edge moved out."""
        return Box(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)


@dataclass(frozen=True, slots=True)
class LightView:
    """One field of the window.

    Attributes:
        number: from 1, in the order of the result: as seen from outside whatever the view.
        kind: ``fixed``, ``top-hung``, ``bottom-hung``, ``side-hung`` or ``tilt-turn``.
        hinge: where the hinges are, in this view; None where fixed.
        opens: which way it goes; None where fixed.
        daylight: inside the sight lines of what surrounds it. [mm]
        sash: the sash over all; None where fixed. [mm]
        glass: the glass that can be seen. [mm]
    """

    number: int
    kind: str
    hinge: Side | None
    opens: Opens | None
    daylight: Box
    sash: Box | None
    glass: Box

    @property
    def handle(self) -> Side | None:
        """Where the handle is, in this view: across from the hinges."""
        return None if self.hinge is None else OTHER[self.hinge]


@dataclass(frozen=True, slots=True)
class DividerView:
    """A mullion or transom; ``centre`` runs along x for a mullion, along y for a transom. [mm]."""

    part: str
    box: Box
    centre: float


@dataclass(frozen=True, slots=True)
class SillView:
    """The sill under the frame.

    Attributes:
        box: its front over the whole length, as high as it takes from the aperture. [mm]
        profile: stock name.
        fit: how its ends meet the wall.
        projection_mm: from back to nose. [mm]
        horn_left_mm, horn_right_mm: past the reveals, in this view; None between reveals. [mm]
    """

    box: Box
    profile: str
    fit: str
    projection_mm: float
    horn_left_mm: float | None
    horn_right_mm: float | None


@dataclass(frozen=True, slots=True)
class ApertureView:
    """The opening in the wall.

    Attributes:
        outline: its four corners from the top left, clockwise; out of square where the lean counts. [mm]
        clear: the upright rectangle that is free in it. [mm]
        width_mm, height_mm: least readings, finishes still to come taken off. [mm]
        lean_mm: what leans out of it, 0 where it does not count. [mm]
    """

    outline: tuple[Point, Point, Point, Point]
    clear: Box
    width_mm: float
    height_mm: float
    lean_mm: float


@dataclass(frozen=True, slots=True)
class Masses:
    """What has to be lifted. [kg].

    Attributes:
        window: frame, sashes, glass and beads, without sill and extenders.
        bare: frame and sashes with their steel and gear, all glass and beads out.
        sashes: glazed sash by light number.
        panes: glass by light number.
    """

    window: float
    bare: float
    sashes: Mapping[int, float]
    panes: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class Noted:
    """A finding with the field of the opening that it is about, sides as in this view.

    Attributes:
        number: from 1, in the order of the list: the gravest first.
        finding: as published.
        field: path below the opening, such as ``gap/left``; empty for the whole opening, ``order`` for
            what the order says of itself. A reading of the height carries how many there are
            (``heights/0/3``), since from the other face the first is the last.
        answer: the answer that settled it, where it was a query.
    """

    number: int
    finding: Finding
    field: str
    answer: Answer | None = None


@dataclass(frozen=True, slots=True)
class OpeningView:
    """One opening as people look at it.

    Attributes:
        order_ref, opening_ref, room: the firm's names; None where they are missing.
        storey: 0 is the ground floor.
        quantity: how many alike.
        view: the side that it is seen from.
        decision: the opening's own.
        published: the opening as the result states it; the source of every printed figure.
        aperture, frame, extenders, lights, dividers, sill: what could be worked out. [mm]
        face_mm: width of the frame's face. [mm]
        holes: fixing holes by side, in this view; from the top, or from the left. [mm]
        noted: findings, the gravest first.
        masses: what has to be lifted; None unless the opening may be cut or priced.
        safety: kind of safety glass by light number.
        colours: outside and inside.
        wants: what else was ordered, such as ``escape window``.
        joint: how the beads meet, ``square`` or ``mitred``; None where no bead serves.
    """

    order_ref: str | None
    opening_ref: str | None
    room: str | None
    storey: int | None
    quantity: int | None
    view: View
    decision: Decision
    published: Mapping[str, Any]
    aperture: ApertureView | None
    frame: Box | None
    face_mm: float
    extenders: tuple[tuple[Side, Box], ...]
    lights: tuple[LightView, ...]
    dividers: tuple[DividerView, ...]
    sill: SillView | None
    holes: Mapping[Side, tuple[float, ...]]
    noted: tuple[Noted, ...]
    masses: Masses | None
    safety: Mapping[int, str]
    colours: tuple[str | None, str | None]
    wants: tuple[str, ...]
    joint: str | None

    @property
    def may_be_made(self) -> bool:
        """Whether sizes to make it by are published: only a rejected opening has none."""
        return self.decision != "rejected"

    @property
    def name(self) -> str:
        """The opening in a few words.

        Example: ``W1, kitchen``.
        """
        name = self.opening_ref or "opening without a reference"
        return f"{name}, {self.room}" if self.room else name

    def seen_from(self, view: View) -> "OpeningView":
        """The same opening from a side: places mirrored, left and right changed over."""
        return self if view == self.view else _turned(self, view)


@dataclass(frozen=True, slots=True)
class OrderView:
    """An order with its openings, seen from outside.

    Attributes:
        order_ref: the firm's name for it.
        decision: its worst opening's.
        digest: of the published result.
        made_with: program, system and rulebook, as published.
        survey: day, surveyor and revision in words; empty where none is stated.
        system_title, rulebook_title: for people.
        strip_above_mm: gap above which a backing strip goes behind the seal, where the rulebook says. [mm]
        openings: as in the order.
    """

    order_ref: str | None
    decision: Decision
    digest: str
    made_with: Mapping[str, Any]
    survey: str
    system_title: str | None
    rulebook_title: str | None
    strip_above_mm: float | None
    openings: tuple[OpeningView, ...]


def _turned(opening: OpeningView, view: View) -> OpeningView:
    about = opening.frame.width if opening.frame is not None else 0.0
    if opening.frame is None and opening.aperture is not None:
        about = 2 * opening.aperture.clear.x + opening.aperture.clear.width
    return replace(
        opening,
        view=view,
        aperture=None if opening.aperture is None else _turned_aperture(opening.aperture, about),
        extenders=tuple((turned_side(side), box.turned(about)) for side, box in opening.extenders),
        lights=tuple(
            replace(
                light,
                hinge=None if light.hinge is None else turned_side(light.hinge),
                daylight=light.daylight.turned(about),
                sash=None if light.sash is None else light.sash.turned(about),
                glass=light.glass.turned(about),
            )
            for light in opening.lights
        ),
        dividers=tuple(
            replace(
                divider,
                box=divider.box.turned(about),
                centre=about - divider.centre if divider.part == "mullion" else divider.centre,
            )
            for divider in opening.dividers
        ),
        sill=None
        if opening.sill is None
        else replace(
            opening.sill,
            box=opening.sill.box.turned(about),
            horn_left_mm=opening.sill.horn_right_mm,
            horn_right_mm=opening.sill.horn_left_mm,
        ),
        holes={
            turned_side(side): _turned_holes(side, places, about) for side, places in opening.holes.items()
        },
        noted=tuple(replace(noted, field=turned_field(noted.field)) for noted in opening.noted),
    )


def _turned_holes(side: Side, places: tuple[float, ...], about: float) -> tuple[float, ...]:
    """Heights stay; places along head and bottom count from the other corner."""
    return places if side in {"left", "right"} else tuple(about - place for place in reversed(places))


def _turned_aperture(aperture: ApertureView, about: float) -> ApertureView:
    first, second, third, fourth = ((about - x, y) for x, y in aperture.outline)
    return replace(aperture, outline=(second, first, fourth, third), clear=aperture.clear.turned(about))


_SIDED: Final = frozenset({"gap", "extenders", "to_come", "sill"})
_OTHER_FIELD: Final = {
    "left": "right",
    "right": "left",
    "horn_left": "horn_right",
    "horn_right": "horn_left",
}


def turned_field(field: str) -> str:
    """The name of a sided field from the other face; readings keep theirs but for the order of heights."""
    head, _, tail = field.partition("/")
    if head in _SIDED and tail in _OTHER_FIELD:
        return f"{head}/{_OTHER_FIELD[tail]}"
    if head == "heights" and "/" in tail:
        number, _, count = tail.partition("/")
        return f"heights/{int(count) - 1 - int(number)}/{count}"
    if head == "diagonals" and tail in {"0", "1"}:
        return f"diagonals/{1 - int(tail)}"
    return field
