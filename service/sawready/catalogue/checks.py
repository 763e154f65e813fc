"""Whether the figures of one file agree with each other; each check yields a path and what to change.

The checks take what the schema could read, so a figure that is missing or unreadable, which is told
already, keeps a check quiet and stops none.
"""

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import Any, Final

from sawready.catalogue.building import wrong_kinds
from sawready.catalogue.faults import Fault, Path
from sawready.catalogue.figure_fields import EditionList
from sawready.catalogue.values import number_text
from sawready.catalogue.yaml_door import Document

Told = Iterator[tuple[Path, str]]

MEMBERS: Final = ("frame", "sash", "mullion", "transom")
DIVIDERS: Final = ("mullion", "transom")


def told(path: Path, text: str) -> tuple[Path, str]:
    """What a check yields."""
    return path, text


def mm(length_mm: Fraction) -> str:
    """A length as a message writes it."""
    return f"{number_text(length_mm)} mm"


def system_faults(document: Document, data: Mapping[str, Any]) -> list[Fault]:
    """Figures of a system file that contradict each other, with their lines."""
    checks = (_sash_for_openers, _rebates, _laps, _steel_lengths, _rows_once, _stock_agrees)
    return [document.fault(path, text) for check in checks for path, text in check(data)]


def rulebook_faults(document: Document, data: Mapping[str, Any]) -> list[Fault]:
    """Figures of a rulebook file that contradict each other, with their lines."""
    checks = (
        _bands,
        _gap_order,
        _fixing_order,
        _usual_inside,
        _diagonal_covers_sides,
        _editions_dated,
        wrong_kinds,
    )
    return [document.fault(path, text) for check in checks for path, text in check(data)]


def _members(data: Mapping[str, Any]) -> Mapping[str, Any]:
    members: Mapping[str, Any] = data.get("profiles", {})
    return members


def _sash_for_openers(data: Mapping[str, Any]) -> Told:
    """Without a sash nothing opens."""
    if data.get("openers") and "profiles" in data and "sash" not in _members(data):
        yield told(
            ("openers",),
            "kinds of opening light are given but no sash profile. Add profiles.sash, or take openers out.",
        )


def _rebates(data: Mapping[str, Any]) -> Told:
    """The rebate lies within the face (of a divider, one on each side), and the glass reaches into it."""
    clearance = data.get("glass_clearance_mm")
    for part in MEMBERS:
        member = _members(data).get(part, {})
        face, rebate = member.get("face_mm"), member.get("rebate_mm")
        sides = 2 if part in DIVIDERS else 1
        if face is not None and rebate is not None and sides * rebate >= face:
            which = ("a rebate of", "does") if sides == 1 else ("two rebates of", "do")
            yield told(
                ("profiles", part, "rebate_mm"),
                f"{which[0]} {mm(rebate)} {which[1]} not fit into a face of {mm(face)}. Correct one of them.",
            )
        if clearance is not None and rebate is not None and clearance >= rebate:
            yield told(
                ("profiles", part, "rebate_mm"),
                f"a rebate of {mm(rebate)} holds no glass with a clearance of "
                f"{mm(clearance)}. Correct one of them.",
            )


def _laps(data: Mapping[str, Any]) -> Told:
    """Sashes and divider ends stay within the face of what they lap."""
    members = _members(data)
    overlap = members.get("sash", {}).get("overlap_mm")
    frame_face = members.get("frame", {}).get("face_mm")
    if overlap is not None and frame_face is not None and overlap >= frame_face:
        yield told(
            ("profiles", "sash", "overlap_mm"),
            f"{mm(overlap)} laps past the whole frame face of {mm(frame_face)}. Correct one of them.",
        )
    for part in DIVIDERS:
        divider = members.get(part, {})
        face, end = divider.get("face_mm"), divider.get("end_allowance_mm")
        if overlap is not None and face is not None and 2 * overlap >= face:
            yield told(
                ("profiles", "sash", "overlap_mm"),
                f"two sashes that each lap {mm(overlap)} meet on a {part} of "
                f"{mm(face)}. Correct one of them.",
            )
        if end is not None and frame_face is not None and end >= frame_face:
            yield told(
                ("profiles", part, "end_allowance_mm"),
                f"{mm(end)} runs through the whole frame face of {mm(frame_face)}. Correct one of them.",
            )


def _steel_lengths(data: Mapping[str, Any]) -> Told:
    """The shortest member that gets steel leaves some length for it."""
    for part, shortest in _shortest_members(data):
        steel = _members(data).get(part, {}).get("reinforcement", {})
        set_back, from_mm = steel.get("set_back_mm"), steel.get("from_mm", {})
        for colour_class, threshold in from_mm.items():
            least = max(shortest, threshold)
            if set_back is not None and 2 * set_back >= least:
                yield told(
                    ("profiles", part, "reinforcement", "set_back_mm"),
                    f"twice {mm(set_back)} leaves no steel in a {colour_class} member of "
                    f"{mm(least)}. Lower it, or raise from_mm.",
                )
                break


def _shortest_members(data: Mapping[str, Any]) -> Iterator[tuple[str, Fraction]]:
    """The least finished length that each member can have, where the file tells."""
    members = _members(data)
    sizes = data.get("frame_size", {})
    if {"width_mm", "height_mm"} <= sizes.keys():
        yield "frame", min(sizes["width_mm"][0], sizes["height_mm"][0])
    daylight = data.get("daylight_least_mm")
    if daylight is None:
        return
    past = (("sash", "overlap_mm"), *((part, "end_allowance_mm") for part in DIVIDERS))
    for part, key in past:
        beyond = members.get(part, {}).get(key)
        if beyond is not None:
            yield part, daylight + 2 * beyond


def _rows_once(data: Mapping[str, Any]) -> Told:
    """No two rows answer to the same thickness, projection or name of a sill."""
    for table, key in (("beads", "unit_mm"), ("sills", "projection_mm"), ("sills", "name")):
        first: dict[Any, int] = {}
        for place, row in enumerate(data.get(table, ())):
            value = row.get(key)
            if value is None:
                continue
            if value in first:
                shown = value if isinstance(value, str) else mm(value)
                yield told(
                    (table, place, key),
                    f"{shown} is also in row {first[value] + 1}. Keep one row.",
                )
            first.setdefault(value, place)


def _stock_agrees(data: Mapping[str, Any]) -> Told:
    """One stock name means one bar length and one mass, wherever it stands."""
    first: dict[str, tuple[Path, Mapping[str, Any]]] = {}
    for path, stock in _stock(data):
        name = stock.get("name")
        if name is None:
            continue
        _, known = first.setdefault(name, (path, stock))
        for key in ("bar_mm", "mass_kg_m"):
            here, there = stock.get(key), known.get(key)
            if here is not None and there is not None and here != there:
                yield told(
                    (*path, key),
                    f"{number_text(here)} for {name}, which has {number_text(there)} elsewhere in this file. "
                    "Give both the same, or give them two names.",
                )


def _stock(data: Mapping[str, Any]) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """Every stock profile of a system with its path."""
    for part, member in _members(data).items():
        yield ("profiles", part), member
        if "reinforcement" in member:
            yield ("profiles", part, "reinforcement"), member["reinforcement"]
    for table in ("beads", "sills"):
        for place, row in enumerate(data.get(table, ())):
            yield (table, place), row


def _editions(data: Mapping[str, Any], *path: str) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """The editions of one figure with their paths."""
    found: Any = data
    for step in path:
        found = found.get(step, {})
    if isinstance(found, EditionList):
        for edition, place in zip(found, found.places, strict=True):
            yield (*path, *place), edition


def _bands(data: Mapping[str, Any]) -> Told:
    """Every row of a gap table has one gap a band."""
    for path, edition in _editions(data, "gap_per_side_mm"):
        rows = [((*path, *place), gaps) for place, gaps in gap_rows(edition)]
        if not rows:
            yield told(path, "lists no frame material. Add one, such as pvcu, with white and coloured.")
        yield from _same_length(rows, edition["up_to_mm"])
    for path, edition in _editions(data, "gap_most_per_side_mm"):
        yield from _same_length([((*path, "value"), edition["value"])], edition["up_to_mm"])


def _same_length(rows: Iterable[tuple[Path, tuple[Fraction, ...]]], spans: tuple[Fraction, ...]) -> Told:
    for path, gaps in rows:
        if len(gaps) != len(spans):
            yield told(path, f"has {len(gaps)} gaps for {len(spans)} spans of up_to_mm. Give one gap a span.")


def _gap_order(data: Mapping[str, Any]) -> Told:
    """No least gap is above the largest gap of the same span; one row of a table is told, with the count."""
    most_tables = [edition for _, edition in _editions(data, "gap_most_per_side_mm")]
    for path, edition in _editions(data, "gap_per_side_mm"):
        wrong = [
            (place, gap, span, limit)
            for place, gaps in gap_rows(edition)
            for span, gap in zip(edition["up_to_mm"], gaps, strict=False)
            for limit in [_at(table, span) for table in most_tables]
            if limit is not None and gap > limit
        ]
        if wrong:
            place, gap, span, limit = wrong[0]
            more = f", and {len(wrong) - 1} more like it" if len(wrong) > 1 else ""
            yield told(
                (*path, *place),
                f"{mm(gap)} for spans up to {mm(span)} is above the largest gap there, {mm(limit)}{more}. "
                "Correct one of them.",
            )


def gap_rows(edition: Mapping[str, Any]) -> Iterator[tuple[tuple[str, str], tuple[Fraction, ...]]]:
    """Material and colour class of each row of a gap table, with its gaps."""
    for material, colours in edition.items():
        if isinstance(colours, dict):
            for colour_class, gaps in colours.items():
                yield (material, colour_class), gaps


def _at(table: Mapping[str, Any], span: Fraction) -> Fraction | None:
    """Value of the band of a span; None past the last."""
    for up_to, value in zip(table["up_to_mm"], table["value"], strict=False):
        if span <= up_to:
            found: Fraction = value
            return found
    return None


def _fixing_order(data: Mapping[str, Any]) -> Told:
    """A corner distance's ``most`` is not below it."""
    for path, edition in _editions(data, "fixings", "corner_mm"):
        if "most" in edition and edition["most"] < edition["value"]:
            yield told(
                (*path, "most"),
                f"{mm(edition['most'])} is below the value, {mm(edition['value'])}. Correct one of them.",
            )


def _usual_inside(data: Mapping[str, Any]) -> Told:
    """The usual sill overhang lies within its range."""
    for path, edition in _editions(data, "sill_overhang_mm"):
        least, most = edition["value"]
        if "usual" in edition and not least <= edition["usual"] <= most:
            yield told(
                (*path, "usual"),
                f"{mm(edition['usual'])} is outside {number_text(least)} to {mm(most)}. Correct one of them.",
            )


def _diagonal_covers_sides(data: Mapping[str, Any]) -> Told:
    """A diagonal is longer than a side, so its limit reaches further."""
    sides = [edition["value"][1] for _, edition in _editions(data, "limits", "size_mm")]
    for path, edition in _editions(data, "limits", "diagonal_mm"):
        if sides and edition["value"][1] < max(sides):
            yield told(
                path,
                f"ends at {mm(edition['value'][1])}, below the longest side of "
                f"{mm(max(sides))}. Let it reach further.",
            )


def _editions_dated(data: Mapping[str, Any]) -> Told:
    """With several editions of a figure the file says on which day it was checked."""
    if "checked" in data:
        return
    for path, found in _figures(data, ()):
        if len(found) > 1:
            yield told(
                path,
                "has several editions, so the file must say which holds for an order without a date. "
                "Add 'checked:' with a day at the top.",
            )


def _figures(data: Mapping[str, Any], path: Path) -> Iterator[tuple[Path, EditionList]]:
    """Every figure of a rulebook with its path."""
    for key, inner in data.items():
        if isinstance(inner, EditionList):
            yield (*path, key), inner
        elif isinstance(inner, dict):
            yield from _figures(inner, (*path, key))
