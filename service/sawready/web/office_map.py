"""A column map made on the page: our column for each of their headings, and what the sheet leaves unsaid."""

from collections.abc import Mapping
from typing import Any, Final

import yaml

from sawready.order_schema import NUMBER_STYLES, UNITS, VIEWS
from sawready.readers.column_map import MOST_SKIPPED
from sawready.readers.columns import COLUMNS, REQUIRED

IGNORED: Final = "-"
PAIRS: Final = {"size WxH": "WxH", "size HxW": "HxW"}
CALLER: Final = ("units", "number_style", "viewed_from", "system", "rulebook")
"""What a person may say for a whole sheet."""

_PAIR_COLUMNS: Final = frozenset({"width_top", "height_left"})
_WORDS: Final = {"order_ref": "order", "opening_ref": "opening", "vent_mm2": "vent area (mm2)"}

CHOICES: Final[dict[str, tuple[str, ...]]] = {
    "units": UNITS,
    "number_style": NUMBER_STYLES,
    "viewed_from": VIEWS,
}


def column_words(name: str) -> str:
    """A column of ours in words.

    Example:
        >>> column_words("width_top"), column_words("order_ref")
        ('width, top', 'order')
    """
    if name in _WORDS:
        return _WORDS[name]
    head, _, tail = name.rpartition("_")
    parted = head in {
        "width",
        "height",
        "gap",
        "extender",
        "to_come",
        "diagonal",
        "colour",
        "inside",
        "frame",
    }
    return f"{head.replace('_', ' ')}, {tail}" if parted else name.replace("_", " ")


def choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """What a heading may be, in groups, for a list to choose from."""
    groups: dict[str, list[tuple[str, str]]] = {"Of the opening": [], "Of the whole order": []}
    for column in COLUMNS:
        group = "Of the opening" if column.level == "opening" else "Of the whole order"
        needed = " (needed)" if column.is_required else ""
        groups[group].append((column.name, f"{column_words(column.name)}{needed}"))
    both = [
        (value, f"width and height in one cell, {'width' if order == 'WxH' else 'height'} first")
        for value, order in PAIRS.items()
    ]
    return [*groups.items(), ("Two in one", both)]


def same_heading(heading: str) -> str:
    """Our column of the very same name as a heading, in whatever case and with blanks for underscores.

    Nothing more is guessed: a wrong column would change sizes.

    Example:
        >>> same_heading("Width Top"), same_heading("W top")
        ('width_top', '')
    """
    name = "_".join(heading.casefold().split())
    return name if any(column.name == name for column in COLUMNS) else ""


def count_of(text: str, most: int = MOST_SKIPPED) -> int | None:
    """A count, of rows where nothing else is said; None for text that is none, or more than the most."""
    plain = text.strip()
    if plain.isascii() and plain.isdigit() and len(plain) < 9 and int(plain) <= most:
        return int(plain)
    return None


def made_map(  # noqa: PLR0912 - one branch a field of the form
    header: tuple[str, ...], chosen: Mapping[int, str], said: Mapping[str, str], skip_rows: int
) -> tuple[bytes, list[tuple[str, str]]]:
    """The map that was chosen, as its file, and what is wrong with it.

    Args:
        header: their headings.
        chosen: what each stands for by its place: our column, ``IGNORED``, a pair, or nothing.
        said: what the person says for the whole sheet.
        skip_rows: rows before the header.
    Returns: the file, and each fault with the name of the field that it is about.
    """
    columns: dict[str, str] = {}
    sizes: dict[str, str] = {}
    ignored: list[str] = []
    faults: list[tuple[str, str]] = []
    for at, heading in enumerate(header):
        ours = chosen.get(at, "")
        if not heading:
            continue
        if not ours:
            faults.append((f"column_{at}", f"Say what “{heading}” is, or that it is left unread."))
        elif ours == IGNORED:
            ignored.append(heading)
        elif ours in PAIRS:
            if sizes:
                faults.append((f"column_{at}", "Only one column can hold both sizes."))
            sizes = {"column": heading, "order": PAIRS[ours]}
        elif ours in columns:
            also = columns[ours]
            faults.append(
                (
                    f"column_{at}",
                    f"“{heading}” and “{also}” are both said to be {column_words(ours)}. Choose one.",
                )
            )
        else:
            columns[ours] = heading
    given = set(columns) | set(said) | (_PAIR_COLUMNS if sizes else set())
    for name in REQUIRED:
        if name not in given:
            field = name if name in CALLER else "column_0"
            faults.append((field, f"No column is said to be {column_words(name)}, which is needed."))
    if sizes and _PAIR_COLUMNS & set(columns):
        faults.append(("column_0", "Width and height come twice: in one cell, and in columns of their own."))
    content: dict[str, Any] = {"columns": columns}
    if said:
        content["defaults"] = dict(said)
    if ignored:
        content["ignore"] = ignored
    if sizes:
        content["sizes"] = sizes
    if skip_rows:
        content["skip_rows"] = skip_rows
    written: bytes = yaml.safe_dump(content, sort_keys=False, allow_unicode=True, encoding="utf-8")
    return written, faults
