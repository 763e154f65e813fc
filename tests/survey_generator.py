"""Random true surveys, odd but true surveys, and the same with one mistake planted in them; seeded.

A true survey is a quadrilateral hole in a wall that a tape measured: sides that taper, a head that has
slipped sideways against the bottom, walls that may be bowed, and a tape that is a millimetre or two off.
Nothing in here knows how the weighing works: openings are made of corners, not of its formulas. All
openings, houses and figures are invented.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import floor, hypot
from random import Random

from sawready.calc.forensics import SurveyedOpening

INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Hole:
    """A true opening [mm]."""

    width: float
    height: float
    taper_width: float = 0.0
    taper_height: float = 0.0
    bow_width: float = 0.0
    bow_height: float = 0.0
    lean: float = 0.0


@dataclass(frozen=True, slots=True)
class Style:
    """How a firm surveys and orders."""

    readings: tuple[int, int] = (3, 3)
    diagonals: int = 2
    has_frame: bool = True
    is_coloured: bool = False
    sill_mm: float = 0.0
    is_sill_in_height: bool = False
    has_inside: bool = False
    tape_mm: float = 1.5
    extenders_mm: float = 0.0
    to_come_mm: float = 0.0
    spare_mm: float = 0.0
    own_gap_mm: float | None = None
    unit_mm: float = 1.0
    layout_key: str | None = "side-hung | fixed"
    is_head_sloping: bool = False


def tape(rng: Random, length_mm: float, style: Style) -> float:
    """A length as taped and written: noise, then the marks of the tape."""
    taped = length_mm + rng.gauss(0, style.tape_mm)
    if style.unit_mm == INCH_MM:
        return round(taped / INCH_MM * 8) / 8 * INCH_MM
    return float(round(taped))


def corners(hole: Hole) -> tuple[tuple[float, float], ...]:
    """Top left, top right, bottom left, bottom right; x to the right, y upwards [mm]."""
    top, bottom = hole.width - hole.taper_width / 2, hole.width + hole.taper_width / 2
    left, right = hole.height - hole.taper_height / 2, hole.height + hole.taper_height / 2
    start = hole.lean + (bottom - top) / 2
    return (start, left), (start + top, right), (0.0, 0.0), (bottom, 0.0)


def gap_both_mm(span_mm: float, *, is_coloured: bool) -> float:
    """Both gaps together for a span, white or coloured PVC-U: LABC Warranty gap-per-side table."""
    bands = (7.5, 7.5, 11.0) if is_coloured else (5.0, 5.0, 7.5)
    return 2 * bands[0 if span_mm <= 1500 else 1 if span_mm <= 3000 else 2]


def survey(rng: Random, hole: Hole, style: Style) -> SurveyedOpening:
    """The hole as a surveyor and an office of that style put it down, nothing wrong."""
    widths = _readings(rng, hole.width, hole.taper_width, hole.bow_width, style.readings[0], style)
    heights = _readings(rng, hole.height, hole.taper_height, hole.bow_height, style.readings[1], style)
    top_left, top_right, bottom_left, bottom_right = corners(hole)
    lines = ((top_left, bottom_right), (top_right, bottom_left))[: style.diagonals]
    diagonals = tuple(tape(rng, hypot(a[0] - b[0], a[1] - b[1]), style) for a, b in lines)
    width_gap = height_gap = 2 * style.own_gap_mm if style.own_gap_mm is not None else 0.0
    if style.own_gap_mm is None:
        width_gap = gap_both_mm(min(widths), is_coloured=style.is_coloured)
        height_gap = gap_both_mm(min(heights), is_coloured=style.is_coloured)
    most = [10.0 if min(each) <= 3000 else 15.0 for each in (widths, heights)]
    bands = {gap_both_mm(each, is_coloured=style.is_coloured) for each in (1000, 2000, 4000)}
    opening = SurveyedOpening(
        widths_mm=widths,
        heights_mm=heights,
        diagonals_mm=diagonals,
        height_includes_sill=style.is_sill_in_height,
        sill_upstand_mm=style.sill_mm,
        width_gap_mm=width_gap,
        height_gap_mm=height_gap,
        width_gap_most_mm=most[0],
        height_gap_most_mm=most[1],
        width_gap_is_own=style.own_gap_mm is not None,
        height_gap_is_own=style.own_gap_mm is not None,
        width_extenders_mm=2 * style.extenders_mm,
        height_extenders_mm=style.extenders_mm,
        width_to_come_mm=2 * style.to_come_mm,
        height_to_come_mm=style.to_come_mm,
        other_gaps_mm=tuple(sorted(bands)),
        measured_to="brick",
        is_head_sloping=style.is_head_sloping,
        unit_mm=style.unit_mm,
        layout_key=style.layout_key,
    )
    if style.has_inside:
        opening = opening._replace(
            inside_width_mm=float(round(hole.width + rng.uniform(-45, 20))),
            inside_height_mm=float(round(hole.height + rng.uniform(-45, 20))),
        )
    return with_frame(opening, spare_mm=style.spare_mm) if style.has_frame else opening


def _readings(
    rng: Random, size: float, taper: float, bow: float, count: int, style: Style
) -> tuple[float, ...]:
    """First to last along the axis; a lone reading is taken anywhere."""
    places = {1: (rng.uniform(-0.5, 0.5),), 2: (-0.5, 0.5), 3: (-0.5, 0.0, 0.5)}[count]
    return tuple(tape(rng, size + taper * place + bow * (1 - 4 * place * place), style) for place in places)


def frame_size(opening: SurveyedOpening, *, spare_mm: float = 0.0) -> tuple[float, float]:
    """The frame that the readings ask for: smallest less lean, finishes, gaps, extenders, sill."""
    widths, heights = opening.widths_mm, opening.heights_mm
    lean_width = lean_height = 0.0
    if len(opening.diagonals_mm) == 2:
        first, second = opening.diagonals_mm
        if abs(first - second) >= 5:
            side = heights if opening.is_head_sloping else widths
            lean = abs(first**2 - second**2) / (4 * sum(side) / len(side))
            lean_width, lean_height = (0.0, lean) if opening.is_head_sloping else (lean, 0.0)
    width = min(widths) - lean_width - opening.width_gap_mm
    width -= opening.width_extenders_mm + opening.width_to_come_mm + spare_mm
    height = min(heights) - lean_height - opening.height_gap_mm - opening.height_extenders_mm
    height -= opening.height_to_come_mm + spare_mm
    height -= 0.0 if opening.height_includes_sill else opening.sill_upstand_mm
    return float(floor(width)), float(floor(height))


def with_frame(opening: SurveyedOpening, *, spare_mm: float = 0.0) -> SurveyedOpening:
    """The opening with the frame that its readings ask for."""
    width, height = frame_size(opening, spare_mm=spare_mm)
    return opening._replace(frame_width_mm=width, frame_height_mm=height)


# --- true surveys ---------------------------------------------------------------------------------


def plain_hole(rng: Random) -> Hole:
    """An ordinary hole: taper up to 15, lean up to 12, straight walls."""
    return Hole(
        width=rng.uniform(450, 2900),
        height=rng.uniform(450, 2300),
        taper_width=rng.uniform(-15, 15),
        taper_height=rng.uniform(-15, 15),
        bow_width=rng.gauss(0, 1.0),
        bow_height=rng.gauss(0, 1.0),
        lean=rng.uniform(-12, 12),
    )


def plain_style(rng: Random) -> Style:
    """One of the usual ways to survey and order."""
    readings = rng.choice([(3, 3), (3, 3), (3, 3), (2, 2), (1, 1), (3, 2), (3, 1)])
    return Style(
        readings=readings,
        diagonals=rng.choice([2, 2, 2, 0, 1]),
        has_frame=rng.random() < 0.6,
        is_coloured=rng.random() < 0.3,
        sill_mm=rng.choice([0.0, 30.0]),
        is_sill_in_height=rng.random() < 0.4,
        has_inside=rng.random() < 0.3,
        tape_mm=rng.uniform(1.0, 2.0),
        layout_key=rng.choice(
            ["fixed", "side-hung | fixed", "top-hung / fixed", "side-hung | fixed | side-hung"]
        ),
    )


def plain_order(rng: Random) -> list[SurveyedOpening]:
    """One to eight openings of one house; some come in pairs."""
    style = plain_style(rng)
    found: list[SurveyedOpening] = []
    for _ in range(rng.randint(1, 5)):
        hole, layout = plain_hole(rng), rng.choice(["fixed", "side-hung | fixed", "top-hung / fixed"])
        for _ in range(rng.choice([1, 1, 1, 2, 3])):
            alike = replace(
                hole,
                width=hole.width + rng.gauss(0, 3),
                height=hole.height + rng.gauss(0, 3),
                taper_width=rng.uniform(-12, 12),
                taper_height=rng.uniform(-12, 12),
                lean=rng.uniform(-10, 10),
            )
            found.append(survey(rng, alike, replace(style, layout_key=layout)))
    return found


def cottage_order(rng: Random) -> list[SurveyedOpening]:
    """An old house: tapers of 15 to 40, leans of 10 to 40."""

    def much(low: float, high: float) -> float:
        return rng.choice((-1, 1)) * rng.uniform(low, high)

    style = replace(plain_style(rng), layout_key=rng.choice(["fixed", "side-hung | fixed"]))
    return [
        survey(
            rng,
            Hole(
                rng.uniform(450, 1600),
                rng.uniform(450, 1500),
                much(15, 40),
                much(5, 40),
                rng.gauss(0, 2),
                rng.gauss(0, 2),
                much(10, 40),
            ),
            style,
        )
        for _ in range(rng.randint(1, 6))
    ]


def crooked_order(rng: Random) -> list[SurveyedOpening]:
    """An old house with bulging walls: every reading goes its own way by up to 20 and more."""
    style = plain_style(rng)
    return [
        survey(
            rng,
            Hole(
                rng.uniform(450, 1600),
                rng.uniform(450, 1500),
                rng.gauss(0, 18),
                rng.gauss(0, 18),
                rng.gauss(0, 8),
                rng.gauss(0, 8),
                rng.gauss(0, 20),
            ),
            style,
        )
        for _ in range(rng.randint(1, 6))
    ]


def bay_order(rng: Random) -> list[SurveyedOpening]:
    """A bay: one height all round, a wide front and two narrow sides."""
    style = plain_style(rng)
    height, front, side = rng.uniform(900, 1500), rng.uniform(1200, 2400), rng.uniform(400, 700)
    widths = [side, front, side + rng.gauss(0, 8)]
    if rng.random() < 0.5:
        widths = [side, side, front / 2, front / 2, side, side]
    return [
        survey(
            rng,
            replace(plain_hole(rng), width=width, height=height + rng.gauss(0, 3)),
            replace(style, layout_key="fixed" if width == front else "top-hung / fixed"),
        )
        for width in widths
    ]


def narrow_order(rng: Random) -> list[SurveyedOpening]:
    """Tall and narrow, or low and wide."""
    style = plain_style(rng)
    long, short = rng.uniform(1600, 2800), rng.uniform(280, 520)
    width, height = (short, min(long, 2350)) if rng.random() < 0.6 else (long, short)
    return [survey(rng, replace(plain_hole(rng), width=width, height=height), style) for _ in range(2)]


def square_order(rng: Random) -> list[SurveyedOpening]:
    """Square or nearly so."""
    side = rng.uniform(500, 1500)
    hole = replace(plain_hole(rng), width=side, height=side + rng.uniform(-12, 12))
    return [survey(rng, hole, plain_style(rng)) for _ in range(rng.randint(1, 4))]


def repeated_order(rng: Random) -> list[SurveyedOpening]:
    """A new house: straight walls, sizes that come again, readings that are equal and not round."""
    style = replace(plain_style(rng), tape_mm=0.3)
    kinds = [(rng.choice([627, 907, 1207, 1792]), rng.choice([897, 1047, 1197, 1347])) for _ in range(2)]
    holes = [
        Hole(float(kind[0]), float(kind[1]), lean=rng.uniform(-1, 1)) for kind in kinds for _ in range(3)
    ]
    return [survey(rng, each, replace(style, layout_key=str(each.width))) for each in holes]


def round_order(rng: Random) -> list[SurveyedOpening]:
    """Sizes close to round ones, as new holes are set out."""
    width, height = rng.choice([900, 1000, 1200, 1500, 1800]), rng.choice([600, 900, 1050, 1200])
    hole = Hole(width + rng.gauss(0, 1.5), height + rng.gauss(0, 1.5), rng.gauss(0, 2), rng.gauss(0, 2))
    return [survey(rng, hole, plain_style(rng)) for _ in range(3)]


def module_order(rng: Random) -> list[SurveyedOpening]:
    """Standard sizes that differ by round steps and that lie both ways, each of its own layout."""
    sizes = [(1200, 900), (900, 1200), (1200, 1050), (1200, 1200), (600, 1200), (600, 1050), (1800, 1200)]
    style = plain_style(rng)
    found = []
    for width, height in rng.sample(sizes, 5):
        layout = "top-hung / fixed" if width < height else "side-hung | fixed"
        for _ in range(rng.choice([1, 2])):
            hole = replace(plain_hole(rng), width=width + rng.gauss(0, 4), height=height + rng.gauss(0, 4))
            found.append(survey(rng, hole, replace(style, layout_key=layout)))
    return found


def spare_order(rng: Random) -> list[SurveyedOpening]:
    """Frames smaller than they need be: within the gaps allowed, with extenders, with a gap of their own."""
    style = replace(plain_style(rng), has_frame=True)
    kind = rng.choice(["spare", "extenders", "own gap", "to come"])
    if kind == "spare":
        style = replace(style, spare_mm=rng.uniform(0.5, 8.0), is_coloured=False)
    elif kind == "extenders":
        style = replace(style, extenders_mm=rng.choice([15.0, 25.0, 50.0]))
    elif kind == "own gap":
        style = replace(style, own_gap_mm=rng.choice([7.5, 10.0]))
    else:
        style = replace(style, to_come_mm=rng.choice([10.0, 15.0, 20.0]))
    return [survey(rng, plain_hole(rng), style) for _ in range(3)]


def inch_order(rng: Random) -> list[SurveyedOpening]:
    """An order in inches and eighths."""
    style = replace(plain_style(rng), unit_mm=INCH_MM, has_frame=False)
    return [survey(rng, plain_hole(rng), style) for _ in range(3)]


def large_order(rng: Random) -> list[SurveyedOpening]:
    """Openings over three metres."""
    hole = replace(plain_hole(rng), width=rng.uniform(2800, 4400), height=rng.uniform(1800, 2400))
    return [survey(rng, hole, plain_style(rng))]


def splayed_order(rng: Random) -> list[SurveyedOpening]:
    """Deep splayed reveals: the inside is much wider than the outside."""
    found = []
    for _ in range(3):
        opening = survey(rng, plain_hole(rng), replace(plain_style(rng), has_inside=True))
        assert opening.inside_width_mm is not None
        found.append(opening._replace(inside_width_mm=opening.inside_width_mm + rng.uniform(80, 250)))
    return found


def sloping_order(rng: Random) -> list[SurveyedOpening]:
    """Plumb jambs and a head out of level."""
    style = replace(plain_style(rng), is_head_sloping=True)
    found = []
    for _ in range(3):
        hole = replace(plain_hole(rng), lean=0.0)
        opening = survey(rng, hole, replace(style, diagonals=0, has_frame=False))
        slip = rng.uniform(-15, 15)
        top_left, top_right = (0.0, hole.height), (hole.width, hole.height + slip)
        bottom_left, bottom_right = (0.0, 0.0), (hole.width, slip)
        opening = opening._replace(
            diagonals_mm=(
                tape(rng, hypot(top_left[0] - bottom_right[0], top_left[1] - bottom_right[1]), style),
                tape(rng, hypot(top_right[0] - bottom_left[0], top_right[1] - bottom_left[1]), style),
            ),
        )
        found.append(with_frame(opening) if style.has_frame else opening)
    return found


ODD: dict[str, Callable[[Random], list[SurveyedOpening]]] = {
    "ordinary house": plain_order,
    "cottage, big taper and lean": cottage_order,
    "crooked walls": crooked_order,
    "bay": bay_order,
    "tall and narrow, low and wide": narrow_order,
    "square": square_order,
    "new house, equal sizes": repeated_order,
    "nearly round sizes": round_order,
    "standard sizes both ways": module_order,
    "frames smaller on purpose": spare_order,
    "inches": inch_order,
    "over three metres": large_order,
    "splayed reveals": splayed_order,
    "head out of level": sloping_order,
}
"""True surveys by kind, ordinary and odd."""


def lump_order(rng: Random) -> list[SurveyedOpening]:
    """A straight wall with one lump or hollow of 14 to 45 where a width was taken."""
    return [_with_one_width(rng, rng.choice((-1, 1)) * rng.uniform(14, 45))]


def typo_order(rng: Random) -> list[SurveyedOpening]:
    """One width anything at all: a mistake, but none that has a name."""
    return [_with_one_width(rng, rng.uniform(-1500, 1500))]


def _with_one_width(rng: Random, off_mm: float) -> SurveyedOpening:
    """An ordinary opening with one of its three widths off; the frame follows from what is written."""
    style = replace(plain_style(rng), readings=(3, 3))
    hole = plain_hole(rng)
    opening = survey(rng, hole, replace(style, has_frame=False))
    place, readings = rng.randrange(3), list(opening.widths_mm)
    readings[place] = max(float(round(readings[place] + off_mm)), 300.0)
    opening = opening._replace(widths_mm=tuple(readings))
    return with_frame(opening) if style.has_frame else opening


def small_frame_order(rng: Random) -> list[SurveyedOpening]:
    """A frame smaller than its gaps by 12 to 120 on both sides, nothing said of it."""
    opening = survey(rng, plain_hole(rng), replace(plain_style(rng), has_frame=True))
    less = rng.choice([20, 30, 40, 50, 60, 100, rng.randint(12, 120)])
    assert opening.frame_width_mm is not None
    assert opening.frame_height_mm is not None
    return [
        opening._replace(
            frame_width_mm=opening.frame_width_mm - less, frame_height_mm=opening.frame_height_mm - less
        )
    ]


ALIKE: dict[str, Callable[[Random], list[SurveyedOpening]]] = {
    "one lump or hollow of 14 to 45 mm in a straight wall": lump_order,
    "a width anything at all": typo_order,
    "frame smaller on both sides, nothing said": small_frame_order,
}
"""Surveys that look like those with a slip in them; nearly all break a limit and are asked about anyway."""


# --- mistakes -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Planted:
    """An order with one mistake in it.

    Attributes:
        order: the order.
        index: the opening with the mistake.
        reason: what kind of mistake it is.
        fields: places that lead a person to it.
        value_mm: what stood there before; None where no length did. [mm]
        within_mm: how near a candidate has to come. [mm]
        is_visible: the numbers break a limit of the rulebook, so that there is something to see.
    """

    order: list[SurveyedOpening]
    index: int
    reason: str
    fields: tuple[str, ...]
    value_mm: float | None
    within_mm: float = 0.5
    is_visible: bool = True


def broken_limits(opening: SurveyedOpening) -> set[str]:
    """Limits of the rulebook that the numbers break: spread 15, misfit 8, frame and its gaps, 150 to 6000."""
    widths, heights, diagonals = opening.widths_mm, opening.heights_mm, opening.diagonals_mm
    broken = set()
    if max(widths) - min(widths) > 15:
        broken.add("widths apart")
    if max(heights) - min(heights) > 15:
        broken.add("heights apart")
    if not 150 <= min(widths + heights) <= max(widths + heights) <= 6000:
        broken.add("range")
    lean = 0.0
    if len(diagonals) == 2:
        width, height = sum(widths) / len(widths), sum(heights) / len(heights)
        lean = abs(diagonals[0] ** 2 - diagonals[1] ** 2) / (4 * width)
        square = (diagonals[0] ** 2 + diagonals[1] ** 2) / 2 - lean**2
        if square < 0 or abs(square**0.5 - hypot(width, height)) > 8:
            broken.add("diagonals")
        lean = lean if abs(diagonals[0] - diagonals[1]) >= 5 else 0.0
    if opening.frame_width_mm is None or opening.frame_height_mm is None:
        return broken
    sill = 0.0 if opening.height_includes_sill else opening.sill_upstand_mm
    room_width = min(widths) - opening.frame_width_mm - opening.width_extenders_mm - opening.width_to_come_mm
    room_height = (
        min(heights) - opening.frame_height_mm - opening.height_extenders_mm - opening.height_to_come_mm
    )
    room_height -= sill
    for name, room, off, gap, most in (
        ("width", room_width, lean, opening.width_gap_mm, opening.width_gap_most_mm),
        ("height", room_height, 0.0, opening.height_gap_mm, opening.height_gap_most_mm),
    ):
        if room - off < gap:
            broken.add(f"frame {name} too large")
        if room - off > 2 * most:
            broken.add(f"frame {name} too small")
    return broken


def is_seen(wrong: SurveyedOpening, true: SurveyedOpening) -> bool:
    """The mistake breaks a limit that the opening kept without it."""
    return bool(broken_limits(wrong) - broken_limits(true))


def swapped_digits(rng: Random, value: float) -> float | None:
    """The length with two digits changed over, mostly neighbours; None where that leaves no other length."""
    text = f"{value:g}"
    first = rng.randrange(len(text) - 1)
    second = first + 1 if rng.random() < 0.8 else rng.randrange(len(text))
    signs = list(text)
    signs[first], signs[second] = signs[second], signs[first]
    after = "".join(signs)
    if after == text or after[0] == "0" or "." in text:
        return None
    return float(after)


def stepped(rng: Random, value: float) -> float | None:
    """The length a round step off."""
    after = value + rng.choice((-1, 1)) * rng.choice([50, 100, 200, 500, 1000])
    return after if after > 100 else None


def in_other_unit(rng: Random, value: float) -> float | None:
    """The number a tape in inches, centimetres or metres gave, or a digit too many."""
    return rng.choice(
        [
            round(value / INCH_MM * 8) / 8,
            float(round(value / INCH_MM)),
            round(value / 10, 1),
            round(value / 1000, 3),
            value * 10,
        ]
    )


SLIPS: dict[str, Callable[[Random, float], float | None]] = {
    "reading-digits-swapped": swapped_digits,
    "reading-step-slip": stepped,
    "reading-unit-slip": in_other_unit,
}


def _order_about(rng: Random, make: Callable[[Random], SurveyedOpening]) -> tuple[list[SurveyedOpening], int]:
    """An ordinary order with the opening somewhere in it."""
    order = plain_order(rng)[: rng.randint(0, 5)]
    index = rng.randint(0, len(order))
    order.insert(index, make(rng))
    return order, index


def plant_in_reading(
    rng: Random, reason: str, style: Style, *, frame_from: str = "either", hole: Hole | None = None
) -> Planted | None:
    """A slip in one reading; the frame was made before the slip or from it."""
    hole = plain_hole(rng) if hole is None else hole
    order, index = _order_about(rng, lambda each: survey(each, hole, replace(style, has_frame=False)))
    opening = order[index]
    group = rng.choice(["widths", "heights"])
    readings = opening.widths_mm if group == "widths" else opening.heights_mm
    place = rng.randrange(len(readings))
    after = SLIPS[reason](rng, readings[place])
    if after is None or after == readings[place]:
        return None
    changed = (*readings[:place], after, *readings[place + 1 :])
    wrong = opening._replace(**{f"{group}_mm": changed})
    if style.has_frame:
        is_before = frame_from == "before" or (frame_from == "either" and rng.random() < 0.5)
        framed = with_frame(opening if is_before else wrong)
        if min(framed.frame_width_mm or 0, framed.frame_height_mm or 0) <= 0:
            return None
        wrong = wrong._replace(frame_width_mm=framed.frame_width_mm, frame_height_mm=framed.frame_height_mm)
    order[index] = wrong
    within = 13.0 if reason == "reading-unit-slip" else 0.5
    fields = (f"{group}/{place}", group)
    return Planted(order, index, reason, fields, readings[place], within, is_seen(wrong, opening))


def plant_in_axis(rng: Random, reason: str, style: Style) -> Planted | None:
    """The same slip in all readings of one axis: a tape hooked wrong, a column in another unit."""
    style = replace(style, has_frame=True, diagonals=2)
    order, index = _order_about(rng, lambda each: survey(each, plain_hole(each), style))
    opening = order[index]
    group = rng.choice(["widths", "heights"])
    readings = opening.widths_mm if group == "widths" else opening.heights_mm
    if reason == "reading-step-slip":
        step = rng.choice((-1, 1)) * rng.choice([100, 200, 500, 1000])
        after = tuple(each + step for each in readings)
    else:
        factor = rng.choice([1 / 10, 1 / INCH_MM, 1 / 1000])
        after = tuple(round(each * factor, 3) for each in readings)
    if min(after) <= 0:
        return None
    wrong = opening._replace(**{f"{group}_mm": after})
    order[index] = wrong
    fields = (group, *(f"{group}/{place}" for place in range(3)))
    return Planted(order, index, reason, fields, min(readings), 2.0, is_seen(wrong, opening))


def plant_in_diagonal(rng: Random, reason: str, style: Style) -> Planted | None:
    """A slip in one of two diagonals."""
    order, index = _order_about(rng, lambda each: survey(each, plain_hole(each), replace(style, diagonals=2)))
    opening = order[index]
    place = rng.randrange(2)
    before = opening.diagonals_mm[place]
    after = SLIPS[reason](rng, before)
    if after is None or after == before:
        return None
    changed = (after, opening.diagonals_mm[1]) if place == 0 else (opening.diagonals_mm[0], after)
    wrong = opening._replace(diagonals_mm=changed)
    order[index] = wrong
    within = 13.0 if reason == "reading-unit-slip" else 0.5
    return Planted(order, index, reason, (f"diagonals/{place}",), before, within, is_seen(wrong, opening))


def plant_in_frame(rng: Random, reason: str, style: Style) -> Planted | None:
    """A slip in one side of the stated frame."""
    order, index = _order_about(
        rng, lambda each: survey(each, plain_hole(each), replace(style, has_frame=True))
    )
    opening = order[index]
    axis = rng.choice(["width", "height"])
    before = opening.frame_width_mm if axis == "width" else opening.frame_height_mm
    assert before is not None
    after = SLIPS[reason](rng, before)
    if after is None or after == before:
        return None
    wrong = opening._replace(**{f"frame_{axis}_mm": after})
    order[index] = wrong
    within = 13.0 if reason == "reading-unit-slip" else 0.5
    return Planted(order, index, reason, (f"frame/{axis}",), before, within, is_seen(wrong, opening))


def plant_exchange(rng: Random, style: Style) -> Planted | None:
    """One width and one height in each other's place."""
    order, index = _order_about(rng, lambda each: survey(each, plain_hole(each), style))
    opening = order[index]
    column, row = rng.randrange(3), rng.randrange(3)
    width, height = opening.widths_mm[column], opening.heights_mm[row]
    widths, heights = list(opening.widths_mm), list(opening.heights_mm)
    widths[column], heights[row] = height, width
    wrong = opening._replace(widths_mm=tuple(widths), heights_mm=tuple(heights))
    order[index] = wrong
    fields = (f"widths/{column}", f"heights/{row}")
    return Planted(order, index, "width-height-swapped", fields, width, 0.5, is_seen(wrong, opening))


def plant_turned_frame(rng: Random, style: Style) -> Planted | None:
    """Width and height of the frame changed over."""
    order, index = _order_about(
        rng, lambda each: survey(each, plain_hole(each), replace(style, has_frame=True))
    )
    opening = order[index]
    if abs(min(opening.widths_mm) - min(opening.heights_mm)) <= 5:
        return None
    wrong = opening._replace(frame_width_mm=opening.frame_height_mm, frame_height_mm=opening.frame_width_mm)
    order[index] = wrong
    fields = ("frame/width", "frame/height", "frame")
    return Planted(
        order, index, "width-height-swapped", fields, opening.frame_width_mm, 0.5, is_seen(wrong, opening)
    )


def plant_turned_survey(rng: Random, style: Style) -> Planted | None:
    """Width and height of the whole survey changed over, among windows that are alike."""
    hole = plain_hole(rng)
    if abs(hole.width - hole.height) < 40:
        return None
    alike = [
        survey(
            rng,
            replace(hole, width=hole.width + rng.gauss(0, 2), height=hole.height + rng.gauss(0, 2)),
            style,
        )
        for _ in range(rng.randint(3, 5))
    ]
    index = rng.randrange(len(alike))
    true = alike[index]
    turned = true._replace(widths_mm=true.heights_mm, heights_mm=true.widths_mm)
    wrong = with_frame(turned) if style.has_frame else turned
    alike[index] = wrong
    fields = ("widths", "heights", "widths/0", "heights/0")
    return Planted(alike, index, "width-height-swapped", fields, min(true.widths_mm), 0.5)


def plant_office(rng: Random, reason: str, style: Style) -> Planted | None:
    """The office worked out one side of the frame in a wrong way."""
    sill = 30.0 if reason.startswith("sill") else style.sill_mm
    style = replace(style, has_frame=True, sill_mm=sill, has_inside=reason == "measured-to-wrong-face")
    order, index = _order_about(rng, lambda each: survey(each, plain_hole(each), style))
    opening = order[index]
    axis = "height" if reason.startswith("sill") else rng.choice(["width", "height"])
    before = opening.frame_width_mm if axis == "width" else opening.frame_height_mm
    readings = opening.widths_mm if axis == "width" else opening.heights_mm
    inside = opening.inside_width_mm if axis == "width" else opening.inside_height_mm
    gap = opening.width_gap_mm if axis == "width" else opening.height_gap_mm
    assert before is not None
    changes = {
        "average-reading-used": float(round(sum(readings) / len(readings) - min(readings))),
        "gap-taken-twice": -gap,
        "sill-height-forgotten": sill,
        "sill-height-counted-twice": -sill,
        "measured-to-wrong-face": 0.0 if inside is None else inside - min(readings),
    }
    wrong = opening._replace(**{f"frame_{axis}_mm": before + changes[reason]})
    order[index] = wrong
    is_visible = reason == "gap-taken-twice" or is_seen(wrong, opening)
    return Planted(
        order, index, reason, (f"frame/{axis}",), before, 1.0, is_visible and bool(changes[reason])
    )


def plant_copied(rng: Random, style: Style) -> Planted | None:
    """A nominal size written down three times."""
    order, index = _order_about(rng, lambda each: survey(each, plain_hole(each), style))
    width, height = rng.randrange(600, 2400, 50), rng.randrange(600, 2100, 50)
    diagonal = float(round(hypot(width, height)))
    wrong = order[index]._replace(
        widths_mm=(float(width),) * 3,
        heights_mm=(float(height),) * 3,
        diagonals_mm=(diagonal,) * style.diagonals,
    )
    order[index] = with_frame(wrong) if style.has_frame else wrong
    return Planted(order, index, "readings-look-copied", ("widths", "heights"), None)


THREE = Style()
"""Three readings on each axis, both diagonals, a stated frame."""


def _any_style(rng: Random, **changes: object) -> Style:
    """Three readings; diagonals, frame, colour, sill as they come."""
    return replace(plain_style(rng), **{"readings": (3, 3), **changes})  # type: ignore[arg-type]


def _slip_mistakes() -> dict[str, Callable[[Random], Planted | None]]:
    """Slips of pen, tape and unit, by what else there is to judge them by."""
    found: dict[str, Callable[[Random], Planted | None]] = {}
    for reason, word in (
        ("reading-digits-swapped", "digits swapped"),
        ("reading-step-slip", "round step"),
        ("reading-unit-slip", "other unit"),
    ):
        found[f"{word}: one reading of three"] = lambda rng, reason=reason: plant_in_reading(
            rng, reason, _any_style(rng)
        )
        found[f"{word}: one of two, both diagonals"] = lambda rng, reason=reason: plant_in_reading(
            rng, reason, _any_style(rng, readings=(2, 2), diagonals=2)
        )
        found[f"{word}: lone reading, both diagonals"] = lambda rng, reason=reason: plant_in_reading(
            rng, reason, _any_style(rng, readings=(1, 1), diagonals=2, has_frame=False)
        )
        found[f"{word}: lone reading, frame made before"] = lambda rng, reason=reason: plant_in_reading(
            rng, reason, _any_style(rng, readings=(1, 1), diagonals=0, has_frame=True), frame_from="before"
        )
        found[f"{word}: a diagonal"] = lambda rng, reason=reason: plant_in_diagonal(
            rng, reason, _any_style(rng)
        )
        found[f"{word}: the frame"] = lambda rng, reason=reason: plant_in_frame(rng, reason, _any_style(rng))
        if reason != "reading-digits-swapped":
            found[f"{word}: all readings of an axis"] = lambda rng, reason=reason: plant_in_axis(
                rng, reason, _any_style(rng)
            )
    return found


def _office_mistakes() -> dict[str, Callable[[Random], Planted | None]]:
    """Mistakes in working out the frame."""
    words = {
        "average-reading-used": "average of the readings used",
        "gap-taken-twice": "gap taken twice",
        "sill-height-counted-twice": "sill counted twice",
        "sill-height-forgotten": "sill forgotten",
        "measured-to-wrong-face": "frame from the inside size",
    }
    return {
        word: lambda rng, reason=reason: plant_office(rng, reason, _any_style(rng))
        for reason, word in words.items()
    }


MISTAKES: dict[str, Callable[[Random], Planted | None]] = {
    **_slip_mistakes(),
    "one width and one height changed over": lambda rng: plant_exchange(rng, _any_style(rng)),
    "frame turned": lambda rng: plant_turned_frame(rng, plain_style(rng)),
    "survey turned, windows alike": lambda rng: plant_turned_survey(rng, plain_style(rng)),
    **_office_mistakes(),
    "readings copied": lambda rng: plant_copied(rng, _any_style(rng)),
}
"""Every kind of mistake by what there is to see it by."""
