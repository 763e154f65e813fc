"""First-fit and best-fit decreasing: quick answers, and the mark that every other method has to beat."""

from bisect import bisect_left, insort

from .problem import NEW_BAR, CuttingProblem, Fill, Packing, merged


def first_fit_decreasing(problem: CuttingProblem) -> Packing:
    """Longest piece first, each on the first bar with room; old offcuts come before fresh bars.

    Filling bar after bar with the longest piece that still fits gives the same bars, and equal bars
    are made in one step, so the time does not grow with the quantities.
    """
    left = list(problem.demands)
    fills: list[Fill] = []
    for stock, offcut in enumerate(problem.offcuts):
        available = offcut.quantity
        while available and any(left):
            fill = _next_bar(problem, left, stock, most=available)
            if fill is None:
                break
            fills.append(fill)
            available -= fill.times
    while any(left):
        fill = _next_bar(problem, left, NEW_BAR, most=max(left))
        if fill is None:  # cannot be: every length fits a fresh bar
            break
        fills.append(fill)
    return merged(fills)


def _next_bar(problem: CuttingProblem, left: list[int], stock: int, *, most: int) -> Fill | None:
    """The bar that first fit makes next, as many times as the pieces last; takes them off ``left``."""
    room = problem.capacity_of(stock)
    pattern: list[tuple[int, int]] = []
    for index, weight in enumerate(problem.weights):
        if weight <= room and left[index]:
            count = min(left[index], room // weight)
            pattern.append((index, count))
            room -= count * weight
    if not pattern:
        return None
    times = min(most, *(left[index] // count for index, count in pattern))
    for index, count in pattern:
        left[index] -= count * times
    return Fill(stock, tuple(pattern), times)


def best_fit_decreasing(problem: CuttingProblem) -> Packing:
    """Longest piece first, each where it leaves the least room; old offcuts lie ready from the start."""
    bars: list[dict[int, int]] = []
    stocks: list[int] = []
    rooms: list[tuple[int, int]] = []  # (room, bar), rising
    for stock, offcut in enumerate(problem.offcuts):
        for _ in range(offcut.quantity):
            insort(rooms, (offcut.capacity, len(bars)))
            bars.append({})
            stocks.append(stock)
    for index, (weight, demand) in enumerate(zip(problem.weights, problem.demands, strict=True)):
        for _ in range(demand):
            place = bisect_left(rooms, (weight, -1))
            if place < len(rooms):
                room, bar = rooms.pop(place)
            else:
                room, bar = problem.capacity, len(bars)
                bars.append({})
                stocks.append(NEW_BAR)
            bars[bar][index] = bars[bar].get(index, 0) + 1
            insort(rooms, (room - weight, bar))
    return merged(
        Fill(stock, tuple(counts.items())) for stock, counts in zip(stocks, bars, strict=True) if counts
    )
