"""Findings on a drawing: a numbered marker at the place that each is about, and the list in words."""

import re
from typing import Final

from sawready.report.drawing_scene import Circle, Rectangle, Scene, Text, wrapped
from sawready.report.drawing_sizes import WALL
from sawready.report.drawing_words import SEVERITY_WORDS
from sawready.report.order_view import Box, Noted, OpeningView, Point

_RADIUS: Final = 0.72
_SHARES: Final = {1: (0.5,), 2: (0.12, 0.88), 3: (0.12, 0.5, 0.88)}
"""Where readings lie along a side, by how many there are."""


def spot(field: str, view: OpeningView, em: float) -> Point | None:
    """Where on the drawing a field of the opening is; None where the drawing has no place for it. [mm].

    Args:
        field: path below the opening, sides as in the view.
        view: the opening.
        em: height of ordinary text. [mm]
    """
    head, _, tail = field.partition("/")
    aperture, frame = view.aperture, view.frame
    if aperture is not None and head in _AT_APERTURE:
        found = _at_aperture(head, tail, aperture.clear, em)
        if found is not None:
            return found
    if frame is None:
        return None
    return _at_window(head, tail, view, frame, em)


_AT_APERTURE: Final = frozenset(
    {"widths", "heights", "diagonals", "gap", "to_come", "inside", "measured_to", "slope"}
)


def _at_aperture(head: str, tail: str, box: Box, em: float) -> Point | None:
    wall = WALL / 2 * em
    number, _, count = tail.partition("/")
    index = int(number) if number.isdigit() else None
    if head in {"widths", "inside"} and (index is not None or tail in {"", "width"}):
        shares = _SHARES[3]
        share = 0.5 if index is None else shares[min(index, 2)]
        return box.right + wall, box.y + share * box.height
    if head in {"heights", "inside"}:
        shares = _SHARES.get(int(count), _SHARES[3]) if count.isdigit() else _SHARES[3]
        share = 0.5 if index is None else shares[min(index, len(shares) - 1)]
        return box.x + share * box.width, box.y - wall
    if head in {"diagonals", "slope"}:
        return (box.x if index in {None, 0} else box.right), box.y
    if head in {"gap", "to_come"}:
        return {
            "left": (box.x, box.y + 0.7 * box.height),
            "right": (box.right, box.y + 0.7 * box.height),
            "top": (box.x + 0.7 * box.width, box.y),
            "bottom": (box.x + 0.7 * box.width, box.bottom),
        }.get(tail, (box.x, box.y + 0.7 * box.height))
    if head == "measured_to":
        return box.x, box.bottom
    return None


def _at_window(head: str, tail: str, view: OpeningView, frame: Box, em: float) -> Point | None:
    face = view.face_mm / 2
    if head == "frame":
        if tail in {"height", "height_includes_sill"}:
            return frame.right - face, frame.y + 0.62 * frame.height
        return frame.x + 0.5 * frame.width, frame.y + face
    if head == "extenders":
        boxes = dict(view.extenders)
        box = boxes.get(tail)  # type: ignore[call-overload] # any text is a fair question
        return frame.middle if box is None else box.middle
    if head in {"sill", "set_back"}:
        box = Box(frame.x, frame.bottom, frame.width, em) if view.sill is None else view.sill.box
        ends = {"horn_left": box.x + 0.4 * em, "horn_right": box.right - 0.4 * em}
        share = 0.35 if head == "set_back" else 0.5
        return ends.get(tail, box.x + share * box.width), box.y + box.height / 2
    if head == "colour":
        return frame.x + face, frame.bottom - face
    if head in {"layout", "surveyed", "design_wind_pa"}:
        return frame.x + 0.5 * frame.width, frame.y + 0.36 * frame.height
    if head in {"glazing", "escape", "floor_to_sill"}:
        largest = max(view.lights, key=lambda light: light.glass.width * light.glass.height, default=None)
        if largest is None:
            return frame.x + 0.5 * frame.width, frame.y + 0.7 * frame.height
        return largest.glass.x + 0.5 * largest.glass.width, largest.glass.y + 0.82 * largest.glass.height
    if head == "vent_mm2":
        return frame.x + 0.25 * frame.width, frame.y + face
    return None


def add_markers(scene: Scene, view: OpeningView, right: float) -> None:
    """Puts a marker at the place of each finding that has one; the others stand in the list alone.

    Markers of one place stand side by side, and below each other where the picture ends.

    Args:
        scene: the drawing.
        view: the opening.
        right: where the picture ends. [mm]
    """
    step = 2.4 * _RADIUS * scene.em
    taken: dict[Point, int] = {}
    for noted in view.noted:
        place = _light_spot(noted, view) or spot(noted.field, view, scene.em)
        if place is None:
            continue
        count = taken.get(place, 0)
        taken[place] = count + 1
        across = max(1, int((right - place[0]) / step))
        row, beside = divmod(count, across)
        add_marker(scene, (place[0] + beside * step, place[1] + row * step), noted)


_NAMED_LIGHT: Final = re.compile(r"\blight ([0-9]{1,2})\b")


def _light_spot(noted: Noted, view: OpeningView) -> Point | None:
    """On the light that a finding about the layout or the glass names; lights are numbered from outside."""
    if noted.field.partition("/")[0] not in {"layout", "glazing"}:
        return None
    named = _NAMED_LIGHT.search(noted.finding.message)
    light = next((each for each in view.lights if named and each.number == int(named[1])), None)
    if light is None:
        return None
    return light.glass.x + 0.3 * light.glass.width, light.glass.y + 0.2 * light.glass.height


def add_marker(scene: Scene, at: Point, noted: Noted) -> None:
    """A number in a shape that tells the severity: dark square, circle, broken circle."""
    radius = _RADIUS * scene.em
    severity = noted.finding.severity
    part = f"finding-{noted.number}"
    if severity == "reject":
        scene.add(Rectangle(Box(at[0] - radius, at[1] - radius, 2 * radius, 2 * radius), "reject", part))
    else:
        scene.add(Circle(at, radius, severity, part))
    size = 0.95 if noted.number < 10 else 0.75
    middle = (at[0], at[1] + 0.35 * size * scene.em)
    scene.add(Text(middle, str(noted.number), size, "middle", is_bold=True, is_light=severity == "reject"))


def add_list(scene: Scene, view: OpeningView, x: float, y: float, width: float) -> float:
    """Every finding in words under the drawing.

    Args:
        scene: the drawing.
        view: the opening.
        x: its left edge. [mm]
        y: where it begins. [mm]
        width: of the list. [mm]
    Returns: where it ends. [mm]
    """
    em = scene.em
    for noted in view.noted:
        found = noted.finding
        remedy = f" {found.remedy}" if found.remedy and found.severity != "note" else ""
        text = f"{SEVERITY_WORDS[found.severity]}: {found.message}{remedy}"
        lines = wrapped(text, width / em - 2.4, 0.85)
        y += 1.35 * em
        add_marker(scene, (x + 0.8 * em, y - 0.3 * em), noted)
        for number, line in enumerate(lines):
            if number:
                y += 1.15 * em
            scene.add(Text((x + 2.2 * em, y), line, 0.85, part=f"finding-text-{noted.number}", is_given=True))
        y += 0.55 * em
    return y
