"""The sample orders give the results that are kept beside them, byte for byte.

``pytest tests/golden --rewrite-golden`` writes them anew; review the difference before committing it.
A golden file shows that nothing changed, not that it is right: the figures are held against outside
sources in tests/published.
"""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from sawready.rules import run
from sawready.rules.registry import ABOUT, catalogue_pages

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_orders"
FILES = sorted(path.name for path in SAMPLES.iterdir() if path.suffix in {".csv", ".json", ".ndjson"})


def checked(name: str) -> bytes:
    """Results of one sample file as the command writes them, run from the project's root."""
    command = [sys.executable, "-m", "sawready", "check", f"sample_orders/{name}", "--format", "ndjson"]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)  # noqa: S603 - our own command
    assert run.returncode in {0, 1}, run.stderr.decode()
    return run.stdout


def expected(name: str) -> Path:
    return SAMPLES / "expected" / f"{Path(name).stem}.ndjson"


@pytest.mark.parametrize("name", FILES)
def test_a_sample_gives_its_expected_results(name, pytestconfig):
    """Same order, program, system and rulebook give the same bytes."""
    results = checked(name)
    if pytestconfig.getoption("--rewrite-golden"):
        expected(name).parent.mkdir(exist_ok=True)
        expected(name).write_bytes(results)
    assert results == expected(name).read_bytes()


def kept_openings() -> list[dict]:
    return [
        opening
        for name in FILES
        for line in expected(name).read_text(encoding="utf-8").splitlines()
        for opening in json.loads(line)["openings"]
    ]


def test_the_samples_are_large_enough_to_show_the_job():
    """At least 8 orders and 60 openings, with every decision among them."""
    orders = [line for name in FILES for line in expected(name).read_text(encoding="utf-8").splitlines()]
    decisions = Counter(opening["decision"] for opening in kept_openings())
    assert len(orders) >= 8
    assert sum(decisions.values()) >= 60
    assert set(decisions) == {"accepted", "queried", "rejected"}


def test_the_samples_show_each_family_of_reasons():
    """Every family of the catalogue has at least one finding among the samples."""
    about = {page.name: page.about for page in catalogue_pages()}
    seen = {about[found["reason"]] for opening in kept_openings() for found in opening["findings"]}
    assert run.FACTS
    assert seen == set(about.values()) <= set(ABOUT)
