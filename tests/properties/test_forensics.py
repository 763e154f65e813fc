"""Laws of survey forensics, and its rates on random surveys."""

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forensics_rates import Count, wilson
from sawready.calc.forensics import SurveyedOpening, Suspect, survey_suspects
from sawready.calc.forensics.faults import faults_of, is_clean
from sawready.calc.forensics.model import Numbers
from sawready.calc.forensics.sight import sight_of
from survey_figures import starting_figures
from survey_generator import MISTAKES, ODD

FIGURES = starting_figures()
REASONS = {
    "reading-digits-swapped",
    "reading-unit-slip",
    "reading-step-slip",
    "width-height-swapped",
    "readings-look-copied",
    "average-reading-used",
    "gap-taken-twice",
    "sill-height-counted-twice",
    "sill-height-forgotten",
    "measured-to-wrong-face",
}

lengths = st.one_of(
    st.integers(300, 3000).map(float),
    st.sampled_from([0.0, 1.5, 57.0, 59.375, 91.4, 120.7, 1200.0, 12_000.0, 999_999.0]),
    st.integers(0, 10**13).map(lambda nm: nm / 1e6),
)
places = st.lists(st.none() | lengths, min_size=1, max_size=3).map(tuple)


@st.composite
def openings(draw: st.DrawFn) -> SurveyedOpening:
    """Anything that a reader of orders may hand over, sound or not."""
    width = draw(st.integers(300, 3000))
    near = st.integers(-30, 30).map(lambda off: float(width + off))
    return SurveyedOpening(
        widths_mm=draw(places | st.lists(near, min_size=1, max_size=3).map(tuple)),
        heights_mm=draw(places),
        diagonals_mm=draw(st.lists(st.none() | lengths, max_size=2).map(tuple)),
        frame_width_mm=draw(st.none() | lengths | near),
        frame_height_mm=draw(st.none() | lengths),
        height_includes_sill=draw(st.booleans()),
        sill_upstand_mm=draw(st.sampled_from([0.0, 30.0])),
        width_gap_mm=draw(st.sampled_from([0.0, 10.0, 15.0])),
        width_gap_is_own=draw(st.booleans()),
        width_extenders_mm=draw(st.sampled_from([0.0, 50.0])),
        height_to_come_mm=draw(st.sampled_from([0.0, 15.0])),
        other_gaps_mm=(10.0, 15.0),
        inside_width_mm=draw(st.none() | lengths),
        inside_height_mm=draw(st.none() | lengths),
        measured_to=draw(st.sampled_from([None, "brick", "plaster"])),
        is_head_sloping=draw(st.booleans()),
        unit_mm=draw(st.sampled_from([1.0, 10.0, 1000.0, 25.4, 304.8])),
        layout_key=draw(st.sampled_from([None, "fixed", "side-hung | fixed"])),
    )


def stated_at(opening: SurveyedOpening, field: str) -> float | None:
    """The length that stands at a field of the opening; a group's smallest."""
    group, _, place = field.partition("/")
    if group in {"frame", "inside"}:
        return getattr(opening, f"{group}_{place}_mm")
    values = getattr(opening, f"{group}_mm")
    return values[int(place)] if place else min(each for each in values if each is not None)


@given(st.lists(openings(), max_size=4))
@settings(max_examples=300, deadline=None)
def test_any_numbers_give_suspects_that_can_be_shown_or_none(order: list[SurveyedOpening]) -> None:
    """No error; known reasons; places that hold what was measured; candidates that are lengths."""
    found = survey_suspects(order, FIGURES)
    assert len(found) == len(order)
    for opening, suspects in zip(order, found, strict=True):
        for each in suspects:
            assert each.reason in REASONS
            assert each.severity in {"reject", "query", "note"}
            assert all(0 < value < 1e13 for value in each.candidates_mm)
            assert each.measured_mm not in each.candidates_mm
            if each.field != "measured_to" and "/" in each.field:
                assert each.measured_mm is not None
                stated = stated_at(opening, each.field)
                assert stated is not None
                assert each.measured_mm == pytest.approx(stated)


@given(openings())
@settings(max_examples=500, deadline=None)
def test_the_quick_look_keeps_no_fault_from_the_weighing(opening: SurveyedOpening) -> None:
    """What passes the quick look has no fault by the careful one."""
    if is_clean(opening, FIGURES):
        sight = sight_of(Numbers.of(opening), opening, FIGURES)
        assert not faults_of(sight, FIGURES, suits_stated=(False, False))


def mirrored(opening: SurveyedOpening) -> SurveyedOpening:
    """The opening seen from the other side: heights from right to left, diagonals in each other's place."""
    return opening._replace(heights_mm=opening.heights_mm[::-1], diagonals_mm=opening.diagonals_mm[::-1])


def mirrored_field(field: str, opening: SurveyedOpening) -> str:
    """Where the field lies when seen from the other side."""
    group, _, place = field.partition("/")
    if group not in {"heights", "diagonals"} or not place:
        return field
    return f"{group}/{len(getattr(opening, f'{group}_mm')) - 1 - int(place)}"


def told(suspects: tuple[Suspect, ...]) -> set[tuple[str, str, tuple[float, ...]]]:
    """What was said, whatever the order of what fits equally well."""
    return {(each.reason, each.field, tuple(sorted(each.candidates_mm))) for each in suspects}


def test_the_side_that_it_is_seen_from_does_not_matter() -> None:
    """A mistake seen from inside is the same mistake as seen from outside."""
    rng = Random(31)
    kinds = [kind for kind in MISTAKES if "two, both" not in kind and "changed over" not in kind]
    for kind in kinds * 3:
        planted = MISTAKES[kind](rng)
        if planted is None or not planted.is_visible:
            continue
        order = [mirrored(each) for each in planted.order]
        straight = survey_suspects(planted.order, FIGURES)[planted.index]
        turned = survey_suspects(order, FIGURES)[planted.index]
        opening = planted.order[planted.index]
        expected = {
            (reason, mirrored_field(field, opening), values) for reason, field, values in told(straight)
        }
        assert told(turned) == expected, kind


def test_the_order_of_the_openings_does_not_matter() -> None:
    """Suspects belong to their opening, wherever it stands in the order."""
    rng = Random(32)
    for kind in MISTAKES:
        planted = MISTAKES[kind](rng)
        if planted is None:
            continue
        straight = survey_suspects(planted.order, FIGURES)
        turned = survey_suspects(planted.order[::-1], FIGURES)
        assert [told(each) for each in straight] == [told(each) for each in turned[::-1]], kind


def test_putting_the_first_candidate_right_ends_the_suspicion() -> None:
    """A correction clears what it was named for and makes no new suspect elsewhere in the opening."""
    rng, tried = Random(33), 0
    for kind in [each for each in MISTAKES if "one reading of three" in each] * 25:
        planted = MISTAKES[kind](rng)
        if planted is None or not planted.is_visible:
            continue
        suspects = survey_suspects(planted.order, FIGURES)[planted.index]
        if len(suspects) != 1:
            continue
        opening = planted.order[planted.index]
        group, _, place = suspects[0].field.partition("/")
        readings = list(getattr(opening, f"{group}_mm"))
        readings[int(place)] = suspects[0].candidates_mm[0]
        repaired = opening._replace(
            **{f"{group}_mm": tuple(readings)}, frame_width_mm=None, frame_height_mm=None
        )
        order = [*planted.order]
        order[planted.index] = repaired
        tried += 1
        assert survey_suspects(order, FIGURES)[planted.index] == (), kind
    assert tried > 40


@pytest.mark.slow
def test_mistakes_that_can_be_seen_are_found_and_true_surveys_left_alone() -> None:
    """95 in a hundred found at the right place, 90 with the right value first, 5 in a thousand suspected.

    The lower end of the interval for the found, the upper end for the suspected, so that chance does not
    decide; service/sawready/calc/forensics/README.md has the table by kind.
    """
    rng, count = Random(34), Count()
    for kind, plant in MISTAKES.items():
        seen = count.seen
        while count.seen < seen + 60:
            planted = plant(rng)
            if planted is not None:
                count.add(planted, survey_suspects(planted.order, FIGURES)[planted.index])
        assert count.seen == seen + 60, kind
    assert wilson(count.found, count.seen)[0] > 0.95
    assert wilson(count.first, count.seen)[0] > 0.90
    suspected = surveyed = 0
    for make in ODD.values():
        for _ in range(120):
            for suspects in survey_suspects(make(rng), FIGURES):
                surveyed += 1
                suspected += bool(suspects)
    assert wilson(suspected, surveyed)[1] < 0.005


def test_intervals_are_wilsons() -> None:
    """Against scipy.stats.binomtest(...).proportion_ci(method="wilson"), version 1.17."""
    assert wilson(8, 10) == pytest.approx((0.4901624715, 0.9433178485), abs=1e-8)
    assert wilson(0, 450) == pytest.approx((0.0, 0.0084643189), abs=1e-8)
