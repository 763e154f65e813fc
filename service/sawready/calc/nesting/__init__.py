"""Pieces onto stock bars, as close to the proved bound as can be."""
