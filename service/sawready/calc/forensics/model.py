"""What the weighing of a survey takes in and gives out: plain frozen values in millimetres."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, NamedTuple

from sawready.model.finding import Severity

__all__ = ["Numbers", "SurveyedOpening", "Suspect", "SuspicionFigures"]

LUMPS_MOST: Final = 2.5
"""The largest lump or hollow, in standard deviations of lumps, that a wall may well have."""


class SurveyedOpening(NamedTuple):
    """One opening as the order states it, every length in millimetres as understood.

    Nothing is turned to another view: readings keep their places in the order, so that a suspect's
    pointer leads back to what the surveyor wrote. A value outside the sensible range belongs in here
    too, since that is what a slip of unit looks like.

    Attributes:
        widths_mm: width readings in the order's places; None where a place is empty. [mm]
        heights_mm: height readings likewise. [mm]
        diagonals_mm: none, one or two diagonals likewise. [mm]
        frame_width_mm, frame_height_mm: stated frame, or None where it is to be worked out. [mm]
        height_includes_sill: the stated frame height has the sill in it.
        sill_upstand_mm: height that the sill takes; 0 with no sill. [mm]
        width_gap_mm, height_gap_mm: both gaps of the axis together, as used. [mm]
        width_gap_most_mm, height_gap_most_mm: the rulebook's largest gap, one side. [mm]
        width_gap_is_own, height_gap_is_own: the order states the gap itself.
        width_extenders_mm, height_extenders_mm: both extenders of the axis together. [mm]
        width_to_come_mm, height_to_come_mm: both finishes of the axis together. [mm]
        other_gaps_mm: both gaps together in the rulebook's other spans for this frame. [mm]
        inside_width_mm, inside_height_mm: plaster to plaster, where taken. [mm]
        measured_to: face that the readings were taken to, where stated.
        is_head_sloping: the lean is in the height, not in the width.
        unit_mm: unit in which the readings were written: 1, 10, 1000, 25.4 or 304.8. [mm]
        layout_key: what makes two layouts the same window but for hinge sides and places, or None.
    """

    widths_mm: tuple[float | None, ...]
    heights_mm: tuple[float | None, ...]
    diagonals_mm: tuple[float | None, ...] = ()
    frame_width_mm: float | None = None
    frame_height_mm: float | None = None
    height_includes_sill: bool = False
    sill_upstand_mm: float = 0.0
    width_gap_mm: float = 10.0
    height_gap_mm: float = 10.0
    width_gap_most_mm: float = 10.0
    height_gap_most_mm: float = 10.0
    width_gap_is_own: bool = False
    height_gap_is_own: bool = False
    width_extenders_mm: float = 0.0
    height_extenders_mm: float = 0.0
    width_to_come_mm: float = 0.0
    height_to_come_mm: float = 0.0
    other_gaps_mm: tuple[float, ...] = ()
    inside_width_mm: float | None = None
    inside_height_mm: float | None = None
    measured_to: str | None = None
    is_head_sloping: bool = False
    unit_mm: float = 1.0
    layout_key: str | None = None


class Numbers(NamedTuple):
    """The numbers of an opening that a single change may touch [mm]."""

    widths: tuple[float | None, ...]
    heights: tuple[float | None, ...]
    diagonals: tuple[float | None, ...]
    frame_width: float | None
    frame_height: float | None

    def group(self, name: str) -> tuple[float | None, ...]:
        """Widths, heights or diagonals by name."""
        return self.widths if name == "widths" else self.heights if name == "heights" else self.diagonals

    def with_group(self, name: str, values: tuple[float | None, ...]) -> "Numbers":
        """The numbers with widths, heights or diagonals changed."""
        if name == "widths":
            return self._replace(widths=values)
        return self._replace(heights=values) if name == "heights" else self._replace(diagonals=values)

    def frame(self, axis: str) -> float | None:
        """The stated frame across the ``width`` or over the ``height``."""
        return self.frame_width if axis == "width" else self.frame_height

    def with_frame(self, axis: str, value: float | None) -> "Numbers":
        """The numbers with one side of the stated frame changed."""
        return self._replace(frame_width=value) if axis == "width" else self._replace(frame_height=value)

    @classmethod
    def of(cls, opening: SurveyedOpening) -> "Numbers":
        """The numbers as the order states them."""
        return cls(
            opening.widths_mm,
            opening.heights_mm,
            opening.diagonals_mm,
            opening.frame_width_mm,
            opening.frame_height_mm,
        )


@dataclass(frozen=True, slots=True)
class Suspect:
    """One statement of the survey that is probably a mistake, and what it probably was.

    Attributes:
        reason: name in the catalogue of reasons.
        severity: as the contract has it for that reason.
        field: place in the opening, a pointer without its leading slash, such as ``widths/1``.
        measured_mm: what is written there; None where the place holds no length. [mm]
        candidates_mm: what it probably was, likeliest first; never put in its place unasked. [mm]
        why: one sentence: with what the candidate agrees.
        question: one sentence to send to the surveyor.
        replaces: reasons that the candidate clears, each with the axis (``width``, ``height``, or
            nothing for the whole opening) or the field that it concerns.
        odds: how much likelier this is than chance or a mistake that has no name, by the rulebook's
            starting values; infinite where a plain rule decided.
    """

    reason: str
    severity: Severity
    field: str
    measured_mm: float | None
    candidates_mm: tuple[float, ...]
    why: str
    question: str
    replaces: tuple[tuple[str, str], ...] = ()
    odds: float = float("inf")
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class SuspicionFigures:
    """The rulebook's figures for weighing a survey; all are starting values.

    The first three come from the rulebook's ``survey`` section, the rest from ``suspicion`` under the
    same names; what each means stands beside it in the rulebook.
    """

    readings_spread_mm: float
    diagonals_differ_from_mm: float
    diagonals_against_sides_mm: float

    odds_least: float
    odds_alike: float
    odds_same_place: float
    mistakes_most: int

    tape_mm: float
    taper_mm: float
    kink_mm: float
    lean_mm: float
    lump_mm: float
    lump_share: float
    lone_taper_share: float
    rough_share: float
    rough_taper_mm: float
    rough_kink_mm: float
    rough_lean_mm: float
    rough_lone_taper_share: float
    size_usual_mm: float
    size_spread: float
    size_least_mm: float
    size_most_mm: float

    digits_share: float
    digits_neighbours_share: float
    step_share: float
    step_inch_share: float
    unit_share: float
    odd_digits_share: float
    whole_axis_share: float
    exchange_share: float
    unnamed_share: float
    average_share: float
    gap_twice_share: float
    sill_share: float
    wrong_face_share: float
    frame_swapped_share: float
    survey_swapped_share: float
    frame_exact_share: float
    frame_loose_share: float
    frame_odd_share: float
    frame_odd_within_mm: float
    frame_both_odd_share: float
    frame_loose_beyond_mm: float
    gap_chance_share: float

    irregular_spread_mm: float
    lands_within_mm: float
    steps_mm: tuple[float, ...]
    steps_in: tuple[float, ...]
    units_mm: tuple[float, ...]
    frame_exact_mm: float
    gap_twice_mm: float
    square_within_mm: float
    inside_differs_mm: float
    inside_weight: float
    sibling_equal_mm: float
    siblings_least: int
    sibling_weight: float
    copied_round_to_mm: float
    wrong_faces: tuple[str, ...]

    def is_like_a_lump(self, off_mm: float) -> bool:
        """Whether a lump or hollow may well put a reading that far off.

        Args:
            off_mm: how far it is off, either way. [mm]
        """
        return abs(off_mm) <= LUMPS_MOST * self.lump_mm

    @classmethod
    def of(
        cls,
        suspicion: Mapping[str, Any],
        *,
        readings_spread_mm: float,
        diagonals_differ_from_mm: float,
        diagonals_against_sides_mm: float,
    ) -> "SuspicionFigures":
        """Figures from the values of a rulebook.

        Args:
            suspicion: value by name, from the section of that name: numbers, lists of numbers, and
                ``wrong_faces`` as words with blanks between.
            readings_spread_mm: readings of one axis that differ by more are questioned. [mm]
            diagonals_differ_from_mm: diagonals that differ by less are tape accuracy. [mm]
            diagonals_against_sides_mm: diagonals and sides that disagree by more cannot be right. [mm]
        Returns: the figures.
        Raises: ValueError naming the figures that are missing or unknown.
        """
        wanted = {each.name for each in fields(cls)} - {
            "readings_spread_mm",
            "diagonals_differ_from_mm",
            "diagonals_against_sides_mm",
        }
        missing, unknown = sorted(wanted - set(suspicion)), sorted(set(suspicion) - wanted)
        if missing or unknown:
            raise ValueError(f"figures of suspicion missing: {missing}; unknown: {unknown}")
        plain = {name: _plain(value) for name, value in suspicion.items()}
        plain["wrong_faces"] = tuple(str(suspicion["wrong_faces"]).split())
        for name in ("mistakes_most", "siblings_least"):
            plain[name] = int(suspicion[name])
        return cls(
            readings_spread_mm=float(readings_spread_mm),
            diagonals_differ_from_mm=float(diagonals_differ_from_mm),
            diagonals_against_sides_mm=float(diagonals_against_sides_mm),
            **plain,
        )


def _plain(value: Any) -> Any:
    """A figure as a plain number, or a tuple of them; words stay."""
    if isinstance(value, list | tuple):
        return tuple(float(each) for each in value)
    return value if isinstance(value, str) else float(value)
