"""Figures for judging a delivered frame."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError

NM_PER_MM = 1_000_000


@dataclass(frozen=True, slots=True)
class ArrivalFigures:
    """The figures of ``catalogue/data/arrivals.yaml``.

    Attributes:
        tape_constant_nm, tape_per_metre_nm: what a tape of class II may be out by, a + b L. [nm]
        frame_differs_nm: a frame this far from its ordered size is the one that was ordered. [nm]
        sill_differs_nm: the same of a sill. [nm]
        marks: what a pane's mark has to name, by kind of safety glass.
        sources: where each figure comes from.
    """

    tape_constant_nm: int
    tape_per_metre_nm: int
    frame_differs_nm: int
    sill_differs_nm: int
    marks: Mapping[str, tuple[str, ...]]
    sources: Mapping[str, str]

    def tape_nm(self, length_nm: int) -> int:
        """What a tape may be out by at a length.

        Formula: a + b L, L rounded up to the next whole metre

        Args:
            length_nm: taped length, L. [nm]
        Returns: error, either way. [nm]
        Example:
            >>> arrival_figures().tape_nm(1_798_000_000)
            700000

        Source: Directive 2014/32/EU, Annex X, class II; from memory.
        """
        return self.tape_constant_nm + self.tape_per_metre_nm * math.ceil(length_nm / 1_000_000_000)


@cache
def arrival_figures() -> ArrivalFigures:
    """The figures, read once."""
    data = files("sawready.catalogue").joinpath("data", "arrivals.yaml").read_bytes()
    tree = load_yaml(data, name="arrivals.yaml", error=CatalogueError).data
    marks = tree.pop("marks")

    def nm(name: str) -> int:
        return int(Fraction(tree[name]["value"]) * NM_PER_MM)

    return ArrivalFigures(
        tape_constant_nm=nm("tape_constant_mm"),
        tape_per_metre_nm=nm("tape_per_metre_mm"),
        frame_differs_nm=nm("frame_differs_mm"),
        sill_differs_nm=nm("sill_differs_mm"),
        marks={kind: tuple(figure["value"]) for kind, figure in marks.items()},
        sources={name: figure["source"] for name, figure in (*tree.items(), *marks.items())},
    )
