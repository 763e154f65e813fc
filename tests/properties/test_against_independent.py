"""Every length, mass and hole of random orders, against a second calculation that shares no code.

The second calculation (tests/independent) was written from the project's geometry and contract pages
alone. `PYTHONPATH=service:tests python -m independent 20000 1` compares as many more as wanted.
"""

import copy
import json
import random
from collections import Counter
from decimal import Decimal
from typing import Any

import pytest

from independent.compare import differences
from independent.generator import random_order
from independent.opening import work_out
from independent.runner import Tools, compare_one, everything
from sawready.pipeline import check_order
from sawready.report.as_json import result_bytes

ORDERS = 300

MUST_BE_SEEN = {
    "demo70": 50,
    "demo82-inward": 50,
    "odd61": 50,
    "decision accepted": 100,
    "decision queried": 50,
    "decision rejected": 20,
    "view inside": 100,
    "view outside": 100,
    "view None": 10,
    "units mm": 50,
    "units cm": 20,
    "units in": 20,
    "units m": 20,
    "layout tree": 50,
    "layout text": 50,
    "stated places": 50,
    "lights 6": 50,
    "lights opening": 100,
    "sill between_reveals": 20,
    "sill horns_into_wall": 20,
    "sill notched_round_brick": 20,
    "frame": 50,
    "gap": 30,
    "extenders": 30,
    "to_come": 30,
    "lean head": 10,
    "fixings even": 100,
    "fixings best": 100,
    "fixings none": 50,
}
"""Of each kind at least so many openings (sides, for fixings), or the comparison has gone blind."""


@pytest.fixture(scope="module")
def tools() -> Tools:
    return everything()


def test_random_orders_agree_with_the_independent_calculation(tools: Tools) -> None:
    seen: Counter[str] = Counter()
    found = [
        f"order {number}: {line}" for number in range(ORDERS) for line in compare_one(number, tools, seen)
    ]
    assert not found, "\n".join(found[:20])
    blind = {kind: seen[kind] for kind, least in MUST_BE_SEEN.items() if seen[kind] < least}
    assert not blind, f"too few of these were met: {blind}"


def _set(value: Any) -> Any:
    """A value made wrong by the least that has to be noticed."""
    if isinstance(value, Decimal):
        return value + Decimal("0.11")
    if isinstance(value, int):
        return value + 1
    return f"{value}x"


@pytest.mark.parametrize(
    "path",
    [
        ("frame", "width_mm"),
        ("clearance", "left_mm"),
        ("sill", "length_mm"),
        ("sill", "profile"),
        ("lights", 0, "light"),
        ("lights", 0, "daylight_mm", 1),
        ("lights", 0, "sash_mm", 0),
        ("lights", 0, "glass_mm", 0),
        ("lights", 0, "sash_kg"),
        ("lights", 0, "glass_kg"),
        ("pieces", 0, "length_mm"),
        ("pieces", 1, "part"),
        ("pieces", 2, "profile"),
        ("pieces", 3, "ends"),
        ("beads", 3, "length_mm"),
        ("glass", 0, "height_mm"),
        ("glass", 0, "kg"),
        ("fixings", "left", 1),
        ("fixings", "top", 0),
    ],
    ids=lambda path: "-".join(map(str, path)),
)
def test_the_comparison_notices_a_wrong_value(tools: Tools, path: tuple[str | int, ...]) -> None:
    order = {
        "order_ref": "C-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [
            {
                "opening_ref": "W1",
                "widths": [1810],
                "heights": [1260],
                "layout": "side-hung left | fixed",
                "colour": {"outside": "white"},
                "glazing": {"unit": "4-20-4"},
                "sill": {"projection": 150, "fit": "between_reveals"},
            }
        ],
    }
    result = check_order(order, catalogue=tools.catalogue)
    told = json.loads(result_bytes(result), parse_float=Decimal)["openings"][0]
    own = work_out(order, 0, tools.systems["demo70"], tools.rulebook)
    assert differences(told, own) == []
    wrong = copy.deepcopy(told)
    place = wrong
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = _set(place[path[-1]])
    assert differences(wrong, own)


def test_the_generator_is_the_same_for_the_same_seed(tools: Tools) -> None:
    one, other = (random_order(random.Random(7), tools.systems, tools.rulebook) for _ in range(2))
    assert one == other
