"""An order to show: invented, with every kind of member that orders usually have."""

from typing import Any, Final

EXAMPLE_ORDER: Final[dict[str, Any]] = {
    "order_ref": "TQ-0007",
    "system": "demo70",
    "rulebook": "england",
    "units": "mm",
    "viewed_from": "outside",
    "survey": {"date": "2026-11-02", "surveyor": "AB", "revision": 1},
    "openings": [
        {
            "opening_ref": "W1",
            "quantity": 1,
            "room": "kitchen",
            "storey": 0,
            "floor_to_sill": 1050,
            "measured_to": "brick",
            "widths": [1812, 1808, 1810],
            "heights": [1262, 1260, 1261],
            "diagonals": [2207, 2206],
            "frame": {"width": 1798, "height": 1220, "height_includes_sill": False},
            "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50},
            "set_back": 30,
            "layout": "side-hung left | fixed",
            "colour": {"outside": "white", "inside": "white"},
            "glazing": {"unit": "4-20-4", "safety": "none", "u_g": 1.0},
        }
    ],
}
"""One opening that is accepted."""

EXAMPLE_REJECTED: Final[dict[str, Any]] = {
    **EXAMPLE_ORDER,
    "order_ref": "TQ-0008",
    "openings": [
        {
            **EXAMPLE_ORDER["openings"][0],
            "frame": {"width": 1806, "height": 1220, "height_includes_sill": False},
        }
    ],
}
"""The same opening with a frame that is too wide."""

EXAMPLE_SHEET: Final = (
    "order_ref,system,rulebook,units,viewed_from,opening_ref,width_top,width_bottom,height_left,height_right,"
    "layout,colour_outside,glazing_unit\r\n"
    "TQ-0009,demo70,england,mm,outside,W1,1210,1208,1050,1052,top-hung / fixed,white,4-20-4\r\n"
    "TQ-0009,demo70,england,mm,outside,W2,905,904,1050,1049,side-hung left,white,4-20-4\r\n"
)
"""An order of two openings as a sheet."""
