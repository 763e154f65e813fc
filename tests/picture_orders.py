"""Orders for the tests of drawings, sheets and labels, and a reader for drawings. Every name is invented."""

import copy
import xml.etree.ElementTree as ET
from typing import Any

SVG = "{http://www.w3.org/2000/svg}"

ORDER: dict[str, Any] = {
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
            "widths": [1812, 1808, 1810],
            "heights": [1262, 1260, 1261],
            "diagonals": [2207, 2206],
            "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 40},
            "set_back": 40,
            "layout": "side-hung left | fixed",
            "colour": {"outside": "white", "inside": "white"},
            "glazing": {"unit": "4-20-4", "safety": "none"},
            "u_g": None,
        }
    ],
}
del ORDER["openings"][0]["u_g"]


def order(**changes: Any) -> dict[str, Any]:
    """The order with changes to its opening; None takes a field away."""
    made = copy.deepcopy(ORDER)
    for name, value in changes.items():
        if value is None:
            made["openings"][0].pop(name, None)
        else:
            made["openings"][0][name] = value
    return made


def three_openings() -> dict[str, Any]:
    """An order with an accepted, a queried and a rejected opening."""
    made = order()
    queried = copy.deepcopy(made["openings"][0]) | {
        "opening_ref": "W2",
        "room": "landing",
        "widths": [1812, 1790, 1811],
    }
    rejected = copy.deepcopy(made["openings"][0]) | {
        "opening_ref": "W3",
        "room": "bathroom",
        "frame": {"width": 1806, "height": 1220, "height_includes_sill": False},
    }
    made["openings"] += [queried, rejected]
    return made


class Drawn:
    """A drawing as a program reads it back from its text."""

    def __init__(self, text: str) -> None:
        self.root = ET.fromstring(text)  # noqa: S314 - our own output

    def all(self, part: str, light: int | None = None) -> list[ET.Element]:
        """Shapes of a part, back to front."""
        return [
            each
            for each in self.root.iter()
            if each.get("data-part") == part and (light is None or each.get("data-light") == str(light))
        ]

    def box(self, part: str, light: int | None = None) -> tuple[float, float, float, float]:
        """Left, top, width and height of the one rectangle of a part. [mm]."""
        (rectangle,) = self.all(part, light)
        return tuple(float(rectangle.get(name)) for name in ("x", "y", "width", "height"))  # type: ignore[return-value, arg-type]

    def boxes(self, part: str, light: int | None = None) -> list[tuple[float, float, float, float]]:
        """The same for every rectangle of a part."""
        return [
            tuple(float(each.get(name)) for name in ("x", "y", "width", "height"))  # type: ignore[misc, arg-type]
            for each in self.all(part, light)
            if each.tag == f"{SVG}rect"
        ]

    def points(self, part: str, light: int | None = None) -> list[list[tuple[float, float]]]:
        """Points of every line of a part. [mm]."""
        return [
            [tuple(map(float, pair.split(","))) for pair in each.get("points", "").split()]  # type: ignore[misc]
            for each in self.all(part, light)
            if each.get("points")
        ]

    def texts(self, part: str | None = None) -> list[str]:
        """What is written, in the order of painting."""
        return [
            each.text or ""
            for each in self.root.iter(f"{SVG}text")
            if part is None or each.get("data-part") == part
        ]

    def middle(self, part: str) -> tuple[float, float]:
        """Middle of a marker, be it a circle or a square."""
        first = self.all(part)[0]
        if first.tag == f"{SVG}circle":
            return float(first.get("cx", "")), float(first.get("cy", ""))
        x, y, width, height = self.boxes(part)[0]
        return x + width / 2, y + height / 2
