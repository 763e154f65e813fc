"""The elevation of an opening, to scale: what is ordered, seen from one side that the drawing names.

One unit of the drawing is one millimetre. The look is our own: ink on paper, earth tones for wall and sill.
"""

from dataclasses import dataclass
from typing import Final

from sawready.model.order import View
from sawready.report.drawing_findings import add_markers
from sawready.report.drawing_marks import Triangle, add_opening_marks
from sawready.report.drawing_page import EDGE, EMS_ACROSS, add_page
from sawready.report.drawing_scene import Circle, Line, Rectangle, Scene, Text, text_width
from sawready.report.drawing_sizes import (
    ROW,
    WALL,
    add_gaps,
    add_level,
    add_upright,
    level_rows,
    outermost,
    outline_box,
    upright_rows,
)
from sawready.report.drawing_words import words_of
from sawready.report.order_view import Box, LightView, OpeningView, Point


@dataclass(frozen=True, slots=True)
class DrawingStyle:
    """How an opening is drawn.

    Attributes:
        view: the side that it is seen from.
        triangle: where the point of the opening triangle is.
        em_mm: height of ordinary text; None for a 46th of the larger side. [mm]
        has_frame_text: title above, legend and lists below; without them only window, sizes and markers.
    """

    view: View = "outside"
    triangle: Triangle = "apex-at-hinge"
    em_mm: float | None = None
    has_frame_text: bool = True


_LEAST_TEXT: Final = 0.4
"""A number smaller than this is left out. [em]"""

OUTSIDE: Final = DrawingStyle()
"""As an elevation is drawn where nobody asks for another: from outside, points at the hinges."""


def drawing(opening: OpeningView, style: DrawingStyle = OUTSIDE) -> Scene:
    """The elevation of an opening.

    Args:
        opening: what is drawn; a faulty one is drawn as far as its sizes are known.
        style: view, convention and text.
    Returns: the scene, one unit a millimetre.
    """
    view = opening.seen_from(style.view)
    window = _window(view)
    em = style.em_mm or max(window.width, window.height) / EMS_ACROSS
    scene = Scene(em, window, f"{view.name}, seen from {view.view}", list(words_of(view)))
    if view.aperture is None:
        scene.add(
            Text((0.0, 2 * em), "Nothing to draw: width and height are not both known.", part="nothing")
        )
        picture = Box(0.0, 0.0, window.width, 3 * em)
    else:
        _add_wall(scene, view)
        _add_window(scene, view, style.triangle)
        picture = _add_sizes(scene, view, outermost((window.grown(WALL * em), window)))
    add_markers(scene, view, picture.right)
    page = picture.grown(EDGE * em)
    scene.page = add_page(scene, view, style.triangle, page) if style.has_frame_text else page
    return scene


def margins_of(opening: OpeningView) -> tuple[Box, float, float]:
    """The window itself, and the room that wall and sizes take across and down. [mm, em, em].

    For a painter that fits a drawing into a box of its own: with text of ``t`` and a box of ``b`` across, the
    em is ``t * width / (b - t * across)``.
    """
    window = _window(opening)
    above, below = level_rows(opening)
    left, right = upright_rows(opening)
    across = 2 * WALL + ROW * (len(left) + len(right)) + 2 * EDGE + 0.6
    down = 2 * WALL + ROW * (len(above) + len(below)) + 2 * EDGE + 0.6
    return window, across, down


def _window(view: OpeningView) -> Box:
    """Everything of the window and the opening in the wall. [mm]."""
    boxes = [box for _, box in view.extenders]
    if view.frame is not None:
        boxes.append(view.frame)
    if view.aperture is not None:
        boxes.append(outline_box(view.aperture))
    if view.sill is not None:
        boxes.append(view.sill.box)
    return outermost(boxes) if boxes else Box(0.0, 0.0, 1000.0, 400.0)


def _add_wall(scene: Scene, view: OpeningView) -> None:
    aperture = view.aperture
    if aperture is None:
        return
    scene.add(Rectangle(outline_box(aperture).grown(WALL * scene.em), "wall", "wall"))
    scene.add(Line(aperture.outline, "aperture", "aperture", is_closed=True))


def _add_window(scene: Scene, view: OpeningView, convention: Triangle) -> None:
    if view.sill is not None:
        scene.add(Rectangle(view.sill.box, "sill", "sill"))
    for side, box in view.extenders:
        scene.add(Rectangle(box, "extender", f"extender-{side}"))
    if view.frame is None:
        return
    scene.add(Rectangle(view.frame, "member", "frame"))
    if not view.lights:
        return
    _add_mitres(scene, view.frame, view.frame.grown(-view.face_mm))
    for divider in view.dividers:
        scene.add(Rectangle(divider.box, "member", divider.part))
    for light in view.lights:
        _add_light(scene, view, light, convention)
    _add_holes(scene, view)
    for light in view.lights:
        _add_label(scene, view, light)


def _add_light(scene: Scene, view: OpeningView, light: LightView, convention: Triangle) -> None:
    if light.daylight.width <= 0 or light.daylight.height <= 0:
        return
    scene.add(Rectangle(light.daylight, "glass", "daylight", light.number))
    if light.sash is not None and light.glass.width > 0 and light.glass.height > 0:
        scene.add(Rectangle(light.sash, "sash", "sash", light.number))
        _add_mitres(scene, light.sash, light.glass, light.number)
        scene.add(Rectangle(light.glass, "glass", "glass", light.number))
        add_opening_marks(scene, light, view.view, convention)


def _add_mitres(scene: Scene, outer: Box, inner: Box, light: int | None = None) -> None:
    if inner.width <= 0 or inner.height <= 0:
        return
    corners: tuple[tuple[Point, Point], ...] = (
        ((outer.x, outer.y), (inner.x, inner.y)),
        ((outer.right, outer.y), (inner.right, inner.y)),
        ((outer.right, outer.bottom), (inner.right, inner.bottom)),
        ((outer.x, outer.bottom), (inner.x, inner.bottom)),
    )
    scene.add(*(Line(ends, "thin", "mitre", light) for ends in corners))


def _add_holes(scene: Scene, view: OpeningView) -> None:
    """Fixing holes in the face of the frame."""
    frame = view.frame
    if frame is None or not view.may_be_made:
        return
    inset = view.face_mm * 0.4
    radius = min(0.2 * scene.em, view.face_mm * 0.3)
    for side, places in view.holes.items():
        for place in places:
            match side:
                case "left":
                    at = (inset, place)
                case "right":
                    at = (frame.width - inset, place)
                case "top":
                    at = (place, inset)
                case _:
                    at = (place, frame.height - inset)
            scene.add(Circle(at, radius, "hole", f"hole-{side}"))


def _add_label(scene: Scene, view: OpeningView, light: LightView) -> None:
    """Number and glass size in the middle of a light, as far as there is room."""
    em, box = scene.em, light.glass
    size = min(1.25, 0.7 * min(box.width, box.height) / em)
    if size < _LEAST_TEXT:
        return
    x, y = box.middle
    lines = ["fixed" if light.sash is None else light.kind.replace("tilt-turn", "tilt and turn")]
    published = view.published.get("lights") or []
    if len(published) >= light.number and published[light.number - 1]["glass_mm"] is not None:
        width, height = published[light.number - 1]["glass_mm"]
        lines.append(f"glass {width} × {height}")
    fitting = [line for line in lines if text_width(line, 0.75) * em < 0.94 * box.width]
    if box.height < (1.6 + 1.1 * len(fitting)) * em:
        fitting = []
    top = y - (0.5 * len(fitting)) * em
    scene.add(
        Text(
            (x, top + 0.25 * em),
            str(light.number),
            size,
            "middle",
            is_bold=True,
            part="light-number",
            backed="glass",
        )
    )
    for number, line in enumerate(fitting, 1):
        scene.add(
            Text(
                (x, top + (0.25 + 1.05 * number) * em),
                line,
                0.75,
                "middle",
                part="light-text",
                backed="glass",
            )
        )


def _add_sizes(scene: Scene, view: OpeningView, round_it: Box) -> Box:
    """Gaps and dimension lines; gives the room that picture and sizes take. [mm]."""
    em = scene.em
    above, below = level_rows(view)
    left, right = upright_rows(view)
    window = _window(view)
    texts: list[Text] = []
    for number, row in enumerate(above, 1):
        texts += add_level(scene, round_it.y - ROW * number * em + 0.5 * em, row, window.y)
    for number, row in enumerate(below, 1):
        texts += add_level(scene, round_it.bottom + (ROW * number - 0.3) * em, row, window.bottom)
    for number, row in enumerate(left, 1):
        texts += add_upright(scene, round_it.x - ROW * number * em + 0.5 * em, row, window.x)
    for number, row in enumerate(right, 1):
        texts += add_upright(scene, round_it.right + (ROW * number - 0.3) * em, row, window.right)
    scene.add(*texts)
    add_gaps(scene, view)
    x = round_it.x - ROW * len(left) * em
    y = round_it.y - ROW * len(above) * em
    end = round_it.right + (ROW * len(right) + 0.3) * em
    bottom = round_it.bottom + (ROW * len(below) + 0.3) * em
    return Box(x, y, end - x, bottom - y)
