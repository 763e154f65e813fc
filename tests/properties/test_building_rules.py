"""Laws of the building rules over odd orders: nothing falls over, and better is never judged worse."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sawready.catalogue.load import Catalogue
from sawready.model.finding import WEIGHT
from sawready.pipeline import OpeningResult, check_order
from sawready.report.as_json import result_bytes

CATALOGUE = Catalogue.load_builtin()
LAYOUTS = (
    "fixed",
    "fixed | fixed",
    "side-hung left | fixed | side-hung right",
    "(top-hung / fixed) | side-hung right",
    "fixed / fixed | fixed",
    "top-hung /@100 fixed",
    "fixed |@50 fixed |@60 fixed",
    "tilt-turn left | (bottom-hung / fixed | fixed)",
    "(fixed |@300 fixed) / fixed",
    " | ".join(["fixed"] * 8),
)
UNITS = ("4-20-4", "6", "25-6-3", "6.8-14-4", "4-12-4-12-4", "3-24-25", "4.2-16-4", "single 24")
SIZES = st.sampled_from([150, 160, 200, 300, 600, 1200, 1800, 2400, 4000, 6000])


def perhaps(**fields: Any) -> st.SearchStrategy[dict[str, Any]]:
    """Any of some fields, each of them stated or not."""
    return st.fixed_dictionaries(
        {}, optional={name: st.sampled_from(values) for name, values in fields.items()}
    )


@st.composite
def odd_orders(draw: st.DrawFn) -> dict[str, Any]:
    """Orders of every shape that a schema lets through, sound or not."""
    openings = []
    for number in range(draw(st.integers(1, 3))):
        glazing = {"unit": draw(st.sampled_from(UNITS))} | draw(
            perhaps(
                safety=["none", "toughened", "laminated"],
                u_g=[0.1, 1.0, 7],
                gas=["air", "argon", "krypton"],
                emissivity=[0.01, 0.9],
                impact_class=[1, 2, 3],
            )
        )
        openings.append(
            {
                "opening_ref": f"W{number}",
                "widths": [draw(SIZES)],
                "heights": [draw(SIZES)],
                "layout": draw(st.sampled_from(LAYOUTS)),
                "colour": {"outside": draw(st.sampled_from(["white", "oak"]))},
                "glazing": glazing,
            }
            | draw(
                perhaps(
                    room=["kitchen", "shop", "WC", "bedroom 1"],
                    storey=[-1, 0, 1, 5],
                    floor_to_sill=[0, 300, 738, 900, 3000],
                    vent_mm2=[0, 4000, 8000],
                    old_vent_mm2=[0, 4000],
                    escape=[True, False],
                    design_wind_pa=[0, 0.001, 800, 10000],
                    element=["window", "door", "side_panel"],
                    energy_band=["A", "G"],
                    door_beside=[{"left": 0}, {"right": 300}, {"left": 5000, "right": 10}],
                    quantity=[0, 1, 3, "x"],
                    extenders=[{"left": 150, "right": 150}, {"top": 3000}, {"left": 25}],
                    gap=[{"left": 0, "right": 0}, {"left": 30, "right": 30}],
                    frame=[{"width": 150}, {"width": 6000}, {"height": 30, "height_includes_sill": True}],
                )
            )
        )
    order = {
        "order_ref": "X",
        "system": draw(st.sampled_from(CATALOGUE.systems)),
        "rulebook": draw(st.sampled_from(CATALOGUE.rulebooks)),
        "units": "mm",
        "viewed_from": draw(st.sampled_from(["inside", "outside"])),
        "openings": openings,
    }
    site = draw(
        perhaps(
            basic_wind_m_s=[5, 22, 80],
            terrain=["0", "I", "IV"],
            height_m=[0.1, 9, 200],
            altitude_m=[0, 2000],
        )
    )
    return order | {"site": site} | draw(perhaps(survey=[{"date": "2001-01-01"}, {"date": "2028-01-01"}]))


@settings(max_examples=300, deadline=None)
@given(odd_orders())
def test_an_odd_order_gets_an_answer_and_no_exception(order: dict[str, Any]) -> None:
    result = check_order(order, catalogue=CATALOGUE)
    assert result_bytes(result) == result_bytes(check_order(order, catalogue=CATALOGUE))
    for opening in result.openings:
        for finding in opening.findings:
            assert finding.message
            assert finding.remedy
            assert finding.source
            assert "{" not in finding.message + finding.remedy


def judged(change: dict[str, Any]) -> OpeningResult:
    opening = {
        "opening_ref": "W1",
        "widths": [1810],
        "heights": [1510],
        "layout": "side-hung left | fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    order = {
        "order_ref": "X",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [opening | change],
    }
    (result,) = check_order(order, catalogue=CATALOGUE).openings
    return result


def weight(reason: str, change: dict[str, Any]) -> int:
    """How gravely a reason is found, -1 where it is not."""
    return max(
        (WEIGHT[each.severity] for each in judged(change).findings if each.reason == reason), default=-1
    )


@pytest.mark.parametrize("reason", ["mullion-too-flexible", "glass-too-thin"])
@given(low=st.integers(0, 10_000), high=st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_more_wind_is_never_judged_milder(reason: str, low: int, high: int) -> None:
    low, high = sorted((low, high))
    assert weight(reason, {"design_wind_pa": low}) <= weight(reason, {"design_wind_pa": high})


@given(low=st.integers(100, 7000), high=st.integers(100, 7000))
@settings(max_examples=60, deadline=None)
def test_glass_that_loses_more_is_never_judged_milder(low: int, high: int) -> None:
    low, high = sorted((low, high))
    one, other = ({"glazing": {"unit": "4-20-4", "u_g": each / 1000}} for each in (low, high))
    assert weight("u-value-too-high", one) <= weight("u-value-too-high", other)


@given(floor=st.integers(0, 3000), other=st.integers(0, 3000))
@settings(max_examples=60, deadline=None)
def test_a_higher_window_is_never_judged_more_critical(floor: int, other: int) -> None:
    low, high = sorted((floor, other))
    for reason in ("safety-glass-needed", "guarding-to-check"):
        one, two = ({"storey": 1, "floor_to_sill": each} for each in (low, high))
        assert weight(reason, one) >= weight(reason, two)


@given(vents=st.lists(st.integers(0, 9000), min_size=1, max_size=4), quantity=st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_the_openings_of_a_room_count_together_in_any_order(vents: list[int], quantity: int) -> None:
    base = {
        "widths": [1210],
        "heights": [1210],
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
        "room": "lounge",
        "quantity": quantity,
    }
    found = []
    for order_of_vents in (vents, vents[::-1]):
        order = {
            "order_ref": "X",
            "system": "demo70",
            "rulebook": "england",
            "units": "mm",
            "viewed_from": "outside",
            "openings": [
                {**base, "opening_ref": f"W{number}", "vent_mm2": each}
                for number, each in enumerate(order_of_vents)
            ],
        }
        result = check_order(order, catalogue=CATALOGUE)
        found.append(
            [
                finding.measured
                for opening in result.openings
                for finding in opening.findings
                if finding.reason == "ventilation-too-small"
            ]
        )
    assert found[0] == found[1]
    assert bool(found[0]) is (sum(vents) * quantity < 8000)
