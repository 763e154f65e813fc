"""Approved Document F volume 1, 2021 (in force 15 June 2022), ventilation of dwellings in England.

3.14-3.15 for replacement windows, table 1.7 for new dwellings, 1.60-1.66 for continuous extract, 1.72 for
heat recovery. Areas are equivalent areas.
"""

import pytest

from sawready.calc.ventilation import VentilationFigures, least_ventilation_mm2, room_ventilation

ENGLAND = VentilationFigures(
    room_kinds={
        "bedroom": "habitable",
        "living": "habitable",
        "kitchen": "kitchen",
        "bathroom": "bathroom",
        "wc": "sanitary",
        "utility": "utility",
    },
    replacement_mm2={"habitable": 8000, "kitchen": 8000, "bathroom": 4000},
    new_mm2={"habitable": 8000, "kitchen": 8000, "bathroom": 4000},
    new_single_storey_mm2={"habitable": 10000, "kitchen": 10000, "bathroom": 4000},
    continuous_extract_mm2={"habitable": 4000},
)


@pytest.mark.parametrize(
    ("room", "storeys", "replacement", "area"),
    [
        pytest.param("bedroom", 2, True, 8000, id="RU-015"),
        pytest.param("bathroom", 2, True, 4000, id="RU-016"),
        pytest.param("living", 1, False, 10000, id="RU-017"),
        pytest.param("kitchen", 2, False, 8000, id="RU-018"),
    ],
)
def test_natural_ventilation(room: str, storeys: int, replacement: bool, area: float) -> None:
    found = least_ventilation_mm2(
        room=room, figures=ENGLAND, replacement=replacement, dwelling_storeys=storeys, strategy="natural"
    )
    assert found == area


@pytest.mark.parametrize(
    ("room", "strategy", "area"),
    [
        ("bedroom", "continuous_extract", 4000),
        ("kitchen", "continuous_extract", 0),
        ("bedroom", "heat_recovery", 0),
    ],
)
def test_mechanical_ventilation(room: str, strategy: str, area: float) -> None:
    found = least_ventilation_mm2(
        room=room, figures=ENGLAND, replacement=False, dwelling_storeys=2, strategy=strategy
    )
    assert found == area


@pytest.mark.parametrize("room", ["wc", "utility"])
def test_a_wc_or_utility_room_has_no_least_area_in_a_replacement(room: str) -> None:
    found = least_ventilation_mm2(room=room, figures=ENGLAND, replacement=True, dwelling_storeys=1)
    assert found == 0


@pytest.mark.parametrize(
    ("given", "old", "ok", "basis"),
    [
        ([8000], None, True, "least_area"),
        ([7999], None, False, "least_area"),
        ([4000, 4000], None, True, "least_area"),
        ([4000, 2000], None, False, "least_area"),
        ([5000], 5000, True, "like_for_like"),
        ([4999], 5000, False, "like_for_like"),
        ([], 5000, False, "like_for_like"),
    ],
)
def test_all_openings_of_a_room_count_together_and_old_vents_go_before_the_least_area(
    given: list[float], old: float | None, ok: bool, basis: str
) -> None:
    found = room_ventilation(given_mm2=given, old_mm2=old, least_mm2=8000)
    assert (found.ok, found.basis) == (ok, basis)
