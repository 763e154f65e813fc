"""Hands plans of the planner to the independent verifier, and knows the fewest bars of small lists."""

import random
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import cache

from nesting_verifier import CutBar, CutPiece, faults_of_list
from sawready.calc.nesting import BarStock, OldOffcut, Piece, Plan, Saw
from sawready.calc.nesting.problem import NEW_BAR, CuttingProblem, Offcut, Packing

MM = 1_000_000


def faults_of(
    plan: Plan,
    pieces: Sequence[Piece],
    *,
    stock: Mapping[str, BarStock],
    saw: Saw,
    offcuts: Iterable[OldOffcut] = (),
) -> list[str]:
    """Everything that the verifier finds wrong with a plan; pieces with a finding need not be cut."""
    faults: list[str] = []
    rack = list(offcuts)
    missing = Counter({finding.at: 1 for finding in plan.findings})
    wanted_lists = {(piece.profile, piece.colour) for piece in pieces}
    faults += [
        f"nothing is planned for {key}"
        for key in wanted_lists - {(each.profile, each.colour) for each in plan.profiles}
        if any((piece.profile, piece.colour) == key and not missing[piece.at] for piece in pieces)
    ]
    for each in plan.profiles:
        key = (each.profile, each.colour)
        bars = [
            CutBar(
                Fraction(bar.stock_nm, MM),
                bar.is_old_offcut,
                tuple(
                    CutPiece(
                        Fraction(-(-placed.piece.length_nm // 100_000), 10),
                        Fraction(placed.start_nm, MM),
                        int(placed.piece.ends[:2]),
                        int(placed.piece.ends[3:]),
                        placed.is_turned,
                        _who(placed.piece),
                    )
                    for placed in bar.pieces
                ),
                Fraction(bar.offcut_nm, MM),
            )
            for bar in each.bars
        ]
        mine = [piece for piece in pieces if (piece.profile, piece.colour) == key]
        wanted = Counter({_who(piece): 0 for piece in mine})
        for piece in mine:
            wanted[_who(piece)] += piece.quantity
        cut = Counter(_who(placed.piece) for bar in each.bars for placed in bar.pieces)
        for piece in mine:
            if missing[piece.at]:  # all or some of it is on no bar; the finding says so
                wanted[_who(piece)] = min(wanted[_who(piece)], cut[_who(piece)])
        face_nm = stock[each.profile].face_nm
        faults += faults_of_list(
            bars,
            wanted=wanted.elements(),
            fresh_mm=Fraction(stock[each.profile].bar_nm, MM),
            rack_mm=[
                Fraction(offcut.length_nm, MM)
                for offcut in rack
                if (offcut.profile, offcut.colour) == key
                for _ in range(offcut.quantity)
            ],
            kerf_mm=Fraction(saw.kerf_nm, MM),
            trim_mm=Fraction(saw.trim_nm, MM),
            face_mm=Fraction(70 * MM if face_nm is None else face_nm, MM),
        )
        if each.new_bars != sum(not bar.is_old_offcut for bar in bars):
            faults.append("the count of fresh bars is wrong")
        if each.bound > each.new_bars:
            faults.append(f"the bound {each.bound} is above the {each.new_bars} bars")
    return faults


def _who(piece: Piece) -> tuple[object, ...]:
    return piece.length_nm, piece.ends, piece.order_ref, piece.opening_ref, piece.part, piece.light, piece.at


def packing_faults(problem: CuttingProblem, packing: Packing) -> list[str]:
    """Everything that is wrong with an answer to a bare problem."""
    faults: list[str] = []
    cut: Counter[int] = Counter()
    used: Counter[int] = Counter()
    for fill in packing:
        weight = sum(problem.weights[index] * count for index, count in fill.pattern)
        room = problem.capacity if fill.stock == NEW_BAR else problem.offcuts[fill.stock].capacity
        if weight > room:
            faults.append(f"{weight} on {room}")
        if fill.times <= 0 or not fill.pattern:
            faults.append(f"an empty fill {fill}")
        used[fill.stock] += fill.times
        for index, count in fill.pattern:
            cut[index] += count * fill.times
    if cut != Counter(dict(enumerate(problem.demands))):
        faults.append(f"cut {dict(cut)} of {problem.demands}")
    faults += [
        f"{used[stock]} offcuts {stock} of {offcut.quantity}"
        for stock, offcut in enumerate(problem.offcuts)
        if used[stock] > offcut.quantity
    ]
    return faults


def fewest_bars(weights: Sequence[int], capacity: int, offcuts: Sequence[int] = ()) -> int:
    """Fewest fresh bars by trying everything; for lists of some ten pieces."""
    pieces = tuple(sorted(weights, reverse=True))

    @cache
    def fresh(number: int, rooms: tuple[int, ...]) -> int:
        if number == len(pieces):
            return 0
        piece = pieces[number]
        best = 1 + fresh(number + 1, tuple(sorted((*rooms, capacity - piece))))
        for place, room in enumerate(rooms):
            if room >= piece and (place == 0 or rooms[place - 1] != room):
                left = tuple(sorted((*rooms[:place], room - piece, *rooms[place + 1 :])))
                best = min(best, fresh(number + 1, left))
        return best

    return fresh(0, tuple(sorted(offcuts)))


def problem_of(pieces: list[int], capacity: int, offcuts: dict[int, int] | None = None) -> CuttingProblem:
    """A problem of single pieces."""
    weights = sorted(set(pieces), reverse=True)
    return CuttingProblem(
        tuple(weights),
        tuple(pieces.count(weight) for weight in weights),
        capacity,
        tuple(Offcut(room, count) for room, count in sorted((offcuts or {}).items(), reverse=True)),
    )


def random_problem(seed: int, *, most: int = 9) -> CuttingProblem:
    """A small list with or without offcuts, of a kind that rounding gets wrong now and then."""
    rng = random.Random(seed)
    capacity = rng.choice((20, 50, 100))
    pieces = [rng.randint(capacity // 10, capacity * 7 // 10) for _ in range(rng.randint(1, most))]
    offcuts = {
        rng.randint(capacity // 5, capacity): rng.randint(1, 2) for _ in range(rng.choice((0, 0, 1, 2)))
    }
    return problem_of(pieces, capacity, offcuts)


def single_pieces(problem: CuttingProblem) -> list[int]:
    """All weights, each as often as it is asked for."""
    return [w for w, d in zip(problem.weights, problem.demands, strict=True) for _ in range(d)]


def rack_of(problem: CuttingProblem) -> list[int]:
    """All old offcuts, each as often as it is there."""
    return [offcut.capacity for offcut in problem.offcuts for _ in range(offcut.quantity)]
