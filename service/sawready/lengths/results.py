"""What reading a written value gives: the value with its remarks, or a refusal with candidates."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from sawready.model.finding import Quantity

Axis = Literal["width", "height", "depth"]
NumberStyle = Literal["en", "eu", "ch", "unknown"]

NUMBER_STYLES: Final[tuple[NumberStyle, ...]] = ("en", "eu", "ch", "unknown")
_SHOWN: Final = 60


@dataclass(frozen=True, slots=True)
class Remark:
    """Something said alongside an accepted value.

    Attributes:
        reason: ``unit-differs`` or ``number-unusual``.
        text: one sentence for people.
    """

    reason: str
    text: str


@dataclass(frozen=True, slots=True)
class Length:
    """A length as understood, in nanometres."""

    nm: int
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a value is not used, with all that a finding needs.

    Attributes:
        reason: a reason of the catalogue, such as ``value-ambiguous``.
        because: what was read and what is wrong with it.
        candidates_mm: readings worth offering: millimetres, or text where a candidate is no length.
        remedy: what to do, beginning with a verb.
        measured: the value as read, where it is one number.
        limit: the figure that it was judged against, where there is one.
    """

    reason: str
    because: str
    candidates_mm: tuple[float | str, ...] = ()
    remedy: str = ""
    measured: Quantity | None = None
    limit: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """A width and a height from one cell, in nanometres."""

    width_nm: int
    height_nm: int
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Readings:
    """Several readings of one size from one cell, in the order written, in nanometres."""

    nm: tuple[int, ...]
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Count:
    """How many windows of one kind; at least one."""

    count: int
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Angle:
    """An inside angle, from 90 up to less than 180 degrees."""

    degrees: Fraction
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class WrittenDate:
    """A calendar date that can be read in one way only."""

    date: dt.date
    remarks: tuple[Remark, ...] = ()


def shown(value: object) -> str:
    r"""A value as a message quotes it: short, on one line, nothing invisible.

    Example:
        >>> print(shown("12\u200b00"))
        "12\u200b00"
    """
    if isinstance(value, int | float | Decimal | Fraction):
        return _number_shown(value)
    if not isinstance(value, str):
        return f"a value of the type {type(value).__name__}"
    cut = value[:_SHOWN] + ("..." if len(value) > _SHOWN else "")
    plain = cut if cut.isprintable() else "".join(map(_visible, cut))
    return f"'{plain}'" if '"' in plain and "'" not in plain else f'"{plain}"'


def _visible(sign: str) -> str:
    """A character, or its escape where nothing of it can be seen."""
    return sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii")


def _number_shown(value: int | float | Decimal | Fraction) -> str:
    """A number as a message shows it, whatever its size."""
    if isinstance(value, int | Fraction) and abs(value) >= 10**_SHOWN:
        return "a number of more than 60 digits"
    return str(value)[:_SHOWN]
