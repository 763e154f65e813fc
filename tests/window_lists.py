"""Seeded lists of window pieces and of the classic cutting classes; invented, for tests and measuring only.

The window lists follow what a replacement job looks like: order lines of one size each with one to
six windows, sizes on a coarse step, four frame and four sash members, now and then a mullion, four
beads, each colour on its own bars. The artificial classes follow their published descriptions:

- triplets: E. Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of Heuristics
  2(1):5-30, 1996 (bars of 1000, pieces of 250 to 500 that come as triplets of exactly one bar);
- uniform: the same paper (bars of 150, pieces even between 20 and 100);
- narrow: P. Schwerin, G. Waescher, International Transactions in Operational Research 4(5-6), 1997
  (bars of 1000, pieces even between 150 and 200).
"""

import random
from collections import Counter
from dataclasses import dataclass

PARTS = ("frame", "sash", "mullion", "bead")


@dataclass(frozen=True, slots=True)
class PieceList:
    """One list to cut: lengths in mm with their counts, all of one profile and colour."""

    name: str
    demand: dict[int, int]

    @property
    def pieces(self) -> int:
        """How many pieces the list asks for."""
        return sum(self.demand.values())


def window_lists(
    *, seed: int, windows: int, colours: int = 3, step_mm: int = 10, longest_mm: int = 2400
) -> list[PieceList]:
    """Frame, sash, mullion and bead lists of one job, one list per part and colour.

    Args:
        seed: the same seed gives the same lists on any machine.
        windows: how many windows the job has.
        colours: over how many colours they are spread.
        step_mm: window sizes are multiples of this. [mm]
        longest_mm: widest window. [mm]
    """
    rng = random.Random(f"{seed}:{windows}:{colours}:{step_mm}")
    lists: dict[tuple[str, int], Counter[int]] = {}
    left = windows
    while left:
        repeats = min(left, rng.choice((1, 1, 1, 2, 2, 3, 4, 6)))
        left -= repeats
        colour = rng.randrange(colours)
        width = rng.randrange(400, longest_mm + 1, step_mm)
        height = rng.randrange(400, 2101, step_mm)
        for part, lengths in _pieces_of(width, height, rng).items():
            for length in lengths:
                lists.setdefault((part, colour), Counter())[length] += repeats
    return [
        PieceList(f"{part}-{colour}", dict(sorted(demand.items(), reverse=True)))
        for (part, colour), demand in sorted(lists.items())
    ]


def _pieces_of(width: int, height: int, rng: random.Random) -> dict[str, list[int]]:
    """Cutting lengths of one casement window: weld allowance 3 an end, face 62 and 76, overlap 8."""
    daylight_w, daylight_h = width - 124, height - 124
    pieces = {"frame": [width + 6] * 2 + [height + 6] * 2, "sash": [], "mullion": [], "bead": []}
    columns = 1 if width < 900 else rng.choice((2, 2, 3)) if width > 1500 else rng.choice((1, 2))
    light_w = (daylight_w - 76 * (columns - 1)) // columns
    pieces["mullion"] += [daylight_h + 36] * (columns - 1)
    opening = rng.randrange(columns)
    for column in range(columns):
        if column == opening:
            sash_w, sash_h = light_w + 16, daylight_h + 16
            pieces["sash"] += [sash_w + 6] * 2 + [sash_h + 6] * 2
            pieces["bead"] += [sash_w - 104] * 2 + [sash_h - 144] * 2
        else:
            pieces["bead"] += [light_w + 40] * 2 + [daylight_h] * 2
    return {part: [length for length in lengths if length > 0] for part, lengths in pieces.items()}


def triplets(*, seed: int, bars: int) -> PieceList:
    """Pieces that fill ``bars`` bars of 1000 exactly, three a bar; nothing else fits as well."""
    rng = random.Random(f"triplets:{seed}:{bars}")
    demand: Counter[int] = Counter()
    for _ in range(bars):
        first = rng.randint(380, 490)
        second = rng.randint(250, (1000 - first) // 2)
        demand.update((first, second, 1000 - first - second))
    return PieceList(f"triplets-{bars}", dict(sorted(demand.items(), reverse=True)))


def uniform(*, seed: int, pieces: int, least: int = 20, most: int = 100) -> PieceList:
    """Lengths even between ``least`` and ``most``; the published class cuts them from bars of 150."""
    rng = random.Random(f"uniform:{seed}:{pieces}:{least}:{most}")
    demand = Counter(rng.randint(least, most) for _ in range(pieces))
    return PieceList(f"uniform-{pieces}", dict(sorted(demand.items(), reverse=True)))


def narrow(*, seed: int, pieces: int) -> PieceList:
    """Lengths even between 150 and 200, for bars of 1000."""
    return uniform(seed=seed, pieces=pieces, least=150, most=200)
