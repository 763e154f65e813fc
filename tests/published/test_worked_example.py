"""A window worked out by hand, to the tenth of a millimetre.

The figures follow from the project's page on geometry (its worked example): aperture 1812/1808/1810 by
1262/1260/1261, 5 mm of gap all round, a sill of 30 mm with horns of 50, a side-hung light hinged left
beside a fixed one, in the system demo70 (frame 62, rebate 20, mullion 76 that runs 18 past each sight line,
sash 72 that laps 8, welds 3, glass clearance 5, square beads 20 high). Every sum is written beside its
figure, so that it can be followed with a phone.
"""

from typing import Any

import pytest

from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.as_json import result_dict

OPENING = {
    "opening_ref": "W1",
    "widths": [1812, 1808, 1810],
    "heights": [1262, 1260, 1261],
    "gap": {"left": 5, "right": 5, "top": 5, "bottom": 5},
    "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50},
    "layout": "side-hung left | fixed",
    "colour": {"outside": "white"},
    "glazing": {"unit": "4-20-4"},
}


@pytest.fixture(scope="module")
def told(catalogue: Catalogue) -> dict[str, Any]:
    order = {
        "order_ref": "E-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [OPENING],
    }
    opening: dict[str, Any] = result_dict(check_order(order, catalogue=catalogue))["openings"][0]
    return opening


def _lengths(rows: list[dict[str, Any]]) -> list[tuple[str, float, str]]:
    return [(row["part"], row["length_mm"], row["ends"]) for row in rows]


def test_it_is_accepted_without_a_finding(told: dict[str, Any]) -> None:
    assert (told["decision"], told["findings"]) == ("accepted", [])


def test_frame_and_clearance(told: dict[str, Any]) -> None:
    assert told["frame"]["width_mm"] == 1798.0  # 1808 - 10
    assert told["frame"]["height_mm"] == 1220.0  # 1260 - 10 - 30
    assert told["clearance"] == {"left_mm": 5.0, "right_mm": 5.0, "top_mm": 5.0, "bottom_mm": 5.0}


def test_sill(told: dict[str, Any]) -> None:
    assert told["sill"] == {"profile": "sill-150", "length_mm": 1910.0}  # 1810, the bottom reading, + 100


def test_lights(told: dict[str, Any]) -> None:
    opening, fixed = told["lights"]
    assert opening["daylight_mm"] == fixed["daylight_mm"] == [799.0, 1096.0]  # (1674 - 76) / 2 by 1220 - 124
    assert (opening["light"], opening["hinge"]) == ("side-hung", "left")
    assert opening["sash_mm"] == [815.0, 1112.0]  # 8 past the sight line on each side
    assert opening["glass_mm"] == [701, 998]  # 815 - 144 + 40 - 10 by 1112 - 144 + 40 - 10
    assert (fixed["light"], fixed["hinge"], fixed["sash_mm"]) == ("fixed", None, None)
    assert fixed["glass_mm"] == [829, 1126]  # 799 + 40 - 10 by 1096 + 40 - 10


def test_pieces(told: dict[str, Any]) -> None:
    assert _lengths(told["pieces"]) == [
        ("frame-head", 1804.0, "45/45"),  # 1798 + 2 x 3
        ("reinforcement", 1698.0, "90/90"),  # 1798 - 2 x 50, for 1798 is 1500 or more
        ("frame-bottom", 1804.0, "45/45"),
        ("reinforcement", 1698.0, "90/90"),
        ("frame-left", 1226.0, "45/45"),  # 1220 + 2 x 3, and 1220 is below 1500
        ("frame-right", 1226.0, "45/45"),
        ("mullion", 1132.0, "90/90"),  # 1096 + 2 x 18
        ("reinforcement", 1092.0, "90/90"),  # 1132 - 2 x 20
        ("sash-top", 821.0, "45/45"),  # 815 + 2 x 3, and 815 is below 900
        ("sash-bottom", 821.0, "45/45"),
        ("sash-left", 1118.0, "45/45"),  # 1112 + 2 x 3
        ("reinforcement", 1012.0, "90/90"),  # 1112 - 2 x 50
        ("sash-right", 1118.0, "45/45"),
        ("reinforcement", 1012.0, "90/90"),
        ("sill", 1910.0, "90/90"),
    ]


def test_beads(told: dict[str, Any]) -> None:
    assert _lengths(told["beads"]) == [
        ("bead-top", 711.0, "90/90"),  # 671 + 2 x 20
        ("bead-bottom", 711.0, "90/90"),
        ("bead-left", 968.0, "90/90"),  # 968 + 2 x 20 - 2 x 20: between the level ones
        ("bead-right", 968.0, "90/90"),
        ("bead-top", 839.0, "90/90"),
        ("bead-bottom", 839.0, "90/90"),
        ("bead-left", 1096.0, "90/90"),
        ("bead-right", 1096.0, "90/90"),
    ]


def test_masses(told: dict[str, Any]) -> None:
    opening, fixed = told["lights"]
    assert opening["glass_kg"] == 13.99  # 0.701 x 0.998 x 8 x 2.5
    assert fixed["glass_kg"] == 18.67  # 0.829 x 1.126 x 8 x 2.5
    # 13.992 glass + 3.854 x 1.30 sash + 2.024 x 1.10 steel + 3.358 x 0.20 beads + 1.8 hardware
    assert opening["sash_kg"] == 23.7
    assert fixed["sash_kg"] is None


def test_fixing_holes(told: dict[str, Any]) -> None:
    jamb = [150.0, 610.0, 1070.0]
    head = [150.0, 649.3, 1148.7, 1648.0]  # 1498 in three; the mullion at 899 is clear of them by 249.7
    assert told["fixings"] == {"left": jamb, "right": jamb, "top": head, "bottom": head}


def test_each_sum_is_shown(told: dict[str, Any]) -> None:
    assert told["frame"]["working"] == {
        "width": "1808 (least of 1812, 1808, 1810) - 5 - 5",
        "height": "1260 (least of 1262, 1260, 1261) - 5 - 5 - 30 (sill)",
    }
    workings = {piece["part"]: piece["working"] for piece in (*told["pieces"], *told["beads"])}
    assert workings["frame-head"] == "1798 + 2 x 3"
    assert workings["mullion"] == "1096 + 2 x 18"
    assert workings["sill"] == "1810 (bottom reading) + 50 + 50"
    assert workings["bead-left"] == "1096 + 2 x 20 - 2 x 20"
