"""The legend of a drawing: every sign that is in it, drawn again beside its meaning."""

from collections.abc import Callable
from typing import Final

from sawready.report.drawing_marks import Triangle, opens_towards
from sawready.report.drawing_scene import Circle, Line, Rectangle, Scene, Text, text_width
from sawready.report.order_view import Box, OpeningView, Point

APEX_WORDS: Final[dict[Triangle, str]] = {
    "apex-at-hinge": "triangle: its point is at the hinges",
    "apex-at-handle": "triangle: its point is away from the hinges",
}
TOWARDS_WORDS: Final = "full line: opens towards you, as seen here (EN 12519)"
AWAY_WORDS: Final = "broken line: opens away from you, as seen here (EN 12519)"

_SIZE: Final = 0.8
_SIGN: Final = 2.2
"""Room for a sign. [em]"""

Sign = Callable[[Scene, float, float], None]


def legend_of(view: OpeningView, convention: Triangle) -> list[tuple[Sign, str]]:
    """Signs with their meanings, for what is in the drawing."""
    found: list[tuple[Sign, str]] = []
    opening = [light for light in view.lights if light.sash is not None]
    if opening:
        found.append((_hinge_sign, "hinge"))
        handles = "handle" if view.view == "inside" else "handle (it is on the inside)"
        found.append((_handle_sign, handles))
        found.append((_triangle_sign(convention), APEX_WORDS[convention]))
        if any(opens_towards(light, view.view) for light in opening):
            found.append((_line_sign("towards"), TOWARDS_WORDS))
        if not all(opens_towards(light, view.view) for light in opening):
            found.append((_line_sign("away"), AWAY_WORDS))
    if view.holes and view.may_be_made:
        found.append((_hole_sign, "fixing hole, with a packer"))
    if view.frame is not None:
        found.append((_wall_sign, "wall; gap: from frame, extender or sill to the wall"))
    return found


def add_legend(scene: Scene, view: OpeningView, convention: Triangle, at: Point, width: float) -> float:
    """Writes the legend in as many rows as it takes.

    Args:
        scene: the drawing.
        view: the opening.
        convention: where the point of the opening triangle is.
        at: its upper left corner. [mm]
        width: of the page's text. [mm]
    Returns: where it ends. [mm]
    """
    em = scene.em
    (x, y), edge = at, at[0]
    y += 1.2 * em
    for sign, words in legend_of(view, convention):
        room = (_SIGN + 0.5 + text_width(words, _SIZE) + 1.6) * em
        if x > edge and x + room > edge + width:
            x, y = edge, y + 1.7 * em
        sign(scene, x, y - 0.3 * em)
        scene.add(Text((x + (_SIGN + 0.4) * em, y), words, _SIZE, part="legend"))
        x += room
    return y + 0.6 * em


def _hinge_sign(scene: Scene, x: float, y: float) -> None:
    em = scene.em
    scene.add(Rectangle(Box(x + 0.85 * em, y - 0.65 * em, 0.5 * em, 1.3 * em), "hinge", "legend-hinge"))


def _handle_sign(scene: Scene, x: float, y: float) -> None:
    em = scene.em
    scene.add(
        Rectangle(Box(x + 0.6 * em, y - 0.2 * em, 1.4 * em, 0.4 * em), "handle", "legend-handle"),
        Circle((x + 0.6 * em, y), 0.36 * em, "handle", "legend-handle"),
    )


def _triangle_sign(convention: Triangle) -> Sign:
    def sign(scene: Scene, x: float, y: float) -> None:
        em = scene.em
        box = Box(x + 0.3 * em, y - 0.65 * em, 1.7 * em, 1.3 * em)
        scene.add(Rectangle(box, "glass", "legend-triangle"))
        point, base = (box.x, box.right) if convention == "apex-at-hinge" else (box.right, box.x)
        scene.add(
            Line(
                ((base, box.y), (point, box.y + box.height / 2), (base, box.bottom)),
                "towards",
                "legend-triangle",
            ),
            Rectangle(Box(box.x - 0.18 * em, y - 0.3 * em, 0.36 * em, 0.6 * em), "hinge", "legend-triangle"),
        )

    return sign


def _line_sign(pen: str) -> Sign:
    def sign(scene: Scene, x: float, y: float) -> None:
        scene.add(Line(((x, y), (x + _SIGN * scene.em, y)), pen, "legend-line"))

    return sign


def _hole_sign(scene: Scene, x: float, y: float) -> None:
    scene.add(Circle((x + 1.1 * scene.em, y), 0.2 * scene.em, "hole", "legend-hole"))


def _wall_sign(scene: Scene, x: float, y: float) -> None:
    em = scene.em
    scene.add(Rectangle(Box(x, y - 0.6 * em, _SIGN * em, 1.2 * em), "wall", "legend-wall"))
