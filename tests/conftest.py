"""What every test may use: the test folder on the path, and the catalogue that comes with the program."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from sawready.catalogue.load import Catalogue


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--rewrite-golden`` writes the expected results of the sample orders anew."""
    parser.addoption("--rewrite-golden", action="store_true", help="write golden files anew; review the diff")


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The profile systems and rulebooks that come with the program."""
    return Catalogue.load_builtin()
