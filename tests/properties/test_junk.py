"""Whatever stands in an order, checking it gives a result: nothing raises and nothing is lost.

The doors refuse much of this before it gets here; the core must not count on that.
"""

import copy
import datetime as dt
import json
import random
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from full_order import full_order
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.as_json import result_bytes

CATALOGUE = Catalogue.load_builtin()
Path = tuple[str | int, ...]


def _nested(levels: int, *, as_list: bool) -> Any:
    inner: Any = {}
    for _ in range(levels):
        inner = [inner] if as_list else {"columns": [inner, inner]}
    return inner


def _pane(**more: Any) -> dict[str, Any]:
    return {"columns": [{"light": "fixed"}, {"light": "fixed"}], **more}


JUNK: dict[str, list[Any]] = {
    "nothing": [None, "", " ", "\t", [], {}, (), [None], [None] * 3, [[]], [{}], {"": ""}],
    "truth": [True, False, "true", "yes", "no"],
    "numbers": [
        0,
        1,
        -1,
        2,
        0.1,
        -0.0,
        1e308,
        5e-324,
        10**30,
        Decimal("-0"),
        Decimal("1E-400"),
        Decimal("1E+400"),
    ],
    "numbers beyond all": [10**5000, -(10**5000), Decimal("1E+999999999"), Decimal("1E-999999999")],
    "no numbers": [
        float("nan"),
        float("inf"),
        Decimal("NaN"),
        Decimal("sNaN"),
        Decimal("-Infinity"),
        complex(1, 2),
    ],
    "texts": [
        "abc",
        "nan",
        "1e9999",
        "-5",
        "0/0",
        "1/0 in",
        "１２",
        "½",
        '47 1/4"',
        "1812/1808/1810",
        "2 off",
        "a pair",
    ],
    "texts of other fields": [
        "outside",
        "white",
        "top-hung",
        "4-20-4",
        "2026-02-30",
        "horns_into_wall",
        "laminated",
    ],
    "texts too long": ["x" * 100_000, "9" * 5000, "(" * 5000, "fixed|" * 5000],
    "signs": ["\ud800", "\x00", "\u202e", "{0}", "{field}", "%s", "~/~2", "\r\n", "é" * 81],
    "layouts": [
        "@",
        "(",
        "|",
        "fixed |@ fixed",
        "fixed |@0 fixed",
        "side-hung |@99 fixed",
        "fixed |@999999.9999 fixed",
    ],
    "lists": [[1, 2, 3], ["1", "2", "3"], [1] * 5, [[1, 2, 3]], [Decimal("NaN")] * 3, [{"a": 1}]],
    "trees": [
        {"light": "fixed"},
        {"light": []},
        {"light": "side-hung", "hinge": {}},
        {"light": "fixed", "safety": [1]},
        {"light": "fixed", 5: 6, None: 7},
        {"columns": []},
        {"rows": {"a": 1}},
        {"columns": [{"light": "fixed"}]},
        _pane(at={}),
        _pane(at=["x"]),
        _pane(at=[float("inf")]),
        _pane(at=[Decimal("sNaN")]),
        _pane(at=[Decimal("1E-999999999")]),
        _pane(at=[10**5000]),
        _pane(at=[-1]),
    ],
    "kinds that no door makes": [
        (1,),
        {1},
        frozenset({1}),
        b"x",
        object(),
        int,
        range(3),
        dt.date(2026, 1, 1),
    ],
    "keys that no door makes": [{1: 2}, {None: None}, {("a",): 1}, {"\ud800": 1}],
    "depth": [_nested(3000, as_list=True), _nested(14, as_list=False)],
}


def paths(value: Any, before: Path = ()) -> Iterator[Path]:
    """Every place inside a document."""
    members = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for name, inner in members:
        yield (*before, name)
        yield from paths(inner, (*before, name))


PATHS = [path for path in paths(full_order()) if path != ("openings",)]


def put(document: Any, path: Path, value: Any) -> None:
    for step in path[:-1]:
        document = document[step]
    document[path[-1]] = value


def remove(document: Any, path: Path) -> None:
    for step in path[:-1]:
        document = document[step]
    del document[path[-1]]


def check(order: Any) -> dict[str, Any]:
    """The result, which must be whole whatever the order holds."""
    told = json.loads(result_bytes(check_order(order, catalogue=CATALOGUE)))
    assert len(told["openings"]) == len(order["openings"])
    for opening in told["openings"]:
        for found in opening["findings"]:
            assert found["message"]
            assert found["remedy"]
        if opening["decision"] == "rejected":
            assert opening["pieces"] == []
        else:
            assert opening["pieces"]
            assert opening["fixings"]
    return told


def test_the_order_that_is_changed_is_accepted_as_it_stands() -> None:
    assert check(full_order())["decision"] == "accepted"


@pytest.mark.parametrize("kind", JUNK)
def test_junk_in_any_place_of_an_order_gives_a_result(kind: str) -> None:
    for path in PATHS:
        for junk in JUNK[kind]:
            order = full_order()
            put(order, path, junk)
            if order["openings"]:
                check(order)


def test_an_order_lacking_any_of_its_values_gives_a_result() -> None:
    for path in PATHS:
        order = full_order()
        remove(order, path)
        if order["openings"]:
            check(order)


def test_a_strange_field_in_any_object_is_found_and_named() -> None:
    places = [path for path in ((), *PATHS) if "layout" not in path and path != ("defaults",)]
    for path in places:
        order = full_order()
        spot: Any = order
        for step in path:
            spot = spot[step]
        if isinstance(spot, dict):
            spot["colur"] = 1
            found = [
                each for each in check(order)["openings"][0]["findings"] if each["reason"] == "field-unknown"
            ]
            at = "".join(f"/{step}" for step in (*path, "colur"))
            assert [(each["at"], '"colur"' in each["message"]) for each in found] == [(at, True)]


@settings(max_examples=300, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_several_faults_at_once_give_a_result(seed: int) -> None:
    rng = random.Random(seed)
    order = full_order()
    order["openings"].append(copy.deepcopy(order["openings"][0]) | {"opening_ref": "W2"})
    for _ in range(rng.randint(2, 6)):
        places = [path for path in paths(order) if path != ("openings",)]
        path, way = rng.choice(places), rng.random()
        if way < 0.2:
            remove(order, path)
        elif way < 0.8:
            put(order, path, copy.deepcopy(rng.choice(JUNK[rng.choice(sorted(set(JUNK) - {"depth"}))])))
        else:
            value: Any = order
            for step in rng.choice(places):
                value = value[step]
            put(order, path, copy.deepcopy(value))
        if not order["openings"]:
            return
    check(order)


@pytest.mark.parametrize(
    "raw", [None, 1, "x", [], {}, {"openings": []}, {"openings": {}}, {"openings": None}]
)
def test_what_is_no_order_at_all_is_refused_with_a_sentence(raw: Any) -> None:
    with pytest.raises(ValueError, match="an order is an object with openings, a list of one or more"):
        check_order(raw, catalogue=CATALOGUE)


def _slip(value: int, rng: random.Random) -> Any:
    """A reading as a slip of pen, tape or unit leaves it."""
    return rng.choice(
        [value + 100, value - 50, value + 1000, value // 10, Decimal(value * 10) / 254, int(str(value)[::-1])]
    )


def _slipped_opening(rng: random.Random, ref: str) -> dict[str, Any]:
    wide, high = rng.randint(500, 2200), rng.randint(500, 2200)
    sizes = {"widths": wide, "heights": high}
    opening: dict[str, Any] = {
        name: [size + rng.randint(0, 14) for _ in range(rng.randint(1, 3))] for name, size in sizes.items()
    }
    opening |= {"opening_ref": ref, "layout": "fixed", "colour": {"outside": rng.choice(("white", "grey"))}}
    opening["glazing"] = {"unit": "4-20-4"}
    if rng.random() < 0.7:
        one, other = (high, wide) if rng.random() < 0.5 else (wide, high)
        opening["frame"] = {"width": one - rng.randint(-20, 60), "height": other - rng.randint(-20, 90)}
    if rng.random() < 0.3:
        diagonal = int((wide**2 + high**2) ** 0.5)
        opening["diagonals"] = [diagonal + rng.randint(-60, 60) for _ in range(rng.randint(1, 2))]
    if rng.random() < 0.3:
        opening["inside"] = {"width": wide + rng.randint(-80, 80), "height": high + rng.randint(-80, 80)}
    if rng.random() < 0.3:
        opening["sill"] = {"projection": 150, "fit": "between_reveals"}
        if "frame" in opening:
            opening["frame"]["height_includes_sill"] = rng.random() < 0.5
    if rng.random() < 0.4:
        readings = opening[rng.choice(("widths", "heights"))]
        number = rng.randrange(len(readings))
        readings[number] = _slip(readings[number], rng)
    return opening


def test_surveys_with_slips_of_every_kind_give_a_result() -> None:
    rng = random.Random(11)
    for number in range(2500):
        openings = [_slipped_opening(rng, "W1")]
        if number % 3 == 0:
            openings += [{**copy.deepcopy(openings[0]), "opening_ref": f"W{ref}"} for ref in (2, 3)]
            if rng.random() < 0.5:
                last = openings[-1]
                last["widths"], last["heights"] = last["heights"], last["widths"]
        order = {
            "order_ref": "S-1",
            "system": "demo70",
            "rulebook": "england",
            "units": "mm",
            "viewed_from": "outside",
        }
        check({**order, "openings": openings})


def test_a_swapped_survey_with_more_heights_than_widths_gives_a_result() -> None:
    """Once width and height are changed over there are more width readings than the order has."""
    opening = {
        "opening_ref": "W1",
        "widths": [961],
        "heights": [2045, 2045],
        "frame": {"width": 2042, "height": 939},
        "layout": "fixed",
        "colour": {"outside": "grey"},
        "glazing": {"unit": "4-20-4"},
    }
    head = {
        "order_ref": "S-2",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
    }
    told = check({**head, "openings": [opening]})
    assert "width-height-swapped" in {found["reason"] for found in told["openings"][0]["findings"]}
