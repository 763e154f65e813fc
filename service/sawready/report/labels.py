"""Stickers for cut pieces as PDF: one for each piece of each accepted window, as the cutting list has them.

What is printed is the published result; the same results give the same bytes. The grids of sticker sheets
stand in ``catalogue/data/labels.yaml``.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import SettingsError
from sawready.report.sheet_layout import INK, Align, Line, Pen
from sawready.report.sheet_library import MM, Canvas, new_canvas, saved
from sawready.report.sheet_text import Faces, faces

MEDIA_TYPE: Final = "application/pdf"

_SMALL_MM: Final = 37.0
"""Height of a sticker at which text has its full size; lower ones have smaller text. [mm]."""

_LEAST: Final = 6.5
"""Letters are not made smaller than this on a sticker of full size: the middle of a name is left out. [pt]."""

_BAR: Final = (58.0, 7.0)
"""Room for the picture of a piece with its ends. [pt]."""


@dataclass(frozen=True, slots=True)
class Grid:
    """How a sheet of stickers is cut. [mm].

    Attributes:
        name: in the file.
        page: width and height of the sheet.
        columns, rows: stickers across and down.
        label: width and height of a sticker.
        margin: from the left and upper edge to the first.
        pitch: from one to the next, across and down.
        pad: kept free inside each edge of a sticker.
        source: where the measures come from.
    """

    name: str
    page: tuple[float, float]
    columns: int
    rows: int
    label: tuple[float, float]
    margin: tuple[float, float]
    pitch: tuple[float, float]
    pad: float
    source: str

    @property
    def count(self) -> int:
        """Stickers on a sheet."""
        return self.columns * self.rows

    def place(self, number: int) -> tuple[float, float]:
        """Left and upper edge of a sticker of a sheet, counted from 0 along the rows. [mm]."""
        row, column = divmod(number, self.columns)
        return self.margin[0] + column * self.pitch[0], self.margin[1] + row * self.pitch[1]


@dataclass(frozen=True, slots=True)
class LabelStyle:
    """How labels are made.

    Attributes:
        grid: name of the grid; None for the usual one.
        first: sticker of the first sheet to begin with, from 1, where some are used already.
        has_beads: whether glazing beads get stickers too.
        fonts: TrueType files for letters that our own faces lack.
    """

    grid: str | None = None
    first: int = 1
    has_beads: bool = True
    fonts: tuple[Path, ...] = ()


PLAIN: Final = LabelStyle()


@cache
def _file() -> Mapping[str, Any]:
    data = files("sawready.catalogue").joinpath("data", "labels.yaml").read_bytes()
    loaded: Mapping[str, Any] = load_yaml(data, name="labels.yaml").data
    return loaded


@cache
def grids() -> Mapping[str, Grid]:
    """Every grid of the file by its name, the usual one first."""
    usual = _file()["default_grid"]["value"]
    names = sorted(_file()["grids"], key=lambda name: name != usual)
    return {name: _grid(name, _file()["grids"][name]) for name in names}


def _grid(name: str, own: Mapping[str, Any]) -> Grid:
    def pair(key: str) -> tuple[float, float]:
        across, down = own[key]
        return float(across), float(down)

    return Grid(
        name=name,
        page=pair("page_mm"),
        columns=int(own["columns"]),
        rows=int(own["rows"]),
        label=pair("label_mm"),
        margin=pair("margin_mm"),
        pitch=pair("pitch_mm"),
        pad=float(own["pad_mm"]),
        source=own["source"],
    )


@dataclass(frozen=True, slots=True)
class Label:
    """What one sticker says.

    Attributes:
        order_ref, opening_ref: the firm's names.
        window, windows: which of how many windows that are alike.
        part: in words, with its light.
        profile: stock name.
        length_mm: as published. [mm]
        ends: angles of the two ends.
        number, count: which of how many pieces of the window.
        digest: of the result.
    """

    order_ref: str
    opening_ref: str
    window: int
    windows: int
    part: str
    profile: str
    length_mm: float
    ends: str
    number: int
    count: int
    digest: str


def labels_of(result: Mapping[str, Any], *, has_beads: bool = True) -> Iterator[Label]:
    """A label for each piece of each accepted opening of a published result, windows one after the other.

    A piece of steel is named by the member that it goes into, which stands before it in the list.

    Args:
        result: the published result.
        has_beads: whether beads are pieces too.
    """
    for opening in result["openings"]:
        if opening["decision"] != "accepted":
            continue
        pieces = [*opening["pieces"], *(opening["beads"] if has_beads else ())]
        windows = opening["quantity"] or 1
        for window in range(1, windows + 1):
            owner = ""
            for number, piece in enumerate(pieces, 1):
                light = "" if piece["light"] is None else f", light {piece['light'] + 1}"
                part = piece["part"].replace("-", " ")
                if part == "reinforcement":
                    part = f"reinforcement of {owner}"
                else:
                    owner = part
                yield Label(
                    order_ref=result["order_ref"] or "order without a reference",
                    opening_ref=opening["opening_ref"] or "opening without a reference",
                    window=window,
                    windows=windows,
                    part=f"{part}{light}",
                    profile=piece["profile"],
                    length_mm=piece["length_mm"],
                    ends=piece["ends"],
                    number=number,
                    count=len(pieces),
                    digest=result["digest"],
                )


def labels_pdf(results: Iterable[Mapping[str, Any]], style: LabelStyle = PLAIN) -> bytes:
    """Stickers for every piece of every accepted opening.

    Args:
        results: published results.
        style: grid, first sticker, beads, more faces.
    Returns: the PDF; the same bytes for the same results.
    Raises: SettingsError for a grid or first sticker that there is not, a font file that cannot be used,
        more labels than the file allows, or none at all.
    """
    grid = _chosen(style)
    most = int(_file()["most_labels"]["value"])
    own_faces = faces(style.fonts)
    stream = BytesIO()
    canvas = new_canvas(stream, (grid.page[0] * MM, grid.page[1] * MM), title="Labels for pieces")
    at, made = style.first - 1, 0
    for result in results:
        for label in labels_of(result, has_beads=style.has_beads):
            made += 1
            if made > most:
                raise SettingsError(
                    f"These results have more than {most} pieces, the most for one document. "
                    "Give fewer orders at a time."
                )
            if at == grid.count:
                canvas.showPage()
                at = 0
            _draw(canvas, own_faces, grid, at, label)
            at += 1
    if not made:
        raise SettingsError("There is no accepted opening, so there is nothing to label.")
    canvas.showPage()
    return saved(canvas, stream)


def _chosen(style: LabelStyle) -> Grid:
    name = style.grid or next(iter(grids()))
    grid = grids().get(name)
    if grid is None:
        raise SettingsError(f"There is no grid {name!r}; there are {', '.join(grids())}.")
    if not 1 <= style.first <= grid.count:
        raise SettingsError(f"The first sticker is 1 to {grid.count} in grid {name}, not {style.first}.")
    return grid


def _draw(canvas: Canvas, own_faces: Faces, grid: Grid, place: int, label: Label) -> None:
    """One sticker."""
    left, top = (edge * MM for edge in grid.place(place))
    up = grid.page[1] * MM - top
    pad = grid.pad * MM
    width, height = grid.label[0] * MM - 2 * pad, grid.label[1] * MM - 2 * pad
    scale = min(1.0, grid.label[1] / _SMALL_MM, grid.label[0] / 70)
    x, y = left + pad, up - pad
    pen = Pen(canvas, own_faces)

    def line(
        text: str, down: float, size: float, most: float, *, is_bold: bool = False, align: Align = "left"
    ) -> None:
        size = own_faces.fitted(text, most, size * scale, min(size, _LEAST) * scale, is_bold=is_bold)
        text = own_faces.shortened(text, most, size, is_bold=is_bold)
        at = {"left": 0.0, "right": width, "middle": width / 2}[align]
        pen.write(Line(at, down, text, size, is_bold, align=align), x, y)

    which = "" if label.windows == 1 else f"{label.window} of {label.windows}"
    room = width - (own_faces.width(which, 9 * scale) + 8 if which else 0)
    names = own_faces.wrapped(label.opening_ref, room, _LEAST * scale, is_bold=True)
    if own_faces.width(label.opening_ref, _LEAST * scale, is_bold=True) <= room:
        line(label.opening_ref, 11 * scale, 12, room, is_bold=True)
    else:
        line(names[0], 6.6 * scale, _LEAST, room, is_bold=True)
        line(" ".join(names[1:]), 14.4 * scale, _LEAST, room, is_bold=True)
    if which:
        line(which, 11 * scale, 9, width * 0.4, align="right")
    line(label.part, 0.32 * height, 9.5, width)
    bar = _BAR[0] * scale, _BAR[1] * scale
    line(f"{label.length_mm:.1f}", 0.62 * height, 20, width - bar[0] - 6, is_bold=True)
    line(f"{label.profile}   {label.ends}", 0.8 * height, 9, width * 0.98)
    serial = f"{label.number} of {label.count}"
    line(serial, height - 0.6, 7, width * 0.3, align="right")
    digest = f"  {label.digest[7:15]}"
    order = own_faces.shortened(
        label.order_ref, width * 0.68 - own_faces.width(digest, _LEAST * scale), _LEAST * scale
    )
    line(f"{order}{digest}", height - 0.6, 7, width * 0.68)
    pen.lift()
    _draw_piece(canvas, label.ends, x + width - bar[0], y - 0.6 * height, bar)


def _draw_piece(canvas: Canvas, ends: str, x: float, y: float, size: tuple[float, float]) -> None:
    """A piece lying on its long side, its ends cut as they are."""
    width, height = size
    first, second = (0.0 if angle == "90" else height for angle in ends.split("/"))
    path = canvas.beginPath()
    path.moveTo(x, y)
    path.lineTo(x + width, y)
    path.lineTo(x + width - second, y + height)
    path.lineTo(x + first, y + height)
    path.close()
    canvas.setStrokeColorRGB(*INK)
    canvas.setLineWidth(0.7)
    canvas.drawPath(path, stroke=1, fill=0)
