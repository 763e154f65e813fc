"""Read this first: the journey of one order, from its raw record to a decision.

A raw record comes from a door (``readers``) as nested text and numbers with its places. Here it is read
into an Order in our units (``normalise``), every size that its facts allow is worked out (``sizing``),
the rules judge it (``rules``), its survey is weighed beside the order's other openings
(``rules/suspicion``), answers that people have given settle queries, and the worst finding decides.
What leaves is an OrderResult; ``report`` gives it a form.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sawready.catalogue.load import Catalogue
from sawready.catalogue.profiles import ProfileSystem
from sawready.catalogue.rulebook import Rulebook
from sawready.model.finding import DECISIONS, NOTE, QUERY, REJECT, Decision, Finding, decision_of
from sawready.model.layout import reads_alike_turned
from sawready.model.order import Answer, Order
from sawready.normalise import CallerDefaults, ReadOpening, ReadOrder, read_order
from sawready.order_facts import OrderFacts, order_facts
from sawready.patterns import Known, Rows, are_references_apart, head_of
from sawready.rules import intake
from sawready.rules.registry import Hit, finding
from sawready.rules.run import NotApplied, apply_rules
from sawready.rules.suspicion import Weighed, weigh_order
from sawready.sizing import Sized, size_opening

__all__ = ["CallerDefaults", "OpeningResult", "OrderResult", "check_order", "check_rows"]


@dataclass(frozen=True, slots=True)
class OpeningResult:
    """What comes of one opening."""

    sized: Sized
    decision: Decision
    findings: tuple[Finding, ...]
    not_applied: tuple[NotApplied, ...]


@dataclass(frozen=True, slots=True)
class OrderResult:
    """What comes of an order; it takes its worst opening's decision."""

    order: Order
    system: ProfileSystem | None
    rulebook: Rulebook | None
    decision: Decision
    openings: tuple[OpeningResult, ...]


class _Judged(NamedTuple):
    """An opening after its rules, before its survey is weighed beside the others and answers count."""

    sized: Sized
    findings: list[Finding]
    not_applied: Sequence[NotApplied]


def check_order(
    raw: Any,
    *,
    catalogue: Catalogue,
    caller: CallerDefaults | None = None,
    problems: Sequence[Finding] = (),
) -> OrderResult:
    """Checks one order and works out its sizes.

    Args:
        raw: an object with ``openings``, a list of one or more; values are text, int or Decimal.
        catalogue: profile systems and rulebooks on file.
        caller: what the caller says for what the order leaves open.
        problems: what the door itself found; each stands with the opening it points at, or with all.
    Returns: the result; a faulty order is a result like any other and nothing is raised for it.
    Raises: ValueError for what is no order at all: no object, or one without a list of openings.
    """
    read = read_order(raw, catalogue=catalogue, caller=caller or CallerDefaults())
    shared = order_facts([opening.opening for opening in read.openings], read.order.site)
    judged = [_judge_opening(opening, read, shared, problems) for opening in read.openings]
    return _result(read, judged)


def check_rows(rows: Rows, *, catalogue: Catalogue, caller: CallerDefaults) -> OrderResult | None:
    """Checks an order of a sheet by the patterns of openings met before; the same as `check_order`, sooner.

    Args:
        rows: the order as rows of text.
        catalogue: profile systems and rulebooks on file.
        caller: what the caller says for what the order leaves open.
    Returns: what `check_order` gives for the nested form of the order; None for one that has to go that way.
    """
    head = head_of(rows, catalogue=catalogue, caller=caller)
    if head is None:
        return None
    order, reader, patterns = head.order, head.reader, head.patterns
    read = ReadOrder(order, reader.system, reader.rulebook)
    keys: list[Any] = []
    found: list[Known | ReadOpening] = []
    problems: dict[int, Sequence[Finding]] = {}

    def in_full(number: int) -> ReadOpening:
        record, problems[number] = rows.opening(number)
        return reader.opening(number, record, None)

    for number, texts in enumerate(rows.rows):
        key, known = patterns.known(number, texts)
        keys.append(key)
        found.append(known or in_full(number))
    openings = [each.opening for each in found]
    if not are_references_apart(openings):
        return None
    shared = order_facts(openings, order.site)
    judged: list[_Judged] = []
    for number, each in enumerate(found):
        if isinstance(each, Known):
            sized = each.sized(f"/openings/{number}", shared)
            if sized is not None:
                judged.append(_Judged(sized, *each.pattern.steps.apply(sized)))
                continue
        opening = in_full(number) if isinstance(each, Known) else each
        done = _judge_opening(opening, read, shared, problems[number])
        judged.append(done)
        if not problems[number]:
            patterns.learn(keys[number], opening, done.sized)
    return _result(read, judged)


def _result(read: ReadOrder, judged: Sequence[_Judged]) -> OrderResult:
    """What comes of an order whose openings have been judged one by one."""
    weighed = weigh_order(
        [each.sized for each in judged], [each.findings for each in judged], read.order.units
    )
    openings = tuple(
        [_decided(each, findings, read.order.answers) for each, findings in zip(judged, weighed, strict=True)]
    )
    worst = max([DECISIONS.index(opening.decision) for opening in openings])
    return OrderResult(read.order, read.system, read.rulebook, DECISIONS[worst], openings)


def _judge_opening(
    read: ReadOpening, of: ReadOrder, shared: OrderFacts, problems: Sequence[Finding]
) -> _Judged:
    sized = size_opening(
        read.opening,
        system=of.system,
        rulebook=of.rulebook,
        base=read.base,
        is_turned=read.is_turned,
        from_defaults=read.from_defaults,
        shared=shared,
    )
    findings = read.findings
    if problems:
        own = _own(problems, read.base)
        told = {problem.at for problem in own}
        # What the door left out because it is unclear is not missing besides.
        findings = [
            *own,
            *(found for found in findings if found.reason != "value-missing" or found.at not in told),
        ]
    if read.needs_view:
        _settle_view(sized, findings)
    found, not_applied = apply_rules(sized)
    return _Judged(sized, findings + found if findings else found, not_applied)


def _decided(judged: _Judged, weighed: Weighed, answers: Sequence[Answer]) -> OpeningResult:
    """The result of an opening: answers settle queries, and the worst finding decides."""
    sized, findings = judged.sized, weighed.findings
    if answers and findings:
        opening_ref = sized.opening.opening_ref
        findings = _answered(findings, answers, opening_ref)
        if weighed.replaced:
            back = _standing_again(weighed, findings)
            findings = [*findings, *_answered(back, answers, opening_ref)]
    decision = decision_of(findings) if findings else DECISIONS[0]
    if decision != "rejected" and (lacks := _not_worked_out(sized)) is not None:
        facts = {"field": lacks[0], "because": lacks[1]}
        hit = Hit(sized.base, facts, message="The {field} could not be worked out: {because}.")
        findings = [*findings, finding(intake.VALUE_MISSING, hit, base="")]
        decision = "rejected"
    return OpeningResult(sized, decision, tuple(findings), tuple(judged.not_applied))


def _standing_again(weighed: Weighed, answered: Sequence[Finding]) -> list[Finding]:
    """Findings whose place a suspect had taken that an answer has settled: the reading stands, and so do they.

    Args:
        weighed: the findings before answers, suspects first.
        answered: the same findings after them.
    """
    settled = [
        now.severity == NOTE and was.severity != NOTE
        for was, now, _ in zip(weighed.findings, answered, weighed.replaced, strict=False)
    ]
    explained = [taken for taken, is_settled in zip(weighed.replaced, settled, strict=True) if not is_settled]
    back: list[Finding] = []
    for taken, is_settled in zip(weighed.replaced, settled, strict=True):
        if is_settled:
            back += [
                each for each in taken if each not in back and not any(each in others for others in explained)
            ]
    return back


def _not_worked_out(sized: Sized) -> tuple[str, str] | None:
    """The first thing without which nothing may be cut, and why it is not there; None where all is.

    Every such lack has a finding of its own by now; this is the last bolt on the door.
    """
    missing, opening = sized.missing, sized.opening
    if sized.plan is None or sized.fixings is None:
        return "lights", missing.get("plan", "the frame has no size")
    if len(sized.glazed) != len(sized.plan.lights):
        return "glass", missing.get("glass", "the unit is not known")
    if sized.bead is None:
        return "beads", "no bead serves the unit"
    if opening.sill is not None and sized.sill_length_nm is None:
        return "sill", missing.get("sill_profile") or missing.get("sill") or "its length is not known"
    if opening.quantity is None or opening.opening_ref is None:
        return "opening", "it has no quantity or no reference"
    return None


def _own(problems: Sequence[Finding], base: str) -> list[Finding]:
    """The door's findings that concern an opening: its own, and those of the whole order."""
    return [
        problem
        for problem in problems
        if not problem.at.startswith("/openings/") or problem.at == base or problem.at.startswith(f"{base}/")
    ]


def _settle_view(sized: Sized, findings: list[Finding]) -> None:
    """Without a stated view, the opening must be the same seen from either side."""
    opening = sized.opening
    changing: list[str] = []
    width_nm = None if sized.width is None else sized.width.size_nm
    if opening.layout is not None and not reads_alike_turned(opening.layout, width_nm):
        changing.append("the layout")
    pairs: list[tuple[str, object, object]] = [
        ("the gaps", opening.own_gap_nm[0], opening.own_gap_nm[1]),
        ("the extenders", opening.extenders_nm[0], opening.extenders_nm[1]),
        ("the finishes to come", opening.to_come_nm[0], opening.to_come_nm[1]),
        ("the height readings", opening.heights_nm, opening.heights_nm[::-1]),
        ("the diagonals", opening.diagonals_nm, opening.diagonals_nm[::-1]),
    ]
    if opening.sill is not None:
        pairs.append(("the horns of the sill", opening.sill.horn_left_nm, opening.sill.horn_right_nm))
    changing.extend(name for name, one, other in pairs if one != other)
    if changing:
        because = changing[0] if len(changing) == 1 else f"{', '.join(changing[:-1])} and {changing[-1]}"
        findings.append(finding(intake.VIEW_NOT_STATED, Hit("/viewed_from", {"because": because}), base=""))


_CLOSE = 0.05
"""Half of the last digit of a reported length: an answer's value this near is the same. [mm]"""


def _answered(findings: list[Finding], answers: Sequence[Answer], opening_ref: str | None) -> list[Finding]:
    """The findings with settled queries turned to notes that say who answered."""
    mine = [answer for answer in answers if answer.opening_ref == opening_ref]
    return [_settled(found, mine) for found in findings] if mine else findings


def _settled(found: Finding, answers: Sequence[Answer]) -> Finding:
    about = [answer for answer in answers if answer.reason == found.reason]
    if not about or found.severity == NOTE:
        return found
    if found.severity == REJECT:
        by = about[-1].by
        return found.with_(
            message=f"{found.message} An answer by {by} does not settle this: it must not be cut."
        )
    measured = None if found.measured is None else found.measured.value
    for answer in reversed(about):
        same = (
            answer.measured is None
            if measured is None
            else (answer.measured is not None and abs(answer.measured - measured) <= _CLOSE)
        )
        if same:
            why = f": {answer.note.strip().rstrip('.')}" if answer.note else ""
            return found.with_(
                severity=NOTE, message=f"{found.message} Answered by {answer.by} on {answer.on}{why}."
            )
    last = about[-1]
    was = "no value" if last.measured is None else f"{last.measured:g}"
    now = "none" if measured is None else f"{measured:g}"
    assert found.severity == QUERY  # noqa: S101 - the other two are dealt with above
    return found.with_(
        message=f"{found.message} The answer by {last.by} on {last.on} was for {was}; the value is now {now}."
    )
