"""Matches the headings of a sheet with our columns, by their names or by a column map."""

from collections.abc import Collection, Sequence
from typing import Final

from sawready.readers.column_map import ColumnMap
from sawready.readers.columns import BY_NAME, REQUIRED
from sawready.readers.fault import Fault, FaultError, nearest, shown

MOST_NAMED: Final = 12
"""Headings that one message names; the rest are counted."""


def matched(
    header: Sequence[str],
    *,
    line: int,
    column_map: ColumnMap | None = None,
    supplied: Collection[str] = (),
) -> dict[str, int]:
    """Number of the sheet's column, from 0, for each of ours that it has.

    Args:
        header: the sheet's headings.
        line: their physical line.
        column_map: how a firm's own sheet is read.
        supplied: our columns whose values the caller supplies by other means.
    Raises: FaultError naming every heading that is unknown, and every needed or mapped column that is
        not there.
    """
    at = {name: number for number, name in enumerate(header) if name}
    mapped = {} if column_map is None else column_map.headings
    if column_map is None or not column_map.columns:
        mapped = {name: name for name in BY_NAME if name in at} | mapped
    absent = [(ours, theirs) for ours, theirs in mapped.items() if theirs not in at]
    if absent:
        raise FaultError(_absent(absent, header, line, column_map))
    used = set(mapped.values())
    ignored = column_map is not None and column_map.ignores_rest
    listed = frozenset() if column_map is None else column_map.ignore
    unknown = [] if ignored else [name for name in at if name not in used and name not in listed]
    if unknown:
        raise FaultError(_unknown(unknown, line, column_map))
    given = {*mapped, *supplied} | (set() if column_map is None else set(column_map.defaults))
    missing = [name for name in REQUIRED if name not in given]
    if missing:
        raise FaultError(
            Fault(
                f"The sheet has no column {_list(missing)}.",
                "Add it, or map one of the sheet's own to it in a column map."
                if column_map is None
                else f"Name the sheet's column for it in {column_map.name}, or state it under 'defaults'.",
                line=line,
                column=missing[0],
            )
        )
    return {ours: at[theirs] for ours, theirs in mapped.items()}


def _absent(
    absent: list[tuple[str, str]], header: Sequence[str], line: int, column_map: ColumnMap | None
) -> Fault:
    parts = []
    for ours, theirs in absent[:MOST_NAMED]:
        near = nearest(theirs, filter(None, header))
        parts.append(f"{shown(theirs)} for {ours}" + (f" (nearest: {shown(near)})" if near else ""))
    name = "the column map" if column_map is None else column_map.name
    return Fault(
        f"The sheet lacks headings that {name} names: {', '.join(parts)}.",
        "Correct the map, or the sheet's header.",
        line=line,
        column=absent[0][1],
    )


def _unknown(unknown: list[str], line: int, column_map: ColumnMap | None) -> Fault:
    known = BY_NAME if column_map is None or not column_map.columns else column_map.columns.values()
    parts = []
    for name in unknown[:MOST_NAMED]:
        near = nearest(name, known)
        parts.append(shown(name) + (f" (nearest: {shown(near)})" if near else ""))
    more = f" and {len(unknown) - MOST_NAMED} more" if len(unknown) > MOST_NAMED else ""
    remedy = "Correct the heading, or read the sheet through a column map."
    if column_map is not None:
        remedy = f"Name it in {column_map.name} under 'columns', or under 'ignore' if it is not needed."
    words = "an unknown heading" if len(unknown) == 1 else "unknown headings"
    return Fault(
        f"The sheet has {words}: {', '.join(parts)}{more}.",
        remedy,
        line=line,
        column=unknown[0],
    )


def _list(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
