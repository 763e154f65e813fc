"""Laws of the doors: whatever comes in, nothing is lost, nothing is invented, and nothing else is raised.

The json and csv modules of the standard library are the yardstick: what a door reads, they read alike.
"""

import csv
import io
import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from sawready.errors import UnreadableError
from sawready.model.finding import Finding
from sawready.model.pointer import pointer, resolve, tokens_of
from sawready.readers import csv_door, csv_orders, csv_text
from sawready.readers.column_map import load_column_map
from sawready.readers.csv_door import Sheet
from sawready.readers.csv_orders import SheetOrders
from sawready.readers.json_door import loads
from sawready.readers.json_place import MOST_DEPTH, find_fault
from sawready.readers.orders import read_orders
from sawready.readers.raw import KINDS, RawOrder, Unreadable

HEAD = "order_ref,system,opening_ref,width_top,height_left,diagonal_1,diagonal_2,layout,units,note"
FIRM = load_column_map(
    "columns: {order_ref: A, opening_ref: B, layout: C}\n"
    "defaults: {system: demo70}\nsizes: {column: D, order: WxH}\nignore: all\n",
    name="firm.yaml",
)

json_text = st.lists(
    st.sampled_from(
        [
            *'{}[],:"\\-.01 é\n\x00\x7f\u2028\ufeff',
            *('"a"', '"b"', '"a":', '{"a":1', "[" * 40, "{{{", "e9", "e99", "1" * 18),
            *("NaN", "Infinity", "true", "null", "\\u0000", "\\ud800", "\\udc00", "\\n", "\\b"),
        ]
    ),
    max_size=24,
).map("".join)

cell_text = st.text(st.sampled_from('ab1"\n\r,;\t \u00e9\u2028\ufeff\x00\x1f\x85'), max_size=6)

sheet_text = st.lists(
    st.sampled_from(
        ['"', '""', ",", ",,", "\n", "\r\n", "\r", "a", "W1", " ", "\x00", "é", '"a"', "x,1\n", ";"]
    ),
    max_size=40,
).map("".join)

values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**18) + 1, 10**18 - 1)
    | st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-(10**9), max_value=10**9)
    | st.text(st.characters(exclude_categories=["Cs", "Cc"])),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text("ab/~", max_size=3), inner, max_size=4)
    ),
    max_leaves=12,
)


def outcome(read: Callable[[], Any]) -> tuple[Any, UnreadableError | None]:
    """What a reading gives, or the one error that it may raise."""
    try:
        return read(), None
    except UnreadableError as error:
        return None, error


def physical_lines(data: bytes) -> int:
    return data.count(b"\n") + (not data.endswith(b"\n"))


def plain(value: object) -> str:
    """JSON text of a value, its decimals as written."""
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(key)}:{plain(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(plain, value)) + "]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value)


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.binary(max_size=400) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
@settings(deadline=None, max_examples=150)
def test_any_bytes_give_orders_refusals_or_one_error(kind, data):
    """No other exception, whatever comes."""
    found, error = outcome(lambda: list(read_orders(io.BytesIO(data), kind=kind, source="s")))
    assert error is None or error.detail
    assert all(isinstance(item, RawOrder | Unreadable) for item in found or [])


@given(
    text=sheet_text | cell_text,
    column_map=st.sampled_from([None, FIRM]),
    encoding=st.sampled_from(["utf-8", "utf-16"]),
)
@settings(deadline=None, max_examples=300)
@example(text='TQ,d,"1,2,3,4,5,6,7,8\n', column_map=None, encoding="utf-8")
def test_any_rows_below_a_good_header_are_read_or_refused(text, column_map, encoding):
    """Each comes out as an order or a refusal; what is said of an order has a place in the sheet."""
    head = HEAD if column_map is None else "A,B,C,D"
    data = f"{head}\n{text}".encode(encoding)
    reading = SheetOrders(io.BytesIO(data), source="s", column_map=column_map)
    found, error = outcome(lambda: list(reading))
    assert error is None or "no openings" in error.detail
    for item in found or []:
        if isinstance(item, Unreadable):
            assert item.first_line <= item.line < item.first_line + item.lines
            assert item.detail
            assert item.remedy
            continue
        for problem in item.problems:
            assert isinstance(problem, Finding)
            assert problem.cell is not None
            assert item.cell(problem.at) is not None
    assert reading.tally.lines == physical_lines(f"{head}\n{text}".encode())


@given(text=sheet_text)
@settings(deadline=None, max_examples=300)
def test_every_physical_line_is_read_skipped_or_refused(text):
    """The sum of the tally is the number of lines, and rows begin where the tally says."""
    data = f"a,b,c\n{text}".encode()
    sheet = Sheet(io.BytesIO(data), source="s")
    found = list(sheet)
    tally = sheet.tally
    assert tally.lines == physical_lines(data)
    assert tally.rows == sum(not isinstance(row, Unreadable) for row in found)
    assert tally.refused == sum(row.lines for row in found if isinstance(row, Unreadable))
    begins = [row.first_line if isinstance(row, Unreadable) else row[0] for row in found]
    assert begins == sorted(set(begins))


@given(text=sheet_text)
@settings(deadline=None, max_examples=300)
def test_rows_that_are_read_are_those_of_the_csv_module(text):
    """Where nothing is refused, row for row; blank ones left out."""
    text = f"a,b,c\n{text}"
    found = list(Sheet(io.BytesIO(text.encode()), source="s"))
    if any(isinstance(row, Unreadable) for row in found):
        return
    expected = csv.reader(io.StringIO(text, newline="\n"), strict=True)
    assert [row[1] for row in found] == [row for row in expected if any(map(str.strip, row))][1:]


@given(
    table=st.lists(
        st.lists(
            st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from('\n",;\t'), max_size=8),
            min_size=3,
            max_size=3,
        ),
        max_size=6,
    ),
    delimiter=st.sampled_from(",;\t"),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    line_end=st.sampled_from(["\n", "\r\n"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
@settings(deadline=None)
def test_what_the_csv_module_writes_comes_back(table, delimiter, quoting, line_end, encoding):
    """In every delimiter, quoting, line end and encoding; blank rows left out."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter, quoting=quoting, lineterminator=line_end)
    writer.writerow(["Ref", "W", "H"])
    writer.writerows(table)
    found = list(Sheet(io.BytesIO(text.getvalue().encode(encoding)), source="s"))
    assert not any(isinstance(row, Unreadable) for row in found)
    assert [row[1] for row in found] == [row for row in table if any(map(str.strip, row))]


@example(text='W\r,"x\ny"\n', size=15)
@given(text=sheet_text, size=st.integers(1, 40))
@settings(deadline=None, max_examples=300)
def test_where_a_sheet_is_cut_into_pieces_makes_no_difference(text, size):
    """Rows, refusals and tally are the same for pieces of any size."""
    data = f"a,b,c\n{text}é\n1,2,3\n".encode()
    whole = Sheet(io.BytesIO(data), source="s")
    expected = list(whole)
    with patch.object(csv_text, "PIECE_BYTES", size), patch.object(csv_door, "MOST_PIECES", 10_000):
        cut = Sheet(io.BytesIO(data), source="s", delimiter=",")
        assert list(cut) == expected
        assert cut.tally == whole.tally


@given(
    rows=st.lists(
        st.tuples(st.sampled_from("ABC "), st.sampled_from(["mm", "in", ""]), st.sampled_from(["1", ""])),
        min_size=1,
        max_size=12,
    )
)
@settings(deadline=None)
def test_a_sheet_read_twice_gives_what_a_sheet_that_is_held_gives(rows):
    """Orders, problems and refusals, in the same order."""
    lines = [
        f"{ref},demo70,W{number},{width},1,,1,fixed,{units},"
        for number, (ref, units, width) in enumerate(rows)
    ]
    data = "\n".join([HEAD, *lines]).encode()

    def all_of() -> list[object]:
        found = SheetOrders(io.BytesIO(data), source="s")
        return [
            (item.data, item.problems, item.line) if isinstance(item, RawOrder) else item for item in found
        ]

    held = all_of()
    with patch.object(csv_orders, "MOST_HELD_BYTES", 0):
        assert all_of() == held
    openings = sum(len(item[0]["openings"]) for item in held if isinstance(item, tuple))
    assert openings + sum(isinstance(item, Unreadable) for item in held) == len(rows)


@given(text=json_text)
@settings(deadline=None, max_examples=500)
@example(text="[" * 100_000)
@example(text='{"a":' * 5_000 + "1" + "}" * 5_000)
@example(text='["\\"]", ' * 50 + "1")
def test_json_is_read_as_the_json_module_reads_it_or_refused_with_its_place(text):
    """What is accepted has the same value; the place finder agrees with the decoder on every text."""
    fault = find_fault(text.removeprefix("\ufeff"))
    value, error = outcome(lambda: loads(text.encode()))
    if error is not None and "UTF-16" in error.detail:
        assert "\x00" in text[:4]
    elif error is not None:
        assert fault is not None
        assert (error.line, error.column, error.pointer) == (fault.line, fault.column, fault.pointer)
        tokens_of(fault.pointer or "")
        lines = text.removeprefix("\ufeff").split("\n")
        assert 1 <= int(fault.column or 0) <= len(lines[(fault.line or 0) - 1]) + 1
    else:
        assert fault is None
        assert value == json.loads(text.removeprefix("\ufeff"), parse_float=Decimal)


@given(value=values)
@settings(deadline=None)
def test_values_come_back_as_they_were_written(value):
    """Nothing within the limits is refused or changed, down to the digits of decimals."""
    text = plain(value)
    assert loads(text.encode()) == value
    assert (
        loads(json.dumps(json.loads(text), indent=1, ensure_ascii=False).encode()) is not None
        or value is None
    )


@given(
    depth=st.integers(1, 200),
    inner=st.sampled_from(["", '"]"', '"[{"', '"\\""']),
    shape=st.lists(st.booleans(), min_size=1),
)
@settings(deadline=None)
def test_the_depth_limit_is_exact(depth, inner, shape):
    """Lists and objects in any mixture, brackets in texts not counted."""
    text = inner
    for level in range(depth):
        is_list = shape[level % len(shape)] or not text
        text = f"[{text}]" if is_list else f'{{"a":{text}}}'
    wide = "[" + ",".join([text] * 9) + "]"
    if depth < MOST_DEPTH:
        assert loads(wide.encode()) == json.loads(wide)
    else:
        with pytest.raises(UnreadableError, match="nested deeper"):
            loads(wide.encode())


@given(
    lines=st.lists(
        st.sampled_from(
            [
                b'{"openings": [{}]}',
                b"",
                b" \t",
                b"{",
                b"7",
                b'{"a": 1, "a": 2}',
                b"\xff",
                b"\r",
                b'"\xe2\x80\xa8"',
                b"{}",
            ]
        ),
        max_size=12,
    )
)
@settings(deadline=None)
def test_every_line_of_ndjson_gives_one_order_or_one_refusal(lines):
    """Blank lines aside; numbers count physical lines."""
    found, _ = outcome(lambda: list(read_orders(io.BytesIO(b"\n".join(lines)), kind="ndjson", source="s")))
    expected = [number for number, line in enumerate(lines, 1) if line.strip(b" \t\r\n")]
    assert [item.line for item in found or []] == expected


@given(tokens=st.lists(st.text("ab/~01", max_size=4) | st.integers(0, 9), max_size=5))
@settings(deadline=None)
def test_pointers_go_there_and_back(tokens):
    """Whatever stands in the names."""
    assert list(tokens_of(pointer(*tokens))) == [str(token) for token in tokens]
    document: object = "here"
    for token in reversed(tokens):
        document = {str(token): document}
    assert resolve(document, pointer(*tokens)) == "here"
