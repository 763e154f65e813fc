"""A layout: how dividers split a frame into lights, as a tree seen from one side."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

KINDS: Final = ("fixed", "top-hung", "bottom-hung", "side-hung", "tilt-turn")
"""What a light can be."""

HINGED_AT_A_SIDE: Final = frozenset({"side-hung", "tilt-turn"})
"""Kinds that need a hinge side."""

Hinge = Literal["left", "right"]

_OPPOSITE: Final[dict[Hinge | None, Hinge | None]] = {"left": "right", "right": "left", None: None}


@dataclass(frozen=True, slots=True)
class Light:
    """One field of a layout, fixed or opening.

    Attributes:
        kind: ``fixed``, ``top-hung``, ``bottom-hung``, ``side-hung`` or ``tilt-turn``.
        hinge: hinge side of a side-hung or tilt-turn light, as seen from the layout's view.
        safety: glass of this light where it differs from the opening's.
    """

    kind: str
    hinge: Hinge | None = None
    safety: str | None = None

    @property
    def name(self) -> str:
        """The light in words, such as ``side-hung left``."""
        return f"{self.kind} {self.hinge}" if self.hinge else self.kind


@dataclass(frozen=True, slots=True)
class Place:
    """Where a divider's centre line lies.

    Attributes:
        nm: distance from the frame's left (mullion) or top (transom) outer edge. [nm]
        from_far_edge: measured from the right edge instead, after a turn of the view.
    """

    nm: int
    from_far_edge: bool = False


@dataclass(frozen=True, slots=True)
class Division:
    """A field that mullions split into columns, or transoms into rows.

    Attributes:
        axis: ``columns`` (mullions, from the left) or ``rows`` (transoms, from the top).
        parts: two fields or more, in that order.
        places: one a divider; None shares the daylight equally.
    """

    axis: Literal["columns", "rows"]
    parts: "tuple[Layout, ...]"
    places: tuple[Place | None, ...]


Layout = Light | Division


def lights_of(layout: Layout) -> Iterator[Light]:
    """The lights in reading order: rows from the top, columns from the left, depth first."""
    if isinstance(layout, Light):
        yield layout
    else:
        for part in layout.parts:
            yield from lights_of(part)


def turned(layout: Layout) -> Layout:
    """The same layout seen from the other side.

    Columns run the other way, hinge sides change over, and a mullion's place counts from the other
    edge. Turning twice gives the layout again.
    """
    if isinstance(layout, Light):
        return Light(layout.kind, _OPPOSITE[layout.hinge], layout.safety) if layout.hinge else layout
    parts = tuple(turned(part) for part in layout.parts)
    if layout.axis == "rows":
        return Division("rows", parts, layout.places)
    places = tuple(
        None if place is None else Place(place.nm, not place.from_far_edge)
        for place in reversed(layout.places)
    )
    return Division("columns", tuple(reversed(parts)), places)


def reads_alike_turned(layout: Layout, width_nm: int | None) -> bool:
    """Whether the layout is the same from both sides.

    Args:
        layout: any layout.
        width_nm: width of the frame, which the places need; None where it is not known. [nm]
    """
    return _settled(layout, width_nm) == _settled(turned(layout), width_nm)


def _settled(layout: Layout, width_nm: int | None) -> Layout:
    """The layout with every place from the near edge, where the width is known."""
    if isinstance(layout, Light):
        return layout
    places = tuple(
        Place(width_nm - place.nm)
        if place is not None and place.from_far_edge and width_nm is not None
        else place
        for place in layout.places
    )
    return Division(layout.axis, tuple(_settled(part, width_nm) for part in layout.parts), places)


def in_words(layout: Layout) -> str:
    """The layout in the written form of an order, without places.

    Example:
        >>> in_words(Division("columns", (Light("side-hung", "left"), Light("fixed")), (None,)))
        'side-hung left | fixed'
    """
    if isinstance(layout, Light):
        return layout.name
    sign = " | " if layout.axis == "columns" else " / "
    return sign.join(
        in_words(part) if isinstance(part, Light) else f"({in_words(part)})" for part in layout.parts
    )
