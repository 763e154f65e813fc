"""Pane and bead sizes from the daylight of a light, for numbers and for linear forms."""

from fractions import Fraction

from sawready.calc.cutting import L


def rebate_size(*, daylight_mm: L, rebate_one_mm: Fraction, rebate_other_mm: Fraction) -> L:
    """Size between the bases of the glazing rebates on one axis.

    Formula: rebate size = daylight + r_one + r_other

    Args:
        daylight_mm: clear size between the sight lines. [mm]
        rebate_one_mm: depth of the rebate behind the sight line on one side. [mm]
        rebate_other_mm: the same on the other side. [mm]
    Returns: rebate size. [mm]
    Example:
        >>> r = Fraction(20)
        >>> float(rebate_size(daylight_mm=Fraction(671), rebate_one_mm=r, rebate_other_mm=r))
        711.0

    Source: common practice; the depths are the system's.
    """
    return daylight_mm + rebate_one_mm + rebate_other_mm


def pane_size(*, rebate_size_mm: L, clearance_mm: Fraction) -> L:
    """Size of the glass on one axis, before it is taken down to the whole millimetre.

    Formula: glass = rebate size - 2 c

    Args:
        rebate_size_mm: size between the rebate bases. [mm]
        clearance_mm: gap between glass edge and rebate base, c. [mm]
    Returns: exact size. [mm]
    Example:
        >>> float(pane_size(rebate_size_mm=Fraction(711), clearance_mm=Fraction(5)))
        701.0

    Source: common practice; the clearance is the system's.
    """
    return rebate_size_mm - 2 * clearance_mm


def running_bead_length(*, rebate_size_mm: L, allowance_mm: Fraction) -> L:
    """Length of a bead that runs the whole rebate: every mitred bead, and the level square ones.

    Formula: bead = rebate size + k

    Args:
        rebate_size_mm: size between the rebate bases along the bead. [mm]
        allowance_mm: added to each bead, k. [mm]
    Returns: cutting length. [mm]
    Example:
        >>> float(running_bead_length(rebate_size_mm=Fraction(711), allowance_mm=Fraction(0)))
        711.0

    Source: common practice: level beads go in first and run through.
    """
    return rebate_size_mm + allowance_mm


def standing_bead_length(*, rebate_size_mm: L, bead_height_mm: Fraction, allowance_mm: Fraction) -> L:
    """Length of an upright square bead, which stands between the two level ones.

    Formula: bead = rebate size - 2 b + k

    Args:
        rebate_size_mm: height between the rebate bases. [mm]
        bead_height_mm: height of a level bead, b. [mm]
        allowance_mm: added to each bead, k. [mm]
    Returns: cutting length. [mm]
    Example:
        >>> b = Fraction(20)
        >>> float(
        ...     standing_bead_length(
        ...         rebate_size_mm=Fraction(1008), bead_height_mm=b, allowance_mm=Fraction(0)
        ...     )
        ... )
        968.0

    Source: common practice.
    """
    return rebate_size_mm - 2 * bead_height_mm + allowance_mm
