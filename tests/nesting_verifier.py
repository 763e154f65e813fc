"""Checks a bar plan without trusting the planner: it shares no code with it and knows geometry only.

It takes plain values, so a plan can also be checked as it came out of a file. Lengths are fractions of
a millimetre. A bar is checked at its outer and inner face line by line: every piece is a quadrilateral
whose ends are upright or lean at 45 degrees, and between two pieces the blade must pass along either
end without touching the other piece.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

ROOT_2_LOW = Fraction(141421356, 100_000_000)
"""A little below the square root of two, so that no right plan is refused for a rounding."""


@dataclass(frozen=True)
class CutPiece:
    """A piece as the plan puts it on a bar. Lengths in mm, tip to tip."""

    length_mm: Fraction
    start_mm: Fraction
    left_end: int = 90
    right_end: int = 90
    turned: bool = False
    who: tuple[Any, ...] = ()


@dataclass(frozen=True)
class CutBar:
    """A bar as the plan fills it."""

    stock_mm: Fraction
    is_old_offcut: bool
    pieces: tuple[CutPiece, ...]
    offcut_mm: Fraction


def faults_of_bar(
    bar: CutBar, *, kerf_mm: Fraction, trim_mm: Fraction, face_mm: Fraction = Fraction(70)
) -> list[str]:
    """Everything that is wrong with one bar, in words; nothing where it is right."""
    faults: list[str] = []
    if not bar.pieces:
        return ["a bar without pieces"]
    edges = [_edges(piece, face_mm) for piece in bar.pieces]
    first = min(min(left) for left, _ in edges)
    last = max(max(right) for _, right in edges)
    if first < 0:
        faults.append(f"begins at {float(first)}, before the bar")
    if last - first + trim_mm > bar.stock_mm:
        faults.append(f"{float(last - first)} mm and the trim are on {float(bar.stock_mm)} mm")
    if last > bar.stock_mm:
        faults.append(f"ends at {float(last)}, behind the bar")
    for number in range(1, len(bar.pieces)):
        before, after = bar.pieces[number - 1], bar.pieces[number]
        needed = max(_blade(before.right_end, kerf_mm), _blade(after.left_end, kerf_mm))
        apart = min(left - right for left, right in zip(edges[number][0], edges[number - 1][1], strict=True))
        if apart < needed - Fraction(1, 10**6):
            faults.append(
                f"pieces {number} and {number + 1} are {float(apart)} mm apart, not {float(needed)}"
            )
    left_over = bar.stock_mm - trim_mm - (last - first)
    if bar.offcut_mm < 0 or bar.offcut_mm > left_over:
        faults.append(f"an offcut of {float(bar.offcut_mm)} mm where {float(left_over)} mm are left")
    parting = _blade(bar.pieces[-1].right_end, kerf_mm)
    if bar.offcut_mm and abs(bar.offcut_mm - (left_over - parting)) > Fraction(1, 1000):
        faults.append(f"the offcut should be {float(left_over - parting)} mm, not {float(bar.offcut_mm)}")
    return faults


def _blade(angle: int, kerf_mm: Fraction) -> Fraction:
    return kerf_mm if angle == 90 else kerf_mm * ROOT_2_LOW


def _edges(piece: CutPiece, face_mm: Fraction) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
    """Left and right edge of a piece at both face lines, which is enough as edges are straight."""
    lefts, rights = [], []
    for line in (Fraction(0), face_mm):
        depth = face_mm - line if piece.turned else line
        lefts.append(piece.start_mm + (depth if piece.left_end == 45 else 0))
        rights.append(piece.start_mm + piece.length_mm - (depth if piece.right_end == 45 else 0))
    return tuple(lefts), tuple(rights)


def faults_of_list(
    bars: Sequence[CutBar],
    *,
    wanted: Iterable[tuple[Any, ...]],
    fresh_mm: Fraction,
    rack_mm: Iterable[Fraction] = (),
    kerf_mm: Fraction,
    trim_mm: Fraction,
    face_mm: Fraction = Fraction(70),
) -> list[str]:
    """Everything that is wrong with the bars of one profile.

    Args:
        bars: the plan.
        wanted: one entry a piece that must be cut: what ``CutPiece.who`` holds.
        fresh_mm: length of a fresh bar.
        rack_mm: one entry an old offcut that may be used.
        kerf_mm: blade.
        trim_mm: both ends together.
        face_mm: width of the face.
    """
    faults = [
        f"bar {number}: {fault}"
        for number, bar in enumerate(bars, 1)
        for fault in faults_of_bar(bar, kerf_mm=kerf_mm, trim_mm=trim_mm, face_mm=face_mm)
    ]
    asked, cut = Counter(wanted), Counter(piece.who for bar in bars for piece in bar.pieces)
    faults += [f"{count} missing of {who}" for who, count in (asked - cut).items()]
    faults += [f"{count} too many of {who}" for who, count in (cut - asked).items()]
    used = Counter(bar.stock_mm for bar in bars if bar.is_old_offcut)
    faults += [
        f"{count} offcuts of {float(length)} mm more than there are"
        for length, count in (used - Counter(rack_mm)).items()
    ]
    faults += [
        f"bar {number} is {float(bar.stock_mm)} mm, fresh ones are {float(fresh_mm)} mm"
        for number, bar in enumerate(bars, 1)
        if not bar.is_old_offcut and bar.stock_mm != fresh_mm
    ]
    return faults
