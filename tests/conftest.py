"""What every test may use: the test folder on the path, and the catalogue that comes with the program."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

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


@pytest.fixture(scope="session")
def cluster() -> Iterator[Any]:
    """A PostgreSQL server; where none is installed, tests that need it say so and are left out."""
    from postgres import Cluster, programs  # noqa: PLC0415 - its driver is an extra

    found = programs()
    if found is None:
        pytest.skip("PostgreSQL is not installed (apt-get install postgresql)")
    made = Cluster(found)
    yield made
    made.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def store_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Address of a store that is not there yet, on each database in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/desk.sqlite3"
    url: str = request.getfixturevalue("cluster").database()
    return url


@pytest.fixture
def store(store_url: str) -> Iterator[Any]:
    """An empty store on each database in turn."""
    from sawready.store.store import Store  # noqa: PLC0415 - loads much, and few tests need it

    made = Store.reach(store_url)
    made.migrate()
    yield made
    made.close()


@pytest.fixture
def service(store: Any, catalogue: Catalogue) -> Any:
    """A service with keys on each database in turn."""
    from desk_service import Service  # noqa: PLC0415 - the same

    return Service(store, catalogue)
