"""How likely numbers are, what disagrees in them, and how they are laid out."""

from math import exp, log

import pytest

from sawready.calc.forensics.faults import consequences_of, faults_of, is_clean
from sawready.calc.forensics.frame_causes import worked_frame_mm
from sawready.calc.forensics.model import Numbers, SurveyedOpening
from sawready.calc.forensics.siblings import SiblingSizes
from sawready.calc.forensics.sight import Sight, axis_of, diagonal_fit, sight_of
from sawready.calc.forensics.weighing import Slack, log_frame, log_likelihood, log_sum
from survey_figures import starting_figures

FIGURES = starting_figures()
TRIPLE = (1228.0, 1229.0, 1227.0)
PLAIN = SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, (1944.0, 1946.0), 1497.0, 1217.0)


def sight(opening: SurveyedOpening) -> Sight:
    """The opening laid out."""
    return sight_of(Numbers.of(opening), opening, FIGURES)


def weight(opening: SurveyedOpening, rough_share: float = 0.02, slack: Slack | None = None) -> float:
    """Logarithm of the opening's likelihood, every number as stated."""
    return log_likelihood(
        sight(opening),
        opening,
        FIGURES,
        rough_share=rough_share,
        suits_stated=(False, False),
        are_stated=(True, True),
        slack=slack or Slack(),
    )


def faults(opening: SurveyedOpening) -> set[tuple[str, str]]:
    """What disagrees in the opening."""
    return set(faults_of(sight(opening), FIGURES, suits_stated=(False, False)))


def follows(opening: SurveyedOpening) -> set[tuple[str, str]]:
    """What follows from the opening's numbers."""
    return set(consequences_of(sight(opening), opening, FIGURES))


def test_diagonals_of_a_leaning_opening_give_its_lean_and_no_misfit() -> None:
    """A parallelogram of 1500 x 1200 that leans 20: d^2 = (w +- s)^2 + h^2 by Pythagoras."""
    long, short = (1520.0**2 + 1200.0**2) ** 0.5, (1480.0**2 + 1200.0**2) ** 0.5
    misfit, lean = diagonal_fit(
        width_mm=1500.0, height_mm=1200.0, diagonal_1_mm=long, diagonal_2_mm=short, is_head_sloping=False
    )
    assert (misfit, lean) == (pytest.approx(0.0, abs=1e-9), pytest.approx(20.0))
    _, lean = diagonal_fit(
        width_mm=1500.0, height_mm=1200.0, diagonal_1_mm=long, diagonal_2_mm=short, is_head_sloping=True
    )
    assert lean == pytest.approx(25.0)


def test_an_axis_knows_its_taper_and_kink() -> None:
    """Three, two, one and no readings; empty places do not count."""
    three = axis_of((1500.0, 1507.0, 1510.0))
    assert three is not None
    assert (three.taper, three.kink, three.ends, three.spread) == (10.0, 2.0, 1505.0, 10.0)
    two = axis_of((1500.0, None, 1510.0))
    assert two is not None
    assert (two.number, two.taper, two.kink) == (2, 10.0, None)
    one = axis_of((None, 1500.0))
    assert one is not None
    assert (one.number, one.taper) == (1, 0.0)
    with pytest.raises(ValueError, match="without a reading"):
        axis_of((None, None))


def test_a_straighter_wall_weighs_more() -> None:
    """Each thing that is odd about an opening takes from its weight."""
    odd = [
        PLAIN._replace(widths_mm=(1500.0, 1508.0, 1516.0)),
        PLAIN._replace(widths_mm=(1507.0, 1514.0, 1508.0)),
        PLAIN._replace(diagonals_mm=(1930.0, 1960.0)),
        PLAIN._replace(diagonals_mm=(1952.0, 1954.0)),
        PLAIN._replace(frame_width_mm=1490.0),
        PLAIN._replace(frame_width_mm=1500.0),
    ]
    for opening in odd:
        assert weight(opening) < weight(PLAIN) - 1, opening


def test_oddness_counts_for_less_where_walls_are_rough() -> None:
    """A kink costs a straight house more than a crooked one."""
    kinked = PLAIN._replace(widths_mm=(1507.0, 1520.0, 1508.0))
    assert weight(PLAIN) - weight(kinked) > weight(PLAIN, 0.9) - weight(kinked, 0.9) + 1


def test_roughness_on_one_axis_excuses_the_other() -> None:
    """What the widths show of the wall is taken into account for the heights."""
    bent = (1528.0, 1546.0, 1520.0)
    gain = weight(PLAIN._replace(heights_mm=bent)) - weight(PLAIN)
    rough = PLAIN._replace(widths_mm=(1490.0, 1508.0, 1478.0), diagonals_mm=())
    both = weight(rough._replace(heights_mm=bent)) - weight(rough)
    assert both > gain + 2


def test_a_slip_says_nothing_of_the_wall() -> None:
    """A reading that no wall explains weighs the same in a rough house, so it excuses nothing."""
    slipped = PLAIN._replace(widths_mm=(1507.0, 2508.0, 1509.0), diagonals_mm=())
    assert weight(slipped, 0.9) <= weight(slipped, 0.02)


def test_a_coarse_reading_may_be_further_off() -> None:
    """A number read in inches is only as good as its last place."""
    off = PLAIN._replace(widths_mm=(1507.0, 1499.0, 1508.0))
    assert weight(off, slack=Slack(widths=7.0)) > weight(off)


def test_an_impossible_size_weighs_next_to_nothing() -> None:
    """Nought is no width."""
    assert weight(PLAIN._replace(widths_mm=(0.0, 0.0, 0.0), diagonals_mm=(), frame_width_mm=None)) < -60


def test_a_frame_weighs_by_how_well_its_size_is_explained() -> None:
    """Exact, then made from the stated reading, another span, finishes left out, loosely, oddly, wildly."""
    weights = []
    for frame_mm, suits, other_gaps, to_come in (
        (1497.0, False, (), 0.0),
        (1470.0, True, (), 0.0),
        (1492.0, False, (15.0,), 0.0),
        (1497.0, False, (), 30.0),
        (1492.0, False, (), 0.0),
        (1440.0, False, (), 0.0),
        (440.0, False, (), 0.0),
    ):
        opening = PLAIN._replace(frame_width_mm=frame_mm, width_to_come_mm=to_come)
        frame = sight(opening).frames["width"]
        assert frame is not None
        weights.append(
            log_frame(
                frame,
                suits_stated=suits,
                other_gaps_mm=other_gaps,
                is_deliberate=False,
                figures=FIGURES,
                slack_mm=0.0,
            )
        )
    assert weights == sorted(weights, reverse=True)
    assert len(set(weights)) == len(weights)


def test_one_diagonal_weighs_with_the_lean_that_nobody_knows() -> None:
    """Off by the usual lean it is nearly as good as spot on; off by far more it is not."""
    spot, near, far = (PLAIN._replace(diagonals_mm=(1945.0 + off,)) for off in (0.0, 8.0, 60.0))
    assert weight(spot) - weight(near) < 1
    assert weight(spot) - weight(far) > 3


def test_logarithms_are_summed_without_overflow() -> None:
    """The sum of two thousandth parts, and of parts too small to be held."""
    assert exp(log_sum([log(0.001), log(0.001)])) == pytest.approx(0.002)
    assert log_sum([-5000.0, -5000.0]) == pytest.approx(-5000.0 + log(2))


def test_every_limit_of_the_rulebook_is_a_fault_just_beyond_it() -> None:
    """Just inside is none, just outside is one."""
    assert faults(PLAIN) == set()
    assert faults(PLAIN._replace(widths_mm=(1500.0, 1508.0, 1515.0), frame_width_mm=None)) == set()
    assert faults(PLAIN._replace(widths_mm=(1500.0, 1508.0, 1515.5), frame_width_mm=None)) == {
        ("readings-disagree", "width")
    }
    assert faults(PLAIN._replace(diagonals_mm=(1952.7, 1952.7))) == set()
    assert faults(PLAIN._replace(diagonals_mm=(1952.8, 1952.8))) == {("diagonals-disagree", "")}
    assert faults(PLAIN._replace(frame_width_mm=1497.1)) == set()
    assert faults(PLAIN._replace(frame_width_mm=1497.2)) == {("frame-too-wide", "width")}
    assert faults(PLAIN._replace(frame_height_mm=1217.2)) == {("frame-too-tall", "height")}
    assert faults(PLAIN._replace(frame_width_mm=1489.0)) == set()
    assert faults(PLAIN._replace(frame_width_mm=1488.9)) == {("gap-too-large", "width")}
    assert faults(SurveyedOpening((250.0,), (250.0,))) == set()
    assert faults(SurveyedOpening((249.0,), (6001.0,))) == {
        ("value-out-of-range", "width"),
        ("value-out-of-range", "height"),
    }


def test_a_frame_that_fits_only_leaning_is_told_apart() -> None:
    """The lean of 10 comes off a frame that must stand plumb."""
    leaning = PLAIN._replace(diagonals_mm=(1937.0, 1952.5), frame_width_mm=1496.0)
    assert faults(leaning) == {("frame-will-not-stand-plumb", "width")}


def test_twice_the_gap_is_a_fault_unless_somebody_chose_the_size() -> None:
    """To half a millimetre, with the gap of the rulebook, the other side plain."""
    twice = PLAIN._replace(widths_mm=(1507.0,) * 3, frame_width_mm=1487.0)
    assert faults(twice) == {("gap-taken-twice", "width")}
    assert faults(twice._replace(frame_width_mm=1487.6)) == set()
    assert faults(twice._replace(width_gap_is_own=True)) == set()
    assert faults(twice._replace(frame_height_mm=1212.0)) == set()


def test_diagonals_are_not_held_against_sides_that_disagree_themselves() -> None:
    """The mean of readings with a slip in them is no side; a mere taper is one."""
    assert faults(SurveyedOpening((1507.0, 1707.0, 1509.0), TRIPLE, (1944.0, 1944.0))) == {
        ("readings-disagree", "width")
    }
    tapered = SurveyedOpening((1495.0, 1508.0, 1521.0), TRIPLE, (1984.0, 1984.0))
    assert faults(tapered) == {("readings-disagree", "width"), ("diagonals-disagree", "")}


def test_a_lone_diagonal_is_granted_the_lean_nobody_knows() -> None:
    """Two usual leans more than two diagonals would be."""
    assert faults(PLAIN._replace(diagonals_mm=(1968.0,))) == set()
    assert faults(PLAIN._replace(diagonals_mm=(1975.0, None))) == {("diagonals-disagree", "")}


def test_a_frame_that_suits_the_stated_readings_is_no_fault_of_others() -> None:
    """The office worked from the wrong reading; that is explained by it."""
    opening = PLAIN._replace(frame_width_mm=1447.0)
    found = faults_of(sight(opening), FIGURES, suits_stated=(True, False))
    assert found == frozenset()


def test_what_follows_from_the_numbers_is_known() -> None:
    """A joint too wide at the largest reading, stated or worked, and diagonals that differ."""
    assert follows(PLAIN) == set()
    wide = (1500.0, 1506.0, 1513.0)
    assert follows(SurveyedOpening(wide, TRIPLE)) == {("gap-too-large", "width")}
    assert follows(SurveyedOpening(TRIPLE, wide)) == {("gap-too-large", "height")}
    assert follows(SurveyedOpening(wide, TRIPLE, frame_width_mm=1490.0)) == {("gap-too-large", "width")}
    assert follows(SurveyedOpening(TRIPLE, TRIPLE, (1734.0, 1739.0))) == {("aperture-out-of-square", "")}
    assert ("diagonals-disagree", "") in follows(PLAIN._replace(diagonals_mm=(1984.0, 1984.0)))


@pytest.mark.parametrize(
    ("change", "clean"),
    [
        ({}, True),
        ({"widths_mm": (1507.0, None, 1509.0)}, True),
        ({"widths_mm": (None,)}, False),
        ({"widths_mm": ()}, False),
        ({"widths_mm": (1500.0, 1508.0, 1516.0)}, False),
        ({"heights_mm": (249.0,)}, False),
        ({"diagonals_mm": (1945.0,)}, True),
        ({"diagonals_mm": (None, None)}, True),
        ({"diagonals_mm": (1965.0, None)}, False),
        ({"diagonals_mm": (1965.0, 1965.0)}, False),
        ({"diagonals_mm": (1937.0, 1953.0)}, False),
        ({"diagonals_mm": (1937.0, 1953.0), "frame_width_mm": 1486.0}, True),
        ({"diagonals_mm": (1937.0, 1953.0), "frame_width_mm": 1484.0}, False),
        ({"frame_width_mm": 1498.0}, False),
        ({"frame_width_mm": 1487.0}, False),
        ({"frame_height_mm": 1218.0}, False),
        ({"frame_height_mm": 1207.0}, False),
        ({"frame_height_mm": 1187.0, "sill_upstand_mm": 30.0}, True),
        ({"frame_height_mm": 1217.0, "sill_upstand_mm": 30.0, "height_includes_sill": True}, True),
        ({"frame_width_mm": None}, True),
        ({"frame_height_mm": None}, True),
        ({"is_head_sloping": True, "diagonals_mm": (1937.0, 1953.0)}, False),
        ({"is_head_sloping": True, "diagonals_mm": (1937.0, 1953.0), "frame_height_mm": 1204.0}, True),
    ],
)
def test_the_quick_look_lets_pass_only_what_is_plainly_sound(change: dict[str, object], clean: bool) -> None:
    """Anything odd goes on to the weighing."""
    assert is_clean(PLAIN._replace(**change), FIGURES) is clean  # type: ignore[arg-type]


def test_the_worked_frame_follows_the_sum() -> None:
    """Smallest reading less lean, finishes, gaps, extenders and sill, down to the millimetre."""
    opening = SurveyedOpening(
        (1507.5, 1509.0),
        (1229.0,),
        sill_upstand_mm=30.0,
        width_extenders_mm=50.0,
        height_to_come_mm=15.0,
        width_gap_mm=15.0,
    )
    assert worked_frame_mm(sight(opening), opening, "width") == 1442.0
    assert worked_frame_mm(sight(opening), opening, "height") == 1174.0
    with_sill = opening._replace(height_includes_sill=True)
    assert worked_frame_mm(sight(with_sill), with_sill, "height") == 1204.0


def test_siblings_are_found_by_size_and_never_the_asker() -> None:
    """Within twelve millimetres on both sides, across the borders of the look-up's cells."""
    openings = [SurveyedOpening((width,), (1200.0,)) for width in (1199.0, 1207.0, 1211.0, 1212.0)]
    sizes = SiblingSizes([*openings, SurveyedOpening((), (1200.0,))], FIGURES)
    assert [each.place for each in sizes.like(width_mm=1199.0, height_mm=1200.0, but=0)] == [1, 2]
    assert sizes.size(0) == (1199.0, 1200.0)
    assert sizes.size(4) is None


def test_more_siblings_weigh_more_up_to_the_rulebooks_weight() -> None:
    """Windows of one house are often alike; twenty prove no more than a few."""
    lone = SiblingSizes([PLAIN], FIGURES).weight(sight(PLAIN), but=0)
    one = SiblingSizes([PLAIN] * 2, FIGURES).weight(sight(PLAIN), but=0)
    many = SiblingSizes([PLAIN] * 20, FIGURES).weight(sight(PLAIN), but=0)
    assert 0.0 == lone < one < many == FIGURES.sibling_weight


def test_rough_siblings_raise_the_share_of_rough_walls() -> None:
    """Kinked or tapering walls count, slips do not, and the asker does not count for itself."""
    kinked = SurveyedOpening((1507.0, 1520.0, 1509.0), TRIPLE)
    tapering = SurveyedOpening((1507.0, 1532.0), (1229.0,))
    slipped = SurveyedOpening((1507.0, 1207.0, 1509.0), TRIPLE)
    shares = {
        name: SiblingSizes([kinked, *[each] * 6], FIGURES).rough_share(but=0)
        for name, each in (("plain", PLAIN), ("kinked", kinked), ("tapering", tapering), ("slipped", slipped))
    }
    assert shares["plain"] == shares["slipped"] < FIGURES.rough_share
    assert shares["kinked"] == shares["tapering"] > 0.5
    blank = SurveyedOpening((), ())
    assert SiblingSizes([blank], FIGURES).rough_share(but=0) == FIGURES.rough_share
