"""From an opening to its sizes: what is worked out, and which missing fact stops what."""

from fractions import Fraction
from typing import Any

import pytest

from sawready.catalogue.load import Catalogue
from sawready.normalise import CallerDefaults, read_order
from sawready.pipeline import _not_worked_out, check_order
from sawready.sizing import Sized, nearest_sill, serving_bead
from strategies import order_of

MM = 1_000_000


def _opening(**more: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "widths": [1810],
        "heights": [1260],
        "layout": "side-hung left | fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
        "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50},
        "set_back": 30,
        "floor_to_sill": 1050,
        "diagonals": [2206, 2206],
    }
    return {**base, **more}


@pytest.fixture
def sized(catalogue: Catalogue) -> Any:
    def size(opening: dict[str, Any], **head: Any) -> Sized:
        return check_order(order_of(opening, **head), catalogue=catalogue).openings[0].sized

    return size


def test_with_every_fact_everything_is_worked_out(sized: Any) -> None:
    found = sized(_opening())
    assert found.index == 0
    assert found.width is not None
    assert found.height is not None
    assert (found.width.size_nm, found.height.size_nm) == (1800 * MM, 1220 * MM)
    assert found.plan is not None
    assert found.fixings is not None
    assert (len(found.glazed), found.sill_length_nm) == (2, 1910 * MM)
    assert {"widths", "width", "height", "plan", "lights", "glass", "sill", "set_back"}.isdisjoint(
        found.missing
    )


@pytest.mark.parametrize(
    ("change", "head", "lacks", "because"),
    [
        (
            {},
            {"system": "x"},
            {"system", "width", "height", "plan", "lights", "sill_profile"},
            "the profile system is not known",
        ),
        (
            {},
            {"rulebook": "x"},
            {"rulebook", "width", "height", "plan", "lights", "diagonals"},
            "the rulebook is not known",
        ),
        (
            {"widths": ["x"]},
            {},
            {"widths", "width", "plan", "lights", "diagonals"},
            "a width could not be read",
        ),
        ({"widths": None}, {}, {"widths", "width", "plan", "lights", "diagonals"}, "there is no width"),
        (
            {"heights": [1260, "x"]},
            {},
            {"heights", "height", "plan", "lights", "diagonals"},
            "a height could not be read",
        ),
        ({"heights": None}, {}, {"heights", "height", "plan"}, "there is no height"),
        ({"layout": "x"}, {}, {"layout", "plan", "lights"}, "no readable layout"),
        ({"layout": None}, {}, {"layout", "plan", "lights"}, "no readable layout"),
        ({"glazing": {"unit": "x"}}, {}, {"glass"}, "no readable glass unit"),
        ({"glazing": None}, {}, {"glass"}, "no readable glass unit"),
        ({"colour": None}, {}, {"width", "height", "plan"}, "no readable colour"),
        ({"gap": {"left": "x"}}, {}, {"width", "height", "plan"}, "no readable gap"),
        (
            {"extenders": {"top": "x"}},
            {},
            {"width", "height"},
            "no readable extenders",
        ),
        ({"to_come": {"top": -1}}, {}, {"width", "height"}, "no readable finishes to come"),
        ({"slope": "x"}, {}, {"width", "height"}, "no readable slope"),
        (
            {"diagonals": [2206, "x"]},
            {},
            {"diagonals", "width", "height"},
            "no readable diagonals",
        ),
        ({"diagonals": None}, {}, {"diagonals"}, "no diagonals"),
        ({"diagonals": [2206, None]}, {}, {"diagonals"}, "only one diagonal"),
        ({"frame": {"width": "x"}}, {}, {"width", "plan"}, "no readable frame width"),
        (
            {"frame": {"height": 1220}},
            {},
            {"height", "plan"},
            "no readable word on whether the height includes the sill",
        ),
        ({"frame": "x"}, {}, {"width", "height"}, "no readable frame"),
        (
            {"sill": {"projection": 160, "fit": "between_reveals"}},
            {},
            {"sill_profile", "height"},
            "no sill profile of the system has this projection",
        ),
        (
            {"sill": {"projection": "x", "fit": "between_reveals"}},
            {},
            {"sill_profile", "height"},
            "the sill's projection is not known",
        ),
        ({"sill": "x"}, {}, {"sill", "sill_profile", "height"}, "no readable sill"),
        (
            {"sill": {"projection": 150, "fit": "x"}},
            {},
            {"sill"},
            "how the sill's ends meet the wall is not known",
        ),
        ({"set_back": None}, {}, {"set_back"}, "no set-back"),
        ({"set_back": "x"}, {}, {"set_back"}, "no readable set-back"),
        ({"floor_to_sill": None}, {}, {"floor_to_sill"}, "no height of the sill above the floor"),
        (
            {"layout": "fixed |@5000 fixed"},
            {},
            {"lights"},
            "a divider lies outside the field that it divides",
        ),
        (
            {"widths": [4600], "layout": "fixed | fixed", "diagonals": None},
            {},
            {"width", "plan"},
            "the rulebook's gap table ends below this width",
        ),
        (
            {"heights": [4600], "layout": "fixed / fixed", "diagonals": None},
            {},
            {"height", "plan"},
            "the rulebook's gap table ends below this height",
        ),
    ],
)
def test_a_missing_fact_is_named_with_what_waits_for_it(
    sized: Any, change: dict[str, Any], head: dict[str, Any], lacks: set[str], because: str
) -> None:
    found = sized(_opening(**change), **head)
    assert lacks <= set(found.missing)
    assert because in {found.missing[name] for name in lacks}
    assert all(found.missing[name] for name in lacks)


def test_what_an_opening_does_not_have_is_missing_in_silence(sized: Any) -> None:
    found = sized(_opening(sill=None, set_back=None))
    assert (found.missing["sill"], found.missing["sill_profile"], found.missing["surveyed_layout"]) == (
        "",
        "",
        "",
    )
    assert "set_back" not in found.missing


def test_past_the_gap_table_own_gaps_do(sized: Any) -> None:
    found = sized(
        _opening(widths=[4600], gap={"left": 11, "right": 11}, layout="fixed | fixed", diagonals=None)
    )
    assert found.width is not None
    assert found.width.size_nm == 4578 * MM


def test_one_own_gap_past_the_table_is_not_enough(sized: Any) -> None:
    assert sized(_opening(widths=[4600], gap={"left": 11}, layout="fixed", diagonals=None)).width is None


def test_a_frame_of_nothing_gets_no_holes_and_no_error(sized: Any) -> None:
    found = sized(
        _opening(
            widths=[150], extenders={"left": 50, "right": 50}, to_come={"left": 50}, sill=None, diagonals=None
        )
    )
    assert found.width is not None
    assert found.width.size_nm <= 0
    assert found.fixings is None


def test_the_last_bolt_names_what_was_not_worked_out(sized: Any) -> None:
    """No opening reaches it, as every lack has a finding by then; it is tried on openings taken apart."""
    whole = sized(_opening())
    assert _not_worked_out(whole) is None
    for name, value, lacks in (
        ("plan", None, "lights"),
        ("fixings", None, "lights"),
        ("glazed", [], "glass"),
        ("bead", None, "beads"),
        ("sill_length_nm", None, "sill"),
    ):
        found = sized(_opening())
        setattr(found, name, value)
        told = _not_worked_out(found)
        assert told is not None
        assert told[0] == lacks
    lacking = sized(_opening(quantity="x"))
    assert _not_worked_out(lacking) == ("opening", "it has no quantity or no reference")


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        (150, "sill-150"),
        (153, "sill-150"),
        (147, "sill-150"),
        (153.1, None),
        (84, "sill-85"),
        (228, "sill-225"),
        (1000, None),
    ],
)
def test_the_nearest_sill_within_3_mm(catalogue: Catalogue, asked: float, name: str | None) -> None:
    system = catalogue.system("demo70")
    assert system is not None
    found = nearest_sill(system, round(asked * MM))
    assert (found.name if found else None) == name


def test_the_nearest_bead_within_half_a_millimetre(catalogue: Catalogue) -> None:
    system = catalogue.system("demo70")
    assert system is not None
    for asked, name in (
        ("24.5", "bead-24"),
        ("24.6", "bead-25"),
        ("25.6", None),
        ("36.5", "bead-36"),
        ("36.6", None),
    ):
        found = serving_bead(system, Fraction(asked))
        assert (found.name if found else None) == name


def test_reading_and_sizing_leave_the_raw_order_as_it_was(catalogue: Catalogue) -> None:
    order = order_of(_opening(room=None), defaults={"room": "hall"})
    before = repr(order)
    check_order(order, catalogue=catalogue)
    read_order(order, catalogue=catalogue, caller=CallerDefaults(units="mm"))
    assert repr(order) == before
