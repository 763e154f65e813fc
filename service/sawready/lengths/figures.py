"""Figures: digits with their separators, by the number style that the order declares."""

from fractions import Fraction
from typing import Final, NamedTuple

_DECIMAL: Final = {"en": ".", "eu": ",", "ch": "."}
_GROUPS: Final = {"en": ", ", "eu": ". ", "ch": "' "}
_MOST_DIGITS: Final = 40


class Figure(NamedTuple):
    """One number as written.

    Attributes:
        value: the number, exact.
        decimals: its decimals as written; decimal feet are judged by them.
        has_leading_zero: a nought stands before other digits of the whole part.
    """

    value: Fraction
    decimals: str
    has_leading_zero: bool

    @property
    def is_whole(self) -> bool:
        """No decimals were written."""
        return not self.decimals


class Figures(NamedTuple):
    """All honest readings of one number; ``is_sure`` where there is one and nobody needs to be asked."""

    readings: tuple[Figure, ...]
    is_sure: bool


def read_figure(text: str, style: str) -> Figures | None:
    """Number written with plain digits and the separators of a style; None if it is none.

    With style ``unknown``, one separator before exactly three digits is not sure; other forms are
    settled by their shape.

    Example:
        >>> read_figure("1,200.5", "en").readings[0].value
        Fraction(2401, 2)
        >>> [float(figure.value) for figure in read_figure("1,200", "unknown").readings]
        [1200.0, 1.2]
        >>> read_figure("1200,5", "en") is None
        True
    """
    if style == "unknown":
        return _by_shape(text)
    figure = _in_style(text, decimal=_DECIMAL[style], groups=_GROUPS[style])
    return None if figure is None else Figures((figure,), is_sure=True)


def _in_style(text: str, *, decimal: str, groups: str) -> Figure | None:
    """Number with a known decimal sign and known group signs, of which one kind may be used."""
    whole, point, decimals = text.partition(decimal) if decimal else (text, "", "")
    if point and not _are_digits(decimals):
        return None
    used = [sign for sign in groups if sign in whole]
    if len(used) > 1:
        return None
    if used:
        first, *others = whole.split(used[0])
        if not 1 <= len(first) <= 3 or first[0] == "0" or any(len(group) != 3 for group in others):
            return None
        whole = whole.replace(used[0], "")
    if not _are_digits(whole) or len(whole) + len(decimals) > _MOST_DIGITS:
        return None
    value = Fraction(int(whole + decimals), 10 ** len(decimals)) if decimals else Fraction(int(whole))
    return Figure(value, decimals, has_leading_zero=len(whole) > 1 and whole[0] == "0")


def _by_shape(text: str) -> Figures | None:
    """Number whose separators nobody declared, read by their shape alone."""
    signs = [sign for sign in text if not "0" <= sign <= "9"]
    kinds = sorted(set(signs), key=signs.index)
    if not kinds or kinds == [" "]:
        return _sure(_in_style(text, decimal="", groups=" "))
    last = signs[-1]
    if len(signs) == 1 and len(text) - text.index(last) == 4:
        readings = (_in_style(text, decimal="", groups=last), _as_decimal(text, last))
        found = tuple(figure for figure in readings if figure is not None)
        return Figures(found, is_sure=False) if found else None
    if len(kinds) == 1 and len(signs) > 1:
        return _sure(_in_style(text, decimal="", groups=last))
    if signs.count(last) == 1:
        return _sure(_as_decimal(text, last))
    return None


def _as_decimal(text: str, sign: str) -> Figure | None:
    """Number with this decimal sign; any of the other signs may group, an apostrophe never divides."""
    if sign not in ".,":
        return None
    return _in_style(text, decimal=sign, groups=".,' ".replace(sign, ""))


def _sure(figure: Figure | None) -> Figures | None:
    return None if figure is None else Figures((figure,), is_sure=True)


def _are_digits(text: str) -> bool:
    return text.isascii() and text.isdigit()
