"""Survey forensics as a whole: one case of each mistake, and odd but true surveys that stay quiet.

The openings are made up as typical of the trade (common practice, no source); what each mistake does to
the other numbers follows from arithmetic and the parallelogram law.
"""

import pytest

from sawready.calc.forensics import SurveyedOpening, Suspect, SuspicionFigures, survey_suspects
from survey_figures import starting_figures

FIGURES = starting_figures()
TRIPLE = (1228.0, 1229.0, 1227.0)


def suspects(*openings: SurveyedOpening) -> list[Suspect]:
    """Suspects of the last opening of an order."""
    return list(survey_suspects(openings, FIGURES)[-1])


def only(*openings: SurveyedOpening) -> Suspect:
    """The one suspect of the last opening of an order."""
    found = suspects(*openings)
    assert len(found) == 1, found
    return found[0]


CASES = {
    "inches among millimetres": (
        SurveyedOpening((1452.0, 57.0, 1449.0), TRIPLE),
        ("reading-unit-slip", "reject", "widths/1", 1447.8),
    ),
    "centimetres among millimetres": (
        SurveyedOpening((912.0, 91.4, 911.0), TRIPLE),
        ("reading-unit-slip", "reject", "widths/1", 914.0),
    ),
    "millimetres in an order in centimetres": (
        SurveyedOpening((9120.0, 914.0, 911.0), TRIPLE, unit_mm=10.0),
        ("reading-unit-slip", "reject", "widths/0", 912.0),
    ),
    "two digits swapped": (
        SurveyedOpening((1509.0, 1570.0, 1507.0), TRIPLE),
        ("reading-digits-swapped", "query", "widths/1", 1507.0),
    ),
    "two digits swapped in centimetres": (
        SurveyedOpening((1539.0, 1573.0, 1536.0), TRIPLE, unit_mm=10.0),
        ("reading-digits-swapped", "query", "widths/1", 1537.0),
    ),
    "two digits of the whole inches swapped": (
        SurveyedOpening((47.25 * 25.4, 74.125 * 25.4, 47.375 * 25.4), TRIPLE, unit_mm=25.4),
        ("reading-digits-swapped", "query", "widths/1", 47.125 * 25.4),
    ),
    "tape read 50 short": (
        SurveyedOpening((1228.0, 1178.0, 1230.0), TRIPLE),
        ("reading-step-slip", "query", "widths/1", 1228.0),
    ),
    "tape read 1000 long at the top": (
        SurveyedOpening((2510.0, 1506.0, 1503.0), TRIPLE),
        ("reading-step-slip", "query", "widths/0", 1510.0),
    ),
    "fraction of an inch forgotten": (
        SurveyedOpening((48.875 * 25.4, 48 * 25.4, 48.875 * 25.4), TRIPLE, unit_mm=25.4),
        ("reading-step-slip", "query", "widths/1", 48.875 * 25.4),
    ),
    "100 too wide, as both diagonals tell": (
        SurveyedOpening((1609.0,), (1229.0,), (1946.0, 1946.0)),
        ("reading-step-slip", "query", "widths/0", 1509.0),
    ),
    "100 too wide in every reading": (
        SurveyedOpening((1609.0, 1610.0, 1608.0), TRIPLE, (1946.0, 1946.0)),
        ("reading-step-slip", "query", "widths", 1508.0),
    ),
    "a diagonal 100 short": (
        SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, (1943.0, 1843.0)),
        ("reading-step-slip", "query", "diagonals/1", 1943.0),
    ),
    "both diagonals in centimetres": (
        SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, (194.4, 194.3)),
        ("reading-unit-slip", "reject", "diagonals", 1944.0),
    ),
    "the only diagonal 500 short": (
        SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, (1445.0,)),
        ("reading-step-slip", "query", "diagonals/0", 1945.0),
    ),
    "lone reading that the frame contradicts": (
        SurveyedOpening((1570.0,), (1228.0,), frame_width_mm=1497.0, frame_height_mm=1218.0),
        ("reading-digits-swapped", "query", "widths/0", 1507.0),
    ),
    "frame digits swapped, three readings agree": (
        SurveyedOpening((1509.0, 1508.0, 1507.0), TRIPLE, frame_width_mm=1947.0),
        ("reading-digits-swapped", "query", "frame/width", 1497.0),
    ),
    "frame made from the average": (
        SurveyedOpening((1516.0, 1507.0, 1519.0), TRIPLE, frame_width_mm=1504.0),
        ("average-reading-used", "reject", "frame/width", 1497.0),
    ),
    "gap taken off twice": (
        SurveyedOpening((1507.0,), (1229.0,), frame_width_mm=1487.0, frame_height_mm=1219.0),
        ("gap-taken-twice", "query", "frame/width", 1497.0),
    ),
    "sill forgotten": (
        SurveyedOpening((1507.0,), (1228.0,), (), 1497.0, 1218.0, sill_upstand_mm=30.0),
        ("sill-height-forgotten", "reject", "frame/height", 1188.0),
    ),
    "sill counted twice": (
        SurveyedOpening((1507.0,), (1228.0,), (), 1497.0, 1158.0, sill_upstand_mm=30.0),
        ("sill-height-counted-twice", "query", "frame/height", 1188.0),
    ),
    "sill counted twice in a height that includes it": (
        SurveyedOpening(
            (1507.0,), (1228.0,), (), 1497.0, 1188.0, height_includes_sill=True, sill_upstand_mm=30.0
        ),
        ("sill-height-counted-twice", "query", "frame/height", 1218.0),
    ),
    "frame made from the plaster, too small": (
        SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, frame_width_mm=1431.0, inside_width_mm=1441.0),
        ("measured-to-wrong-face", "query", "frame/width", 1497.0),
    ),
    "frame made from the plaster, too large": (
        SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, frame_width_mm=1530.0, inside_width_mm=1540.0),
        ("measured-to-wrong-face", "reject", "frame/width", 1497.0),
    ),
    "frame turned": (
        SurveyedOpening((1507.0,), (1803.0,), (), 1763.0, 1497.0, sill_upstand_mm=30.0),
        ("width-height-swapped", "reject", "frame/width", 1497.0),
    ),
    "a width and a height in each other's place": (
        SurveyedOpening((1507.0, 1228.0, 1509.0), (1226.0, 1506.0, 1230.0)),
        ("width-height-swapped", "reject", "widths/1", 1506.0),
    ),
    "inside size in centimetres": (
        SurveyedOpening((1507.0,), (1228.0,), inside_width_mm=149.0, inside_height_mm=1210.0),
        ("reading-unit-slip", "reject", "inside/width", 1490.0),
    ),
    "survey turned, as the inside sizes tell": (
        SurveyedOpening((1228.0,), (1507.0,), inside_width_mm=1490.0, inside_height_mm=1210.0),
        ("width-height-swapped", "reject", "widths/0", 1507.0),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_is_found_at_its_place_with_what_was_meant(case: str) -> None:
    """Reason, severity, field and likeliest value of one mistake in an otherwise sound survey."""
    opening, (reason, severity, field, value) = CASES[case]
    found = only(opening)
    assert (found.reason, found.severity, found.field) == (reason, severity, field)
    assert found.candidates_mm[0] == pytest.approx(value, abs=0.001)
    assert found.measured_mm is not None
    assert found.question.endswith("?")
    assert found.question.count("?") == 1


QUIET = {
    "a swap within the spread": SurveyedOpening((1287.0, 1278.0, 1283.0), TRIPLE),
    "a hollow that no slip explains": SurveyedOpening((1510.0, 1482.0, 1507.0), TRIPLE),
    "a wall that tapers": SurveyedOpening((1500.0, 1510.0, 1520.0), TRIPLE, (1940.0, 1950.0)),
    "a wall that tapers by 40": SurveyedOpening((1500.0, 1521.0, 1540.0), (1203.0, 1220.0, 1239.0)),
    "a frame reduced for the lean": SurveyedOpening(
        (1507.0, 1509.0, 1511.0), TRIPLE, (1958.0, 1935.0), 1482.0, 1217.0
    ),
    "a gap of the order's own": SurveyedOpening(
        (1507.0,),
        (1229.0,),
        (),
        1487.0,
        1209.0,
        width_gap_is_own=True,
        height_gap_is_own=True,
        width_gap_mm=20.0,
        height_gap_mm=20.0,
    ),
    "extenders": SurveyedOpening((1507.0,), (1229.0,), (), 1447.0, 1219.0, width_extenders_mm=50.0),
    "finishes to come": SurveyedOpening((1507.0,), (1229.0,), (), 1467.0, 1219.0, width_to_come_mm=30.0),
    "a frame smaller on both sides": SurveyedOpening((1507.0,), (1229.0,), (), 1490.0, 1212.0),
    "a frame that leaves an odd gap": SurveyedOpening((1507.0,), (1229.0,), (), 1440.0, 1219.0),
    "square, frame too wide": SurveyedOpening((1203.0,), (1200.0,), (), 1200.0, 1190.0),
    "a lean that the frame ignores": SurveyedOpening(
        (1507.0, 1508.0, 1509.0), TRIPLE, (1945.0, 1954.0), 1497.0, 1217.0
    ),
    "finishes to come that the frame ignores": SurveyedOpening(
        (1507.0,), (1229.0,), (), 1497.0, 1219.0, width_to_come_mm=30.0
    ),
    "a loose frame beside an inside size": SurveyedOpening(
        (1507.0, 1512.0, 1518.0), (1229.0,), (), 1493.0, 1219.0, inside_width_mm=1503.0
    ),
    "an odd frame that no inside size explains": SurveyedOpening(
        (1507.0,), (1229.0,), (), 1440.0, 1219.0, inside_width_mm=1480.0
    ),
    "an inside size that is no window": SurveyedOpening((1507.0,), (1229.0,), inside_width_mm=77.0),
    "inside sizes far off and not turned": SurveyedOpening(
        (1507.0,), (1229.0,), inside_width_mm=1700.0, inside_height_mm=1400.0
    ),
    "inside sizes far off and nearly square": SurveyedOpening(
        (1300.0,), (1229.0,), inside_width_mm=1400.0, inside_height_mm=1130.0
    ),
    "square and turned": SurveyedOpening((1203.0,), (1200.0,), (), 1190.0, 1190.0),
    "equal readings that are not round": SurveyedOpening((1187.0,) * 3, (1047.0,) * 3, (1583.0, 1583.0)),
    "round but measured": SurveyedOpening((900.0, 901.0, 900.0), (1200.0,) * 3, (1500.0, 1500.0)),
    "inside smaller by the plaster": SurveyedOpening((1507.0,), (1229.0,), inside_width_mm=1470.0),
    "a splayed reveal": SurveyedOpening(
        (1507.0,), (1229.0,), inside_width_mm=1700.0, inside_height_mm=1260.0
    ),
    "a sloping head": SurveyedOpening(
        (1507.0,) * 3, (1229.0, 1236.0, 1243.0), (1950.0, 1937.0), is_head_sloping=True, frame_width_mm=1497.0
    ),
}


@pytest.mark.parametrize("case", QUIET)
def test_an_odd_but_true_survey_raises_no_suspicion(case: str) -> None:
    """What real walls and deliberate frames look like is left alone."""
    assert suspects(QUIET[case]) == []


def test_the_sentences_say_with_what_the_value_agrees_and_ask_for_it() -> None:
    """A surveyor can answer the question from the sentence alone."""
    found = only(SurveyedOpening((1201.0, 1203.0, 1024.0), TRIPLE, (1717.0, 1720.0)))
    assert found.why == "1204 agrees with 1201, 1203 and both diagonals; 1024 is that, two digits swapped."
    assert found.question == "The bottom width reads 1024, the others 1201 and 1203: should it be 1204?"


def test_sentences_are_in_the_unit_of_the_order() -> None:
    """Inches come as a tape shows them, millimetres bare."""
    found = only(SurveyedOpening((47.25 * 25.4, 47.5 * 25.4, 57.25 * 25.4), TRIPLE, unit_mm=25.4))
    assert found.question == (
        "The bottom width reads 57 1/4 in, the others 47 1/4 in and 47 1/2 in: should it be 47 1/4 in?"
    )


def test_a_cause_names_the_findings_it_replaces() -> None:
    """One bad reading is not four findings."""
    found = only(
        SurveyedOpening((1228.0, 1178.0, 1230.0), (1528.0, 1529.0, 1527.0), (1959.0, 1960.0), 1218.0, 1517.0)
    )
    assert found.replaces == (
        ("diagonals-disagree", ""),
        ("frame-too-wide", "width"),
        ("readings-disagree", "width"),
    )


def test_findings_that_remain_are_not_replaced() -> None:
    """The other axis disagrees for reasons of its own and keeps its finding."""
    found = only(SurveyedOpening((1509.0, 1570.0, 1507.0), (1228.0, 1240.0, 1250.0)))
    assert ("readings-disagree", "height") not in found.replaces
    assert ("readings-disagree", "width") in found.replaces


def test_two_causes_that_fit_as_well_are_both_named() -> None:
    """A lone width and the frame contradict each other; either may be 100 off."""
    first, second = suspects(SurveyedOpening((1607.0,), (1228.0,), (), 1497.0, 1218.0))
    assert (first.field, first.candidates_mm) == ("widths/0", (1507.0,))
    assert (second.field, second.candidates_mm) == ("frame/width", (1597.0,))
    assert "the ordered frame width instead of the width" in first.why
    assert "the width instead of the ordered frame width" in second.why


def test_two_readings_that_are_each_others_swap_are_both_asked_about() -> None:
    """With nothing else to go by, 1507 and 1570 may each be the other."""
    found = suspects(SurveyedOpening((1507.0, 1570.0), TRIPLE))
    assert {(each.field, each.candidates_mm[0]) for each in found} == {
        ("widths/0", 1570.0),
        ("widths/1", 1507.0),
    }


def test_two_values_for_one_place_stand_in_one_question() -> None:
    """A step of 200 and a swap of digits lead to neighbouring values."""
    found = only(SurveyedOpening((1505.0, 1705.0, 1512.0), (1020.0, 1029.0, 1035.0)))
    assert set(found.candidates_mm) == {1505.0, 1507.0}
    assert "fits about as well" in found.why
    assert " or " in found.question


def test_two_units_that_make_a_window_are_both_offered() -> None:
    """Whole numbers may be either."""
    found = only(SurveyedOpening((48.0, 48.0, 48.0), (85.0, 85.0, 85.0)))
    assert (found.field, set(found.candidates_mm)) == ("widths", {1219.2, 480.0})
    assert "inches (1219.2)" in found.question
    assert "centimetres (480)" in found.question


def test_eighths_are_inches() -> None:
    """Nobody writes centimetres or millimetres in eighths: no other unit is offered, and no step."""
    found = only(SurveyedOpening((59.375, 59.25, 59.25), (48.5, 48.25, 48.375)))
    assert (found.field, found.candidates_mm) == ("widths", (1504.95,))
    assert found.question == "The width readings start at 59.25: was that in inches (1504.95)?"


def test_three_places_are_metres() -> None:
    """1.452 among millimetres is a reading in metres."""
    found = only(SurveyedOpening((1.452,), (1210.0,)))
    assert (found.field, found.candidates_mm[0]) == ("widths/0", 1452.0)


def test_another_arched_head_lets_an_arch_pass() -> None:
    """Middle heights 50 above both ends may be misread once; in a house of arches they are arches."""
    arch = SurveyedOpening((1010.0, 1011.0, 1010.0), (1599.0, 1649.0, 1598.0))
    assert only(arch).question.endswith("should it be 1599, or is the head arched?")
    assert survey_suspects([arch, arch._replace(widths_mm=(702.0, 701.0, 702.0))], FIGURES) == ((), ())


def test_a_lump_that_no_slip_hits_stays_a_lump() -> None:
    """A reading 43 off is no step of 50: put right it would be 7 off the others."""
    assert suspects(SurveyedOpening((1507.0, 1465.0, 1508.0), (1229.0, 1230.0, 1229.0))) == []


def test_a_survey_turned_round_may_taper() -> None:
    """Readings 18 apart are as far apart on the other axis; the survey is turned all the same."""
    found = only(
        SurveyedOpening(
            (1507.0, 1506.0, 1508.0),
            (715.0, 726.0, 733.0),
            frame_width_mm=705.0,
            frame_height_mm=1496.0,
        )
    )
    assert found.reason == "width-height-swapped"
    assert not any(reason == "readings-disagree" for reason, _ in found.replaces)


def test_separate_mistakes_in_one_opening_are_found_separately() -> None:
    """A swap in a width and a step in a height."""
    found = suspects(SurveyedOpening((1509.0, 1570.0, 1507.0), (1229.0, 1179.0, 1231.0), (1945.0, 1945.0)))
    assert [(each.field, each.candidates_mm[0]) for each in found] == [
        ("widths/1", 1507.0),
        ("heights/1", 1229.0),
    ]
    assert ("diagonals-disagree", "") in found[1].replaces


def test_a_mistake_without_a_name_hides_no_other() -> None:
    """A height is wrong in no way that has a name; the swapped width is still told."""
    found = only(SurveyedOpening((1509.0, 1570.0, 1507.0), (1229.0, 1416.0, 1231.0)))
    assert (found.field, found.candidates_mm[0]) == ("widths/1", 1507.0)


def test_one_mistake_on_both_sides_of_the_frame_is_told_for_both() -> None:
    """The whole frame was made from the inside sizes, and is too small for its gaps."""
    opening = SurveyedOpening(
        (1509.0, 1508.0, 1507.0),
        TRIPLE,
        (1945.0, 1945.0),
        1450.0,
        1170.0,
        inside_width_mm=1460.0,
        inside_height_mm=1180.0,
    )
    found = suspects(opening)
    assert [(each.reason, each.field) for each in found] == [
        ("measured-to-wrong-face", "frame/width"),
        ("measured-to-wrong-face", "frame/height"),
    ]
    assert [each.candidates_mm for each in found] == [(1497.0,), (1217.0,)]


def test_a_frame_in_two_units_is_told_side_by_side() -> None:
    """Centimetres across, inches up: two mistakes, each with its own unit."""
    found = suspects(SurveyedOpening((1509.0, 1508.0, 1507.0), TRIPLE, (1945.0, 1945.0), 149.7, 47.875))
    assert {(each.field, each.candidates_mm[0]) for each in found} == {
        ("frame/width", 1497.0),
        ("frame/height", 1216.025),
    }


def test_averages_on_both_sides_are_told_for_both() -> None:
    """Each side has its own sum to show."""
    found = suspects(SurveyedOpening((1516.0, 1507.0, 1519.0), (1229.0, 1240.0, 1236.0), (), 1504.0, 1225.0))
    assert [(each.reason, each.candidates_mm) for each in found] == [
        ("average-reading-used", (1497.0,)),
        ("average-reading-used", (1219.0,)),
    ]


def test_no_more_mistakes_are_looked_for_than_the_rulebook_says() -> None:
    """Four in one opening: the likeliest three are named, the rest shows once those are put right."""
    opening = SurveyedOpening(
        (1509.0, 1570.0, 1507.0),
        (1229.0, 1179.0, 1231.0),
        (1945.0, 1945.0),
        1597.0,
        1250.0,
        sill_upstand_mm=30.0,
    )
    assert len({each.field for each in suspects(opening)}) == FIGURES.mistakes_most


def test_two_mistakes_of_the_office_that_give_one_frame_are_both_told() -> None:
    """The inside width is the average of the readings."""
    found = only(
        SurveyedOpening((1516.0, 1507.0, 1519.0), TRIPLE, frame_width_mm=1504.0, inside_width_mm=1514.0)
    )
    assert "the inside width" in found.why
    assert "the average of the readings" in found.why
    assert "It is also" in found.why


def test_siblings_tell_that_the_survey_is_turned_and_not_the_frame() -> None:
    """The frame contradicts the readings; three windows like the turned survey settle which is wrong."""
    alike = [SurveyedOpening((1507.0,), (1803.0,), (), 1497.0, 1793.0)] * 3
    found = only(*alike, SurveyedOpening((1804.0,), (1508.0,), (), 1498.0, 1794.0))
    assert (found.reason, found.severity, found.field) == ("width-height-swapped", "reject", "widths/0")
    assert found.question == "The width is given as 1804 and the height as 1508: have the two changed places?"


def test_a_corrected_reading_may_fall_in_another_span() -> None:
    """Read 1000 long, the width had the gap of the next span looked up; its frame has the right one."""
    found = only(
        SurveyedOpening(
            (3507.0,),
            (1229.0,),
            (),
            2497.0,
            1219.0,
            width_gap_mm=15.0,
            width_gap_most_mm=15.0,
            other_gaps_mm=(10.0,),
        )
    )
    assert (found.field, found.candidates_mm) == ("widths/0", (2507.0,))


def test_a_place_left_empty_keeps_its_neighbours_places() -> None:
    """The middle width was not taken; the bottom one is asked about by its own place."""
    found = suspects(SurveyedOpening((1509.0, None, 1609.0), TRIPLE, (1945.0, None, 1946.0)[::2]))
    assert [each.field for each in found] == ["widths/2"]
    found = suspects(SurveyedOpening((1507.0, 1508.0, 1509.0), TRIPLE, (None, 1445.0)))
    assert [each.field for each in found] == ["diagonals/1"]


def test_a_diagonal_shorter_than_a_side_is_no_measure_of_the_other() -> None:
    """Lone readings and a diagonal that cannot be: nothing is worked out from it."""
    found = only(SurveyedOpening((1507.0,), (2229.0,), (1945.0, 1944.0)))
    assert (found.field, found.candidates_mm) == ("heights/0", (1229.0,))


def test_readings_of_nought_are_no_sides_to_hold_diagonals_against() -> None:
    """Blank cells that came as noughts: no error, and no value made up from them."""
    opening = SurveyedOpening((0.0, 1500.0, 0.0), (0.0, 1200.0, 0.0), (1920.0, 1921.0), 1490.0, 1190.0)
    assert all(min(each.candidates_mm) > 0 for each in suspects(opening))


def test_a_frame_all_in_centimetres_is_told_for_both_sides() -> None:
    """One unit for both sides is one mistake."""
    found = suspects(SurveyedOpening((1509.0, 1508.0, 1507.0), TRIPLE, (1945.0, 1945.0), 149.7, 121.7))
    assert [(each.reason, each.field, each.candidates_mm) for each in found] == [
        ("reading-unit-slip", "frame/width", (1497.0,)),
        ("reading-unit-slip", "frame/height", (1217.0,)),
    ]


def test_an_axis_in_centimetres_may_turn_out_to_taper() -> None:
    """1.7 cm of taper is within the spread only as long as it is read as millimetres."""
    opening = SurveyedOpening(
        (150.6, 149.7, 148.9), (1531.0, 1527.0, 1525.0), (2136.0, 2142.0), inside_width_mm=1463.0
    )
    found = only(opening._replace(inside_height_mm=1510.0))
    assert (found.reason, found.field, found.candidates_mm) == ("reading-unit-slip", "widths", (1489.0,))


def test_a_swap_that_leaves_a_taper_is_found_all_the_same() -> None:
    """What is left after the swap is put right is still a little over the spread; that finding stays."""
    found = only(SurveyedOpening((708.0, 969.0, 690.0), (781.0, 785.0, 788.0)))
    assert (found.field, found.candidates_mm) == ("widths/1", (699.0,))
    assert ("readings-disagree", "width") not in found.replaces


def test_siblings_that_match_when_turned_raise_a_question() -> None:
    """Two windows alike, and a third that is them turned round."""
    alike = SurveyedOpening((1507.0,), (1228.0,)), SurveyedOpening((1508.0,), (1229.0,))
    found = only(*alike, SurveyedOpening((1228.0, 1230.0), (1507.0, 1508.0)))
    assert (found.reason, found.severity, found.field) == ("width-height-swapped", "query", "widths")
    assert found.candidates_mm == (1507.0,)


@pytest.mark.parametrize(
    "last",
    [
        SurveyedOpening((1228.0,), (1507.0,), layout_key="fixed"),
        SurveyedOpening((1228.0,), (1507.0,), inside_width_mm=1210.0),
        SurveyedOpening((1228.0,), (1507.0,), inside_height_mm=1490.0),
        SurveyedOpening((1250.0,), (1507.0,)),
        SurveyedOpening((1213.0,), (1507.0,)),
        SurveyedOpening((1500.0,), (1510.0,)),
    ],
    ids=["another layout", "inside width agrees", "inside height agrees", "another size", "nearly", "square"],
)
def test_a_window_that_may_lie_the_other_way_is_left_alone(last: SurveyedOpening) -> None:
    """Only a true likeness turned round counts."""
    alike = SurveyedOpening((1507.0,), (1228.0,)), SurveyedOpening((1508.0,), (1229.0,))
    assert suspects(*alike, last) == []


def test_standard_sizes_may_lie_both_ways() -> None:
    """900 x 1200 among 1200 x 900 is a usual order."""
    alike = [SurveyedOpening((1200.0,), (900.0,))] * 2
    assert suspects(*alike, SurveyedOpening((900.0,), (1200.0,))) == []


def test_one_likeness_is_not_enough() -> None:
    """A single window turned round is no pattern, and neither is one that has a twin as it stands."""
    turned = SurveyedOpening((1228.0,), (1507.0,))
    assert suspects(SurveyedOpening((1507.0,), (1228.0,)), turned) == []
    alike = [SurveyedOpening((1507.0,), (1228.0,))] * 2
    assert suspects(*alike, turned, turned) == []


def test_a_lone_reading_two_digits_from_its_siblings_is_asked_about() -> None:
    """Four windows of one layout, one of them 1570 where the others are 1507."""
    alike = [SurveyedOpening((1507.0,), (1228.0,), layout_key="fixed")] * 3
    found = only(*alike, SurveyedOpening((1570.0,), (1229.0,), layout_key="fixed"))
    assert (found.reason, found.field, found.candidates_mm) == (
        "reading-digits-swapped",
        "widths/0",
        (1507.0,),
    )
    tall = [SurveyedOpening((1228.0,), (1507.0,), layout_key="fixed")] * 3
    found = only(*tall, SurveyedOpening((1229.0,), (None, 1570.0), layout_key="fixed"))
    assert (found.field, found.candidates_mm) == ("heights/1", (1507.0,))


@pytest.mark.parametrize(
    "last",
    [
        SurveyedOpening((1570.0,), (1228.0,)),
        SurveyedOpening((1570.0,), (1228.0,), (1993.0, 1993.0), layout_key="fixed"),
        SurveyedOpening((1570.0, 1571.0), (1228.0, 1229.0), layout_key="fixed"),
        SurveyedOpening((1700.0,), (1228.0,), layout_key="fixed"),
        SurveyedOpening((1507.0,), (1228.0,), layout_key="fixed"),
        SurveyedOpening((1570.0,), (1228.0,), layout_key="top-hung"),
    ],
    ids=["no layout", "diagonals agree", "two readings", "round", "one of them", "another layout"],
)
def test_a_window_of_its_own_size_is_left_alone(last: SurveyedOpening) -> None:
    """Sizes that differ by a swap of digits happen; only where nothing else speaks are they asked about."""
    alike = [SurveyedOpening((1507.0,), (1228.0,), layout_key="fixed")] * 3
    assert suspects(*alike, last) == []


def test_siblings_tell_which_of_two_causes_it_is() -> None:
    """1507 and 1570 may each be the other, but three windows of the order are 1507 wide."""
    alike = [SurveyedOpening((1507.0, 1508.0), TRIPLE)] * 3
    found = suspects(*alike, SurveyedOpening((1507.0, 1570.0), TRIPLE))
    assert (found[0].field, found[0].candidates_mm[0]) == ("widths/1", 1507.0)
    assert "3 other windows of the order" in found[0].why


def test_readings_that_look_copied_are_remarked() -> None:
    """Equal, round, and both diagonals equal."""
    found = only(SurveyedOpening((900.0,) * 3, (1200.0,) * 3, (1500.0, 1500.0)))
    assert (found.reason, found.severity, found.field) == ("readings-look-copied", "note", "widths")
    assert found.candidates_mm == ()
    assert "diagonals are equal" in found.why
    assert "diagonals" not in only(SurveyedOpening((900.0,) * 3, (1200.0,) * 3)).why


@pytest.mark.parametrize(
    "opening",
    [
        SurveyedOpening((900.0,) * 3, (1200.0,) * 3, (1500.0, 1501.0)),
        SurveyedOpening((900.0,) * 2, (1200.0,) * 2),
        SurveyedOpening((900.0, None, 900.0), (1200.0,) * 3),
        SurveyedOpening((900.0,) * 3, (1210.0,) * 3),
        SurveyedOpening((900.0,) * 3, (1200.0, 1201.0, 1200.0)),
    ],
    ids=["diagonals differ", "two readings", "one missing", "not round", "not equal"],
)
def test_readings_that_may_be_measured_are_not_remarked(opening: SurveyedOpening) -> None:
    """Anything short of the whole pattern is left alone."""
    assert suspects(opening) == []


@pytest.mark.parametrize("face", ["plaster", "old_frame"])
def test_sizes_to_a_face_no_frame_can_be_made_from_are_refused(face: str) -> None:
    """The face stands in the order; no number is needed."""
    found = only(SurveyedOpening((1507.0,), (1228.0,), measured_to=face))
    assert (found.reason, found.severity, found.field) == ("measured-to-wrong-face", "reject", "measured_to")
    assert found.measured_mm is None
    assert suspects(SurveyedOpening((1507.0,), (1228.0,), measured_to="brick")) == []


def test_an_opening_that_could_not_be_read_raises_nothing() -> None:
    """No readings on an axis, none at all, or only empty places."""
    for widths in ((), (None, None), (1507.0,)):
        assert suspects(SurveyedOpening(widths, ())) == []
    assert (
        suspects(SurveyedOpening((1507.0,), (None,), (1945.0,), 1497.0, 1218.0, inside_width_mm=1490.0)) == []
    )


def test_rough_houses_need_more_to_be_suspected() -> None:
    """The same kink is a slip in a straight house and a wall like the others in a crooked one."""
    doubtful = SurveyedOpening((1513.0, 1541.0, 1515.0), (1228.0, 1234.0, 1226.0))
    crooked = [SurveyedOpening((1400.0 + 61 * n, 1421.0 + 61 * n, 1395.0 + 61 * n), TRIPLE) for n in range(8)]
    straight = [
        SurveyedOpening((1400.0 + 61 * n, 1402.0 + 61 * n, 1403.0 + 61 * n), TRIPLE) for n in range(8)
    ]
    assert only(*straight, doubtful).candidates_mm[0] == 1514.0
    assert suspects(*crooked, doubtful) == []


def test_figures_name_what_is_missing_or_unknown() -> None:
    """A rulebook with a gap or a slip of the pen is told by name."""
    with pytest.raises(ValueError, match=r"missing: \['average_share'.*unknown: \['averag_share'\]"):
        SuspicionFigures.of(
            {"averag_share": 1},
            readings_spread_mm=15,
            diagonals_differ_from_mm=5,
            diagonals_against_sides_mm=8,
        )


def test_an_order_without_openings_has_no_suspects() -> None:
    """Nothing in, nothing out."""
    assert survey_suspects([], FIGURES) == ()
