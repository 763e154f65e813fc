"""The report for people at a terminal: grouped by order, worst first."""

import textwrap
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, TextIO

_RANK: Final = {"rejected": 0, "queried": 1, "accepted": 2}
_SEVERITY_RANK: Final = {"reject": 0, "query": 1, "note": 2}
WORD: Final = {"reject": "must not be cut", "query": "ask first", "note": "note"}
_COLOUR: Final = {
    "rejected": "31",
    "queried": "33",
    "accepted": "32",
    "reject": "31",
    "query": "33",
    "note": "36",
}
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
        most: findings of one reason that are written, and orders without any; None for all of them.
    """

    def __init__(self, stream: TextIO, *, is_coloured: bool, most: int | None = None) -> None:
        self._stream = stream
        self._is_coloured = is_coloured
        self._most = most
        self._written: Counter[str] = Counter()
        self._left_out: Counter[str] = Counter()
        self._plain = self._plain_left_out = 0

    def wants(self, reasons: Collection[str]) -> bool:
        """Whether an order with such findings is to be written; one that is not is counted here.

        Args:
            reasons: the reason of each finding.
        """
        if self._most is None:
            return True
        if not reasons:
            if self._plain >= self._most:
                self._plain_left_out += 1
                return False
            self._plain += 1
            return True
        if all(self._written[reason] >= self._most for reason in set(reasons)):
            self._left_out.update(reasons)
            return False
        return True

    def _shown(self, findings: list[dict[str, Any]], times: int = 1) -> list[dict[str, Any]]:
        """The findings that are still to be written, each standing for so many."""
        if self._most is None:
            return findings
        shown = []
        for found in findings:
            reason = found["reason"]
            if self._written[reason] < self._most:
                self._written[reason] += times
                shown.append(found)
            else:
                self._left_out[reason] += times
        return shown

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
        for found in self._shown(shared, count):
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
        self._say(
            f"  {opening['opening_ref'] or 'opening without a reference'}{times}: {decision}{_sizes(opening)}"
        )
        findings = sorted(findings, key=lambda found: _SEVERITY_RANK[found["severity"]])
        for found in self._shown(findings):
            self._finding(found, "    ")
        gaps: dict[str, list[str]] = {}
        for each in opening["not_applied"]:
            gaps.setdefault(each["because"], []).append(each["reason"])
        for because, reasons in gaps.items():
            self._wrapped(f"not checked, {because}: {', '.join(reasons)}", "    ")

    def _finding(self, found: Mapping[str, Any], indent: str, before: str = "") -> None:
        word = self._paint(WORD[found["severity"]], found["severity"])
        self._say(f"{indent}{before}{word}: {found['reason']}, {place_in_words(found)}")
        self._wrapped(found["message"], indent + "    ")
        if found["candidates"]:
            self._wrapped(
                "Perhaps: " + ", ".join(map(candidate_in_words, found["candidates"])), indent + "    "
            )
        if found["remedy"] and found["severity"] != "note":
            self._wrapped(f"Do: {found['remedy']}", indent + "    ")

    def unreadable(self, found: Mapping[str, Any], *, file: str) -> None:
        """Writes a row, order or file that could not be read."""
        self._say(
            f"{self._paint('NOT READ', 'rejected')}: {found['reason']}, {place_in_words(found)} ({file})"
        )
        self._wrapped(found["message"], "    ")
        if found["remedy"]:
            self._wrapped(f"Do: {found['remedy']}", "    ")
        self._say()

    def summary(self, counts: Counts) -> None:
        """Writes the counts, which add up, and what was left out."""
        self._left_out_in_words(counts.reasons)
        for name, seen in (("order", counts.orders), ("opening", counts.openings)):
            total = sum(seen.values())
            parts = ", ".join(f"{number} {self._paint(kind, kind)}" for kind, number in seen.items())
            self._say(f"{total} {name}{'s' * (total != 1)}: {parts}")
        if counts.unreadable:
            self._say(f"{counts.unreadable} not read at all")

    def _left_out_in_words(self, totals: Mapping[str, int]) -> None:
        """How much was left out of each reason, with exact totals."""
        if not self._left_out and not self._plain_left_out:
            return
        self._say(f"Not written here, beyond the first {self._most} of a kind:")
        for reason, number in self._left_out.most_common():
            self._say(f"  {reason}: {number} more, {totals.get(reason, number)} in all")
        if self._plain_left_out:
            self._say(f"  orders without findings: {self._plain_left_out} more")
        self._say()


def _is_in(found: Mapping[str, Any], others: Iterable[Mapping[str, Any]]) -> bool:
    return any(
        found["reason"] == other["reason"]
        and found["at"] == other["at"]
        and found["message"] == other["message"]
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
        names = [
            light["light"] + (f" {light['hinge']}" if light["hinge"] else "") for light in opening["lights"]
        ]
        text += f", {', '.join(names)}"
    return text


def place_in_words(found: Mapping[str, Any]) -> str:
    """Where a finding stands: its cell in a sheet, else its pointer."""
    cell = found["cell"]
    if cell is None:
        return f"at {found['at']}" if found["at"] else "the whole input"
    column = f", column {cell['column']}" if cell["column"] else ""
    return f"line {cell['line']}{column}"


def candidate_in_words(value: Any) -> str:
    """A reading worth offering, as it is shown."""
    return value if isinstance(value, str) else f"{value:.12g} mm"
