"""Byte order marks, and text of two or four bytes a character."""

import codecs
from typing import Final

UTF8_BOM: Final = codecs.BOM_UTF8
UTF16_MARKS: Final = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
UTF32_MARKS: Final = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)


def is_wide(data: bytes) -> bool:
    r"""Whether bytes begin with a mark of UTF-16 or UTF-32, or as plain text without one does.

    Example:
        >>> is_wide("[1]".encode("utf-16-le")), is_wide(b"[1]"), is_wide(b"a,b\x00")
        (True, False, False)

    Source: RFC 4627, section 3, for telling by the pattern of zero bytes.
    """
    if data.startswith((*UTF16_MARKS, *UTF32_MARKS)):
        return True
    even, odd = data[0:4:2], data[1:4:2]
    is_text_even, is_text_odd = bool(even.strip(b"\x00")), bool(odd.strip(b"\x00"))
    return bool(odd) and is_text_even != is_text_odd
