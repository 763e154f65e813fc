"""The starting figures of survey forensics, as the program ships them, for tests and trials."""

from functools import lru_cache
from importlib import resources

import yaml

from sawready.calc.forensics import SuspicionFigures


@lru_cache(maxsize=1)
def starting_figures() -> SuspicionFigures:
    """Figures of ``suspicion.yaml``, with the survey tolerances of the rulebook `england`."""
    data = resources.files("sawready.catalogue").joinpath("data")
    suspicion = yaml.safe_load(data.joinpath("suspicion.yaml").read_text("utf-8"))["suspicion"]
    survey = yaml.safe_load(data.joinpath("rulebooks", "england.yaml").read_text("utf-8"))["survey"]
    return SuspicionFigures.of(
        {name: figure["value"] for name, figure in suspicion.items()},
        **{name: figure["value"] for name, figure in survey.items()},
    )
