"""Places: from a field as the sizes see it, from outside, to where the order states it."""

import pytest

from sawready.rules.where import as_written

BASE = "/openings/3"


@pytest.mark.parametrize(
    ("path", "is_turned", "written"),
    [
        ("", False, BASE),
        ("", True, BASE),
        ("gap/left", False, f"{BASE}/gap/left"),
        ("gap/left", True, f"{BASE}/gap/right"),
        ("extenders/right", True, f"{BASE}/extenders/left"),
        ("to_come/left", True, f"{BASE}/to_come/right"),
        ("gap/top", True, f"{BASE}/gap/top"),
        ("sill/horn_left", True, f"{BASE}/sill/horn_right"),
        ("sill/projection", True, f"{BASE}/sill/projection"),
        ("heights/0", False, f"{BASE}/heights/0"),
        ("heights/0", True, f"{BASE}/heights/2"),
        ("heights/2", True, f"{BASE}/heights/0"),
        ("heights", True, f"{BASE}/heights"),
        ("diagonals/0", True, f"{BASE}/diagonals/1"),
        ("diagonals/1", False, f"{BASE}/diagonals/1"),
        ("widths/0", True, f"{BASE}/widths/0"),
        ("frame/width", True, f"{BASE}/frame/width"),
    ],
)
def test_left_and_right_are_the_orders_own(path: str, is_turned: bool, written: str) -> None:
    assert as_written(path, base=BASE, is_turned=is_turned, from_defaults=frozenset(), heights=3) == written


def test_what_the_defaults_supply_is_pointed_at_there() -> None:
    found = as_written("gap/left", base=BASE, is_turned=True, from_defaults=frozenset({"gap"}), heights=1)
    assert found == "/defaults/gap/right"
    assert (
        as_written("sill/fit", base=BASE, is_turned=False, from_defaults=frozenset({"gap"}), heights=1)
        == f"{BASE}/sill/fit"
    )
