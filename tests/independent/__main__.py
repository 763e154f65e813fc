"""Compares many random orders: `PYTHONPATH=service:tests python -m independent 20000 1`."""

# ruff: noqa: T201 - a command prints

import sys
from collections import Counter

from independent.runner import compare_one, everything

if __name__ == "__main__":
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    tools, seen = everything(), Counter[str]()
    shown = 0
    for number in range(seed * 1_000_000, seed * 1_000_000 + count):
        for line in compare_one(number, tools, seen):
            shown += 1
            if shown <= 40:
                print(f"order {number}: {line}")
    print(dict(sorted(seen.items())))
    print(f"{count} orders, {shown} disagreements")
