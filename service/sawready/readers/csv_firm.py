"""Rows of a firm's own sheet: which of them are openings, and both sizes in one cell."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from sawready.lengths import Pair, Refusal, read_pair
from sawready.model.finding import NOTE, REJECT, Severity
from sawready.order_schema import NUMBER_STYLES, UNITS
from sawready.readers.column_map import PairOrder
from sawready.readers.fault import shown
from sawready.readers.rows import Role, classify_row

ROLES: Final[Mapping[str, Role]] = {
    "opening_ref": "reference",
    "width_top": "size",
    "height_left": "size",
    "quantity": "quantity",
}

FirmRow = Literal["data", "struck", "note", "heading", "total", "section", "blank"]

_NM_PER_MM: Final = Decimal(1_000_000)


class Told(NamedTuple):
    """Something to say of one row's value, before it is known which opening of which order it is.

    Attributes:
        path: from the opening to the value.
        reason: name in the catalogue of reasons.
        severity: reject or note.
        message: one or two sentences.
        remedy: what to do.
        candidates: readings worth offering.
        column: heading.
    """

    path: tuple[str | int, ...]
    reason: str
    severity: Severity
    message: str
    remedy: str | None
    candidates: tuple[float | int | str, ...]
    column: str | None


class FirmRows:
    """Tells the rows of a firm's sheet apart.

    Attributes:
        roles: what each column of the sheet holds.
    """

    def __init__(self, header: Sequence[str], columns: Mapping[str, str]) -> None:
        """Takes the headings, and the heading of each of our columns."""
        role_of = {columns[ours]: role for ours, role in ROLES.items() if ours in columns}
        self.roles: list[Role] = [role_of.get(name, "other") for name in header]
        self._reference = self.roles.index("reference") if "reference" in self.roles else None
        self._sizes = [number for number, role in enumerate(self.roles) if role == "size"]

    def kind(self, cells: Sequence[str]) -> FirmRow:
        """What a row is. Sizes without a reference, or the other way round, are data with a gap."""
        kind = classify_row(cells, roles=self.roles)
        if kind == "query":
            named = [*self._sizes] if self._reference is None else [self._reference, *self._sizes]
            is_whole = len(named) > 1 and all(cells[number].strip() for number in named)
            return "struck" if is_whole else "data"
        return "data" if kind == "duplicate" else kind


def struck_out(reference: str, column: str | None) -> Told:
    """A row that says that it does not count, and yet has sizes."""
    return Told(
        ("opening_ref",),
        "value-ambiguous",
        REJECT,
        f"The row of {shown(reference)} looks struck out, but it holds sizes.",
        "Take the row out, or the words that strike it out.",
        ("to be made", "left out"),
        column,
    )


def split_pair(
    text: str, *, order: PairOrder | None, units: str | None, number_style: str | None, column: str
) -> tuple[str, str, tuple[Told, ...]]:
    """Width and height from one cell, each as text with its unit; blank where they cannot be told.

    Args:
        text: the cell.
        order: which comes first, as declared.
        units: unit of bare numbers, where it is known.
        number_style: how numbers are written.
        column: heading, for what is said.
    Returns: width, height, and what is to be said of them.
    """
    read = read_pair(
        text,
        unit=units if units in UNITS else None,
        number_style=number_style if number_style in NUMBER_STYLES else "en",
        order=order,
    )
    if read is None:
        return "", "", ()
    if isinstance(read, Pair):
        told = tuple(
            Told(("widths", 0), remark.reason, NOTE, remark.text, None, (), column) for remark in read.remarks
        )
        return _mm_text(read.width_nm), _mm_text(read.height_nm), told
    return "", "", tuple(_refused(read, name, column) for name in ("widths", "heights"))


def _refused(refusal: Refusal, name: str, column: str) -> Told:
    return Told(
        (name,),
        refusal.reason,
        REJECT,
        f"The sizes cannot be told apart: {refusal.because.rstrip('.')}.",
        refusal.remedy or "Write width and height as two columns.",
        refusal.candidates_mm,
        column,
    )


def _mm_text(nm: int) -> str:
    return f"{Decimal(nm) / _NM_PER_MM:f} mm"
