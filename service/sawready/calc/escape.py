"""Escape by window: the clear opening of an open sash against the least that lets a person out."""

import math
from dataclasses import dataclass
from fractions import Fraction

from sawready.calc.exact import Number, exact


@dataclass(frozen=True, slots=True)
class EscapeFigures:
    """Least clear opening of an escape window; all limits themselves are allowed.

    Attributes:
        area_m2: least clear area. [m2]
        width_mm: least clear width. [mm]
        height_mm: least clear height. [mm]
        most_bottom_mm: highest bottom of the opening above the floor. [mm]
        least_bottom_mm: lowest bottom of the opening above the floor, None where there is no such limit. [mm]
    """

    area_m2: Number
    width_mm: Number
    height_mm: Number
    most_bottom_mm: Number
    least_bottom_mm: Number | None = None


@dataclass(frozen=True, slots=True)
class EscapeMiss:
    """One measure that fails: area [m2], width, height or bottom_height [mm], its value and its limit."""

    measure: str
    value: Fraction
    limit: Fraction


@dataclass(frozen=True, slots=True)
class EscapeVerdict:
    """Clear area [m2] and what fails; ok where nothing does."""

    area_m2: Fraction
    misses: tuple[EscapeMiss, ...]
    ok: bool

    @property
    def failures(self) -> tuple[str, ...]:
        """Names of the measures that fail, in the order area, width, height, bottom_height."""
        return tuple(miss.measure for miss in self.misses)


def escape_opening(
    *,
    clear_width_mm: Number,
    clear_height_mm: Number,
    bottom_above_floor_mm: Number | None,
    figures: EscapeFigures,
) -> EscapeVerdict:
    """Whether a clear opening can serve for escape.

    The sizes are those of the hole that is left when the sash stands open, not of the sash. Whether a
    room needs an escape window at all is not judged here. Local codes and licensed practice decide.

    Formula: w h >= area, w >= width, h >= height, least bottom <= bottom <= most bottom

    Args:
        clear_width_mm: w. [mm]
        clear_height_mm: h. [mm]
        bottom_above_floor_mm: bottom of the clear opening above the floor; None leaves it unjudged. [mm]
        figures: the limits of the rulebook.
    Returns: the exact area and every measure that fails.
    Raises: ValueError if a size is below zero.
    Example:
        >>> england = EscapeFigures(area_m2=0.33, width_mm=450, height_mm=450, most_bottom_mm=1100)
        >>> escape_opening(
        ...     clear_width_mm=450, clear_height_mm=733, bottom_above_floor_mm=900, figures=england
        ... ).failures
        ('area',)

    Source: Approved Document B volume 1, 2019 with amendments, 2.10; the lower limit of the bottom is
    Ireland's (TGD B 1.5.6). Checked in tests/published/test_approved_document_b.py.
    """
    width, height = exact(clear_width_mm), exact(clear_height_mm)
    if width < 0 or height < 0:
        raise ValueError(f"a clear opening cannot be {float(width):g} x {float(height):g} mm")
    area = width * height / 1_000_000
    at_least = [
        ("area", area, figures.area_m2),
        ("width", width, figures.width_mm),
        ("height", height, figures.height_mm),
    ]
    misses = [
        EscapeMiss(measure, value, exact(limit)) for measure, value, limit in at_least if value < exact(limit)
    ]
    if bottom_above_floor_mm is not None:
        bottom, most = exact(bottom_above_floor_mm), exact(figures.most_bottom_mm)
        if bottom > most:
            misses.append(EscapeMiss("bottom_height", bottom, most))
        elif figures.least_bottom_mm is not None and bottom < exact(figures.least_bottom_mm):
            misses.append(EscapeMiss("bottom_height", bottom, exact(figures.least_bottom_mm)))
    return EscapeVerdict(area_m2=area, misses=tuple(misses), ok=not misses)


def least_partner_mm(*, side_mm: Number, least_area_m2: Number, least_side_mm: Number = 0) -> Fraction:
    """The other side that an opening needs for its area, exact; round up to make it.

    Formula: max(area / side, least side)

    Args:
        side_mm: the side that is known. [mm]
        least_area_m2: the area that is needed. [m2]
        least_side_mm: least length of any side. [mm]
    Returns: the least other side. [mm]
    Raises: ValueError if the known side is not above zero.
    Example:
        >>> float(least_partner_mm(side_mm=450, least_area_m2=0.33))
        733.333

    Source: derived from Approved Document B volume 1, 2.10. Checked in
    tests/published/test_approved_document_b.py.
    """
    side = exact(side_mm)
    if side <= 0:
        raise ValueError(f"side_mm must be above zero, not {float(side):g}")
    return max(exact(least_area_m2) * 1_000_000 / side, exact(least_side_mm))


def side_hung_clear_size_mm(
    *, daylight_width_mm: Number, daylight_height_mm: Number, blocked_mm: Number
) -> tuple[Fraction, Fraction]:
    """Clear opening of a side-hung or turning sash that stands open.

    Formula: (w - blocked) x h

    Args:
        daylight_width_mm: clear width of the frame around the sash, w. [mm]
        daylight_height_mm: clear height of the frame around the sash, h. [mm]
        blocked_mm: what hinge and open sash still cover of the width; a figure of the system. [mm]
    Returns: clear width and height; 0 where nothing is left. [mm]
    Raises: ValueError if a value is below zero.
    Example:
        >>> width, height = side_hung_clear_size_mm(
        ...     daylight_width_mm=600, daylight_height_mm=1100, blocked_mm=95
        ... )
        >>> float(width), float(height)
        (505.0, 1100.0)

    Source: geometry; the blocked width comes from the hinge maker.
    """
    width, height, blocked = _lengths(daylight_width_mm, daylight_height_mm, blocked_mm)
    return max(width - blocked, Fraction(0)), height


def swung_clear_size_mm(
    *,
    daylight_width_mm: Number,
    daylight_height_mm: Number,
    opening_angle_deg: float,
    blocked_mm: Number,
) -> tuple[Fraction, Fraction]:
    """Clear opening under a top-hung sash, or over a bottom-hung one, that stands at an angle.

    A person passes between the free edge of the sash and the frame, straight across: the chord of the
    swing. It is never more than the daylight itself.

    Formula: h_clear = min(h, 2 h sin(angle / 2)) - blocked

    Args:
        daylight_width_mm: clear width of the frame around the sash. [mm]
        daylight_height_mm: clear height of the frame around the sash, h. [mm]
        opening_angle_deg: how far it opens, 0 to 180. [deg]
        blocked_mm: what hardware still covers of the height; a figure of the system. [mm]
    Returns: clear width and height; 0 where nothing is left. [mm]
    Raises: ValueError if a value is out of range.
    Example:
        >>> width, height = swung_clear_size_mm(
        ...     daylight_width_mm=900, daylight_height_mm=1000, opening_angle_deg=30, blocked_mm=0
        ... )
        >>> float(width), float(height)
        (900.0, 517.6)

    Source: geometry; whether such a sash may serve for escape at all is for local codes.
    """
    width, height, blocked = _lengths(daylight_width_mm, daylight_height_mm, blocked_mm)
    if not 0 <= opening_angle_deg <= 180:
        raise ValueError(f"opening_angle_deg must be from 0 to 180, not {opening_angle_deg}")
    chord = height * exact(2 * math.sin(math.radians(opening_angle_deg) / 2))
    return width, max(min(height, chord) - blocked, Fraction(0))


def _lengths(*values_mm: Number) -> tuple[Fraction, ...]:
    lengths = tuple(map(exact, values_mm))
    if min(lengths) < 0:
        raise ValueError(f"lengths must be zero or more, not {float(min(lengths)):g} mm")
    return lengths
