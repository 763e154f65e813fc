"""The fitter's sheet as PDF: a page for each opening, or for why it is not there to be fitted.

The same orders give the same bytes: no clock, no random name, faces of our own.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import Final
from urllib.parse import quote

from sawready.report import sheet_blocks as blocks
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_legend import APEX_WORDS
from sawready.report.drawing_marks import Triangle
from sawready.report.order_view import Box, OpeningView, OrderView
from sawready.report.sheet_drawing import fitted_drawing, paint_code, paint_scene
from sawready.report.sheet_layout import INK, Block, Column, Line, Picture, Plate, beside, paint
from sawready.report.sheet_library import Canvas, new_canvas, saved
from sawready.report.sheet_paging import paged
from sawready.report.sheet_text import Faces, faces
from sawready.report.sheet_words import storey_words, texts

MEDIA_TYPE: Final = "application/pdf"

_PAGE: Final = (595.2756, 841.8898)
"""A4, ISO 216. [pt]."""
_EDGE: Final = 34.0
_FOOT: Final = 26.0
_ROOM: Final = _PAGE[1] - _EDGE - _FOOT
_SCALES: Final = (1.0, 0.93, 0.86, 0.8)
"""Sizes of type that are tried before a page is continued on another."""
_GROWN: Final = (1.3, 1.15)
"""How much larger the figures beside the drawing are set where there is room for that."""
_GAP: Final = 14.0
_CODE: Final = 70.0
_MOST_LETTERS: Final = 110
"""Letters of names of openings that the cover line shows for one decision."""

_BANDS: Final = {
    "rejected": "NOT MADE. Nothing is delivered for this opening: do not take the old window out.",
    "queried": "NOT YET. A question is open and nothing is released: do not take the old window out.",
}


@dataclass(frozen=True, slots=True)
class SheetStyle:
    """How sheets are made.

    Attributes:
        triangle: where the point of the opening triangle is.
        link: address that orders are found under, for the code on each page; the order's name and its
            digest follow. Without it the code holds the two as text.
        fonts: TrueType files for letters that our own faces lack.
    """

    triangle: Triangle = "apex-at-hinge"
    link: str | None = None
    fonts: tuple[Path, ...] = ()


PLAIN: Final = SheetStyle()


def sheet_pdf(orders: Iterable[OrderView], style: SheetStyle = PLAIN) -> bytes:
    """The fitter's sheets of orders as one document.

    Args:
        orders: seen from outside.
        style: convention of the triangle, link of the code, more faces.
    Returns: the PDF; the same bytes for the same orders.
    Raises: SettingsError for a font file that cannot be used; ValueError where there is no order.
    """
    writer = SheetWriter(style)
    for order in orders:
        writer.add(order)
    return writer.finish()


class SheetWriter:
    """Writes sheets order by order.

    Args:
        style: convention of the triangle, link of the code, more faces.
    """

    def __init__(self, style: SheetStyle = PLAIN) -> None:
        self._style = style
        self._faces = faces(style.fonts)
        self._stream = BytesIO()
        self._canvas = new_canvas(self._stream, _PAGE, title="Fitter's sheets")
        self.pages = 0

    def add(self, order: OrderView) -> None:
        """Adds a page for each opening of an order."""
        for number, opening in enumerate(order.openings):
            page = _Page(order, opening, number, self._style, self._faces)
            self._canvas.bookmarkPage(f"opening-{self.pages}")
            title = f"{order.order_ref or 'order'}: {opening.name}"
            self._canvas.addOutlineEntry(title[:120], f"opening-{self.pages}")
            self.pages += page.draw(self._canvas)

    def finish(self) -> bytes:
        """The document. Raises ValueError where nothing was added."""
        if not self.pages:
            raise ValueError("there is no opening to write a sheet for")
        return saved(self._canvas, self._stream)


class _Page:
    """One opening on paper."""

    def __init__(
        self, order: OrderView, opening: OpeningView, index: int, style: SheetStyle, own_faces: Faces
    ) -> None:
        self.order, self.opening, self.index = order, opening, index
        self.style, self.faces = style, own_faces
        self.width = _PAGE[0] - 2 * _EDGE

    def draw(self, canvas: Canvas) -> int:
        """Draws the page, and as many more as its text takes; gives their number."""
        for scale in _SCALES:
            head = self._head(scale)
            full, parted = self._body(scale)
            pages = paged(
                full,
                parted,
                first=_ROOM - head.height,
                others=lambda: _ROOM - self._more.height,
                across=self._half + _GAP,
            )
            if len(pages) == 1:
                break
        for number, placed in enumerate(pages):
            if number:
                head = self._more
            top = _PAGE[1] - _EDGE
            paint(canvas, self.faces, head, _EDGE, top)
            for block, x, y in placed:
                paint(canvas, self.faces, block, _EDGE + x, top - head.height - y)
            self._foot(canvas, is_last=number == len(pages) - 1)
            canvas.showPage()
        return len(pages)

    @cached_property
    def _more(self) -> Block:
        """Head of the pages that go on."""
        return self._head(0.8, is_more=True)

    @property
    def _half(self) -> float:
        return (self.width - _GAP) / 2

    def _head(self, scale: float, *, is_more: bool = False) -> Block:
        """Name, room and order; the code; what the order holds."""
        opening, order = self.opening, self.order
        code = _CODE * scale
        column = Column(self.faces, self.width - code - 10, scale)
        name = opening.opening_ref or "opening without a reference"
        size = self.faces.fitted(name, column.width, 30 * scale, 13 * scale, is_bold=True) / scale
        column.text(
            f"{name}, continued" if is_more else name, size, is_bold=True, is_tight=True, most_lines=2
        )
        where = ", ".join(part for part in (opening.room, storey_words(opening.storey)) if part)
        if where:
            column.text(where, 15.0, most_lines=2)
        if (opening.quantity or 1) != 1:
            column.text(f"{opening.quantity} alike: fit {opening.quantity} of these", 12.0, is_bold=True)
        survey = f", {order.survey}" if order.survey else ""
        number = f"opening {self.index + 1} of {len(order.openings)}"
        column.text(
            f"Order {order.order_ref or 'without a reference'}, {number}{survey}. Sizes in mm.",
            9.0,
            most_lines=3,
        )
        head = beside([column], 0)
        payload = self._payload()

        def code_picture(canvas: Canvas, x: float, top: float) -> None:
            paint_code(canvas, payload, x, top, code)

        head.ops.append(Picture(self.width - code, -4 * scale, code_picture))
        head.height = max(head.height, code - 2 * scale)
        line = Column(self.faces, self.width, scale)
        line.text(self._cover_line(), 9.0, most_lines=3)
        for block in line.blocks:
            head.ops.extend(
                Line(op.x, op.y + head.height, op.text, op.size, op.is_bold)
                for op in block.ops
                if isinstance(op, Line)
            )
            head.height += block.height
        head.ops.append(Plate(0, head.height, self.width, 1.4, INK))
        head.height += 6 * scale
        return head

    def _payload(self) -> str:
        """What the code says: address or name, and the digest."""
        name = self.order.order_ref or ""
        if self.style.link:
            return f"{self.style.link.rstrip('/')}/{quote(name, safe='')}#{self.order.digest}"
        return f"order {name} {self.order.digest}"

    def _cover_line(self) -> str:
        """What the order holds, on each of its pages, so that nobody looks for a window that was not made."""
        by_decision: dict[str, list[str]] = {"accepted": [], "queried": [], "rejected": []}
        for opening in self.order.openings:
            by_decision[opening.decision].append(opening.opening_ref or "without a reference")
        made = by_decision["accepted"]
        parts = [f"To fit: {_names(made)}." if made else "To fit: nothing."]
        if by_decision["rejected"]:
            parts.append(f"Not made: {_names(by_decision['rejected'])}.")
        if by_decision["queried"]:
            parts.append(f"Not yet, a question is open: {_names(by_decision['queried'])}.")
        if len(parts) > 1 and made:
            parts.append("The order as a whole is not released: ask the office before anything is fitted.")
        return " ".join(parts)

    def _body(self, scale: float) -> tuple[list[Block], list[Block]]:
        """Blocks of full width, and those of half width that follow them."""
        if self.opening.decision in _BANDS:
            return self._not_made(scale)
        return self._made(scale)

    def _made(self, scale: float) -> tuple[list[Block], list[Block]]:
        opening, order = self.opening, self.order
        left = Column(self.faces, self.width * 0.585, scale)
        self._picture(left, 258 * scale)
        right = self._beside_picture(left, scale)
        larger = next((each for each in _GROWN if each * right.height < left.height), None)
        if larger is not None:
            grown = self._beside_picture(left, scale * larger)
            right = grown if grown.height <= left.height else right
        body = [beside([left, right], _GAP), Block(2 * scale)]
        body.append(blocks.tape_checks(self.faces, self.width, scale, opening))
        table = Column(self.faces, self.width, scale)
        if opening.wants or any(opening.colours):
            colours = " ".join(
                f"{side} {colour}"
                for side, colour in zip(("outside", "inside"), opening.colours, strict=True)
                if colour
            )
            ordered = ", ".join((*((f"colour {colours}",) if colours else ()), *opening.wants))
            table.named("Ordered:", ordered, 9.5)
        blocks.glass_table(table, opening)
        body.extend(table.blocks)
        parted = Column(self.faces, self._half, scale)
        blocks.asked(parted, opening)
        blocks.fixing(parted, opening, texts()["fixing"]["packers"]["text"])
        blocks.glazing(parted, opening)
        blocks.sealing(parted, opening, order)
        blocks.caution_list(parted)
        return body, parted.blocks

    def _beside_picture(self, picture: Column, scale: float) -> Column:
        """Handing and sizes, beside the drawing."""
        column = Column(self.faces, self.width - picture.width - _GAP, scale)
        blocks.handing(column, self.opening)
        blocks.sizes(column, self.opening)
        return column

    def _not_made(self, scale: float) -> tuple[list[Block], list[Block]]:
        opening = self.opening
        column = Column(self.faces, self.width, scale)
        column.gap(4)
        column.band(_BANDS[opening.decision], is_dark=opening.decision == "rejected", size=14)
        blocks.reasons(column, opening)
        column.gap(6)
        self._picture(column, 270 * scale)
        parted = Column(self.faces, self._half, scale)
        blocks.caution_list(parted)
        return column.blocks, parted.blocks

    def _picture(self, column: Column, height: float) -> None:
        """The drawing from outside, with its view written over it."""
        scene = fitted_drawing(
            self.opening, self._drawing_style(), width=column.width, height=height, size=7.6 * column.scale
        )
        own_faces, width = self.faces, column.width

        def picture(canvas: Canvas, x: float, top: float) -> None:
            paint_scene(canvas, own_faces, scene, Box(x, top, width, height))

        column.heading("Seen from outside")
        column.add(height, Picture(0, 0, picture))
        words = ""
        if any(light.hinge is not None for light in self.opening.lights):
            lines = "full lines open towards you, broken lines away (EN 12519)"
            words = f"Drawn: hinges dark, handle with its lever; {APEX_WORDS[self.style.triangle]}; {lines}."
        if self.opening.noted:
            words = f"{words} Small numbers in rings or plates: see the text.".strip()
        if words:
            column.text(words, 7.6)
        column.gap(2)

    def _drawing_style(self) -> DrawingStyle:
        return DrawingStyle(triangle=self.style.triangle)

    def _foot(self, canvas: Canvas, *, is_last: bool) -> None:
        order = self.order
        made = order.made_with
        system = (made.get("system") or "no system").partition("@")[0]
        rulebook = (made.get("rulebook") or "no rulebook").partition("@")[0]
        text = f"sawready {made['sawready']}, system {system}, rulebook {rulebook}, {order.digest}"
        if not is_last:
            text = f"continued on the next page; {text}"
        given = " ".join(
            part or "" for part in (order.order_ref, self.opening.opening_ref, self.opening.room)
        )
        if self.faces.lacks(given):
            text += "; a letter that the sheet's font lacks is written by its number, such as [U+5BDD]"
        block = Block(10)
        size = self.faces.fitted(text, self.width, 6.6, 4.5)
        for number, line in enumerate(self.faces.wrapped(text, self.width, size)[:2]):
            block.ops.append(Line(0, size * (1 + 1.2 * number), line, size))
        paint(canvas, self.faces, block, _EDGE, _FOOT - 6)


def _names(names: Sequence[str]) -> str:
    """Names in a row, as many as a line or so takes."""
    shown: list[str] = []
    used = 0
    for name in names:
        used += len(name) + 2
        if shown and used > _MOST_LETTERS:
            break
        shown.append(name)
    more = len(names) - len(shown)
    return f"{', '.join(shown)} and {more} more" if more else ", ".join(shown)
