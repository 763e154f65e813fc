"""The most valuable pattern of one bar when every length has a price and a count: bounded knapsack.

Prices are whole numbers and so is every sum, which makes the values exact and the same on any
machine. One table serves all capacities up to the longest bar at once.
"""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from .problem import Pattern, pattern_of

PACK_ABOVE_BYTES: Final = 48_000_000
"""A table of choices larger than this is kept as bits instead of bytes: slower, an eighth of the size."""


class PriceTable:
    """Best values for every capacity, and the patterns behind them."""

    def __init__(
        self, weights: Sequence[int], demands: Sequence[int], prices: Sequence[int], longest: int
    ) -> None:
        """Fills the table.

        Args:
            weights: lengths.
            demands: how many of each may be used.
            prices: price of one piece of each, whole numbers; those of zero or less are left out.
            longest: greatest capacity that will be asked about.
        """
        self._items = list(bundles(weights, demands, prices, longest))
        width = longest + 1
        self._packed = len(self._items) * width > PACK_ABOVE_BYTES
        dtype: type[np.signedinteger] = np.int32 if _fits_32_bits(weights, prices, longest) else np.int64
        self._values: npt.NDArray[np.signedinteger] = np.zeros(width, dtype)
        columns = (width + 7) // 8 if self._packed else width
        kind: type[np.uint8 | np.bool_] = np.uint8 if self._packed else np.bool_
        self._taken: npt.NDArray[np.uint8 | np.bool_] = np.zeros((len(self._items), columns), kind)
        self._run(np.array([price for _, _, _, price in self._items], dtype))

    def _run(self, prices: npt.NDArray[np.signedinteger]) -> None:
        """Adds one bundle after the other, and marks for which capacities it pays."""
        values, room = self._values, np.empty_like(self._values)
        pays = np.zeros(len(values), np.bool_)
        for row, (_, _, weight, _) in enumerate(self._items):
            old, new = values[weight:], room[weight:]
            np.add(values[:-weight], prices[row], out=new)
            if self._packed:
                pays[:weight] = False
                np.greater(new, old, out=pays[weight:])
                self._taken[row] = np.packbits(pays)
            else:
                np.greater(new, old, out=self._taken[row, weight:])
            np.maximum(old, new, out=old)

    @property
    def work(self) -> int:
        """What filling the table cost, in units of the guard: 3 us a bundle and 1 ns a cell."""
        return len(self._items) * (3000 + len(self._values))

    def value(self, capacity: int) -> int:
        """The greatest price of pieces that fit."""
        return int(self._values[capacity])

    def pattern(self, capacity: int) -> Pattern:
        """A best pattern; the same capacity always gives the same one."""
        counts: dict[int, int] = {}
        row = len(self._items)
        while row and capacity:
            rows = np.flatnonzero(self._marks(row, capacity))
            if not rows.size:
                break
            row = int(rows[-1])
            index, chunk, weight, _ = self._items[row]
            counts[index] = counts.get(index, 0) + chunk
            capacity -= weight
        return pattern_of(counts)

    def _marks(self, rows: int, capacity: int) -> npt.NDArray[np.uint8 | np.bool_]:
        """Which of the first bundles pay at a capacity."""
        if self._packed:
            return self._taken[:rows, capacity >> 3] & np.uint8(128 >> (capacity & 7))
        return self._taken[:rows, capacity]


def bundles(
    weights: Sequence[int], demands: Sequence[int], prices: Sequence[int], longest: int
) -> Iterator[tuple[int, int, int, int]]:
    """Each length as bundles of 1, 2, 4, ... pieces: (index, pieces, weight, price)."""
    for index, (weight, demand, price) in enumerate(zip(weights, demands, prices, strict=True)):
        count = min(demand, longest // weight) if price > 0 else 0
        chunk = 1
        while count > 0:
            chunk = min(chunk, count)
            yield index, chunk, weight * chunk, price * chunk
            count -= chunk
            chunk *= 2


def _fits_32_bits(weights: Sequence[int], prices: Sequence[int], longest: int) -> bool:
    """Whether no bar can be worth 2^30 or more, by the dearest price per unit of length."""
    return all(price * longest < weight * 2**30 for weight, price in zip(weights, prices, strict=True))
