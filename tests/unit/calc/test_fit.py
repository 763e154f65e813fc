"""The frame from its aperture on one axis, and what its diagonals say; exact to the nanometre."""

from fractions import Fraction
from typing import Any

import pytest

from sawready.calc.fit import NM, AxisFit, Lean, axis_fit, floor_mm, lean_of, parallelogram_misfit_mm


def fit(*readings: float, **more: Any) -> AxisFit:
    """A fit in millimetres, gaps of 5."""
    lengths = {"stated_nm", "upstand_nm", "finishes_nm"}
    given = {name: round(value * NM) if name in lengths else value for name, value in more.items()}
    base: dict[str, Any] = {"finishes_nm": 0, "gap_nm": (5 * NM, 5 * NM), "extender_nm": (0, 0)}
    return axis_fit(readings_nm=[round(reading * NM) for reading in readings], **{**base, **given})


def lean(numerator: int, denominator: int, *, counts: bool = True) -> Lean:
    return Lean(differ_nm=0, counts=counts, numerator=numerator, denominator=denominator, misfit_nm=0)


@pytest.mark.parametrize(
    ("found", "size"),
    [
        pytest.param(fit(1812, 1808, 1810), 1798, id="the least governs"),
        pytest.param(fit(1810), 1800, id="one reading"),
        pytest.param(fit(1808.9), 1798, id="down to the whole millimetre"),
        pytest.param(fit(1808, finishes_nm=20), 1778, id="finishes"),
        pytest.param(fit(1808, gap_nm=(7_500_000, 5 * NM)), 1795, id="gaps of two sizes"),
        pytest.param(fit(1808, extender_nm=(15 * NM, 25 * NM)), 1758, id="extenders"),
        pytest.param(fit(1260, upstand_nm=30), 1220, id="sill"),
        pytest.param(fit(1808, lean=lean(10 * NM, 1)), 1788, id="lean"),
        pytest.param(fit(1808, lean=lean(1, 3)), 1797, id="a hair of lean takes a whole millimetre"),
        pytest.param(fit(1808, lean=lean(10 * NM, 1, counts=False)), 1798, id="lean within tape accuracy"),
        pytest.param(fit(8), -2, id="nothing left"),
    ],
)
def test_a_worked_frame(found: AxisFit, size: int) -> None:
    assert found.size_nm == found.worked_nm == size * NM


def test_a_stated_frame_is_kept_beside_the_worked_one() -> None:
    found = fit(1808, stated_nm=1790.5)
    assert (found.size_nm, found.worked_nm) == (1_790_500_000, 1798 * NM)


def _clearance_mm(found: AxisFit) -> tuple[Fraction, Fraction]:
    first, second, over = found.clearance
    return Fraction(first, over * NM), Fraction(second, over * NM)


@pytest.mark.parametrize(
    ("found", "sides"),
    [
        pytest.param(fit(1808), (5, 5), id="nothing over"),
        pytest.param(fit(1808.9), (Fraction("5.45"), Fraction("5.45")), id="what the floor leaves is shared"),
        pytest.param(
            fit(1808.5, gap_nm=(7 * NM, 5 * NM)),
            (Fraction("7.25"), Fraction("5.25")),
            id="shared by two gaps",
        ),
        pytest.param(fit(1808, stated_nm=1790), (9, 9), id="a stated frame stands in the middle"),
        pytest.param(fit(1808, stated_nm=1790, gap_nm=(8 * NM, 5 * NM)), (9, 9), id="whatever its gaps"),
        pytest.param(fit(1808, stated_nm=1810), (-1, -1), id="too large"),
        pytest.param(
            fit(1808, lean=lean(7 * NM, 2)), (Fraction("5.25"), Fraction("5.25")), id="the lean is not room"
        ),
        pytest.param(
            fit(1260, upstand_nm=30, extender_nm=(15 * NM, 0), stated_nm=1200),
            (Fraction("7.5"),) * 2,
            id="sill and extender",
        ),
    ],
)
def test_clearance(found: AxisFit, sides: tuple[int | Fraction, int | Fraction]) -> None:
    assert _clearance_mm(found) == sides


@pytest.mark.parametrize(
    ("stated", "lean_mm", "too_large", "fits_without"),
    [
        (1798, 0, False, True),
        (1798.000001, 0, True, False),
        (1788, 10, False, True),
        (1788.000001, 10, True, True),
        (1798, 10, True, True),
        (1798.000001, 10, True, False),
    ],
)
def test_a_frame_too_large_and_one_that_fits_only_with_the_lean(
    stated: float, lean_mm: int, too_large: bool, fits_without: bool
) -> None:
    found = fit(1808, stated_nm=stated, lean=lean(lean_mm * NM, 1))
    assert (found.is_too_large, found.fits_without_lean) == (too_large, fits_without)


def test_a_worked_frame_is_never_too_large() -> None:
    assert not fit(1808.999999, lean=lean(1, 7)).is_too_large


def test_the_joint_is_widest_at_the_largest_reading() -> None:
    found = fit(1812, 1808, 1820, extender_nm=(15 * NM, 0), lean=lean(10 * NM, 1))
    assert found.size_nm == 1773 * NM
    assert found.widest_room_nm == (1820 - 1773 - 15) * NM


@pytest.mark.parametrize(
    ("whole", "numerator", "denominator", "floor"),
    [
        (1798 * NM, 0, 1, 1798),
        (1798 * NM - 1, 0, 1, 1797),
        (1798 * NM, 1, 3, 1797),
        (-1, 0, 1, -1),
        (0, 0, 1, 0),
    ],
)
def test_down_to_the_whole_millimetre_is_exact(
    whole: int, numerator: int, denominator: int, floor: int
) -> None:
    assert floor_mm(whole_nm=whole, numerator=numerator, denominator=denominator) == floor * NM


@pytest.mark.parametrize(("differ", "counts"), [(4_999_999, False), (5_000_000, True), (0, False)])
def test_diagonals_count_from_the_survey_tolerance_on(differ: int, counts: bool) -> None:
    found = lean_of(
        widths_nm=[1800 * NM],
        heights_nm=[1200 * NM],
        diagonals_nm=(2163 * NM, 2163 * NM + differ),
        is_head_sloping=False,
        differ_from_nm=5 * NM,
    )
    assert (found.counts, found.differ_nm) == (counts, differ)


def test_the_mean_of_the_readings_stands_for_a_side() -> None:
    found = lean_of(
        widths_nm=[1000 * NM, 1001 * NM, 1003 * NM],
        heights_nm=[700 * NM, 702 * NM],
        diagonals_nm=(1230 * NM, 1220 * NM),
        is_head_sloping=False,
        differ_from_nm=5 * NM,
    )
    assert found.nm == Fraction((1230**2 - 1220**2) * 3 * NM, 4 * 3004)
    by_head = lean_of(
        widths_nm=[1000 * NM, 1001 * NM, 1003 * NM],
        heights_nm=[700 * NM, 702 * NM],
        diagonals_nm=(1230 * NM, 1220 * NM),
        is_head_sloping=True,
        differ_from_nm=5 * NM,
    )
    assert by_head.nm == Fraction((1230**2 - 1220**2) * 2 * NM, 4 * 1402)


def test_a_lean_longer_than_the_diagonals_gives_a_misfit_and_no_error() -> None:
    misfit = parallelogram_misfit_mm(
        diagonal_1_mm=300, diagonal_2_mm=200, lean_mm=900, width_mm=300, height_mm=400
    )
    assert misfit == 500
