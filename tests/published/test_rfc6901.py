"""Pointers against the examples of their standard.

Source: P. Bryan (ed.), K. Zyp, M. Nottingham (ed.), "JavaScript Object Notation (JSON) Pointer",
RFC 6901, IETF, April 2013. Section 5 evaluates twelve pointers against one document, section 6 the
same twelve as URI fragments, section 4 says which pointers name nothing. The document of section 5 was
compared with published copies; the rest is recalled from memory.
"""

import json
from urllib.parse import unquote

import pytest

from sawready.model.pointer import fragment, pointer, resolve, tokens_of

DOCUMENT = json.loads(
    r"""{"foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6,
        " ": 7, "m~n": 8}"""
)

EXAMPLES = [
    ("", "#", (), DOCUMENT),
    ("/foo", "#/foo", ("foo",), ["bar", "baz"]),
    ("/foo/0", "#/foo/0", ("foo", 0), "bar"),
    ("/", "#/", ("",), 0),
    ("/a~1b", "#/a~1b", ("a/b",), 1),
    ("/c%d", "#/c%25d", ("c%d",), 2),
    ("/e^f", "#/e%5Ef", ("e^f",), 3),
    ("/g|h", "#/g%7Ch", ("g|h",), 4),
    ("/i\\j", "#/i%5Cj", ("i\\j",), 5),
    ('/k"l', "#/k%22l", ('k"l',), 6),
    ("/ ", "#/%20", (" ",), 7),
    ("/m~0n", "#/m~0n", ("m~n",), 8),
]


@pytest.mark.parametrize(("text", "uri", "tokens", "value"), EXAMPLES)
def test_the_twelve_examples_resolve_build_and_print_as_listed(text, uri, tokens, value):
    """Sections 5 and 6: value, pointer text and fragment of each example."""
    assert resolve(DOCUMENT, text) == value
    assert pointer(*tokens) == text
    assert fragment(text) == uri
    assert unquote(uri[1:]) == text


def test_tilde_is_unescaped_after_the_slash():
    """Section 4: ``~01`` becomes ``~1``, and not a slash."""
    assert tokens_of("/~01") == ("~1",)
    assert pointer("~1") == "/~01"


@pytest.mark.parametrize("text", ["foo", "#/foo", "/a~2b", "/a~"])
def test_text_outside_the_grammar_is_refused(text):
    """Section 3: a pointer is empty or begins with a slash, and a tilde is followed by 0 or 1."""
    with pytest.raises(ValueError, match=r"A pointer begins|A '~' of a pointer"):
        tokens_of(text)


@pytest.mark.parametrize("text", ["/foo/00", "/foo/-1", "/foo/-", "/foo/2", "/foo/٠", "/bar", "/a~1b/x"])
def test_a_pointer_to_nothing_is_an_error(text):
    """Section 4: no leading zeros, ASCII digits only, ``-`` is past the end, and missing members err."""
    with pytest.raises(LookupError):
        resolve(DOCUMENT, text)
