"""Values of a settings file: from the text that was written to exact numbers, names and days.

The YAML door hands over text, so each function here reads text, with a grammar of its own: plain ASCII
digits and a decimal point. Python's own number readers would also take ``1_000``, ``inf``, digits of
other scripts and blanks. Each raises ValueError with what is wrong and what to write instead.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import date
from difflib import get_close_matches
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

NUMBER: Final = re.compile(r"-?(?:0|[1-9][0-9]{0,11})(?:\.[0-9]{1,9})?", re.ASCII)
DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", re.ASCII)
BREAK: Final = re.compile(r"[\r\n\t]")
MOST_TEXT: Final = 500


def shape(value: Any) -> str:
    """What a value of the tree is, in words."""
    if isinstance(value, Mapping):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    return "nothing" if value is None else repr(value)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like one that is not known, if any is like it at all.

    Example:
        >>> nearest("face", ["face_mm", "rebate_mm"])
        'face_mm'
        >>> nearest("colour", ["face_mm", "rebate_mm"]) is None
        True
    """
    matches = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return matches[0] if matches else None


def number_text(value: Fraction | float) -> str:
    """A figure as people write it, to nine decimals and without trailing zeros.

    Example:
        >>> number_text(Fraction(15, 2)), number_text(Fraction(6000))
        ('7.5', '6000')
    """
    return f"{float(value):.9f}".rstrip("0").rstrip(".")


def exact(value: Any) -> Fraction:
    """The number that a text states, exactly.

    Example:
        >>> exact("7.5")
        Fraction(15, 2)
        >>> exact("1,5")
        Traceback (most recent call last):
        ValueError: '1,5' is no number. Write digits with a decimal point and no unit, such as 62 or 7.5.
    """
    if not isinstance(value, str) or not NUMBER.fullmatch(value):
        raise ValueError(
            f"{shape(value)} is no number. Write digits with a decimal point and no unit, such as 62 or 7.5."
        )
    return Fraction(value)


def measure(value: Any) -> float:
    """The number that a text states, where exactness is not needed."""
    return float(exact(value))


def exact_list(value: Any) -> tuple[Fraction, ...]:
    """The numbers of a list, in the order given."""
    if not isinstance(value, list) or not value:
        raise ValueError(f"{shape(value)} is no list of numbers. Write them as [5, 5, 7.5].")
    return tuple(exact(item) for item in value)


def ascending(value: Any) -> tuple[Fraction, ...]:
    """The numbers of a list in which each is above the one before."""
    numbers = exact_list(value)
    for before, after in pairwise(numbers):
        if after <= before:
            raise ValueError(
                f"{number_text(after)} stands after {number_text(before)}. Write each once, smallest first."
            )
    return numbers


def exact_range(value: Any) -> tuple[Fraction, Fraction]:
    """Least and greatest of something, the least below the greatest."""
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError("must be two numbers. Write them as [least, greatest].")
    least, most = exact(value[0]), exact(value[1])
    if least >= most:
        raise ValueError(
            f"the least, {number_text(least)}, must be below the greatest, {number_text(most)}. "
            "Write them as [least, greatest]."
        )
    return least, most


def text(value: Any) -> str:
    """One line of text for people, without blanks around it."""
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"must be text, not {shape(value)}. Write a few words.")
    if len(value) > MOST_TEXT:
        raise ValueError(f"{len(value)} characters are more than {MOST_TEXT}. Shorten it.")
    if BREAK.search(value):
        raise ValueError("must stand on one line, without tabs. Join its lines.")
    return value.strip()


def name(value: Any) -> str:
    """A name by which orders and lists call something."""
    if not isinstance(value, str) or not NAME.fullmatch(value):
        raise ValueError(
            f"{shape(value)} is no name. Use up to 64 letters, digits, '.', '_' and '-', "
            "beginning with a letter or digit."
        )
    return value


def choice(value: Any, words: tuple[str, ...]) -> str:
    """One of a few words.

    Example:
        >>> choice("mitered", ("mitred", "square"))
        Traceback (most recent call last):
        ValueError: 'mitered' is not known. Did you mean mitred? Write one of: mitred, square.
    """
    if isinstance(value, str):
        if value in words:
            return value
        near = nearest(value, words)
        meant = f" Did you mean {near}?" if near else ""
    else:
        meant = ""
    raise ValueError(f"{shape(value)} is not known.{meant} Write one of: {', '.join(words)}.")


def yes_no(value: Any) -> bool:
    """A claim that is true or not, as ``yes`` and ``no`` or ``true`` and ``false``."""
    if value in ("yes", "true"):
        return True
    if value in ("no", "false"):
        return False
    raise ValueError(f"{shape(value)} is neither yes nor no. Write yes or no.")


def day(value: Any) -> date:
    """A day of the calendar, as year-month-day.

    Example:
        >>> day("2026-11-25")
        datetime.date(2026, 11, 25)
    """
    if isinstance(value, str) and DAY.fullmatch(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise ValueError(f"{shape(value)} is no day. Write year-month-day, such as 2026-11-25.")
