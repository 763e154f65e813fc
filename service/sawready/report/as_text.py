"""The report for people at a terminal: grouped by order, worst first."""

import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, TextIO

_RANK: Final = {"rejected": 0, "queried": 1, "accepted": 2}
_SEVERITY_RANK: Final = {"reject": 0, "query": 1, "note": 2}
_WORD: Final = {"reject": "must not be cut", "query": "ask first", "note": "note"}
_COLOUR: Final = {"rejected": "31", "queried": "33", "accepted": "32", "reject": "31", "query": "33", "note": "36"}
_WIDTH: Final = 100


@dataclass(slots=True)
class Counts:
    """What a run has seen; read = accepted + queried + rejected + unreadable."""

    orders: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_RANK, 0))
    openings: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_RANK, 0))
    unreadable: int = 0
    reasons: dict[str, int] = field(default_factory=dict)

    def add(self, result: Mapping[str, Any]) -> None:
        """Counts a published result."""
        self.orders[result["decision"]] += 1
        for opening in result["openings"]:
            self.openings[opening["decision"]] += 1
            for found in opening["findings"]:
                self.reasons[found["reason"]] = self.reasons.get(found["reason"], 0) + 1

    def add_unreadable(self, reason: str) -> None:
        """Counts a row, order or file that could not be read."""
        self.unreadable += 1
        self.reasons[reason] = self.reasons.get(reason, 0) + 1

    def as_dict(self) -> dict[str, Any]:
        """The published form."""
        return {
            "orders": {"read": sum(self.orders.values()), **self.orders},
            "openings": {"read": sum(self.openings.values()), **self.openings},
            "unreadable": self.unreadable,
            "reasons": dict(sorted(self.reasons.items(), key=lambda item: (-item[1], item[0]))),
        }


class TextReport:
    """Writes results for people.

    Args:
        stream: where to.
        is_coloured: whether decisions are coloured; only for a terminal.
    """

    def __init__(self, stream: TextIO, *, is_coloured: bool) -> None:
        self._stream = stream
        self._is_coloured = is_coloured

    def _say(self, text: str = "") -> None:
        self._stream.write(f"{text}\n")

    def _paint(self, text: str, kind: str) -> str:
        return f"\x1b[1;{_COLOUR[kind]}m{text}\x1b[0m" if self._is_coloured else text

    def _wrapped(self, text: str, indent: str) -> None:
        for line in textwrap.wrap(
            text, _WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False
        ):
            self._say(line)

    def order(self, result: Mapping[str, Any], *, file: str) -> None:
        """Writes one order, its worst openings first."""
        openings = sorted(result["openings"], key=lambda opening: _RANK[opening["decision"]])
        count = len(openings)
        name = result["order_ref"] or "order without a reference"
        decision = self._paint(result["decision"].upper(), result["decision"])
        self._say(f"{name}: {decision}, {count} opening{'s' * (count != 1)} ({file})")
        shared = self._shared(openings)
        for found in shared:
            self._finding(found, "  ", "every opening: ")
        for opening in openings:
            self._opening(opening, [found for found in opening["findings"] if not _is_in(found, shared)])
        self._say()

    def _shared(self, openings: list[Any]) -> list[dict[str, Any]]:
        """Findings of the order itself, which stand with each of its openings."""
        if len(openings) < 2:
            return []
        return [
            found
            for found in openings[0]["findings"]
            if not found["at"].startswith("/openings/")
            and all(_is_in(found, opening["findings"]) for opening in openings)
        ]

    def _opening(self, opening: Mapping[str, Any], findings: list[dict[str, Any]]) -> None:
        times = f" x {opening['quantity']}" if (opening["quantity"] or 1) != 1 else ""
        decision = self._paint(opening["decision"], opening["decision"])
        self._say(f"  {opening['opening_ref'] or 'opening without a reference'}{times}: {decision}{_sizes(opening)}")
        for found in sorted(findings, key=lambda found: _SEVERITY_RANK[found["severity"]]):
            self._finding(found, "    ")
        gaps: dict[str, list[str]] = {}
        for each in opening["not_applied"]:
            gaps.setdefault(each["because"], []).append(each["reason"])
        for because, reasons in gaps.items():
            self._wrapped(f"not checked, {because}: {', '.join(reasons)}", "    ")

    def _finding(self, found: Mapping[str, Any], indent: str, before: str = "") -> None:
        word = self._paint(_WORD[found["severity"]], found["severity"])
        self._say(f"{indent}{before}{word}: {found['reason']}, {_place(found)}")
        self._wrapped(found["message"], indent + "    ")
        if found["candidates"]:
            self._wrapped("Perhaps: " + ", ".join(map(_candidate, found["candidates"])), indent + "    ")
        if found["remedy"] and found["severity"] != "note":
            self._wrapped(f"Do: {found['remedy']}", indent + "    ")

    def unreadable(self, found: Mapping[str, Any], *, file: str) -> None:
        """Writes a row, order or file that could not be read."""
        self._say(f"{self._paint('NOT READ', 'rejected')}: {found['reason']}, {_place(found)} ({file})")
        self._wrapped(found["message"], "    ")
        if found["remedy"]:
            self._wrapped(f"Do: {found['remedy']}", "    ")
        self._say()

    def summary(self, counts: Counts) -> None:
        """Writes the counts, which add up."""
        for name, seen in (("order", counts.orders), ("opening", counts.openings)):
            total = sum(seen.values())
            parts = ", ".join(f"{number} {self._paint(kind, kind)}" for kind, number in seen.items())
            self._say(f"{total} {name}{'s' * (total != 1)}: {parts}")
        if counts.unreadable:
            self._say(f"{counts.unreadable} not read at all")


def _is_in(found: Mapping[str, Any], others: Iterable[Mapping[str, Any]]) -> bool:
    return any(
        found["reason"] == other["reason"] and found["at"] == other["at"] and found["message"] == other["message"]
        for other in others
    )


def _sizes(opening: Mapping[str, Any]) -> str:
    """Frame, sill and lights of an opening in a few words."""
    frame = opening["frame"]
    if frame is None or frame["width_mm"] is None or frame["height_mm"] is None:
        return ""
    text = f", frame {frame['width_mm']:g} x {frame['height_mm']:g}"
    if opening["sill"] is not None:
        text += f", {opening['sill']['profile']} {opening['sill']['length_mm']:g}"
    if opening["lights"]:
        names = [light["light"] + (f" {light['hinge']}" if light["hinge"] else "") for light in opening["lights"]]
        text += f", {', '.join(names)}"
    return text


def _place(found: Mapping[str, Any]) -> str:
    cell = found["cell"]
    if cell is None:
        return f"at {found['at']}" if found["at"] else "the whole input"
    column = f", column {cell['column']}" if cell["column"] else ""
    return f"line {cell['line']}{column}"


def _candidate(value: Any) -> str:
    return value if isinstance(value, str) else f"{value:.12g} mm"
