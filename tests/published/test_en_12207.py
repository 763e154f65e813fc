"""EN 12207:1999/2016, air permeability, and EN 12208:1999, watertightness: classes of windows."""

import pytest

from sawready.calc.window_classes import air_class, air_leakage_at, water_class
from sawready.catalogue.physics import physics

BY_AREA = {1: 50, 2: 27, 3: 9, 4: 3}


@pytest.mark.parametrize(
    ("leakage", "number"),
    [
        pytest.param(8.0, 3, id="RU-024"),
        pytest.param(9, 3, id="class-3-exactly"),
        pytest.param(9.001, 2, id="just-over-class-3"),
        pytest.param(3, 4, id="class-4-exactly"),
        pytest.param(50.1, None, id="no-class"),
    ],
)
def test_air_class_by_area(leakage: float, number: int | None) -> None:
    assert air_class(leakage_at_100_pa=leakage, most_by_class=BY_AREA) == number


def test_the_line_of_class_3_at_600_pa() -> None:
    """RU-025."""
    assert air_leakage_at(leakage_at_100_pa=9, pressure_pa=600) == pytest.approx(29.72, abs=0.05)


def test_leakage_by_joint_is_a_quarter_of_that_by_area() -> None:
    by_area = physics().column("classes.air_by_area", by="class")
    by_joint = physics().column("classes.air_by_joint", by="class")
    assert by_joint == {number: area / 4 for number, area in by_area.items()}


@pytest.mark.parametrize(
    ("pressure", "name"),
    [(0, "1A"), (49, "1A"), (50, "2A"), (250, "6A"), (449, "7A"), (600, "9A"), (749, "9A"), (750, "E750"),
     (1049, "E900")],
)  # fmt: skip
def test_watertightness_classes(pressure: float, name: str) -> None:
    """EN 12208, test method A; above 600 Pa in steps of 150 Pa."""
    figures = physics()
    found = water_class(
        tight_up_to_pa=pressure,
        class_pa=figures.column("classes.water", by="class", value="pressure_pa"),
        step_above_pa=figures.number("classes.water_step_above_pa"),
    )
    assert found == name
