"""Laws of bar plans: every piece on exactly one bar, no bar over length, bounds that hold.

Plans are checked by tests/nesting_verifier.py, which shares no code with the planner.
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nesting_checks import MM, faults_of, fewest_bars
from sawready.calc.nesting import ENDS, BarStock, OldOffcut, Piece, Saw, plan_bars
from sawready.calc.nesting.guard import Guard
from sawready.calc.nesting.problem import CuttingProblem, Offcut
from sawready.calc.nesting.solve import solve
from window_lists import PieceList, window_lists

SAW = Saw(kerf_nm=4 * MM, trim_nm=20 * MM, keep_nm=500 * MM, scrap_nm=100 * MM)

FEW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])

lengths_nm = st.one_of(
    st.integers(200, 6500).map(lambda length: length * MM),
    st.integers(2000, 65_000).map(lambda tenths: tenths * MM // 10),
    st.integers(200 * MM, 6500 * MM),
)
saws = st.builds(
    Saw,
    kerf_nm=st.sampled_from([0, 3 * MM, 4 * MM, 3_200_000, 2_750_000]),
    trim_nm=st.sampled_from([0, 20 * MM, 25 * MM, 7_500_001]),
    keep_nm=st.sampled_from([0, 500 * MM, 1000 * MM]),
    scrap_nm=st.sampled_from([0, 100 * MM]),
)
offcut_lists = st.lists(
    st.builds(
        OldOffcut,
        profile=st.sampled_from(["frame", "sash"]),
        length_nm=lengths_nm,
        quantity=st.integers(1, 3),
        colour=st.sampled_from([None, "white"]),
    ),
    max_size=6,
)
stocks = st.fixed_dictionaries(
    {
        name: st.builds(
            BarStock, bar_nm=st.just(6000 * MM), face_nm=st.just(70 * MM), is_turnable=st.booleans()
        )
        for name in ("frame", "sash")
    }
)


@st.composite
def piece_lists(draw: st.DrawFn) -> list[Piece]:
    """Pieces of two profiles, few or many kinds of ends."""
    ends = draw(st.lists(st.sampled_from(ENDS), min_size=1, max_size=4, unique=True))
    rows = draw(
        st.lists(
            st.tuples(
                st.sampled_from(["frame", "sash"]),
                lengths_nm,
                st.integers(1, 5),
                st.sampled_from(ends),
                st.sampled_from([None, "white"]),
            ),
            max_size=25,
        )
    )
    return [
        Piece(profile, length, quantity, end, colour, at=f"/{number}")
        for number, (profile, length, quantity, end, colour) in enumerate(rows)
    ]


@FEW
@given(pieces=piece_lists(), offcuts=offcut_lists, stock=stocks, saw=saws)
def test_every_plan_can_be_cut(
    pieces: list[Piece], offcuts: list[OldOffcut], stock: dict[str, BarStock], saw: Saw
) -> None:
    """Complete, within the bars, cuts and trim counted, offcuts used once; what is too long is told."""
    plan = plan_bars(pieces, stock=stock, saw=saw, offcuts=offcuts)
    assert faults_of(plan, pieces, stock=stock, saw=saw, offcuts=offcuts) == []
    planned = sum(each.pieces for each in plan.profiles)
    assert planned <= sum(piece.quantity for piece in pieces)
    if not plan.findings:
        assert planned == sum(piece.quantity for piece in pieces)


@FEW
@given(pieces=piece_lists(), stock=stocks, saw=saws)
def test_the_same_input_gives_the_same_plan(
    pieces: list[Piece], stock: dict[str, BarStock], saw: Saw
) -> None:
    """Twice the same, bar by bar and piece by piece."""
    assert plan_bars(pieces, stock=stock, saw=saw) == plan_bars(pieces, stock=stock, saw=saw)


@FEW
@given(
    weights=st.lists(st.integers(8, 60), min_size=1, max_size=9),
    capacity=st.integers(60, 100),
    offcuts=st.lists(st.integers(8, 100), max_size=3),
)
def test_small_lists_are_solved_and_bounds_hold(
    weights: list[int], capacity: int, offcuts: list[int]
) -> None:
    """Against trying everything."""
    problem = CuttingProblem(
        tuple(sorted(set(weights), reverse=True)),
        tuple(weights.count(weight) for weight in sorted(set(weights), reverse=True)),
        capacity,
        tuple(Offcut(room, offcuts.count(room)) for room in sorted(set(offcuts), reverse=True)),
    )
    solved = solve(problem, guard=Guard())
    fewest = fewest_bars(weights, capacity, offcuts)
    assert solved.bound <= fewest
    assert solved.bars == fewest


@FEW
@given(weights=st.lists(st.integers(8, 60), min_size=1, max_size=40), data=st.data())
def test_a_piece_less_never_needs_a_bar_more(weights: list[int], data: st.DataObject) -> None:
    """The proved bound of a part is never above the bars found for the whole."""
    gone = data.draw(st.integers(0, len(weights) - 1))
    rest = weights[:gone] + weights[gone + 1 :]

    def problem(pieces: list[int]) -> CuttingProblem:
        kinds = sorted(set(pieces), reverse=True)
        return CuttingProblem(tuple(kinds), tuple(pieces.count(kind) for kind in kinds), 100)

    assert solve(problem(rest), guard=Guard()).bound <= solve(problem(weights), guard=Guard()).bars


WINDOW_LISTS = [
    pytest.param(each, id=f"{windows} windows, seed {seed}, {each.name}")
    for windows, seeds in ((50, range(6)), (500, range(2)))
    for seed in seeds
    for each in window_lists(seed=seed, windows=windows)
]


@pytest.mark.parametrize("pieces", WINDOW_LISTS)
def test_window_lists_meet_their_bound(pieces: PieceList) -> None:
    """As many bars as proved necessary, and every bar can be cut."""
    wanted = [
        Piece(pieces.name, length * MM, count, at=f"/{length}") for length, count in pieces.demand.items()
    ]
    stock = {pieces.name: BarStock(6000 * MM)}
    plan = plan_bars(wanted, stock=stock, saw=SAW)
    assert faults_of(plan, wanted, stock=stock, saw=SAW) == []
    assert plan.profiles[0].gap == 0
    assert plan.profiles[0].stopped_by is None
