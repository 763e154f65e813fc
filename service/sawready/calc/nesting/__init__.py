"""Pieces onto stock bars, as close to the proved bound as can be.

What is planned with is loaded with the first plan: the service also runs where its libraries are absent.
"""

from typing import TYPE_CHECKING, Any

from .pieces import ENDS, BarStock, Ends, OldOffcut, Piece, Saw
from .plan import Bar, PlacedPiece, Plan, ProfilePlan

if TYPE_CHECKING:
    from .planner import plan_bars

__all__ = [
    "ENDS",
    "Bar",
    "BarStock",
    "Ends",
    "OldOffcut",
    "Piece",
    "PlacedPiece",
    "Plan",
    "ProfilePlan",
    "Saw",
    "plan_bars",
]


def __getattr__(name: str) -> Any:
    """``plan_bars``, loaded when it is first asked for. Raises ImportError where its libraries are absent."""
    if name != "plan_bars":
        raise AttributeError(name)
    from .planner import plan_bars  # noqa: PLC0415 - the extra 'bars' may be absent

    return plan_bars
