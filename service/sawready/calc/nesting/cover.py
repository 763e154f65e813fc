"""Choosing among listed patterns by trying them all, in whole numbers, so that "there is none" is proved.

One length after the other is covered completely, the one with the fewest patterns first, by patterns in
rising order, so that no choice is met twice. Every bar loses something against a full one; what the
bars may lose together is known, and bounds the search.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from .master import Column, Verdict
from .problem import NEW_BAR, CuttingProblem, Fill, Packing, Pattern, merged

MOST_PIECES: Final = 300
"""Longer lists are not tried: the search is as deep as there are bars."""


class _OutOfStepsError(Exception):
    """The search would take too long."""


@dataclass(frozen=True, slots=True)
class _Choice:
    """A pattern with what it loses against the full worth of its stock."""

    stock: int
    pattern: Pattern
    loss: int


class _Search:
    """The state of one search; what is left to cut, and what may still be lost."""

    def __init__(self, problem: CuttingProblem, most_steps: int) -> None:
        self.left = list(problem.demands)
        self.stock = [offcut.quantity for offcut in problem.offcuts]
        self.chosen: list[_Choice] = []
        self._steps = most_steps

    def fits(self, choice: _Choice, loss: int, bars: int) -> bool:
        """Whether a pattern can still be used once."""
        if choice.loss > loss or not (bars if choice.stock == NEW_BAR else self.stock[choice.stock]):
            return False
        left = self.left
        return all(left[index] >= count for index, count in choice.pattern)

    def next_length(self, choices: Sequence[_Choice], loss: int, bars: int) -> bool:
        """Covers the length with the fewest patterns; True when everything is covered."""
        self._count(len(choices))
        fitting = [choice for choice in choices if self.fits(choice, loss, bars)]
        uses = [0] * len(self.left)
        for choice in fitting:
            for index, _ in choice.pattern:
                uses[index] += 1
        open_lengths = [index for index, count in enumerate(self.left) if count]
        if not open_lengths:
            return True
        hardest = min(open_lengths, key=lambda index: (uses[index], index))
        if not uses[hardest]:
            return False
        mine = [choice for choice in fitting if any(index == hardest for index, _ in choice.pattern)]
        return self._cover(hardest, mine, fitting, loss, bars)

    def _cover(
        self, length: int, mine: Sequence[_Choice], others: Sequence[_Choice], loss: int, bars: int
    ) -> bool:
        """Covers what is left of a length with its patterns, in rising order."""
        if not self.left[length]:
            return self.next_length(others, loss, bars)
        self._count(len(mine))
        for place, choice in enumerate(mine):
            if not self.fits(choice, loss, bars):
                continue
            self._use(choice, 1)
            fresh = choice.stock == NEW_BAR
            if self._cover(length, mine[place:], others, loss - choice.loss, bars - fresh):
                return True
            self._use(choice, -1)
        return False

    def _use(self, choice: _Choice, times: int) -> None:
        for index, count in choice.pattern:
            self.left[index] -= count * times
        if choice.stock != NEW_BAR:
            self.stock[choice.stock] -= times
        if times > 0:
            self.chosen.append(choice)
        else:
            self.chosen.pop()

    def _count(self, steps: int) -> None:
        self._steps -= steps + 1
        if self._steps < 0:
            raise _OutOfStepsError


def cover(
    problem: CuttingProblem,
    columns: Sequence[Column],
    losses: Sequence[int],
    *,
    loss: int,
    bars: int,
    most_steps: int,
) -> tuple[Verdict, Packing]:
    """Looks for patterns that cut exactly what is asked for, by trying everything.

    Args:
        problem: what to cut.
        columns: every pattern that an answer may use.
        losses: what each loses against the full worth of its stock.
        loss: what all bars may lose together; old offcuts that stay unused lose nothing here, so a
            search that takes this for less than it is would be wrong, never one that takes it for more.
        bars: fresh bars at most.
        most_steps: patterns to look at, all in all.
    Returns: ``found`` and the answer; ``none`` where it is proved that there is none; else ``unsettled``.
    """
    if problem.pieces > MOST_PIECES:
        return "unsettled", ()
    choices = [_Choice(stock, pattern, lost) for (stock, pattern), lost in zip(columns, losses, strict=True)]
    choices.sort(key=lambda choice: (choice.loss, choice.stock, choice.pattern))
    search = _Search(problem, most_steps)
    try:
        is_found = search.next_length(choices, loss, bars)
    except _OutOfStepsError:
        return "unsettled", ()
    if not is_found:
        return "none", ()
    return "found", merged(Fill(choice.stock, choice.pattern) for choice in search.chosen)
