"""From lengths on a bar to whole numbers: the coarsest ones with which every bar fits as in truth.

Pieces of lengths L with joints k between them fit a bar of usable length C when
sum(L) + (n - 1) k <= C. With whole numbers w = L q / g + k', where g divides all lengths, this reads
sum(w) <= C' + k'. The least q is taken for which some k' and C' say the same for every number of
pieces n that a bar can hold; so a joint of 4 sqrt(2) mm needs thirds of a millimetre, no more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd
from typing import Final

from .mitres import joint_nm, mitre_kerf_nm
from .pieces import NM_PER_TENTH, Ends

MOST_CAPACITY: Final = 250_000
"""Longest bar in whole numbers; beyond it the work grows too much and lengths are rounded instead."""

ROUNDED_CAPACITY: Final = 120_000
"""Length of the longest bar in whole numbers where lengths have to be rounded."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Lengths in whole numbers.

    Attributes:
        weights: one for each length, joint included.
        capacities: one for each stock, one joint included; below 1 where nothing fits.
        joint: the joint in whole numbers.
        per_nm: whole numbers per nanometre, as (numerator, denominator), rounded where need be.
        loose_weights: the same rounded the other way, for a bound that holds; None where all is exact.
        loose_capacities: see above.
    """

    weights: tuple[int, ...]
    capacities: tuple[int, ...]
    joint: int
    per_nm: tuple[int, int]
    loose_weights: tuple[int, ...] | None = None
    loose_capacities: tuple[int, ...] | None = None

    def scaled_down(self, length_nm: int) -> int:
        """A length in whole numbers, rounded down."""
        return length_nm * self.per_nm[0] // self.per_nm[1]

    def scaled_up(self, length_nm: int) -> int:
        """A length in whole numbers, rounded up."""
        return -(-length_nm * self.per_nm[0] // self.per_nm[1])


def grid_for(
    pieces: Sequence[tuple[int, Ends]],
    usable_nm: Sequence[int],
    *,
    kerf_nm: int,
    turn_face_nm: int | None = None,
) -> Grid:
    """Whole numbers for a list of pieces.

    Args:
        pieces: length on the bar and ends of each kind of piece. [nm]
        usable_nm: usable length of each stock, trim taken off. [nm]
        kerf_nm: thickness of the cut, square to the blade. [nm]
        turn_face_nm: face width where every second piece is turned, else None. [nm]
    """
    off = turn_face_nm or 0
    lengths = [length - off for length, _ in pieces]
    usable = [capacity - off for capacity in usable_nm]
    kinds = {ends for _, ends in pieces}
    if any(ends[3:] == "90" for ends in kinds) and any(ends[:2] == "90" for ends in kinds):
        if kinds == {"90/90"}:
            return _same_joints(lengths, usable, kerf_nm)
        return _mixed_joints(pieces, usable, kerf_nm)
    return _same_joints(lengths, usable, mitre_kerf_nm(kerf_nm))


def _same_joints(lengths: Sequence[int], usable: Sequence[int], joint: int) -> Grid:
    """Whole numbers where every joint is alike: exact where they stay small enough, else rounded."""
    step = gcd(*lengths)
    least, most = min(lengths), max(usable)
    fine = 1
    while most * fine <= MOST_CAPACITY * step:
        for whole_joint in sorted({joint * fine // step, -(-joint * fine // step)}):
            capacities = [
                _same_capacity(capacity, joint, least, step=step, fine=fine, whole_joint=whole_joint)
                for capacity in usable
            ]
            if None not in capacities:
                return Grid(
                    tuple(length // step * fine + whole_joint for length in lengths),
                    tuple(capacity + whole_joint for capacity in capacities if capacity is not None),
                    whole_joint,
                    (fine, step),
                )
        fine += 1
    unit = max(NM_PER_TENTH, -(-most // ROUNDED_CAPACITY))
    return _rounded(
        [length + joint for length in lengths], [capacity + joint for capacity in usable], joint, unit=unit
    )


def _same_capacity(
    usable: int, joint: int, least: int, *, step: int, fine: int, whole_joint: int
) -> int | None:
    """The capacity that tells fitting from not fitting as in truth, for every number of pieces."""
    low, high = 0, 2 * MOST_CAPACITY
    for number in range(1, (usable + joint) // (least + joint) + 2):
        room = (usable - (number - 1) * joint) // step  # what the lengths may add up to, in steps
        low = max(low, fine * room + (number - 1) * whole_joint)
        high = min(high, fine * room + fine - 1 + (number - 1) * whole_joint)
    return low if low <= high else None


def _mixed_joints(pieces: Sequence[tuple[int, Ends]], usable: Sequence[int], kerf_nm: int) -> Grid:
    """Whole numbers where joints differ: every piece carries half a joint at either end.

    Square pieces carry halves of the square joint; pieces with a mitre carry halves of the wider one at
    both ends, which covers every way they can meet; the ends of the bar give back one square joint. The
    loose numbers let each end carry its own half and give back the wider joint.
    """
    wide = mitre_kerf_nm(kerf_nm)
    heavy = [length + (kerf_nm if ends == "90/90" else wide) for length, ends in pieces]
    light = [
        length
        + (joint_nm(ends[:2], ends[:2], kerf_nm=kerf_nm) + joint_nm(ends[3:], ends[3:], kerf_nm=kerf_nm)) // 2
        for length, ends in pieces
    ]
    unit = max(NM_PER_TENTH, -(-max(usable) // ROUNDED_CAPACITY))
    tight = _rounded(heavy, [capacity + kerf_nm for capacity in usable], wide, unit=unit)
    return Grid(
        tight.weights,
        tight.capacities,
        tight.joint,
        tight.per_nm,
        tuple(length // unit for length in light),
        tuple((capacity + wide) // unit for capacity in usable),
    )


def _rounded(lengths: Sequence[int], usable: Sequence[int], joint: int, *, unit: int) -> Grid:
    """Lengths up and capacities down to a unit; and the other way round, for the bound."""
    return Grid(
        tuple(-(-length // unit) for length in lengths),
        tuple(capacity // unit for capacity in usable),
        -(-joint // unit),
        (1, unit),
        tuple(length // unit for length in lengths),
        tuple(capacity // unit for capacity in usable),
    )
