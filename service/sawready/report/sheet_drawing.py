"""Paints a drawing and a code of squares into a PDF."""

import hashlib
from functools import lru_cache

from sawready.report.drawing import DrawingStyle, drawing, margins_of
from sawready.report.drawing_scene import (
    PENS,
    Circle,
    Line,
    Rectangle,
    Scene,
    Shape,
    Text,
    plate_behind,
)
from sawready.report.order_view import Box, OpeningView, Point
from sawready.report.sheet_layout import INK, PAPER
from sawready.report.sheet_library import Canvas, make_code
from sawready.report.sheet_stream import Stream
from sawready.report.sheet_text import Faces


def fitted_drawing(
    opening: OpeningView, style: DrawingStyle, width: float, height: float, size: float
) -> Scene:
    """The elevation for a box on paper, its text so large that it reads. [pt].

    Args:
        opening: what is drawn.
        style: view and convention; its text is replaced.
        width: of the box. [pt]
        height: of the box. [pt]
        size: of ordinary text once it is painted. [pt]
    """
    window, across, down = margins_of(opening.seen_from(style.view))
    by_width = size * window.width / max(width - size * across, 0.3 * width)
    by_height = size * window.height / max(height - size * down, 0.3 * height)
    em = max(by_width, by_height)
    return drawing(opening, DrawingStyle(style.view, style.triangle, em, has_frame_text=False))


def paint_scene(canvas: Canvas, faces: Faces, scene: Scene, box: Box) -> None:
    """Paints a scene into a box, as large as it goes, in the middle of it.

    Args:
        canvas: the page.
        faces: the document's.
        scene: the drawing.
        box: left edge, top edge (y up), width and height. [pt]
    """
    page = scene.page
    scale = min(box.width / page.width, box.height / page.height)
    left = box.x + (box.width - page.width * scale) / 2 - page.x * scale
    up = box.y - (box.height - page.height * scale) / 2 + page.y * scale
    stream = Stream(canvas)
    brush = _Brush(stream, faces, em=scene.em, scale=scale, origin=(left, up))
    for shape in scene.shapes:
        brush.paint(shape)
    stream.lift()


class _Brush:
    """Paints shapes of one scene at one place and scale."""

    def __init__(self, stream: Stream, faces: Faces, *, em: float, scale: float, origin: Point) -> None:
        self._stream, self._faces = stream, faces
        self._em, self._scale = em, scale
        self._left, self._up = origin

    def paint(self, shape: Shape) -> None:
        """Paints a shape."""
        stream, scale = self._stream, self._scale
        if isinstance(shape, Text):
            self._text(shape)
            return
        how = self._ink(shape.pen)
        match shape:
            case Rectangle():
                x, y = self._at((shape.box.x, shape.box.bottom))
                stream.rectangle(x, y, shape.box.width * scale, shape.box.height * scale, how)
            case Line():
                stream.path([*map(self._at, shape.points)], how, is_closed=shape.is_closed)
            case Circle():
                stream.circle(self._at(shape.middle), shape.radius * scale, how)

    def _at(self, point: Point) -> Point:
        return self._left + point[0] * self._scale, self._up - point[1] * self._scale

    def _ink(self, name: str) -> str:
        """Sets a pen; gives how it draws."""
        pen = PENS[name]
        if pen.fill is not None:
            self._stream.fill_with(_rgb(pen.fill))
        if pen.stroke is None:
            return "f" if pen.fill is not None else "n"
        em = self._em * self._scale
        dash = [part * em for part in pen.dash] if pen.dash else ()
        self._stream.stroke_with(_rgb(pen.stroke), pen.width * em, dash)
        return "S" if pen.fill is None else "B"

    def _text(self, text: Text) -> None:
        stream, em, scale = self._stream, self._em, self._scale
        x, y = self._at(text.at)
        if text.backed:
            self._ink(text.backed)
            plate = plate_behind(text, em)
            across, down = (plate.x - text.at[0]) * scale, (text.at[1] - plate.bottom) * scale
            width, height = plate.width * scale, plate.height * scale
            if text.is_upright:
                stream.rectangle(x - down - height, y + across, height, width, "f")
            else:
                stream.rectangle(x + across, y + down, width, height, "f")
        size = text.size * em * scale
        own = self._faces.width(text.text, size, is_bold=text.is_bold)
        back = {"start": 0.0, "middle": own / 2, "end": own}[text.anchor]
        stream.fill_with(PAPER if text.is_light else INK)
        for name, piece, width in self._faces.runs(text.text, is_bold=text.is_bold):
            at = (x, y - back) if text.is_upright else (x - back, y)
            stream.text(name, size, piece, at, is_upright=text.is_upright)
            back -= width * size


@lru_cache(maxsize=64)
def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


@lru_cache(maxsize=256)
def _squares(payload: str) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """Side of a code in squares, and its dark runs: row, first, how many."""
    code = make_code(payload, error="m", micro=False)
    runs = []
    rows = [bytes(row) for row in code.matrix]
    for number, row in enumerate(rows):
        at = 0
        while at < len(row):
            if row[at]:
                end = at
                while end < len(row) and row[end]:
                    end += 1
                runs.append((number, at, end - at))
                at = end
            else:
                at += 1
    return len(rows), tuple(runs)


def paint_code(canvas: Canvas, payload: str, x: float, top: float, side: float) -> None:
    """A code that a phone can read (ISO/IEC 18004), as squares; the page leaves four squares round it free.

    It is put into the document once and shown on each page that asks for it.

    Args:
        canvas: the page.
        payload: what it says.
        x: left edge. [pt]
        top: top edge, y up. [pt]
        side: length of a side with the free room. [pt]
    """
    count, runs = _squares(payload)
    unit = side / (count + 8)
    name = f"code-{hashlib.sha256(payload.encode()).hexdigest()[:16]}"
    if not canvas.hasForm(name):
        canvas.beginForm(name, 0, 0, count, count)
        squares = [f"{first} {count - row - 1} {length} 1 re" for row, first, length in runs]
        canvas.addLiteral("\n".join((*squares, "f")))
        canvas.endForm()
    canvas.saveState()
    canvas.translate(x + 4 * unit, top - (count + 4) * unit)
    canvas.scale(unit, unit)
    canvas.setFillColorRGB(0, 0, 0)
    canvas.doForm(name)
    canvas.restoreState()
