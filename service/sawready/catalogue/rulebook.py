"""A rulebook: the figures of one region, each with its source and how far it can be trusted.

Figures live in a tree that is read by dotted path (``survey.readings_spread_mm``), so that a region
may say more than the core needs. What the sizing of every opening asks for is held besides as whole
nanometres, worked out once.

Editions. A figure may have several, each with the day it came into force. `Rulebook.on` gives the view
for a day: of each figure the newest edition in force then. Which view an order gets never depends on
the clock: an order with a survey date gets that day's, one without gets the view on the day that the
file says its figures were last ``checked`` (a file without that day has one edition of each, and that
holds). A core figure is never absent: before its first edition that one is used. Any other figure
without an edition in force is absent from the view, so that its check is listed as not applied.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Final

from sawready.catalogue.figures import Figure, GapFigure, GapTable, nanometres

__all__ = ["CORE_FIGURES", "Figure", "Fixings", "GapFigure", "Rulebook", "RulebookEditions"]

CORE_FIGURES: Final = frozenset(
    {
        "limits.size_mm",
        "limits.diagonal_mm",
        "limits.horn_mm",
        "limits.sill_projection_mm",
        "limits.finish_to_come_mm",
        "limits.own_gap_mm",
        "gap_per_side_mm",
        "gap_most_per_side_mm",
        "survey.diagonals_differ_from_mm",
        "survey.diagonals_against_sides_mm",
        "survey.readings_spread_mm",
        "fixings.corner_mm",
        "fixings.centres_most_mm",
        "fixings.from_divider_mm",
        "fixings.least_per_side",
        "fixings.head_and_bottom_from_mm",
        "sill_overhang_mm",
    }
)
"""Figures without which no opening can be judged; every rulebook states them."""


@dataclass(frozen=True, slots=True, eq=False)
class Fixings:
    """Where fixing holes may stand, in nanometres.

    Attributes:
        corner_nm: first and last hole from the corner. [nm]
        corner_most_nm: greatest distance where a divider forbids the usual one. [nm]
        centres_most_nm: greatest spacing. [nm]
        from_divider_nm: least distance from the centre line of a divider. [nm]
        least_per_side: least number of holes a side.
        head_and_bottom_from_nm: frame width above which head and bottom are fixed too. [nm]
    """

    corner_nm: int
    corner_most_nm: int
    centres_most_nm: int
    from_divider_nm: int
    least_per_side: int
    head_and_bottom_from_nm: int


@dataclass(frozen=True, slots=True, eq=False)
class Rulebook:
    """The figures of a region that are in force on one day; made by RulebookEditions.

    Attributes:
        name: the file's ``rulebook``, by which orders call it.
        title: for people.
        digest: ``sha256:`` and the hash of the file's content; comments, spacing and line ends do not count.
        checked: day on which the file's figures were last compared with their sources.
        figures: figure by dotted path.
        limits_nm: least and greatest sensible value of ``size``, ``diagonal``, ``horn``,
            ``sill_projection``, ``finish_to_come``, ``own_gap``. [nm]
        diagonals_differ_from_nm: diagonals that differ by less are tape accuracy. [nm]
        diagonals_against_sides_nm: diagonals and sides that disagree by more cannot all be right. [nm]
        readings_spread_nm: readings of one axis that differ by more are questioned. [nm]
        fixings: where fixing holes may stand.
        sill_overhang_nm: least and greatest overhang past the wall face. [nm]
        sill_overhang_usual_nm: usual overhang, where stated. [nm]
        backing_strip_above_gap_nm: gap above which a backing strip goes behind the seal, where stated. [nm]
    """

    name: str
    title: str
    digest: str
    checked: date | None
    figures: Mapping[str, Figure]
    limits_nm: Mapping[str, tuple[int, int]]
    diagonals_differ_from_nm: int
    diagonals_against_sides_nm: int
    readings_spread_nm: int
    fixings: Fixings
    sill_overhang_nm: tuple[int, int]
    sill_overhang_usual_nm: int | None
    backing_strip_above_gap_nm: int | None
    gaps: GapTable = field(repr=False)
    gaps_most: GapTable = field(repr=False)
    editions: "RulebookEditions" = field(repr=False)

    @property
    def reference(self) -> str:
        """Name and digest, as a result's ``made_with`` states them."""
        return f"{self.name}@{self.digest}"

    def figure(self, path: str) -> Figure:
        """The figure in force under a dotted path. Raises KeyError with the path where there is none.

        A figure of many editions is one of them; ``gap_per_side_mm`` and ``gap_most_per_side_mm`` are
        tables with rows.
        """
        return self.figures[path]

    def has(self, path: str) -> bool:
        """Whether a figure of that path is in force."""
        return path in self.figures

    def gap_nm(self, *, material: str, colour_class: str, span_nm: int) -> GapFigure | None:
        """Least gap per side for a span in nanometres; None where the rulebook says nothing."""
        return self.gaps.at((material, colour_class), span_nm)

    def gap_most_nm(self, *, span_nm: int) -> GapFigure | None:
        """Largest gap per side for a span in nanometres; None where the rulebook says nothing."""
        return self.gaps_most.at(("", ""), span_nm)

    def gap_mm(self, *, material: str, colour_class: str, span_mm: Fraction | int) -> GapFigure | None:
        """Least gap per side between frame and wall.

        Args:
            material: frame material, such as ``pvcu``.
            colour_class: ``white`` or ``coloured``.
            span_mm: governing reading of the axis. [mm]
        Returns: the gap of the band that holds the span, its upper end included; None past the last
            band or for a material that the table does not list.
        """
        return self.gaps.at((material, colour_class), nanometres(Fraction(span_mm)))

    def gap_most_mm(self, *, span_mm: Fraction | int) -> GapFigure | None:
        """Largest gap per side between frame and wall, likewise."""
        return self.gaps_most.at(("", ""), nanometres(Fraction(span_mm)))

    def on(self, day: date | None) -> "Rulebook":
        """The same rulebook as in force on a day; None is the day that the file was last checked."""
        return self.editions.on(day)


class RulebookEditions:
    """A rulebook file with all its editions; hands out the view of a day.

    Args:
        name, title, digest, checked: as for a Rulebook.
        figures: editions of each figure by dotted path, oldest first.
        gaps, gaps_most: editions of the two gap tables, oldest first.
    """

    __slots__ = (
        "_days",
        "_figures",
        "_gaps",
        "_gaps_most",
        "_undated",
        "_views",
        "checked",
        "digest",
        "name",
        "title",
    )

    def __init__(
        self,
        *,
        name: str,
        title: str,
        digest: str,
        checked: date | None,
        figures: Mapping[str, tuple[Figure, ...]],
        gaps: tuple[GapTable, ...],
        gaps_most: tuple[GapTable, ...],
    ) -> None:
        self.name = name
        self.title = title
        self.digest = digest
        self.checked = checked
        self._figures = figures
        self._gaps = gaps
        self._gaps_most = gaps_most
        tables = (table.figure for table in (*gaps, *gaps_most))
        single = (figure for editions in figures.values() for figure in editions)
        self._days = sorted({figure.in_force for figure in (*tables, *single) if figure.in_force is not None})
        self._views = tuple(self._view(day) for day in (date.min, *self._days))
        self._undated = self.on(date.max if checked is None else checked)

    def on(self, day: date | None) -> Rulebook:
        """The view of a day; the same object for every day on which the same figures hold."""
        if day is None:
            return self._undated
        return self._views[bisect_right(self._days, day)]

    @property
    def days(self) -> tuple[date, ...]:
        """The days on which some figure changes."""
        return tuple(self._days)

    def _view(self, day: date) -> Rulebook:
        gaps = _table_on(self._gaps, day)
        gaps_most = _table_on(self._gaps_most, day)
        figures: dict[str, Figure] = {}
        for path, editions in self._figures.items():
            figure = _newest(editions, day)
            if figure is None and path in CORE_FIGURES:
                figure = editions[0]
            if figure is not None:
                figures[path] = figure
        figures["gap_per_side_mm"] = gaps.figure
        figures["gap_most_per_side_mm"] = gaps_most.figure
        limits = {
            path.removeprefix("limits.").removesuffix("_mm"): figures[path].range_nm
            for path in figures
            if path in CORE_FIGURES and path.startswith("limits.")
        }
        corner = figures["fixings.corner_mm"]
        overhang = figures["sill_overhang_mm"]
        strip = figures.get("backing_strip_above_gap_mm")
        return Rulebook(
            name=self.name,
            title=self.title,
            digest=self.digest,
            checked=self.checked,
            figures=figures,
            limits_nm=limits,
            diagonals_differ_from_nm=figures["survey.diagonals_differ_from_mm"].nm,
            diagonals_against_sides_nm=figures["survey.diagonals_against_sides_mm"].nm,
            readings_spread_nm=figures["survey.readings_spread_mm"].nm,
            fixings=Fixings(
                corner_nm=corner.nm,
                corner_most_nm=corner.nm if corner.most is None else nanometres(corner.most),
                centres_most_nm=figures["fixings.centres_most_mm"].nm,
                from_divider_nm=figures["fixings.from_divider_mm"].nm,
                least_per_side=int(figures["fixings.least_per_side"].number),
                head_and_bottom_from_nm=figures["fixings.head_and_bottom_from_mm"].nm,
            ),
            sill_overhang_nm=overhang.range_nm,
            sill_overhang_usual_nm=None if overhang.usual is None else nanometres(overhang.usual),
            backing_strip_above_gap_nm=None if strip is None else strip.nm,
            gaps=gaps,
            gaps_most=gaps_most,
            editions=self,
        )


def _newest(editions: Iterable[Figure], day: date) -> Figure | None:
    """The newest edition in force on a day; the editions come oldest first."""
    newest = None
    for figure in editions:
        if figure.in_force is None or figure.in_force <= day:
            newest = figure
    return newest


def _table_on(tables: tuple[GapTable, ...], day: date) -> GapTable:
    """The newest table in force on a day, or the first of all."""
    newest = _newest((table.figure for table in tables), day)
    return next((table for table in tables if table.figure is newest), tables[0])
