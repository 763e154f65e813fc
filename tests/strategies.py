"""Hypothesis strategies for orders in whole millimetres, and small tools the laws share."""

from typing import Any

from hypothesis import strategies as st

from sawready.model.layout import Division, Layout, Light, Place

KINDS = ("fixed", "top-hung", "bottom-hung", "side-hung left", "side-hung right")
SIDES = ("left", "right", "top", "bottom")

lights = st.sampled_from(KINDS).map(
    lambda kind: {"light": kind.split()[0], "hinge": kind.split()[1]} if " " in kind else {"light": kind}
)


def _divided(parts: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.builds(
        lambda way, inner: {way: inner},
        st.sampled_from(("columns", "rows")),
        st.lists(parts, min_size=2, max_size=3),
    )


trees = st.recursive(lights, _divided, max_leaves=6)
"""Layouts in the tree form, dividers equal."""


@st.composite
def placed_trees(draw: st.DrawFn, width: int, height: int) -> Any:
    """A tree of one or two levels whose dividers stand at stated places inside the frame."""
    way, size = draw(st.sampled_from((("columns", width), ("rows", height))))
    count = draw(st.integers(2, 3))
    places = sorted(
        draw(st.lists(st.integers(150, size - 150), min_size=count - 1, max_size=count - 1, unique=True))
    )
    return {way: draw(st.lists(lights, min_size=count, max_size=count)), "at": places}


@st.composite
def openings(draw: st.DrawFn, *, ref: str = "W1") -> dict[str, Any]:
    """An opening that makes sense on paper, whether or not it can be made."""
    width, height = draw(st.integers(500, 2700)), draw(st.integers(500, 2200))
    more = st.integers(0, 14)
    opening: dict[str, Any] = {
        "opening_ref": ref,
        "widths": [width + draw(more) for _ in range(draw(st.integers(1, 3)))],
        "heights": [height + draw(more) for _ in range(draw(st.integers(1, 3)))],
        "layout": draw(st.one_of(trees, placed_trees(width - 20, height - 60))),
        "colour": {"outside": draw(st.sampled_from(("white", "grey")))},
        "glazing": {"unit": draw(st.sampled_from(("4-20-4", "4-16-4", "6-16-6")))},
    }
    for key, most in (("to_come", 12), ("gap", 10)):
        if draw(st.booleans()):
            least = 8 if key == "gap" else 0
            sides = draw(st.lists(st.sampled_from(SIDES), unique=True))
            opening[key] = {side: draw(st.integers(least, most)) for side in sides}
    if draw(st.booleans()):
        opening["extenders"] = {side: draw(st.sampled_from((0, 15, 25, 50))) for side in SIDES}
    if draw(st.booleans()):
        fit = draw(st.sampled_from(("between_reveals", "horns_into_wall", "notched_round_brick")))
        opening["sill"] = {"projection": draw(st.sampled_from((85, 150, 180))), "fit": fit}
        if fit != "between_reveals":
            opening["sill"] |= {
                "horn_left": draw(st.integers(10, 80)),
                "horn_right": draw(st.integers(10, 80)),
            }
    if draw(st.booleans()):
        diagonal = int((width**2 + height**2) ** 0.5)
        opening["diagonals"] = [diagonal + draw(st.integers(0, 12)), diagonal + draw(st.integers(0, 12))]
        opening["slope"] = draw(st.sampled_from(("jambs", "head")))
    if draw(st.booleans()):
        opening["frame"] = {
            "width": width - draw(st.integers(8, 40)),
            "height": height - draw(st.integers(30, 70)),
            "height_includes_sill": False,
        }
    return opening


def order_of(*openings: dict[str, Any], **head: Any) -> dict[str, Any]:
    """An order with what every order needs."""
    return {
        "order_ref": "P-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        **head,
        "openings": list(openings),
    }


def as_text(tree: Any, *, is_inner: bool = False) -> str:
    """A layout tree in the text form."""
    if "light" in tree:
        return f"{tree['light']} {tree['hinge']}" if tree.get("hinge") else str(tree["light"])
    way, sign = ("columns", "|") if "columns" in tree else ("rows", "/")
    parts = [as_text(part, is_inner=True) for part in tree[way]]
    at = tree.get("at") or [None] * (len(parts) - 1)
    text = parts[0]
    for place, part in zip(at, parts[1:], strict=True):
        text += f" {sign}{'' if place is None else f'@{place}'} {part}"
    return f"({text})" if is_inner else text


def mirrored(tree: Any, width: int) -> Any:
    """A layout tree as seen from the other side of a frame of that width."""
    if "light" in tree:
        other = {"left": "right", "right": "left"}
        return {**tree, "hinge": other[tree["hinge"]]} if tree.get("hinge") else tree
    way = "columns" if "columns" in tree else "rows"
    parts = [mirrored(part, width) for part in tree[way]]
    turned = {way: parts[::-1] if way == "columns" else parts}
    if tree.get("at"):
        at = tree["at"]
        turned["at"] = [width - place for place in at][::-1] if way == "columns" else at
    return turned


def swapped(sides: dict[str, Any]) -> dict[str, Any]:
    """Left and right of a set of sides the other way round."""
    other = {"left": "right", "right": "left", "horn_left": "horn_right", "horn_right": "horn_left"}
    return {other.get(side, side): value for side, value in sides.items()}


def seen_from_other_side(opening: dict[str, Any], width: int) -> dict[str, Any]:
    """An opening as somebody on the other side would write it; the frame's width is known."""
    turned = {**opening, "layout": mirrored(opening["layout"], width), "heights": opening["heights"][::-1]}
    for key in ("to_come", "gap", "extenders", "sill"):
        if key in opening:
            turned[key] = swapped(opening[key])
    if "diagonals" in opening:
        turned["diagonals"] = opening["diagonals"][::-1]
    return turned


model_lights = st.one_of(
    st.builds(
        Light,
        st.sampled_from(("fixed", "top-hung", "bottom-hung")),
        safety=st.sampled_from((None, "toughened")),
    ),
    st.builds(Light, st.sampled_from(("side-hung", "tilt-turn")), st.sampled_from(("left", "right"))),
)


def _model_divided(parts: st.SearchStrategy[Layout]) -> st.SearchStrategy[Layout]:
    places = st.one_of(st.none(), st.builds(Place, st.integers(1, 3 * 10**9)))
    return st.lists(parts, min_size=2, max_size=4).flatmap(
        lambda inner: st.builds(
            Division,
            st.sampled_from(("columns", "rows")),
            st.just(tuple(inner)),
            st.lists(places, min_size=len(inner) - 1, max_size=len(inner) - 1).map(tuple),
        )
    )


layouts = st.recursive(model_lights, _model_divided, max_leaves=12)
"""Layouts of the model, some with stated places."""
