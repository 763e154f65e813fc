"""Text in a PDF: our own faces, letters that they lack, right-to-left runs, wrapping.

A letter that no face has is written as its number in brackets, ``[U+5BDD]``, so that nothing is lost and
nobody takes it for another. Right-to-left letters stand in reading order, but are not joined.
"""

import hashlib
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from sawready.errors import SettingsError
from sawready.report.sheet_library import registered_face

_FILES: Final = ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf")
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")
_HIDDEN: Final = re.compile(r"[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\ufe00-\ufe0f]")
"""Marks of direction, joiners and variation selectors, which have no shape of their own."""
_RIGHT_TO_LEFT: Final = frozenset({"R", "AL"})
_NEUTRAL: Final = frozenset({"WS", "ON", "NSM", "CS", "ES"})

_MOST_KNOWN: Final = 20_000
"""Texts whose width, runs and lines a document keeps: much stands on every page alike."""

Run = tuple[str, str, float]
"""Name of a face, text in it, and its width at size 1."""


@dataclass(frozen=True, slots=True)
class Face:
    """A registered face with what it can write.

    Attributes:
        name: as the canvas calls it.
        widths: advance of each letter it has, in thousandths of the size.
    """

    name: str
    widths: dict[int, float] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Faces:
    """The faces of a document.

    Attributes:
        regular, bold: our own.
        more: those that the user adds for letters that ours lack, in order.
    """

    regular: Face
    bold: Face
    more: tuple[Face, ...] = ()
    _known: dict[tuple[str, bool], float] = field(default_factory=dict, repr=False, compare=False)
    _runs: dict[tuple[str, bool], list[Run]] = field(default_factory=dict, repr=False, compare=False)
    _lines: dict[tuple[str, float, float, bool], list[str]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def width(self, text: str, size: float, *, is_bold: bool = False) -> float:
        """How wide a line is. [pt].

        Args:
            text: as it reads.
            size: of the letters. [pt]
            is_bold: whether in bold.
        """
        key = (text, is_bold)
        known = self._known.get(key)
        if known is None:
            known = self._measured(text, is_bold=is_bold)
            if len(self._known) < _MOST_KNOWN:
                self._known[key] = known
        return known * size

    def _measured(self, text: str, *, is_bold: bool) -> float:
        """Width of a line at size 1."""
        first = self.bold if is_bold else self.regular
        plain = plain_text(text)
        widths = first.widths
        try:
            return sum([widths[ord(letter)] for letter in plain]) / 1000
        except KeyError:
            pieces = self._pieces(plain, first)
            return sum(face.widths[ord(letter)] for face, piece in pieces for letter in piece) / 1000

    def runs(self, text: str, *, is_bold: bool = False) -> list[Run]:
        """A line in the order in which it is drawn, split by face."""
        key = (text, is_bold)
        known = self._runs.get(key)
        if known is None:
            known = self._parted(text, is_bold=is_bold)
            if len(self._runs) < _MOST_KNOWN:
                self._runs[key] = known
        return known

    def _parted(self, text: str, *, is_bold: bool) -> list[Run]:
        first = self.bold if is_bold else self.regular
        plain = in_drawing_order(plain_text(text))
        if first.widths.keys() >= set(map(ord, plain)):
            return [(first.name, plain, self.width(text, 1.0, is_bold=is_bold))]
        return [
            (face.name, piece, sum([face.widths[ord(letter)] for letter in piece]) / 1000)
            for face, piece in self._pieces(plain, first)
        ]

    def lacks(self, text: str) -> bool:
        """Whether some letter has to be written by its number."""
        every = (self.regular, *self.more)
        return any(not any(ord(letter) in face.widths for face in every) for letter in set(plain_text(text)))

    def _pieces(self, text: str, first: Face) -> Iterator[tuple[Face, str]]:
        faces = (first, self.regular, *self.more)
        current: Face | None = None
        piece = ""
        for letter in text:
            code = ord(letter)
            face = next((each for each in faces if code in each.widths), None)
            written = letter
            if face is None:
                face, written = first, f"[U+{code:04X}]"
            if face is not current and piece and current is not None:
                yield current, piece
                piece = ""
            current = face
            piece += written
        if piece and current is not None:
            yield current, piece

    def wrapped(self, text: str, most: float, size: float, *, is_bold: bool = False) -> list[str]:
        """A text in lines no wider than that; a word that is too long for a line is broken.

        Args:
            text: as it reads.
            most: greatest width of a line. [pt]
            size: of the letters. [pt]
            is_bold: whether in bold.
        """
        key = (text, most, size, is_bold)
        known = self._lines.get(key)
        if known is None:
            known = self._wrap(text, most, size, is_bold=is_bold)
            if len(self._lines) < _MOST_KNOWN:
                self._lines[key] = known
        return list(known)

    def _wrap(self, text: str, most: float, size: float, *, is_bold: bool) -> list[str]:
        lines: list[str] = []
        line, used = "", 0.0
        blank = self.width(" ", size, is_bold=is_bold)
        for word in plain_text(text).split():
            rest, width = word, self.width(word, size, is_bold=is_bold)
            while width > most:
                if line:
                    lines.append(line)
                    line, used = "", 0.0
                cut = self._fitting(rest, most, size, is_bold=is_bold)
                lines.append(rest[:cut])
                rest = rest[cut:]
                width = self.width(rest, size, is_bold=is_bold)
            if line and used + blank + width > most:
                lines.append(line)
                line, used = rest, width
            else:
                line, used = (f"{line} {rest}", used + blank + width) if line else (rest, width)
        if line:
            lines.append(line)
        return lines

    def _fitting(self, word: str, most: float, size: float, *, is_bold: bool) -> int:
        width = 0.0
        for number, letter in enumerate(word):
            width += self.width(letter, size, is_bold=is_bold)
            if width > most:
                return max(1, number)
        return len(word)

    def shortened(self, text: str, most: float, size: float, *, is_bold: bool = False) -> str:
        """A line that fits: where it is too wide its middle is left out, since names differ at their ends.

        Args:
            text: as it reads.
            most: greatest width. [pt]
            size: of the letters. [pt]
            is_bold: whether in bold.
        """
        if self.width(text, size, is_bold=is_bold) <= most:
            return text
        for keep in range(len(text) - 1, 0, -1):
            head = (keep + 1) // 2
            cut = f"{text[:head]}…{text[len(text) - keep + head :]}"
            if self.width(cut, size, is_bold=is_bold) <= most:
                return cut
        return ""

    def fitted(self, text: str, most: float, size: float, least: float, *, is_bold: bool = False) -> float:
        """The size from ``size`` down to ``least`` at which a line fits. [pt]."""
        width = self.width(text, size, is_bold=is_bold)
        return size if width <= most else max(least, 0.995 * size * most / width)


def plain_text(text: str) -> str:
    r"""A text on one line: composed letters, blanks for line ends, marks without a shape left out.

    Example:
        >>> plain_text("cafe\u0301\nnoir")
        'café noir'
    """
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", _HIDDEN.sub("", text))
    composed = "".join(letter if not 0xD800 <= ord(letter) < 0xE000 else "\ufffd" for letter in composed)
    return _CONTROL.sub(" ", composed)


def in_drawing_order(text: str) -> str:
    r"""The letters as they stand from left to right on the page: runs of right-to-left letters turned.

    A run reaches from one such letter to the last, with blanks and signs between them; figures in it keep
    their order. This is the plain case of UAX 9, without nesting: enough for the name of a room.

    Example:
        >>> print(ascii(in_drawing_order("W1 \u05d0\u05d1\u05d2 left")))
        'W1 \u05d2\u05d1\u05d0 left'
    """
    if text.isascii():
        return text
    kinds = [unicodedata.bidirectional(letter) for letter in text]
    if not any(kind in _RIGHT_TO_LEFT for kind in kinds):
        return text
    out: list[str] = []
    at = 0
    while at < len(text):
        if kinds[at] not in _RIGHT_TO_LEFT:
            out.append(text[at])
            at += 1
            continue
        end = last = at
        while end < len(text) and (kinds[end] in _RIGHT_TO_LEFT or kinds[end] in _NEUTRAL):
            if kinds[end] in _RIGHT_TO_LEFT or kinds[end] == "NSM":
                last = end
            end += 1
        out.append(_turned(text[at : last + 1]))
        at = last + 1
    return "".join(out)


def _turned(text: str) -> str:
    """Letters in the other order, each with the marks that sit on it."""
    clusters: list[str] = []
    for letter in text:
        if clusters and unicodedata.combining(letter):
            clusters[-1] += letter
        else:
            clusters.append(letter)
    return "".join(reversed(clusters))


def faces(more: Sequence[Path] = ()) -> Faces:
    """Our own faces, and those of the user's font files.

    Args:
        more: TrueType files for letters that ours lack.
    Raises: SettingsError naming a file that cannot be used.
    """
    regular, bold = _own()
    return Faces(regular, bold, tuple(_of_user(Path(path)) for path in more))


@cache
def _own() -> tuple[Face, Face]:
    folder = files("sawready.report").joinpath("fonts")
    regular, bold = (_registered(f"sawready-{name}", folder.joinpath(name).read_bytes()) for name in _FILES)
    return regular, bold


def _of_user(path: Path) -> Face:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror or 'it cannot be opened'}") from error
    try:
        return _registered(f"sawready-{hashlib.sha256(data).hexdigest()[:16]}", data)
    except Exception as error:
        raise SettingsError(f"{path} is no TrueType font that can be put into a PDF: {error}") from error


def _registered(name: str, data: bytes) -> Face:
    face = registered_face(name, data)
    default = float(face.defaultWidth)
    return Face(name, {code: float(face.charWidths.get(code, default)) for code in face.charToGlyph})
