"""Sheets against the rules of their format.

Source: Y. Shafranovich, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", RFC 4180,
IETF, October 2005, section 2, rules 1 to 7, compared with published copies. Each test takes the examples
of its rule, line ends included; "aaa" and its like are the document's own.
"""

import io

import pytest

from sawready.readers.csv_door import Sheet
from sawready.readers.raw import Unreadable

HEADER = b"field_name_1,field_name_2,field_name_3\r\n"
TWO = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]


def records(data: bytes) -> list[list[str]]:
    """Records below a header of three names; none may be refused."""
    sheet = Sheet(io.BytesIO(HEADER + data), source="rfc4180")
    found = list(sheet)
    assert not any(isinstance(row, Unreadable) for row in found), found
    return [row[1] for row in found]


def refusals(data: bytes) -> list[Unreadable]:
    return [row for row in Sheet(io.BytesIO(HEADER + data), source="rfc4180") if isinstance(row, Unreadable)]


def test_rule_1_each_record_is_a_line_of_its_own():
    """Records end with CRLF."""
    assert records(b"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n") == TWO


def test_rule_2_the_last_record_may_lack_its_line_end():
    """Nothing is lost without it."""
    assert records(b"aaa,bbb,ccc\r\nzzz,yyy,xxx") == TWO


def test_rule_3_a_header_has_the_same_form_and_as_many_fields():
    """Here it is always there; a record of another length is refused."""
    sheet = Sheet(io.BytesIO(b"field_name,field_name_2,field_name_3\r\naaa,bbb,ccc\r\n"), source="rfc4180")
    assert sheet.header == ("field_name", "field_name_2", "field_name_3")
    assert list(sheet) == [(2, ["aaa", "bbb", "ccc"])]
    assert len(refusals(b"aaa,bbb\r\n")) == 1


def test_rule_4_fields_are_parted_by_commas_and_spaces_belong_to_them():
    """The door gives fields as written; a comma after the last field makes one too many."""
    assert records(b"aaa,bbb,ccc\r\n") == TWO[:1]
    assert records(b" aaa ,b b, \r\n") == [[" aaa ", "b b", " "]]
    assert "has 4 fields, the header 3" in refusals(b"aaa,bbb,ccc,\r\n")[0].detail


def test_rule_5_fields_may_be_quoted_and_bare_fields_hold_no_quotes():
    """A quote inside a bare field breaks the rule and is refused."""
    assert records(b'"aaa","bbb","ccc"\r\nzzz,yyy,xxx') == TWO
    assert "inside a field without quotes" in refusals(b'aaa,b"b,ccc\r\n')[0].detail


def test_rule_6_line_breaks_quotes_and_commas_are_quoted():
    """The rule's example has a line break inside its second field."""
    assert records(b'"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx') == [["aaa", "b\r\nbb", "ccc"], TWO[1]]
    assert records(b'"a,a","b""b",ccc\r\n') == [["a,a", 'b"b', "ccc"]]


def test_rule_7_a_quote_inside_quotes_is_doubled():
    """And one that is not is refused, as what follows the field's end."""
    assert records(b'"aaa","b""bb","ccc"\r\n') == [["aaa", 'b"bb', "ccc"]]
    assert "after a closing quote" in refusals(b'"aaa","b"bb","ccc"\r\n')[0].detail


@pytest.mark.parametrize("line_end", [b"\r\n", b"\n"])
def test_line_feeds_alone_end_lines_as_well(line_end):
    """Beyond the rules, common practice: sheets of many programs have no carriage returns."""
    assert records(b"aaa,bbb,ccc" + line_end + b"zzz,yyy,xxx" + line_end) == TWO
