"""An order that states every field once, for tests that change one thing at a time."""

from typing import Any


def full_order() -> dict[str, Any]:
    """An accepted order with every field of the contract; a fresh one at each call."""
    return {
        "order_ref": "F-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "number_style": "en",
        "viewed_from": "outside",
        "survey": {"date": "2026-11-02", "surveyor": "AB", "revision": 1},
        "defaults": {"colour": {"outside": "white", "inside": "white"}, "room": "kitchen"},
        "openings": [
            {
                "opening_ref": "W1",
                "quantity": 1,
                "storey": 0,
                "floor_to_sill": 1050,
                "measured_to": "brick",
                "widths": [1812, 1808, 1810],
                "heights": [1262, 1260, 1261],
                "diagonals": [2207, 2206],
                "slope": "jambs",
                "inside": {"width": 1790, "height": 1250},
                "to_come": {"left": 0, "right": 0, "top": 0, "bottom": 0},
                "frame": {"width": 1798, "height": 1220, "height_includes_sill": False},
                "gap": {"left": 5, "right": 5, "top": 5, "bottom": 5},
                "extenders": {"top": 0, "bottom": 0, "left": 0, "right": 0},
                "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50},
                "set_back": 30,
                "layout": {
                    "columns": [
                        {"light": "side-hung", "hinge": "left", "safety": "toughened"},
                        {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [500]},
                    ],
                    "at": [None],
                },
                "surveyed": {
                    "viewed_from": "inside",
                    "layout": {
                        "columns": [
                            {"rows": [{"light": "fixed"}, {"light": "fixed"}], "at": [500]},
                            {"light": "side-hung", "hinge": "right"},
                        ]
                    },
                },
                "glazing": {"unit": "4-20-4", "safety": "none", "u_g": 1.0},
                "vent_mm2": 8000,
                "escape": False,
                "design_wind_pa": 1200,
                "note": "as agreed",
            }
        ],
        "answers": [
            {
                "opening_ref": "W1",
                "reason": "readings-disagree",
                "measured": 21,
                "by": "AB",
                "on": "2026-11-03",
                "note": "measured again",
            }
        ],
    }
