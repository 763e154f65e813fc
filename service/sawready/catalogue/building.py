"""The figures of a rulebook that the building rules ask for, each looked up once and held ready.

A rulebook need not have any of them: a rule whose figure is missing is listed as not applied. Which
figures there are and of what kind stands in WANTED, by which a rulebook file is checked on loading.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, Final

from sawready.calc.energy import RATING_BANDS, Rounding
from sawready.calc.escape import EscapeFigures
from sawready.calc.safety import CriticalFigures, ThickGlassSize
from sawready.catalogue.figure_fields import EditionList
from sawready.catalogue.figures import Figure
from sawready.catalogue.physics import physics
from sawready.catalogue.rulebook import Rulebook

Path = tuple[str | int, ...]

YES: Final = "yes"
YES_OR_NO: Final = (YES, "no")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a figure has to be: a number, one of some words, or a table with some columns.

    Attributes:
        words: the words that may stand there; none for a number or a table.
        columns: columns that every row has; none for a number or a word.
        is_whole: the number is a whole one.
    """

    words: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    is_whole: bool = False


_NUMBER: Final = Wanted()
_WHOLE: Final = Wanted(is_whole=True)

WANTED: Final[Mapping[str, Wanted]] = {
    "thermal.window_u_most_w_m2k": _NUMBER,
    "thermal.window_least_band": Wanted(words=RATING_BANDS),
    "thermal.glazed_door_least_band": Wanted(words=RATING_BANDS),
    "thermal.glazed_door_over_percent": _NUMBER,
    "thermal.rounding": Wanted(words=tuple(Rounding)),
    "thermal.reference_size_counts": Wanted(words=YES_OR_NO),
    "thermal.heritage_u_g_most_w_m2k": _NUMBER,
    "wind.deflection_class": Wanted(words=("A", "B", "C")),
    "wind.air_density_kg_m3": _NUMBER,
    "wind.altitude_rule": Wanted(words=("uk",)),
    "glazing.safety_window_below_mm": _NUMBER,
    "glazing.safety_door_below_mm": _NUMBER,
    "glazing.beside_door_mm": _NUMBER,
    "glazing.impact_class": _WHOLE,
    "glazing.impact_class_wide": _WHOLE,
    "glazing.wide_over_mm": _NUMBER,
    "glazing.small_side_most_mm": _NUMBER,
    "glazing.small_area_most_m2": _NUMBER,
    "glazing.small_thickness_least_mm": _NUMBER,
    "glazing.thick_ordinary": Wanted(columns=("thickness_mm",)),
    "escape.area_least_m2": _NUMBER,
    "escape.side_least_mm": _NUMBER,
    "escape.bottom_most_mm": _NUMBER,
    "escape.bottom_least_mm": _NUMBER,
    "escape.highest_storey": _WHOLE,
    "ventilation.replacement_mm2": Wanted(columns=("room", "value")),
    "ventilation.like_for_like": Wanted(words=YES_OR_NO),
    "guarding.below_mm": _NUMBER,
    "guarding.drop_over_mm": _NUMBER,
    "handling.filter_kg": _NUMBER,
    "handling.filter_women_kg": _NUMBER,
    "expansion.rise_white_k": _NUMBER,
    "expansion.rise_coloured_k": _NUMBER,
    "condensation.least_factor": _NUMBER,
    "condensation.inside_c": _NUMBER,
    "condensation.outside_c": _NUMBER,
    "site.security_in_replacements": Wanted(words=YES_OR_NO),
}
"""Every figure that a building rule reads."""


def wrong_kinds(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """Path and remedy of each figure of a rulebook file that is not of the kind its rule reads."""
    for dotted, wanted in WANTED.items():
        found: Any = data
        path = tuple(dotted.split("."))
        for step in path:
            found = found.get(step, {}) if isinstance(found, Mapping) else {}
        if not isinstance(found, EditionList):
            continue
        for edition, place in zip(found, found.places, strict=True):
            trouble = _trouble(edition, wanted)
            if trouble is not None:
                yield (*path, *place), trouble


def _trouble(edition: Mapping[str, Any], wanted: Wanted) -> str | None:
    value = edition.get("value")
    if wanted.words:
        if not isinstance(value, str) or value not in wanted.words:
            return f"must be one of {', '.join(wanted.words)}. Write it so, with 'unit: word'."
    elif wanted.columns:
        rows = edition.get("rows")
        if not rows or any(column not in row for row in rows for column in wanted.columns):
            return f"must be a table whose rows have {' and '.join(wanted.columns)}. Add what is missing."
    elif not isinstance(value, Fraction):
        return "must be one number. Write it without brackets."
    elif wanted.is_whole and value.denominator != 1:
        return "must be a whole number. Write it without decimals."
    return None


@dataclass(frozen=True, slots=True, eq=False)
class BuildingFigures:
    """What the building rules read of a rulebook; a figure that it does not have is None.

    Attributes:
        u_most, least_band, door_band, door_over_percent, heritage: limits of the transmittance.
        u_most_w_m2k: the first of them once more; 0 where there is none. [W/m2K]
        rounding: how a transmittance is brought to the number that is judged; unrounded where unsaid.
        reference_counts: a declaration for the reference size may stand for a window.
        deflection_class, span_over: class of deflection under wind, and span over deflection for it.
        window_below, door_below, beside_door: where glass is critical.
        critical: the same for the calculation; None without the first of them.
        window_below_nm, door_below_nm, guard_below_nm: the heights once more; 0 where there is none. [nm]
        impact_class, impact_class_wide, wide_over: impact classes in critical places.
        small: largest side, largest area and least thickness of a small pane of ordinary glass.
        thick, thick_sizes: ordinary glass that is thick enough.
        escape, escape_limits: figures of an escape opening; None where one is missing.
        highest_storey: the last storey from which a window serves for escape.
        vents, vents_mm2: least ventilators by kind of room. [mm2]
        like_for_like: new ventilators are not smaller than old ones.
        guard_below, drop_over: guarding.
        filter, filter_women: lifting filters.
        rise_k: rise of temperature by colour class.
        factor_least, inside, outside: condensation.
    """

    u_most: Figure | None
    u_most_w_m2k: float
    least_band: Figure | None
    door_band: Figure | None
    door_over_percent: Figure | None
    heritage: Figure | None
    rounding: Rounding
    reference_counts: bool
    deflection_class: Figure | None
    span_over: float
    window_below: Figure | None
    door_below: Figure | None
    beside_door: Figure | None
    critical: CriticalFigures | None
    window_below_nm: int
    door_below_nm: int
    guard_below_nm: int
    impact_class: Figure | None
    impact_class_wide: Figure | None
    wide_over: Figure | None
    small: tuple[Figure, Figure, Figure] | None
    thick: Figure | None
    thick_sizes: tuple[ThickGlassSize, ...]
    escape: tuple[Figure, ...] | None
    escape_limits: EscapeFigures | None
    highest_storey: int | None
    vents: Figure | None
    vents_mm2: Mapping[str, int]
    like_for_like: Figure | None
    guard_below: Figure | None
    drop_over: Figure | None
    filter: Figure | None
    filter_women: Figure | None
    rise_k: Mapping[str, Figure]
    factor_least: Figure | None
    inside: Figure | None
    outside: Figure | None


@lru_cache(maxsize=256)
def building_figures(rulebook: Rulebook) -> BuildingFigures:
    """The figures that the building rules read, as in force in this view of a rulebook."""
    get = rulebook.figures.get
    u_most = get("thermal.window_u_most_w_m2k")
    deflection = get("wind.deflection_class")
    letters = physics().column("classes.deflection", by="letter")
    small = tuple(
        get(f"glazing.small_{name}") for name in ("side_most_mm", "area_most_m2", "thickness_least_mm")
    )
    window, door = (get(f"glazing.safety_{name}_below_mm") for name in ("window", "door"))
    beside = get("glazing.beside_door_mm")
    vents, thick = get("ventilation.replacement_mm2"), get("glazing.thick_ordinary")
    highest = get("escape.highest_storey")
    guard = get("guarding.below_mm")
    rises = {name: get(f"expansion.rise_{name}_k") for name in ("white", "coloured")}
    escape, limits = _escape(rulebook)
    return BuildingFigures(
        u_most=u_most,
        u_most_w_m2k=0.0 if u_most is None else float(u_most.number),
        least_band=get("thermal.window_least_band"),
        door_band=get("thermal.glazed_door_least_band"),
        door_over_percent=get("thermal.glazed_door_over_percent"),
        heritage=get("thermal.heritage_u_g_most_w_m2k"),
        rounding=Rounding(_word(get("thermal.rounding"), Rounding.UNROUNDED)),
        reference_counts=_word(get("thermal.reference_size_counts"), "no") == YES,
        deflection_class=deflection,
        span_over=0.0 if deflection is None else letters[_word(deflection, "")],
        window_below=window,
        door_below=door,
        beside_door=beside,
        critical=None
        if window is None
        else CriticalFigures(
            window.number,
            window.number if door is None else door.number,
            Fraction(0) if beside is None else beside.number,
        ),
        window_below_nm=0 if window is None else window.nm,
        door_below_nm=0 if door is None else door.nm,
        guard_below_nm=0 if guard is None else guard.nm,
        impact_class=get("glazing.impact_class"),
        impact_class_wide=get("glazing.impact_class_wide"),
        wide_over=get("glazing.wide_over_mm"),
        small=None if None in small else small,  # type: ignore[arg-type] # no None is in it
        thick=thick,
        thick_sizes=() if thick is None else tuple(map(_thick_size, thick.rows)),
        escape=escape,
        escape_limits=limits,
        highest_storey=None if highest is None else int(highest.number),
        vents=vents,
        vents_mm2={} if vents is None else {str(row["room"]): int(row["value"]) for row in vents.rows},
        like_for_like=_if_yes(get("ventilation.like_for_like")),
        guard_below=guard,
        drop_over=get("guarding.drop_over_mm"),
        filter=get("handling.filter_kg"),
        filter_women=get("handling.filter_women_kg"),
        rise_k={name: figure for name, figure in rises.items() if figure is not None},
        factor_least=get("condensation.least_factor"),
        inside=get("condensation.inside_c"),
        outside=get("condensation.outside_c"),
    )


def _escape(rulebook: Rulebook) -> tuple[tuple[Figure, ...] | None, EscapeFigures | None]:
    area, side, most, least = (
        rulebook.figures.get(f"escape.{name}")
        for name in ("area_least_m2", "side_least_mm", "bottom_most_mm", "bottom_least_mm")
    )
    if area is None or side is None or most is None:
        return None, None
    limits = EscapeFigures(
        area_m2=area.number,
        width_mm=side.number,
        height_mm=side.number,
        most_bottom_mm=most.number,
        least_bottom_mm=None if least is None else least.number,
    )
    return (area, side, most) if least is None else (area, side, most, least), limits


def _word(figure: Figure | None, otherwise: str) -> str:
    return otherwise if figure is None else str(figure.value)


def _if_yes(figure: Figure | None) -> Figure | None:
    return figure if _word(figure, "no") == YES else None


def _thick_size(row: Mapping[str, Fraction | str]) -> ThickGlassSize:
    thickness = Fraction(row["thickness_mm"])
    if "short_mm" in row and "long_mm" in row:
        return ThickGlassSize(thickness, (Fraction(row["short_mm"]), Fraction(row["long_mm"])))
    return ThickGlassSize(thickness, None)
