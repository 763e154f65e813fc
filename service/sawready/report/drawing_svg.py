"""A drawing as SVG: no script, no style sheet, nothing fetched, the same bytes for the same opening.

One unit is one millimetre. Colours and strokes are plain attributes, so that a page with a strict content
security policy may hold the drawing as it stands; ``data-part`` and ``data-light`` name what a shape is.
"""

import re
from typing import Final

from sawready.report.drawing import OUTSIDE, DrawingStyle, drawing
from sawready.report.drawing_scene import (
    INK,
    PAPER,
    PENS,
    Circle,
    Line,
    Rectangle,
    Scene,
    Shape,
    Text,
    plate_behind,
)
from sawready.report.order_view import OpeningView

MEDIA_TYPE: Final = "image/svg+xml"
PIXELS: Final = 13
"""Height of ordinary text where nobody asks for another size. [px]"""

_NOT_XML: Final = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 has no way to write (section 2.2)."""


def drawing_svg(opening: OpeningView, style: DrawingStyle = OUTSIDE, *, prefix: str = "drawing") -> str:
    """The elevation of an opening as an SVG document.

    Args:
        opening: what is drawn.
        style: view, convention and text.
        prefix: begins the names that the document gives its parts; a page with several drawings gives each
            its own. Letters, digits, hyphens.
    Returns: the document, ending in a line feed; without an XML declaration, so that a page may hold it.
    Raises: ValueError for a prefix that is no name.
    """
    return svg_of(drawing(opening, style), prefix=prefix)


def svg_of(scene: Scene, *, prefix: str = "drawing") -> str:
    """A scene as an SVG document; see ``drawing_svg``."""
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9-]*", prefix):
        raise ValueError(f"a prefix is letters, digits and hyphens, a letter first, not {prefix!r}")
    page, em = scene.page, scene.em
    scale = PIXELS / em
    out = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" '
            f'aria-labelledby="{prefix}-title {prefix}-desc" '
            f'width="{_number(round(page.width * scale))}" height="{_number(round(page.height * scale))}" '
            f'viewBox="{" ".join(map(_number, page))}" font-family="sans-serif" fill="{INK}">'
        ),
        f'<title id="{prefix}-title">{escaped(scene.title)}</title>',
        f'<desc id="{prefix}-desc">{escaped(" ".join(scene.words))}</desc>',
        f'<rect{_place(page.x, page.y, page.width, page.height)} fill="{PAPER}" data-part="page"/>',
    ]
    out.extend(_shape(shape, em) for shape in scene.shapes)
    out.append("</svg>\n")
    return "\n".join(out)


def escaped(text: str) -> str:
    """Text as XML writes it, in an element or in an attribute in double quotes.

    Characters that XML cannot hold are written as U+FFFD, so that nothing a user types breaks a document.

    Example:
        >>> escaped('A & "B" <c>')
        'A &amp; &quot;B&quot; &lt;c&gt;'
    """
    plain = _NOT_XML.sub("\ufffd", text)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def _number(value: float) -> str:
    """A number to a ten-thousandth, without idle noughts."""
    value = round(value, 4)
    whole = int(value)
    return str(whole) if whole == value else f"{value:.4f}".rstrip("0")


def _place(x: float, y: float, width: float, height: float) -> str:
    return f' x="{_number(x)}" y="{_number(y)}" width="{_number(width)}" height="{_number(height)}"'


def _ink(pen: str, em: float, *, is_outlined: bool = True) -> str:
    ink = PENS[pen]
    text = f' fill="{ink.fill or "none"}"'
    if is_outlined and ink.stroke is not None:
        text += f' stroke="{ink.stroke}" stroke-width="{_number(ink.width * em)}"'
        if ink.dash is not None:
            text += f' stroke-dasharray="{_number(ink.dash[0] * em)} {_number(ink.dash[1] * em)}"'
    return text


def _names(part: str, light: int | None) -> str:
    text = f' data-part="{escaped(part)}"' if part else ""
    return text if light is None else f'{text} data-light="{light}"'


def _shape(shape: Shape, em: float) -> str:
    match shape:
        case Rectangle():
            return f"<rect{_place(*shape.box)}{_ink(shape.pen, em)}{_names(shape.part, shape.light)}/>"
        case Line():
            kind = "polygon" if shape.is_closed else "polyline"
            points = " ".join(f"{_number(x)},{_number(y)}" for x, y in shape.points)
            return f'<{kind} points="{points}"{_ink(shape.pen, em)}{_names(shape.part, shape.light)}/>'
        case Circle():
            x, y = shape.middle
            return (
                f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(shape.radius)}"'
                f"{_ink(shape.pen, em)}{_names(shape.part, shape.light)}/>"
            )
        case Text():
            return _text(shape, em)


def _text(shape: Text, em: float) -> str:
    x, y = shape.at
    size = shape.size * em
    attributes = f' x="{_number(x)}" y="{_number(y)}" font-size="{_number(size)}"'
    if shape.anchor != "start":
        attributes += f' text-anchor="{shape.anchor}"'
    if shape.is_bold:
        attributes += ' font-weight="bold"'
    if shape.is_light:
        attributes += f' fill="{PAPER}"'
    if shape.is_given:
        attributes += ' unicode-bidi="isolate"'
    turn = f' transform="rotate(-90 {_number(x)} {_number(y)})"' if shape.is_upright else ""
    text = f"<text{attributes}{turn}{_names(shape.part, None)}>{escaped(shape.text)}</text>"
    if not shape.backed:
        return text
    return (
        f"<rect{_place(*plate_behind(shape, em))}{turn}{_ink(shape.backed, em, is_outlined=False)}/>\n{text}"
    )
