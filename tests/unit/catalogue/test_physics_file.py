"""The figures of physics that come with the program, and what a broken file says."""

from collections.abc import Mapping
from fractions import Fraction
from importlib.resources import files

import pytest

from sawready.catalogue.physics import physics, physics_from
from sawready.errors import CatalogueError

CONTENT = files("sawready.catalogue").joinpath("data", "physics.yaml").read_text(encoding="utf-8")

PLAUSIBLE = {
    # by the unit of a figure or the name of a column: least and greatest that can be meant
    "density_kg_m3": (1, 3000),
    "viscosity_pa_s": (1e-5, 3e-5),
    "conductivity_w_mk": (0.005, 2),
    "heat_capacity_j_kgk": (200, 1100),
    "u_w_m2k": (0.5, 6),
    "psi_w_mk": (0.02, 0.12),
    "e_mpa": (2000, 220_000),
    "alpha_per_k": (5e-6, 1e-4),
    "roughness_m": (0.001, 2),
    "least_height_m": (1, 10),
    "p1_pa": (400, 2000),
    "pressure_pa": (0, 600),
    "close_kg": (5, 25),
    "reaching_kg": (3, 15),
}


def test_every_figure_names_its_source_and_its_confidence() -> None:
    figures = physics().figures
    assert len(figures) > 50
    for path, figure in figures.items():
        assert figure.source, path
        assert figure.confidence in {"high", "medium", "low"}, path


@pytest.mark.parametrize("column", PLAUSIBLE)
def test_no_figure_is_out_by_a_power_of_ten(column: str) -> None:
    least, most = PLAUSIBLE[column]
    cells = [
        float(row[column]) for figure in physics().figures.values() for row in figure.rows if column in row
    ]
    cells += [
        float(figure.number)
        for path, figure in physics().figures.items()
        if f"_{path.split('.')[-1]}".endswith(f"_{column}")
    ]
    assert cells
    assert all(least <= cell <= most for cell in cells)


def test_figures_from_memory_may_not_reject() -> None:
    assert not physics().figures["glass.annealed_mpa"].may_reject
    assert physics().figures["classes.wind"].may_reject


def test_gases_and_terrains_come_whole() -> None:
    assert set(physics().gases) == {"air", "argon", "krypton"}
    assert list(physics().terrains) == ["0", "I", "II", "III", "IV"]
    roughness = [terrain.roughness_m for terrain in physics().terrains.values()]
    assert roughness == sorted(roughness)


def test_a_row_cannot_be_changed() -> None:
    row = physics().figures["wind.terrain"].rows[0]
    assert isinstance(row, Mapping)
    with pytest.raises(TypeError):
        row["roughness_m"] = Fraction(1)  # type: ignore[index]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("  gases:", "  fillings:", "'glass_heat.gases' is missing"),
        ("viscosity_pa_s: 0.000024,", "", "'viscosity_pa_s' is missing"),
        ("{value: 25, source", "{value: many, source", "no number"),
        ("{value: 7.7, source:", "{value: 7.7, origin:", "origin"),
    ],
)
def test_a_broken_file_says_what_is_wrong(old: str, new: str, says: str) -> None:
    assert old in CONTENT
    with pytest.raises(CatalogueError, match=says) as broken:
        physics_from(CONTENT.replace(old, new, 1), name="physics.yaml")
    assert str(broken.value).startswith("physics.yaml")
