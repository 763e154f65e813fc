"""Free movement of frame members with temperature, and the gap that it needs."""

from dataclasses import dataclass

from sawready.calc.exact import Number, above_zero, exact, not_below_zero


@dataclass(frozen=True, slots=True)
class MovementVerdict:
    """Growth of a member against the gaps at its two ends together, in mm."""

    movement_mm: float
    gap_mm: float
    ok: bool


def free_movement_mm(*, alpha_per_k: float, length_mm: float, difference_k: float) -> float:
    """Change of length of a bar that is free to move.

    A fixed or reinforced frame moves less, so this is the most to allow for. Coloured PVC-U in the sun
    is hotter than the air; the temperature is a figure of the rulebook.

    Formula: dL = alpha L dT

    Args:
        alpha_per_k: coefficient of expansion. [1/K]
        length_mm: L. [mm]
        difference_k: warmer is above zero, dT. [K]
    Returns: growth, below zero for shrinking. [mm]
    Raises: ValueError if coefficient or length is below zero.
    Example:
        >>> free_movement_mm(alpha_per_k=64e-6, length_mm=2000, difference_k=52)
        6.656

    Source: physics; 6.66 mm for a 2 m jamb over 52 K is published. Checked in
    tests/published/test_expansion.py.
    """
    not_below_zero(alpha_per_k=alpha_per_k, length_mm=length_mm)
    return alpha_per_k * length_mm * difference_k


def differential_movement_mm(
    *, length_mm: float, difference_k: float, alpha_1_per_k: float, alpha_2_per_k: float
) -> float:
    """How much more the first of two materials of one length grows than the second.

    Formula: d = (alpha_1 - alpha_2) L dT

    Args:
        length_mm: L. [mm]
        difference_k: dT. [K]
        alpha_1_per_k: coefficient of the first, such as PVC-U. [1/K]
        alpha_2_per_k: coefficient of the second, such as its steel. [1/K]
    Returns: difference of the two growths. [mm]
    Raises: ValueError if a coefficient or the length is below zero.
    Example:
        >>> differential_movement_mm(
        ...     length_mm=1500, difference_k=45, alpha_1_per_k=70e-6, alpha_2_per_k=12e-6
        ... )
        3.915

    Source: physics. Checked in tests/published/test_expansion.py.
    """
    return free_movement_mm(
        alpha_per_k=alpha_1_per_k, length_mm=length_mm, difference_k=difference_k
    ) - free_movement_mm(alpha_per_k=alpha_2_per_k, length_mm=length_mm, difference_k=difference_k)


def length_for_movement_mm(*, movement_mm: float, alpha_per_k: float, difference_k: float) -> float:
    """Length of bar that would move by a stated amount: what a quoted growth really speaks of.

    Formula: L = d / (alpha dT)

    Args:
        movement_mm: d. [mm]
        alpha_per_k: coefficient of expansion. [1/K]
        difference_k: dT. [K]
    Returns: length. [mm]
    Raises: ValueError if a value is not above zero.
    Example:
        >>> length_for_movement_mm(movement_mm=24, alpha_per_k=70e-6, difference_k=40)
        8571.4

    Source: physics.
    """
    above_zero(movement_mm=movement_mm, alpha_per_k=alpha_per_k, difference_k=difference_k)
    return movement_mm / (alpha_per_k * difference_k)


def movement_fits_gap(
    *, alpha_per_k: float, length_mm: Number, rise_k: float, first_gap_mm: Number, second_gap_mm: Number
) -> MovementVerdict:
    """Whether a member that grows finds room in the gaps at its two ends.

    The gaps are taken as left after fitting, with nothing hard in them; sealant is not counted.

    Formula: alpha L dT <= g1 + g2

    Args:
        alpha_per_k: coefficient of expansion. [1/K]
        length_mm: of the frame along this direction, L. [mm]
        rise_k: from fitting to the hottest state, dT. [K]
        first_gap_mm: at one end. [mm]
        second_gap_mm: at the other end. [mm]
    Returns: growth, gap and verdict; growth equal to the gap is allowed.
    Raises: ValueError if a value is below zero.
    Example:
        >>> movement_fits_gap(
        ...     alpha_per_k=70e-6, length_mm=2400, rise_k=45, first_gap_mm=5, second_gap_mm=5
        ... ).ok
        True

    Source: physics; the temperature rise is a figure of the rulebook.
    """
    lengths = [exact(value) for value in (length_mm, first_gap_mm, second_gap_mm)]
    not_below_zero(alpha_per_k=alpha_per_k, rise_k=rise_k, length_mm=float(lengths[0]))
    not_below_zero(first_gap_mm=float(lengths[1]), second_gap_mm=float(lengths[2]))
    movement = exact(alpha_per_k) * lengths[0] * exact(rise_k)
    gap = lengths[1] + lengths[2]
    return MovementVerdict(movement_mm=float(movement), gap_mm=float(gap), ok=movement <= gap)
