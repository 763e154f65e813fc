"""What stands round the picture of an opening: name, order and view above, legend and lists below."""

from typing import Final

from sawready.report.drawing_findings import add_list
from sawready.report.drawing_legend import add_legend
from sawready.report.drawing_marks import Triangle
from sawready.report.drawing_scene import Rectangle, Scene, Text, text_width, wrapped
from sawready.report.drawing_words import lights_in_words
from sawready.report.order_view import Box, OpeningView

EMS_ACROSS: Final = 46
"""Width of a page, and what the larger side of a window has of it. [em]"""

EDGE: Final = 0.9
"""Paper round everything. [em]"""

_DECIDED: Final = {
    "rejected": "Rejected: must not be made",
    "queried": "A question is open: not to be made yet",
}


def add_page(scene: Scene, view: OpeningView, convention: Triangle, page: Box) -> Box:
    """Title above, legend, lights and findings below; gives the whole page. [mm]."""
    em = scene.em
    width = max(page.width, EMS_ACROSS * em)
    x = page.x - (width - page.width) / 2 + EDGE * em
    inner = width - 2 * EDGE * em
    top = _add_title(scene, view, x, page.y, inner)
    y = page.bottom + 0.2 * em
    y = add_legend(scene, view, convention, (x, y), inner)
    for words in lights_in_words(view):
        for line in wrapped(words, inner / em, 0.85):
            y += 1.2 * em
            scene.add(Text((x, y), line, 0.85, part="light-words"))
    if view.noted:
        y = add_list(scene, view, x, y + 0.6 * em, inner)
    return Box(x - EDGE * em, top, width, y + EDGE * em - top)


def _add_title(scene: Scene, view: OpeningView, x: float, bottom: float, width: float) -> float:
    """Name, order and view, from the bottom up; gives the top of the page. [mm]."""
    em = scene.em
    seen = f"Seen from {view.view}"
    plate = (text_width(seen, 1.15, is_bold=True) + 1.2) * em
    is_inside = view.view == "inside"
    lines = wrapped(view.name, (width - plate) / em - 1.0, 1.5 * 1.13)
    y = bottom - 0.5 * em
    if view.decision in _DECIDED:
        text = _DECIDED[view.decision]
        is_dark = view.decision == "rejected"
        band = Box(x, y - 1.5 * em, width, 1.7 * em)
        scene.add(Rectangle(band, "plate-dark" if is_dark else "plate", "decision"))
        at = (x + 0.5 * em, y - 0.35 * em)
        scene.add(Text(at, text, 1.05, is_bold=True, is_light=is_dark, part="decision-text"))
        y -= 2.2 * em
    order = f"Order {view.order_ref or 'without a reference'}; sizes in mm"
    order_lines = wrapped(order, (width - plate) / em - 1.0, 0.85)
    for line in reversed(order_lines):
        scene.add(Text((x, y), line, 0.85, is_given=True, part="order"))
        y -= 1.15 * em
    y -= 0.35 * em
    for line in reversed(lines):
        scene.add(Text((x, y), line, 1.5, is_bold=True, is_given=True, part="name"))
        y -= 1.8 * em
    box = Box(x + width - plate, y + 0.3 * em, plate, 2.0 * em)
    scene.add(Rectangle(box, "plate-dark" if is_inside else "plate", "view"))
    at = (box.x + box.width / 2, box.y + 1.4 * em)
    scene.add(Text(at, seen, 1.15, "middle", is_bold=True, is_light=is_inside, part="view-text"))
    return y - 0.6 * em
