"""A figure with its source, and tables of gaps by span."""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Final, Literal

Confidence = Literal["high", "medium", "low"]
FigureValue = Fraction | tuple[Fraction, ...] | str

CONFIDENCES: Final[tuple[Confidence, ...]] = ("high", "medium", "low")

UNCONFIRMED: Final = ("from memory", "starting value")
"""Words in a source that keep a figure from rejecting anything."""

NM_PER_MM: Final = 1_000_000


def nanometres(length_mm: Fraction) -> int:
    """Whole nanometres of an exact length in millimetres, rounded once, half to even."""
    return round(length_mm * NM_PER_MM)


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """One figure of a rulebook, in one edition.

    Attributes:
        value: a number, several numbers (a range: least and greatest), or text where the unit is ``word``.
        unit: as a report writes it; empty for counts and ratios.
        source: document, clause or table; or that it is practice, a starting value, from memory.
        confidence: ``high``, ``medium`` or ``low``.
        note: a remark for people.
        edition: edition of the document.
        paragraph: place in the document.
        in_force: first day on which it holds; always where None.
        checked: day on which it was last compared with its source.
        least, most, usual: further bounds that some figures carry, in the same unit.
        rows: for a table: one mapping a row; numbers where the key ends in a unit, else text.
    """

    value: FigureValue
    unit: str
    source: str
    confidence: Confidence
    note: str | None = None
    edition: str | None = None
    paragraph: str | None = None
    in_force: date | None = None
    checked: date | None = None
    least: Fraction | None = None
    most: Fraction | None = None
    usual: Fraction | None = None
    rows: tuple[Mapping[str, Fraction | str], ...] = ()

    @property
    def may_reject(self) -> bool:
        """False for a figure that is only good enough to ask a question."""
        return may_reject(source=self.source, confidence=self.confidence)

    @property
    def cited(self) -> str:
        """Document, edition and paragraph, as a finding names its source."""
        return ", ".join(part for part in (self.source, self.edition, self.paragraph) if part)

    @property
    def number(self) -> Fraction:
        """The value as one number. Raises TypeError where it is a range, table or text."""
        if isinstance(self.value, Fraction):
            return self.value
        raise TypeError(f"this figure is no single number: {self.value!r}")

    @property
    def range(self) -> tuple[Fraction, Fraction]:
        """The value as least and greatest. Raises TypeError where it is anything else."""
        if isinstance(self.value, tuple) and len(self.value) == 2:
            return self.value[0], self.value[1]
        raise TypeError(f"this figure is no range: {self.value!r}")

    @property
    def nm(self) -> int:
        """A length in millimetres, as whole nanometres."""
        return nanometres(self.number)

    @property
    def range_nm(self) -> tuple[int, int]:
        """A range in millimetres, as whole nanometres."""
        least, most = self.range
        return nanometres(least), nanometres(most)


def may_reject(*, source: str, confidence: str) -> bool:
    """Whether a figure with this source and confidence is good enough to reject an opening.

    Example:
        >>> may_reject(source="a standard, table 3", confidence="high")
        True
        >>> may_reject(source="a standard, from memory", confidence="high")
        False
    """
    words = source.casefold()
    return confidence != "low" and not any(phrase in words for phrase in UNCONFIRMED)


@dataclass(frozen=True, slots=True, eq=False)
class GapFigure:
    """A gap of one band of span.

    Attributes:
        mm: the gap on one side. [mm]
        nm: the same. [nm]
        up_to_mm: greatest span of the band, itself included. [mm]
        source: document and table.
        confidence: ``high``, ``medium`` or ``low``.
        may_reject: False for a figure that is only good enough to ask a question.
    """

    mm: Fraction
    nm: int
    up_to_mm: Fraction
    source: str
    confidence: Confidence
    may_reject: bool


@dataclass(frozen=True, slots=True, eq=False)
class GapTable:
    """One edition of a table of gaps by span.

    Attributes:
        figure: source, confidence and rows of the table.
        up_to_nm: greatest span of each band, ascending. [nm]
        bands: gaps of each band by material and colour class; one key ``("", "")`` where the table
            makes no difference between them.
    """

    figure: Figure
    up_to_nm: tuple[int, ...]
    bands: Mapping[tuple[str, str], tuple[GapFigure, ...]]

    def at(self, key: tuple[str, str], span_nm: int) -> GapFigure | None:
        """Gap of the band that holds the span; None past the last band or for an unlisted key."""
        bands = self.bands.get(key)
        if bands is None:
            return None
        place = bisect_left(self.up_to_nm, span_nm)
        return bands[place] if place < len(bands) else None


def gap_table(
    *,
    figure: Figure,
    up_to_mm: tuple[Fraction, ...],
    gaps_mm: Mapping[tuple[str, str], tuple[Fraction, ...]],
) -> GapTable:
    """A gap table ready for look-up.

    Args:
        figure: source, confidence and dates of the table.
        up_to_mm: greatest span of each band, ascending. [mm]
        gaps_mm: gap per side of each band by material and colour class. [mm]
    Returns: the table, its figure holding one row for each material, colour class and band.
    """
    rows: list[Mapping[str, Fraction | str]] = []
    bands: dict[tuple[str, str], tuple[GapFigure, ...]] = {}
    for key, gaps in gaps_mm.items():
        material, colour_class = key
        kind: dict[str, Fraction | str] = {}
        if material:
            kind = {"material": material, "colour_class": colour_class}
        bands[key] = tuple(
            GapFigure(gap, nanometres(gap), up_to, figure.source, figure.confidence, figure.may_reject)
            for up_to, gap in zip(up_to_mm, gaps, strict=True)
        )
        rows.extend({**kind, "up_to_mm": band.up_to_mm, "value": band.mm} for band in bands[key])
    return GapTable(
        figure=replace(figure, rows=tuple(row for row in rows)),
        up_to_nm=tuple(nanometres(up_to) for up_to in up_to_mm),
        bands=bands,
    )
