"""Joints of square and mitred ends, and whole numbers that say the same as lengths do."""

import itertools
import random
from math import gcd

import pytest

from nesting_checks import MM
from sawready.calc.nesting import ENDS, Ends
from sawready.calc.nesting import grid as gridding
from sawready.calc.nesting.grid import grid_for
from sawready.calc.nesting.mitres import in_order, joint_nm, lay_out, mitre_kerf_nm


@pytest.mark.parametrize("kerf_nm", [0, 1, 2, 3_200_000, 4_000_000, 5_000_001])
def test_a_mitre_takes_root_two_times_the_kerf_rounded_up(kerf_nm: int) -> None:
    """Squares are compared, so nothing is rounded in the test."""
    along = mitre_kerf_nm(kerf_nm)
    assert along**2 >= 2 * kerf_nm**2
    assert along == 0 or (along - 1) ** 2 < 2 * kerf_nm**2


@pytest.mark.parametrize(
    ("right", "left", "joint"),
    [("90", "90", 4_000_000), ("45", "90", 5_656_855), ("90", "45", 5_656_855), ("45", "45", 5_656_855)],
)
def test_a_joint_is_as_wide_as_its_wider_cut(right: str, left: str, joint: int) -> None:
    """Between tips, when all pieces lie the same way round."""
    assert joint_nm(right, left, kerf_nm=4_000_000) == joint


def test_square_pieces_in_a_row_lose_a_kerf_between_each_two() -> None:
    """Three pieces, two cuts."""
    laid, extent = lay_out([(1000 * MM, "90/90")] * 3, kerf_nm=4 * MM)
    assert [spot.start_nm for spot in laid] == [0, 1004 * MM, 2008 * MM]
    assert extent == 3008 * MM


def test_turned_pieces_overlap_by_the_face() -> None:
    """Tip to tip 1000, face 70: the second begins 70 mm before the first ends, plus the cut."""
    laid, extent = lay_out([(1000 * MM, "45/45")] * 3, kerf_nm=4 * MM, turn_face_nm=70 * MM)
    step = 1000 * MM - 70 * MM + 5_656_855
    assert [(spot.start_nm, spot.is_turned) for spot in laid] == [(0, False), (step, True), (2 * step, False)]
    assert extent == 2 * step + 1000 * MM


def test_the_order_lets_like_ends_meet() -> None:
    """Mitred pieces, one that leads over, square pieces, one that leads back."""
    kinds: list[Ends] = ["90/90", "45/45", "90/45", "45/90", "90/90", "45/45"]
    order = [kinds[number] for number in in_order(kinds)]
    assert order == ["45/45", "45/45", "45/90", "90/90", "90/90", "90/45"]


@pytest.mark.parametrize("seed", range(60))
def test_the_order_wastes_least_of_all_orders(seed: int) -> None:
    """Against every order of up to six pieces."""
    rng = random.Random(seed)
    kinds = [rng.choice(ENDS) for _ in range(rng.randint(1, 6))]

    def waste(order: list[int] | tuple[int, ...]) -> int:
        return sum(
            joint_nm(kinds[before][3:], kinds[after][:2], kerf_nm=4 * MM)
            for before, after in itertools.pairwise(order)
        )

    chosen = in_order(kinds)
    assert sorted(chosen) == list(range(len(kinds)))
    assert waste(chosen) == min(waste(order) for order in itertools.permutations(range(len(kinds))))


def as_truth(pieces: list[int], usable: int, joint: int) -> bool:
    """Whether pieces with alike joints fit, in nanometres."""
    return sum(pieces) + (len(pieces) - 1) * joint <= usable


@pytest.mark.parametrize("seed", range(80))
def test_whole_numbers_fit_exactly_when_the_pieces_do(seed: int) -> None:
    """Random sets of pieces around the border of fitting, square and mitred, several stocks."""
    rng = random.Random(seed)
    step = rng.choice((1, 5, 10, 50, 100)) * rng.choice((MM, MM // 10))
    kerf = rng.choice((0, 3 * MM, 4 * MM, 3_200_000, 2_750_000))
    ends: Ends = rng.choice(("90/90", "45/45", "45/90"))
    lengths = sorted({rng.randint(300 * MM // step, 2400 * MM // step) * step for _ in range(12)})
    usable = [rng.randint(4000, 6500) * MM - rng.choice((0, 7_500_000)) for _ in range(3)]
    grid = grid_for([(length, ends) for length in lengths], usable, kerf_nm=kerf)
    joint = joint_nm(ends[3:], ends[:2], kerf_nm=kerf)
    if grid.loose_weights is not None:
        assert gcd(*lengths) < MM
        return
    for _ in range(400):
        chosen = [rng.randrange(len(lengths)) for _ in range(rng.randint(1, 12))]
        for stock, room in enumerate(usable):
            truth = as_truth([lengths[each] for each in chosen], room, joint)
            assert (sum(grid.weights[each] for each in chosen) <= grid.capacities[stock]) == truth


def test_whole_millimetres_stay_whole_and_mitres_take_thirds() -> None:
    """The coarsest numbers that do."""
    square = grid_for([(1804 * MM, "90/90"), (1227 * MM, "90/90")], [5980 * MM], kerf_nm=4 * MM)
    assert (square.weights, square.capacities, square.per_nm) == ((1808, 1231), (5984,), (1, MM))
    mitred = grid_for([(1804 * MM, "45/45"), (1227 * MM, "45/45")], [5980 * MM], kerf_nm=4 * MM)
    assert mitred.per_nm[0] <= 3
    even = grid_for([(1800 * MM, "90/90"), (1200 * MM, "90/90")], [6000 * MM], kerf_nm=0)
    assert (even.weights, even.capacities) == ((3, 2), (10,))


def test_lengths_are_rounded_to_the_safe_side_where_whole_numbers_would_grow_too_large(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Pieces up, bars down; and the other way round for the bound."""
    monkeypatch.setattr(gridding, "MOST_CAPACITY", 1000)
    monkeypatch.setattr(gridding, "ROUNDED_CAPACITY", 1000)
    grid = grid_for([(1804 * MM, "90/90"), (1227 * MM, "90/90")], [5980 * MM], kerf_nm=4 * MM)
    unit = grid.per_nm[1]
    assert grid.per_nm[0] == 1
    assert grid.loose_weights is not None
    assert grid.loose_capacities is not None
    assert all(
        weight * unit >= length + 4 * MM
        for weight, length in zip(grid.weights, (1804 * MM, 1227 * MM), strict=True)
    )
    assert grid.capacities[0] * unit <= 5984 * MM
    assert grid.loose_weights < grid.weights
    assert grid.scaled_down(unit + 1) == 1
    assert grid.scaled_up(unit + 1) == 2
