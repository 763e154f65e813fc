"""Speed of reading lengths, against handing the text to pint as it stands.

Run on demand: ``pytest tests/benchmarks/test_lengths.py --benchmark-only``. Pint can read only part of
the texts, and reads ``47 1/4 in`` as 11.75 in; it is timed here on those that it reads rightly.
"""

from typing import Any

import pint
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from sawready.lengths import Length, read_length, reader

LIMITS: dict[str, Any] = {"least_nm": 150_000_000, "most_nm": 6_000_000_000}
SHARED_WITH_PINT = [
    *(f"{size} mm" for size in range(1100, 1300, 5)),
    *(f"{size}.5 mm" for size in range(1100, 1300, 10)),
    *(f"{size / 10} cm" for size in range(1100, 1300, 10)),
    *(f"{size / 1000} m" for size in range(1100, 1300, 10)),
    *(f"{size / 4} in" for size in range(160, 200)),
]
MIXED = [
    *SHARED_WITH_PINT,
    *(str(size) for size in range(1100, 1400)),
    *(f'{size} 1/4"' for size in range(40, 60)),
    *(f"4' {size}\"" for size in range(12)),
    *(f"{size:,}" for size in range(1100, 1120)),
    *(f"{size} tight" for size in range(1100, 1110)),
]


def read_all(texts: list[str]) -> int:
    """How many of the texts are accepted."""
    return sum(type(read_length(text, unit="mm", **LIMITS)) is Length for text in texts)


def read_all_anew(texts: list[str]) -> int:
    """The same with nothing remembered, as if every text were new."""
    reader._read_text.cache_clear()
    return read_all(texts)


@pytest.mark.benchmark(group="texts that pint reads too")
def test_own_reader_on_new_texts(benchmark: BenchmarkFixture) -> None:
    assert benchmark(read_all_anew, SHARED_WITH_PINT) == len(SHARED_WITH_PINT)


@pytest.mark.benchmark(group="texts that pint reads too")
def test_own_reader_on_known_texts(benchmark: BenchmarkFixture) -> None:
    assert benchmark(read_all, SHARED_WITH_PINT) == len(SHARED_WITH_PINT)


@pytest.mark.benchmark(group="texts that pint reads too")
def test_naive_pint(benchmark: BenchmarkFixture) -> None:
    registry: Any = pint.UnitRegistry()

    def convert_all() -> int:
        return sum(150 <= registry.Quantity(text).to("mm").magnitude <= 6000 for text in SHARED_WITH_PINT)

    assert benchmark(convert_all) == len(SHARED_WITH_PINT)


@pytest.mark.benchmark(group="a mixed sheet")
def test_own_reader_on_a_mixed_sheet_anew(benchmark: BenchmarkFixture) -> None:
    assert benchmark(read_all_anew, MIXED) == len(MIXED) - 10


@pytest.mark.benchmark(group="a mixed sheet")
def test_own_reader_on_a_mixed_sheet_again(benchmark: BenchmarkFixture) -> None:
    assert benchmark(read_all, MIXED) == len(MIXED) - 10


@pytest.mark.benchmark(group="plain digits")
def test_plain_digits_as_text(benchmark: BenchmarkFixture) -> None:
    texts = [str(size) for size in range(1100, 2100)]
    assert benchmark(read_all, texts) == 1000


@pytest.mark.benchmark(group="plain digits")
def test_plain_digits_as_numbers(benchmark: BenchmarkFixture) -> None:
    numbers: Any = list(range(1100, 2100))
    assert benchmark(read_all, numbers) == 1000
