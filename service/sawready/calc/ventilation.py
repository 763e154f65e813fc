"""Background ventilation of a room: the equivalent area it needs and the area its windows give."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from sawready.calc.exact import Number, exact


class Strategy(StrEnum):
    """How a dwelling is ventilated."""

    NATURAL = "natural"
    CONTINUOUS_EXTRACT = "continuous_extract"
    HEAT_RECOVERY = "heat_recovery"


@dataclass(frozen=True, slots=True)
class VentilationFigures:
    """Least equivalent areas of one region, by kind of room, in mm2.

    Attributes:
        room_kinds: kind of room (habitable, kitchen, bathroom, ...) by the name of the room.
        replacement_mm2: where an old window without a ventilator is replaced; a kind that is not named
            has no least area.
        new_mm2: new dwelling of more than one storey.
        new_single_storey_mm2: new dwelling of one storey.
        continuous_extract_mm2: with continuous mechanical extract.
    """

    room_kinds: Mapping[str, str]
    replacement_mm2: Mapping[str, Number]
    new_mm2: Mapping[str, Number]
    new_single_storey_mm2: Mapping[str, Number]
    continuous_extract_mm2: Mapping[str, Number]


@dataclass(frozen=True, slots=True)
class VentilationVerdict:
    """Area given in a room against the area needed.

    Attributes:
        given_mm2: of all openings of the room together. [mm2]
        needed_mm2: 0 where the rulebook sets no least area. [mm2]
        basis: ``like_for_like`` (the old ventilators) or ``least_area`` (the rulebook's figure).
        ok: given is not below needed.
    """

    given_mm2: float
    needed_mm2: float
    basis: str
    ok: bool


def least_ventilation_mm2(
    *,
    room: str,
    figures: VentilationFigures,
    replacement: bool,
    dwelling_storeys: int,
    strategy: Strategy | str = Strategy.NATURAL,
) -> float:
    """Least equivalent area of background ventilators for one room.

    The way the dwelling is ventilated counts first: heat recovery needs none, continuous extract its own
    figure. Then a replacement takes the replacement figure, and a new dwelling the one for its storeys.
    One exposed face, most openings on one face or a kitchen without a face need expert advice.

    Args:
        room: name of the room, as in the figures.
        figures: of the rulebook.
        replacement: a window without a ventilator is replaced in an existing dwelling.
        dwelling_storeys: storeys of the dwelling; 1 takes the larger figure of a new single-storey one. [-]
        strategy: ``natural``, ``continuous_extract`` or ``heat_recovery``.
    Returns: least area, 0 where there is none. [mm2]
    Raises: ValueError if room or strategy is unknown, or the storeys are below 1.
    Example:
        >>> england = VentilationFigures(
        ...     room_kinds={"bedroom": "habitable"},
        ...     replacement_mm2={"habitable": 8000},
        ...     new_mm2={"habitable": 8000},
        ...     new_single_storey_mm2={"habitable": 10000},
        ...     continuous_extract_mm2={"habitable": 4000},
        ... )
        >>> least_ventilation_mm2(room="bedroom", figures=england, replacement=True, dwelling_storeys=2)
        8000.0

    Source: Approved Document F volume 1, 2021, 3.15 (replacement), table 1.7 (new), 1.60-1.66 and 1.72.
    Checked in tests/published/test_approved_document_f.py.
    """
    way = Strategy(strategy)
    if room not in figures.room_kinds:
        raise ValueError(f"room {room!r} is not one of {', '.join(sorted(figures.room_kinds))}")
    if dwelling_storeys < 1:
        raise ValueError(f"dwelling_storeys must be 1 or more, not {dwelling_storeys}")
    kind = figures.room_kinds[room]
    if way is Strategy.HEAT_RECOVERY:
        return 0.0
    if way is Strategy.CONTINUOUS_EXTRACT:
        table = figures.continuous_extract_mm2
    elif replacement:
        table = figures.replacement_mm2
    elif dwelling_storeys == 1:
        table = figures.new_single_storey_mm2
    else:
        table = figures.new_mm2
    return float(exact(table.get(kind, 0)))


def room_ventilation(
    *, given_mm2: Sequence[Number], old_mm2: Number | None, least_mm2: Number
) -> VentilationVerdict:
    """The ventilators of all windows of a room against what the room needs.

    Where the old windows had ventilators of known size the new ones must not be smaller; where they had
    none, or their size is not known, the rulebook's least area counts. Night-latch positions of a sash
    are no ventilators and must not be given here.

    Args:
        given_mm2: equivalent area of each opening of the room. [mm2]
        old_mm2: equivalent area of the old ventilators together; None where there were none or the size
            is not known. [mm2]
        least_mm2: the rulebook's least area, 0 where there is none. [mm2]
    Returns: the sums and the verdict; equal is enough.
    Raises: ValueError if an area is below zero.
    Example:
        >>> room_ventilation(given_mm2=[4000, 2500], old_mm2=None, least_mm2=8000).ok
        False

    Source: Approved Document F volume 1, 2021, 3.14-3.15. Checked in
    tests/published/test_approved_document_f.py.
    """
    given = sum(map(exact, given_mm2), Fraction(0))
    needed = exact(least_mm2 if old_mm2 is None else old_mm2)
    if min([*map(exact, given_mm2), needed]) < 0:
        raise ValueError("ventilator areas must be zero or more")
    return VentilationVerdict(
        given_mm2=float(given),
        needed_mm2=float(needed),
        basis="least_area" if old_mm2 is None else "like_for_like",
        ok=given >= needed,
    )
