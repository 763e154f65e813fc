"""The frame from its aperture: governing sizes, lean, gaps and what is left on each side.

Whole nanometres throughout, so that rounding down never meets a rounding error.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import hypot, sqrt
from typing import Final, NamedTuple

NM: Final = 1_000_000
"""Nanometres in a millimetre."""


def parallelogram_lean_mm(*, diagonal_1_mm: Fraction, diagonal_2_mm: Fraction, side_mm: Fraction) -> Fraction:
    """How far one side of an opening with parallel sides has slipped against the opposite one.

    Formula: s = |d1^2 - d2^2| / (4 a)

    Args:
        diagonal_1_mm: one diagonal, d1. [mm]
        diagonal_2_mm: the other, d2. [mm]
        side_mm: the side along which it has slipped, a: the mean width for leaning jambs. [mm]
    Returns: lean s, not negative. [mm]
    Raises: ZeroDivisionError if the side is nought.
    Example:
        >>> float(
        ...     parallelogram_lean_mm(
        ...         diagonal_1_mm=Fraction(1958), diagonal_2_mm=Fraction(1935), side_mm=Fraction(1509)
        ...     )
        ... )
        14.83

    Source: parallelogram, exact: d1^2 - d2^2 = 4 a s. Checked in tests/published/test_parallelogram.py.
    """
    return abs(diagonal_1_mm**2 - diagonal_2_mm**2) / (4 * side_mm)


def parallelogram_misfit_mm(
    *, diagonal_1_mm: float, diagonal_2_mm: float, lean_mm: float, width_mm: float, height_mm: float
) -> float:
    """How far sides and diagonals are from belonging to one opening with parallel sides.

    It cannot see a swap of width and height, nor a slip of about 10 mm in one side.

    Formula: | sqrt((d1^2 + d2^2) / 2 - s^2) - sqrt(w^2 + h^2) |

    Args:
        diagonal_1_mm: one diagonal, d1. [mm]
        diagonal_2_mm: the other, d2. [mm]
        lean_mm: lean s. [mm]
        width_mm: mean width, w. [mm]
        height_mm: mean height, h. [mm]
    Returns: misfit. [mm]
    Example:
        >>> parallelogram_misfit_mm(
        ...     diagonal_1_mm=1958, diagonal_2_mm=1935, lean_mm=14.83, width_mm=1509, height_mm=1229
        ... )
        0.3

    Source: parallelogram law: d1^2 + d2^2 = 2 (w^2 + h^2 + s^2).
    """
    from_diagonals = sqrt(max((diagonal_1_mm**2 + diagonal_2_mm**2) / 2 - lean_mm**2, 0.0))
    return abs(from_diagonals - hypot(width_mm, height_mm))


class Lean(NamedTuple):
    """What the two diagonals say of an opening.

    Attributes:
        differ_nm: how much the diagonals differ. [nm]
        counts: they differ by the survey tolerance or more, so the lean comes off the frame.
        numerator, denominator: exact lean along the chosen side, numerator over denominator. [nm]
        misfit_nm: how far sides and diagonals are from one opening. [nm]
    """

    differ_nm: int
    counts: bool
    numerator: int
    denominator: int
    misfit_nm: int

    @property
    def nm(self) -> Fraction:
        """The lean as measured, whether it counts or not. [nm]"""
        return Fraction(self.numerator, self.denominator)


def lean_of(
    *,
    widths_nm: Sequence[int],
    heights_nm: Sequence[int],
    diagonals_nm: tuple[int, int],
    is_head_sloping: bool,
    differ_from_nm: int,
) -> Lean:
    """Lean and misfit of an opening from its raw readings.

    The means of the readings stand for the sides of the parallelogram, finishes left on: they do not
    move a taped diagonal.

    Args:
        widths_nm: width readings, one to three. [nm]
        heights_nm: height readings, one to three. [nm]
        diagonals_nm: the two diagonals. [nm]
        is_head_sloping: the head is out of level and the jambs are plumb; the lean is in the height.
        differ_from_nm: diagonals that differ by less are tape accuracy. [nm]
    Returns: what the diagonals say.
    Source: geometry of the parallelogram, see parallelogram_lean_mm.
    """
    first, second = diagonals_nm
    side, count = (sum(heights_nm), len(heights_nm)) if is_head_sloping else (sum(widths_nm), len(widths_nm))
    numerator = abs(first * first - second * second) * count
    denominator = 4 * side
    lean = numerator / denominator
    misfit = parallelogram_misfit_mm(
        diagonal_1_mm=first / NM,
        diagonal_2_mm=second / NM,
        lean_mm=lean / NM,
        width_mm=sum(widths_nm) / len(widths_nm) / NM,
        height_mm=sum(heights_nm) / len(heights_nm) / NM,
    )
    differ = abs(first - second)
    return tuple.__new__(Lean, (differ, differ >= differ_from_nm, numerator, denominator, round(misfit * NM)))


def floor_mm(*, whole_nm: int, numerator: int = 0, denominator: int = 1) -> int:
    """A length less a fraction, down to the whole millimetre, exactly.

    Args:
        whole_nm: length. [nm]
        numerator, denominator: what comes off, as a fraction. [nm]
    Returns: whole millimetres, as nanometres. [nm]
    Example:
        >>> floor_mm(whole_nm=1_498_000_000, numerator=29_660_000, denominator=2)
        1483000000
    """
    return (whole_nm * denominator - numerator) // (NM * denominator) * NM


class AxisFit(NamedTuple):
    """Frame and aperture on one axis: the width, or the height.

    Attributes:
        readings_nm: the readings, finishes still to come taken off. [nm]
        finishes_nm: what was taken off each. [nm]
        least_nm: the governing (least) reading. [nm]
        most_nm: the largest reading, where the joint is widest. [nm]
        gap_nm: expansion gap at the left and right, or top and bottom. [nm]
        extender_nm: extender widths on those sides. [nm]
        upstand_nm: height that the sill takes under the frame; 0 in the width. [nm]
        lean_numerator, lean_denominator: lean that comes off, as a fraction. [nm]
        worked_nm: frame size that follows, down to the whole millimetre. [nm]
        stated_nm: frame size that the order states, or None. [nm]
        size_nm: frame size that holds: stated, else worked. [nm]
        taken_nm: what extenders and sill take besides the frame. [nm]
    """

    readings_nm: tuple[int, ...]
    finishes_nm: int
    least_nm: int
    most_nm: int
    gap_nm: tuple[int, int]
    extender_nm: tuple[int, int]
    upstand_nm: int
    lean_numerator: int
    lean_denominator: int
    worked_nm: int
    stated_nm: int | None
    size_nm: int
    taken_nm: int

    def room_numerator(self, *, is_lean_off: bool = True) -> int:
        """Both gaps together, over the lean's denominator. [nm]

        Args:
            is_lean_off: whether the lean is taken off, as a frame that stands plumb needs.
        """
        room = (self.least_nm - self.size_nm - self.taken_nm) * self.lean_denominator
        return room - self.lean_numerator if is_lean_off else room

    @property
    def is_too_large(self) -> bool:
        """The frame leaves less than its gaps."""
        return self.room_numerator() < (self.gap_nm[0] + self.gap_nm[1]) * self.lean_denominator

    @property
    def fits_without_lean(self) -> bool:
        """The frame would keep its gaps if it did not have to stand plumb."""
        return (
            self.room_numerator(is_lean_off=False)
            >= (self.gap_nm[0] + self.gap_nm[1]) * self.lean_denominator
        )

    @property
    def clearance(self) -> tuple[int, int, int]:
        """Gap left on each side, frame centred, and what both are over. [nm]

        What the floor leaves over is shared equally by the two sides.
        """
        room = self.room_numerator()
        if self.stated_nm is not None:
            return room, room, 2 * self.lean_denominator
        over = room - (self.gap_nm[0] + self.gap_nm[1]) * self.lean_denominator
        first, second = (2 * gap * self.lean_denominator + over for gap in self.gap_nm)
        return first, second, 2 * self.lean_denominator

    @property
    def widest_room_nm(self) -> int:
        """Both gaps together at the largest reading. [nm]"""
        return self.most_nm - self.size_nm - self.taken_nm


def axis_fit(
    *,
    readings_nm: Sequence[int],
    finishes_nm: int,
    gap_nm: tuple[int, int],
    extender_nm: tuple[int, int],
    upstand_nm: int = 0,
    lean: Lean | None = None,
    stated_nm: int | None = None,
) -> AxisFit:
    """Frame size on one axis from its readings.

    Formula: size = floor(min(readings) - finishes - lean - gaps - extenders - upstand)

    Args:
        readings_nm: raw readings of the axis, one to three. [nm]
        finishes_nm: finishes still to come on its two sides together. [nm]
        gap_nm: expansion gap at its two ends. [nm]
        extender_nm: extender widths there. [nm]
        upstand_nm: what the sill takes of the height. [nm]
        lean: lean that comes off this axis, or None.
        stated_nm: frame size of the order, to be checked instead. [nm]
    Returns: the fit; nothing is judged here.
    Example:
        >>> fit = axis_fit(
        ...     readings_nm=(1812 * NM, 1808 * NM, 1810 * NM),
        ...     finishes_nm=0,
        ...     gap_nm=(5 * NM, 5 * NM),
        ...     extender_nm=(0, 0),
        ... )
        >>> fit.size_nm // NM
        1798

    Source: the smallest reading governs, common practice (UK, US and German guides agree).
    """
    readings = tuple(readings_nm)
    if finishes_nm:
        readings = tuple([reading - finishes_nm for reading in readings])
    least = min(readings)
    numerator, denominator = (
        (lean.numerator, lean.denominator) if lean is not None and lean.counts else (0, 1)
    )
    taken = extender_nm[0] + extender_nm[1] + upstand_nm
    room = least - gap_nm[0] - gap_nm[1] - taken
    worked = (
        floor_mm(whole_nm=room, numerator=numerator, denominator=denominator)
        if numerator
        else room // NM * NM
    )
    # By place, and past the tuple's own constructor: this runs twice an opening, and names cost more than
    # the sums.
    members = (
        readings,
        finishes_nm,
        least,
        max(readings),
        gap_nm,
        extender_nm,
        upstand_nm,
        numerator,
        denominator,
        worked,
        stated_nm,
        worked if stated_nm is None else stated_nm,
        taken,
    )
    return tuple.__new__(AxisFit, members)
