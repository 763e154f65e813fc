"""What every test may use: the test folder on the path, and the catalogue that comes with the program."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from sawready.catalogue.load import Catalogue


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The profile systems and rulebooks that come with the program."""
    return Catalogue.load_builtin()
