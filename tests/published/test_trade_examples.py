"""Rules of the trade that a published guide states with figures.

The guides are named as the project's collection of trade facts names them: by kind, since most are pages
of firms. A fact without a source says so.
"""

from fractions import Fraction
from typing import Any

import pytest

from sawready.calc.cutting import welded_length
from sawready.calc.glazing import running_bead_length, standing_bead_length
from sawready.calc.mass import pane_mass_kg
from sawready.catalogue.load import Catalogue
from sawready.catalogue.policy import policy
from sawready.pipeline import check_order
from sawready.report.as_json import result_dict


def _worked(catalogue: Catalogue, **opening: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    head = {
        "order_ref": "T-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
    }
    order = {**head, "openings": [{**base, **opening}]}
    told: dict[str, Any] = result_dict(check_order(order, catalogue=catalogue))["openings"][0]
    return told


@pytest.mark.parametrize(("finished", "cut"), [(1200, 1206), (1500, 1506)])
def test_a_weld_burns_off_3_mm_at_each_end(finished: int, cut: int) -> None:
    """Machine maker's guide: a frame of 1200 x 1500 is cut as 1206 and 1506."""
    assert welded_length(finished_mm=Fraction(finished), weld_allowance_mm=Fraction(3)) == cut


def test_a_frame_of_1200_by_1500_is_cut_as_1206_and_1506(catalogue: Catalogue) -> None:
    """The same, through the whole program."""
    told = _worked(catalogue, widths=[1210], heights=[1510])
    lengths = {piece["part"]: piece["length_mm"] for piece in told["pieces"]}
    assert (told["frame"]["width_mm"], told["frame"]["height_mm"]) == (1200, 1500)
    assert (lengths["frame-head"], lengths["frame-left"]) == (1206.0, 1506.0)


def test_a_pane_of_500_by_1700_in_12_mm_glass_weighs_25_5_kg() -> None:
    """Worked example of glass supplier guides; EN 572-1 gives 2500 kg/m3."""
    per_m2_mm = policy().glass_kg_per_m2_mm
    assert per_m2_mm == 2.5
    assert pane_mass_kg(width_mm=500, height_mm=1700, glass_mm=12, per_m2_mm=per_m2_mm) == pytest.approx(
        25.5, abs=0.05
    )


def test_two_panes_of_4_mm_weigh_20_kg_a_square_metre() -> None:
    """Glass supplier guide; the cavity weighs nothing."""
    assert (
        pane_mass_kg(width_mm=1000, height_mm=1000, glass_mm=8, per_m2_mm=policy().glass_kg_per_m2_mm) == 20.0
    )


@pytest.mark.parametrize("size", [600, 1200, 1500, 2400, 3000])
def test_white_pvcu_takes_10_mm_off_in_all(catalogue: Catalogue, size: int) -> None:
    """Installers' published guides, at least four of the UK: 10 mm off the smallest width, 5 each side."""
    told = _worked(catalogue, widths=[size], heights=[1000])
    assert told["frame"]["width_mm"] == size - 10


def test_other_colours_take_15_mm_off_in_all(catalogue: Catalogue) -> None:
    """Code of practice for survey and installation (BS 8213-4), from memory: twice the per-side figures."""
    told = _worked(catalogue, widths=[1200], heights=[1000], colour={"outside": "anthracite"})
    assert (told["frame"]["width_mm"], told["frame"]["height_mm"]) == (1185, 985)


@pytest.mark.parametrize("readings", [[1507, 1516, 1519], [1516, 1507, 1519], [1519, 1516, 1507]])
def test_the_smallest_of_three_readings_governs(catalogue: Catalogue, readings: list[int]) -> None:
    """Installers' published guides: UK majority, US and German guides agree; one UK guide says the mean."""
    assert _worked(catalogue, widths=readings, heights=[1200])["frame"]["width_mm"] == 1497


def test_a_sill_of_30_mm_comes_off_the_height(catalogue: Catalogue) -> None:
    """Seller help page: 2100 asked is a frame of 2070, the sill 30 (gaps aside)."""
    sill = {"projection": 150, "fit": "between_reveals"}
    told = _worked(catalogue, widths=[1000], heights=[2110], sill=sill)
    assert told["frame"]["height_mm"] == 2070


def test_frame_and_sash_are_mitred_and_mullions_square(catalogue: Catalogue) -> None:
    """Machine maker's guide: 45 degrees at both ends of frame and sash members, mullions square."""
    told = _worked(catalogue, widths=[1210], heights=[1210], layout="side-hung left | fixed")
    ends = {piece["part"]: piece["ends"] for piece in told["pieces"]}
    assert ends["frame-head"] == ends["frame-left"] == ends["sash-top"] == ends["sash-left"] == "45/45"
    assert ends["mullion"] == ends["reinforcement"] == "90/90"


def test_a_mitred_bead_is_as_long_as_its_rebate_and_the_fit_allowance() -> None:
    """Common practice, no source: the allowance is often 0 to 1 mm."""
    assert running_bead_length(rebate_size_mm=Fraction(711), allowance_mm=Fraction(1, 2)) == Fraction("711.5")


def test_square_level_beads_run_through_and_uprights_stand_between() -> None:
    """Derived from the order of taking out and putting back in installation guides; common practice."""
    upright = standing_bead_length(
        rebate_size_mm=Fraction(1008), bead_height_mm=Fraction(20), allowance_mm=Fraction(0)
    )
    assert upright == 968
    assert running_bead_length(rebate_size_mm=Fraction(711), allowance_mm=Fraction(0)) == 711


def test_6_inch_takes_the_150_mm_sill(catalogue: Catalogue) -> None:
    """Trade explainer page: PVC-U sills are 85, 150, 180 or 225 deep; 6 in is 152.4 mm (NIST SP 811)."""
    told = _worked(
        catalogue, widths=[1210], heights=[1210], sill={"projection": "6 in", "fit": "between_reveals"}
    )
    assert told["sill"]["profile"] == "sill-150"


def test_a_sash_is_hinged_as_seen_from_outside(catalogue: Catalogue) -> None:
    """UK trade survey guides and surveying code: styles and handing are stated as viewed externally."""
    head = {
        "order_ref": "T-2",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "inside",
    }
    opening = {
        "opening_ref": "W1",
        "widths": [1210],
        "heights": [1210],
        "layout": "side-hung left | fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    told = result_dict(check_order({**head, "openings": [opening]}, catalogue=catalogue))["openings"][0]
    assert [(light["light"], light["hinge"]) for light in told["lights"]] == [
        ("fixed", None),
        ("side-hung", "right"),
    ]
