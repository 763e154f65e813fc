"""How a report shows figures: rounded once, and never so that a limit and its breach look the same."""

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Final

from sawready.model.finding import Quantity

NM: Final = 1_000_000
_MOST_DIGITS: Final = 6


def rounded(value: Fraction | int, digits: int = 1) -> Decimal:
    """A value to some decimals, half to even.

    Example:
        >>> rounded(Fraction(649333, 1000))
        Decimal('649.3')
    """
    exact = Fraction(value)
    scaled = round(exact * 10**digits)
    return Decimal(scaled).scaleb(-digits).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN)


def shown(value: Fraction | int, digits: int = 1) -> str:
    """A value as text with that many decimals."""
    return str(rounded(value, digits))


def plain(value: Fraction | int, digits: int = 1) -> str:
    """A value as text, at most that many decimals and no idle noughts.

    Example:
        >>> plain(Fraction(1806)), plain(Fraction(12345, 10))
        ('1806', '1234.5')
    """
    text = str(rounded(value, digits))
    return text.rstrip("0").rstrip(".") if "." in text else text


def apart(measured: Fraction | int, limit: Fraction | int, *, digits: int = 1) -> tuple[str, str]:
    """A measured value and its limit as texts that differ where the values differ.

    Example:
        >>> apart(Fraction(4999, 1000), Fraction(5))
        ('4.999', '5.0')
        >>> apart(Fraction(1), Fraction(5))
        ('1.0', '5.0')
    """
    for more in range(digits, _MOST_DIGITS + 1):
        text = shown(measured, more)
        if text != shown(limit, more) or measured == limit:
            return text, shown(limit, digits)
    return shown(measured, _MOST_DIGITS), shown(limit, digits)


def quantity(text: str, unit: str) -> Quantity:
    """A shown text with its unit, as a finding carries it."""
    return Quantity(float(text), unit)


def mm(nm: Fraction | int) -> Fraction:
    """Nanometres as exact millimetres."""
    return Fraction(nm) / NM
