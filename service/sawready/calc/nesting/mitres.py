"""How pieces with square and mitred ends follow each other along a bar, by exact geometry.

The bar lies along x, its face from y = 0 (outer) to y = b (inner). A mitred piece is longest at its
outer face, tip to tip. A blade of thickness k that stands at 45 degrees takes k sqrt(2) along the
bar. Two ends that meet must be apart, at every y, by what the blade takes for either of them:

    square, square                        k          one cut serves both
    mitre and square, mitre and mitre     k sqrt(2)  between the tips; a V of waste behind them
    mitre and mitre, one piece turned     k sqrt(2) - b  the tips pass each other, one cut serves both

A piece is turned when its outer face lies at y = b. That is right only for sections that look the
same after swapping outer and inner side, so it needs the profile's word for it. Only lists in which
every end is mitred are turned; in mixed lists turning would gain little and is not done.

Lewis and Bonnet (Computers and Industrial Engineering 200, 2025) treat the general ordering problem.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isqrt
from typing import Final

from .pieces import Ends

MITRE: Final = "45"


def mitre_kerf_nm(kerf_nm: int) -> int:
    """What a blade at 45 degrees takes along the bar, rounded up to the nanometre.

    Formula: k sqrt(2)

    Args:
        kerf_nm: thickness of the cut, square to the blade. [nm]
    Returns: length along the bar. [nm]
    Example:
        >>> mitre_kerf_nm(4_000_000)
        5656855

    Source: plane geometry.
    """
    doubled = 2 * kerf_nm * kerf_nm
    root = isqrt(doubled)
    return root if root * root == doubled else root + 1


def joint_nm(right_end: str, left_end: str, *, kerf_nm: int) -> int:
    """Length of bar lost between two pieces that lie the same way round.

    Args:
        right_end: angle at which the left piece ends.
        left_end: angle at which the right piece begins.
        kerf_nm: thickness of the cut, square to the blade. [nm]
    Returns: distance from tip to tip. [nm]
    Example:
        >>> joint_nm("90", "90", kerf_nm=4_000_000), joint_nm("90", "45", kerf_nm=4_000_000)
        (4000000, 5656855)

    Source: plane geometry; see the top of this module.
    """
    return mitre_kerf_nm(kerf_nm) if MITRE in {right_end, left_end} else kerf_nm


@dataclass(frozen=True, slots=True)
class Laid:
    """Where a piece lies.

    Attributes:
        piece: its place in what was given.
        start_nm: its left tip, from where the first piece may begin. [nm]
        is_turned: whether its outer face lies at the inner side.
    """

    piece: int
    start_nm: int
    is_turned: bool = False


def lay_out(
    pieces: Sequence[tuple[int, Ends]], *, kerf_nm: int, turn_face_nm: int | None = None
) -> tuple[tuple[Laid, ...], int]:
    """Pieces along a bar in an order that wastes least, and the length that they take.

    Square pieces come together, mitred pieces come together, and pieces with one end of each stand
    between. Within a kind the given order stays.

    Args:
        pieces: length (tip to tip) and ends of each. [nm]
        kerf_nm: thickness of the cut, square to the blade. [nm]
        turn_face_nm: face width where every second piece is turned, else None. [nm]
    Returns: the pieces from left to right, and the distance from the first tip to the last. [nm]
    """
    laid: list[Laid] = []
    at = end = 0
    previous: Ends | None = None
    for number in in_order([ends for _, ends in pieces]):
        length, ends = pieces[number]
        is_turned = turn_face_nm is not None and len(laid) % 2 == 1
        if previous is not None:
            at += joint_nm(previous[3:], ends[:2], kerf_nm=kerf_nm) - (turn_face_nm or 0)
        laid.append(Laid(number, at, is_turned))
        at += length
        end = max(end, at)
        previous = ends
    return tuple(laid), end


def in_order(kinds: Iterable[Ends]) -> list[int]:
    """An order of pieces in which as few square ends as can be meet mitred ones."""
    of: dict[Ends, list[int]] = {"90/90": [], "45/45": [], "45/90": [], "90/45": []}
    for number, kind in enumerate(kinds):
        of[kind].append(number)
    square, mitred = of["90/90"], of["45/45"]
    falling, rising = of["45/90"], of["90/45"]  # what the ends do from left to right
    if not falling and not rising:
        return mitred + square
    if len(falling) >= len(rising):
        return [*mitred, falling[0], *square, *_alternate(rising, falling[1:])]
    return [*square, rising[0], *mitred, *_alternate(falling, rising[1:])]


def _alternate(first: list[int], second: list[int]) -> list[int]:
    """One of each in turn, then what is left."""
    both = [number for pair in zip(first, second, strict=False) for number in pair]
    shorter = min(len(first), len(second))
    return [*both, *first[shorter:], *second[shorter:]]
