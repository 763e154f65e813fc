"""The first look at an order spares the weighing only orders of which the weighing finds nothing."""

from random import Random
from typing import Any

import pytest

from sawready.calc.forensics import SurveyedOpening
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.rules import suspicion
from sawready.rules.suspicion_quick import are_plainly_sound
from survey_generator import ALIKE, MISTAKES, ODD

CATALOGUE = Catalogue.load_builtin()


def as_order(openings: list[SurveyedOpening]) -> dict[str, Any]:
    """The openings as an order in millimetres, as JSON has it."""
    return {
        "order_ref": "Q-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [as_opening(number, each) for number, each in enumerate(openings)],
    }


def as_opening(number: int, opening: SurveyedOpening) -> dict[str, Any]:
    """One opening as JSON has it; lengths as text, so that none loses a digit."""

    def text(value: float | None) -> str | None:
        return None if value is None else repr(value)

    found: dict[str, Any] = {
        "opening_ref": f"W{number}",
        "widths": [text(each) for each in opening.widths_mm],
        "heights": [text(each) for each in opening.heights_mm],
        "diagonals": [text(each) for each in opening.diagonals_mm],
        "slope": "head" if opening.is_head_sloping else "jambs",
        "measured_to": opening.measured_to,
        "layout": "fixed",
        "colour": {"outside": "white", "inside": "white"},
        "glazing": {"unit": "4-20-4"},
        "inside": {"width": text(opening.inside_width_mm), "height": text(opening.inside_height_mm)},
        "extenders": {"left": text(opening.width_extenders_mm), "top": text(opening.height_extenders_mm)},
        "to_come": {"left": text(opening.width_to_come_mm), "top": text(opening.height_to_come_mm)},
    }
    if opening.frame_width_mm is not None or opening.frame_height_mm is not None:
        found["frame"] = {
            "width": text(opening.frame_width_mm),
            "height": text(opening.frame_height_mm),
            "height_includes_sill": opening.height_includes_sill,
        }
    if opening.sill_upstand_mm:
        found["sill"] = {"projection": "150", "fit": "between_reveals"}
    return found


def orders(count: int) -> list[list[SurveyedOpening]]:
    """True orders, odd ones, and orders with a mistake planted; as many of each kind."""
    rng = Random(20261125)
    found: list[list[SurveyedOpening]] = []
    for make in (*ODD.values(), *ALIKE.values()):
        found += [make(rng) for _ in range(count)]
    for plant in MISTAKES.values():
        planted = (plant(rng) for _ in range(count))
        found += [each.order for each in planted if each is not None]
    return found


def test_what_the_first_look_lets_pass_the_weighing_would(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways give the same findings; the quick way is taken often enough for this to mean something."""
    taken = 0

    def look(*args: Any) -> bool:
        nonlocal taken
        is_sound = are_plainly_sound(*args)
        taken += is_sound
        return is_sound

    every = [as_order(each) for each in orders(12)]
    monkeypatch.setattr(suspicion, "are_plainly_sound", look)
    quick = [check_order(each, catalogue=CATALOGUE) for each in every]
    monkeypatch.setattr(suspicion, "are_plainly_sound", lambda *_: False)
    long = [check_order(each, catalogue=CATALOGUE) for each in every]
    for one, other in zip(quick, long, strict=True):
        assert [each.findings for each in one.openings] == [each.findings for each in other.openings]
    assert taken > len(every) / 10


def test_a_cause_takes_the_place_of_a_length_outside_its_range() -> None:
    """8107 is no size at all: digits swapped is told alone, as a rejection."""
    order = as_order([SurveyedOpening((8107.0, 1809.0, 1808.0), (1200.0, 1201.0, 1199.0))])
    (opening,) = check_order(order, catalogue=CATALOGUE).openings
    (found,) = [each for each in opening.findings if "/widths" in each.at]
    assert (found.reason, found.severity, found.at) == (
        "reading-digits-swapped",
        "reject",
        "/openings/0/widths/0",
    )
    assert found.candidates == (1807.0,)
    assert opening.decision == "rejected"
