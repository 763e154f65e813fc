"""Plans of real pieces: old offcuts, colours, turned and mixed ends, findings, limits."""

import os
import random
import subprocess
import sys
from fractions import Fraction

import pytest

from nesting_checks import MM, faults_of
from sawready.calc.nesting import ENDS, BarStock, Ends, OldOffcut, Piece, Saw, master, plan_bars
from sawready.calc.nesting.lists import NOT_TURNED_MIXED, NOT_TURNED_SHORT
from sawready.calc.nesting.planner import SOLVER_FAILED
from sawready.model.finding import Cell
from window_lists import narrow

SAW = Saw(kerf_nm=4 * MM, trim_nm=20 * MM, keep_nm=500 * MM, scrap_nm=100 * MM)
STOCK = {"frame": BarStock(6000 * MM), "sash": BarStock(6000 * MM)}


def mm(*lengths: float, ends: Ends = "90/90") -> list[Piece]:
    """Pieces of the frame profile, one of each length."""
    return [
        Piece("frame", round(length * MM), ends=ends, opening_ref=f"W{number}", at=f"/{number}")
        for number, length in enumerate(lengths, 1)
    ]


def test_a_plan_puts_every_piece_on_a_bar_and_says_how_good_it_is() -> None:
    """Six of 1804: three a bar, two bars, and no plan needs fewer."""
    pieces = [
        Piece("frame", 1804 * MM, 6, ends="45/45", order_ref="TQ-7", opening_ref="W1", part="frame-head")
    ]
    plan = plan_bars(pieces, stock=STOCK, saw=SAW)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)
    (frame,) = plan.profiles
    assert (frame.new_bars, frame.bound, frame.gap, frame.pieces, frame.old_offcuts) == (2, 2, 0, 6, 0)
    assert [bar.number for bar in frame.bars] == [1, 2]
    rest = 6000 * MM - 20 * MM - 3 * 1804 * MM - 3 * 5_656_855
    assert frame.bars[0].offcut_nm == rest
    assert frame.kept_nm == (rest, rest)
    assert frame.used_share == Fraction(6 * 1804, 12_000)
    assert frame.bars[0].pieces[0].start_nm == 10 * MM
    assert plan.stopped_by is None


def test_nothing_to_cut_is_a_plan_without_bars() -> None:
    """No pieces, no bars, no fault."""
    plan = plan_bars([], stock=STOCK, saw=SAW)
    assert plan.profiles == plan.findings == ()


def test_profiles_and_colours_never_share_a_bar_and_bars_are_counted_through() -> None:
    """Two colours of one profile: bar numbers go on, so that a number names one bar."""
    pieces = [
        Piece("frame", 1000 * MM, colour="white"),
        Piece("frame", 1000 * MM, colour="anthracite"),
        Piece("sash", 1000 * MM),
    ]
    plan = plan_bars(pieces, stock=STOCK, saw=SAW)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)
    assert [(each.profile, each.colour, each.bars[0].number) for each in plan.profiles] == [
        ("frame", "anthracite", 1),
        ("frame", "white", 2),
        ("sash", None, 1),
    ]


def test_lengths_are_taken_up_to_the_next_tenth() -> None:
    """Six pieces of 0.04 mm more than a sixth of the bar do not fit on it."""
    saw = Saw(0, 0, 500 * MM)
    assert plan_bars(mm(*[1000] * 6), stock=STOCK, saw=saw).profiles[0].new_bars == 1
    assert plan_bars(mm(*[1000.04] * 6), stock=STOCK, saw=saw).profiles[0].new_bars == 2
    assert Piece("frame", 1000 * MM + 1).nested_nm == 1000 * MM + 100_000


def test_the_last_piece_needs_no_cut_behind_it_where_the_bar_ends() -> None:
    """Pieces, cuts between them and trim add up to the bar exactly: it fits, and nothing is left."""
    pieces = mm(2990, 2986)
    plan = plan_bars(pieces, stock=STOCK, saw=SAW)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)
    assert plan.profiles[0].new_bars == 1
    assert plan.profiles[0].bars[0].offcut_nm == 0
    assert plan_bars(mm(2990, 2986.1), stock=STOCK, saw=SAW).profiles[0].new_bars == 2


def test_a_piece_longer_than_a_bar_is_a_finding_and_the_rest_is_planned() -> None:
    """The finding names opening and part, what is there and what is needed."""
    long = Piece(
        "frame",
        5981 * MM,
        2,
        order_ref="TQ-7",
        opening_ref="W3",
        part="frame-head",
        at="/x",
        cell=Cell(4, "length_mm"),
    )
    plan = plan_bars([long, *mm(1000)], stock=STOCK, saw=SAW)
    (finding,) = plan.findings
    assert (finding.reason, finding.severity, finding.at, finding.cell) == (
        "piece-longer-than-bar",
        "reject",
        "/x",
        Cell(4, "length_mm"),
    )
    assert finding.message == (
        "The frame head of opening W3 (order TQ-7) is 5981.0 mm long, 2 off; a 6000 mm bar of frame gives"
        " 5980.0 mm after 20 mm of trim."
    )
    assert finding.measured is not None
    assert finding.limit is not None
    assert (finding.measured.value, finding.limit.value) == (5981.0, 5980.0)
    assert plan.profiles[0].pieces == 1
    nameless = plan_bars([Piece("frame", 7000 * MM)], stock=STOCK, saw=SAW)
    assert nameless.findings[0].message.startswith("The piece is 7000.0 mm long, 1 off;")
    assert nameless.profiles == ()


def test_old_offcuts_go_before_fresh_bars() -> None:
    """Two short pieces fit the rack, so no bar is opened."""
    offcuts = [OldOffcut("frame", 1100 * MM, 2), OldOffcut("sash", 9000 * MM)]
    pieces = mm(1000, 1050)
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    (frame,) = plan.profiles
    assert (frame.new_bars, frame.bound, frame.old_offcuts) == (0, 0, 2)
    assert all(bar.is_old_offcut for bar in frame.bars)


def test_offcuts_of_another_colour_are_left_alone() -> None:
    """A white offcut is no use for an anthracite frame."""
    offcuts = [OldOffcut("frame", 1100 * MM, colour="white")]
    pieces = [Piece("frame", 1000 * MM, colour="anthracite")]
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    assert plan.profiles[0].new_bars == 1
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW, offcuts=offcuts)


def test_a_piece_that_only_an_old_offcut_holds_is_cut_from_it_and_others_fill_it_up() -> None:
    """6300 is longer than a bar; an offcut of 7500 takes it and one more piece."""
    offcuts = [OldOffcut("frame", 7500 * MM), OldOffcut("frame", 6400 * MM)]
    pieces = mm(6400, 6300, 1000)
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    assert plan.findings == ()
    assert plan.profiles[0].new_bars == 0
    plan = plan_bars(mm(6400, 6300, 6350), stock=STOCK, saw=SAW, offcuts=offcuts)
    assert [finding.at for finding in plan.findings] == ["/2"]
    assert plan.profiles[0].pieces == 2


def test_some_of_equal_pieces_may_be_too_long_for_what_is_left() -> None:
    """Three of 6300, one offcut that holds one: two are in the finding."""
    pieces = [Piece("frame", 6300 * MM, 3, at="/0")]
    offcuts = [OldOffcut("frame", 6400 * MM)]
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, offcuts=offcuts)
    assert "2 off" in plan.findings[0].message
    assert plan.profiles[0].pieces == 1
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW, offcuts=offcuts)


def test_pieces_are_turned_only_where_the_profile_says_so() -> None:
    """Five of 1240 tip to tip need 6217 mm; turned, each gives up the face."""
    pieces = mm(*[1240] * 5, ends="45/45")
    turnable = {"frame": BarStock(6000 * MM, 70 * MM, is_turnable=True)}
    stiff = {"frame": BarStock(6000 * MM, 70 * MM)}
    plan = plan_bars(pieces, stock=turnable, saw=SAW)
    assert not faults_of(plan, pieces, stock=turnable, saw=SAW)
    assert (plan.profiles[0].new_bars, plan.profiles[0].is_turned) == (1, True)
    assert [placed.is_turned for placed in plan.profiles[0].bars[0].pieces] == [
        False,
        True,
        False,
        True,
        False,
    ]
    plan = plan_bars(pieces, stock=stiff, saw=SAW)
    assert (plan.profiles[0].new_bars, plan.profiles[0].is_turned) == (2, False)


@pytest.mark.parametrize(
    ("pieces", "remark"),
    [
        (mm(1240, 1240, ends="45/45") + mm(500), NOT_TURNED_MIXED),
        (mm(1240, 130, ends="45/45"), NOT_TURNED_SHORT),
    ],
)
def test_says_why_pieces_are_not_turned(pieces: list[Piece], remark: str) -> None:
    """The profile allows it, the pieces do not."""
    stock = {"frame": BarStock(6000 * MM, 70 * MM, is_turnable=True)}
    plan = plan_bars(pieces, stock=stock, saw=SAW)
    assert plan.profiles[0].remarks == (remark,)
    assert not plan.profiles[0].is_turned
    assert not faults_of(plan, pieces, stock=stock, saw=SAW)


@pytest.mark.parametrize("kerf_nm", [0, 3 * MM, 3_200_000, 4 * MM])
def test_mixed_ends_are_laid_out_by_exact_geometry(kerf_nm: int) -> None:
    """All kinds of ends on one profile; every bar is checked line by line."""
    rng = random.Random(kerf_nm)
    pieces = [
        Piece(
            "frame", rng.randint(3000, 19_000) * 100_000, rng.randint(1, 3), rng.choice(ENDS), at=f"/{number}"
        )
        for number in range(60)
    ]
    saw = Saw(kerf_nm, 20 * MM, 500 * MM, 100 * MM)
    plan = plan_bars(pieces, stock=STOCK, saw=saw)
    assert not faults_of(plan, pieces, stock=STOCK, saw=saw)
    assert plan.profiles[0].gap <= 1


def test_the_clock_is_an_outer_guard_that_is_reported() -> None:
    """With no time, first fit answers, and the plan says that it was stopped."""
    rng = random.Random(1)
    pieces = mm(*(rng.randint(1500, 2000) for _ in range(100)))
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, limit_s=0)
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)
    assert plan.stopped_by == plan.profiles[0].stopped_by == "time"


def test_counted_work_is_a_limit_of_its_own() -> None:
    """Reported apart from the clock."""
    rng = random.Random(1)
    pieces = mm(*(rng.randint(1500, 2000) for _ in range(100)))
    plan = plan_bars(pieces, stock=STOCK, saw=SAW, work=0)
    assert plan.stopped_by in {"work", None}
    assert not faults_of(plan, pieces, stock=STOCK, saw=SAW)


def test_the_order_of_the_input_does_not_change_the_number_of_bars() -> None:
    """Lists are sorted before they are solved; only who gets which bar may differ."""
    rng = random.Random(2)
    pieces = mm(*(rng.randint(400, 2400) for _ in range(60)))
    shuffled = rng.sample(pieces, len(pieces))
    first, second = (plan_bars(each, stock=STOCK, saw=SAW).profiles[0] for each in (pieces, shuffled))
    assert [sorted(p.piece.length_nm for p in bar.pieces) for bar in first.bars] == [
        sorted(p.piece.length_nm for p in bar.pieces) for bar in second.bars
    ]


def test_a_profile_without_stock_is_named() -> None:
    """A bar length is never assumed here."""
    with pytest.raises(ValueError, match="no bar length is known for profile 'bead'"):
        plan_bars([Piece("bead", MM)], stock=STOCK, saw=SAW)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Piece("frame", 0),
        lambda: Piece("frame", MM, 0),
        lambda: Piece("frame", MM, ends="30/30"),  # type: ignore[arg-type]
        lambda: OldOffcut("frame", 0),
        lambda: OldOffcut("frame", MM, 0),
        lambda: BarStock(0),
        lambda: BarStock(MM, is_turnable=True),
        lambda: Saw(-1, 0, 0),
        lambda: Saw(0, -1, 0),
        lambda: Saw(0, 0, -1),
        lambda: Saw(0, 0, 0, -1),
    ],
)
def test_refuses_what_no_saw_can_cut(make: object) -> None:
    """Figures without sense are refused where they enter."""
    with pytest.raises(ValueError, match=r"\w"):
        make()  # type: ignore[operator]


def test_a_plan_says_that_the_solver_gave_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pieces are on bars all the same."""

    def gives_up(_: master.Master) -> None:
        raise master.SolverFailedError("kUnknown")

    monkeypatch.setattr(master.Master, "solve", gives_up)
    demand = narrow(seed=2, pieces=100).demand
    pieces = [Piece("frame", length * 6 * MM, count) for length, count in demand.items()]
    saw = Saw(0, 0, 500 * MM)
    plan = plan_bars(pieces, stock=STOCK, saw=saw)
    assert plan.profiles[0].remarks == (SOLVER_FAILED,)
    assert not faults_of(plan, pieces, stock=STOCK, saw=saw)


def test_the_plan_does_not_depend_on_the_process() -> None:
    """Two processes with other hash seeds write the same plan, through column generation and dives."""
    script = """
import json, sys
from sawready.calc.nesting import BarStock, Piece, Saw, plan_bars
from sawready.report.bar_plan import as_json
from window_lists import narrow, window_lists
rows = [("narrow", 6 * length, n) for length, n in narrow(seed=2, pieces=100).demand.items()]
for each in window_lists(seed=3, windows=50):
    rows += [(each.name, length, n) for length, n in each.demand.items()]
pieces = [Piece(name, length * 1_000_000, n) for name, length, n in rows]
stock = {name: BarStock(6_000_000_000) for name, _, _ in rows}
json.dump(as_json(plan_bars(pieces, stock=stock, saw=Saw(0, 0, 500_000_000))), sys.stdout)
"""
    path = os.pathsep.join(each for each in sys.path if each)
    written = {
        subprocess.run(  # noqa: S603 - our own script
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(written) == 1
    assert b'"method": "column generation"' in written.pop()
