"""Approved Document B volume 1, 2019 with amendments, 2.10: escape windows (England).

The limits are 0.33 m2, 450 mm each side and a bottom of at most 1100 mm; trade pages quote 735, 740 or
750 mm beside 450 mm, the exact threshold is 733.33 mm. The lower limit of 800 mm is Ireland's, TGD B 1.5.6
(2006 text).
"""

from fractions import Fraction

import pytest

from sawready.calc.escape import EscapeFigures, escape_opening, least_partner_mm

ENGLAND = EscapeFigures(area_m2=0.33, width_mm=450, height_mm=450, most_bottom_mm=1100)
IRELAND = EscapeFigures(area_m2=0.33, width_mm=450, height_mm=450, most_bottom_mm=1100, least_bottom_mm=800)


@pytest.mark.parametrize(
    ("width", "height", "bottom", "area", "failures"),
    [
        pytest.param(450, 734, 900, "0.3303", (), id="RU-001"),
        pytest.param(450, 733, 900, "0.32985", ("area",), id="RU-002"),
        pytest.param(445, 800, 900, "0.356", ("width",), id="RU-003"),
        pytest.param(600, 550, 1101, "0.33", ("bottom_height",), id="RU-004"),
        pytest.param(574, 575, 1100, "0.33005", (), id="RU-005"),
        pytest.param(500, 650, 800, "0.325", ("area",), id="RU-006"),
    ],
)
def test_an_escape_opening(
    width: int, height: int, bottom: int, area: str, failures: tuple[str, ...]
) -> None:
    found = escape_opening(
        clear_width_mm=width, clear_height_mm=height, bottom_above_floor_mm=bottom, figures=ENGLAND
    )
    assert found.area_m2 == Fraction(area)
    assert found.ok is (not failures)
    assert found.failures == failures


@pytest.mark.parametrize(
    ("width", "height", "bottom", "failures"),
    [
        (600, 550, 1100, ()),  # 0.33 m2 and 1100 mm exactly
        (600, Fraction("549.999999"), 1100, ("area",)),
        (450, 734, 900, ()),
        (Fraction("449.999"), 734, 900, ("width",)),
        (734, 450, 900, ()),
        (734, Fraction("449.999"), 900, ("height",)),
        (600, 550, Fraction("1100.001"), ("bottom_height",)),
        (449, 449, 1101, ("area", "width", "height", "bottom_height")),
    ],
)
def test_limits_themselves_are_allowed_and_a_hair_beyond_is_not(
    width: Fraction, height: Fraction, bottom: Fraction, failures: tuple[str, ...]
) -> None:
    found = escape_opening(
        clear_width_mm=width, clear_height_mm=height, bottom_above_floor_mm=bottom, figures=ENGLAND
    )
    assert found.failures == failures


@pytest.mark.parametrize(
    ("bottom", "failures"),
    [(799, ("bottom_height",)), (800, ()), (1100, ()), (1101, ("bottom_height",))],
)
def test_ireland_limits_the_bottom_both_ways(bottom: int, failures: tuple[str, ...]) -> None:
    found = escape_opening(
        clear_width_mm=600, clear_height_mm=700, bottom_above_floor_mm=bottom, figures=IRELAND
    )
    assert found.failures == failures


def test_the_exact_partner_of_a_450_mm_side() -> None:
    partner = least_partner_mm(side_mm=450, least_area_m2=0.33, least_side_mm=450)
    assert partner == Fraction(2200, 3)
    assert -(-partner // 1) == 734
