"""Reasons and the rules that find them: plain records, one small function a reason."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal, TypeVar

from sawready.model.finding import NOTE, QUERY, REJECT, Finding, Quantity, Severity

__all__ = [
    "ABOUT",
    "NOTE",
    "QUERY",
    "REASONS",
    "REJECT",
    "SILL",
    "Bound",
    "Hit",
    "Hits",
    "NotJudged",
    "Reason",
    "Within",
    "catalogue_pages",
    "declare",
    "finding",
    "known",
    "reason_named",
    "rule",
]

Stage = Literal["reading", "order", "sizes"]
About = Literal["reading", "size", "sill", "openers", "glazing", "making", "rules", "suspicion"]


@dataclass(frozen=True, slots=True)
class Hit:
    """What a rule found at one place; the text comes from the reason's fields.

    Attributes:
        at: pointer relative to the opening, such as ``frame/width``; absolute where it begins with ``/``.
        facts: figures that the message and the remedy name.
        measured: value that was judged.
        limit: figure that it was judged against.
        candidates: readings worth offering.
        severity: where it differs from the reason's own.
        source: document behind the limit, where the reason leaves it to the data.
        message: another form of the message, for a second case of the same reason.
        remedy: another form of the remedy.
    """

    at: str
    facts: dict[str, Any] = field(default_factory=dict)
    measured: Quantity | None = None
    limit: Quantity | None = None
    candidates: Sequence[float | int | str] = ()
    severity: Severity | None = None
    source: str | None = None
    message: str | None = None
    remedy: str | None = None


@dataclass(frozen=True, slots=True)
class NotJudged:
    """What a rule says where it met a missing fact on its way: it is listed as not applied.

    Attributes:
        because: the fact that is missing, in words.
    """

    because: str


Hits = Iterable[Hit | NotJudged]
Fact = TypeVar("Fact")


def known(fact: Fact | None) -> Fact:
    """A fact that a rule needs and the run has therefore seen to."""
    assert fact is not None  # noqa: S101 - narrows the type
    return fact


Check = Callable[[Any], Hits]

Bound = tuple[int, int | None, int | None]
"""Number of a form of the plan, and the least and greatest value at which a check of it stays silent; None
where there is none. [nm over the plan's denominator]"""

SILL: Final = -1
"""In a `Bound` the number that stands for the length of the sill, which is no form of the plan."""

Within = Callable[[Any], Iterable[Bound]]
"""Gives bounds within which a check finds nothing in an opening, nor in any other of the same pattern."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A page of the catalogue of reasons.

    Attributes:
        name: what is wrong; never changes its meaning.
        about: family, as the catalogue groups them.
        severity: usual severity.
        stage: when it is found: on reading, before or after the sizes are worked out.
        since: version that brought it.
        title: a few words for a heading.
        why: what it means and why it matters.
        message, remedy: forms filled in from a hit's facts.
        source: document or rulebook entry behind the figure.
        needs: facts without which the check does not run.
        asks: facts that the check itself looks for, only where it turns out to need them.
        check: the function that finds it; None for what the readers find themselves.
        within: bounds of lengths; the check finds nothing while every length is within them.
    """

    name: str
    about: About
    severity: Severity
    stage: Stage
    since: str
    title: str
    why: str
    message: str
    remedy: str
    source: str
    needs: tuple[str, ...] = ()
    check: Check | None = None
    asks: tuple[str, ...] = ()
    within: Within | None = None


ABOUT: Final[tuple[About, ...]] = (
    "reading",
    "size",
    "sill",
    "openers",
    "glazing",
    "making",
    "rules",
    "suspicion",
)
"""Families of reasons in the order of the catalogue."""

REASONS: Final[dict[str, Reason]] = {}
"""Every reason by its name, as they were declared."""


def catalogue_pages() -> list[Reason]:
    """Every reason in the order of the catalogue: by family, then as declared within it."""
    return sorted(REASONS.values(), key=lambda page: ABOUT.index(page.about))


def _register(reason: Reason) -> None:
    if reason.name in REASONS:
        raise ValueError(f"reason {reason.name} is declared twice")
    REASONS[reason.name] = reason


def declare(
    *,
    reason: str,
    about: About,
    severity: Severity,
    title: str,
    why: str,
    message: str,
    remedy: str,
    source: str,
    since: str = "0.1",
    stage: Stage = "reading",
) -> Reason:
    """Declares a reason that the reading of an order finds on its way.

    Raises: ValueError where the name is taken.
    """
    page = Reason(reason, about, severity, stage, since, title, why, message, remedy, source)
    _register(page)
    return page


def rule(
    *,
    reason: str,
    about: About,
    severity: Severity,
    title: str,
    message: str,
    remedy: str,
    source: str,
    needs: tuple[str, ...] = (),
    asks: tuple[str, ...] = (),
    within: Within | None = None,
    since: str = "0.1",
    stage: Stage = "sizes",
) -> Callable[[Check], Check]:
    """Declares a reason together with the function that finds it; its docstring says why it matters.

    Args:
        needs: names of facts (see ``rules.run.FACTS``); where one is missing the check is listed as not
            applied.
        asks: names of further facts, which the function misses only where it turns out to need them and
            then answers with a NotJudged.
        within: bounds of lengths within which the function finds nothing and need not be asked.
    Raises: ValueError where the name is taken or the function has no docstring.
    """

    def keep(check: Check) -> Check:
        if not check.__doc__:
            raise ValueError(f"the rule for {reason} does not say why it matters")
        why = " ".join(check.__doc__.split())
        _register(
            Reason(
                reason,
                about,
                severity,
                stage,
                since,
                title,
                why,
                message,
                remedy,
                source,
                needs,
                check,
                asks,
                within,
            )
        )
        return check

    return keep


def reason_named(name: str) -> Reason:
    """The page of a reason. Raises KeyError where there is none."""
    return REASONS[name]


def finding(page: Reason, hit: Hit, *, base: str, at: str | None = None) -> Finding:
    """The finding that a hit makes of a reason.

    Args:
        page: the reason.
        hit: where and with which figures.
        base: pointer of the opening, put before a relative place.
        at: the place as the order was written, where it is not simply the hit's.
    """
    at = (
        at if at is not None else hit.at if hit.at.startswith("/") else f"{base}/{hit.at}" if hit.at else base
    )
    return Finding(
        reason=page.name,
        severity=hit.severity or page.severity,
        at=_writable(at),
        message=_writable((hit.message or page.message).format_map(hit.facts)),
        measured=hit.measured,
        limit=hit.limit,
        candidates=tuple(hit.candidates),
        remedy=_writable((hit.remedy or page.remedy).format_map(hit.facts)),
        source=hit.source or page.source,
    )


def _writable(text: str) -> str:
    """The text with half characters, which no file can hold, replaced; an order may quote any."""
    return text if text.isascii() else text.encode("utf-8", "replace").decode("utf-8")
