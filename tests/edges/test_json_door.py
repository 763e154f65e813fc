"""The doors for JSON and NDJSON: what they give, what they refuse, and where they say it stands."""

import io
import json
from decimal import Decimal

import pytest

from sawready.errors import UnreadableError
from sawready.readers import json_door, json_orders
from sawready.readers.json_door import loads
from sawready.readers.json_orders import MOST_LINE_BYTES, read_json, read_ndjson
from sawready.readers.raw import RawOrder, Unreadable

ORDER = b'{"openings": [{}]}'


def refusal(data: bytes) -> UnreadableError:
    with pytest.raises(UnreadableError) as caught:
        loads(data)
    return caught.value


def lines(data: bytes) -> list[RawOrder | Unreadable]:
    return list(read_ndjson(io.BytesIO(data), source="orders.ndjson"))


def file(data: bytes) -> list[RawOrder | Unreadable]:
    return list(read_json(data, source="orders.json"))


def test_values_keep_the_digits_that_were_written():
    """Integers are int, other numbers Decimal: 1808.10 does not turn into a binary fraction."""
    value = loads(
        b'{"widths": [1812, 1808.10, -0.5, 1e2], "escape": false, "room": null, "note": "caf\xc3\xa9"}'
    )
    assert value == {
        "widths": [1812, Decimal("1808.10"), Decimal("-0.5"), Decimal(100)],
        "escape": False,
        "room": None,
        "note": "café",
    }
    assert str(value["widths"][1]) == "1808.10"
    assert type(value["widths"][0]) is int


def test_a_byte_order_mark_in_front_is_let_pass():
    """Some programs write one; it is no part of the text (RFC 8259, section 8.1, lets a reader ignore it)."""
    assert loads(b"\xef\xbb\xbf{}") == {}


@pytest.mark.parametrize(
    ("data", "says", "line", "column", "pointer"),
    [
        (b'{"a": 1,\n "a": 2}', "'a' stands twice", 2, "2", "/a"),
        (b'{"openings": [{}, {"a/b": 1, "a/b": 1}]}', "'a/b' stands twice", 1, "30", "/openings/1/a~1b"),
        (b'{"a": 1, "\\u0061": 2}', "'a' stands twice", 1, "10", "/a"),
        (b'{"widths": [1812, NaN]}', "NaN is no number", 1, "19", "/widths/1"),
        (b'{"a": Infinity}', "Infinity is no number", 1, "7", "/a"),
        (b'{"a": -Infinity}', "-Infinity is no number", 1, "7", "/a"),
        (b'{"a": 1234567890123456789}', "more than 18 digits", 1, "7", "/a"),
        (b'{"a": -1234567890123456789}', "more than 18 digits", 1, "7", "/a"),
        (b'{"a": 1e999999}', "exponent beyond 30", 1, "7", "/a"),
        (b'{"a": 1E-31}', "exponent beyond 30", 1, "7", "/a"),
        (b'{"a": 0.' + b"1" * 40 + b"}", "longer than 40", 1, "7", "/a"),
        (b'{"a": 01}', "'01' is no number", 1, "7", "/a"),
        (b'{"a": 1.}', "'1.' is no number", 1, "7", "/a"),
        (b'{"a": .5}', "'.5' stands here", 1, "7", "/a"),
        (b'{"a": +5}', "'+5' stands here", 1, "7", "/a"),
        (b'{"a": 0x10}', "'0x10' is no number", 1, "7", "/a"),
        (b'{"a": 1_000}', "A comma or '}' is due", 1, "8", "/a"),
        (b'{"a": tru}', "'tru' stands here", 1, "7", "/a"),
        ('{"a": ١٢}'.encode(), "'١' stands here", 1, "7", "/a"),
        (b'{"a": 1} {"b": 2}', "stands after the end", 1, "10", ""),
        (b'{"a": 1,}', "A member's name in double quotes is due", 1, "9", "/a"),
        (b"{'a': 1}", "A member's name in double quotes is due", 1, "2", ""),
        (b"[1,]", "A value is due", 1, "4", "/1"),
        (b"[1 2]", "A comma or ']' is due", 1, "4", "/0"),
        (b'{"a" 1}', "A colon is due after 'a'", 1, "6", "/a"),
        (b'{"a": [1, 2', "the end of the text stands here", 1, "12", "/a/1"),
        (b'{"a": "W1}', "never closed", 1, "7", "/a"),
        (b'{"a": "\\x41"}', "begins no escape", 1, "8", "/a"),
        (b'{"a": "\\ud800"}', "half a character", 1, "8", "/a"),
        (b'{"a": "\\udc00\\ud800"}', "half a character", 1, "8", "/a"),
        (b'{"a": "\\ud800-\\udc00"}', "half a character", 1, "8", "/a"),
        (b'{"a": "W\\u0000"}', "the control character U+0000", 1, "9", "/a"),
        (b'{"a": "W\x00"}', "the control character U+0000", 1, "9", "/a"),
        (b'{"a": "W\x1b"}', "the control character U+001B", 1, "9", "/a"),
        (b'{"a": "W\\b"}', "the control character U+0008", 1, "9", "/a"),
        (b'{"a": "W\x7f"}', "the control character U+007F", 1, "9", "/a"),
        (b'{"a": "W\xc2\x85"}', "the control character U+0085", 1, "9", "/a"),
        (b'{"a": "W\\u009f"}', "the control character U+009F", 1, "9", "/a"),
        (b'{"W\\u0000": 1}', "the control character U+0000", 1, "4", ""),
        (b'{"a": "one\ttwo"}', "bare tab or line end", 1, "11", "/a"),
        (b"", "is empty", 1, "1", ""),
        (b" \n ", "is empty", 1, "1", ""),
        (b'{"a": "\xff"}', "Byte 0xFF", 1, "8", None),
        ('{"é":\n"é'.encode() + b'\x80"}', "Byte 0x80", 2, "3", None),
    ],
)
def test_what_is_refused_is_named_with_its_place(data, says, line, column, pointer):
    """Each refusal tells line, column (in characters) and pointer, and ends in a remedy."""
    error = refusal(data)
    assert says in error.detail
    assert (error.line, error.column, error.pointer) == (line, column, pointer)
    assert error.reason == "row-unreadable"
    assert error.detail.endswith(".")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le"])
def test_wide_text_is_refused_though_the_library_reads_it(encoding):
    """RFC 8259, section 8.1: UTF-8 and nothing else; `json.loads` accepts all of these."""
    data = '{"order_ref": "TQ-1"}'.encode(encoding)
    assert json.loads(data) == {"order_ref": "TQ-1"}
    assert "UTF-16 or UTF-32" in refusal(data).detail


@pytest.mark.parametrize("depth", [33, 1_000, 100_000])
@pytest.mark.parametrize(("opening", "closing"), [(b"[", b"]"), (b'{"a":', b"}"), (b'[{"]}":', b"}]")])
def test_nesting_deeper_than_32_is_refused_however_deep(opening, closing, depth):
    """A bomb of brackets is named like any other fault; the decoder's recursion never shows."""
    times = depth // (opening.count(b"[") + opening.count(b"{")) + 1
    for data in (opening * times + b"1" + closing * times, opening * times):
        assert "nested deeper than 32 levels" in refusal(data).detail


@pytest.mark.parametrize(("opening", "closing"), [(b"[", b"]"), (b'{"a":', b"}")])
def test_nesting_of_32_is_read(opening, closing):
    """The limit itself is inside."""
    assert loads(opening * 32 + b"1" + closing * 32)
    assert loads(b"[" + b",".join([opening * 31 + b"1" + closing * 31] * 9) + b"]")


def test_limits_are_inside():
    """Eighteen digits and an exponent of thirty are read; long digits inside text are text."""
    assert loads(b"[999999999999999999, -999999999999999999, 1e30, 1e-30]") == [
        999999999999999999,
        -999999999999999999,
        Decimal("1e30"),
        Decimal("1e-30"),
    ]
    assert loads(b'["1234567890123456789"]') == ["1234567890123456789"]


def test_harmless_text_is_not_suspected_for_long():
    """Whole characters in two escapes, escaped backslashes, tabs and line ends are text."""
    assert loads(b'["\\ud83d\\ude00", "C:\\\\ud800\\\\b", "a\\tb\\r\\nc", "\\"[{\\""]') == [
        "\U0001f600",
        "C:\\ud800\\b",
        "a\tb\r\nc",
        '"[{"',
    ]


@pytest.mark.parametrize("text", ["[" * 40 + "}", '"]' * 50, "[" * 40 + '\\"' + "]" * 40])
def test_brackets_inside_text_do_not_count(text):
    """The look at the depth tells brackets of the text from brackets in the text."""
    assert loads(json.dumps([text, {text: [text]}] * 40).encode()) == [text, {text: [text]}] * 40


def test_a_file_holds_one_order_or_a_list():
    """Both forms come out alike."""
    one = b'{"order_ref": "TQ-1", "openings": [{}]}'
    assert [item.data for item in file(one)] == [{"order_ref": "TQ-1", "openings": [{}]}]
    orders = file(b"[" + one + b', {"order_ref": "TQ-2", "openings": [{}]}]')
    assert [item.data["order_ref"] for item in orders] == ["TQ-1", "TQ-2"]
    assert [item.cell("/order_ref") for item in orders] == [None, None]


@pytest.mark.parametrize(
    ("data", "says", "pointer"),
    [
        (b"[]", "a list without orders", None),
        (b"7", "the number 7", ""),
        (b'"W1"', "the text 'W1'", ""),
        (b"null", "null and no order", ""),
        (b"true", "true and no order", ""),
        (b"{}", "has no openings", "/openings"),
        (b'{"openings": null}', "has no openings", "/openings"),
        (b'{"openings": []}', "has no openings", "/openings"),
        (b'{"openings": {}}', "an object and no list", "/openings"),
        (b'{"openings": [' + b"{}," * 500 + b"{}]}", "has 501 openings; 500 are the most", "/openings"),
    ],
)
def test_what_is_no_order_at_all_is_unreadable(data, says, pointer):
    """No order is not the same as an order whose openings are wrong."""
    with pytest.raises(UnreadableError, match=says) as caught:
        file(data)
    assert caught.value.pointer == pointer
    if pointer is not None:
        (item,) = file(b"[" + data + b"]")
        assert says in item.detail
        (line,) = lines(data)
        assert says in line.detail
        assert (line.line, line.pointer) == (1, pointer)


def test_five_hundred_openings_are_an_order():
    """The limit itself is inside."""
    assert len(file(b'{"openings": [' + b"{}," * 499 + b"{}]}")[0].data["openings"]) == 500


def test_one_faulty_order_of_a_list_leaves_the_others():
    """A repeated member spoils its own order alone; line and column count in the whole file."""
    good, twice, number, wrong, last = file(
        b'[{"openings": [1]},\n  {"a": 1, "a": "],["}, 5,\n{"a": tru}, {"openings": [5]}\n]\n'
    )
    assert good.data == {"openings": [1]}
    assert last.data == {"openings": [5]}
    assert (twice.line, twice.column, twice.pointer) == (2, "12", "/a")
    assert twice.excerpt == '{"a": 1, "a": "],["}'
    assert "Item 3 of the list: The value is the number 5" in number.detail
    assert number.excerpt == "5"
    assert (wrong.line, wrong.column) == (3, "7")


def test_a_list_that_does_not_close_gives_its_whole_orders_and_says_where_it_stops():
    """What comes after an open quote cannot be told apart, so it is refused as one."""
    first, rest = file(b'[{"openings": [1]},\n{"room": "hall},\n{"openings": [3]}]\n')
    assert first.data == {"openings": [1]}
    assert (rest.line, rest.first_line, rest.lines) == (2, 2, 2)
    assert rest.excerpt.startswith('{"room": "hall}')


def test_a_list_whose_last_order_does_not_close_says_so():
    """Its first fault is named with its place, and the earlier orders stand."""
    first, twice, rest = file(b'[{"openings": [1]}, {"a": 1, "a": 1}, {"openings": [3]')
    assert first.data == {"openings": [1]}
    assert twice.pointer == "/a"
    assert "do not close" in rest.detail


def test_text_after_a_list_is_refused_beside_its_orders():
    """The orders stand; what follows is named."""
    first, rest = file(b'[{"openings": [1]}] TQ-2')
    assert first.data == {"openings": [1]}
    assert "'T' stands after the end" in rest.detail


def test_a_json_file_has_a_limit(monkeypatch):
    """It is held as a whole, so it may not be of any size; the remedy is NDJSON."""
    monkeypatch.setattr(json_orders, "MOST_FILE_BYTES", 10)
    with pytest.raises(UnreadableError, match="NDJSON"):
        file(b'{"openings": [1]}')


def test_each_line_stands_alone():
    """Blank lines count and are passed over; a faulty line is refused by its number."""
    first, bad, number, last = lines(
        b'\xef\xbb\xbf{"openings": [1]}\r\n\r\n{"a": 1, "a": 2}\n \t\n7\n{"openings": [6]}'
    )
    assert (first.line, first.data) == (1, {"openings": [1]})
    assert (bad.line, bad.column, bad.source) == (3, "10", "orders.ndjson")
    assert bad.excerpt == '{"a": 1, "a": 2}'
    assert (number.line, number.detail) == (5, "The value is the number 7 and no order.")
    assert (last.line, last.data) == (6, {"openings": [6]})


def test_a_line_with_a_list_is_refused():
    """One order a line; a list of orders is a JSON file."""
    (bad,) = lines(b'[{"openings": [{}]}]')
    assert bad.detail == "The value is a list and no order."


@pytest.mark.parametrize("sign", ["\u2028", "\u2029", "\x0b", "\x0c", "\x1c", "\x1e", "\x85"])
def test_only_a_line_feed_ends_a_line(sign):
    """`str.splitlines` would cut at each of these and move every line number after it."""
    _, last = lines(f'{{"note": "{sign}"}}\n{{"openings": [1]}}\n'.encode())
    assert last.line == 2


def test_a_line_over_the_cap_is_passed_over_in_small_steps():
    """It is refused by number and never held; the lines after it are read."""

    class Watched(io.BytesIO):
        most = 0

        def readline(self, size: int | None = -1, /) -> bytes:
            line = super().readline(size)
            self.most = max(self.most, len(line))
            return line

    stream = Watched(
        ORDER + b"\n" + b" " * (5 * MOST_LINE_BYTES) + b"\n" + ORDER + b"\nx" + b"x" * (MOST_LINE_BYTES + 1)
    )
    first, long, after, end = read_ndjson(stream, source="s")
    assert isinstance(first, RawOrder)
    assert isinstance(after, RawOrder)
    assert (long.line, after.line, end.line) == (2, 3, 4)
    assert "longer than 1024 KiB" in long.detail
    assert stream.most == MOST_LINE_BYTES + 1


def test_a_line_at_the_cap_is_read():
    """The limit itself is inside, its line end not counted."""
    line = ORDER + b" " * (MOST_LINE_BYTES - len(ORDER))
    assert [item.line for item in lines(line + b"\n" + line)] == [1, 2]


@pytest.mark.parametrize("data", [b"", b"\n \n", b"\xef\xbb\xbf"])
def test_a_stream_without_a_line_is_unreadable(data):
    """Nothing found is not success."""
    with pytest.raises(UnreadableError, match="holds no order"):
        lines(data)


def test_a_wide_stream_is_refused_once():
    """Not once a line, which would bury the cause."""
    with pytest.raises(UnreadableError, match="UTF-16"):
        lines('{"openings": [1]}\n{}\n'.encode("utf-16"))


def test_a_fault_that_only_the_decoder_sees_is_still_refused(monkeypatch):
    """Should decoder and place finder ever differ, the stricter one stands."""
    monkeypatch.setattr(json_door, "find_fault", lambda *_, **__: None)
    assert "is not JSON" in refusal(b"{").detail
