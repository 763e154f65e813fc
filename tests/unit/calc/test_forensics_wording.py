"""Lengths and places as people say them."""

import pytest

from sawready.calc.forensics.model import Numbers
from sawready.calc.forensics.wording import join, length, place_name

THREE = Numbers((1.0, 2.0, 3.0), (1.0, 2.0, 3.0), (1.0, 2.0), None, None)
FEW = Numbers((1.0, 2.0), (1.0,), (1.0,), None, None)


@pytest.mark.parametrize(
    ("value_mm", "unit_mm", "text"),
    [
        (1507.0, 1.0, "1507"),
        (1447.8, 1.0, "1447.8"),
        (59.375, 1.0, "59.375"),
        (59.3754, 1.0, "59.375"),
        (1507.0, 10.0, "150.7 cm"),
        (1507.0, 1000.0, "1.507 m"),
        (47 * 25.4, 25.4, "47 in"),
        (47.25 * 25.4, 25.4, "47 1/4 in"),
        (47.0625 * 25.4, 304.8, "47 1/16 in"),
        (0.5 * 25.4, 25.4, "1/2 in"),
        (1507.0, 25.4, "59.33 in"),
    ],
)
def test_lengths_are_shown_in_the_orders_unit(value_mm: float, unit_mm: float, text: str) -> None:
    """Millimetres bare, other units named, inches with the fractions of a tape."""
    assert length(value_mm, unit_mm) == text


@pytest.mark.parametrize(
    ("field", "numbers", "name"),
    [
        ("widths/0", THREE, "top width"),
        ("widths/1", THREE, "middle width"),
        ("heights/2", THREE, "right height"),
        ("widths/1", FEW, "second width"),
        ("heights/0", FEW, "height"),
        ("heights", THREE, "height readings"),
        ("diagonals/1", THREE, "second diagonal"),
        ("diagonals/0", FEW, "diagonal"),
        ("diagonals", THREE, "diagonals"),
        ("frame/height", THREE, "ordered frame height"),
    ],
)
def test_places_have_the_names_people_use(field: str, numbers: Numbers, name: str) -> None:
    """By the order in which a survey sheet lists the readings."""
    assert place_name(field, numbers) == name


def test_lists_read_as_people_write_them() -> None:
    """One, two and three parts."""
    assert join(["1203"]) == "1203"
    assert join(["1203", "1204"], "or") == "1203 or 1204"
    assert join(["1203", "1204", "both diagonals"]) == "1203, 1204 and both diagonals"
