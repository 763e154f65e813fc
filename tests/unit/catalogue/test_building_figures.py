"""The figures that building rules read: of the right kind in every file, with their standing in the five that ship."""

from collections.abc import Callable
from datetime import date

import pytest

from sawready.calc.energy import Rounding
from sawready.catalogue.building import WANTED, building_figures
from sawready.catalogue.load import Catalogue, read_rulebook
from sawready.catalogue.rooms import kinds_of_room
from sawready.catalogue.rulebook import CORE_FIGURES, Rulebook

Change = Callable[..., str]
Mistakes = Callable[..., list[str]]

BUILTIN = Catalogue.load_builtin()
SOURCED = "source: made up for a test, confidence: high"


def book(name: str) -> Rulebook:
    found = BUILTIN.rulebook(name)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("section", "told"),
    [
        (
            f"thermal: {{rounding: {{value: 2, {SOURCED}}}}}",
            "thermal.rounding: must be one of two_significant_figures, ",
        ),
        (f"thermal: {{rounding: {{value: up, unit: word, {SOURCED}}}}}", "thermal.rounding: must be one of"),
        (
            f"wind: {{deflection_class: {{value: D, unit: word, {SOURCED}}}}}",
            "wind.deflection_class: must be one of A, B",
        ),
        (
            f"escape: {{area_least_m2: {{value: [1, 2], {SOURCED}}}}}",
            "escape.area_least_m2: must be one number.",
        ),
        (
            f"glazing: {{impact_class: {{value: 2.5, {SOURCED}}}}}",
            "glazing.impact_class: must be a whole number.",
        ),
        (
            f"glazing: {{impact_class: {{value: 4, {SOURCED}}}}}",
            "glazing.impact_class.value: 4 is not plausible",
        ),
        (
            f"ventilation: {{replacement_mm2: {{value: 8000, {SOURCED}}}}}",
            "ventilation.replacement_mm2: must be a table whose rows have room and value.",
        ),
        (
            f"ventilation: {{replacement_mm2: {{rows: [{{room: kitchen}}], {SOURCED}}}}}",
            "ventilation.replacement_mm2: must be a table whose rows have room and value.",
        ),
        (
            f"thermal: {{rounding: [{{value: 2, {SOURCED}}}, {{value: 3, in_force: 2030-01-01, {SOURCED}}}]}}",
            "thermal.rounding row 1: must be one of",
        ),
    ],
)
def test_a_figure_of_the_wrong_kind_is_named_on_loading(
    england_text: str, mistakes: Mistakes, section: str, told: str
) -> None:
    lines = mistakes(read_rulebook, f"{england_text}\n{section}\n", name="own.yaml")
    assert any(told in line for line in lines), lines


def test_a_rulebook_need_not_have_any_of_them(england_text: str) -> None:
    figures = building_figures(read_rulebook(england_text, name="own.yaml"))
    assert figures.u_most is figures.critical is figures.escape is figures.vents is None
    assert figures.rounding is Rounding.UNROUNDED
    assert not figures.reference_counts


def test_a_word_of_no_leaves_old_ventilators_out(england_text: str) -> None:
    text = f"{england_text}\nventilation: {{like_for_like: {{value: no, unit: word, {SOURCED}}}}}\n"
    assert building_figures(read_rulebook(text, name="own.yaml")).like_for_like is None


@pytest.mark.parametrize("name", BUILTIN.rulebooks)
def test_every_figure_of_a_rulebook_says_where_it_comes_from(name: str) -> None:
    figures = {path: figure for path, figure in book(name).figures.items() if path not in CORE_FIGURES}
    assert len(figures) > 20
    for path, figure in figures.items():
        assert path in WANTED or path == "backing_strip_above_gap_mm", path
        assert len(figure.source) > 5, path
        if "from memory" in figure.source or "not verified" in figure.source:
            assert not figure.may_reject, path


@pytest.mark.parametrize(
    ("name", "path", "value", "may_reject"),
    [
        pytest.param("england", "thermal.window_u_most_w_m2k", 1.4, True, id="RG-19"),
        pytest.param("england", "escape.area_least_m2", 0.33, True, id="RG-01"),
        pytest.param("england", "glazing.safety_door_below_mm", 1500, True, id="RG-12"),
        pytest.param("england", "glazing.wide_over_mm", 900, True, id="RG-13"),
        pytest.param("england", "glazing.small_area_most_m2", 0.5, True, id="RG-14"),
        pytest.param("england", "guarding.below_mm", 800, True, id="RG-17"),
        pytest.param("wales", "thermal.window_u_most_w_m2k", 1.4, True, id="RG-29"),
        pytest.param("wales", "glazing.safety_window_below_mm", 800, False, id="RG-30"),
        pytest.param("scotland", "escape.bottom_most_mm", 1100, True, id="RG-31"),
        pytest.param("scotland", "thermal.window_u_most_w_m2k", 1.4, False, id="RG-33"),
        pytest.param("northern_ireland", "glazing.impact_class", 3, True, id="RG-35"),
        pytest.param("northern_ireland", "escape.side_least_mm", 450, False, id="RG-37"),
        pytest.param("ireland", "escape.bottom_least_mm", 800, True, id="RG-38"),
        pytest.param("ireland", "thermal.window_u_most_w_m2k", 1.4, True, id="RG-39"),
        pytest.param("ireland", "guarding.drop_over_mm", 600, True, id="RG-40"),
    ],
)
def test_the_figures_of_the_five_regions(name: str, path: str, value: float, may_reject: bool) -> None:
    """Numbers and standing of the collected reference, by its ids; the documents are named in the files."""
    figure = book(name).figure(path)
    assert (float(figure.number), figure.may_reject) == (value, may_reject)


def test_ventilators_by_room() -> None:
    """RG-06 for England; RG-32 for Scotland, from memory."""
    assert building_figures(book("england")).vents_mm2 == {
        "habitable": 8000,
        "kitchen": 8000,
        "bathroom": 4000,
    }
    scotland = building_figures(book("scotland"))
    assert scotland.vents_mm2 == {"habitable": 12000, "kitchen": 10000, "bathroom": 10000}
    assert scotland.vents is not None
    assert not scotland.vents.may_reject


@pytest.mark.parametrize("name", ["thermal.window_u_most_w_m2k", "ventilation.replacement_mm2"])
def test_next_year_s_edition_stands_beside_today_s_and_only_asks(name: str) -> None:
    """RG-24: in force 24 March 2027, values for replacement windows not verified."""
    england = book("england")
    assert england.on(date(2027, 3, 23)).figure(name).may_reject
    later = england.on(date(2027, 3, 24)).figure(name)
    assert not later.may_reject
    assert later.edition == "2026"
    assert "not verified" in later.source
    assert not england.on(date(2022, 6, 14)).has(name)


def test_a_source_is_cited_with_edition_and_paragraph() -> None:
    figure = book("england").figure("glazing.impact_class")
    assert figure.cited == "Approved Document K, EN 12600 class 3 or C of BS 6206, 2013, 5.4"


@pytest.mark.parametrize(
    ("room", "kinds"),
    [
        ("Bedroom 2 (front)", {"habitable"}),
        ("BED 1", {"habitable"}),
        ("kitchen/living", {"kitchen", "habitable"}),
        ("En-suite", {"bathroom"}),
        ("stair hall", {"passage"}),
        ("downstairs WC", {"sanitary"}),
        ("utility room", {"utility"}),
        ("larder", {"store"}),
        ("observatory", set()),
        ("kitchens", set()),
    ],
)
def test_rooms_are_known_by_their_words(room: str, kinds: set[str]) -> None:
    """Common practice, no source."""
    assert kinds_of_room(room) == kinds
