"""Shapes of a drawing, before anything is written: to scale in millimetres, text and strokes in ems.

A scene is painted as SVG (``drawing_svg``) or into a PDF (``sheet_drawing``); both take their inks from
PENS here, so that the two look alike.
"""

from dataclasses import dataclass, field
from typing import Final, Literal

from sawready.report.order_view import Box, Point

Anchor = Literal["start", "middle", "end"]

INK: Final = "#1b1f23"
PAPER: Final = "#ffffff"


@dataclass(frozen=True, slots=True)
class Pen:
    """How a shape is inked.

    Attributes:
        stroke: colour of its line; None for no line.
        width: of the line. [em]
        fill: colour inside; None for none.
        dash: stroke and gap of a broken line, or empty. [em]
    """

    stroke: str | None
    width: float
    fill: str | None = None
    dash: tuple[float, float] | None = None


PENS: Final[dict[str, Pen]] = {
    "wall": Pen(None, 0, "#e4ddd2"),
    "aperture": Pen(INK, 0.05, PAPER),
    "member": Pen(INK, 0.06, PAPER),
    "extender": Pen(INK, 0.05, "#efe9df"),
    "sash": Pen(INK, 0.09, PAPER),
    "glass": Pen(INK, 0.05, "#f3f6f1"),
    "sill": Pen(INK, 0.07, "#cfc6b8"),
    "towards": Pen(INK, 0.07),
    "away": Pen(INK, 0.07, None, (0.55, 0.4)),
    "hinge": Pen(INK, 0.04, INK),
    "handle": Pen(INK, 0.09, PAPER),
    "hole": Pen(INK, 0.07, PAPER),
    "size": Pen(INK, 0.035),
    "tick": Pen(INK, 0.09),
    "thin": Pen(INK, 0.03),
    "plate": Pen(INK, 0.06, PAPER),
    "plate-dark": Pen(None, 0, INK),
    "reject": Pen(INK, 0.06, INK),
    "query": Pen(INK, 0.06, PAPER),
    "note": Pen(INK, 0.06, PAPER, (0.14, 0.12)),
    "page": Pen(None, 0, PAPER),
}
"""Every ink by name: black on white, earth tones for wall and sill. Nothing is told by colour alone."""


@dataclass(frozen=True, slots=True)
class Rectangle:
    """An upright rectangle. [mm]."""

    box: Box
    pen: str
    part: str = ""
    light: int | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points, closed where it is an outline. [mm]."""

    points: tuple[Point, ...]
    pen: str
    part: str = ""
    light: int | None = None
    is_closed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle. [mm]."""

    middle: Point
    radius: float
    pen: str
    part: str = ""
    light: int | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text.

    Attributes:
        at: where its baseline begins, ends or has its middle. [mm]
        text: as it reads.
        size: height of the letters. [em]
        anchor: which point of the baseline ``at`` is.
        is_upright: turned to be read from the right, as sizes of heights are (ISO 129-1).
        is_bold, is_light: weight, and white on dark.
        is_given: the firm's own words, set apart so that their direction does not touch the rest.
        backed: pen whose fill lies behind it as a plate, so that lines do not run through; empty for none.
    """

    at: Point
    text: str
    size: float = 1.0
    anchor: Anchor = "start"
    is_upright: bool = False
    is_bold: bool = False
    is_light: bool = False
    is_given: bool = False
    part: str = ""
    backed: str = ""


def plate_behind(text: "Text", em: float) -> Box:
    """The plate behind a line of text, before it is turned upright. [mm]."""
    width = (text_width(text.text, text.size, is_bold=text.is_bold) + 0.3) * em
    x, y = text.at
    start = {"start": x - 0.15 * em, "middle": x - width / 2, "end": x - width + 0.15 * em}[text.anchor]
    return Box(start, y - 0.82 * text.size * em, width, 1.08 * text.size * em)


Shape = Rectangle | Line | Circle | Text


@dataclass(slots=True)
class Scene:
    """Shapes in the order of painting.

    Attributes:
        em: height of ordinary text. [mm]
        page: everything that is shown. [mm]
        title: a few words, as a screen reader announces the picture.
        words: the same as sentences, for those who cannot see it.
        shapes: back to front.
    """

    em: float
    page: Box
    title: str
    words: list[str] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)

    def add(self, *shapes: Shape) -> None:
        """Paints shapes over what is there."""
        self.shapes.extend(shapes)


_NARROW: Final = frozenset("iljtfrI.,:;'|!()[] -·/\"")
_WIDE: Final = frozenset("mwMW@%—…")
_EAST_ASIAN: Final = 0x1100
"""From this code point on, letters count as wide as an em."""
_BOLD: Final = 1.13


class _Widths(dict[str, float]):
    """Width of each letter as it is met; a plain sans-serif face has none wider. [em]."""

    def __missing__(self, letter: str) -> float:
        if letter in _NARROW:
            width = 0.4
        elif letter in _WIDE:
            width = 0.95
        elif ord(letter) >= _EAST_ASIAN:
            width = 1.05
        else:
            width = 0.72 if letter.isupper() else 0.63
        if len(self) < _EAST_ASIAN:
            self[letter] = width
        return width


_WIDTHS: Final = _Widths()


def text_width(text: str, size: float = 1.0, *, is_bold: bool = False) -> float:
    """About how wide a line of text is in a plain sans-serif face; errs on the wide side. [em].

    Example:
        >>> text_width("frame 1798")
        5.93
    """
    return sum(map(_WIDTHS.__getitem__, text)) * size * (_BOLD if is_bold else 1)


def wrapped(text: str, most: float, size: float = 1.0) -> list[str]:
    """A text in lines no wider than ``most``; a word that is too long for a line is broken. [em]."""
    lines: list[str] = []
    line, used = "", 0.0
    blank = text_width(" ", size)
    for word in text.split():
        rest, width = word, text_width(word, size)
        while width > most:
            if line:
                lines.append(line)
                line, used = "", 0.0
            cut = _fitting(rest, most, size)
            lines.append(rest[:cut])
            rest = rest[cut:]
            width = text_width(rest, size)
        if line and used + blank + width > most:
            lines.append(line)
            line, used = rest, width
        else:
            line, used = (f"{line} {rest}", used + blank + width) if line else (rest, width)
    if line:
        lines.append(line)
    return lines


def _fitting(word: str, most: float, size: float) -> int:
    """How many letters of a word fit, one at least."""
    width = 0.0
    for number, letter in enumerate(word):
        width += text_width(letter, size)
        if width > most:
            return max(1, number)
    return len(word)
