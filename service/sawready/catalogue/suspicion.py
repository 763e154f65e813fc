"""Starting values for weighing a survey, for rulebooks that state none of their own."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError


@cache
def starting_values() -> Mapping[str, Any]:
    """Value by name, from ``data/suspicion.yaml``: a number, a list of numbers, or words.

    Raises: CatalogueError where the file that comes with the program is broken.
    """
    data = files("sawready.catalogue").joinpath("data", "suspicion.yaml").read_bytes()
    tree = load_yaml(data, name="suspicion.yaml", error=CatalogueError).data
    return {name: _value(figure) for name, figure in tree["suspicion"].items()}


def _value(figure: Mapping[str, Any]) -> Any:
    value = figure["value"]
    if figure.get("unit") == "word":
        return value
    return [float(each) for each in value] if isinstance(value, list) else float(value)
