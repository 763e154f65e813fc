"""A second calculation of an order, made from the written geometry alone, for comparison.

Nothing here imports the package or follows how it works: plain Python, exact fractions of a
millimetre, its own reading of lengths and layouts. Only well-formed orders are understood; what it
does not know raises, so that a silent gap cannot pass for agreement.
"""

from independent.figures import load_figures
from independent.opening import work_out

__all__ = ["load_figures", "work_out"]
