"""Lengths of frame, sash, divider and reinforcement; every formula once, for numbers and for linear forms.

Source of the deductions: the profile system's file. Formulas: common practice of welded PVC-U windows.
"""

from fractions import Fraction
from typing import TypeVar

from sawready.calc.linear import Linear

L = TypeVar("L", Linear, Fraction)
"""A length: an exact number of millimetres, or a form that yields one."""


def welded_length(*, finished_mm: L, weld_allowance_mm: Fraction) -> L:
    """Length to cut so that welding both ends leaves the finished length.

    Formula: cut = finished + 2 v

    Args:
        finished_mm: length of the member in the finished window. [mm]
        weld_allowance_mm: burned off at each welded end, v. [mm]
    Returns: cutting length, tip to tip of the mitres. [mm]
    Example:
        >>> float(welded_length(finished_mm=Fraction(1200), weld_allowance_mm=Fraction(3)))
        1206.0

    Source: machine maker's guide (1200 cuts as 1206). Checked in tests/published/test_trade_examples.py.
    """
    return finished_mm + 2 * weld_allowance_mm


def divider_length(*, span_mm: L, end_allowance_mm: Fraction) -> L:
    """Length of a mullion or transom that runs past the sight lines it meets.

    Formula: length = span + 2 e

    Args:
        span_mm: daylight of the field that it divides, along the divider. [mm]
        end_allowance_mm: run past each sight line, e. [mm]
    Returns: finished and cutting length. [mm]
    Example:
        >>> float(divider_length(span_mm=Fraction(1096), end_allowance_mm=Fraction(18)))
        1132.0

    Source: common practice; the allowance is the system's.
    """
    return span_mm + 2 * end_allowance_mm


def reinforcement_length(*, finished_mm: L, set_back_mm: Fraction) -> L:
    """Length of the steel inside a member.

    Formula: length = finished - 2 set-back

    Args:
        finished_mm: finished length of the member. [mm]
        set_back_mm: how far the steel stops short of each end. [mm]
    Returns: cutting length of the steel. [mm]
    Example:
        >>> float(reinforcement_length(finished_mm=Fraction(1798), set_back_mm=Fraction(50)))
        1698.0

    Source: common practice; the set-back is the system's.
    """
    return finished_mm - 2 * set_back_mm


def sash_outer_size(*, daylight_mm: L, overlap_mm: Fraction) -> L:
    """Outer size of a sash on one axis.

    Formula: outer = daylight + 2 o

    Args:
        daylight_mm: clear size that the sash closes. [mm]
        overlap_mm: lap past the sight line on each side, o. [mm]
    Returns: outer size. [mm]
    Example:
        >>> float(sash_outer_size(daylight_mm=Fraction(799), overlap_mm=Fraction(8)))
        815.0

    Source: common practice; the overlap is the system's.
    """
    return daylight_mm + 2 * overlap_mm


def sash_daylight(*, outer_mm: L, face_mm: Fraction) -> L:
    """Clear size inside a sash on one axis.

    Formula: daylight = outer - 2 f

    Args:
        outer_mm: outer size of the sash. [mm]
        face_mm: outer edge to sight line of the sash, f. [mm]
    Returns: daylight of the sash. [mm]
    Example:
        >>> float(sash_daylight(outer_mm=Fraction(815), face_mm=Fraction(72)))
        671.0

    Source: common practice; the face is the system's.
    """
    return outer_mm - 2 * face_mm
