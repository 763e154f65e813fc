"""Compiled plans: the same lengths as worked out one by one, whatever the size, and every sum in words."""

import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from independent.runner import THIRD_SYSTEM
from sawready.calc.plan import NM, Plan, compile_plan
from sawready.catalogue.load import Catalogue, read_system
from sawready.catalogue.profiles import ProfileSystem
from sawready.layouts import read_layout
from sawready.model.layout import Layout

MM = 1_000_000


@pytest.fixture(scope="module")
def demo70(catalogue: Catalogue) -> ProfileSystem:
    system = catalogue.system("demo70")
    assert system is not None
    return system


@pytest.fixture(scope="module")
def odd61() -> ProfileSystem:
    return read_system(THIRD_SYSTEM, name="third")


def read(text: str) -> Layout:
    return read_layout(text, lambda value: round(Fraction(value) * MM))


def plan_of(text: str, system: ProfileSystem, **more: Any) -> Plan:
    given = {"colour_class": "white", "bead": system.beads[0], **more}
    return compile_plan(read(text), system, **given)


def in_mm(plan: Plan, values: list[int], ref: int) -> Fraction:
    return Fraction(values[ref], plan.denominator * NM)


def _words(plan: Plan, values: list[int], working: tuple[str | int, ...]) -> str:
    return "".join(
        part if isinstance(part, str) else f"{float(in_mm(plan, values, part)):g}" for part in working
    )


def test_pieces_come_in_the_published_order(demo70: ProfileSystem) -> None:
    plan = plan_of("side-hung left | fixed / top-hung", demo70)
    parts = [(member.part, member.light) for member in plan.members]
    assert parts == [
        *((f"frame-{side}", None) for side in ("head", "bottom", "left", "right")),
        ("transom", None),
        ("mullion", None),
        *((f"sash-{side}", 0) for side in ("top", "bottom", "left", "right")),
        *((f"sash-{side}", 2) for side in ("top", "bottom", "left", "right")),
    ]
    assert [light.members for light in plan.lights] == [(6, 7, 8, 9), (), (10, 11, 12, 13)]


@pytest.mark.parametrize(
    "text", ["fixed", "fixed | fixed | fixed", "(top-hung / fixed) | side-hung left / fixed |@700 fixed"]
)
def test_every_sum_in_words_gives_its_length(odd61: ProfileSystem, text: str) -> None:
    """The words are read back as a sum; odd figures must not lose a digit in them."""
    plan = plan_of(text, odd61, bead=odd61.beads[2])
    rng = random.Random(5)
    for _ in range(20):
        width, height = rng.randrange(900 * NM, 2800 * NM, NM), rng.randrange(700 * NM, 2300 * NM, NM)
        values = plan.values(width_nm=width, height_nm=height, places_nm=[place.nm for place in plan.places])
        rows = [(member.cut, member.working) for member in plan.members]
        rows += [(member.steel.cut, member.steel.working) for member in plan.members if member.steel]
        rows += [(bead.cut, bead.working) for light in plan.lights for bead in light.beads]
        for cut, working in rows:
            terms = [str(in_mm(plan, values, part)) if isinstance(part, int) else part for part in working]
            told = _sum(terms)
            assert told == in_mm(plan, values, cut)


def _sum(terms: list[str]) -> Fraction:
    """Value of a sum such as ``671 + 2 x 20 - 2 x 20``."""
    total, sign = Fraction(0), 1
    tokens = " ".join(terms).split()
    place = 0
    while place < len(tokens):
        if tokens[place] in "+-":
            sign = 1 if tokens[place] == "+" else -1
            place += 1
            continue
        value = Fraction(tokens[place])
        if place + 1 < len(tokens) and tokens[place + 1] == "x":
            value *= Fraction(tokens[place + 2])
            place += 2
        total += sign * value
        sign, place = 1, place + 1
    return total


def test_a_sum_leaves_out_what_is_nought(demo70: ProfileSystem) -> None:
    system = replace(demo70, frame=replace(demo70.frame, weld_allowance_mm=Fraction(0)))
    plan = plan_of("fixed", system)
    values = plan.values(width_nm=1798 * NM, height_nm=1220 * NM)
    assert _words(plan, values, plan.members[0].working) == "1798"


def test_a_bead_allowance_reads_with_its_sign(demo70: ProfileSystem) -> None:
    for allowance, ending in (("0.5", " + 0.5"), ("-0.4", " - 0.4"), ("0", "")):
        bead = replace(demo70.beads[0], joint="mitred", allowance_mm=Fraction(allowance))
        plan = plan_of("fixed", demo70, bead=bead)
        values = plan.values(width_nm=1798 * NM, height_nm=1220 * NM)
        top = plan.lights[0].beads[0]
        assert _words(plan, values, top.working) == f"1674 + 2 x 20{ending}"
        assert in_mm(plan, values, top.cut) == 1714 + Fraction(allowance)
        assert top.ends == "45/45"


def test_unlike_rebates_are_both_named(catalogue: Catalogue) -> None:
    system = catalogue.system("demo82-inward")
    assert system is not None
    plan = plan_of("fixed / fixed", system)
    values = plan.values(width_nm=1798 * NM, height_nm=1220 * NM)
    left = plan.lights[0].beads[2]
    assert _words(plan, values, left.working) == "504 + 24 + 23 + 0.5"


def test_without_a_bead_there_are_none(demo70: ProfileSystem) -> None:
    plan = plan_of("fixed | side-hung left", demo70, bead=None)
    assert [light.beads for light in plan.lights] == [(), ()]
    assert [light.bead_kg_m for light in plan.lights] == [0.0, 0.0]


def test_the_steel_of_a_member_begins_where_its_colour_class_says(demo70: ProfileSystem) -> None:
    for colour_class, from_mm in (("white", 1500), ("coloured", 900)):
        steel = plan_of("fixed", demo70, colour_class=colour_class).members[0].steel
        assert steel is not None
        assert steel.from_nm == from_mm * NM


def test_a_member_without_reinforcement_has_no_steel(odd61: ProfileSystem) -> None:
    assert plan_of("fixed / fixed", odd61).members[4].steel is None


def test_a_system_without_a_sash_cannot_be_made_to_open(demo70: ProfileSystem) -> None:
    with pytest.raises(ValueError, match="demo70 has no sash"):
        plan_of("side-hung left", replace(demo70, sash=None))


def test_the_visible_glass_of_a_sash_lies_inside_the_daylight(demo70: ProfileSystem) -> None:
    plan = plan_of("fixed | side-hung left", demo70)
    values = plan.values(width_nm=1798 * NM, height_nm=1220 * NM)
    visible = [[float(in_mm(plan, values, ref)) for ref in light.glass_y] for light in plan.lights]
    assert visible == [[62, 1158], [126, 1094]]


def test_dividers_that_meet_the_frame_are_marked_by_side(demo70: ProfileSystem) -> None:
    plan = plan_of("(fixed / fixed) | fixed", demo70)
    left, right, top, bottom = plan.marks
    values = plan.values(width_nm=1798 * NM, height_nm=1220 * NM)
    assert [float(in_mm(plan, values, ref)) for ref in left] == [610]
    assert right == ()
    assert [float(in_mm(plan, values, ref)) for ref in top] == [899]
    assert top == bottom


def test_equal_forms_are_worked_out_once(demo70: ProfileSystem) -> None:
    plan = plan_of("fixed | fixed", demo70)
    assert len({member.cut for member in plan.members[:2]}) == 1
    assert plan.lights[0].daylight == plan.lights[1].daylight
    assert len(plan.constants) < 40
