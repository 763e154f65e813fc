"""Written layouts: text such as ``side-hung left |@600 fixed``, or the tree form, into a Layout."""

import re
from collections.abc import Callable
from decimal import Decimal
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, Final, Literal

from sawready.model.layout import HINGED_AT_A_SIDE, KINDS, Division, Layout, Light, Place

MOST_LIGHTS: Final = 60
MOST_DEPTH: Final = 12
MOST_CHARACTERS: Final = 2000

_TOKEN: Final = re.compile(r"[|/()]|@|[0-9]{1,6}(?:\.[0-9]{1,4})?|[A-Za-z][A-Za-z-]{0,30}|\S", re.ASCII)
_NUMBER: Final = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,4})?", re.ASCII)
_SAFETY: Final = ("none", "toughened", "laminated")

_BEYOND: Final = 10**6
"""No place is as large in any unit; the text form takes no more digits either."""

_LEAST_EXPONENT: Final = -12
"""Below this power of ten a number is nought in any unit, and a fraction of it would only cost time."""

ToNm = Callable[[Any], int]
"""Turns a stated place into nanometres; raises ValueError with a sentence where it cannot."""


class NoUnitError(ValueError):
    """A place in a layout is a bare number, and no unit is stated for it."""


def read_layout(written: Any, to_nm: ToNm) -> Layout:
    """The layout that an order states, as seen from the order's view.

    Args:
        written: text or tree, as contract section 1 lays down.
        to_nm: turns a place in the order's units into nanometres.
    Returns: the layout.
    Raises: ValueError with a sentence that names the place in the text or tree and what would do;
        NoUnitError as ``to_nm`` raised it.
    """
    layout = _Reader(written, to_nm).read() if isinstance(written, str) else _tree(written, to_nm, "", 0)
    count = _count(layout)
    if count > MOST_LIGHTS:
        raise ValueError(f"it has {count} lights; {MOST_LIGHTS} are the most for one frame")
    return layout


def _count(layout: Layout) -> int:
    return 1 if isinstance(layout, Light) else sum(map(_count, layout.parts))


def _light(kind: str, hinge: Any, safety: Any, where: str) -> Light:
    """A light, its words checked."""
    if kind not in KINDS:
        near = get_close_matches(kind, KINDS, n=1, cutoff=0.6)
        hint = f"; {near[0]} is the nearest" if near else ""
        raise ValueError(f'"{kind[:40]}" {where} is no kind of light ({", ".join(KINDS)}){hint}')
    if kind in HINGED_AT_A_SIDE:
        if hinge not in ("left", "right"):
            raise ValueError(f"{kind} {where} needs its hinge side, left or right")
    elif hinge is not None:
        raise ValueError(f"{kind} {where} has no hinge side")
    if safety is not None and safety not in _SAFETY:
        said = f'safety "{safety[:40]}"' if isinstance(safety, str) else "safety"
        raise ValueError(f"{said} {where} is not {', '.join(_SAFETY)}")
    return Light(kind, hinge, safety)


class _Reader:
    """Reads the text form; one level of brackets deeper for each group."""

    def __init__(self, text: str, to_nm: ToNm) -> None:
        if len(text) > MOST_CHARACTERS:
            raise ValueError(f"it is longer than {MOST_CHARACTERS} characters")
        self._tokens = [(match.group(), match.start() + 1) for match in _TOKEN.finditer(text)]
        if not self._tokens:
            raise ValueError("it is empty")
        self._at = 0
        self._to_nm = to_nm

    def read(self) -> Layout:
        layout = self._rows(0)
        if self._at < len(self._tokens):
            raise ValueError(f"{self._here()} is not expected; a divider (| or /) or the end is")
        return layout

    def _here(self) -> str:
        if self._at >= len(self._tokens):
            return "the end of the layout"
        token, place = self._tokens[self._at]
        return f'"{token}" at character {place}'

    def _next(self) -> str:
        return self._tokens[self._at][0] if self._at < len(self._tokens) else ""

    def _rows(self, depth: int) -> Layout:
        return self._division("rows", "/", lambda: self._columns(depth))

    def _columns(self, depth: int) -> Layout:
        return self._division("columns", "|", lambda: self._field(depth))

    def _division(self, axis: Literal["columns", "rows"], sign: str, part: Callable[[], Layout]) -> Layout:
        parts = [part()]
        places: list[Place | None] = []
        while self._next() == sign:
            self._at += 1
            places.append(self._place())
            parts.append(part())
        return parts[0] if len(parts) == 1 else Division(axis, tuple(parts), tuple(places))

    def _place(self) -> Place | None:
        if self._next() != "@":
            return None
        self._at += 1
        number = self._next()
        if not _NUMBER.fullmatch(number):
            raise ValueError(f"{self._here()} is no place; a plain number in the order's units follows @")
        here = self._here()
        self._at += 1
        try:
            return Place(self._to_nm(Decimal(number)))
        except NoUnitError:
            raise
        except ValueError as error:
            raise ValueError(f"the place {here} cannot be used: {error}") from error

    def _field(self, depth: int) -> Layout:
        if self._next() == "(":
            if depth >= MOST_DEPTH:
                raise ValueError(f"{self._here()} nests deeper than {MOST_DEPTH} groups")
            self._at += 1
            layout = self._rows(depth + 1)
            if self._next() != ")":
                raise ValueError(f"{self._here()} stands where the group's closing bracket is due")
            self._at += 1
            return layout
        token = self._next()
        if not token or not token[0].isalpha():
            raise ValueError(f"{self._here()} stands where a light or a group is due")
        where = f"at character {self._tokens[self._at][1]}"
        self._at += 1
        kind = token.lower()
        hinge = self._next().lower()
        if hinge in ("left", "right"):
            self._at += 1
            return _light(kind, hinge, None, where)
        return _light(kind, None, None, where)


def _tree(node: Any, to_nm: ToNm, path: str, depth: int) -> Layout:
    """The tree form; ``path`` leads to the node, for messages."""
    where = f"at {path}" if path else "at its top"
    if not isinstance(node, dict):
        raise ValueError(f"{where} an object with light, columns or rows is due")
    if depth > MOST_DEPTH:
        raise ValueError(f"{where} it nests deeper than {MOST_DEPTH} groups")
    node = {name: value for name, value in node.items() if value is not None}
    forms = [name for name in ("light", "columns", "rows") if name in node]
    if len(forms) != 1:
        raise ValueError(f"{where} exactly one of light, columns and rows is due")
    axis = forms[0]
    known = {"light", "hinge", "safety"} if axis == "light" else {axis, "at"}
    strange = sorted(map(str, set(node) - known))
    if strange:
        raise ValueError(f'{where} "{strange[0][:40]}" is not known; {", ".join(sorted(known))} are')
    if axis == "light":
        if not isinstance(node["light"], str):
            raise ValueError(f"{where} light is no text")
        return _light(node["light"], node.get("hinge"), node.get("safety"), where)
    parts = node[axis]
    if not isinstance(parts, list) or len(parts) < 2:
        raise ValueError(f"{where} {axis} needs a list of two or more")
    at = node.get("at", [None] * (len(parts) - 1))
    if not isinstance(at, list) or len(at) != len(parts) - 1:
        raise ValueError(
            f'{where} the list "at" needs one place a divider, {len(parts) - 1} here, null for equal'
        )
    places: list[Place | None] = []
    for number, place in enumerate(at):
        try:
            places.append(None if place is None else Place(to_nm(place)))
        except NoUnitError:
            raise
        except ValueError as error:
            raise ValueError(f"at {path}/at/{number}: {error}") from error
    layouts = tuple(_tree(part, to_nm, f"{path}/{axis}/{i}", depth + 1) for i, part in enumerate(parts))
    return Division("columns" if axis == "columns" else "rows", layouts, tuple(places))


def place_to_nm(value: Any, *, unit_nm: Fraction) -> int:
    """A plain number in a known unit as nanometres.

    Args:
        value: int, Decimal or float as a layout states it.
        unit_nm: nanometres in one of the order's units.
    Raises: ValueError where it is no number, not above zero, or far outside any frame.
    """
    if isinstance(value, bool) or not isinstance(value, int | Decimal | float):
        raise ValueError("a plain number in the order's units is due")
    number = Decimal(repr(value)) if isinstance(value, float) else value
    if isinstance(number, Decimal) and not number.is_finite():
        raise ValueError("a plain number in the order's units is due")
    if number >= _BEYOND:
        raise ValueError("it lies far outside any frame")
    if number <= 0 or (isinstance(number, Decimal) and number.adjusted() < _LEAST_EXPONENT):
        raise ValueError("it lies at or outside the frame's edge")
    return round(Fraction(number) * unit_nm)
