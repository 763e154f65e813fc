"""The same order gives the same bytes in every process, whatever Python's hash seed (engineering rule R5)."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

SCRIPT = """
import hashlib, json, random
from decimal import Decimal
from full_order import full_order
from independent.generator import random_order
from independent.runner import everything
from sawready.pipeline import check_order
from sawready.report.as_json import result_bytes

tools = everything()
orders = [random_order(random.Random(number), tools.systems, tools.rulebook) for number in range(60)]
for number in range(60):
    order, rng = full_order(), random.Random(number)
    opening = order["openings"][0]
    for name in rng.sample(sorted(opening), 4):
        opening[name] = rng.choice([None, "x", 5, [], {}, {"zz": 1, "aa": 2}, [1, 2, 3]])
    opening.update({f"strange_{letter}": 1 for letter in rng.sample("abcdefgh", 4)})
    orders.append(order)
lines = hashlib.sha256()
for order in orders:
    lines.update(result_bytes(check_order(order, catalogue=tools.catalogue)))
print(lines.hexdigest())
"""


def _digest(seed: str) -> str:
    paths = os.pathsep.join((str(TESTS.parent / "service"), str(TESTS)))
    done = subprocess.run(  # noqa: S603 - our own script
        [sys.executable, "-c", SCRIPT],
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


@pytest.fixture(scope="module")
def of_seed_0() -> str:
    return _digest("0")


@pytest.mark.parametrize("seed", ["1", "2", "3"])
def test_bytes_do_not_depend_on_the_hash_seed(of_seed_0: str, seed: str) -> None:
    assert _digest(seed) == of_seed_0
