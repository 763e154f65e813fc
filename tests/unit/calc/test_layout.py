"""Fields and dividers of a layout, worked out for a frame of 1798 x 1220 in demo70."""

from dataclasses import replace
from fractions import Fraction

import pytest

from sawready.calc.layout import Fields, divide
from sawready.calc.linear import Linear
from sawready.catalogue.load import Catalogue
from sawready.catalogue.profiles import ProfileSystem
from sawready.layouts import read_layout
from sawready.model.layout import Layout, turned

MM = 1_000_000
SIZE = {"W": Fraction(1798), "H": Fraction(1220)}


@pytest.fixture(scope="module")
def demo70(catalogue: Catalogue) -> ProfileSystem:
    system = catalogue.system("demo70")
    assert system is not None
    return system


def read(text: str) -> Layout:
    return read_layout(text, lambda value: round(Fraction(value) * MM))


def at(form: Linear, fields: Fields) -> float:
    places = {f"p{number}": Fraction(place.nm, MM) for number, place in enumerate(fields.places)}
    return float(form.at({**SIZE, **places}))


def daylights(fields: Fields) -> list[tuple[float, float]]:
    return [(at(light.x.size, fields), at(light.y.size, fields)) for light in fields.lights]


def centres(fields: Fields) -> list[tuple[str, float]]:
    return [(divider.part, at(divider.centre, fields)) for divider in fields.dividers]


def test_one_light_fills_the_frames_daylight(demo70: ProfileSystem) -> None:
    fields = divide(read("fixed"), demo70)
    assert daylights(fields) == [(1674, 1096)]
    assert fields.dividers == []


@pytest.mark.parametrize(
    ("text", "sizes", "dividers"),
    [
        ("fixed | fixed", [(799, 1096)] * 2, [("mullion", 899)]),
        ("fixed / fixed", [(1674, 510)] * 2, [("transom", 610)]),
        ("fixed |@600 fixed", [(500, 1096), (1098, 1096)], [("mullion", 600)]),
        (
            "fixed | fixed |@1300 fixed",
            [(562, 1096), (562, 1096), (398, 1096)],
            [("mullion", 662), ("mullion", 1300)],
        ),
        (
            "fixed |@600 fixed | fixed",
            [(500, 1096), (511, 1096), (511, 1096)],
            [("mullion", 600), ("mullion", 1187)],
        ),
        (
            "fixed |@500 fixed | fixed |@1400 fixed",
            [(400, 1096), (374, 1096), (374, 1096), (298, 1096)],
            [("mullion", 500), ("mullion", 950), ("mullion", 1400)],
        ),
        (
            "fixed / fixed | fixed",
            [(1674, 510), (799, 510), (799, 510)],
            [("transom", 610), ("mullion", 899)],
        ),
        (
            "(fixed / fixed) | fixed",
            [(799, 510), (799, 510), (799, 1096)],
            [("mullion", 899), ("transom", 610)],
        ),
        (
            "(fixed | fixed) | fixed",
            [(361.5, 1096), (361.5, 1096), (799, 1096)],
            [("mullion", 899), ("mullion", 461.5)],
        ),
    ],
)
def test_daylights_and_centre_lines(
    demo70: ProfileSystem, text: str, sizes: list[tuple[float, float]], dividers: list[tuple[str, float]]
) -> None:
    fields = divide(read(text), demo70)
    assert daylights(fields) == sizes
    assert centres(fields) == dividers


def test_places_seen_from_inside_count_from_the_other_edge(demo70: ProfileSystem) -> None:
    fields = divide(turned(read("fixed |@600 fixed |@1000 fixed")), demo70)
    assert centres(fields) == [("mullion", 798), ("mullion", 1198)]


def test_a_divider_knows_whether_its_ends_stand_on_the_frame(demo70: ProfileSystem) -> None:
    fields = divide(read("fixed / (fixed / fixed) | fixed / fixed"), demo70)
    ends = [(divider.part, divider.meets_first, divider.meets_second) for divider in fields.dividers]
    assert ends == [
        ("transom", True, True),
        ("transom", True, True),
        ("mullion", False, False),
        ("transom", True, False),
    ]


def test_a_light_is_bounded_by_what_stands_on_each_side(catalogue: Catalogue) -> None:
    system = catalogue.system("demo82-inward")
    assert system is not None
    first, second, third = divide(read("(fixed / fixed) | fixed"), system).lights
    names = [
        [getattr(light.bounds, side).name for side in ("left", "right", "top", "bottom")]
        for light in (first, second, third)
    ]
    assert names == [
        ["frame-i67", "mullion-i92", "frame-i67", "transom-i78"],
        ["frame-i67", "mullion-i92", "transom-i78", "frame-i67"],
        ["mullion-i92", "frame-i67", "frame-i67", "frame-i67"],
    ]


def test_the_room_of_a_stated_place_runs_from_the_sight_line_or_place_before_it(
    demo70: ProfileSystem,
) -> None:
    fields = divide(read("fixed |@600 fixed | fixed |@1400 fixed"), demo70)
    rooms = [
        (
            None if divider.room is None else at(divider.room, fields),
            None if divider.room_after is None else at(divider.room_after, fields),
        )
        for divider in fields.dividers
    ]
    assert rooms == [(538, None), (None, None), (800, 336)]


@pytest.mark.parametrize(("text", "lacks"), [("fixed | fixed", "mullion"), ("fixed / fixed", "transom")])
def test_a_system_without_the_divider_is_told(demo70: ProfileSystem, text: str, lacks: str) -> None:
    system = replace(demo70, **{lacks: None})
    with pytest.raises(ValueError, match=f"demo70 has no {lacks}"):
        divide(read(text), system)
