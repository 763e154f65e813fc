"""What comes out of the planner: every piece on a bar, and how good the plan is known to be."""

from dataclasses import dataclass
from fractions import Fraction

from sawready.model.finding import Finding

from .guard import Stop
from .pieces import Piece, Saw


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """One piece on a bar.

    Attributes:
        piece: what it is.
        position: 1, 2, 3 from the left.
        start_nm: its left tip, from the bar's left end; half of the trim lies before the first. [nm]
        is_turned: whether its outer face lies the other way round.
    """

    piece: Piece
    position: int
    start_nm: int
    is_turned: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar or old offcut and what is cut from it.

    Attributes:
        number: counted through all bars of the profile, old offcuts first.
        stock_nm: its length over all. [nm]
        is_old_offcut: whether it comes from the rack of offcuts.
        pieces: from left to right.
        offcut_nm: what is left after the last cut, the trim taken off; 0 where nothing is. [nm]
        is_kept: whether that is worth keeping.
    """

    number: int
    stock_nm: int
    is_old_offcut: bool
    pieces: tuple[PlacedPiece, ...]
    offcut_nm: int
    is_kept: bool


@dataclass(frozen=True, slots=True)
class ProfilePlan:
    """The bars of one profile in one colour.

    Attributes:
        profile: name of the profile.
        colour: what sets its bars apart from others of the profile, or None.
        bar_nm: length of a fresh bar. [nm]
        bars: old offcuts, then fresh bars, the one with the longest offcut last.
        new_bars: how many fresh bars are needed.
        bound: fewest fresh bars that can do, proved in whole numbers.
        method: what found the plan: ``first-fit``, ``best-fit``, ``bar by bar``, ``column generation``,
            ``exact search``.
        stopped_by: the limit that cut the search for fewer bars short, or None.
        is_searched: an exact search found that no plan has one bar less; as it computes with rounding, the
            bound does not count it.
        is_turned: whether every second piece is turned.
        remarks: what a reader of the plan should know.
    """

    profile: str
    colour: str | None
    bar_nm: int
    bars: tuple[Bar, ...]
    new_bars: int
    bound: int
    method: str
    stopped_by: Stop | None = None
    is_searched: bool = False
    is_turned: bool = False
    remarks: tuple[str, ...] = ()

    @property
    def gap(self) -> int:
        """Fresh bars above the proved bound; 0 means that no plan needs fewer."""
        return self.new_bars - self.bound

    @property
    def old_offcuts(self) -> int:
        """How many old offcuts are used."""
        return sum(bar.is_old_offcut for bar in self.bars)

    @property
    def stock_nm(self) -> int:
        """Length of all bars and old offcuts used. [nm]."""
        return sum(bar.stock_nm for bar in self.bars)

    @property
    def pieces_nm(self) -> int:
        """Length of all pieces. [nm]."""
        return sum(placed.piece.length_nm for bar in self.bars for placed in bar.pieces)

    @property
    def pieces(self) -> int:
        """How many pieces there are."""
        return sum(len(bar.pieces) for bar in self.bars)

    @property
    def used_share(self) -> Fraction:
        """Length of the pieces over the length of all stock used; 0 where no stock is."""
        return Fraction(self.pieces_nm, self.stock_nm) if self.stock_nm else Fraction(0)

    @property
    def kept_nm(self) -> tuple[int, ...]:
        """Offcuts worth keeping, longest first. [nm]."""
        return tuple(sorted((bar.offcut_nm for bar in self.bars if bar.is_kept), reverse=True))


@dataclass(frozen=True, slots=True)
class Plan:
    """All bars for a set of pieces.

    Attributes:
        saw: what the saw takes and what is worth keeping.
        profiles: by profile, then colour.
        findings: pieces that no bar holds; everything else is planned.
        remarks: what a reader of the whole should know.
    """

    saw: Saw
    profiles: tuple[ProfilePlan, ...]
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def stopped_by(self) -> Stop | None:
        """The limit that cut any search short; the clock before the counted work."""
        stops = {profile.stopped_by for profile in self.profiles}
        return "time" if "time" in stops else "work" if "work" in stops else None
