"""One profile in one colour as a bare cutting problem, and an answer to it as bars with real pieces."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from .grid import Grid, grid_for
from .mitres import joint_nm, lay_out
from .pieces import BarStock, Ends, OldOffcut, Piece, Saw
from .plan import Bar, PlacedPiece
from .problem import NEW_BAR, CuttingProblem, Fill, Offcut, Packing, Pattern

NOT_TURNED_MIXED: Final = "No piece is turned, as not every end is mitred."
NOT_TURNED_SHORT: Final = "No piece is turned, as one is shorter than twice the face."

NOTHING: Final = CuttingProblem((), (), 1)
"""A problem without pieces."""

Kind = tuple[int, Ends]
"""What makes pieces alike on a bar: length in whole tenths of a millimetre, and ends. [nm]."""


@dataclass(frozen=True, slots=True)
class Source:
    """An old offcut, with the pieces that only an offcut is long enough for, if any."""

    length_nm: int
    fixed: tuple[Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class CuttingList:
    """A list ready to be solved.

    Attributes:
        stock: the fresh bars.
        saw: the saw.
        too_long: pieces that no stock holds.
        longest_nm: usable length of the longest stock. [nm]
        turn_face_nm: face width where every second piece is turned, else None. [nm]
        remarks: what a reader of the plan should know.
        problem: the list in whole numbers; without lengths where nothing is left to solve.
        grid: how the whole numbers came about; None where there are no pieces.
        queues: the real pieces behind each length of the problem.
        sources: the real offcuts behind each old offcut of the problem.
        full: old offcuts that hold their fixed pieces and no more.
        loose: the problem rounded in favour of a bound; None where the problem itself is exact.
    """

    stock: BarStock
    saw: Saw
    too_long: tuple[Piece, ...]
    longest_nm: int
    turn_face_nm: int | None = None
    remarks: tuple[str, ...] = ()
    problem: CuttingProblem = NOTHING
    grid: Grid | None = None
    queues: tuple[tuple[Piece, ...], ...] = ()
    sources: tuple[tuple[Source, ...], ...] = ()
    full: tuple[Source, ...] = ()
    loose: CuttingProblem | None = None

    @property
    def pieces(self) -> int:
        """How many pieces go on bars."""
        fixed = sum(len(source.fixed) for of in (*self.sources, self.full) for source in of)
        return self.problem.pieces + fixed

    def bars(self, packing: Packing) -> tuple[Bar, ...]:
        """Real bars for an answer: old offcuts, then fresh bars, the one with the most left over last.

        Equal pieces are handed out in the order in which they came.
        """
        queues = [deque(queue) for queue in self.queues]
        sources = [deque(of) for of in self.sources]
        old, new = [], []
        for fill in sorted(packing, key=self._place_of):
            for _ in range(fill.times):
                pieces = _take(queues, fill.pattern)
                if fill.stock == NEW_BAR:
                    new.append((Source(self.stock.bar_nm), pieces))
                else:
                    old.append((sources[fill.stock].popleft(), pieces))
        alone: list[tuple[Source, list[Piece]]] = [(source, []) for source in self.full]
        alone += [(source, []) for of in sources for source in of if source.fixed]
        return tuple(
            self._bar(number, source, [*source.fixed, *pieces], is_old=number <= len(alone) + len(old))
            for number, (source, pieces) in enumerate([*alone, *old, *new], 1)
        )

    def _place_of(self, fill: Fill) -> tuple[int, int, Pattern]:
        """Bars with little left over before bars with much; long pieces first."""
        room = self.problem.capacity_of(fill.stock) - self.problem.weight_of(fill.pattern)
        return (room if fill.stock == NEW_BAR else 0), fill.stock, fill.pattern

    def _bar(self, number: int, source: Source, pieces: list[Piece], *, is_old: bool) -> Bar:
        """One bar with its pieces laid out."""
        laid, extent_nm = lay_out(
            [(piece.nested_nm, piece.ends) for piece in pieces],
            kerf_nm=self.saw.kerf_nm,
            turn_face_nm=self.turn_face_nm,
        )
        usable_nm = source.length_nm - self.saw.trim_nm
        if extent_nm > usable_nm:  # never seen; a wrong plan must not reach the saw
            raise ArithmeticError(f"{extent_nm} nm of pieces are on {usable_nm} nm of bar")
        parting_nm = joint_nm(pieces[laid[-1].piece].ends[3:], "90", kerf_nm=self.saw.kerf_nm)
        offcut_nm = max(0, usable_nm - extent_nm - parting_nm)
        before_nm = self.saw.trim_nm // 2
        placed = tuple(
            PlacedPiece(pieces[spot.piece], position, before_nm + spot.start_nm, is_turned=spot.is_turned)
            for position, spot in enumerate(laid, 1)
        )
        is_kept = 0 < offcut_nm >= self.saw.keep_nm
        return Bar(number, source.length_nm, is_old, placed, offcut_nm, is_kept)


def _take(queues: list[deque[Piece]], pattern: Pattern) -> list[Piece]:
    """Single pieces for a pattern, taken off the queues."""
    taken = []
    for index, count in pattern:
        for _ in range(count):
            piece = queues[index].popleft()
            if piece.quantity > 1:
                queues[index].appendleft(replace(piece, quantity=piece.quantity - 1))
                piece = replace(piece, quantity=1)
            taken.append(piece)
    return taken


def cutting_list(
    pieces: Sequence[Piece], *, stock: BarStock, offcuts: Sequence[OldOffcut], saw: Saw
) -> CuttingList:
    """Makes a list ready to be solved.

    A piece longer than a fresh bar gives goes on the shortest old offcut that holds it; what is left of
    that offcut can take others.

    Args:
        pieces: of one profile and colour.
        stock: its fresh bars.
        offcuts: its old offcuts.
        saw: the saw.
    """
    rack = sorted(length for offcut in offcuts for length in [offcut.length_nm] * offcut.quantity)
    longest_nm = max([stock.bar_nm, *rack]) - saw.trim_nm
    fitting, fixed, too_long = _sorted_out(pieces, rack, stock.bar_nm, saw.trim_nm)
    every = [*fitting, *(piece for source in fixed for piece in source.fixed)]
    made = CuttingList(stock, saw, tuple(too_long), longest_nm)
    if not every:
        return made
    turn_face_nm, remarks = _turning(every, stock)
    for source in fixed:
        rack.remove(source.length_nm)
    least_nm = min(piece.nested_nm for piece in every) + saw.trim_nm
    sources = [*fixed, *(Source(length) for length in rack if length >= least_nm)]
    kinds = sorted({(piece.nested_nm, piece.ends) for piece in every}, reverse=True)
    lengths = [stock.bar_nm, *sorted({source.length_nm for source in sources} - {stock.bar_nm})]
    grid = grid_for(
        kinds,
        [length - saw.trim_nm for length in lengths],
        kerf_nm=saw.kerf_nm,
        turn_face_nm=turn_face_nm,
    )
    made = replace(made, turn_face_nm=turn_face_nm, remarks=remarks, grid=grid)
    return _with_problem(made, fitting, sources, _Scale(grid, kinds, lengths))


def _sorted_out(
    pieces: Sequence[Piece], rack: Sequence[int], bar_nm: int, trim_nm: int
) -> tuple[list[Piece], list[Source], list[Piece]]:
    """Pieces that a fresh bar holds; offcuts that take one that is longer; pieces that nothing holds."""
    fitting = [piece for piece in pieces if piece.nested_nm + trim_nm <= bar_nm]
    over = [piece for piece in pieces if piece.nested_nm + trim_nm > bar_nm]
    free = [length for length in rack if length > bar_nm]
    fixed: list[Source] = []
    too_long: list[Piece] = []
    for piece in sorted(over, key=lambda piece: -piece.nested_nm):
        left = piece.quantity
        while left and (long_enough := [length for length in free if length >= piece.nested_nm + trim_nm]):
            free.remove(long_enough[0])
            fixed.append(Source(long_enough[0], (replace(piece, quantity=1),)))
            left -= 1
        if left:
            too_long.append(replace(piece, quantity=left))
    return fitting, fixed, too_long


def _turning(pieces: Sequence[Piece], stock: BarStock) -> tuple[int | None, tuple[str, ...]]:
    """The face width if pieces are to be turned, and why not where the profile would allow it."""
    if not stock.is_turnable or stock.face_nm is None:
        return None, ()
    if any(piece.ends != "45/45" for piece in pieces):
        return None, (NOT_TURNED_MIXED,)
    if any(piece.nested_nm < 2 * stock.face_nm for piece in pieces):
        return None, (NOT_TURNED_SHORT,)
    return stock.face_nm, ()


class _Scale:
    """Whole numbers by kind of piece and by length of stock."""

    def __init__(self, grid: Grid, kinds: Sequence[Kind], lengths: Sequence[int]) -> None:
        self.is_exact = grid.loose_weights is None
        self._weights = dict(zip(kinds, grid.weights, strict=True))
        self._capacities = dict(zip(lengths, grid.capacities, strict=True))
        self._loose_weights = dict(zip(kinds, grid.loose_weights or grid.weights, strict=True))
        self._loose = dict(zip(lengths, grid.loose_capacities or grid.capacities, strict=True))

    def weight(self, piece: Piece) -> int:
        return self._weights[piece.nested_nm, piece.ends]

    def capacity(self, length_nm: int) -> int:
        return self._capacities[length_nm]

    def loose_weight(self, piece: Piece) -> int:
        return self._loose_weights[piece.nested_nm, piece.ends]

    def loose_capacity(self, length_nm: int) -> int:
        return self._loose[length_nm]


def _with_problem(
    made: CuttingList, fitting: Sequence[Piece], sources: Sequence[Source], scale: _Scale
) -> CuttingList:
    """The list with its problem, and the real pieces and offcuts behind it."""
    queues: dict[int, list[Piece]] = {}
    for piece in fitting:
        queues.setdefault(scale.weight(piece), []).append(piece)
    weights = sorted(queues, reverse=True)
    racks: dict[int, list[Source]] = {}
    full: list[Source] = []
    for source in sorted(sources, key=lambda source: (not source.fixed, source.length_nm)):
        room = scale.capacity(source.length_nm) - sum(scale.weight(piece) for piece in source.fixed)
        if weights and room >= weights[-1]:
            racks.setdefault(room, []).append(source)
        elif source.fixed:
            full.append(source)
    if not weights:
        return replace(made, full=tuple(full))
    demands = tuple(sum(piece.quantity for piece in queues[weight]) for weight in weights)
    loose = None
    if not scale.is_exact or any(source.fixed for source in sources):
        loose = _loose_problem(fitting, sources, made.stock.bar_nm, scale)
    rooms = sorted(racks, reverse=True)
    problem = CuttingProblem(
        tuple(weights),
        demands,
        scale.capacity(made.stock.bar_nm),
        tuple(Offcut(room, len(racks[room])) for room in rooms),
    )
    return replace(
        made,
        problem=problem,
        queues=tuple(tuple(queues[weight]) for weight in weights),
        sources=tuple(tuple(racks[room]) for room in rooms),
        full=tuple(full),
        loose=loose,
    )


def _loose_problem(
    fitting: Sequence[Piece], sources: Sequence[Source], bar_nm: int, scale: _Scale
) -> CuttingProblem:
    """The list rounded in favour of a bound, every offcut whole."""
    demands: dict[int, int] = {}
    for piece in fitting:
        weight = scale.loose_weight(piece)
        demands[weight] = demands.get(weight, 0) + piece.quantity
    weights = sorted(demands, reverse=True)
    rack: dict[int, int] = {}
    for source in sources:
        room = scale.loose_capacity(source.length_nm)
        rack[room] = rack.get(room, 0) + 1
    return CuttingProblem(
        tuple(weights),
        tuple(demands[weight] for weight in weights),
        scale.loose_capacity(bar_nm),
        tuple(Offcut(room, rack[room]) for room in sorted(rack, reverse=True)),
    )
