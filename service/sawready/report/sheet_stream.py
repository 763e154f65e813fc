"""What is drawn on a page, as operators of its content stream (ISO 32000-1, clauses 8 and 9), put there at once.

The library's own calls write every number and every line of text with much care and little haste; a page of ours
has a thousand numbers and much text that stands on every page alike, so its operators are written here. Fonts,
their parts and the document stay the library's.
"""

from collections.abc import Sequence
from functools import lru_cache

from sawready.report.sheet_library import Canvas, pieces_of

Colour = tuple[float, float, float]
Point = tuple[float, float]

_ROUND = 0.5522847498
"""How far the handles of a quarter of a circle reach, as a share of the radius: 4/3 (sqrt 2 - 1)."""


def number(value: float) -> str:
    """A number with two digits after the point at most: a hundredth of a point is 3.5 micrometres.

    Example:
        >>> number(12.3456), number(7.0), number(-0.001)
        ('12.35', '7', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@lru_cache(maxsize=256)
def _colour(colour: Colour) -> str:
    return " ".join(f"{part:.3f}".rstrip("0").rstrip(".") for part in colour)


class Stream:
    """Collects operators for the page at hand; nothing of its state outlives it.

    Args:
        canvas: the page. [pt], y up.
    """

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._ops: list[str] = []
        self._fill: Colour | None = None
        self._stroke: Colour | None = None
        self._width = -1.0
        self._dash: tuple[float, ...] | None = ()

    def fill_with(self, colour: Colour) -> None:
        """Sets the colour of areas and of text."""
        if colour != self._fill:
            self._fill = colour
            self._ops.append(f"{_colour(colour)} rg")

    def stroke_with(self, colour: Colour, width: float, dash: Sequence[float] = ()) -> None:
        """Sets how lines are drawn.

        Args:
            colour: of the lines.
            width: of the lines. [pt]
            dash: lengths of dashes and gaps; none for a full line. [pt]
        """
        if colour != self._stroke:
            self._stroke = colour
            self._ops.append(f"{_colour(colour)} RG")
        if width != self._width:
            self._width = width
            self._ops.append(f"{number(width)} w")
        if tuple(dash) != self._dash:
            self._dash = tuple(dash)
            self._ops.append(f"[{' '.join(map(number, dash))}] 0 d")

    def rectangle(self, x: float, y: float, width: float, height: float, how: str) -> None:
        """A rectangle from its lower left corner.

        Args:
            x, y: of the corner. [pt]
            width, height: of the rectangle. [pt]
            how: ``f`` to fill it, ``S`` to stroke it, ``B`` for both.
        """
        self._ops.append(f"{number(x)} {number(y)} {number(width)} {number(height)} re {how}")

    def path(self, points: Sequence[Point], how: str, *, is_closed: bool = False) -> None:
        """Straight lines from point to point; ``how`` as for a rectangle."""
        first, *others = points
        parts = [f"{number(first[0])} {number(first[1])} m"]
        parts.extend(f"{number(x)} {number(y)} l" for x, y in others)
        if is_closed:
            parts.append("h")
        self._ops.append(f"{' '.join(parts)} {how}")

    def circle(self, middle: Point, radius: float, how: str) -> None:
        """A circle of four curves; ``how`` as for a rectangle."""
        x, y = middle
        reach = _ROUND * radius
        curves = (
            (x + radius, y + reach, x + reach, y + radius, x, y + radius),
            (x - reach, y + radius, x - radius, y + reach, x - radius, y),
            (x - radius, y - reach, x - reach, y - radius, x, y - radius),
            (x + reach, y - radius, x + radius, y - reach, x + radius, y),
        )
        parts = [f"{number(x + radius)} {number(y)} m"]
        parts.extend(f"{' '.join(map(number, curve))} c" for curve in curves)
        self._ops.append(f"{' '.join(parts)} h {how}")

    def text(self, face: str, size: float, text: str, at: Point, *, is_upright: bool = False) -> None:
        """A piece of text in one face.

        Args:
            face: its name.
            size: of the letters. [pt]
            text: in the order in which it is drawn.
            at: where its baseline begins. [pt]
            is_upright: whether it runs up the page.
        """
        turn, written = "0 1 -1 0" if is_upright else "1 0 0 1", number(size)
        ops = [f"BT {turn} {number(at[0])} {number(at[1])} Tm {written} TL"]
        ops.extend(
            f"{font} {written} Tf <{letters}> Tj" for font, letters in pieces_of(self._canvas, face, text)
        )
        ops.append("T* ET")  # the end of a line, for programs that read the text
        self._ops.append(" ".join(ops))

    def lift(self) -> None:
        """Puts what was collected on the page."""
        if self._ops:
            self._canvas.addLiteral("\n".join(("q", *self._ops, "Q")))
            self._ops.clear()
        self._fill = self._stroke = None
        self._width, self._dash = -1.0, ()
