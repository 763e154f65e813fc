"""Figures of physics and of standards that hold everywhere, read once from data/physics.yaml."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from marshmallow import ValidationError

from sawready.calc.glazing_u import Gas
from sawready.calc.wind import Terrain
from sawready.catalogue.figure_fields import FigureTree
from sawready.catalogue.figures import Figure
from sawready.catalogue.yaml_door import load_yaml
from sawready.errors import CatalogueError


@dataclass(frozen=True, slots=True, eq=False)
class Physics:
    """The figures of ``data/physics.yaml`` by dotted path, and those that the calculations take whole.

    Attributes:
        figures: every figure with its source, by dotted path such as ``glass.e_mpa``.
        gases: fillings of a glass unit by name.
        terrains: terrain categories by name, ``0`` to ``IV``.
    """

    figures: Mapping[str, Figure]
    gases: Mapping[str, Gas]
    terrains: Mapping[str, Terrain]
    _numbers: dict[str, float] = field(default_factory=dict, init=False, repr=False)

    def number(self, path: str) -> float:
        """The figure at a path as one number.

        Example:
            >>> physics().number("glass.density_kg_m3")
            2500.0
        """
        number = self._numbers.get(path)
        if number is None:
            number = self._numbers[path] = float(self.figures[path].number)
        return number

    def column(self, path: str, *, by: str, value: str = "value") -> dict[str, float]:
        """One column of a table by the text in another.

        Example:
            >>> physics().column("classes.deflection", by="letter")
            {'A': 150.0, 'B': 200.0, 'C': 300.0}
        """
        return {str(row[by]): float(row[value]) for row in self.figures[path].rows}


@cache
def physics() -> Physics:
    """The figures, read once.

    Raises: CatalogueError where the file that comes with the program is broken.
    Example:
        >>> physics().gases["argon"].conductivity_w_mk
        0.01684
    """
    data = files("sawready.catalogue").joinpath("data", "physics.yaml").read_bytes()
    return physics_from(data, name="physics.yaml")


def physics_from(data: bytes | str, *, name: str) -> Physics:
    """Figures of physics from the content of a file.

    Args:
        data: YAML in the form of a rulebook.
        name: of the file, for messages.
    Returns: the figures.
    Raises: CatalogueError naming what is wrong.
    """
    tree = load_yaml(data, name=name).data
    try:
        figures = dict(_figures(FigureTree().deserialize(tree), ""))
        gases = {
            str(row["gas"]): Gas(
                density_kg_m3=_float(row["density_kg_m3"]),
                viscosity_pa_s=_float(row["viscosity_pa_s"]),
                conductivity_w_mk=_float(row["conductivity_w_mk"]),
                heat_capacity_j_kgk=_float(row["heat_capacity_j_kgk"]),
            )
            for row in figures["glass_heat.gases"].rows
        }
        terrains = {
            str(row["terrain"]): Terrain(
                roughness_m=_float(row["roughness_m"]), least_height_m=_float(row["least_height_m"])
            )
            for row in figures["wind.terrain"].rows
        }
    except ValidationError as trouble:
        raise CatalogueError(f"{name}: {trouble}") from trouble
    except KeyError as trouble:
        raise CatalogueError(f"{name}: {trouble} is missing. Put the figure back.") from trouble
    return Physics(MappingProxyType(figures), MappingProxyType(gases), MappingProxyType(terrains))


def _figures(section: Mapping[str, Any], before: str) -> list[tuple[str, Figure]]:
    """Every figure of a tree with its dotted path; of several editions the last."""
    found: list[tuple[str, Figure]] = []
    for key, inner in section.items():
        if isinstance(inner, Mapping):
            found += _figures(inner, f"{before}{key}.")
        else:
            edition = {name: value for name, value in inner[-1].items() if name not in {"range", "rows"}}
            rows = tuple(MappingProxyType(row) for row in inner[-1].get("rows", ()))
            found.append((before + key, Figure(**{"value": (), **edition}, rows=rows)))
    return found


def _float(cell: Fraction | str) -> float:
    return float(cell)
