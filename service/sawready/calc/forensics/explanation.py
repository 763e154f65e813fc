"""One change that would explain what disagrees in an opening."""

from typing import Final, NamedTuple

from sawready.calc.forensics.model import Numbers
from sawready.calc.forensics.weighing import NO_SLACK, Slack

__all__ = ["AXES", "READINGS", "SWAPPED", "Explanation", "first_place", "with_place"]

SWAPPED: Final = "width-height-swapped"
READINGS: Final = {"width": "widths", "height": "heights"}
AXES: Final = {"widths": "width", "heights": "height"}


class Explanation(NamedTuple):
    """One change that would explain what disagrees.

    Attributes:
        reason: the cause, by its reason.
        field: place in the opening, such as ``widths/1``.
        was_mm: what is written there. [mm]
        value_mm: what it probably was. [mm]
        how: the cause in words.
        numbers: the opening's numbers after the change.
        log_share: logarithm of how usual such a change is.
        slack: how coarse the numbers are after it.
        beside: the same cause in another place, where one mistake touched two: both sides of a frame.
    """

    reason: str
    field: str
    was_mm: float
    value_mm: float
    how: str
    numbers: Numbers
    log_share: float
    slack: Slack = NO_SLACK
    beside: "Explanation | None" = None


def first_place(readings: tuple[float | None, ...]) -> int:
    """Place of the first reading that was taken."""
    return next(index for index, each in enumerate(readings) if each is not None)


def with_place(
    readings: tuple[float | None, ...], place: int, value: float | None
) -> tuple[float | None, ...]:
    """The readings with one of them changed."""
    return (*readings[:place], value, *readings[place + 1 :])
