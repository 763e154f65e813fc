"""What a fitter is told in words: handing from inside, packing, sealing, lifting, cautions.

The texts and figures stand in ``catalogue/data/sheet.yaml``, each with its source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from sawready.calc.handling import people_needed
from sawready.catalogue.physics import physics
from sawready.catalogue.yaml_door import load_yaml
from sawready.report.drawing_words import at_side
from sawready.report.order_view import Box, LightView, OpeningView, OrderView, Side, mm_text

_SIDES: Final[tuple[Side, ...]] = ("left", "right", "top", "bottom")
_NEARLY_ALL: Final = 0.85
"""A light that takes more of the window than this has no place to be named by."""


_MOST_NAMED: Final = 5
"""Opening lights up to which each is named by its place."""


@cache
def texts() -> Mapping[str, Any]:
    """The tree of ``sheet.yaml``, read once; every leaf is text."""
    data = files("sawready.catalogue").joinpath("data", "sheet.yaml").read_bytes()
    loaded: Mapping[str, Any] = load_yaml(data, name="sheet.yaml").data
    return loaded


@dataclass(frozen=True, slots=True)
class Lifting:
    """Filters that people's number is told by. [kg].

    Attributes:
        single: filter of one strong adult.
        lower: filter that suits more people.
        shares: what a team may lift, as a share of the sum, by number of people.
    """

    single: float
    lower: float
    shares: Mapping[int, float]

    def people(self, mass_kg: float) -> int | None:
        """How many people a mass takes by the filter; None where three are not enough."""
        return people_needed(mass_kg=mass_kg, filter_kg=self.single, team_shares=self.shares)

    def in_words(self, mass_kg: float) -> str:
        """The same in words.

        Example: ``2 people``, or ``lifting aid``.
        """
        people = self.people(mass_kg)
        if people is None:
            return "lifting aid"
        return "1 person" if people == 1 else f"{people} people"


@cache
def lifting() -> Lifting:
    """The filters of ``physics.yaml`` that ``sheet.yaml`` names."""
    own = texts()["people"]
    close = {
        str(row["group"]): float(row["close_kg"])
        for row in physics().figures["lifting.filters"].rows
        if row["zone"] == own["zone"]
    }
    shares = physics().column("lifting.team_shares", by="people")
    return Lifting(
        single=close[own["group"]],
        lower=close[texts()["lower_group"]],
        shares={int(people): share for people, share in shares.items()},
    )


def lifting_note() -> str:
    """What the filters mean."""
    own: str = texts()["people"]["note"]
    return own.format(single=lifting().single, lower=lifting().lower)


def place_words(box: Box, window: Box) -> str:
    """Where a light is in its window; empty where it takes nearly all of it.

    Example:
        >>> place_words(Box(0, 0, 400, 1000), Box(0, 0, 1200, 1000))
        'left'
        >>> place_words(Box(800, 700, 400, 300), Box(0, 0, 1200, 1000))
        'bottom right'
    """
    words = []
    share = (box.y + box.height / 2 - window.y) / window.height
    if box.height < _NEARLY_ALL * window.height * 0.9:
        words.append("top" if share < 0.4 else "bottom" if share > 0.6 else "middle")
    share = (box.x + box.width / 2 - window.x) / window.width
    if box.width < _NEARLY_ALL * window.width * 0.9:
        words.append("left" if share < 0.4 else "right" if share > 0.6 else "middle")
    return " ".join(dict.fromkeys(words))


def inside_words(opening: OpeningView) -> list[tuple[str, str]]:
    """Each opening light as it is seen from inside: its name, and where hinges and handle are.

    Where there are many, those that open alike stand together; those that are fixed come last.

    Args:
        opening: in any view.
    Example: ``("Light 1 (right)", "handle on the left, hinges on the right; opens outward")``.
    """
    view = opening.seen_from("inside")
    window = view.frame
    openers = [light for light in view.lights if light.hinge is not None and light.sash is not None]
    found = []
    if window is not None and len(openers) <= _MOST_NAMED:
        for light in openers:
            place = place_words(light.sash or light.daylight, window) if len(view.lights) > 1 else ""
            found.append((f"Light {light.number} ({place})" if place else _lights([light]), _handing(light)))
    else:
        alike: dict[str, list[LightView]] = {}
        for light in openers:
            alike.setdefault(_handing(light), []).append(light)
        found = [(_lights(lights), words) for words, lights in alike.items()]
    fixed = [light for light in view.lights if light.hinge is None]
    if fixed:
        found.append((_lights(fixed), "fixed"))
    return found


def _lights(lights: Sequence[LightView]) -> str:
    numbers = sorted(light.number for light in lights)
    return f"Light{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"


def _handing(light: LightView) -> str:
    assert light.hinge is not None  # noqa: S101 - only opening lights are asked about
    handle = at_side(light.handle or "right")
    tilts = ", tilts at the bottom" if light.kind == "tilt-turn" else ""
    return f"handle {handle}, hinges {at_side(light.hinge)}{tilts}; opens {light.opens}"


def packing_words(opening: OpeningView) -> list[tuple[str, str]]:
    """Where the glass of each light is packed, sides as seen from inside; lights that are alike together."""
    alike: dict[str, list[str]] = {}
    for light in opening.seen_from("inside").lights:
        text = texts()["packing"][light.kind]["text"].format(hinge=light.hinge, handle=light.handle)
        alike.setdefault(text, []).append(str(light.number))
    return [
        (f"Light{'s' * (len(numbers) > 1)} {', '.join(numbers)}:", text) for text, numbers in alike.items()
    ]


def bead_words(opening: OpeningView) -> str:
    """In which order the beads go in; empty where no bead is known."""
    if opening.joint is None:
        return ""
    text: str = texts()["beads"][opening.joint]["text"]
    return text


def seal_words(opening: OpeningView, order: OrderView) -> list[str]:
    """What is sealed."""
    seal = texts()["seal"]
    found = [seal["joint"]["text"].format(depth=float(seal["depth_mm"]))]
    above = order.strip_above_mm
    if above is not None:
        clearance = opening.published["clearance"] or {}
        wide = [side for side in _SIDES if (clearance.get(f"{side}_mm") or 0.0) > above]
        if wide:
            sides = "all round" if len(wide) == len(_SIDES) else ", ".join(wide)
            found.append(seal["strip"]["text"].format(above=above, sides=sides))
    if opening.sill is not None:
        found.append(seal["sill"]["text"])
    found.append(seal["holes"]["text"])
    return found


def glass_mark(safety: str) -> str:
    """The mark to look for on a pane of that kind."""
    text: str = texts()["glass_marks"][safety]["text"]
    return text


def cautions() -> list[tuple[str, str]]:
    """What can hurt somebody, and who decides."""
    return [(each["about"], each["text"]) for each in texts()["cautions"]]


def hole_words(opening: OpeningView) -> list[tuple[str, str]]:
    """Fixing holes along each side, as published; sides that are alike together."""
    fixings = opening.published["fixings"] or {}
    starts = {
        "left": "from the top",
        "right": "from the top",
        "top": "from the left",
        "bottom": "from the left",
    }
    alike: dict[tuple[str, str], list[str]] = {}
    for side in _SIDES:
        places = fixings.get(side)
        if places:
            text = " · ".join(mm_text(place) for place in places)
            alike.setdefault((starts[side], text), []).append(side)
    return [(f"{' and '.join(sides).capitalize()}, {start}:", text) for (start, text), sides in alike.items()]


def storey_words(storey: int | None) -> str:
    """A storey in words.

    Example:
        >>> storey_words(0), storey_words(2), storey_words(-1)
        ('ground floor', 'floor 2', 'below ground 1')
    """
    if storey is None:
        return ""
    if storey == 0:
        return "ground floor"
    return f"floor {storey}" if storey > 0 else f"below ground {-storey}"
