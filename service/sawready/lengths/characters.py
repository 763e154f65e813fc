"""Characters: what is cleaned away, what is folded, and what is refused before any number is read.

Fractions written as one sign become a spelled fraction here, kept apart from the digits before
them. Compatibility folding would join the two: 47 and a quarter sign would turn into 471/4.
"""

import re
from typing import Final, NamedTuple

MARK: Final = "\x01"
"""Stands between a digit and a fraction sign until the fraction is spelled; controls are refused first."""

_PLAIN: Final = re.compile('[0-9A-Za-z .,/"]{1,200}')
_CONTROLS: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_TURNED: Final = re.compile("[\u202b\u202d\u202e\u2067]")
_MISREAD: Final = re.compile("[ÂÃ]|â€|ï»¿|ï¿½|\ufffd")
_FULL_WIDTH: Final = re.compile("[\uff01-\uff5e]")
_MARKS: Final = re.compile(f"(?<=[0-9]){MARK}{{1,4}}(?=[0-9])")
_TWO_FEET_MARKS: Final = re.compile("(?<!')''(?!')")

_INVISIBLE: Final = "\ufeff\u200b\u200c\u200d\u2060\u200e\u200f\u061c\u202a\u202c\u2066\u2068\u2069"
_SPACES: Final = " \u00a0\u2006\u2007\u2008\u2009\u200a\u202f"
_WIDE_SPACES: Final = "\t\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u205f\u3000"
_LINE_ENDS: Final = "\n\r\u2028\u2029"
_BLANK: Final = _INVISIBLE + _SPACES + _WIDE_SPACES + _LINE_ENDS
_FRACTION_SIGNS: Final = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
    "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_MARKS_OF_UNITS: Final = {"’": "'", "‘": "'", "′": "'", "”": '"', "“": '"', "″": '"', "㎜": "mm", "㎝": "cm"}
_DASHES: Final = {"\u2010": "-", "\u2011": "-", "\u2014": "–", "\u2212": "–", "\u2012": "–", "\u2015": "–"}

_FOLD: Final = str.maketrans(
    {chr(code): chr(code - 0xFEE0).lower() for code in range(0xFF01, 0xFF5F)}
    | {chr(code): chr(code + 32) for code in range(ord("A"), ord("Z") + 1)}
    | dict.fromkeys(_INVISIBLE, "")
    | dict.fromkeys(_SPACES, " ")
    | dict.fromkeys(_LINE_ENDS, "\n")
    | dict.fromkeys(_WIDE_SPACES, "  ")
    | {"⁄": "/", "∕": "/", "✕": "×", "✖": "×", "╳": "×", "⨯": "×"}
    | {sign: f"{MARK}{fraction}{MARK}" for sign, fraction in _FRACTION_SIGNS.items()}
    | _MARKS_OF_UNITS
    | _DASHES
)


class Cleaned(NamedTuple):
    r"""A text ready to be read.

    Attributes:
        text: lower case, plain spaces, plain unit marks, spelled fractions; lines parted by ``\n``.
        is_folded: it held full-width characters, which deserve a remark.
        has_text_marker: it begins with the apostrophe by which a spreadsheet marks text.
    """

    text: str
    is_folded: bool
    has_text_marker: bool


def clean(text: str) -> Cleaned | str:
    """Text with nothing invisible left in it, or the reason in words why it cannot be trusted.

    Example:
        >>> clean(" 47¼” ")
        Cleaned(text='47 1/4"', is_folded=False, has_text_marker=False)
        >>> clean("1200Â mm")
        'its characters were read in the wrong character set'
    """
    if _PLAIN.fullmatch(text):
        return Cleaned(text.strip(" ").lower(), is_folded=False, has_text_marker=False)
    if "\x00" in text:
        return "it is 16-bit text that was read as 8-bit"
    if _CONTROLS.search(text):
        return "it holds a control character"
    if _TURNED.search(text):
        return "it holds a hidden sign that turns the order of characters round"
    if "\ufffd" in text:
        return "a sign was lost when its characters were read"
    if _MISREAD.search(text):
        return "its characters were read in the wrong character set"
    is_folded = _FULL_WIDTH.search(text) is not None
    plain = text.translate(_FOLD)
    plain = _MARKS.sub(" ", plain).replace(MARK, "")
    plain = _TWO_FEET_MARKS.sub('"', plain).strip(" \n")
    return Cleaned(plain, is_folded, text.strip(_BLANK)[:1] == "'")


def words(text: str) -> frozenset[str]:
    """The words of a list written with spaces between them."""
    return frozenset(text.split(" "))
