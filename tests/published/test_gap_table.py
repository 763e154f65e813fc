"""Gaps between frame and wall, cell by cell.

Source: LABC Warranty, technical article on gaps around windows, sealants and finishing trims, table of
recommended gaps per side (web page as read in November 2026). It gives, per side, for openings under
1.5 m, 1.5 to 3.0 m and 3.0 to 4.5 m: white PVC-U 5, 5, 7.5; other PVC-U 7.5, 7.5, 11; timber 5 at all
widths; steel 4, 5, 6; aluminium 5, 5, 7.5; and as the largest gap 10 mm under 3 m and 15 mm over it,
with a backing strip behind the seal above 5 mm.

The table prints 3.0 m in two bands; that exactly 1500 and 3000 mm belong to the lower one is our
choice, in line with a trade guide for installers that gives 5 mm up to 3 m.
"""

from fractions import Fraction

import pytest

from sawready.catalogue.load import Catalogue
from sawready.catalogue.rulebook import Rulebook

MM = 1_000_000

TABLE = {
    ("pvcu", "white"): ("5", "5", "7.5"),
    ("pvcu", "coloured"): ("7.5", "7.5", "11"),
    ("timber", "white"): ("5", "5", "5"),
    ("timber", "coloured"): ("5", "5", "5"),
    ("steel", "white"): ("4", "5", "6"),
    ("steel", "coloured"): ("4", "5", "6"),
    ("aluminium", "white"): ("5", "5", "7.5"),
    ("aluminium", "coloured"): ("5", "5", "7.5"),
}
"""Only PVC-U is split by colour in the table; the other materials have the same row twice here."""

INSIDE = {0: ("300", "1499.9", "1500"), 1: ("1500.1", "2400", "3000"), 2: ("3000.1", "3600", "4500")}
"""Spans inside each band, with its two ends."""

CELLS = [
    (material, colour_class, span, gap)
    for (material, colour_class), gaps in TABLE.items()
    for band, gap in enumerate(gaps)
    for span in INSIDE[band]
]


@pytest.fixture(scope="module")
def england() -> Rulebook:
    rulebook = Catalogue.load_builtin().rulebook("england")
    assert rulebook is not None
    return rulebook


@pytest.mark.parametrize(("material", "colour_class", "span", "gap"), CELLS)
def test_every_cell_at_both_ends_and_inside(
    england: Rulebook, material: str, colour_class: str, span: str, gap: str
) -> None:
    found = england.gap_mm(material=material, colour_class=colour_class, span_mm=Fraction(span))
    assert found is not None
    assert found.mm == Fraction(gap)
    assert found.nm == Fraction(gap) * MM
    assert found.may_reject
    assert found.source.startswith("LABC Warranty")


@pytest.mark.parametrize(("material", "colour_class", "span", "gap"), CELLS)
def test_whole_nanometres_find_the_same_cell(
    england: Rulebook, material: str, colour_class: str, span: str, gap: str
) -> None:
    found = england.gap_nm(material=material, colour_class=colour_class, span_nm=int(Fraction(span) * MM))
    assert found is not None
    assert found.mm == Fraction(gap)


@pytest.mark.parametrize(("edge_mm", "below", "above"), [(1500, "4", "5"), (3000, "5", "6")])
def test_the_edges_belong_to_the_lower_band_to_the_nanometre(
    england: Rulebook, edge_mm: int, below: str, above: str
) -> None:
    """Steel has another figure in each band, so it shows which one holds."""
    for span_nm, gap in ((edge_mm * MM, below), (edge_mm * MM + 1, above)):
        found = england.gap_nm(material="steel", colour_class="white", span_nm=span_nm)
        assert found is not None
        assert found.mm == Fraction(gap)


@pytest.mark.parametrize(
    ("span", "gap"), [("300", 10), ("2999.9", 10), ("3000", 10), ("3000.1", 15), ("4500", 15)]
)
def test_the_largest_gap(england: Rulebook, span: str, gap: int) -> None:
    found = england.gap_most_mm(span_mm=Fraction(span))
    assert found is not None
    assert found.mm == gap
    same = england.gap_most_nm(span_nm=int(Fraction(span) * MM))
    assert same is found


def test_past_the_last_band_the_table_says_nothing(england: Rulebook) -> None:
    past = Fraction("4500.1")
    for material, colour_class in TABLE:
        assert england.gap_mm(material=material, colour_class=colour_class, span_mm=past) is None
    assert england.gap_most_mm(span_mm=past) is None


def test_a_material_that_the_table_does_not_list_has_no_gap(england: Rulebook) -> None:
    assert england.gap_mm(material="bronze", colour_class="white", span_mm=1000) is None


def test_a_backing_strip_is_needed_above_five_millimetres(england: Rulebook) -> None:
    assert england.backing_strip_above_gap_nm == 5 * MM


def test_totals_of_the_survey_code_are_twice_the_gaps(england: Rulebook) -> None:
    """BS 8213-4 gives its deductions as totals, 10, 10, 15 for white PVC-U (from memory)."""
    for span, total in ((1000, 10), (2000, 10), (4000, 15)):
        found = england.gap_mm(material="pvcu", colour_class="white", span_mm=span)
        assert found is not None
        assert 2 * found.mm == total
