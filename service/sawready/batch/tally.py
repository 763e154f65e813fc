"""Counts of a run that can be added up: by chunk, by file, in any process, and again after a kill."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from heapq import nsmallest
from typing import Any, Final

from sawready.model.finding import DECISIONS, WEIGHT, Decision
from sawready.pipeline import OrderResult

MOST_WORST: Final = 50
"""Worst orders, and refused rows, that are kept with their findings."""

OUTCOMES: Final = (*DECISIONS, "unreadable", "skipped")
"""What comes of a record: an opening is decided on, a row is refused, or holds no opening."""

SEVERITIES: Final = tuple(sorted(WEIGHT, key=lambda severity: -WEIGHT[severity]))


@dataclass(slots=True)
class FileCounts:
    """What came of the records of one file, or of one firm."""

    read: int = 0
    accepted: int = 0
    queried: int = 0
    rejected: int = 0
    unreadable: int = 0
    skipped: int = 0

    def add(self, other: "FileCounts") -> None:
        """Adds another's counts."""
        self.read += other.read
        self.accepted += other.accepted
        self.queried += other.queried
        self.rejected += other.rejected
        self.unreadable += other.unreadable
        self.skipped += other.skipped

    @property
    def adds_up(self) -> bool:
        """Whether every record that was read has come to something."""
        return self.read == self.accepted + self.queried + self.rejected + self.unreadable + self.skipped


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """Where a result line stands, by how much it matters.

    Attributes:
        rank: what is worst is least.
        start: first byte of the line in the results.
        length: bytes of the line.
        file: file that it came from.
    """

    rank: tuple[int, int]
    start: int
    length: int
    file: str


@dataclass(slots=True)
class Tally:
    """The counts of a run, or of a part of one.

    Attributes:
        orders: orders by decision.
        files: counts of each file, in the order of the input.
        firms: whose each file is.
        reasons: findings by reason and severity.
        not_applied: checks that could not be made, by reason.
        skipped: rows that held no opening, by kind.
        worst: orders with the most rejects, then queries.
        refused: the first rows, orders or files that could not be read.
        size: bytes of results so far.
    """

    orders: dict[str, int] = field(default_factory=lambda: dict.fromkeys(DECISIONS, 0))
    files: dict[str, FileCounts] = field(default_factory=dict)
    firms: dict[str, str] = field(default_factory=dict)
    reasons: dict[str, dict[str, int]] = field(default_factory=dict)
    not_applied: dict[str, int] = field(default_factory=dict)
    skipped: dict[str, int] = field(default_factory=dict)
    worst: list[Spot] = field(default_factory=list)
    refused: list[Spot] = field(default_factory=list)
    size: int = 0

    def file(self, name: str, firm: str) -> FileCounts:
        """The counts of a file."""
        counts = self.files.get(name)
        if counts is None:
            counts = self.files[name] = FileCounts()
            self.firms[name] = firm
        return counts

    def add_order(self, result: OrderResult, counts: FileCounts, *, file: str, length: int) -> None:
        """Counts an order.

        Args:
            result: what came of it.
            counts: the counts of its file.
            file: the file's name.
            length: bytes of its line, the line end included.
        """
        self.orders[result.decision] += 1
        rejects = queries = 0
        not_applied, reasons = self.not_applied, self.reasons
        for opening in result.openings:
            decision: Decision = opening.decision
            if decision == "accepted":
                counts.accepted += 1
            elif decision == "queried":
                counts.queried += 1
            else:
                counts.rejected += 1
            for check in opening.not_applied:
                not_applied[check.reason] = not_applied.get(check.reason, 0) + 1
            for found in opening.findings:
                severity = found.severity
                by_severity = reasons.setdefault(found.reason, {})
                by_severity[severity] = by_severity.get(severity, 0) + 1
                if severity == "reject":
                    rejects += 1
                elif severity == "query":
                    queries += 1
        if rejects or queries:
            self.worst.append(Spot((-rejects, -queries), self.size, length, file))
        self.size += length

    def add_refused(self, reason: str, severity: str, counts: FileCounts, *, file: str, length: int) -> None:
        """Counts a row, order or file that could not be read."""
        counts.unreadable += 1
        by_severity = self.reasons.setdefault(reason, {})
        by_severity[severity] = by_severity.get(severity, 0) + 1
        self.refused.append(Spot((0, 0), self.size, length, file))
        self.size += length

    def add_skipped(self, kinds: Mapping[str, int], counts: FileCounts) -> None:
        """Counts rows that held no opening; they were read like any other."""
        for kind, number in kinds.items():
            self.skipped[kind] = self.skipped.get(kind, 0) + number
            counts.skipped += number
            counts.read += number

    def cut(self) -> None:
        """Keeps no more of the worst than are shown."""
        self.worst = nsmallest(MOST_WORST, self.worst)
        self.refused = nsmallest(MOST_WORST, self.refused)

    def add(self, later: "Tally") -> None:
        """Adds the counts of what follows in the input."""
        for name, counts in later.files.items():
            self.file(name, later.firms[name]).add(counts)
        _add(self.orders, later.orders)
        _add(self.not_applied, later.not_applied)
        _add(self.skipped, later.skipped)
        for reason, severities in later.reasons.items():
            _add(self.reasons.setdefault(reason, {}), severities)
        self.worst = nsmallest(MOST_WORST, [*self.worst, *_moved(later.worst, self.size)])
        self.refused = nsmallest(MOST_WORST, [*self.refused, *_moved(later.refused, self.size)])
        self.size += later.size

    @property
    def total(self) -> FileCounts:
        """Counts of all files together."""
        total = FileCounts()
        for counts in self.files.values():
            total.add(counts)
        return total

    def by_firm(self) -> dict[str, FileCounts]:
        """Counts of each firm."""
        found: dict[str, FileCounts] = {}
        for name, counts in self.files.items():
            found.setdefault(self.firms[name], FileCounts()).add(counts)
        return found

    def reason_totals(self) -> dict[str, int]:
        """Findings by reason, the most frequent first."""
        totals = {reason: sum(severities.values()) for reason, severities in self.reasons.items()}
        return dict(sorted(totals.items(), key=lambda item: (-item[1], item[0])))

    def severities(self) -> dict[str, int]:
        """Findings by severity."""
        totals: dict[str, int] = dict.fromkeys(SEVERITIES, 0)
        for by_severity in self.reasons.values():
            _add(totals, by_severity)
        return totals

    def as_dict(self) -> dict[str, Any]:
        """Everything, for `of`."""
        return asdict(self)

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> "Tally":
        """The counts that `as_dict` gave."""
        return cls(
            orders=dict(data["orders"]),
            files={name: FileCounts(**counts) for name, counts in data["files"].items()},
            firms=dict(data["firms"]),
            reasons={reason: dict(severities) for reason, severities in data["reasons"].items()},
            not_applied=dict(data["not_applied"]),
            skipped=dict(data["skipped"]),
            worst=_spots(data["worst"]),
            refused=_spots(data["refused"]),
            size=data["size"],
        )


def _add(counts: dict[str, int], more: Mapping[str, int]) -> None:
    for name, number in more.items():
        counts[name] = counts.get(name, 0) + number


def _moved(spots: Iterable[Spot], by: int) -> list[Spot]:
    return [Spot(spot.rank, spot.start + by, spot.length, spot.file) for spot in spots]


def _spots(data: Iterable[Mapping[str, Any]]) -> list[Spot]:
    return [
        Spot((each["rank"][0], each["rank"][1]), each["start"], each["length"], each["file"]) for each in data
    ]
