"""Lifting by hand: masses against the filters for a closer assessment. A caution, never a legal limit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from sawready.calc.exact import Number, exact, share_of_one


@dataclass(frozen=True, slots=True)
class HandlingVerdict:
    """A mass beside its filter.

    Attributes:
        mass_kg: to be lifted. [kg]
        filter_kg: after all reductions. [kg]
        needs_assessment: the mass is above the filter, so somebody looks closer before lifting.
    """

    mass_kg: float
    filter_kg: float
    needs_assessment: bool


def handling_verdict(*, mass_kg: Number, filter_kg: Number, reduction: Number = 0) -> HandlingVerdict:
    """A mass against the lifting filter of one person.

    A filter says when to look closer; below it work can still hurt, above it a safe way may exist.

    Formula: filter = filter0 (1 - r); closer assessment where m > filter

    Args:
        mass_kg: m. [kg]
        filter_kg: of the zone, reach and group, filter0. [kg]
        reduction: for frequent lifting or twisting, r from 0 to 1. [-]
    Returns: the numbers and the verdict; a mass equal to the filter is within it.
    Raises: ValueError if a mass is below zero or the reduction is not between 0 and 1.
    Example:
        >>> handling_verdict(mass_kg=19, filter_kg=25, reduction=0.3).needs_assessment
        True

    Source: HSE L23 (2016) and INDG143 rev 4 (2020). Checked in tests/published/test_hse_l23.py.
    """
    mass, limit, share = exact(mass_kg), exact(filter_kg), exact(reduction)
    if mass < 0 or limit < 0:
        raise ValueError(f"masses must be zero or more, not {float(min(mass, limit)):g} kg")
    share_of_one(reduction=float(share))
    limit *= 1 - share
    return HandlingVerdict(mass_kg=float(mass), filter_kg=float(limit), needs_assessment=mass > limit)


def team_filter_kg(*, filters_kg: Sequence[Number], team_shares: Mapping[int, Number]) -> float:
    """What a team may lift before a closer look: a share of what its members may lift alone.

    Formula: filter = share(n) x sum of the single filters

    Args:
        filters_kg: filter of each person. [kg]
        team_shares: share of the sum by number of people, two and more. [-]
    Returns: filter of the team. [kg]
    Raises: ValueError if there is no share for that number of people.
    Example:
        >>> team_filter_kg(filters_kg=[25, 25], team_shares={2: 0.667, 3: 0.5})
        33.35

    Source: HSE L23, shares from memory (low confidence: advice only).
    """
    return float(_team_filter(filters_kg, team_shares))


def people_needed(
    *, mass_kg: Number, filter_kg: Number, team_shares: Mapping[int, Number], reduction: Number = 0
) -> int | None:
    """The least number of equal people whose filter covers a mass.

    Args:
        mass_kg: to be lifted. [kg]
        filter_kg: of one person. [kg]
        team_shares: share of the sum by number of people, two and more. [-]
        reduction: as in ``handling_verdict``. [-]
    Returns: number of people, or None where even the largest team named is not enough: use a lifting aid.
    Raises: ValueError as ``handling_verdict``.
    Example:
        >>> people_needed(mass_kg=30, filter_kg=25, team_shares={2: 0.667, 3: 0.5})
        2

    Source: HSE L23, shares from memory (low confidence: advice only).
    """
    single = handling_verdict(mass_kg=mass_kg, filter_kg=filter_kg, reduction=reduction)
    if not single.needs_assessment:
        return 1
    each = exact(filter_kg) * (1 - exact(reduction))
    for people in sorted(team_shares):
        if exact(mass_kg) <= _team_filter([each] * people, team_shares):
            return people
    return None


def _team_filter(filters_kg: Sequence[Number], team_shares: Mapping[int, Number]) -> Fraction:
    people = len(filters_kg)
    if people == 1:
        return exact(filters_kg[0])
    if people not in team_shares:
        raise ValueError(f"there is no share for a team of {people}")
    return exact(team_shares[people]) * sum(map(exact, filters_kg), Fraction(0))
