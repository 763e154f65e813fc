"""Questions to send: what only the surveyor can answer, one sentence each, by surveyor."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from sawready.model.finding import NOTE, REJECT, Finding
from sawready.pipeline import OrderResult
from sawready.rules.registry import REASONS

NOBODY: Final = "surveyor not stated"

_ANSWERABLE: Final = frozenset(
    {
        "value-missing",
        "value-unreadable",
        "value-ambiguous",
        "value-out-of-range",
        "unit-not-stated",
        "unit-not-a-length",
        "view-not-stated",
        "readings-disagree",
        "diagonals-disagree",
        "gap-too-large",
        "sill-horns-missing",
        "layout-differs-from-survey",
        "opener-in-fixed-position",
    }
)
"""Reasons beside those of suspicion that measuring again or looking again can settle."""

_ASKED: Final = {
    "view-not-stated": "from which side is it seen?",
    "readings-disagree": "is the wall so, or is a reading wrong?",
    "diagonals-disagree": "which of them is wrong?",
    "gap-too-large": "is that meant?",
    "layout-differs-from-survey": "which of the two is right?",
    "opener-in-fixed-position": "may it open there?",
}
"""What to ask after the message of a finding that offers no size."""


def questions_of(result: OrderResult) -> list[dict[str, Any]]:
    """The questions of one order, in its order.

    Args:
        result: what came of the order.
    Returns: for each question the surveyor, order and opening, place, reason, question and candidates.
    """
    surveyor = result.order.surveyor or NOBODY
    return [
        {
            "surveyor": surveyor,
            "order_ref": result.order.order_ref,
            "opening_ref": opening.sized.opening.opening_ref,
            "at": found.at,
            "reason": found.reason,
            "question": _question(found),
            "candidates": list(found.candidates),
        }
        for opening in result.openings
        for found in opening.findings
        if found.severity != NOTE and _is_for_the_surveyor(found)
    ]


def _is_for_the_surveyor(found: Finding) -> bool:
    page = REASONS.get(found.reason)
    weighed = page is not None and page.remedy == "{question}"
    return weighed or found.reason in _ANSWERABLE


def _question(found: Finding) -> str:
    """The finding as one sentence that can be answered; a weighed one brings its own."""
    if REASONS[found.reason].remedy == "{question}":
        return found.remedy or found.message
    ask = _ASKED.get(found.reason) or ("what is it?" if found.severity == REJECT else "is that so?")
    if found.candidates and found.reason not in _ASKED:
        offered = " or ".join(_shown(each) for each in found.candidates[:3])
        ask = f"is it {offered}?"
    return f"{found.message.rstrip('.')}: {ask}"


def _shown(candidate: float | int | str) -> str:
    return f'"{candidate}"' if isinstance(candidate, str) else f"{candidate:.12g} mm"


def questions_text(questions: Iterable[Mapping[str, Any]]) -> str:
    """The questions as a message to each surveyor, ready to send.

    Args:
        questions: as ``questions_of`` gives them, of any number of orders.
    """
    by_surveyor: dict[str, list[Mapping[str, Any]]] = {}
    for each in questions:
        by_surveyor.setdefault(each["surveyor"], []).append(each)
    lines: list[str] = []
    for surveyor, own in sorted(by_surveyor.items()):
        lines.append(f"{surveyor}: {len(own)} question{'s' * (len(own) != 1)}")
        for each in own:
            order, opening = each["order_ref"] or "no order reference", each["opening_ref"] or "no reference"
            lines.append(f"  {order}, {opening}: {each['question']}")
        lines.append("")
    return "\n".join(lines) if lines else "No question for any surveyor.\n"
