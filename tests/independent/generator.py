"""Random orders of every shape that the contract allows, most of them fit to be made."""

import random
from decimal import Decimal
from fractions import Fraction
from typing import Any

from independent.figures import INCH, TO_MM
from independent.layout import HANDED, Box, Node, centres_of, turned
from independent.opening import SIDES, work_out

UNITS_OF = {
    "demo70": ["4-16-4", "6-13-6", "4-20-4", "6-16-6", "4-12-4-12-4", "6-12-6", "8-20-8"],
    "demo82-inward": ["4-20-4", "4-24-4", "4-12-4-12-4", "4-16-4-16-4", "6-18-4-12-4"],
    "odd61": ["4-16-4", "4-20-4", "6-20-6", "6-20.2-6", "6-12-6"],
}
FITS = ("between_reveals", "horns_into_wall", "notched_round_brick")
WAY_OF_SIGN = {"columns": " |", "rows": " /"}


def random_order(rng: random.Random, systems: dict[str, Any], rulebook: Any) -> dict[str, Any]:
    """One order as its JSON form; numbers are int or Decimal."""
    name = rng.choice(sorted(systems))
    is_symmetric = rng.random() < 0.1
    maker = _Maker(rng, systems[name], is_symmetric=is_symmetric)
    order: dict[str, Any] = {
        "order_ref": f"R-{rng.randrange(10**6)}",
        "system": name,
        "rulebook": "england",
        "units": maker.units,
        "viewed_from": rng.choice(("outside", "inside")),
        "openings": [],
    }
    shared: dict[str, Any] = {}
    if rng.random() < 0.3:
        shared = {
            "glazing": {"unit": rng.choice(UNITS_OF[name])},
            "colour": {"outside": rng.choice(("white", "grey"))},
        }
        order["defaults"] = shared
    for number in range(rng.choice((1, 1, 2, 3))):
        opening = maker.opening(name)
        if shared:
            del opening["glazing"], opening["colour"]
        order["openings"].append({"opening_ref": f"W{number + 1}", **opening})
        if rng.random() < 0.4:
            maker.state_frame(order, number, rulebook)
    if is_symmetric:
        del order["viewed_from"]
    return order


class _Maker:
    """Writes openings for one order; symmetric ones read the same from both sides."""

    def __init__(self, rng: random.Random, system: Any, *, is_symmetric: bool) -> None:
        self.rng, self.system, self.is_symmetric = rng, system, is_symmetric
        self.units = rng.choice(("mm", "mm", "mm", "cm", "in", "m"))
        self.profiles = system["profiles"]

    def say(self, mm: float | Fraction) -> Any:
        """A length in one of the ways people write it; moves it to the grid of that way."""
        rng, mm = self.rng, Fraction(mm)
        way = rng.choice(("own", "own", "own", "own", "mm", "cm", "m", "in", "ft"))
        if way == "own":
            return self.exact(self._on_grid(mm, self.units))
        if way == "mm":
            return f"{_decimal(round(mm * 2) / Fraction(2))} mm"
        if way == "cm":
            return f"{_decimal(round(mm) / Fraction(10))} cm"
        if way == "m":
            return f"{_decimal(round(mm) / Fraction(1000))} m"
        sixteenths = round(mm / INCH * 16)
        whole, part = divmod(sixteenths, 16)
        part = Fraction(part, 16)
        if way == "in":
            return f"{whole} {part} in" if part and whole else f"{part or whole} in"
        feet, inches = divmod(whole, 12)
        return f"{feet}' {inches} {part}\"" if part else f"{feet}' {inches}\""

    def exact(self, mm: Fraction) -> Any:
        """A length as a number of the order's units, which must come out even, else as text in mm."""
        value = mm / TO_MM[self.units]
        if self.units == "in" and (value * 1024).denominator != 1:
            return f"{_decimal(mm)} mm"
        number = _decimal(value)
        return int(number) if number == int(number) else number

    def _on_grid(self, mm: Fraction, units: str) -> Fraction:
        grid = INCH / 16 if units == "in" else Fraction(1, 2)
        return round(mm / grid) * grid

    def opening(self, name: str) -> dict[str, Any]:
        """An opening without a stated frame."""
        rng = self.rng
        wide = rng.choice((rng.uniform(420, 1100), rng.uniform(700, 2000), rng.uniform(1200, 2800)))
        high = rng.choice((rng.uniform(420, 1000), rng.uniform(700, 1500), rng.uniform(1000, 2200)))
        opening: dict[str, Any] = {
            "widths": self._readings(wide),
            "heights": self._readings(high),
            "colour": {"outside": rng.choice(("white", "white", "grey", "golden oak"))},
            "glazing": {"unit": rng.choice(UNITS_OF[name])},
        }
        layout = self._layout(wide - 12, high - 40)
        opening["layout"] = self._written(layout)
        if self.is_symmetric:
            opening["heights"] = opening["heights"][:1]
        elif rng.random() < 0.4:
            opening["diagonals"] = self._diagonals(wide + 4, high + 4)
            if rng.random() < 0.5:
                opening["slope"] = rng.choice(("head", "jambs"))
        if rng.random() < 0.25:
            opening["to_come"] = self._some_sides(lambda: self.say(rng.uniform(0, 20)))
        if rng.random() < 0.25:
            opening["gap"] = self._some_sides(
                lambda: self.say(rng.uniform(7.6, 9.8) if rng.random() < 0.9 else 4.0)
            )
        if rng.random() < 0.3:
            on_offer = [Fraction(width) for width in self.profiles["extender"]["widths_mm"]]
            opening["extenders"] = self._some_sides(lambda: self.exact(rng.choice(on_offer)))
        if rng.random() < 0.5:
            self._add_sill(opening)
        if rng.random() < 0.2:
            opening["quantity"] = rng.randint(1, 4)
        return opening

    def state_frame(self, order: dict[str, Any], number: int, rulebook: Any) -> None:
        """States a frame near the worked one, now and then too large."""
        opening, rng = order["openings"][number], self.rng
        worked = work_out(order, number, self.system, rulebook)
        width, height = (side - Fraction(rng.randrange(0, 60), 10) for side in worked["frame"])
        if rng.random() < 0.1:
            width += 9
        frame: dict[str, Any] = {}
        kind = rng.random()
        if kind < 0.8:
            frame["width"] = self.exact(width) if rng.random() < 0.7 else f"{_decimal(width)} mm"
        if kind > 0.1:
            includes = opening.get("sill") is not None and rng.random() < 0.5
            if includes:
                sill = next(row for row in self.system["sills"] if row["name"] == worked["sill"][0])
                height += Fraction(sill["upstand_mm"])
            frame["height"] = self.exact(height)
            if opening.get("sill") is not None:
                frame["height_includes_sill"] = includes
        elif opening.get("sill") is not None:
            frame["height_includes_sill"] = False
        opening["frame"] = frame

    def _readings(self, least: float) -> list[Any]:
        rng = self.rng
        spread = 10 if rng.random() < 0.9 else 25
        values = [self.say(least + rng.uniform(0, spread)) for _ in range(3)]
        return rng.choice((values, values, values, values[:1], values[:2], [values[0], None, values[2]]))

    def _diagonals(self, wide: float, high: float) -> list[Any]:
        rng = self.rng
        lean = rng.choice((rng.uniform(0, 2), rng.uniform(0, 30)))
        across, along = wide * wide + high * high + lean * lean, 2 * wide * lean
        pair = [self.say((across + along) ** 0.5), self.say((across - along) ** 0.5)]
        if rng.random() < 0.5:
            pair.reverse()
        return pair if rng.random() < 0.95 else [pair[0], None]

    def _some_sides(self, value: Any) -> dict[str, Any]:
        sides = {side: value() for side in SIDES if self.rng.random() < 0.5}
        if self.is_symmetric:
            sides["right"] = sides.setdefault("left", value())
        return sides

    def _add_sill(self, opening: dict[str, Any]) -> None:
        rng = self.rng
        row = rng.choice(self.system["sills"])
        projection, depth = Fraction(row["projection_mm"]), Fraction(self.system["depth_mm"])
        sill = {
            "projection": f"{_decimal(projection + rng.choice((0, 0, 0, 2, -3)))} mm",
            "fit": rng.choice(FITS),
        }
        if sill["fit"] != "between_reveals":
            sill["horn_left"], sill["horn_right"] = (
                self.say(rng.uniform(20, 100)),
                self.say(rng.uniform(20, 100)),
            )
            if self.is_symmetric:
                sill["horn_right"] = sill["horn_left"]
        opening["sill"] = sill
        if projection - depth > 20 and rng.random() < 0.5:
            overhang = rng.uniform(16, float(min(projection - depth, 58)))
            opening["set_back"] = f"{int(projection - depth - Fraction(overhang))} mm"

    def _layout(self, wide: float, high: float) -> Node:
        face = Fraction(self.profiles["frame"]["face_mm"])
        box = (face, face, Fraction(int(wide)) - face, Fraction(int(high)) - face)
        if not self.is_symmetric:
            return self._part(box, 3)
        if box[2] - box[0] < 700:
            return Node(light="fixed")
        middle = (box[0] + box[2] - Fraction(self.profiles["mullion"]["face_mm"])) / 2
        half = _without_column_places(self._part((box[0], box[1], middle, box[3]), 2))
        parts = [half, *([Node(light="fixed")] if self.rng.random() < 0.3 else []), turned(half, Fraction(0))]
        return Node(way="columns", parts=parts, at=[None] * (len(parts) - 1))

    def _part(self, box: Box, depth: int) -> Node:
        rng = self.rng
        wide, high = float(box[2] - box[0]), float(box[3] - box[1])
        ways = [way for way, span in (("columns", wide), ("rows", high)) if span > 620]
        if depth == 0 or not ways or (rng.random() < 0.3 and max(wide, high) < 1300):
            return self._light(wide, high)
        way = rng.choice(ways)
        axis, kind, span = (0, "mullion", wide) if way == "columns" else (1, "transom", high)
        count = min(rng.choice((2, 2, 3, 4)), int(span / 310))
        profile_face = Fraction(self.profiles[kind]["face_mm"])
        at: list[Fraction | None] = [None] * (count - 1)
        if rng.random() < 0.5:
            even = centres_of(at, box[axis], box[axis + 2], profile_face)
            shift = span / count / 6
            moved = [centre + Fraction(rng.uniform(-shift, shift)) for centre in even]
            at = [self._on_grid(centre, self.units) if rng.random() < 0.7 else None for centre in moved]
        centres = centres_of(at, box[axis], box[axis + 2], profile_face)
        starts = [box[axis], *(centre + profile_face / 2 for centre in centres)]
        ends = [*(centre - profile_face / 2 for centre in centres), box[axis + 2]]
        parts = []
        for start, end in zip(starts, ends, strict=True):
            inner = list(box)
            inner[axis], inner[axis + 2] = start, end
            parts.append(self._part(tuple(inner), depth - 1))  # type: ignore[arg-type]
        return Node(way=way, parts=parts, at=at)

    def _light(self, wide: float, high: float) -> Node:
        rng, lap = self.rng, 2 * float(self.profiles["sash"]["overlap_mm"])
        fitting = [
            kind
            for kind, limits in self.system["openers"].items()
            if float(limits["width_mm"][0]) <= wide + lap - 20 <= float(limits["width_mm"][1]) - 40
            and float(limits["height_mm"][0]) <= high + lap - 20 <= float(limits["height_mm"][1]) - 40
            and wide * high * 30e-6 + 6 < float(limits["most_kg"])
        ]
        if rng.random() < 0.03:
            fitting = list(self.system["openers"])
        kind = rng.choice(fitting) if fitting and rng.random() < 0.65 else "fixed"
        hinge = rng.choice(("left", "right")) if kind in HANDED else None
        return Node(light=kind, hinge=hinge)

    def _written(self, node: Node) -> Any:
        if self.rng.random() < 0.4:
            return self._tree(node)
        return self._text(node)

    def _place(self, place: Fraction | None) -> Any:
        if place is None:
            return None
        number = _decimal(place / TO_MM[self.units])
        return int(number) if number == int(number) else number

    def _tree(self, node: Node) -> dict[str, Any]:
        if node.light:
            leaf: dict[str, Any] = {"light": node.light}
            if node.hinge:
                leaf["hinge"] = node.hinge
            if self.rng.random() < 0.1 and not self.is_symmetric:
                leaf["safety"] = "toughened"
            return leaf
        tree: dict[str, Any] = {str(node.way): [self._tree(part) for part in node.parts]}
        if any(place is not None for place in node.at) or self.rng.random() < 0.2:
            tree["at"] = [self._place(place) for place in node.at]
        return tree

    def _text(self, node: Node, above: str | None = None) -> str:
        if node.light:
            return f"{node.light} {node.hinge}" if node.hinge else node.light
        sign = WAY_OF_SIGN[str(node.way)]
        text = self._text(node.parts[0], node.way)
        for place, part in zip(node.at, node.parts[1:], strict=True):
            at = "" if place is None else f"@{self._place(place)}"
            text += f"{sign}{at} {self._text(part, node.way)}"
        needs_brackets = above is not None and not (above == "rows" and node.way == "columns")
        return f"({text})" if needs_brackets or self.rng.random() < 0.1 else text


def _decimal(value: Fraction) -> Decimal:
    """The value written out in full; it must have a finite decimal form."""
    number = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(number) != value:
        raise ValueError(value)
    return number.normalize() + 0 if abs(number) >= 1 and number == int(number) else number


def _without_column_places(node: Node) -> Node:
    parts = [_without_column_places(part) for part in node.parts]
    at = [None] * len(node.at) if node.way == "columns" else node.at
    return Node(node.light, node.hinge, node.safety, node.way, parts, at)
