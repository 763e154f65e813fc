"""Chunks hold what the input holds: nothing lost, doubled or parted, whatever their size."""

import io
import json
import pickle
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sawready.batch import chunks as cutting
from sawready.batch.chunks import CountsError, Source, cut
from sawready.batch.inputs import Input, find_inputs, passed_over, shown_kind
from sawready.batch.settings import GivenFile, RunSettings
from sawready.errors import UnreadableError
from sawready.normalise import CallerDefaults
from sawready.readers import csv_orders, json_orders
from sawready.readers.csv_plan import SheetOrder
from sawready.readers.orders import read_orders
from sawready.readers.raw import Unreadable

SETTINGS = RunSettings(CallerDefaults())
HEAD = "order_ref,system,opening_ref,width_top,height_left,layout,note"


def source(data: bytes, kind: str, name: str = "orders") -> Source:
    return Source(name, "firm", lambda: (io.BytesIO(data), kind), len(data), None)


def told(item) -> tuple:
    """An order or a refusal by everything that a result depends on."""
    if isinstance(item, Unreadable):
        return (item,)
    if isinstance(item, SheetOrder):
        item = item.raw()
    places = ["/openings/0/widths/0", "/openings/0", "/system", "/openings/1/layout"]
    cells = [item.cell(place) for place in places]
    return json.dumps(item.data, default=str), item.source, repr(item.problems), cells


def in_chunks(data: bytes, kind: str, size: int) -> list[tuple]:
    """What the chunks hold, each sent to another process and back."""
    found = []
    for number, chunk in enumerate(cut([source(data, kind)], SETTINGS, chunk_openings=size)):
        assert chunk.number == number
        sent = pickle.loads(pickle.dumps(chunk))  # noqa: S301 - our own
        found += [told(item) for part in sent.parts for item in part.items(SETTINGS)]
    return found


def as_whole(data: bytes, kind: str) -> list[tuple]:
    """What the reader gives of the file as a whole."""
    found = []
    try:
        found += [told(item) for item in read_orders(io.BytesIO(data), kind=kind, source="orders")]
    except UnreadableError as error:
        found.append(told(cutting.refused_file("orders", error)))
    return found


rows = st.lists(
    st.tuples(
        st.sampled_from("ABCDE"),
        st.sampled_from(["1200", "12?", ""]),
        st.sampled_from(["x", 'say "so"', "a,b"]),
    ),
    max_size=30,
)


@given(rows=rows, size=st.integers(1, 12), bad=st.booleans(), is_large=st.booleans())
@settings(deadline=None, max_examples=150)
def test_chunks_of_a_sheet_hold_its_orders_whole(rows, size, bad, is_large):
    """Rows of an order may lie anywhere: no chunk parts them, and all come in the sheet's order."""
    quoted = ('"' + note.replace('"', '""') + '"' for _, _, note in rows)
    lines = [
        f"{ref},demo70,W{number},{width},1050,fixed,{note}"
        for number, ((ref, width, _), note) in enumerate(zip(rows, quoted, strict=True))
    ]
    if bad:
        lines.insert(len(lines) // 2, "B,one,two")
    data = "\n".join([HEAD, *lines, ""]).encode()
    with (
        patch.object(cutting, "SMALL_FILE_BYTES", 0),
        patch.object(csv_orders, "MOST_HELD_BYTES", 0 if is_large else 1_000_000),
    ):
        assert in_chunks(data, "csv", size) == as_whole(data, "csv")


line = st.one_of(
    st.sampled_from([b"", b"  ", b"\r", b"{", b"[]", b"x" * 90, b'{"openings": []}']),
    st.integers(0, 99).map(lambda number: b'{"order_ref": "%d", "openings": [{}, {}]}' % number),
)


@given(lines=st.lists(line, max_size=40), size=st.integers(1, 3), mark=st.booleans(), ends=st.booleans())
@settings(deadline=None, max_examples=200)
def test_chunks_of_lines_hold_each_line_with_its_number(lines, size, mark, ends):
    """Bad, blank and overlong lines too; a long one is passed over without being held."""
    data = (b"\xef\xbb\xbf" if mark else b"") + b"\n".join(lines) + (b"\n" if ends else b"")
    with (
        patch.object(cutting, "SMALL_FILE_BYTES", 0),
        patch.object(cutting, "_BYTES_OF_OPENING", {"csv": 1, "json": 1, "ndjson": 40}),
        patch.object(cutting, "MOST_LINE_BYTES", 80),
        patch.object(json_orders, "MOST_LINE_BYTES", 80),
    ):
        assert in_chunks(data, "ndjson", size) == as_whole(data, "ndjson")


@pytest.mark.parametrize("size", [1, 3, 100])
@pytest.mark.parametrize("data", [b"[{}, 5]", b"[", b'{"openings": [{}]}', b"", b'[{"openings": [{}]}, {]'])
def test_chunks_of_a_json_file_hold_its_items(data, size):
    """A list is parted between its items; what cannot be read at all stands as one refusal."""
    listed = b"[" + b", ".join([b'{"order_ref": "A", "openings": [{}, {}]}'] * 7) + b"]"
    with patch.object(cutting, "SMALL_FILE_BYTES", 0 if data else -1):
        assert in_chunks(data, "json", size) == as_whole(data, "json")
        assert in_chunks(listed, "json", size) == as_whole(listed, "json")


def test_small_files_share_a_chunk_and_a_large_one_is_parted(tmp_path):
    """Work comes in pieces of about one size, however the input is filed."""
    small = [
        source(f"{HEAD}\nT-{number},demo70,W1,1,1,fixed,\n".encode(), "csv", f"{number}")
        for number in range(50)
    ]
    assert [len(chunk.parts) for chunk in cut(small, SETTINGS)] == [50]
    large = "\n".join([HEAD, *(f"T-{number},demo70,W1,1,1,fixed,note" for number in range(5000))]).encode()
    parts = [chunk.rows for chunk in cut([source(large, "csv")], SETTINGS)]
    assert sum(parts) == 5000
    assert max(parts) == cutting.CHUNK_OPENINGS


def test_an_order_far_apart_in_a_huge_sheet_is_one_order():
    """Its last row lies ten thousand orders below its first: both stand in the chunk of the first."""
    refs = ["FAR", *(f"T-{number}" for number in range(10_000)), "FAR"]
    data = "\n".join(
        [HEAD, *(f"{ref},demo70,W{number},1,1,fixed,n" for number, ref in enumerate(refs))]
    ).encode()
    with patch.object(csv_orders, "MOST_HELD_BYTES", 0):
        chunks = list(cut([source(data, "csv")], SETTINGS, chunk_openings=100))
    first = next(iter(chunks[0].parts[0].items(SETTINGS))).raw()
    assert [opening["opening_ref"] for opening in first.data["openings"]] == ["W0", "W10001"]
    assert first.cell("/openings/1/layout").line == 10_003
    assert len(chunks) == 101


def test_rows_that_get_lost_are_noticed():
    """The sheet's own count of rows is held against what went on."""
    data = "\n".join([HEAD, *(f"T-{number},demo70,W1,1,1,fixed,n" for number in range(20))]).encode()

    def losing(orders):
        for number, item in enumerate(orders):
            if number != 7:
                yield item

    real = csv_orders.SheetOrders._read
    with (
        patch.object(cutting, "SMALL_FILE_BYTES", 0),
        patch.object(csv_orders.SheetOrders, "_read", lambda self: losing(real(self))),
        pytest.raises(CountsError, match="20 rows were read, but 19 went on"),
    ):
        list(cut([source(data, "csv")], SETTINGS))


def test_a_file_that_goes_away_is_refused_in_its_place(tmp_path):
    """It was there when the run began; the rest goes on."""
    path = tmp_path / "a.csv"
    path.write_text(HEAD, encoding="utf-8")
    (given_,) = find_inputs([str(path)])
    gone = Source.of(given_, SETTINGS, io.BytesIO())
    path.unlink()
    (chunk,) = cut([gone], SETTINGS)
    (item,) = chunk.parts[0].items(SETTINGS)
    assert "cannot be read: No such file" in item.detail


def test_a_firm_is_named_by_its_map_or_by_its_folder(tmp_path):
    """The counts of a run are told by firm."""
    folder = tmp_path / "quayside"
    folder.mkdir()
    path = folder / "a.csv"
    path.write_text(HEAD, encoding="utf-8")
    (given_,) = find_inputs([str(path)])
    assert Source.of(given_, SETTINGS, io.BytesIO()).firm == "quayside"
    mapped = RunSettings(CallerDefaults(), column_map=GivenFile("m.yaml", b"firm: Harbour Glazing"))
    assert Source.of(given_, mapped, io.BytesIO()).firm == "Harbour Glazing"


def test_standard_input_is_read_once_and_can_be_read_again():
    """A large sheet needs two readings, and a manifest the digest of the input."""
    read = Source.of(Input("<stdin>", None, None), SETTINGS, io.BytesIO(HEAD.encode()))
    for _ in range(2):
        stream, kind = read.open()
        with stream:
            assert (stream.read(), kind) == (HEAD.encode(), "csv")
    read.close()


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"", "csv"),
        (b"order_ref,system", "csv"),
        (b"\xef\xbb\xbf[1]", "json"),
        (b'\n\n {"a": 1}', "json"),
        (b'{"a": 1}\n', "json"),
        (b'{"a": 1}\n\n{"b": 1}', "ndjson"),
        (b'{"a":\n1}', "json"),
    ],
)
def test_a_stream_shows_its_kind_by_how_it_begins(data, kind):
    """A list or an object over several lines is JSON, objects on lines of their own are NDJSON."""
    stream = io.BytesIO(data)
    assert shown_kind(stream) == kind
    assert stream.tell() == 0


def test_files_of_a_folder_that_are_no_input_are_told(tmp_path):
    """A spreadsheet that somebody forgot to export is seen in the morning; maps and hidden files are not missed."""
    for name in ("a.csv", "a.columns.yaml", ".hidden", "rest.xlsx"):
        (tmp_path / name).touch()
    assert passed_over([str(tmp_path), str(tmp_path / "a.csv"), "-"]) == [str(tmp_path / "rest.xlsx")]
    assert [given_.name for given_ in find_inputs([str(tmp_path)])] == [str(Path(tmp_path / "a.csv"))]
