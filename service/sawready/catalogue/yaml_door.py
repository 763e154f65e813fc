"""The one door for YAML: text in, a plain tree of dicts, lists and text out, every value with its line.

YAML does more than a settings file needs, and some of it is dangerous or misleading: aliases that grow
without bound, tags that build objects, keys given twice of which the last wins in silence, and plain
words that turn into other things (``no`` into False, ``017`` into 15, ``1:30`` into 90, a day into a
date). None of that passes here. Every scalar stays the text that was written; only an empty value,
``~`` or ``null`` is None. What a value has to be is decided by the schema that reads it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import yaml

from sawready.catalogue.faults import Fault, Path, faults_text
from sawready.errors import CatalogueError, ServiceError

MOST_BYTES: Final = 1024 * 1024
MOST_DEPTH: Final = 32

LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The C parser where PyYAML was built with it."""

_NULLS: Final = frozenset({"", "~", "null", "Null", "NULL"})
_BOM: Final = "\ufeff"
_HIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff]"
)
"""Control characters, line ends that editors do not count, marks that turn the direction of text."""


@dataclass(frozen=True, slots=True)
class Document:
    """One YAML file as read.

    Attributes:
        name: the file as its user named it.
        data: dicts, lists, text and None.
        lines: line of each value by its path; of a mapping's entry, the line of its key.
    """

    name: str
    data: Any
    lines: Mapping[Path, int] = field(repr=False)

    def line(self, path: Path) -> int:
        """Line of the value at a path, from 1; of the nearest value around it where it is missing."""
        for length in range(len(path), 0, -1):
            line = self.lines.get(path[:length])
            if line is not None:
                return line
        return self.lines[()]

    def fault(self, path: Path, message: str) -> Fault:
        """A mistake at a path of this file."""
        return Fault(self.name, self.line(path), path, message)


def load_yaml(data: bytes | str, *, name: str, error: type[ServiceError] = CatalogueError) -> Document:
    """The tree of one YAML file, strictly.

    Args:
        data: content of the file; bytes are UTF-8, with or without a byte order mark.
        name: the file as its user named it, for messages.
        error: exception to raise, called with one text.
    Returns: the document; its data is never None.
    Raises: the given error, naming file, line, key and remedy, for more than 1 MiB, bytes that are not
        UTF-8, hidden characters, bad YAML, an empty file, more than one document, anchors, aliases,
        tags, merge keys, keys given twice or that are no text, and nesting deeper than 32.
    """
    text = _text(data, name=name, error=error)
    builder = _Builder(name)
    try:
        for event in yaml.parse(text, Loader=LOADER):
            builder.take(event)
    except (yaml.YAMLError, ValueError, OverflowError) as trouble:
        builder.note(*_syntax(trouble))
    except _StopReadingError:
        pass
    if builder.faults:
        raise error(faults_text(builder.faults))
    if builder.data is None:
        raise error(f"{name}: the file is empty. Write the settings into it.")
    return Document(name, builder.data, builder.lines)


def _text(data: bytes | str, *, name: str, error: type[ServiceError]) -> str:
    """The content as text without hidden characters, or the error."""
    size = len(data) if isinstance(data, bytes) else len(data.encode("utf-8", "surrogatepass"))
    if size > MOST_BYTES:
        raise error(f"{name}: {size} bytes are more than {MOST_BYTES}. Keep only settings in this file.")
    if isinstance(data, bytes):
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError as trouble:
            line = data.count(b"\n", 0, trouble.start) + 1
            raise error(
                f"{name}, line {line}: byte {trouble.start + 1} is not UTF-8. Save the file as UTF-8."
            ) from None
    else:
        text = data
    text = text.removeprefix(_BOM)
    hidden = _HIDDEN.search(text)
    if hidden:
        line = text.count("\n", 0, hidden.start()) + 1
        raise error(f"{name}, line {line}: {_hidden_text(hidden)}")
    return text


def _hidden_text(hidden: re.Match[str]) -> str:
    return f"the hidden character U+{ord(hidden.group()):04X} is not allowed. Take it out."


def _syntax(trouble: Exception) -> tuple[int | None, str]:
    """Line and text of what the parser could not make sense of, and where the part began."""
    mark = getattr(trouble, "problem_mark", None)
    context = getattr(trouble, "context", None)
    context_mark = getattr(trouble, "context_mark", None)
    begun = f", begun on line {context_mark.line + 1}" if context_mark else ""
    around = f" ({context}{begun})" if context else ""
    problem = getattr(trouble, "problem", None) or "a character or escape that YAML does not have"
    return (
        mark.line + 1 if mark else None,
        f"not readable as YAML: {problem}{around}. Check indents, brackets, quotes and colons there.",
    )


class _StopReadingError(Exception):
    """Stops the parser where going on would tell nothing; the fault is already noted."""


@dataclass(slots=True)
class _Open:
    """A mapping or list whose end has not come yet; a mapping's key waits for its value."""

    values: dict[str, Any] | list[Any]
    path: Path
    key: str | None = None
    key_line: int = 0


class _Builder:
    """Builds the tree from the parser's events, without recursion, and notes what it refuses."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.data: Any = None
        self.lines: dict[Path, int] = {(): 1}
        self.faults: list[Fault] = []
        self._open: list[_Open] = []
        self._documents = 0

    def note(self, line: int | None, message: str, path: Path = ()) -> None:
        """Notes a fault."""
        self.faults.append(Fault(self.name, line, path, message))

    def take(self, event: yaml.Event) -> None:
        """Takes one event of the parser. Raises _StopReadingError where there is no going on."""
        line = event.start_mark.line + 1 if event.start_mark else 1
        if isinstance(event, yaml.NodeEvent):
            self._refuse_marks(event, line)
            if isinstance(event, yaml.ScalarEvent):
                self._scalar(event, line)
            elif isinstance(event, yaml.AliasEvent):
                self._put(f"*{event.anchor}", line)
            else:
                self._begin({} if isinstance(event, yaml.MappingStartEvent) else [], line)
        elif isinstance(event, yaml.CollectionEndEvent):
            self._open.pop()
        elif isinstance(event, yaml.DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                self.note(line, "a second document begins here. Keep one document in a file.")
                raise _StopReadingError

    def _refuse_marks(self, event: yaml.NodeEvent, line: int) -> None:
        """Notes anchors, aliases and tags."""
        if isinstance(event, yaml.AliasEvent):
            self.note(line, f"the alias *{event.anchor} is not allowed. Write the value out.", self._path())
            return
        if event.anchor is not None:
            self.note(line, f"the anchor &{event.anchor} is not allowed. Take it out.", self._path())
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.note(line, f"the tag {tag} is not allowed. Take it out.", self._path())

    def _scalar(self, event: yaml.ScalarEvent, line: int) -> None:
        text: str = event.value
        hidden = _HIDDEN.search(text)
        if hidden:
            self.note(line, _hidden_text(hidden), self._path())
        is_null = event.implicit[0] and event.tag is None and text in _NULLS
        self._put(None if is_null else text, line)

    def _begin(self, values: dict[str, Any] | list[Any], line: int) -> None:
        top = self._open[-1] if self._open else None
        if top is not None and isinstance(top.values, dict) and top.key is None:
            self.note(line, "a key must be text, not a list or mapping. Write it as text.", top.path)
            raise _StopReadingError
        if len(self._open) == MOST_DEPTH:
            self.note(line, f"nested deeper than {MOST_DEPTH}. Write it flatter.")
            raise _StopReadingError
        path = self._path()
        self._put(values, line)
        self._open.append(_Open(values, path))

    def _path(self) -> Path:
        """Path of the value that comes next."""
        if not self._open:
            return ()
        top = self._open[-1]
        if isinstance(top.values, list):
            return (*top.path, len(top.values))
        return top.path if top.key is None else (*top.path, top.key)

    def _put(self, value: Any, line: int) -> None:
        """Takes a value, or the key of one, into the mapping or list that is open."""
        if not self._open:
            self.data = value
            self.lines[()] = line
            return
        top = self._open[-1]
        if isinstance(top.values, list):
            self.lines[self._path()] = line
            top.values.append(value)
        elif top.key is None:
            top.key = self._key(value, top, line)
            top.key_line = line
        else:
            self.lines[self._path()] = top.key_line
            top.values[top.key] = value
            top.key = None

    def _key(self, value: Any, top: _Open, line: int) -> str:
        """A key's text; an empty one, a merge key and one given before are noted."""
        key = value or ""
        path = (*top.path, key)
        if not key:
            self.note(line, "a key is empty. Name it or take the line out.", top.path)
        elif key == "<<":
            self.note(line, "the merge key << is not read. Write the values out.", top.path)
        elif path in self.lines:
            first = self.lines[path]
            self.note(line, f"given twice, first on line {first}. Keep one.", path)
        return str(key)
