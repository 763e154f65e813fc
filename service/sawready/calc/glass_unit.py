"""The written make-up of a glass unit, such as 4-20-4, as exact thicknesses of panes and cavities."""

import re
from dataclasses import dataclass
from fractions import Fraction

from sawready.model.glass_unit import GlassUnit

__all__ = ["UNIT_LIMITS", "GlassUnit", "UnitLimits", "read_glass_unit", "split_laminate"]

_DASHES = dict.fromkeys(map(ord, "‐‑‒–—−"), "-")
_NUMBER = re.compile(r"[0-9]{1,4}(?:[.,][0-9]{1,2})?", re.ASCII)
_WORDS_OF_A_SINGLE_PANE = re.compile(r"(?:single )?([0-9.,]{1,7})(?: ?mm)?(?: glass)?", re.ASCII)
_LONGEST_TEXT = 60
_EXAMPLE = "write it as 4-20-4"


@dataclass(frozen=True, slots=True)
class UnitLimits:
    """The range of thicknesses that a written unit is believed in; least and most, both allowed.

    The figures and their standing are in catalogue/data/glass/units.yaml; a test keeps the two equal.
    """

    pane_mm: tuple[int, int] = (3, 25)
    cavity_mm: tuple[int, int] = (6, 24)
    most_panes: int = 3


UNIT_LIMITS = UnitLimits()


def read_glass_unit(text: str, *, limits: UnitLimits = UNIT_LIMITS) -> GlassUnit:
    """The panes and cavities of a unit written as 4-20-4, 4/20/4, 6.8-16-4 or 4-12-4-12-4.

    One kind of separator throughout: hyphen (any dash) or slash, blanks around it allowed, ``mm`` after a
    number or at the end allowed, a decimal point or comma with one or two digits. Pane, cavity, pane and
    so on; the unit begins and ends with a pane. Coatings and gases are stated elsewhere and refused here.

    A single number is read as a single pane only where it cannot be the thickness of a whole unit: below
    the thinnest double unit that the limits allow (12 mm), or with the word ``single`` or ``glass``.

    Args:
        text: the make-up as written.
        limits: the thicknesses that are believed.
    Returns: the unit, with its text in the one spelling 4-20-4.
    Raises: ValueError with a sentence that names what is wrong and how to write it.
    Example:
        >>> unit = read_glass_unit("6.8 – 16 – 4 mm")
        >>> unit.text, float(unit.thickness_mm), float(unit.glass_mm)
        ('6.8-16-4', 26.8, 10.8)

    Source: the order of pane, cavity, pane from outside is common practice, no source; EN 1279-1 names
    panes and cavities.
    """
    if not isinstance(text, str) or not text.strip():
        raise ValueError(f"the glass unit is missing: {_EXAMPLE}")
    if len(text) > _LONGEST_TEXT:
        raise ValueError(f"the glass unit is longer than {_LONGEST_TEXT} characters: {_EXAMPLE}")
    plain = " ".join(text.translate(_DASHES).split()).lower()
    if "-" in plain and "/" in plain:
        raise ValueError(f"{text.strip()!r} mixes - and / between its parts: {_EXAMPLE}")
    if "-" not in plain and "/" not in plain:
        return _single_pane(plain, limits)
    parts = re.split("[-/]", plain)
    values = [_thickness(part, text.strip()) for part in parts]
    _check_shape(values, parts, text.strip(), limits)
    panes, cavities = tuple(values[0::2]), tuple(values[1::2])
    for pane in panes:
        _check_pane(pane, text.strip(), limits)
    least, most = limits.cavity_mm
    for cavity in cavities:
        if not least <= cavity <= most:
            raise ValueError(
                f"the cavity of {_written(cavity)} mm in {text.strip()!r} is outside {least} to {most} mm: "
                f"give pane, cavity, pane from the outside, {_EXAMPLE}"
            )
    return _unit(panes, cavities)


def split_laminate(
    thickness_mm: Fraction, *, layer_mm: Fraction, most_layers: int
) -> tuple[Fraction, Fraction]:
    """Glass and interlayer of a laminated pane that is named by its rounded thickness.

    Makers print 6.4 for 6 + 0.38 and 6.8 for 6 + 2 x 0.38, so whole millimetres of glass plus the fewest
    layers within half of the last printed digit are looked for.

    Args:
        thickness_mm: as named, interlayer included. [mm]
        layer_mm: of one layer of film. [mm]
        most_layers: the greatest number of layers to try. [-]
    Returns: thickness of glass and of interlayer; the interlayer is 0 for a whole thickness. [mm]
    Raises: ValueError where no make-up fits.
    Example:
        >>> glass, interlayer = split_laminate(Fraction("6.8"), layer_mm=Fraction("0.38"), most_layers=6)
        >>> float(glass), float(interlayer)
        (6.0, 0.76)

    Source: common practice, no source; film of 0.38 mm is the usual step.
    """
    half_digit = Fraction(1, 20)
    for layers in range(most_layers + 1):
        glass = round(thickness_mm - layers * layer_mm)
        if glass > 0 and abs(glass + layers * layer_mm - thickness_mm) <= half_digit * (layers > 0):
            return Fraction(glass), layers * layer_mm
    raise ValueError(
        f"{_written(thickness_mm)} mm is not whole millimetres of glass with up to {most_layers} layers "
        f"of {_written(layer_mm)} mm: name glass and interlayer"
    )


def _thickness(part: str, text: str) -> Fraction:
    """One number of the make-up, or a sentence that says why it is none."""
    number = part.strip().removesuffix("mm").strip()
    if not number:
        raise ValueError(f"a part of {text!r} is empty: {_EXAMPLE}")
    if not _NUMBER.fullmatch(number):
        raise ValueError(
            f"{part.strip()!r} in {text!r} is not a thickness in mm; "
            f"coating and gas do not belong here: {_EXAMPLE}"
        )
    if number[0] == "0" and number[1:2].isdigit():
        raise ValueError(f"{text!r} looks like a date that a spreadsheet made of a glass unit: {_EXAMPLE}")
    return Fraction(number.replace(",", "."))


def _check_shape(values: list[Fraction], parts: list[str], text: str, limits: UnitLimits) -> None:
    """Pane, cavity, pane: an odd number of parts, and no more panes than are believed."""
    if any(value >= 1000 for value in values):
        raise ValueError(f"{text!r} looks like a date or a size, not like a glass unit: {_EXAMPLE}")
    if len(parts) % 2 == 0:
        raise ValueError(
            f"{text!r} has {len(parts)} parts, but pane, cavity, pane makes an odd number: {_EXAMPLE}"
        )
    if len(parts) > 2 * limits.most_panes - 1:
        raise ValueError(
            f"{text!r} has {(len(parts) + 1) // 2} panes, more than {limits.most_panes}: "
            f"{_EXAMPLE} or 4-12-4-12-4"
        )


def _check_pane(pane: Fraction, text: str, limits: UnitLimits) -> None:
    least, most = limits.pane_mm
    if least <= pane <= most:
        return
    hint = ""
    tens, ones = divmod(int(pane), 10)
    if pane.denominator > 1 and tens >= least and ones >= least:
        hint = (
            f" ({_written(pane)} is a code for {tens} + {ones} mm laminated: give its thickness, such as 6.4)"
        )
    raise ValueError(
        f"the pane of {_written(pane)} mm in {text!r} is outside {least} to {most} mm{hint}: "
        f"give pane, cavity, pane from the outside, {_EXAMPLE}"
    )


def _single_pane(plain: str, limits: UnitLimits) -> GlassUnit:
    """A lone number is a pane only where it cannot be the thickness of a whole unit."""
    match = _WORDS_OF_A_SINGLE_PANE.fullmatch(plain)
    if match is None:
        raise ValueError(f"{plain!r} is not a glass unit: {_EXAMPLE}, or 6 for a single pane")
    pane = _thickness(match[1], plain)
    thinnest_double = 2 * limits.pane_mm[0] + limits.cavity_mm[0]
    if pane >= thinnest_double and "single" not in plain and "glass" not in plain:
        raise ValueError(
            f"{plain!r} may be the thickness of a whole unit or of one pane: "
            f"{_EXAMPLE}, or 'single {_written(pane)}'"
        )
    _check_pane(pane, plain, limits)
    named = "single " * (pane >= thinnest_double)
    return GlassUnit(
        text=named + _written(pane), panes_mm=(pane,), cavities_mm=(), thickness_mm=pane, glass_mm=pane
    )


def _unit(panes: tuple[Fraction, ...], cavities: tuple[Fraction, ...]) -> GlassUnit:
    in_order = [panes[0]]
    for cavity, pane in zip(cavities, panes[1:], strict=True):
        in_order += [cavity, pane]
    return GlassUnit(
        text="-".join(map(_written, in_order)),
        panes_mm=panes,
        cavities_mm=cavities,
        thickness_mm=sum(in_order, Fraction(0)),
        glass_mm=sum(panes, Fraction(0)),
    )


def _written(value: Fraction) -> str:
    """As a person writes it: 4, 6.8, 6.38."""
    return f"{float(value):.2f}".rstrip("0").rstrip(".")
