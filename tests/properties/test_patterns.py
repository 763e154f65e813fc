"""The quick way through an order of a sheet gives what the long way gives, byte for byte."""

import csv
import io
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from order_generator import openings
from sawready import patterns
from sawready.catalogue.load import Catalogue
from sawready.normalise import CallerDefaults
from sawready.pipeline import check_order, check_rows
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.csv_plan import SheetOrder
from sawready.readers.raw import Unreadable
from sawready.report.as_json import result_bytes

CATALOGUE = Catalogue.load_builtin()
CALLER = CallerDefaults()

SOUND = list(openings(60, seed=31, fault_share=0.0))
COLUMNS = sorted({column for row in SOUND for column in row})

ODD = (
    "", "0", "1", "2", "3", "-4", "x", "1200", "1200 mm", "120 cm", "47 1/4 in", "1,200", "1.2", "99999", "nil", "none",
    "1200/1201/1202", "1200?", "yes", "no", "kitchen", "bedroom", "W1", "w 1", "inside", "outside", "in", "fixed",
    "toughened", "render", "head", "  ", "=1+1", "\u00e9t\u00e9",
)  # fmt: skip


def both_ways(rows: list[dict[str, Any]]) -> tuple[int, int]:
    """Checks a sheet both ways, and compares. Returns: orders that went the quick way, and all."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    sheet = SheetOrders(io.BytesIO(text.getvalue().encode()), source="sheet")
    quick = every = 0
    for group in sheet.groups:
        if isinstance(group, Unreadable):
            continue
        order = SheetOrder(sheet.plan, group, "sheet")
        raw = order.raw()
        long_way = check_order(raw.data, catalogue=CATALOGUE, caller=CALLER, problems=raw.problems)
        result = check_rows(order, catalogue=CATALOGUE, caller=CALLER)
        every += 1
        if result is None:
            continue
        quick += 1
        assert result_bytes(result, cell_of=order.cell) == result_bytes(long_way, cell_of=raw.cell)
        assert [each.sized.missing for each in result.openings] == [
            each.sized.missing for each in long_way.openings
        ]
        assert [each.sized.opening for each in result.openings] == [
            each.sized.opening for each in long_way.openings
        ]
    return quick, every


rows = st.lists(
    st.tuples(
        st.sampled_from(SOUND),
        st.dictionaries(st.sampled_from(COLUMNS), st.sampled_from(ODD), max_size=3),
        st.dictionaries(
            st.sampled_from(
                [
                    name
                    for name in COLUMNS
                    if name.startswith(("width", "height_", "diagonal", "frame_w", "frame_h", "floor"))
                ]
            ),
            st.integers(100, 3200),
            max_size=3,
        ),
    ),
    min_size=1,
    max_size=12,
)


@given(rows=rows, view=st.sampled_from(["outside", "inside", ""]))
@settings(deadline=None, max_examples=400)
def test_the_quick_way_gives_what_the_long_way_gives(rows, view):
    """Any cell may be odd: what is not plainly like its pattern goes the long way, opening by opening."""
    both_ways(
        [{**row, "viewed_from": view or row["viewed_from"], **lengths, **odd} for row, odd, lengths in rows]
    )


def test_most_orders_go_the_quick_way():
    """Also those of which some opening is at fault; it alone goes the long way."""
    quick, every = both_ways(list(openings(400, seed=32, fault_share=0.1)))
    assert quick == every > 40


def test_patterns_are_few_and_bounded(monkeypatch):
    """A sheet of a thousand openings has few patterns, and a run over any number keeps no more than it may."""
    monkeypatch.setattr(patterns, "_heads", {})
    monkeypatch.setattr(patterns, "_patterns", {})
    monkeypatch.setattr(patterns, "MOST_PATTERNS", 20)
    both_ways(list(openings(300, seed=33)))
    assert all(len(each._patterns) <= 20 for _, each in patterns._patterns.values())


def test_two_openings_of_one_reference_go_the_long_way():
    """Whichever way they are written."""
    quick, every = both_ways([SOUND[0], {**SOUND[0], "opening_ref": SOUND[0]["opening_ref"].lower() + " "}])
    assert (quick, every) == (0, 1)
