"""Which fields lean on a mullion and which bars end on it, held against a count of small squares."""

import math
from collections.abc import Sequence

import pytest

from sawready.calc import bar_frames
from sawready.calc.bar_frames import BarLoad, bar_loads_per_pa, bar_response, bars_of
from sawready.calc.plan import Plan, compile_plan
from sawready.catalogue.load import Catalogue
from sawready.layouts import read_layout

MM = 1_000_000
END = 18
"""How far a mullion of demo70 runs past its sight lines. [mm]"""
STEP_MM = 4.0


def plan_of(text: str, *, system: str = "demo70") -> Plan:
    found = Catalogue.load_builtin().system(system)
    assert found is not None
    layout = read_layout(text, lambda place: int(place) * MM)
    return compile_plan(layout, found, colour_class="white", bead=None)


def loads(text: str, *, width_mm: int = 1798, height_mm: int = 1220) -> tuple[Plan, list[int], list[BarLoad]]:
    plan = plan_of(text)
    values = plan.values(width_nm=width_mm * MM, height_nm=height_mm * MM)
    return plan, values, bar_loads_per_pa(plan, values)


Rectangle = tuple[float, float, float, float]
"""Start and end along the bar, near and far line across it. [mm]"""


def counted(span_mm: float, fields: Sequence[Rectangle], points: Sequence[tuple[float, float]] = ()) -> float:
    """Greatest deflection times E I for 1 Pa: every small square of a field goes to its nearest edge.

    The 45 degree lines from the corners of a field are where two edges are equally near, so this is the
    same load by another way. Deflection by the unit load method over the same small steps.
    """
    forces: list[tuple[float, float]] = list(points)
    for start, end, near, far in fields:
        for along in range(round((end - start) / STEP_MM)):
            x = start + (along + 0.5) * STEP_MM
            for across in range(round((far - near) / STEP_MM)):
                y = near + (across + 0.5) * STEP_MM
                if y - near < min(far - y, x - start, end - x):
                    forces.append((x, STEP_MM * STEP_MM * 1e-6))
    places = [(number + 0.5) * STEP_MM for number in range(round(span_mm / STEP_MM))]
    start_n = sum(force * (1 - x / span_mm) for x, force in forces)
    by_place = sorted(forces)
    moments, taken, number = [], 0.0, 0
    lever = 0.0
    for place in places:
        while number < len(by_place) and by_place[number][0] <= place:
            taken += by_place[number][1]
            lever += by_place[number][1] * by_place[number][0]
            number += 1
        moments.append(start_n * place - (taken * place - lever))
    return max(
        math.fsum(
            moment * (x * (1 - at / span_mm) if x < at else at * (1 - x / span_mm)) * STEP_MM
            for x, moment in zip(places, moments, strict=True)
        )
        for at in places[len(places) // 4 : 3 * len(places) // 4 : 8]
    )


def test_one_mullion_between_two_fields() -> None:
    """Frame 1798 x 1220, daylight from 62 to 1736 and 1158: the mullion stands at 899, 1096 long and 36 more."""
    _, _, (load,) = loads("fixed | fixed")
    assert load.is_exact
    assert load.span_mm == pytest.approx(1132)
    field = (0.0, 1132.0, 0.0, 899.0 - 62)
    assert load.deflection_n_mm3 == pytest.approx(counted(1132, [field, field]), rel=0.01)
    ramp = (899 - 62) / 2
    assert sum(load.reactions_n) == pytest.approx(2 * 1e-6 * ramp * (1132 - ramp))
    assert load.reactions_n[0] == pytest.approx(load.reactions_n[1])


def test_a_field_between_two_mullions_reaches_to_the_middle_of_the_next() -> None:
    plan, values, (first, second) = loads("fixed | fixed | fixed")
    one, other = (values[divider.centre] / plan.denominator / MM for divider in plan.dividers)
    fields = [(0.0, 1132.0, 0.0, one - 62), (0.0, 1132.0, 0.0, other - one)]
    assert first.deflection_n_mm3 == pytest.approx(counted(1132, fields), rel=0.01)
    assert second.deflection_n_mm3 == pytest.approx(first.deflection_n_mm3)


def test_a_transom_that_ends_on_a_mullion_loads_it_in_one_point() -> None:
    plan, values, (mullion, transom) = loads("(fixed / fixed) | fixed")
    assert not mullion.is_exact
    assert transom.is_exact
    centre = values[plan.dividers[1].centre] / plan.denominator / MM - 62 + END
    fields = [
        (0.0, centre, 0.0, 837.0),
        (centre, 1132.0, 0.0, 837.0),
        (0.0, 1132.0, 0.0, 837.0),
    ]
    exact = bar_response(plan, values, 0)
    expected = counted(1132, fields, [(centre, transom.reactions_n[1])])
    assert exact.deflection_n_mm3 == pytest.approx(expected, rel=0.01)
    assert exact.reactions_n == pytest.approx(mullion.reactions_n)
    assert exact.deflection_n_mm3 <= mullion.deflection_n_mm3 <= 1.3 * exact.deflection_n_mm3


def test_the_lines_of_a_bar_name_its_neighbours() -> None:
    plan = plan_of("(fixed / fixed | fixed) | fixed")
    values = plan.values(width_nm=1798 * MM, height_nm=1220 * MM)
    mullion, transom, short = bars_of(plan, values)
    assert bars_of(plan, values) is bars_of(plan, [])
    assert [ending.bar for ending in mullion.endings] == [1]
    assert [ending.bar for ending in transom.endings] == [2]
    assert not short.endings
    assert [strip.far for strip in mullion.strips][-1] == plan.lights[-1].x[1]
    # Below the transom only the field beside the mullion leans on it, out to the middle of the short one.
    assert mullion.strips[1].far == plan.dividers[2].centre


@pytest.mark.parametrize(
    "text",
    [
        "fixed | fixed",
        "top-hung / fixed",
        "fixed | fixed | fixed",
        "(top-hung / fixed) | side-hung left",
        "side-hung left | (top-hung / fixed)",
        "top-hung | top-hung / fixed | fixed",
        "fixed / fixed | fixed",
        "(fixed | fixed / fixed) | (fixed / fixed | fixed)",
        "(fixed / (fixed | fixed)) | fixed | (fixed / fixed)",
    ],
)
@pytest.mark.parametrize("size", [(1798, 1220), (2600, 1200), (1100, 2200)])
def test_the_quick_answer_is_never_below_the_exact_one(text: str, size: tuple[int, int]) -> None:
    plan, values, found = loads(text, width_mm=size[0], height_mm=size[1])
    for number, load in enumerate(found):
        exact = bar_response(plan, values, number)
        assert load.deflection_n_mm3 >= exact.deflection_n_mm3 * (1 - 1e-9)
        assert load.reactions_n == pytest.approx(exact.reactions_n)
        if load.is_exact:
            assert load.deflection_n_mm3 == pytest.approx(exact.deflection_n_mm3)


def test_no_more_plans_are_kept_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bar_frames, "_MOST_KNOWN", 0)
    plan = plan_of("fixed | fixed")
    values = plan.values(width_nm=1798 * MM, height_nm=1220 * MM)
    assert bars_of(plan, values) == bars_of(plan, values)
    assert bars_of(plan, values) is not bars_of(plan, values)
