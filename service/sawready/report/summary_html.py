"""The morning report: one page that needs nothing but itself, for a screen, a phone or paper."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources
from typing import Any, Final

from jinja2 import DictLoader, Environment, StrictUndefined

from sawready.report.as_text import WORD, candidate_in_words, place_in_words
from sawready.rules.registry import REASONS

MOST_ROWS: Final = 200
"""Files, firms and reasons that are shown; all are in summary.json."""

MOST_FINDINGS: Final = 20
"""Findings of one order that are shown; all are in findings.csv."""

_BAR: Final = 400
"""Units that the longest bar has."""

_DECISIONS: Final = ("rejected", "queried", "accepted")
_SEVERITIES: Final = ("reject", "query", "note")
_COUNTED: Final = (
    ("read", "read"),
    ("accepted", "accepted"),
    ("queried", "queried"),
    ("rejected", "rejected"),
    ("not read", "unreadable"),
    ("skipped", "skipped"),
)

Result = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Morning:
    """What the page tells.

    Attributes:
        total: counts of all records by what came of them.
        orders: orders by decision.
        severities: findings by severity.
        reasons: findings of each reason by severity.
        skipped: rows that held no opening, by kind.
        not_applied: openings for which a check could not be made, by its reason.
        firms, files: counts of each, by name.
        worst: result lines of the worst orders with the file of each, the worst first.
        refused: result lines of what could not be read, likewise, in the order of the input.
        passed_over: files of the folders that are no input.
        changes: counts of what differs from an earlier run; None where none was named.
        version, program, settings: what the run was made with.
    """

    total: Mapping[str, int]
    orders: Mapping[str, int]
    severities: Mapping[str, int]
    reasons: Mapping[str, Mapping[str, int]]
    skipped: Mapping[str, int]
    not_applied: Mapping[str, int]
    firms: Mapping[str, Mapping[str, int]]
    files: Mapping[str, Mapping[str, int]]
    worst: Sequence[tuple[Result, str]]
    refused: Sequence[tuple[Result, str]]
    version: str
    program: str
    settings: str
    passed_over: Sequence[str] = ()
    changes: Mapping[str, Any] | None = field(default=None)


def summary_page(morning: Morning) -> bytes:
    """The page in UTF-8. It holds no script and asks for nothing from anywhere."""
    total, orders = morning.total, morning.orders
    firms, files = (_counted(counts) for counts in (morning.firms, morning.files))
    text: str = _template().render(
        title="sawready: what the run found",
        headline=_headline(orders, len(morning.files)),
        tiles=[(name, total[name]) for name in _DECISIONS],
        total=total,
        skipped=morning.skipped,
        passed_over=list(morning.passed_over),
        changes=morning.changes,
        severities=morning.severities,
        reasons=_reasons(morning.reasons),
        firms=firms[:MOST_ROWS],
        more_firms=len(firms) - MOST_ROWS,
        files=files[:MOST_ROWS],
        more_files=len(files) - MOST_ROWS,
        worst=[_order(result, file) for result, file in morning.worst],
        more_worst=orders["rejected"] + orders["queried"] - len(morning.worst),
        refused=[
            {"file": file, "finding": _told(result["openings"][0]["findings"][0])}
            for result, file in morning.refused
        ],
        not_applied=dict(sorted(morning.not_applied.items(), key=lambda item: (-item[1], item[0]))),
        version=morning.version,
        program=morning.program,
        settings=morning.settings,
    )
    return text.encode()


def _headline(orders: Mapping[str, int], files: int) -> str:
    count = sum(orders.values())
    parts = ", ".join(f"{orders[name]:,} {name}" for name in _DECISIONS)
    return f"{_number(count, 'order')} from {_number(files, 'file')}: {parts}."


def _number(count: int, noun: str) -> str:
    return f"{count:,} {noun}{'s' * (count != 1)}"


def _counted(counts: Mapping[str, Mapping[str, int]]) -> list[dict[str, Any]]:
    """Rows of a table of counts, those with most to do first."""
    trouble = sorted(
        counts.items(),
        key=lambda item: (-item[1]["rejected"] - item[1]["unreadable"], -item[1]["queried"], item[0]),
    )
    return [
        {"name": name, "counts": [(label, each[key]) for label, key in _COUNTED]} for name, each in trouble
    ]


def _reasons(reasons: Mapping[str, Mapping[str, int]]) -> list[dict[str, Any]]:
    totals = {name: sum(severities.values()) for name, severities in reasons.items()}
    most = max(totals.values(), default=1)
    rows = []
    for name in sorted(totals, key=lambda name: (-totals[name], name))[:MOST_ROWS]:
        by_severity = [reasons[name].get(severity, 0) for severity in _SEVERITIES]
        page = REASONS.get(name)
        rows.append(
            {
                "name": name,
                "title": "" if page is None else page.title,
                "total": totals[name],
                **dict(zip(_SEVERITIES, by_severity, strict=True)),
                "bars": [round(_BAR * number / most, 2) for number in by_severity],
            }
        )
    return rows


def _order(result: Result, file: str) -> dict[str, Any]:
    """An order with its gravest findings, as many as are shown; notes of accepted openings are only counted."""
    weighed = sorted(result["openings"], key=lambda opening: _DECISIONS.index(opening["decision"]))
    left = MOST_FINDINGS
    count = told = 0
    openings = []
    for opening in weighed:
        findings = sorted(opening["findings"], key=lambda found: _SEVERITIES.index(found["severity"]))
        count += len(findings)
        shown = findings[:left] if opening["decision"] != "accepted" else []
        left -= len(shown)
        told += len(shown)
        if shown:
            openings.append(
                {
                    "name": opening["opening_ref"] or "opening without a reference",
                    "decision": opening["decision"],
                    "findings": [_told(found) for found in shown],
                }
            )
    return {
        "name": result["order_ref"] or "order without a reference",
        "decision": result["decision"],
        "file": file,
        "count": len(result["openings"]),
        "openings": openings,
        "more": count - told,
    }


def _told(found: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "severity": found["severity"],
        "word": WORD[found["severity"]],
        "reason": found["reason"],
        "place": place_in_words(found),
        "message": found["message"],
        "candidates": ", ".join(map(candidate_in_words, found["candidates"])),
        "remedy": found["remedy"] if found["severity"] != "note" else "",
    }


@lru_cache(maxsize=1)
def _template() -> Any:
    folder = resources.files("sawready.report").joinpath("templates")
    names = ("summary.html", "summary_parts.html")
    pages = {name: folder.joinpath(name).read_text("utf-8") for name in names}
    environment = Environment(
        loader=DictLoader(pages), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    count: Callable[[int], str] = "{:,}".format
    environment.filters["count"] = count
    return environment.get_template(names[0])
