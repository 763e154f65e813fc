"""Systems and rulebooks as plain trees of text, and lengths as exact fractions."""

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import yaml

INCH = Fraction(254, 10)  # exact since 1959; NIST SP 811, appendix B.8
TO_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": INCH, "ft": 12 * INCH}

_PLAIN = re.compile(r"(\d+(?:\.\d+)?)\s*(mm|cm|m|in|ft)?")
_MIXED = re.compile(r"(?:(\d+) )?(\d+)/(\d+)\s*(in|ft)")
_FEET = re.compile(r"(\d+)'(?: (\d+))?(?: (\d+)/(\d+))?\"?")


def load_figures(source: Path | str) -> Any:
    """A YAML file or text with every scalar left as text."""
    text = source.read_text(encoding="utf-8") if isinstance(source, Path) else source
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506 - BaseLoader makes text only


def length(value: Any, units: str) -> Fraction:
    """A surveyed length in mm, from a number in the order's units or text with its own unit."""
    if not isinstance(value, str):
        return Fraction(value) * TO_MM[units]
    text = value.strip()
    if found := _PLAIN.fullmatch(text):
        return Fraction(found[1]) * TO_MM[found[2] or units]
    if found := _MIXED.fullmatch(text):
        return (int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))) * TO_MM[found[4]]
    if found := _FEET.fullmatch(text):
        part = Fraction(int(found[3]), int(found[4])) if found[3] else Fraction(0)
        return (12 * int(found[1]) + int(found[2] or 0) + part) * INCH
    raise ValueError(value)


def readings(values: list[Any], units: str) -> list[Fraction | None]:
    """The readings of one axis, a missing one as None."""
    return [None if value is None else length(value, units) for value in values]


def banded(up_to: list[str], row: list[str], span: Fraction) -> Fraction:
    """The figure of the first band that reaches the span."""
    for limit, figure in zip(up_to, row, strict=True):
        if span <= Fraction(limit):
            return Fraction(figure)
    raise ValueError(span)


def half_even(value: Fraction, step: Fraction) -> Fraction:
    """Rounds to a multiple of a step, half to even."""
    return round(value / step) * step
