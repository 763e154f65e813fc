"""The two libraries behind sheets and labels, asked for at one place: reportlab for PDF, segno for codes.

Streams stay binary instead of base 85: a fifth smaller, and quicker to write.
"""

import threading
from collections.abc import Callable
from io import BytesIO
from typing import Any, Final

from sawready.errors import SettingsError

try:
    import segno
    from reportlab import rl_config
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas as _Canvas
except ImportError as missing:  # pragma: no cover - every environment of the tests has both
    raise SettingsError(
        "Sheets and labels need the extra 'sheet': pip install 'sawready[sheet]'."
    ) from missing

rl_config.useA85 = 0

Canvas = Any
"""A reportlab canvas; the library has no types."""

MM: Final = 72 / 25.4
"""Points in a millimetre."""

make_code: Final[Callable[..., Any]] = segno.make


def new_canvas(stream: BytesIO, page: tuple[float, float], *, title: str) -> Canvas:
    """A canvas whose document is the same whenever it is made.

    Args:
        stream: where the document goes.
        page: width and height. [pt]
        title: of the document.
    """
    canvas = _Canvas(stream, pagesize=page, invariant=1, pageCompression=1, lang="en")
    canvas.setTitle(title)
    canvas.setAuthor("sawready")
    canvas.setCreator("sawready")
    canvas.setProducer("sawready")
    return canvas


_SAVING: Final = threading.Lock()
"""Taking a face apart for a document moves a place in the face that all documents share."""


def saved(canvas: Canvas, stream: BytesIO) -> bytes:
    """The document of a canvas; safe while other documents are made.

    Args:
        canvas: as ``new_canvas`` gave it.
        stream: the one that it was given.
    """
    with _SAVING:
        canvas.save()
    return stream.getvalue()


_MOST_PIECES: Final = 20_000
_PIECES: Final = "_sawready_pieces"


def pieces_of(canvas: Canvas, face: str, text: str) -> list[tuple[str, str]]:
    """A text as its document holds it: the font of each piece of the face, and the letters as hexadecimal digits.

    A face of many letters is put into a document in parts of 256; the library says which letters are in which.

    Args:
        canvas: the document.
        face: name of a face.
        text: in that face, in the order in which it is drawn.
    """
    known: dict[tuple[str, str], list[tuple[str, str]]] | None = getattr(canvas, _PIECES, None)
    if known is None:
        known = {}
        setattr(canvas, _PIECES, known)
    found = known.get((face, text))
    if found is None:
        document, font = canvas._doc, pdfmetrics.getFont(face)  # noqa: SLF001 - the library's fonts ask for it
        found = [
            (font.getSubsetInternalName(part, document), letters.hex())
            for part, letters in font.splitString(text, document)
        ]
        if len(known) < _MOST_PIECES:
            known[face, text] = found
    return found


def registered_face(name: str, data: bytes) -> Any:
    """A TrueType face under a name, registered once.

    Args:
        name: as the canvas calls it.
        data: content of its file.
    Raises: what the library raises for a file that is no such font.
    """
    with _SAVING:
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, BytesIO(data)))
        return pdfmetrics.getFont(name).face
