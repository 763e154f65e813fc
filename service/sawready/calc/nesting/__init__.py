"""Pieces onto stock bars, as close to the proved bound as can be."""

from .pieces import ENDS, BarStock, Ends, OldOffcut, Piece, Saw
from .plan import Bar, PlacedPiece, Plan, ProfilePlan
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
