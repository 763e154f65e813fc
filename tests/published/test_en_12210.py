"""EN 12210:2016, resistance to wind load, tables 1 and 2; BS 6375-1:2015, table 1 (from memory)."""

import pytest

from sawready.calc.window_classes import (
    deflection_class,
    exposure_category_pa,
    wind_class_for,
    wind_class_pressures,
)
from sawready.catalogue.physics import physics

P1_BY_CLASS = {1: 400, 2: 800, 3: 1200, 4: 1600, 5: 2000}
TABLE_2 = [
    # class, P1, P2, P3
    (1, 400, 200, 600),
    (2, 800, 400, 1200),
    (3, 1200, 600, 1800),
    (4, 1600, 800, 2400),
    (5, 2000, 1000, 3000),
]


@pytest.mark.parametrize(
    ("deflection", "span", "ratio", "letter"),
    [
        pytest.param(6.0, 1400, 233.3, "B", id="MU-012"),
        pytest.param(9.9, 1500, 151.5, "A", id="MU-013"),
        pytest.param(5.0, 1500, 300, "C", id="C-exactly"),
        pytest.param(5.0001, 1500, 299.99, "B", id="just-under-C"),
        pytest.param(7.5, 1500, 200, "B", id="B-exactly"),
        pytest.param(7.5001, 1500, 199.99, "A", id="just-under-B"),
        pytest.param(10, 1500, 150, "A", id="A-exactly"),
        pytest.param(10.001, 1500, 149.99, None, id="just-under-A"),
        pytest.param(-6.0, 1400, 233.3, "B", id="suction"),
    ],
)
def test_deflection_letters(deflection: float, span: float, ratio: float, letter: str | None) -> None:
    """Table 1."""
    figures = physics().column("classes.deflection", by="letter")
    found = deflection_class(deflection_mm=deflection, span_mm=span, span_over=figures)
    assert found.ratio == pytest.approx(ratio, abs=0.1)
    assert found.letter == letter


def test_pressures_of_a_tested_window() -> None:
    """RU-026."""
    found = wind_class_pressures(p1_pa=1600, class_pa=P1_BY_CLASS)
    assert (found.repeated_pa, found.safety_pa, found.number) == (800, 2400, 4)


@pytest.mark.parametrize(("number", "p1", "p2", "p3"), TABLE_2)
def test_every_row_of_table_2(number: int, p1: float, p2: float, p3: float) -> None:
    found = wind_class_for(pressure_pa=p1, class_pa=P1_BY_CLASS)
    assert (found.number, found.deflection_pa, found.repeated_pa, found.safety_pa) == (number, p1, p2, p3)
    assert wind_class_pressures(p1_pa=p1, class_pa=P1_BY_CLASS) == found
    assert physics().column("classes.wind", by="class", value="p1_pa")[str(number)] == p1


def test_just_above_a_class_takes_the_next_and_above_the_last_the_pressure_itself() -> None:
    assert wind_class_for(pressure_pa=800.01, class_pa=P1_BY_CLASS).number == 3
    above = wind_class_for(pressure_pa=-2400, class_pa=P1_BY_CLASS)
    assert (above.name, above.number, above.safety_pa) == ("E2400", None, 3600)
    assert wind_class_pressures(p1_pa=2400, class_pa=P1_BY_CLASS) == above
    assert wind_class_pressures(p1_pa=399, class_pa=P1_BY_CLASS).number == 0


@pytest.mark.parametrize(
    ("pressure", "category"), [(800, 800), (801, 1200), (-1600, 1600), (2000, 2000), (2001, None)]
)
def test_exposure_categories(pressure: float, category: float | None) -> None:
    """BS 6375-1, table 1: the categories are the P1 of classes 2 to 5."""
    figure = physics().figures["classes.uk_exposure_pa"].value
    assert isinstance(figure, tuple)
    assert exposure_category_pa(design_pressure_pa=pressure, categories_pa=figure) == category
    assert [float(value) for value in figure] == [p1 for number, p1, _, _ in TABLE_2 if number >= 2]
