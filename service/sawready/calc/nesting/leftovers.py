"""Among answers with equally few bars: old offcuts used up, and what is left in one piece worth keeping.

With the number of bars given, the length left over is given too; all that can be chosen is where it
lies. Filling one bar to the brim out of itself and the emptiest bar moves its room into the emptiest
one, and does no harm. Doing so over and over gathers most of the room in one bar.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from .exact_fill import fullest
from .guard import Guard
from .problem import NEW_BAR, CuttingProblem, Fill, Packing, merged, pattern_of

PASSES: Final = 4
"""How often all bars are gone through."""

CATALYSTS: Final = 60
"""How many full bars to try as third party of an exchange."""

ROOMY: Final = 24
"""How many bars with room to try in pairs."""


@dataclass(frozen=True, slots=True)
class Limits:
    """When a leftover counts as what, in units of the problem.

    Attributes:
        kerf: what the cut that parts a leftover takes from it.
        scrap: up to this length a leftover is swarf and counts as nothing.
        keep: from this length on a leftover is worth keeping.
    """

    kerf: int
    scrap: int
    keep: int

    def is_unusable(self, room: int) -> bool:
        """Whether the room leaves an offcut too long to be swarf and too short to keep."""
        return self.scrap < room - self.kerf < self.keep

    def is_kept(self, room: int) -> bool:
        """Whether the room leaves an offcut worth keeping."""
        return room - self.kerf >= self.keep


Merit = tuple[int, int, int, int, int]
"""Fresh bars, old offcut length used (negative), unusable offcuts, longest kept (negative), patterns:
the smaller the better, from the first on."""


def merit(problem: CuttingProblem, packing: Packing, limits: Limits) -> Merit:
    """How good an answer is, in the order in which the wishes count."""
    fresh = used = unusable = longest = 0
    for fill in packing:
        weight = problem.weight_of(fill.pattern)
        room = problem.capacity_of(fill.stock) - weight
        if fill.stock == NEW_BAR:
            fresh += fill.times
        else:
            used += weight * fill.times
        if limits.is_unusable(room):
            unusable += fill.times
        elif limits.is_kept(room):
            longest = max(longest, room)
    return fresh, -used, unusable, -longest, len(packing)


class Rack:
    """An answer as single bars, whose pieces can be exchanged."""

    def __init__(self, problem: CuttingProblem, packing: Packing) -> None:
        """Takes the answer apart."""
        self._problem = problem
        self.stocks: list[int] = []
        self.counts: list[dict[int, int]] = []
        self.rooms: list[int] = []
        for fill in packing:
            room = problem.capacity_of(fill.stock) - problem.weight_of(fill.pattern)
            for _ in range(fill.times):
                self.stocks.append(fill.stock)
                self.counts.append(dict(fill.pattern))
                self.rooms.append(room)

    def packing(self) -> Packing:
        """The answer put together again; bars that lost all pieces are gone."""
        return merged(
            Fill(stock, pattern_of(counts)) for stock, counts in zip(self.stocks, self.counts, strict=True)
        )

    def add_unused_offcuts(self) -> None:
        """Puts the old offcuts that the answer leaves alone beside it, empty."""
        for stock, offcut in enumerate(self._problem.offcuts):
            for _ in range(offcut.quantity - self.stocks.count(stock)):
                self.stocks.append(stock)
                self.counts.append({})
                self.rooms.append(offcut.capacity)

    def emptiest(self) -> int:
        """The fresh bar with the most room, the last of equals."""
        fresh = [bar for bar, stock in enumerate(self.stocks) if stock == NEW_BAR and self.counts[bar]]
        return max(fresh, key=lambda bar: (self.rooms[bar], bar), default=-1)

    def pour(self, full: Iterable[int], into: int) -> bool:
        """Fills the bars in turn as full as can be out of all of them and ``into``, which takes the rest.

        Nothing changes unless the rest fits and ``into`` ends with more room than before.
        """
        bars = list(full)
        pool: dict[int, int] = {}
        for bar in (*bars, into):
            for index, count in self.counts[bar].items():
                pool[index] = pool.get(index, 0) + count
        order = sorted(pool)
        weights = self._problem.weights
        changed: list[tuple[dict[int, int], int]] = []
        for bar in bars:
            room, counts = fullest(weights, pool, self._problem.capacity_of(self.stocks[bar]), order)
            for index, count in counts.items():
                pool[index] -= count
            changed.append((counts, room))
        rest = {index: count for index, count in pool.items() if count}
        room = self._problem.capacity_of(self.stocks[into]) - sum(
            weights[index] * count for index, count in rest.items()
        )
        if room <= self.rooms[into]:
            return False
        for bar, (counts, left) in zip(bars, changed, strict=True):
            self.counts[bar], self.rooms[bar] = counts, left
        self.counts[into], self.rooms[into] = rest, room
        return True


def gather(problem: CuttingProblem, packing: Packing, guard: Guard) -> Packing:
    """The same bars with their room gathered: old offcuts filled first, then one fresh bar emptied."""
    rack = Rack(problem, packing)
    if problem.offcuts:
        _fill_offcuts(rack, guard)
    for _ in range(PASSES):
        into = rack.emptiest()
        if into < 0 or guard.expired():
            break
        before = rack.rooms[into]
        _pour_all(rack, into, guard)
        if rack.rooms[into] == before:
            break
    return rack.packing()


def _fill_offcuts(rack: Rack, guard: Guard) -> None:
    """Moves pieces from fresh bars onto old offcuts, used or not, the emptiest bars first."""
    rack.add_unused_offcuts()
    old = [bar for bar, stock in enumerate(rack.stocks) if stock != NEW_BAR]
    for bar in sorted(old, key=lambda bar: (-rack.rooms[bar], bar)):
        for _ in range(3):
            into = rack.emptiest()
            if into < 0 or guard.expired() or not rack.pour([bar], into):
                break


def _pour_all(rack: Rack, into: int, guard: Guard) -> None:
    """Pours every bar with room into one, alone, then in pairs, then with a full bar to exchange with."""
    roomy = [bar for bar, room in enumerate(rack.rooms) if room and bar != into and rack.counts[bar]]
    roomy.sort(key=lambda bar: (-rack.rooms[bar], bar))
    for bar in roomy:
        if guard.expired():
            return
        rack.pour([bar], into)
    roomy = [bar for bar in roomy if rack.rooms[bar]][:ROOMY]
    for first, second in combinations(roomy, 2):
        if guard.expired():
            return
        if rack.rooms[first] and rack.rooms[second]:
            rack.pour([first, second], into)
    different: dict[tuple[tuple[int, int], ...], int] = {}
    for bar, room in enumerate(rack.rooms):
        if not room and bar != into and rack.counts[bar]:
            different.setdefault(tuple(sorted(rack.counts[bar].items())), bar)
    catalysts = list(different.values())[:CATALYSTS]
    for bar in roomy:
        for catalyst in catalysts:
            if guard.expired():
                return
            if not rack.rooms[bar]:
                break
            if catalyst != bar:  # it may have been roomy before, and be both by now
                rack.pour([bar, catalyst], into)
