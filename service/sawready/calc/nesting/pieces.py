"""What goes into a bar plan: pieces to cut, bars and old offcuts to cut them from, and the saw."""

from dataclasses import dataclass
from typing import Final, Literal

from sawready.model.finding import Cell

NM_PER_TENTH: Final = 100_000
"""Nanometres in a tenth of a millimetre, the finest step of a piece on a bar."""

Ends = Literal["90/90", "45/45", "45/90", "90/45"]
"""Angles of the left and the right end, outer face towards the saw's fence."""

ENDS: Final[tuple[Ends, ...]] = ("90/90", "45/45", "45/90", "90/45")


@dataclass(frozen=True, slots=True)
class Piece:
    """Equal pieces of one opening.

    The length of a mitred piece is taken tip to tip, over its longer face, as cutting lists give it.

    Attributes:
        profile: name of the profile.
        length_nm: cutting length, allowances included. [nm]
        quantity: how many.
        ends: angles of the left and the right end.
        colour: what sets bars of one profile apart; None where it makes no difference.
        order_ref: whose it is.
        opening_ref: for which opening.
        part: which part of it.
        light: which light of the opening.
        firm: whose order it is, where orders of several firms are planned together.
        at: RFC 6901 pointer to whatever it came from.
        cell: its place in a sheet.
    """

    profile: str
    length_nm: int
    quantity: int = 1
    ends: Ends = "90/90"
    colour: str | None = None
    order_ref: str | None = None
    opening_ref: str | None = None
    part: str | None = None
    light: int | None = None
    firm: str | None = None
    at: str = ""
    cell: Cell | None = None

    def __post_init__(self) -> None:
        """Refuses what no saw can cut."""
        if self.length_nm <= 0:
            raise ValueError(f"a piece of {self.length_nm} nm is no piece")
        if self.quantity <= 0:
            raise ValueError(f"{self.quantity} pieces are none")
        if self.ends not in ENDS:
            raise ValueError(f"ends {self.ends!r} are none of {', '.join(ENDS)}")

    @property
    def nested_nm(self) -> int:
        """The length that it takes on a bar: the next whole tenth of a millimetre. [nm]."""
        return -(-self.length_nm // NM_PER_TENTH) * NM_PER_TENTH


@dataclass(frozen=True, slots=True)
class OldOffcut:
    """Leftovers of one length on the rack.

    Attributes:
        profile: name of the profile.
        length_nm: length over all; the saw's trim comes off it as off a fresh bar. [nm]
        quantity: how many.
        colour: as in ``Piece``.
    """

    profile: str
    length_nm: int
    quantity: int = 1
    colour: str | None = None

    def __post_init__(self) -> None:
        """Refuses what is no offcut."""
        if self.length_nm <= 0 or self.quantity <= 0:
            raise ValueError(f"{self.quantity} offcuts of {self.length_nm} nm are none")


@dataclass(frozen=True, slots=True)
class BarStock:
    """Fresh bars of one profile; there are as many as are needed.

    Attributes:
        bar_nm: length over all. [nm]
        face_nm: width of the face that the mitres run across; only needed to turn pieces. [nm]
        is_turnable: whether every second piece may lie with its outer face the other way round, as the
            section looks the same after swapping outer and inner side. Few sections do; never assumed.
    """

    bar_nm: int
    face_nm: int | None = None
    is_turnable: bool = False

    def __post_init__(self) -> None:
        """Refuses what is no bar, and turning without the face width that it depends on."""
        if self.bar_nm <= 0:
            raise ValueError(f"a bar of {self.bar_nm} nm is none")
        if self.is_turnable and not self.face_nm:
            raise ValueError("pieces can only be turned where the width of the face is known")


@dataclass(frozen=True, slots=True)
class Saw:
    """What the saw takes, and what is worth keeping.

    Attributes:
        kerf_nm: thickness of the blade's cut, square to the blade. [nm]
        trim_nm: taken off every bar and offcut, both ends together. [nm]
        keep_nm: least length of an offcut that goes back on the rack. [nm]
        scrap_nm: up to this length what is left counts as nothing, above it as an offcut that is lost. [nm]
    """

    kerf_nm: int
    trim_nm: int
    keep_nm: int
    scrap_nm: int = 0

    def __post_init__(self) -> None:
        """Refuses figures below zero."""
        for name in ("kerf_nm", "trim_nm", "keep_nm", "scrap_nm"):
            if getattr(self, name) < 0:
                raise ValueError(f"{name} is {getattr(self, name)}, below zero")
