"""Rulebook files: figures with their sources, editions by day, and every mistake named by its line."""

import pickle
from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sawready.catalogue.figures import Figure, may_reject, nanometres
from sawready.catalogue.load import Catalogue, read_rulebook
from sawready.catalogue.rulebook import CORE_FIGURES, Rulebook

Change = Callable[..., str]
Mistakes = Callable[..., list[str]]

MM = 1_000_000

EDITIONS = """
thermal:
  u_value_most_w_m2k:
    - {value: 1.4, source: "made up, table 2", confidence: high, in_force: 2022-06-15, edition: third}
    - {value: 1.6, source: "made up, table 1", confidence: high, in_force: 2010-10-01, edition: second}
    - {value: 1.2, source: "made up, from memory", confidence: high, in_force: 2027-06-15, edition: fourth}
  always_w_m2k: {value: 2, source: made up, confidence: low}
wind:
  deflection_class: {value: B, unit: word, source: made up, confidence: medium, paragraph: "4.2", least: 1}
  terrain:
    roughness_m:
      rows: [{category: 017, value: 0.05, up_to_m: 3}, {category: no, value: 0.3, up_to_m: 10}]
      source: made up
      confidence: medium
      checked: 2026-01-02
  areas_m2: {value: [1, 2, 3], source: made up, confidence: high}
"""


@pytest.fixture(scope="module")
def england() -> Rulebook:
    rulebook = Catalogue.load_builtin().rulebook("england")
    assert rulebook is not None
    return rulebook


@pytest.fixture(scope="session")
def with_editions(england_text: str) -> Rulebook:
    return read_rulebook(england_text + EDITIONS, name="own.yaml")


def test_every_figure_of_england_has_source_confidence_and_day(england: Rulebook) -> None:
    assert england.checked == date(2026, 11, 25)
    assert set(england.figures) >= CORE_FIGURES
    for figure in england.figures.values():
        assert figure.source
        assert figure.confidence in ("high", "medium", "low")
        assert figure.checked is not None


def test_what_every_opening_needs_is_there_in_whole_nanometres(england: Rulebook) -> None:
    assert england.limits_nm == {
        "size": (150 * MM, 6000 * MM),
        "diagonal": (150 * MM, 8500 * MM),
        "horn": (0, 150 * MM),
        "sill_projection": (50 * MM, 300 * MM),
        "finish_to_come": (0, 60 * MM),
        "own_gap": (0, 30 * MM),
    }
    assert england.diagonals_differ_from_nm == 5 * MM
    assert england.diagonals_against_sides_nm == 8 * MM
    assert england.readings_spread_nm == 15 * MM
    assert england.sill_overhang_nm == (15 * MM, 60 * MM)
    assert england.sill_overhang_usual_nm == 30 * MM
    assert england.backing_strip_above_gap_nm == 5 * MM
    fixings = england.fixings
    assert (fixings.corner_nm, fixings.corner_most_nm) == (150 * MM, 250 * MM)
    assert (fixings.centres_most_nm, fixings.from_divider_nm) == (600 * MM, 150 * MM)
    assert (fixings.least_per_side, fixings.head_and_bottom_from_nm) == (2, 1200 * MM)


def test_figures_are_found_by_dotted_path(england: Rulebook) -> None:
    figure = england.figure("fixings.corner_mm")
    assert (figure.value, figure.most, figure.unit) == (150, 250, "mm")
    assert figure.source == "NHBC Standards 6.7.11"
    assert (figure.number, figure.nm) == (150, 150 * MM)
    assert england.has("survey.readings_spread_mm")
    assert not england.has("survey.reading_spread_mm")
    with pytest.raises(KeyError, match=r"survey\.reading_spread_mm"):
        england.figure("survey.reading_spread_mm")


def test_gap_tables_are_figures_with_rows(england: Rulebook) -> None:
    table = england.figure("gap_per_side_mm")
    assert len(table.rows) == 24
    assert table.rows[0] == {"material": "pvcu", "colour_class": "white", "up_to_mm": 1500, "value": 5}
    assert table.note is not None
    assert england.figure("gap_most_per_side_mm").rows == (
        {"up_to_mm": 3000, "value": 10},
        {"up_to_mm": 4500, "value": 15},
    )


def test_a_figure_says_what_it_is_not(england: Rulebook) -> None:
    with pytest.raises(TypeError, match="no single number"):
        _ = england.figure("sill_overhang_mm").number
    with pytest.raises(TypeError, match="no range"):
        _ = england.figure("fixings.corner_mm").range
    with pytest.raises(TypeError, match="no range"):
        _ = england.figure("gap_per_side_mm").range
    assert england.figure("sill_overhang_mm").range_nm == (15 * MM, 60 * MM)


@pytest.mark.parametrize(
    ("source", "confidence", "allowed"),
    [
        ("NHBC Standards 6.7.11", "high", True),
        ("common practice", "medium", True),
        ("NHBC Standards 6.7.11", "low", False),
        ("starting value", "medium", False),
        ("EN 12519, From Memory", "high", False),
    ],
)
def test_a_doubtful_figure_may_not_reject(source: str, confidence: str, allowed: bool) -> None:
    assert may_reject(source=source, confidence=confidence) is allowed


def test_doubt_reaches_the_gaps(england_text: str, changed: Change) -> None:
    text = changed(
        england_text, ("gap-per-side table\n  confidence: high", "from memory\n  confidence: high")
    )
    gap = read_rulebook(text, name="f").gap_mm(material="pvcu", colour_class="white", span_mm=1000)
    assert gap is not None
    assert not gap.may_reject
    assert not read_rulebook(text, name="f").figure("gap_per_side_mm").may_reject


@pytest.mark.parametrize(
    ("day", "value"),
    [
        (date(2010, 9, 30), None),
        (date(2010, 10, 1), "1.6"),
        (date(2022, 6, 14), "1.6"),
        (date(2022, 6, 15), "1.4"),
        (date(2027, 6, 14), "1.4"),
        (date(2027, 6, 15), "1.2"),
        (date.max, "1.2"),
        (date.min, None),
    ],
)
def test_the_edition_of_the_day_holds(with_editions: Rulebook, day: date, value: str | None) -> None:
    view = with_editions.on(day)
    path = "thermal.u_value_most_w_m2k"
    assert view.has(path) is (value is not None)
    if value is not None:
        assert view.figure(path).value == Fraction(value)
    assert view.has("thermal.always_w_m2k")
    assert view.digest == with_editions.digest


def test_an_order_without_a_day_gets_the_view_of_the_day_checked(with_editions: Rulebook) -> None:
    assert with_editions.on(None) is with_editions.on(date(2026, 11, 25))
    assert with_editions.on(None).figure("thermal.u_value_most_w_m2k").edition == "third"


def test_the_same_figures_are_the_same_object(with_editions: Rulebook) -> None:
    """So that what is worked out per rulebook is worked out once."""
    assert with_editions.on(date(2023, 1, 1)) is with_editions.on(date(2024, 1, 1))
    assert with_editions.on(date(2028, 1, 1)).on(date(2023, 1, 1)) is with_editions.on(date(2023, 1, 1))
    assert with_editions.editions.days == (date(2010, 10, 1), date(2022, 6, 15), date(2027, 6, 15))


@given(day=st.dates(date(2005, 1, 1), date(2035, 1, 1)))
def test_views_change_only_on_the_days_named(with_editions: Rulebook, day: date) -> None:
    next_day = day + timedelta(days=1)
    changes = with_editions.on(day) is not with_editions.on(next_day)
    assert changes is (next_day in with_editions.editions.days)


def test_a_single_dated_figure_holds_without_a_day_where_the_file_names_none(
    england_text: str, changed: Change
) -> None:
    dated = "\nthermal:\n  a_mm: {value: 3, source: x, confidence: high, in_force: 2030-01-01}\n"
    unchecked = read_rulebook(changed(england_text, ("checked: 2026-11-25\n", "")) + dated, name="f")
    assert unchecked.checked is None
    assert unchecked.figure("thermal.a_mm").checked is None
    assert unchecked.on(None).has("thermal.a_mm")
    assert not unchecked.on(date(2029, 12, 31)).has("thermal.a_mm")
    assert not read_rulebook(england_text + dated, name="f").on(None).has("thermal.a_mm")


def test_a_core_figure_is_never_absent(england_text: str, changed: Change) -> None:
    text = changed(
        england_text,
        ("centres_most_mm: {value: 600", "centres_most_mm: {in_force: 2018-01-01, value: 600"),
        ("gap_most_per_side_mm:", "gap_most_per_side_mm:\n  in_force: 2018-01-01\n#"),
    )
    early = read_rulebook(text, name="f").on(date(2000, 1, 1))
    assert early.fixings.centres_most_nm == 600 * MM
    assert early.gap_most_mm(span_mm=1000) is not None


def test_gap_tables_have_editions_too(england_text: str) -> None:
    start = england_text.index("gap_most_per_side_mm:")
    end = england_text.index("backing_strip")
    tables = """gap_most_per_side_mm:
  - {source: made up, confidence: high, up_to_mm: [5000], value: [20]}
  - {source: made up, confidence: high, up_to_mm: [5000], value: [12], in_force: 2020-01-01}
"""
    rulebook = read_rulebook(england_text[:start] + tables + england_text[end:], name="f")
    for day, gap in ((date(2019, 12, 31), 20), (date(2020, 1, 1), 12)):
        found = rulebook.on(day).gap_most_mm(span_mm=1000)
        assert found is not None
        assert found.mm == gap


def test_further_sections_are_open_trees(with_editions: Rulebook) -> None:
    word = with_editions.figure("wind.deflection_class")
    assert (word.value, word.unit, word.paragraph, word.least) == ("B", "word", "4.2", 1)
    table = with_editions.figure("wind.terrain.roughness_m")
    assert table.rows == (
        {"category": "017", "value": Fraction(1, 20), "up_to_m": 3},
        {"category": "no", "value": Fraction(3, 10), "up_to_m": 10},
    )
    assert (table.value, table.unit, table.checked) == ((), "m", date(2026, 1, 2))
    assert with_editions.figure("wind.areas_m2").value == (1, 2, 3)
    assert with_editions.figure("wind.areas_m2").unit == "m2"
    assert with_editions.figure("thermal.always_w_m2k").unit == "W/m2K"


def test_what_a_rulebook_need_not_say_is_absent(england_text: str, changed: Change) -> None:
    text = changed(england_text, ("most: 250, ", ""), (" usual: 30,", ""))
    lines = [line for line in text.split("\n") if not line.startswith("backing_strip")]
    rulebook = read_rulebook("\n".join(lines), name="f")
    assert rulebook.fixings.corner_most_nm == rulebook.fixings.corner_nm
    assert rulebook.sill_overhang_usual_nm is None
    assert rulebook.backing_strip_above_gap_nm is None
    assert not rulebook.has("backing_strip_above_gap_mm")


def test_one_colour_class_of_a_material_may_be_missing(england_text: str, changed: Change) -> None:
    text = changed(england_text, (", coloured: [7.5, 7.5, 11]", ""))
    rulebook = read_rulebook(text, name="f")
    assert rulebook.gap_mm(material="pvcu", colour_class="coloured", span_mm=1000) is None
    assert rulebook.gap_mm(material="pvcu", colour_class="white", span_mm=1000) is not None


def test_nanometres_round_once_half_to_even() -> None:
    assert nanometres(Fraction("7.5")) == 7_500_000
    assert nanometres(Fraction(1, 2_000_000)) == 0
    assert nanometres(Fraction(3, 2_000_000)) == 2
    assert nanometres(Fraction(254, 10) / 64) == 396_875


def test_rulebooks_go_to_other_processes_whole(with_editions: Rulebook) -> None:
    copy = pickle.loads(pickle.dumps(with_editions))  # noqa: S301 - our own bytes
    assert copy.digest == with_editions.digest
    assert copy.on(None) is copy
    assert copy.on(date(2000, 1, 1)).fixings.corner_nm == 150 * MM
    assert copy.gap_nm(material="pvcu", colour_class="white", span_nm=1).nm == 5 * MM


def test_a_figure_is_itself_only() -> None:
    one, other = (Figure(value=Fraction(1), unit="", source="x", confidence="low") for _ in range(2))
    assert one != other
    assert len({one, other}) == 2


SOURCED = "source: s, confidence: low"

MISTAKES = [
    # a change to England and what is told about it, without file and line
    (("title: England, replacement windows\n", ""), "title: is missing."),
    (("limits:\n", "limit:\n"), "limit: is not known here. Did you mean limits?"),
    (("  readings_spread_mm", "  reading_spread_mm"), "survey.reading_spread_mm: is not known here. Did you mean"),
    (("confidence: medium, note: apertures", "confidance: medium, note: apertures"),
     "limits.size_mm.confidance: is not known here. Did you mean confidence?"),
    (("confidence: medium, note: apertures", "confidence: sure, note: apertures"),
     "limits.size_mm.confidence: 'sure' is not known. Write one of: high, medium, low."),
    (("[150, 6000], source: common practice", "[150, 6000]"), "limits.size_mm.source: is missing."),
    (("{value: [150, 6000], ", "{"), "limits.size_mm: needs either value or rows."),
    (("{value: [150, 6000], ", "{value: [1, 2], rows: [{a: b}], "), "limits.size_mm: needs either value or rows."),
    (("{value: [150, 6000], ", "{rows: [{a: b}], "), "limits.size_mm.value: must be two numbers, the least below"),
    (("value: [150, 6000]", "value: [6000, 150]"), "limits.size_mm.value: must be two numbers, the least below"),
    (("value: [150, 6000]", "value: [1, 2, 3]"), "limits.size_mm.value: must be two numbers"),
    (("value: [150, 6000]", "value: 6000"), "limits.size_mm.value: must be two numbers"),
    (("{value: 150, most", "{value: [150], most"), "fixings.corner_mm.value: must be one number."),
    (("{value: 150, most", "{value: x, most"), "fixings.corner_mm.value: 'x' is no number."),
    (("{value: 150, most", "{value: 1500, most"), "fixings.corner_mm.value: 1500 mm is not plausible; 20 to 1000"),
    (("most: 250", "most: 149"), "fixings.corner_mm.most: 149 mm is below the value, 150 mm."),
    (("most: 250", "range: [160, 170]"), "fixings.corner_mm.value: 150 is outside its own range, 160 to 170."),
    (("value: [15, 60]", "value: [15, 60], range: [20, 50]"), "sill_overhang_mm.value: 60 is outside its own range"),
    (("least_per_side: {value: 2", "least_per_side: {value: 2.5"), "fixings.least_per_side.value: must be a whole"),
    (("least_per_side: {value: 2", "least_per_side: {value: 0"), "fixings.least_per_side.value: must be a whole"),
    (("usual: 30", "usual: 61"), "sill_overhang_mm.usual: 61 mm is outside 15 to 60 mm."),
    (("usual: 30", "usual: 30, unit: m"), "sill_overhang_mm.unit: 'm' disagrees with the key, which says mm."),
    (("value: [150, 8500]", "value: [150, 5999]"), "limits.diagonal_mm: ends at 5999 mm, below the longest side"),
    (("checked: 2026-11-25", "checked: 2026-02-30"), "checked: '2026-02-30' is no day."),
    (("value: 8, source: starting value", "value: 8, in_force: soon, source: x"),
     "survey.diagonals_against_sides_mm.in_force: 'soon' is no day."),
    (("up_to_mm: [1500, 3000, 4500]", "up_to_mm: [1500, 1500, 4500]"), "gap_per_side_mm.up_to_mm: 1500 stands after"),
    (("pvcu: {white: [5, 5, 7.5]", "pvcu: {white: [5, 5]"), "gap_per_side_mm.pvcu.white: has 2 gaps for 3 spans"),
    (("pvcu: {white: [5, 5, 7.5]", "pvcu: {white: [5, 5, 75]"), "gap_per_side_mm.pvcu.white: 75 mm is not plausible"),
    (("pvcu: {white: [5, 5, 7.5]", "pvcu: {white: [5, 5, 15.1]"),
     "gap_per_side_mm.pvcu.white: 15.1 mm for spans up to 4500 mm is above the largest gap there, 15 mm. Correct"),
    (("value: [10, 15]", "value: [5, 5]"),
     "gap_per_side_mm.pvcu.white: 7.5 mm for spans up to 4500 mm is above the largest gap there, 5 mm, and 7 more"),
    (("value: [10, 15]", "value: [10]"), "gap_most_per_side_mm.value: has 1 gaps for 2 spans"),
    (("  pvcu: {", "  pvc: {"), "gap_per_side_mm.pvc: is not known here. Did you mean pvcu?"),
    (("  pvcu: {white", "  pvcu: {wite"), "gap_per_side_mm.pvcu.wite: is not known here. Did you mean white?"),
    (("gap_most_per_side_mm:  ", "gap_most_per_side_mm: 5\nx: "), "gap_most_per_side_mm: '5' has no source."),
    (("rulebook: england", "rulebook: england\nthermal: 3"), "thermal: '3' is no section."),
    (("rulebook: england", "rulebook: england\nthermal: {u: 3}"), "thermal.u: '3' is no section."),
    (("rulebook: england", "rulebook: england\nthermal: {u: {valeu: 3}}"), "thermal.u.valeu: '3' is no section."),
    (("rulebook: england", "rulebook: england\nwint: {}"), "wint: is not known here. Did you mean wind?"),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{value: B, {SOURCED}}}}}"), "wind.a.value: 'B' is no number."),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{value: [x], {SOURCED}}}}}"), "wind.a.value: 'x' is no"),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{rows: [], {SOURCED}}}}}"), "wind.a.rows: a list is no list"),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{rows: [3], {SOURCED}}}}}"), "wind.a.rows row 1: '3' is no"),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{rows: [{{b_mm: x}}], {SOURCED}}}}}"),
     "wind.a.rows row 1, b_mm: 'x' is no number."),
    (("rulebook: england", f"rulebook: england\nwind: {{a: {{rows: [{{b: []}}], {SOURCED}}}}}"),
     "wind.a.rows row 1, b: must be text, not a list."),
    (("rulebook: england", f'rulebook: england\nwind: {{"a b": {{value: 1, {SOURCED}}}}}'), "wind.a b: is no name."),
    (("rulebook: england", f"rulebook: england\nwind: {{a.b: {{value: 1, {SOURCED}}}}}"), "wind.a.b: is no name."),
    (("rulebook: england", "rulebook: england\nwind: {a: []}"), "wind.a: has no edition."),
    (("rulebook: england", "rulebook: england\nwind: {a: [3]}"), "wind.a row 1: '3' has no source."),
    (("rulebook: england", "rulebook: england\nwind: {a: {b: {c: {d: {e: {f: {g: {}}}}}}}}"),
     "wind.a.b.c.d.e.f: sections nest deeper than 6."),
    (("rulebook: england", f"rulebook: england\nwind: {{a: [{{value: 1, {SOURCED}}}, {{value: 1, {SOURCED}}}]}}"),
     "wind.a row 2, in_force: is the same as in edition 1."),
    (("checked: 2026-11-25", f"wind: {{a: [{{value: 1, {SOURCED}, in_force: 2020-01-01}}, {{value: 1, {SOURCED}}}]}}"),
     "wind.a: has several editions, so the file must say which holds for an order without a date."),
]  # fmt: skip


@pytest.mark.parametrize(("change", "says"), MISTAKES)
def test_a_mistake_is_named_by_file_line_and_key(
    england_text: str, changed: Change, mistakes: Mistakes, change: tuple[str, str], says: str
) -> None:
    told = mistakes(read_rulebook, changed(england_text, change), name="own.yaml")
    assert any(f": {says}" in line for line in told), told
    assert all(line.startswith("own.yaml, line ") for line in told)


def test_a_gap_table_needs_a_material(england_text: str, mistakes: Mistakes) -> None:
    lines = [
        line
        for line in england_text.split("\n")
        if not line.startswith(("  pvcu:", "  aluminium:", "  timber:", "  steel:"))
    ]
    (told,) = mistakes(read_rulebook, "\n".join(lines), name="f")
    assert "gap_per_side_mm: lists no frame material." in told


def test_every_core_figure_is_needed(england_text: str, mistakes: Mistakes) -> None:
    """Each of them by name: taken out, it is missed."""
    for path in sorted(CORE_FIGURES):
        *section, key = path.split(".")
        lines = england_text.split("\n")
        start = next(place for place, line in enumerate(lines) if line.strip().startswith(f"{key}:"))
        end = start + 1
        while len(section) == 0 and lines[end : end + 1] and lines[end].startswith("  "):
            end += 1
        told = mistakes(read_rulebook, "\n".join(lines[:start] + lines[end:]), name="f")
        assert len(told) == 1, (path, told)
        assert f"{path}: is missing." in told[0]


def test_mistakes_inside_editions_have_their_own_line(england_text: str, mistakes: Mistakes) -> None:
    more = """
thermal:
  a_mm:
    - value: 1
      source: s
      confidence: low
    - value: x
      source: s
      confidence: low
      in_force: 2020-01-01
"""
    (told,) = mistakes(read_rulebook, england_text + more, name="f")
    line = (england_text + more).split("\n").index("    - value: x") + 1
    assert told.startswith(f"f, line {line}: thermal.a_mm row 2, value: 'x' is no number.")
