"""Layouts: text or tree to a plain tree, turned to the outside, divided into rectangles."""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from independent.figures import TO_MM

_TOKEN = re.compile(r"\s*([|/](?:@\d+(?:\.\d+)?)?|[()]|[a-z-]+)")
HANDED = ("side-hung", "tilt-turn")
OTHER = {"left": "right", "right": "left", None: None}

Box = tuple[Fraction, Fraction, Fraction, Fraction]  # left, top, right, bottom


@dataclass
class Node:
    """A light, or a division into columns or rows with the places of its dividers (None: equal)."""

    light: str | None = None
    hinge: str | None = None
    safety: str | None = None
    way: str | None = None
    parts: list["Node"] = field(default_factory=list)
    at: list[Fraction | None] = field(default_factory=list)


@dataclass
class Pane:
    """A light in its place: daylight, and the rebate depth of what bounds it (left, top, right, bottom)."""

    node: Node
    box: Box
    rebates: Box


@dataclass
class Divider:
    """A mullion or transom: centre line, and where it runs."""

    kind: str
    at: Fraction
    start: Fraction
    end: Fraction


def read_layout(written: Any, units: str) -> Node:
    """The layout as written, seen as written."""
    if isinstance(written, dict):
        return _from_tree(written, units)
    tokens = _TOKEN.findall(written)
    if "".join(tokens) != "".join(written.split()):
        raise ValueError(written)
    node = _rows(tokens, units)
    if tokens:
        raise ValueError(written)
    return node


def _from_tree(tree: dict[str, Any], units: str) -> Node:
    if "light" in tree:
        return Node(light=tree["light"], hinge=tree.get("hinge"), safety=tree.get("safety"))
    way = "columns" if "columns" in tree else "rows"
    parts = [_from_tree(part, units) for part in tree[way]]
    at = tree.get("at") or [None] * (len(parts) - 1)
    places = [None if place is None else Fraction(place) * TO_MM[units] for place in at]
    return Node(way=way, parts=parts, at=places)


def _rows(tokens: list[str], units: str) -> Node:
    return _chain(
        tokens,
        units,
        "/",
        "rows",
        lambda: _chain(tokens, units, "|", "columns", lambda: _item(tokens, units)),
    )


def _chain(tokens: list[str], units: str, sign: str, way: str, inner: Any) -> Node:
    parts, at = [inner()], []
    while tokens and tokens[0][0] == sign:
        token = tokens.pop(0)
        at.append(Fraction(token[2:]) * TO_MM[units] if len(token) > 1 else None)
        parts.append(inner())
    return parts[0] if len(parts) == 1 else Node(way=way, parts=parts, at=at)


def _item(tokens: list[str], units: str) -> Node:
    word = tokens.pop(0)
    if word == "(":
        node = _rows(tokens, units)
        if tokens.pop(0) != ")":
            raise ValueError(word)
        return node
    if word in HANDED:
        return Node(light=word, hinge=tokens.pop(0))
    return Node(light=word)


def turned(node: Node, width: Fraction) -> Node:
    """The same window seen from the other side."""
    if node.light:
        return Node(light=node.light, hinge=OTHER[node.hinge], safety=node.safety)
    parts = [turned(part, width) for part in node.parts]
    if node.way == "rows":
        return Node(way="rows", parts=parts, at=list(node.at))
    at = [None if place is None else width - place for place in node.at]
    return Node(way="columns", parts=parts[::-1], at=at[::-1])


def divide(node: Node, width: Fraction, height: Fraction, profiles: Any) -> tuple[list[Pane], list[Divider]]:
    """Lights in reading order and dividers, a division's own first."""
    face, rebate = Fraction(profiles["frame"]["face_mm"]), Fraction(profiles["frame"]["rebate_mm"])
    panes: list[Pane] = []
    dividers: list[Divider] = []
    _divide(node, (face, face, width - face, height - face), (rebate,) * 4, profiles, panes, dividers)
    return panes, dividers


def _divide(
    node: Node, box: Box, rebates: Box, profiles: Any, panes: list[Pane], dividers: list[Divider]
) -> None:
    if node.light:
        panes.append(Pane(node, box, rebates))
        return
    axis, kind = (0, "mullion") if node.way == "columns" else (1, "transom")
    face, rebate = Fraction(profiles[kind]["face_mm"]), Fraction(profiles[kind]["rebate_mm"])
    centres = centres_of(node.at, box[axis], box[axis + 2], face)
    dividers.extend(Divider(kind, centre, box[1 - axis], box[3 - axis]) for centre in centres)
    starts = [box[axis], *(centre + face / 2 for centre in centres)]
    ends = [*(centre - face / 2 for centre in centres), box[axis + 2]]
    for place, part in enumerate(node.parts):
        inner, around = list(box), list(rebates)
        inner[axis], inner[axis + 2] = starts[place], ends[place]
        if place > 0:
            around[axis] = rebate
        if place < len(node.parts) - 1:
            around[axis + 2] = rebate
        _divide(part, tuple(inner), tuple(around), profiles, panes, dividers)  # type: ignore[arg-type]


def centres_of(at: list[Fraction | None], start: Fraction, end: Fraction, face: Fraction) -> list[Fraction]:
    """Centre lines of all dividers; those without a place share what lies between their neighbours."""
    centres = list(at)
    place = 0
    while place < len(centres):
        if centres[place] is not None:
            place += 1
            continue
        last = place
        while last < len(centres) and centres[last] is None:
            last += 1
        a = start if place == 0 else centres[place - 1] + face / 2
        b = end if last == len(centres) else centres[last] - face / 2
        count = last - place
        each = (b - a - count * face) / (count + 1)
        for step in range(count):
            centres[place + step] = a + (step + 1) * each + step * face + face / 2
        place = last
    return centres  # type: ignore[return-value]


def outside_parent(node: Node, box: Box, profiles: Any) -> bool:
    """Whether any stated place fails to rise, or leaves its divider outside the daylight it divides."""
    if node.light:
        return False
    axis, kind = (0, "mullion") if node.way == "columns" else (1, "transom")
    face = Fraction(profiles[kind]["face_mm"])
    centres = centres_of(node.at, box[axis], box[axis + 2], face)
    known = [place for place in node.at if place is not None]
    if any(not box[axis] < place < box[axis + 2] for place in known) or known != sorted(set(known)):
        return True
    starts = [box[axis], *(centre + face / 2 for centre in centres)]
    ends = [*(centre - face / 2 for centre in centres), box[axis + 2]]
    for start, end, part in zip(starts, ends, node.parts, strict=True):
        inner = list(box)
        inner[axis], inner[axis + 2] = start, end
        if outside_parent(part, tuple(inner), profiles):  # type: ignore[arg-type]
            return True
    return False
