"""Sizes of a drawing: dimension lines outside the wall, chains of divider places, gaps in the wall.

Lines end in oblique strokes and heights read from the right (ISO 129-1, from memory).
"""

import itertools
from collections.abc import Iterable, Sequence
from typing import Final

from sawready.report.drawing_scene import Anchor, Line, Scene, Text, text_width
from sawready.report.order_view import ApertureView, Box, OpeningView, Side, mm_text, turned_side

ROW: Final = 1.75
"""From one dimension line to the next. [em]"""

WALL: Final = 2.1
"""How much of the wall is drawn round the opening. [em]"""

START: Final[Anchor] = "start"
MIDDLE: Final[Anchor] = "middle"

_SIZE: Final = 0.82
_TICK: Final = 0.3
_MOST_CHAINS: Final = 4

Dimension = tuple[float, float, str]
"""From, to, and what is written."""


def level_rows(view: OpeningView) -> tuple[list[list[Dimension]], list[list[Dimension]]]:
    """Rows of dimensions above and below the window, the nearest to it first. [mm]."""
    above: list[list[Dimension]] = []
    below: list[list[Dimension]] = []
    if view.frame is not None:
        above.append([(0.0, view.frame.width, f"frame {mm_text(view.frame.width)}")])
        if view.may_be_made:
            below.extend(_chains(view, "mullion", view.frame.width))
    if view.aperture is not None:
        box = view.aperture.clear
        above.append([(box.x, box.right, f"opening {mm_text(view.aperture.width_mm)}{_lean(view, 'width')}")])
    if view.sill is not None and view.may_be_made:
        sill = view.sill
        horns = ""
        if sill.horn_left_mm is not None and sill.horn_right_mm is not None:
            horns = f" (horns {mm_text(sill.horn_left_mm)} and {mm_text(sill.horn_right_mm)})"
        below.append([(sill.box.x, sill.box.right, f"sill {mm_text(sill.box.width)}{horns}")])
    return above, below


def upright_rows(view: OpeningView) -> tuple[list[list[Dimension]], list[list[Dimension]]]:
    """Rows of dimensions left and right of the window, the nearest to it first. [mm]."""
    left: list[list[Dimension]] = []
    right: list[list[Dimension]] = []
    if view.frame is not None:
        left.append([(0.0, view.frame.height, f"frame {mm_text(view.frame.height)}")])
        if view.sill is not None:
            bottom = view.sill.box.bottom
            left.append([(0.0, bottom, f"with sill {mm_text(bottom)}")])
        if view.may_be_made:
            right.extend(_chains(view, "transom", view.frame.height))
    if view.aperture is not None:
        box = view.aperture.clear
        left.append(
            [(box.y, box.bottom, f"opening {mm_text(view.aperture.height_mm)}{_lean(view, 'height')}")]
        )
    return left, right


def _lean(view: OpeningView, axis: str) -> str:
    aperture = view.aperture
    if aperture is None or not aperture.lean_mm:
        return ""
    free = (
        aperture.width_mm - aperture.clear.width
        if axis == "width"
        else aperture.height_mm - aperture.clear.height
    )
    return f", {mm_text(aperture.lean_mm)} of it lean" if free > aperture.lean_mm / 2 else ""


def _chains(view: OpeningView, part: str, whole: float) -> list[list[Dimension]]:
    """A chain from edge to edge over the centre lines of dividers that stand in one field."""
    groups: dict[tuple[float, float], list[float]] = {}
    for divider in view.dividers:
        if divider.part == part:
            box = divider.box
            span = (box.y, box.bottom) if part == "mullion" else (box.x, box.right)
            groups.setdefault(span, []).append(divider.centre)
    rows = []
    for centres in list(dict.fromkeys(tuple(sorted(group)) for group in groups.values()))[:_MOST_CHAINS]:
        stops = [0.0, *centres, whole]
        rows.append([(start, end, mm_text(end - start)) for start, end in itertools.pairwise(stops)])
    return rows


def add_level(scene: Scene, y: float, row: Iterable[Dimension], from_y: float) -> list[Text]:
    """A row of dimensions along y, with lines that lead there from ``from_y``. [mm].

    Returns: what is to be written, for when every line is drawn.
    """
    em = scene.em
    texts = []
    for start, end, text in row:
        for x in (start, end):
            _lead(scene, (x, from_y), (x, y))
            _stroke(scene, x, y)
        scene.add(Line(((start, y), (end, y)), "size", "dimension"))
        if text_width(text, _SIZE) * em <= end - start:
            at, anchor = ((start + end) / 2, y - 0.28 * em), MIDDLE
        else:
            at, anchor = (end + 0.35 * em, y - 0.28 * em), START
        texts.append(Text(at, text, _SIZE, anchor, part="size", backed="page"))
    return texts


def add_upright(scene: Scene, x: float, row: Iterable[Dimension], from_x: float) -> list[Text]:
    """A column of dimensions along x, with lines that lead there from ``from_x``. [mm].

    Returns: what is to be written, for when every line is drawn.
    """
    em = scene.em
    texts = []
    for start, end, text in row:
        for y in (start, end):
            _lead(scene, (from_x, y), (x, y))
            _stroke(scene, x, y)
        scene.add(Line(((x, start), (x, end)), "size", "dimension"))
        if text_width(text, _SIZE) * em <= end - start:
            at, anchor = (x - 0.28 * em, (start + end) / 2), MIDDLE
        else:
            at, anchor = (x - 0.28 * em, start - 0.35 * em), START
        texts.append(Text(at, text, _SIZE, anchor, is_upright=True, part="size", backed="page"))
    return texts


def _lead(scene: Scene, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A thin line past the dimension line, so that both are seen to meet."""
    length = abs(end[0] - start[0]) + abs(end[1] - start[1])
    if length:
        past = 0.4 * scene.em / length
        tip = (end[0] + (end[0] - start[0]) * past, end[1] + (end[1] - start[1]) * past)
        scene.add(Line((start, tip), "thin", "leader"))


def _stroke(scene: Scene, x: float, y: float) -> None:
    reach = _TICK * scene.em
    scene.add(Line(((x - reach, y + reach), (x + reach, y - reach)), "tick", "tick"))


def add_gaps(scene: Scene, view: OpeningView) -> None:
    """The gap at each side, written in the wall beside it."""
    aperture, frame = view.aperture, view.frame
    clearance = view.published.get("clearance")
    if aperture is None or frame is None or clearance is None:
        return
    em, box = scene.em, outline_box(aperture)
    middle = WALL / 2 * em
    places: Sequence[tuple[Side, float, float]] = (
        ("left", box.x - middle + 0.28 * em, box.y + 0.3 * box.height),
        ("right", box.right + middle + 0.28 * em, box.y + 0.3 * box.height),
        ("top", box.x + 0.3 * box.width, box.y - middle + 0.28 * em),
        ("bottom", box.x + 0.3 * box.width, box.bottom + middle + 0.28 * em),
    )
    for side, x, y in places:
        stated = clearance[f"{side if view.view == 'outside' else turned_side(side)}_mm"]
        if stated is not None:
            is_upright = side in {"left", "right"}
            text = f"gap {mm_text(stated)}"
            scene.add(
                Text((x, y), text, _SIZE, MIDDLE, is_upright=is_upright, part=f"gap-{side}", backed="wall")
            )


def outline_box(aperture: ApertureView) -> Box:
    """The upright rectangle round the opening in the wall. [mm]."""
    xs, ys = zip(*aperture.outline, strict=True)
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def outermost(boxes: Iterable[Box]) -> Box:
    """The rectangle round all of some."""
    all_boxes = list(boxes)
    x, y = min(box.x for box in all_boxes), min(box.y for box in all_boxes)
    return Box(x, y, max(box.right for box in all_boxes) - x, max(box.bottom for box in all_boxes) - y)
