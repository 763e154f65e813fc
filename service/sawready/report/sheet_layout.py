"""Blocks on a page: what is measured before it is drawn, so that a page is filled to its foot and no further.

Lengths are points, y runs down from the top of a block.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from sawready.report.sheet_library import Canvas
from sawready.report.sheet_stream import Stream
from sawready.report.sheet_text import Faces

INK: Final = (0.106, 0.122, 0.137)
PAPER: Final = (1.0, 1.0, 1.0)
TINT: Final = (0.937, 0.914, 0.875)
"""The wall of the drawings, lighter."""

LEADING: Final = 1.24
"""From line to line, as a share of the size."""

_LEAST_SIZE: Final = 6.5
"""Letters are not made smaller than this to save lines. [pt]."""

Align = Literal["left", "right", "middle"]
Painter = Callable[[Canvas, float, float], None]
"""Draws something whose upper left corner is at x, y of the page (y up). [pt]."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text in a block, its baseline at y."""

    x: float
    y: float
    text: str
    size: float
    is_bold: bool = False
    is_light: bool = False
    align: Align = "left"


@dataclass(frozen=True, slots=True)
class Plate:
    """A rectangle in a block; without a fill only its outline is drawn."""

    x: float
    y: float
    width: float
    height: float
    fill: tuple[float, float, float] | None = None
    stroke: float = 0.0


@dataclass(frozen=True, slots=True)
class Picture:
    """Something that draws itself, its upper left corner at x, y."""

    x: float
    y: float
    paint: Painter


Op = Line | Plate | Picture


@dataclass(slots=True)
class Block:
    """What is not parted: so high, with what is in it, and whether a heading stands over it."""

    height: float
    ops: list[Op] = field(default_factory=list)
    is_headed: bool = False


class Column:
    """Collects blocks of one width.

    Args:
        faces: the document's.
        width: of the column. [pt]
        scale: of every size, 1 or less.
    """

    def __init__(self, faces: Faces, width: float, scale: float = 1.0) -> None:
        self.faces = faces
        self.width = width
        self.scale = scale
        self.blocks: list[Block] = []
        self._heading: Block | None = None

    def _push(self, block: Block) -> None:
        """Adds a block; a heading before it is never parted from it."""
        heading = self._heading
        if heading is not None:
            self._heading = None
            ops = heading.ops + [moved(op, 0.0, heading.height) for op in block.ops]
            block = Block(heading.height + block.height, ops, is_headed=True)
        self.blocks.append(block)

    @property
    def height(self) -> float:
        """Of all blocks together. [pt]."""
        return sum(block.height for block in self.blocks)

    def gap(self, height: float) -> None:
        """Leaves room."""
        self._push(Block(height * self.scale))

    def heading(self, text: str) -> None:
        """A bold line over a rule; it stays with what follows."""
        size = 10.5 * self.scale
        block = Block(size * 1.75)
        block.ops.append(Line(0, size * 1.1, text, size, is_bold=True))
        block.ops.append(Plate(0, size * 1.4, self.width, 0.9, INK))
        self._heading = block

    def text(
        self,
        text: str,
        size: float = 9.5,
        *,
        is_bold: bool = False,
        indent: float = 0.0,
        is_tight: bool = False,
        most_lines: int | None = None,
    ) -> None:
        """A paragraph; a tight one has no room under it.

        Args:
            text: as it reads.
            size: of the letters. [pt]
            is_bold: whether in bold.
            indent: of every line. [pt]
            is_tight: whether what follows comes close.
            most_lines: smaller letters are taken rather than more lines; what is still too long ends in
                an ellipsis.
        """
        size *= self.scale
        lines = self.faces.wrapped(text, self.width - indent, size, is_bold=is_bold)
        while most_lines is not None and len(lines) > most_lines and size > _LEAST_SIZE:
            size = max(_LEAST_SIZE, size * 0.88)
            lines = self.faces.wrapped(text, self.width - indent, size, is_bold=is_bold)
        if most_lines is not None and len(lines) > most_lines:
            lines = [*lines[: most_lines - 1], f"{lines[most_lines - 1][:-1]}…"]
        block = Block(len(lines) * size * LEADING + (-0.1 if is_tight else 0.25) * size)
        for number, line in enumerate(lines):
            block.ops.append(Line(indent, size * (1.0 + LEADING * number), line, size, is_bold))
        self._push(block)

    def named(self, name: str, text: str, size: float = 9.5) -> None:
        """A paragraph that begins with a bold name."""
        size *= self.scale
        start = self.faces.width(f"{name} ", size, is_bold=True)
        first, rest = self._first_line(text, self.width - start, size)
        lines = self.faces.wrapped(rest, self.width, size) if rest else []
        block = Block((1 + len(lines)) * size * LEADING + 0.25 * size)
        block.ops.append(Line(0, size, name, size, is_bold=True))
        block.ops.append(Line(start, size, first, size))
        for number, line in enumerate(lines, 1):
            block.ops.append(Line(0, size * (1.0 + LEADING * number), line, size))
        self._push(block)

    def _first_line(self, text: str, room: float, size: float) -> tuple[str, str]:
        """As many words as fit beside a name, and the others."""
        words = text.split()
        blank = self.faces.width(" ", size)
        used, count = 0.0, 0
        for word in words:
            used += self.faces.width(word, size) + (blank if count else 0.0)
            if used > room:
                break
            count += 1
        return " ".join(words[:count]), " ".join(words[count:])

    def figure(self, name: str, value: str, more: str = "", *, size: float = 14.0) -> None:
        """A small name over a large value, and a small line under it."""
        small, large = 8.0 * self.scale, size * self.scale
        large = self.faces.fitted(value, self.width, large, 8.0 * self.scale, is_bold=True)
        values = self.faces.wrapped(value, self.width, large, is_bold=True)
        lines = self.faces.wrapped(more, self.width, small) if more else []
        block = Block(small * 1.25 + len(values) * large * 1.18 + len(lines) * small * LEADING + 0.5 * small)
        block.ops.append(Line(0, small, name, small))
        y = small * 1.25
        for line in values:
            block.ops.append(Line(0, y + large * 0.92, line, large, is_bold=True))
            y += large * 1.18
        for number, line in enumerate(lines):
            block.ops.append(Line(0, y + small * (0.95 + LEADING * number), line, small))
        self._push(block)

    def band(self, text: str, *, is_dark: bool = True, size: float = 13.0) -> None:
        """A line on a plate."""
        size *= self.scale
        lines = self.faces.wrapped(text, self.width - 16, size, is_bold=True)
        height = len(lines) * size * LEADING + 0.9 * size
        block = Block(height + 4 * self.scale)
        block.ops.append(Plate(0, 0, self.width, height, INK if is_dark else PAPER, 0.0 if is_dark else 1.2))
        for number, line in enumerate(lines):
            y = size * (1.32 + LEADING * number)
            block.ops.append(Line(8, y, line, size, is_bold=True, is_light=is_dark))
        self._push(block)

    def row(
        self, cells: Sequence[str], widths: Sequence[float], *, is_head: bool = False, size: float = 9.0
    ) -> None:
        """A row of a table; widths are shares of the column, cells wrap."""
        size *= self.scale
        pad = 3.0 * self.scale
        places, x = [], 0.0
        total = sum(widths)
        for share in widths:
            places.append((x, share / total * self.width))
            x += share / total * self.width
        wrapped = [
            self.faces.wrapped(cell, width - 2 * pad, size, is_bold=is_head)
            for cell, (_, width) in zip(cells, places, strict=True)
        ]
        height = max(1, *(len(lines) for lines in wrapped)) * size * LEADING + 1.6 * pad
        block = Block(height)
        if is_head:
            block.ops.append(Plate(0, 0, self.width, height, TINT))
        block.ops.append(Plate(0, height - 0.35, self.width, 0.35, INK))
        for lines, (left, _) in zip(wrapped, places, strict=True):
            for number, line in enumerate(lines):
                y = 0.7 * pad + size * (0.98 + LEADING * number)
                block.ops.append(Line(left + pad, y, line, size, is_head))
        self._push(block)

    def add(self, height: float, *ops: Op) -> None:
        """A block of one's own."""
        self._push(Block(height, list(ops)))


def beside(columns: Sequence[Column], gap: float) -> Block:
    """Columns beside each other as one block, their tops level."""
    merged = Block(max(column.height for column in columns))
    x = 0.0
    for column in columns:
        y = 0.0
        for block in column.blocks:
            merged.ops.extend(moved(op, x, y) for op in block.ops)
            y += block.height
        x += column.width + gap
    return merged


def moved(op: Op, x: float, y: float) -> Op:
    """An op elsewhere in its block."""
    match op:
        case Line():
            return Line(op.x + x, op.y + y, op.text, op.size, op.is_bold, op.is_light, op.align)
        case Plate():
            return Plate(op.x + x, op.y + y, op.width, op.height, op.fill, op.stroke)
        case Picture():
            return Picture(op.x + x, op.y + y, op.paint)


def paint(canvas: Canvas, faces: Faces, block: Block, x: float, top: float) -> None:
    """Draws a block with its upper left corner at x, ``top`` of the page (y up): plates, pictures, text."""
    pen = Pen(canvas, faces)
    for op in block.ops:
        match op:
            case Line():
                pen.write(op, x, top)
            case Plate():
                pen.plate(op, x, top)
            case Picture():
                pen.lift()
                op.paint(canvas, x + op.x, top - op.y)
    pen.lift()


class Pen:
    """Writes lines of text and plates on a page.

    Args:
        canvas: the page.
        faces: the document's.
    """

    def __init__(self, canvas: Canvas, faces: Faces) -> None:
        self._faces = faces
        self._stream = Stream(canvas)

    def write(self, line: Line, x: float, top: float) -> None:
        """Writes a line.

        Args:
            line: the line.
            x: left edge of its block. [pt]
            top: top edge of its block, y up. [pt]
        """
        faces, stream = self._faces, self._stream
        at = x + line.x
        if line.align != "left":
            width = faces.width(line.text, line.size, is_bold=line.is_bold)
            at -= width if line.align == "right" else width / 2
        stream.fill_with(PAPER if line.is_light else INK)
        for name, text, width in faces.runs(line.text, is_bold=line.is_bold):
            stream.text(name, line.size, text, (at, top - line.y))
            at += width * line.size

    def plate(self, plate: Plate, x: float, top: float) -> None:
        """Draws a plate; the corner as for a line."""
        stream = self._stream
        if plate.fill is not None:
            stream.fill_with(plate.fill)
        if plate.stroke:
            stream.stroke_with(INK, plate.stroke)
        how = "S" if plate.fill is None else "B" if plate.stroke else "f"
        stream.rectangle(x + plate.x, top - plate.y - plate.height, plate.width, plate.height, how)

    def lift(self) -> None:
        """Puts what was written on the page."""
        self._stream.lift()
