"""Approved Document L volume 1, 2021 (in force 15 June 2022), table 4.2 (table number from memory), England.

Replacement windows: U of at most 1.4 W/m2K or window rating band B. RU-028 by EN ISO 10077-1, clause 7
(two significant figures, from memory). RU-027: UK window rating, 218.6 g - 68.5 (U + L), from memory and not
confirmed.
"""

import pytest

from sawready.calc.energy import (
    energy_limit_met,
    judged_u,
    rating_band,
    two_significant_figures,
    window_energy_index_kwh_m2,
)
from sawready.catalogue.physics import physics


@pytest.mark.parametrize(
    ("u", "band", "ok", "by"),
    [
        pytest.param(1.4, None, True, "u_value", id="RU-019"),
        pytest.param(1.5, "B", True, "band", id="RU-020"),
        pytest.param(1.5, "C", False, None, id="RU-021"),
        pytest.param(1.5, "A+", True, "band", id="better-than-B"),
        pytest.param(1.41, None, False, None, id="just-above"),
        pytest.param(None, "B", True, "band", id="band-alone"),
        pytest.param(None, None, False, None, id="nothing-stated"),
    ],
)
def test_a_replacement_window(u: float | None, band: str | None, ok: bool, by: str | None) -> None:
    found = energy_limit_met(u_w_m2k=u, band=band, limit_w_m2k=1.4, least_band="B", rounding="unrounded")
    assert (found.ok, found.by) == (ok, by)


@pytest.mark.parametrize(
    ("unrounded", "rounded", "ok_rounded", "ok_unrounded"),
    [
        pytest.param(1.44, 1.4, True, False, id="RU-028"),
        pytest.param(1.4, 1.4, True, True, id="on-the-limit"),
        pytest.param(1.4499, 1.4, True, False, id="last-below-the-half"),
        pytest.param(1.45, 1.5, False, False, id="the-half"),
        pytest.param(1.4499999999999997, 1.5, False, False, id="the-half-less-binary-noise"),
        pytest.param(1.4000000000000004, 1.4, True, True, id="the-limit-with-binary-noise"),
    ],
)
def test_the_rounding_decides_between_1_40_and_1_45(
    unrounded: float, rounded: float, ok_rounded: bool, ok_unrounded: bool
) -> None:
    assert two_significant_figures(unrounded) == rounded
    by_figures = judged_u(u_w_m2k=unrounded, limit_w_m2k=1.4, rounding="two_significant_figures")
    plain = judged_u(u_w_m2k=unrounded, limit_w_m2k=1.4, rounding="unrounded")
    assert (by_figures.ok, plain.ok) == (ok_rounded, ok_unrounded)
    assert by_figures.judged_w_m2k == rounded


def test_the_energy_index_of_a_window() -> None:
    """RU-027."""
    figures = physics()
    found = window_energy_index_kwh_m2(
        g_window=0.43,
        u_w_m2k=1.4,
        air_leakage_w_m2k=0.02,
        gain_kwh_m2=figures.number("rating.gain"),
        loss_kwh_k_w=figures.number("rating.loss"),
    )
    assert found == pytest.approx(-3.27, abs=0.05)
    assert (
        rating_band(index_kwh_m2=found, band_from_kwh_m2=figures.column("rating.band_from", by="band")) == "B"
    )
    assert not figures.figures["rating.gain"].may_reject
