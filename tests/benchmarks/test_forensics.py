"""What survey forensics adds to the time of an opening: clean, in an order of ten, and with a mistake.

Run with ``pytest tests/benchmarks/test_forensics.py --benchmark-only``. Each figure is for one call.
"""

from random import Random
from typing import Any

from sawready.calc.forensics import SurveyedOpening, survey_suspects
from survey_figures import starting_figures
from survey_generator import cottage_order

FIGURES = starting_figures()
CLEAN = SurveyedOpening(
    (1812.0, 1808.0, 1810.0), (1262.0, 1260.0, 1261.0), (2207.0, 2206.0), 1798.0, 1220.0, sill_upstand_mm=30.0
)
ORDER = [
    CLEAN._replace(
        widths_mm=tuple(each - 60.0 * n for each in CLEAN.widths_mm), diagonals_mm=(), frame_width_mm=None
    )
    for n in range(10)
]
SWAPPED = CLEAN._replace(widths_mm=(1812.0, 1880.0, 1810.0))


def test_a_clean_opening(benchmark: Any) -> None:
    """The usual case: one quick look."""
    assert benchmark(survey_suspects, [CLEAN], FIGURES) == ((),)


def test_a_clean_order_of_ten(benchmark: Any) -> None:
    """With the look for windows that are alike."""
    assert benchmark(survey_suspects, ORDER, FIGURES) == ((),) * 10


def test_an_opening_with_a_swapped_digit(benchmark: Any) -> None:
    """One reading weighed against everything else."""
    (suspects,) = benchmark(survey_suspects, [SWAPPED], FIGURES)
    assert suspects[0].candidates_mm == (1808.0,)


def test_ten_openings_of_crooked_cottages(benchmark: Any) -> None:
    """Nothing wrong, yet most openings have to be weighed."""
    rng = Random(5)
    order = [opening for _ in range(10) for opening in cottage_order(rng)][:10]
    assert not any(benchmark(survey_suspects, order, FIGURES))
