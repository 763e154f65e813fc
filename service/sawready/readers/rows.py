"""What kind of row a sheet's row is: an opening, or a heading, total, note and the like.

Firms' sheets hold more than openings. A row that is none must not be read as one, and a note must
not be skipped, as it can change the meaning of every row. The words are those of the trade in
English (common practice, no source).
"""

import re
from collections.abc import Collection, Sequence
from typing import Final, Literal

from sawready.lengths.characters import words

RowKind = Literal["heading", "data", "blank", "total", "note", "section", "query", "duplicate"]
Role = Literal["reference", "size", "quantity", "other"]

USUAL_ROLES: Final[tuple[Role, ...]] = ("reference", "size", "size", "quantity")
"""Columns of the plainest sheet: reference, two sizes, quantity."""

_SPACE: Final = re.compile(r"[\s\u200b\ufeff]{1,200}")
_LETTERS: Final = re.compile(r"[a-z]{1,40}")
_RULE: Final = re.compile(r"[-_=–—.]{2,200}")
_BARE_REFERENCE: Final = re.compile(r"[a-z]{1,3}[ -]?[0-9]{1,4}[a-z]?")
_REFERENCE_FIRST: Final = re.compile(r"[a-z]{1,3}[ -]?[0-9]{1,4}[a-z]?(?:[ :;,-][^0-9]{0,40}[0-9].{0,200})?")
_HEADING_WORDS: Final = words(
    "ref refs reference no nos number nr item window windows opening openings mark location room w "
    "width widths wide h height heights high x by size sizes structural overall actual qty quantity off "
    "mm cm m in inch inches ft feet type note notes remarks comments colour glass glazing horn horns "
    "sill cill projection depth diagonal diagonals top middle bottom left right order line"
)
_TOTAL_WORDS: Final = words("total totals subtotal subtotals sum carried brought")
_BEFORE_TOTAL: Final = words("sub grand page sheet job overall")
_CARRIED: Final = ("c/f", "b/f")
_NOTE_STARTS: Final = words(
    "nb n note notes please all every sizes size dimensions measured measurements measure unless except "
    "caution important check checked see subject page drawn surveyed signed date key"
)
_NOTE_WORDS: Final = words(
    "tight net nett overall approx approximate mm cm inch inches metres less deduct deducted add "
    "include includes including included exclude excludes excluding excluded inside outside internal "
    "external"
)
_STRUCK_WORDS: Final = words(
    "cancel cancelled canceled delete deleted void omit omitted remove removed struck superseded hold "
    "withdrawn scrapped dropped ignore required"
)
_LONG_TITLE: Final = 40


def row_key(cells: Sequence[str]) -> tuple[str, ...]:
    """Cells without the differences in spacing and case that do not make another row.

    Example:
        >>> row_key(["W1 ", "1200", "1050", "1"])
        ('w1', '1200', '1050', '1')
    """
    return tuple(_SPACE.sub(" ", cell).strip(" ").lower() for cell in cells)


def classify_row(
    cells: Sequence[str],
    *,
    seen: Collection[tuple[str, ...]] = (),
    roles: Sequence[Role] = USUAL_ROLES,
) -> RowKind:
    """Kind of a row in a sheet that a person keeps.

    A ``query`` is a row that somebody must explain before it is read: sizes without a reference, a
    reference without sizes, a struck-out row, a reference that came before with other values. A
    ``total`` is for comparing with the count of openings above it; a ``note`` is to be shown.

    Args:
        cells: the row as text.
        seen: keys (``row_key``) of the data rows above it.
        roles: what each column holds; cells beyond them are ``other``.
    Example:
        >>> classify_row(["Total", "", "", "14"])
        'total'
    """
    key = row_key(cells)
    role_of = [roles[at] if at < len(roles) else "other" for at in range(len(key))]
    filled = [(role, text) for role, text in zip(role_of, key, strict=True) if text]
    if all(_RULE.fullmatch(text) for _, text in filled):
        return "blank"
    if _is_total(filled):
        return "total"
    if len(filled) == 1 and filled[0][0] in {"reference", "other"}:
        return _lone_text(filled[0][1])
    if all(_is_heading(text) for _, text in filled):
        return "heading"
    sizes = [text for role, text in filled if role == "size"]
    if _is_struck_out(key) or len(sizes) < role_of.count("size") or not any(map(_has_digit, sizes)):
        return "query"
    return _opening(key, role_of, seen)


def _opening(key: tuple[str, ...], role_of: Sequence[Role], seen: Collection[tuple[str, ...]]) -> RowKind:
    """A row with all its sizes: new, the same as one before, or against one before."""
    if "reference" not in role_of:
        return "duplicate" if key in seen else "data"
    at = role_of.index("reference")
    if not key[at]:
        return "query"
    if key in seen:
        return "duplicate"
    return "query" if any(row[at] == key[at] for row in seen if at < len(row)) else "data"


def _has_digit(text: str) -> bool:
    return any(sign.isdigit() for sign in text)


def _is_heading(text: str) -> bool:
    """Words of headings only, such as "Width (mm)"; a number may follow a word that is no reference."""
    found = _LETTERS.findall(text)
    if not found or not _HEADING_WORDS.issuperset(found):
        return False
    return not _has_digit(text) or not (_BARE_REFERENCE.fullmatch(text) or text[0].isdigit())


def _is_total(filled: Sequence[tuple[Role, str]]) -> bool:
    """A word for a sum at the front, or a lone figure under the quantity."""
    role, text = filled[0]
    if len(filled) == 1 and role == "quantity" and _has_digit(text):
        return True
    found = _LETTERS.findall(text)
    if found and found[0] in _BEFORE_TOTAL:
        found = found[1:]
    return bool(found and found[0] in _TOTAL_WORDS) or text.startswith(_CARRIED)


def _is_struck_out(key: Sequence[str]) -> bool:
    return any(_STRUCK_WORDS.intersection(_LETTERS.findall(text)) for text in key)


def _lone_text(text: str) -> RowKind:
    """One cell of text alone: a note that can change rows, a title over rows, or a bare reference."""
    found = _LETTERS.findall(text)
    if not found or _REFERENCE_FIRST.fullmatch(text) or _is_struck_out([text]):
        return "query"
    is_note = found[0] in _NOTE_STARTS or _NOTE_WORDS.intersection(found) or text[0] == "*"
    if is_note or len(text) > _LONG_TITLE or text.endswith("."):
        return "note"
    return "section"
