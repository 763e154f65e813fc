"""Figures of the order's contract and of geometry that belong to no region and no profile system."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError


@dataclass(frozen=True, slots=True)
class Policy:
    """The figures of ``data/policy.yaml``.

    Attributes:
        sill_match_nm: a sill profile serves a projection within this of its own. [nm]
        bead_serves_nm: a bead serves a unit within this of its thickness. [nm]
        glass_kg_per_m2_mm: mass of one square metre of glass one millimetre thick. [kg/(m2 mm)]
        largest_sheet_mm: short and long side of the largest pane that can be had. [mm]
        sources: where each figure comes from.
    """

    sill_match_nm: int
    bead_serves_nm: int
    glass_kg_per_m2_mm: float
    largest_sheet_mm: tuple[int, int]
    sources: dict[str, str]


@cache
def policy() -> Policy:
    """The figures, read once."""
    data = files("sawready.catalogue").joinpath("data", "policy.yaml").read_bytes()
    tree = load_yaml(data, name="policy.yaml", error=CatalogueError).data
    short, long = (int(side) for side in tree["largest_sheet_mm"]["value"])
    return Policy(
        sill_match_nm=int(Fraction(tree["sill_match_mm"]["value"]) * 1_000_000),
        bead_serves_nm=int(Fraction(tree["bead_serves_mm"]["value"]) * 1_000_000),
        glass_kg_per_m2_mm=float(tree["glass_kg_per_m2_mm"]["value"]),
        largest_sheet_mm=(short, long),
        sources={name: figure["source"] for name, figure in tree.items()},
    )
