"""Checks surveyed orders for replacement PVC-U windows before anything is cut."""

from sawready.version import VERSION as __version__  # noqa: N811 - the name that tools look for

__all__ = ["__version__"]
