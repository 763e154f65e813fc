"""The one place that states the version."""

from typing import Final

VERSION: Final = "0.1.0"
