"""One opening from readings to cuts, by the written formulas."""

from fractions import Fraction
from math import floor
from typing import Any

from independent.figures import banded, length, readings
from independent.fixings import best_set, even_holes, is_clear, side_rules
from independent.layout import Divider, Pane, divide, outside_parent, read_layout, turned

SIDES = ("left", "right", "top", "bottom")
DENSITY = Fraction(25, 10)  # kg per m2 per mm of glass: EN 572-1, 2500 kg/m3


def work_out(order: dict[str, Any], index: int, system: Any, rulebook: Any) -> dict[str, Any]:
    """Everything that is cut, and the reasons for which it must not be.

    Args:
        order: an order as JSON gives it, numbers exact.
        index: which opening.
        system: tree of text of the system file.
        rulebook: tree of text of the rulebook file.
    Returns: frame, clearance, sill, lights, pieces, beads, glass and fixings as Fractions; `rejects`, a set
        of reasons.
    """
    stated = {key: value for key, value in order["openings"][index].items() if value is not None}
    opening = {**order.get("defaults", {}), **stated}
    units, inside = order.get("units", "mm"), order.get("viewed_from") == "inside"
    rejects: set[str] = set()
    extenders = _sides(opening.get("extenders"), units, inside)
    sill = _sill(opening, system, units)
    frame_w, frame_h, clearance, bottom_width = _frame(
        opening, units, inside, extenders, sill, system, rulebook, rejects
    )
    profiles = system["profiles"]
    face = Fraction(profiles["frame"]["face_mm"])
    node = read_layout(opening["layout"], units)
    if inside:
        node = turned(node, frame_w)
    if outside_parent(node, (face, face, frame_w - face, frame_h - face), profiles):
        rejects.add("divider-outside-frame")
    panes, dividers = divide(node, frame_w, frame_h, profiles)
    unit, glass_mm = _unit(opening["glazing"]["unit"])
    bead = _bead(system, unit)
    if bead is None:
        rejects.add("glazing-no-bead")
        bead = system["beads"][0]
    cutter = _Cutter(system, _colour_class(opening), bead, glass_mm)
    cutter.frame(frame_w, frame_h)
    cutter.dividers(dividers)
    lights = [cutter.light(number, pane) for number, pane in enumerate(panes)]
    cutter.extenders(extenders, frame_w, frame_h)
    sill_cut = None
    if sill:
        across = frame_w + extenders["left"] + extenders["right"]
        long = across if sill["fit"] == "between_reveals" else bottom_width + sill["horns"]
        cutter.add("sill", sill["name"], long, "90/90", None, sill["bar"])
        sill_cut = (sill["name"], long)
    return {
        "frame": (frame_w, frame_h),
        "clearance": clearance,
        "sill": sill_cut,
        "lights": lights,
        "pieces": cutter.pieces,
        "beads": cutter.beads,
        "glass": [light["glass"] for light in lights],
        "fixings": _fixings(frame_w, frame_h, face, dividers, rulebook),
        "rejects": rejects | cutter.rejects,
    }


def _frame(
    opening: dict[str, Any],
    units: str,
    inside: bool,
    extenders: dict[str, Fraction],
    sill: dict[str, Any] | None,
    system: Any,
    rulebook: Any,
    rejects: set[str],
) -> tuple[Fraction, Fraction, tuple[Fraction, ...], Fraction]:
    """Frame width and height, clearance at each side, and the bottom width of the aperture."""
    to_come = _sides(opening.get("to_come"), units, inside)
    raw_w = [reading for reading in readings(opening["widths"], units) if reading is not None]
    raw_h = [reading for reading in readings(opening["heights"], units) if reading is not None]
    widths = [reading - to_come["left"] - to_come["right"] for reading in raw_w]
    heights = [reading - to_come["top"] - to_come["bottom"] for reading in raw_h]
    gap = _gaps(opening, units, inside, {"x": min(widths), "y": min(heights)}, system, rulebook, rejects)
    lean_w, lean_h = _leans(opening, raw_w, raw_h, rulebook, units)
    upstand = sill["upstand"] if sill else Fraction(0)
    room_w = min(widths) - lean_w - extenders["left"] - extenders["right"]
    room_h = min(heights) - lean_h - extenders["top"] - extenders["bottom"] - upstand
    stated = opening.get("frame") or {}
    width, left, right = _axis(stated.get("width"), units, room_w, gap["left"], gap["right"], Fraction(0))
    taken = upstand if stated.get("height_includes_sill") else Fraction(0)
    height, top, bottom = _axis(stated.get("height"), units, room_h, gap["top"], gap["bottom"], taken)
    for room, size, needs, lean, reason in (
        (room_w, width, gap["left"] + gap["right"], lean_w, "frame-too-wide"),
        (room_h, height, gap["top"] + gap["bottom"], lean_h, "frame-too-tall"),
    ):
        if room - size < needs:
            rejects.add(reason if room + lean - size < needs else "frame-will-not-stand-plumb")
    for size, key in ((width, "width_mm"), (height, "height_mm")):
        least, most = map(Fraction, system["frame_size"][key])
        if not least <= size <= most:
            rejects.add("frame-size-out-of-range")
    on_offer = [Fraction(offer) for offer in system["profiles"]["extender"]["widths_mm"]]
    if any(extender and extender not in on_offer for extender in extenders.values()):
        rejects.add("extender-width-unknown")
    return width, height, (left, right, top, bottom), widths[-1]


def _colour_class(opening: dict[str, Any]) -> str:
    return "white" if opening["colour"]["outside"] == "white" else "coloured"


def _gaps(
    opening: dict[str, Any],
    units: str,
    inside: bool,
    span: dict[str, Fraction],
    system: Any,
    rulebook: Any,
    rejects: set[str],
) -> dict[str, Fraction]:
    """Gap at each side: the order's own, else the rulebook's for the governing reading."""
    own_gap = _sides(opening.get("gap"), units, inside, absent=None)
    table = rulebook["gap_per_side_mm"]
    row = table[system.get("material", "pvcu")][_colour_class(opening)]
    gap = {}
    for side in SIDES:
        book = banded(table["up_to_mm"], row, span["x" if side in ("left", "right") else "y"])
        gap[side] = book if own_gap[side] is None else own_gap[side]
        if gap[side] < book:
            rejects.add("gap-below-rulebook")
    return gap


def _sides(given: Any, units: str, inside: bool, absent: Any = Fraction(0)) -> dict[str, Any]:
    """A figure for each side as seen from outside."""
    seen = {side: absent if (given or {}).get(side) is None else length(given[side], units) for side in SIDES}
    return {**seen, "left": seen["right"], "right": seen["left"]} if inside else seen


def _sill(opening: dict[str, Any], system: Any, units: str) -> dict[str, Any] | None:
    given = opening.get("sill")
    if not given:
        return None
    asked = length(given["projection"], units)
    row = min(system["sills"], key=lambda sill: abs(Fraction(sill["projection_mm"]) - asked))
    if abs(Fraction(row["projection_mm"]) - asked) > 3:
        raise ValueError(asked)
    horns = sum(
        (length(given[horn], units) for horn in ("horn_left", "horn_right") if given.get(horn) is not None),
        Fraction(0),
    )
    return {
        "name": row["name"],
        "fit": given["fit"],
        "horns": horns,
        "upstand": Fraction(row["upstand_mm"]),
        "bar": Fraction(row["bar_mm"]),
    }


def _leans(
    opening: dict[str, Any], raw_w: list[Fraction], raw_h: list[Fraction], rulebook: Any, units: str
) -> tuple[Fraction, Fraction]:
    """What comes off the width and off the height for an aperture that leans."""
    given = opening.get("diagonals")
    none = Fraction(0)
    if not given or len(given) < 2 or None in given:
        return none, none
    one, two = (length(diagonal, units) for diagonal in given)
    if abs(one - two) < Fraction(rulebook["survey"]["diagonals_differ_from_mm"]["value"]):
        return none, none
    squares = abs(one * one - two * two)
    if opening.get("slope") == "head":
        return none, squares / (4 * sum(raw_h) / len(raw_h))
    return squares / (4 * sum(raw_w) / len(raw_w)), none


def _axis(
    stated: Any, units: str, room: Fraction, one: Fraction, other: Fraction, taken: Fraction
) -> tuple[Fraction, Fraction, Fraction]:
    """Frame size on one axis, and the clearance at each of its sides."""
    if stated is None:
        exact = room - one - other
        size = Fraction(floor(exact))
        return size, one + (exact - size) / 2, other + (exact - size) / 2
    size = length(stated, units) - taken
    return size, (room - size) / 2, (room - size) / 2


def _unit(written: str) -> tuple[Fraction, Fraction]:
    """Thickness of a glass unit, and of the glass in it."""
    layers = [Fraction(layer) for layer in written.split("-")]
    return sum(layers, Fraction(0)), sum(layers[::2], Fraction(0))


def _bead(system: Any, unit: Fraction) -> Any:
    rows = [row for row in system["beads"] if abs(Fraction(row["unit_mm"]) - unit) <= Fraction(1, 2)]
    return min(rows, key=lambda row: abs(Fraction(row["unit_mm"]) - unit)) if rows else None


class _Cutter:
    """Collects pieces in the order in which the contract lists them."""

    def __init__(self, system: Any, colour: str, bead: Any, glass_mm: Fraction) -> None:
        self.system, self.colour, self.bead, self.glass_mm = system, colour, bead, glass_mm
        self.profiles = system["profiles"]
        self.clearance = Fraction(system["glass_clearance_mm"])
        self.pieces: list[tuple[str, str, Fraction, str, int | None]] = []
        self.beads: list[tuple[str, str, Fraction, str, int | None]] = []
        self.rejects: set[str] = set()

    def add(
        self, part: str, profile: str, long: Fraction, ends: str, light: int | None, bar: Fraction
    ) -> None:
        if long > bar:
            self.rejects.add("piece-longer-than-bar")
        (self.beads if part.startswith("bead") else self.pieces).append((part, profile, long, ends, light))

    def member(self, part: str, kind: str, finished: Fraction, light: int | None) -> Fraction:
        """A member and its steel; gives the mass of both, finished, in kg."""
        profile = self.profiles[kind]
        cut = finished + 2 * Fraction(profile.get("weld_allowance_mm", "0"))
        self.add(part, profile["name"], cut, profile.get("ends", "45/45"), light, Fraction(profile["bar_mm"]))
        mass = finished / 1000 * Fraction(profile["mass_kg_m"])
        steel = profile.get("reinforcement")
        if steel and finished >= Fraction(steel["from_mm"][self.colour]):
            inside = finished - 2 * Fraction(steel["set_back_mm"])
            self.add("reinforcement", steel["name"], inside, "90/90", light, Fraction(steel["bar_mm"]))
            mass += inside / 1000 * Fraction(steel["mass_kg_m"])
        return mass

    def frame(self, width: Fraction, height: Fraction) -> None:
        for part, long in (("head", width), ("bottom", width), ("left", height), ("right", height)):
            self.member(f"frame-{part}", "frame", long, None)

    def dividers(self, dividers: list[Divider]) -> None:
        for divider in dividers:
            ends = 2 * Fraction(self.profiles[divider.kind]["end_allowance_mm"])
            self.member(divider.kind, divider.kind, divider.end - divider.start + ends, None)

    def extenders(self, widths: dict[str, Fraction], width: Fraction, height: Fraction) -> None:
        for side in ("top", "bottom", "left", "right"):
            if widths[side]:
                long = width if side in ("top", "bottom") else height + widths["top"] + widths["bottom"]
                extender = self.profiles["extender"]
                name = f"{extender['name']}-{float(widths[side]):g}"
                self.add(f"extender-{side}", name, long, "90/90", None, Fraction(extender["bar_mm"]))

    def light(self, number: int, pane: Pane) -> dict[str, Any]:
        wide, high = pane.box[2] - pane.box[0], pane.box[3] - pane.box[1]
        if min(wide, high) < Fraction(self.system["daylight_least_mm"]):
            self.rejects.add("light-too-small")
        light = {
            "light": pane.node.light,
            "hinge": pane.node.hinge,
            "daylight": (wide, high),
            "sash": None,
            "sash_kg": None,
        }
        rebates, mass = pane.rebates, Fraction(0)
        if pane.node.light != "fixed":
            sash = self.profiles["sash"]
            outer = tuple(side + 2 * Fraction(sash["overlap_mm"]) for side in (wide, high))
            for part, long in (
                ("top", outer[0]),
                ("bottom", outer[0]),
                ("left", outer[1]),
                ("right", outer[1]),
            ):
                mass += self.member(f"sash-{part}", "sash", long, number)
            wide, high = (side - 2 * Fraction(sash["face_mm"]) for side in outer)
            rebates = (Fraction(sash["rebate_mm"]),) * 4
            light["sash"] = outer
        rebate_w, rebate_h = wide + rebates[0] + rebates[2], high + rebates[1] + rebates[3]
        glass = (floor(rebate_w - 2 * self.clearance), floor(rebate_h - 2 * self.clearance))
        glass_kg = Fraction(glass[0] * glass[1], 10**6) * self.glass_mm * DENSITY
        bead_kg = self._bead_all_round(number, rebate_w, rebate_h)
        light.update(glass=glass, glass_kg=glass_kg)
        if light["sash"]:
            light["sash_kg"] = mass + glass_kg + bead_kg + Fraction(self.system["hardware_kg_per_sash"])
            self._opener(light)
        return light

    def _bead_all_round(self, number: int, wide: Fraction, high: Fraction) -> Fraction:
        bead, more = self.bead, Fraction(self.bead["allowance_mm"])
        upright = high + more
        if bead["joint"] == "square":
            upright -= 2 * Fraction(bead["height_mm"])
        ends = "90/90" if bead["joint"] == "square" else "45/45"
        for part, long in (
            ("top", wide + more),
            ("bottom", wide + more),
            ("left", upright),
            ("right", upright),
        ):
            self.add(f"bead-{part}", bead["name"], long, ends, number, Fraction(bead["bar_mm"]))
        return 2 * (wide + more + upright) / 1000 * Fraction(bead["mass_kg_m"])

    def _opener(self, light: dict[str, Any]) -> None:
        limits = self.system["openers"].get(light["light"])
        if limits is None:
            self.rejects.add("opener-not-in-system")
            return
        for side, key, much in (
            (light["sash"][0], "width_mm", "wide"),
            (light["sash"][1], "height_mm", "tall"),
        ):
            least, most = map(Fraction, limits[key])
            if side > most:
                self.rejects.add(f"opener-too-{much}")
            if side < least:
                self.rejects.add("opener-too-small")
        if light["sash_kg"] > Fraction(limits["most_kg"]):
            self.rejects.add("opener-too-heavy")


def _fixings(
    width: Fraction, height: Fraction, face: Fraction, dividers: list[Divider], rulebook: Any
) -> dict[str, Any]:
    """For each side: the even holes where they are clear, else what the best set must look like."""
    rules = side_rules(rulebook)
    meets = {
        "left": [d.at for d in dividers if d.kind == "transom" and d.start == face],
        "right": [d.at for d in dividers if d.kind == "transom" and d.end == width - face],
        "top": [d.at for d in dividers if d.kind == "mullion" and d.start == face],
        "bottom": [d.at for d in dividers if d.kind == "mullion" and d.end == height - face],
    }
    sides: dict[str, Any] = {"rules": rules}
    for side, centres in meets.items():
        long = height if side in ("left", "right") else width
        if side in ("top", "bottom") and width <= rules["head_from"]:
            sides[side] = ("none", None, long, centres)
            continue
        even = even_holes(long, rules)
        is_free = all(is_clear(hole, centres, rules) for hole in even) and long > 2 * rules["corner"]
        sides[side] = (
            ("even", even, long, centres)
            if is_free
            else ("best", best_set(long, centres, rules), long, centres)
        )
    return sides
