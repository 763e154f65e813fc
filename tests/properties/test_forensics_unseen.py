"""What no reading of the numbers can see, proved by example.

A mistake cannot be seen from the numbers if some other true opening, measured without any mistake, gives
the very same numbers: whatever is said of the one has to be said of the other. Each test makes both, the
mistaken survey and the true one, from the corners of two different openings, and holds that every number
is the same. (That nothing is then suspected follows from the rates on true surveys; it is shown besides.)
"""

from dataclasses import replace
from random import Random

import pytest

from sawready.calc.forensics import SurveyedOpening, survey_suspects
from survey_figures import starting_figures
from survey_generator import Hole, Style, broken_limits, survey, with_frame

FIGURES = starting_figures()
EXACT = Style(tape_mm=0.0, has_frame=False)
HOLE = Hole(1507, 1228)


def taken(hole: Hole, style: Style = EXACT) -> SurveyedOpening:
    """The hole measured with a perfect tape."""
    return survey(Random(0), hole, style)


def assert_cannot_be_told_apart(mistaken: SurveyedOpening, true: SurveyedOpening) -> None:
    """The same numbers, which break no limit and are suspected of nothing."""
    assert mistaken == true
    assert broken_limits(mistaken) == set()
    assert survey_suspects([mistaken], FIGURES) == ((),)


@pytest.mark.parametrize("diagonals", [0, 1, 2])
def test_a_survey_turned_round_as_a_whole(diagonals: int) -> None:
    """Width and height changed over in every reading: the diagonals of both openings are the same."""
    style = replace(EXACT, diagonals=diagonals)
    true = taken(HOLE, style)
    mistaken = true._replace(widths_mm=true.heights_mm, heights_mm=true.widths_mm)
    assert_cannot_be_told_apart(mistaken, taken(Hole(1228, 1507), style))


def test_a_survey_turned_round_and_the_frame_made_from_it() -> None:
    """The frame agrees with the mistake that it was made from."""
    true = taken(HOLE)
    mistaken = with_frame(true._replace(widths_mm=true.heights_mm, heights_mm=true.widths_mm))
    assert_cannot_be_told_apart(mistaken, with_frame(taken(Hole(1228, 1507))))


@pytest.mark.parametrize(
    "slipped", [1570.0, 1407.0, 2507.0, 1507.0 / 2.54], ids=["digits", "step", "1000", "unit"]
)
def test_a_lone_reading_with_nothing_beside_it(slipped: float) -> None:
    """One reading an axis, no diagonal, no frame: any other opening may be meant."""
    style = replace(EXACT, readings=(1, 1), diagonals=0)
    mistaken = taken(HOLE, style)._replace(widths_mm=(float(round(slipped)),))
    assert_cannot_be_told_apart(mistaken, taken(Hole(round(slipped), 1228), style))


def test_a_lone_reading_and_the_frame_made_from_it() -> None:
    """A frame that follows from a wrong reading confirms it."""
    style = replace(EXACT, readings=(1, 1), diagonals=0)
    mistaken = with_frame(taken(HOLE, style)._replace(widths_mm=(1570.0,)))
    assert_cannot_be_told_apart(mistaken, with_frame(taken(Hole(1570, 1228), style)))


def test_a_tape_hooked_wrong_for_everything_on_one_axis_without_diagonals() -> None:
    """All three widths 100 short."""
    style = replace(EXACT, diagonals=0)
    true = taken(HOLE, style)
    mistaken = true._replace(widths_mm=tuple(each - 100 for each in true.widths_mm))
    assert_cannot_be_told_apart(mistaken, taken(Hole(1407, 1228), style))


def test_everything_too_large_by_one_factor() -> None:
    """Every number twice what it should be: a larger opening of the same shape."""
    small = taken(Hole(601, 450))
    mistaken = small._replace(
        widths_mm=tuple(2 * each for each in small.widths_mm),
        heights_mm=tuple(2 * each for each in small.heights_mm),
        diagonals_mm=tuple(float(round(2 * each)) for each in small.diagonals_mm),
    )
    large = taken(Hole(1202, 900))
    assert mistaken._replace(diagonals_mm=()) == large._replace(diagonals_mm=())
    assert all(
        abs(one - other) <= 1 for one, other in zip(mistaken.diagonals_mm, large.diagonals_mm, strict=True)
    )
    assert survey_suspects([mistaken], FIGURES) == ((),)


@pytest.mark.parametrize(("true_mm", "written_mm"), [(1278.0, 1287.0), (1298.0, 1289.0)])
def test_a_swap_of_neighbouring_digits_that_a_wall_hides(true_mm: float, written_mm: float) -> None:
    """Nine millimetres at the bottom of the width: a wall that tapers by nine and bows by half of it."""
    style = replace(EXACT, diagonals=0)
    true = taken(Hole(true_mm, 1228), style)
    mistaken = true._replace(widths_mm=(*true.widths_mm[:2], written_mm))
    off = written_mm - true_mm
    wall = taken(Hole((true_mm + written_mm) / 2, 1228, taper_width=off, bow_width=-off / 2), style)
    assert_cannot_be_told_apart(mistaken, wall)


def test_a_gap_taken_twice_and_a_frame_made_smaller_by_as_much_on_purpose() -> None:
    """The numbers are the same; the program asks about both, and only a person can answer."""
    true = with_frame(taken(HOLE))
    assert true.frame_width_mm is not None
    twice = true._replace(frame_width_mm=true.frame_width_mm - true.width_gap_mm)
    on_purpose = with_frame(taken(HOLE))._replace(frame_width_mm=1487.0)
    assert twice == on_purpose
    assert [each.severity for each in survey_suspects([twice], FIGURES)[0]] == ["query"]


def test_a_hollow_in_the_wall_as_deep_as_a_slip_is_long() -> None:
    """A wall 27 deep in the middle and two digits swapped give the same readings; the program asks."""
    true = taken(Hole(1514, 1228))
    mistaken = true._replace(widths_mm=(1514.0, 1541.0, 1514.0))
    hollow = taken(Hole(1514, 1228, bow_width=27))
    assert mistaken == hollow
    assert [each.severity for each in survey_suspects([hollow], FIGURES)[0]] == ["query"]


def test_an_arch_as_high_as_a_step() -> None:
    """A middle height read 50 long and an arched head of 50: the program asks, and names the arch."""
    true = taken(HOLE)
    mistaken = true._replace(heights_mm=(1228.0, 1278.0, 1228.0))
    arched = taken(Hole(1507, 1228, bow_height=50))
    assert mistaken == arched
    (found,) = survey_suspects([arched], FIGURES)[0]
    assert found.severity == "query"
    assert found.question.endswith("or is the head arched?")


@pytest.mark.parametrize("written_mm", [1516.0, 1521.0])
def test_two_readings_are_the_ends_of_a_wall(written_mm: float) -> None:
    """Two readings with no diagonal: whatever one is off, some wall tapers by it."""
    style = replace(EXACT, readings=(2, 2), diagonals=0)
    mistaken = taken(HOLE, style)._replace(widths_mm=(1507.0, written_mm))
    off = written_mm - 1507.0
    assert_cannot_be_told_apart(
        mistaken, taken(Hole((1507.0 + written_mm) / 2, 1228, taper_width=off), style)
    )


def test_a_mark_of_a_tape_in_inches() -> None:
    """An eighth read as a sixteenth: a wall that is 1.6 mm narrower at the bottom."""
    style = replace(EXACT, diagonals=0)
    mark = 25.4 / 16
    true = taken(Hole(1507, 1228), style)
    mistaken = true._replace(widths_mm=(*true.widths_mm[:2], true.widths_mm[2] - mark))
    assert broken_limits(mistaken) == set()
    assert survey_suspects([mistaken], FIGURES) == ((),)
