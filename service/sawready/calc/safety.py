"""Safety glass: where glazing is critical, which impact class it needs, and the ways round it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from sawready.calc.exact import Number, exact


class Element(StrEnum):
    """What the pane is glazed into."""

    WINDOW = "window"
    WALL = "wall"
    DOOR = "door"
    SIDE_PANEL = "side_panel"


@dataclass(frozen=True, slots=True)
class CriticalFigures:
    """Heights above the floor below which glass is critical, and the reach of a door's side, in mm."""

    window_below_mm: Number
    door_below_mm: Number
    beside_door_mm: Number


@dataclass(frozen=True, slots=True)
class CriticalVerdict:
    """Whether a pane is in a critical place.

    Attributes:
        critical: it is.
        rule: ``window_800``, ``door_1500`` or ``side_panel_300_1500`` with the figures used; None where
            the pane is not critical.
        bottom_mm: lowest edge of the pane above the floor. [mm]
        limit_mm: the height that was compared. [mm]
    """

    critical: bool
    rule: str | None
    bottom_mm: Fraction
    limit_mm: Fraction


@dataclass(frozen=True, slots=True)
class SmallPaneVerdict:
    """Whether a pane is small enough for ordinary glass; area [m2] and the measures that fail."""

    ok: bool
    area_m2: Fraction
    failures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ThickGlassSize:
    """Largest pane of annealed glass of one thickness, either way round; None has no limit. Lengths in mm."""

    thickness_mm: Number
    sides_mm: tuple[Number, Number] | None


def critical_place(
    *,
    element: Element | str,
    pane_bottom_mm: Number,
    door_distance_mm: Number | None,
    figures: CriticalFigures,
) -> CriticalVerdict:
    """Whether a pane is where people fall or walk into glass.

    A pane in a window beside a door counts as a side panel where its nearer edge is within the reach of
    the door. The heights themselves are not critical (800 mm exactly is not), the distance itself is
    (300 mm exactly is). Local codes and licensed practice decide.

    Args:
        element: ``window``, ``wall``, ``door`` or ``side_panel``.
        pane_bottom_mm: lowest edge of the visible pane above the floor on either side. [mm]
        door_distance_mm: from the pane's nearer edge to the edge of the door; None where no door is
            near. [mm]
        figures: of the rulebook.
    Returns: the verdict and the rule that made it.
    Raises: ValueError if a side panel comes without its distance and the answer depends on it.
    Example:
        >>> england = CriticalFigures(window_below_mm=800, door_below_mm=1500, beside_door_mm=300)
        >>> critical_place(element="window", pane_bottom_mm=799, door_distance_mm=None, figures=england).rule
        'window_800'

    Source: Approved Document K, 2013, section 5, 5.1 and diagram 5.1. Checked in
    tests/published/test_approved_document_k.py.
    """
    kind, bottom = Element(element), exact(pane_bottom_mm)
    window, door = exact(figures.window_below_mm), exact(figures.door_below_mm)
    reach = exact(figures.beside_door_mm)
    if kind is Element.DOOR:
        rule = f"door_{float(door):g}" if bottom < door else None
        return CriticalVerdict(rule is not None, rule, bottom, door)
    if kind is Element.SIDE_PANEL and door_distance_mm is None and window <= bottom < door:
        raise ValueError("a side panel needs its distance from the door")
    if door_distance_mm is not None and exact(door_distance_mm) <= reach:
        rule = f"side_panel_{float(reach):g}_{float(door):g}" if bottom < door else None
        return CriticalVerdict(rule is not None, rule, bottom, door)
    rule = f"window_{float(window):g}" if bottom < window else None
    return CriticalVerdict(rule is not None, rule, bottom, window)


def least_impact_class(
    *,
    element: Element | str,
    pane_width_mm: Number,
    usual_class: int,
    wide_class: int,
    wide_over_mm: Number,
    beside_door: bool = False,
) -> int:
    """The impact class that a pane in a critical place needs; a lower number is the safer class.

    Args:
        element: what the pane is glazed into.
        pane_width_mm: of the pane. [mm]
        usual_class: class anywhere critical. [-]
        wide_class: class of wide panes in doors and side panels. [-]
        wide_over_mm: width above which a pane is wide; the width itself is not. [mm]
        beside_door: a window that counts as a side panel.
    Returns: class number of EN 12600, 1 to 3. [-]
    Raises: ValueError if the element is unknown.
    Example:
        >>> least_impact_class(
        ...     element="door", pane_width_mm=901, usual_class=3, wide_class=2, wide_over_mm=900
        ... )
        2

    Source: Approved Document K, 2013, 5.4 (EN 12600, or C and B of BS 6206). Checked in
    tests/published/test_approved_document_k.py.
    """
    at_door = Element(element) in {Element.DOOR, Element.SIDE_PANEL} or beside_door
    return wide_class if at_door and exact(pane_width_mm) > exact(wide_over_mm) else usual_class


def unit_impact_class(*, pane_classes: Sequence[int | None]) -> int | None:
    """Impact class of a whole glass unit: that of its weakest pane.

    Args:
        pane_classes: class number of each pane, None for ordinary glass. [-]
    Returns: the highest number, or None where a pane has no class. [-]
    Raises: ValueError if there is no pane or a class is not 1 to 3.
    Example:
        >>> unit_impact_class(pane_classes=[1, 3])
        3

    Source: EN 12600 guidance: both faces matter where both can be reached.
    """
    if not pane_classes:
        raise ValueError("a unit has at least one pane")
    for number in pane_classes:
        if number is not None and not 1 <= number <= 3:
            raise ValueError(f"an impact class is 1, 2 or 3, not {number}")
    numbers = [number for number in pane_classes if number is not None]
    return max(numbers) if len(numbers) == len(pane_classes) else None


def impact_class_is_enough(*, stated_class: int | None, least_class: int) -> bool:
    """Whether a stated impact class is as safe as the one needed.

    Args:
        stated_class: class number of the unit, None for ordinary glass. [-]
        least_class: the class that is needed. [-]
    Returns: True where the stated number is the same or lower.
    Raises: nothing.
    Example:
        >>> impact_class_is_enough(stated_class=2, least_class=3)
        True

    Source: EN 12600:2002, drop heights 1200, 450 and 190 mm for classes 1, 2 and 3.
    """
    return stated_class is not None and stated_class <= least_class


def small_pane(
    *,
    width_mm: Number,
    height_mm: Number,
    thickness_mm: Number,
    most_side_mm: Number,
    most_area_m2: Number,
    least_thickness_mm: Number,
) -> SmallPaneVerdict:
    """Whether ordinary glass may stay in a critical place because the pane is small.

    The smaller side is the one that is limited (the document's wording is from memory).

    Args:
        width_mm: of the pane between its beads. [mm]
        height_mm: of the pane between its beads. [mm]
        thickness_mm: of the annealed glass. [mm]
        most_side_mm: greatest smaller side. [mm]
        most_area_m2: greatest area. [m2]
        least_thickness_mm: least thickness; leaded lights have their own. [mm]
    Returns: the area and what fails; all limits themselves are allowed.
    Raises: ValueError if a size is not above zero.
    Example:
        >>> small_pane(
        ...     width_mm=240,
        ...     height_mm=1900,
        ...     thickness_mm=6,
        ...     most_side_mm=250,
        ...     most_area_m2=0.5,
        ...     least_thickness_mm=6,
        ... ).ok
        True

    Source: Approved Document K, 2013, 5.6-5.7. Checked in tests/published/test_approved_document_k.py.
    """
    width, height, thickness = exact(width_mm), exact(height_mm), exact(thickness_mm)
    if min(width, height, thickness) <= 0:
        raise ValueError("width, height and thickness must be above zero")
    area = width * height / 1_000_000
    failures = []
    if min(width, height) > exact(most_side_mm):
        failures.append("width")
    if area > exact(most_area_m2):
        failures.append("area")
    if thickness < exact(least_thickness_mm):
        failures.append("thickness")
    return SmallPaneVerdict(ok=not failures, area_m2=area, failures=tuple(failures))


def thick_annealed_is_enough(
    *, width_mm: Number, height_mm: Number, thickness_mm: Number, sizes: Sequence[ThickGlassSize]
) -> bool:
    """Whether annealed glass is thick enough for its size to be left in a critical place.

    Meant for shopfronts and the like. A pane takes the row of the greatest thickness that it reaches.

    Args:
        width_mm: of the pane. [mm]
        height_mm: of the pane. [mm]
        thickness_mm: of the annealed glass. [mm]
        sizes: the largest pane of each thickness.
    Returns: True where the pane fits, either way round; the limits themselves are allowed.
    Raises: ValueError if a size is not above zero.
    Example:
        >>> table = [ThickGlassSize(8, (1100, 1100)), ThickGlassSize(10, (2250, 2250))]
        >>> thick_annealed_is_enough(width_mm=1100, height_mm=1101, thickness_mm=8, sizes=table)
        False

    Source: Approved Document K, 2013, 5.5 and diagram 5.2. Checked in
    tests/published/test_approved_document_k.py.
    """
    width, height, thickness = exact(width_mm), exact(height_mm), exact(thickness_mm)
    if min(width, height, thickness) <= 0:
        raise ValueError("width, height and thickness must be above zero")
    reached = [row for row in sizes if thickness >= exact(row.thickness_mm)]
    if not reached:
        return False
    row = max(reached, key=lambda size: exact(size.thickness_mm))
    if row.sides_mm is None:
        return True
    short, long = sorted(map(exact, row.sides_mm))
    return min(width, height) <= short and max(width, height) <= long


def guarding_is_needed(
    *, opening_bottom_mm: Number, drop_mm: Number | None, guard_below_mm: Number, drop_over_mm: Number
) -> bool:
    """Whether an opening window calls for guarding because somebody could fall out of it.

    An unknown drop counts as a drop. A caution: local codes and licensed practice decide.

    Args:
        opening_bottom_mm: lowest edge of the opening above the floor. [mm]
        drop_mm: fall outside; None where it is not known. [mm]
        guard_below_mm: height below which an opening is guarded. [mm]
        drop_over_mm: fall above which it counts. [mm]
    Returns: True where guarding is called for; both limits themselves are not.
    Raises: ValueError if a number is not finite.
    Example:
        >>> guarding_is_needed(opening_bottom_mm=799, drop_mm=2600, guard_below_mm=800, drop_over_mm=600)
        True

    Source: Approved Document K, 2013, section 3 and diagram 3.1; a drop of over 600 mm is Ireland's (TGD K).
    """
    falls = drop_mm is None or exact(drop_mm) > exact(drop_over_mm)
    return falls and exact(opening_bottom_mm) < exact(guard_below_mm)
