"""Opening marks of a light: hinges and handle drawn as what they are, and the triangle by either convention.

Half of the trade puts the point of the opening triangle at the hinges, the other half at the handle, so
the triangle alone can be read as the mirror image. Here hinges and handle are drawn besides.

Full lines stand for a light that opens towards the viewer, broken lines for one that opens away (EN 12519,
annex A.1, as a trade guide reports it; the standard itself was not read). From the other side of the wall the
same light has the other kind of line.
"""

from typing import Final, Literal

from sawready.model.order import View
from sawready.report.drawing_scene import Circle, Line, Rectangle, Scene
from sawready.report.order_view import OTHER, Box, LightView, Point, Side

Triangle = Literal["apex-at-hinge", "apex-at-handle"]

TRIANGLES: Final[tuple[Triangle, ...]] = ("apex-at-hinge", "apex-at-handle")
"""The two conventions for the point of the opening triangle."""

_HINGE_PLACES: Final = (0.15, 0.85)
"""Where two hinges sit along their side, as a share of it (for the picture only)."""

_LEVER_MM: Final = 95.0
_ROSE_MM: Final = 24.0
_HINGE_MM: Final = (26.0, 70.0)
"""About as large as the real things, so that they look like them; in a large window they are drawn larger."""


def opens_towards(light: LightView, view: View) -> bool:
    """Whether an opening light comes towards the viewer.

    Args:
        light: an opening light.
        view: the side that it is seen from.
    """
    return (light.opens == "outward") == (view == "outside")


def line_pen(light: LightView, view: View) -> str:
    """The pen of a light's opening lines: full towards the viewer, broken away (EN 12519, annex A.1)."""
    return "towards" if opens_towards(light, view) else "away"


def swings(light: LightView) -> tuple[Side, ...]:
    """Sides that the light turns about: a tilt and turn light has two."""
    if light.hinge is None:
        return ()
    return (light.hinge, "bottom") if light.kind == "tilt-turn" else (light.hinge,)


def triangle(box: Box, hinge: Side, convention: Triangle) -> tuple[Point, Point, Point]:
    """The opening triangle of a light: two corners, with its point between them.

    Args:
        box: the glass that can be seen. [mm]
        hinge: side of the hinges in this view.
        convention: where the point is.
    Returns: corner, point, corner. [mm]
    Example:
        >>> triangle(Box(0, 0, 100, 200), "left", "apex-at-hinge")
        ((100, 0), (0.0, 100.0), (100, 200))
    """
    point_side = hinge if convention == "apex-at-hinge" else OTHER[hinge]
    first, second = _corners(box, OTHER[point_side])
    return first, _middle_of(box, point_side), second


def _corners(box: Box, side: Side) -> tuple[Point, Point]:
    match side:
        case "left":
            return (box.x, box.y), (box.x, box.bottom)
        case "right":
            return (box.right, box.y), (box.right, box.bottom)
        case "top":
            return (box.x, box.y), (box.right, box.y)
        case _:
            return (box.x, box.bottom), (box.right, box.bottom)


def _middle_of(box: Box, side: Side) -> Point:
    first, second = _corners(box, side)
    return (first[0] + second[0]) / 2, (first[1] + second[1]) / 2


def add_opening_marks(scene: Scene, light: LightView, view: View, convention: Triangle) -> None:
    """Triangle, hinges and handle of an opening light; nothing for a fixed one."""
    if light.sash is None or light.hinge is None:
        return
    pen = line_pen(light, view)
    for side in swings(light):
        scene.add(Line(triangle(light.glass, side, convention), pen, "opening", light.number))
    add_hinges(scene, light.sash, light.hinge, light.number)
    if light.kind == "tilt-turn":
        add_hinges(scene, light.sash, "bottom", light.number, part="tilt-hinge")
    add_handle(scene, light.sash, light.glass, light.handle or "right", light.number)


def add_hinges(scene: Scene, sash: Box, side: Side, number: int | None, *, part: str = "hinge") -> None:
    """Two leaves that straddle the edge of a sash."""
    along = sash.height if side in {"left", "right"} else sash.width
    thick = max(_HINGE_MM[0], 0.5 * scene.em)
    long = min(max(_HINGE_MM[1], 1.4 * scene.em), 0.26 * along)
    for share in _HINGE_PLACES:
        middle = share * along
        start = min(max(middle - long / 2, 0.0), along - long)
        if side in {"left", "right"}:
            edge = sash.x if side == "left" else sash.right
            leaf = Box(edge - thick / 2, sash.y + start, thick, long)
        else:
            edge = sash.y if side == "top" else sash.bottom
            leaf = Box(sash.x + start, edge - thick / 2, long, thick)
        scene.add(Rectangle(leaf, "hinge", part, number))


def add_handle(scene: Scene, sash: Box, glass: Box, side: Side, number: int | None) -> None:
    """A rose with its lever, in the middle of the handle side."""
    edge, inner = _middle_of(sash, side), _middle_of(glass, side)
    x, y = (edge[0] + inner[0]) / 2, (edge[1] + inner[1]) / 2
    along = sash.height if side in {"left", "right"} else sash.width
    rose = min(max(_ROSE_MM, 0.36 * scene.em), 0.12 * along)
    lever = min(max(_LEVER_MM, 1.5 * scene.em), 0.42 * along)
    half = 0.55 * rose
    is_upright = side in {"left", "right"}
    bar = Box(x - half, y, 2 * half, lever) if is_upright else Box(x, y - half, lever, 2 * half)
    scene.add(
        Rectangle(bar, "handle", "handle", number), Circle((x, y), rose, "handle", "handle-rose", number)
    )
