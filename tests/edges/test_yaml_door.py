"""The YAML door: what must not pass is refused by name and line, and text stays text."""

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from sawready.catalogue import yaml_door
from sawready.catalogue.yaml_door import MOST_BYTES, MOST_DEPTH, load_yaml
from sawready.errors import CatalogueError, SettingsError


@pytest.fixture(params=["C parser", "pure parser"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Each test runs with the C parser and with the one that is used where PyYAML has none."""
    if request.param == "pure parser":
        monkeypatch.setattr(yaml_door, "LOADER", yaml.SafeLoader)
    return str(request.param)


pytestmark = pytest.mark.usefixtures("either_parser")


def refused(text: str | bytes) -> str:
    with pytest.raises(CatalogueError) as caught:
        load_yaml(text, name="own.yaml")
    return str(caught.value)


# Plain words that YAML 1.1 turns into something else stay text.


@pytest.mark.parametrize(
    "word",
    [
        "no", "yes", "on", "off", "true", "False", "NO", "y", "017", "0o17", "0x1F", "0b1", "1:30",
        "190:20:30", "2026-11-25", "2026-11-25T08:00:00Z", "1_000", "1e3", ".inf", "-.INF", ".nan",
        "12.50", "+5", "6.0", "00", "1,200", "=",
    ],
)  # fmt: skip
def test_a_plain_word_is_the_text_that_was_written(word: str) -> None:
    assert load_yaml(f"a: {word}\nb: [{word.replace(',', '.')}]", name="f").data["a"] == word


def test_yaml_alone_would_have_changed_them() -> None:
    """The trap is real: this is what the same words become without the door."""
    plain = yaml.safe_load("a: no\nb: 017\nc: 1:30\nd: 2026-11-25\ne: 1_000")
    assert (plain["a"], plain["b"], plain["c"], plain["e"]) == (False, 15, 90, 1000)
    assert not isinstance(plain["d"], str)


@pytest.mark.parametrize("word", ["", "~", "null", "Null", "NULL"])
def test_only_nothing_is_none(word: str) -> None:
    assert load_yaml(f"a: {word}\nb: x", name="f").data == {"a": None, "b": "x"}


@pytest.mark.parametrize("word", ['"null"', "'~'", '""', "''"])
def test_a_quoted_null_is_text(word: str) -> None:
    assert load_yaml(f"a: {word}", name="f").data == {"a": word[1:-1]}


def test_keys_stay_text_too() -> None:
    assert load_yaml("1: a\nno: b\n017: c", name="f").data == {"1": "a", "no": "b", "017": "c"}


def test_block_and_folded_text_keep_their_breaks() -> None:
    assert load_yaml("a: |\n  x\n  y\nb: >\n  x\n  y\n", name="f").data == {"a": "x\ny\n", "b": "x y\n"}


# Every value knows the line of its key.


def test_lines_of_keys_rows_and_values_in_braces() -> None:
    text = "# comment\na:\n  b: 1\n  c: {d: 2,\n      e: 3}\nf:\n  - x\n  -\n    g: 4\n"
    document = load_yaml(text, name="f")
    assert document.line(("a",)) == 2
    assert document.line(("a", "b")) == 3
    assert document.line(("a", "c", "d")) == 4
    assert document.line(("a", "c", "e")) == 5
    assert document.line(("f", 0)) == 7
    assert document.line(("f", 1, "g")) == 9


def test_a_missing_value_has_the_line_of_what_is_around_it() -> None:
    document = load_yaml("\na:\n  b: 1\n", name="f")
    assert document.line(("a", "z")) == 2
    assert document.line(("z",)) == 2
    assert document.line(()) == 2


def test_a_fault_names_file_line_and_key() -> None:
    document = load_yaml("a:\n  - b: 1\n", name="own.yaml")
    assert str(document.fault(("a", 0, "b"), "is odd.")) == "own.yaml, line 2: a row 1, b: is odd."


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_ends_of_any_system_count(ending: str) -> None:
    assert load_yaml(ending.join(["a: 1", "b: 2", "c: 3"]), name="f").line(("c",)) == 3


# What settings need not and must not hold.


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("a: 1\nb: &x 2", 2, "the anchor &x is not allowed"),
        ("a: &x [1]\nb: *x", 2, "the alias *x is not allowed"),
        ("a: &x 1\n*x : 2", 2, "the alias *x is not allowed"),
        ("a: !!int 3", 1, "the tag tag:yaml.org,2002:int is not allowed"),
        ("a: !!python/object/apply:os.getcwd []", 1, "is not allowed"),
        ("a: ! x", 1, "the tag ! is not allowed"),
        ("!thing {a: 1}", 1, "the tag !thing is not allowed"),
        ("a: 1\nb:\n  c: 1\n  c: 2", 4, "b.c: given twice, first on line 3. Keep one."),
        ('a: 1\n"a": 2', 2, "given twice, first on line 1"),
        ("a: 1\n'1': x\n1: y", 3, "1: given twice, first on line 2"),
        ("<<: {a: 1}", 1, "the merge key << is not read"),
        ("a: 1\n~: 2", 2, "a key is empty"),
        ('"": 2', 1, "a key is empty"),
        ("? [a]\n: 1", 1, "a key must be text, not a list or mapping"),
        ("? {a: b}\n: 1", 1, "a key must be text, not a list or mapping"),
        ("---\na: 1\n---\nb: 2", 3, "a second document begins here"),
        ("a: b: c", 1, "not readable as YAML"),
        ("a:\n  b: 1\n c: 2", 3, "not readable as YAML"),
        ("a: [1,\n  2", None, "not readable as YAML"),
        ('a: "x', None, "not readable as YAML"),
        ("a: 1\n\tb: 2", 2, "not readable as YAML"),
        ("a: @x", 1, "not readable as YAML"),
        ('a: "\\x07"', 1, "the hidden character U+0007 is not allowed"),
        ('a: "\\u202e"', 1, "the hidden character U+202E is not allowed"),
        ("a: 1\nb: \x00", 2, "the hidden character U+0000 is not allowed"),
        ("a: x\u2028y", 1, "the hidden character U+2028 is not allowed"),
        ("a: \u202etxt", 1, "the hidden character U+202E is not allowed"),
        ("a: \ud800", 1, "the hidden character U+D800 is not allowed"),
        ("a: x\ufeffy", 1, "the hidden character U+FEFF is not allowed"),
        ("", None, "the file is empty"),
        ("# only a remark\n", None, "the file is empty"),
        ("--- ~", None, "the file is empty"),
    ],
)
def test_refused_by_file_line_and_name(text: str, line: int | None, says: str) -> None:
    told = refused(text)
    assert told.startswith("own.yaml")
    assert says in told
    if line is not None:
        assert any(part.startswith(f"own.yaml, line {line}: ") for part in told.split("\n"))


def test_every_refusal_says_what_to_do() -> None:
    for text in ("a: &x 1", "a: !t 1", "a: 1\na: 2", "a: [", ""):
        assert refused(text).rstrip().endswith((".", "there."))


def test_all_faults_of_a_file_are_told_at_once() -> None:
    told = refused("a: &x 1\nb: *x\nc: !t 2\na: 3\n")
    assert [part.split(":")[0] for part in told.split("\n")] == [
        f"own.yaml, line {line}" for line in (1, 2, 3, 4)
    ]


def test_a_flood_of_faults_is_cut_short_but_counted() -> None:
    told = refused("a: 1\n" + "b: *x\n" + "".join(f"k{n}: *x\n" for n in range(99)))
    assert told.split("\n")[-1] == "and 50 more mistakes in this file"
    assert len(told.split("\n")) == 51


def test_an_alias_bomb_never_unfolds() -> None:
    """Seven levels of nine would be some 4.8 million values."""
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 8)]
    assert "alias *a0 is not allowed" in refused("\n".join(levels))


def test_nesting_up_to_the_limit_is_read() -> None:
    assert load_yaml("[" * MOST_DEPTH + "]" * MOST_DEPTH, name="f").data is not None


@pytest.mark.parametrize("depth", [MOST_DEPTH + 1, 500])
def test_nesting_past_the_limit_is_refused(depth: int) -> None:
    assert "nested deeper than 32" in refused("[" * depth + "]" * depth)


@pytest.mark.parametrize("text", ["[" * 100_000, "{a: " * 100_000, "- " * 100_000 + "x"])
def test_absurd_nesting_ends_in_a_fault_not_in_a_crash(text: str) -> None:
    assert "own.yaml" in refused(text)


def test_size_counts_bytes_and_the_limit_itself_passes() -> None:
    at_limit = "a: " + "x" * (MOST_BYTES - 3)
    assert load_yaml(at_limit, name="f").data["a"].startswith("xxx")
    assert "1048577 bytes are more than 1048576" in refused(at_limit + "x")
    assert "bytes are more than" in refused("a: " + "é" * (MOST_BYTES // 2))


def test_bytes_that_are_no_utf8_are_refused_by_place() -> None:
    assert refused(b"a: 1\nb: caf\xe9") == ("own.yaml, line 2: byte 12 is not UTF-8. Save the file as UTF-8.")
    assert "not UTF-8" in refused("a: 1".encode("utf-16"))


def test_a_byte_order_mark_is_taken_off() -> None:
    assert load_yaml(b"\xef\xbb\xbfa: 1", name="f").data == {"a": "1"}
    assert load_yaml("\ufeffa: 1", name="f").data == {"a": "1"}


def test_text_beyond_ascii_passes() -> None:
    assert load_yaml("name: Grünwald 窓 😀", name="f").data == {"name": "Grünwald 窓 😀"}


def test_parser_troubles_without_a_line_are_told_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pure parser lets some of Python's own errors through."""
    monkeypatch.setattr(yaml_door, "LOADER", yaml.SafeLoader)
    for text in ('a: "\\UFFFFFFFF"', 'a: "\\U00110000"', "%YAML 1." + "9" * 5000 + "\n---\na: 1"):
        assert refused(text).startswith("own.yaml: not readable as YAML: a character or escape")


def test_the_error_class_is_the_callers() -> None:
    with pytest.raises(SettingsError, match=r"map\.yaml: the file is empty"):
        load_yaml("", name="map.yaml", error=SettingsError)


def _is_plain(tree: object) -> bool:
    if isinstance(tree, dict):
        return all(isinstance(key, str) and _is_plain(value) for key, value in tree.items())
    if isinstance(tree, list):
        return all(_is_plain(value) for value in tree)
    return tree is None or isinstance(tree, str)


@given(st.text(max_size=200) | st.binary(max_size=200))
@example("a: &b *b")
@example("? ? x")
@example("- - - !!binary x")
@example("{a, b: c, }")
@example(": : :")
@example("!<tag:%ff> x")
@example("%TAG ! x\n--- a")
def test_anything_gives_a_plain_tree_or_the_one_error(data: str | bytes) -> None:
    for loader in (yaml.CSafeLoader, yaml.SafeLoader):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(yaml_door, "LOADER", loader)
            try:
                document = load_yaml(data, name="f")
            except CatalogueError:
                continue
            assert _is_plain(document.data)
            assert document.data is not None


WORDS = st.text(
    alphabet=st.characters(min_codepoint=0x20, max_codepoint=0x2FF, exclude_categories=["Cc", "Zl", "Zp"]),
    max_size=12,
)
TREES = st.recursive(
    WORDS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(WORDS.filter(lambda word: word not in ("", "<<")), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(TREES)
def test_a_tree_of_text_written_by_a_general_library_comes_back_unchanged(tree: object) -> None:
    """PyYAML's own emitter is the reference for what was meant."""
    text = yaml.safe_dump(tree, allow_unicode=True, default_style='"')
    assert load_yaml(text, name="f").data == tree
