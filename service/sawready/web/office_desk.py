"""From the office page to the order desk: how the orders of an upload stand there, and the button that keeps them.

The same desk functions as ``POST`` and ``PUT /v1/orders``, for the firm of the visitor's key. Answers that the
desk keeps count for every upload of an order of that name, so that nothing is asked twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from flask import g, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from sawready.desk.handing_in import HandedIn, Standing, hand_in, standings
from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.model.finding import Decision
from sawready.web.access import INSTALLER
from sawready.web.office_frame import blueprint, upload_of
from sawready.web.office_session import office, visitor
from sawready.web.office_upload import Check, Outcome, Upload
from sawready.web.office_view import MOST_SHOWN
from sawready.web.parts import parts
from sawready.web.problems import ProblemError
from sawready.web.requests import told
from sawready.web.views import desk

_NONE: Final = "none"
_MOST_CUT: Final = 500
_LOOK_AGAIN: Final = frozenset({"order-exists", "precondition-failed"})
"""Refusals of an order that stands otherwise than the page showed."""

_OUT_OF_REACH: Final = "The store cannot be used just now; of this order and those after it nothing was kept. Keep them once more."


@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order of the upload beside what the desk keeps.

    Attributes:
        number: of the order in its file, from 0.
        order_ref: what people call it.
        decision: its own.
        stands: how it stands at the desk, in words.
        became: what became of it when it was handed in, in words; empty where it was not.
        is_refused: whether that was a refusal.
        asks_what_is_cut: whether whoever keeps it has to say what is cut already.
    """

    number: int
    order_ref: str
    decision: Decision
    stands: str
    became: str
    is_refused: bool
    asks_what_is_cut: bool


@dataclass(frozen=True, slots=True)
class AtDesk:
    """What the page says of the desk.

    Attributes:
        lack: why orders cannot be kept by this visitor; empty where they can.
        rows: orders, the first of them.
        left_out: orders that are not shown.
        held: the state of each order that the visitor sees, for the form.
        todo: what keeping would do, in words; empty where there is nothing to do.
        said: what was done at last, in words; empty where nothing was.
        uses_answers: whether answers that the desk keeps count here.
        kept: numbers of the orders that the desk has as they are, with every answer.
    """

    lack: str
    rows: list[OrderRow]
    left_out: int
    held: str
    todo: str
    said: str
    uses_answers: bool
    kept: frozenset[int]


def checking(upload: Upload) -> Check:
    """The check of an upload, with the answers that the desk keeps for its orders."""
    return Check(
        upload,
        parts().catalogue,
        kept_answers=None if parts().desk is None else _kept_answers,
        on_trouble=lambda trouble: g.troubles.append(told(trouble)),
    )


def _kept_answers(order_ref: str | None) -> Sequence[dict[str, Any]]:
    return next((each.answers for each in standings(desk(), visitor(), [order_ref]).values()), ())


def _lack() -> str:
    if parts().desk is None:
        return (
            "This service keeps no orders; it was started without a store. Answers given here are asked for "
            "again at the next upload."
        )
    if not visitor().roles & INSTALLER.roles:
        roles = ", ".join(sorted(visitor().roles))
        return f"Orders are kept with a key of the role installer; yours has the role {roles}."
    return ""


def at_desk(upload: Upload, outcomes: Sequence[Outcome]) -> AtDesk:
    """How the orders of an upload stand at the desk, and what keeping them would do. Raises: StoreError."""
    lack = _lack()
    has_desk = parts().desk is not None
    refs = [each.result.order.order_ref for each in outcomes]
    stand = standings(desk(), visitor(), refs) if has_desk and visitor().roles & INSTALLER.roles else {}
    became = {each["order"]: each for each in upload.handed_in}
    counts = dict.fromkeys(("new", "to revise", "to add answers to", "kept already"), 0)
    rows: list[OrderRow] = []
    held: list[str] = []
    kept: set[int] = set()
    for each in outcomes:
        own = stand.get(each.result.order.order_ref or "")
        kind, words = _stands(upload, each, own)
        counts[kind] += 1
        if kind == "kept already":
            kept.add(each.number)
        if own is not None:
            held.append(f"{each.number}:{own.order.tag}")
        if len(rows) < MOST_SHOWN:
            was = became.get(each.number)
            is_cut_asked = own is not None and kind == "to revise" and own.order.released_revision is not None
            rows.append(
                OrderRow(
                    number=each.number,
                    order_ref=each.result.order.order_ref or "without a reference",
                    decision=each.result.decision,
                    stands=words,
                    became=was["words"] if was else "",
                    is_refused=bool(was and was["became"] in {"refused", "failed"}),
                    asks_what_is_cut=is_cut_asked,
                )
            )
    todo = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count)
    return AtDesk(
        lack=lack,
        rows=rows,
        left_out=len(outcomes) - len(rows),
        held=" ".join(held),
        todo="" if lack or len(kept) == len(outcomes) else todo,
        said=_said(upload),
        uses_answers=any(own.answers for own in stand.values()),
        kept=frozenset(kept),
    )


def _stands(upload: Upload, outcome: Outcome, own: Standing | None) -> tuple[str, str]:
    """What keeping an order would do, and how it stands, in words."""
    if own is None:
        return "new", "not kept yet"
    order = own.order
    words = f"kept as revision {order.revision} since {order.changed_at[:10]}"
    if order.released_revision is not None:
        words += f", revision {order.released_revision} is released to the saw"
    if not own.is_same(outcome.raw, upload.defaults):
        return "to revise", f"{words}; this sheet differs and would revise it"
    lacking = len(own.lacks(upload.answers_of(outcome.number)))
    if lacking:
        return "to add answers to", f"{words}; {lacking} answer{'s' * (lacking > 1)} given here not kept yet"
    return "kept already", f"{words}; this is the same sheet"


def _said(upload: Upload) -> str:
    """What was done at last, counted."""
    names = {
        "kept": "new",
        "revised": "revised",
        "unchanged": "kept already",
        "refused": "refused",
        "failed": "not kept, as the store cannot be used",
    }
    counts = {
        words: sum(each["became"] == name for each in upload.handed_in) for name, words in names.items()
    }
    return ", ".join(f"{count} {words}" for words, count in counts.items() if count)


@blueprint.post("/office/<string:token>/desk")
def keep_orders(token: str) -> AnyResponse:
    """Keeps the orders of an upload at the desk, for the firm of the visitor's key."""
    upload = upload_of(token)
    lack = _lack()
    if lack:
        raise ProblemError("forbidden" if parts().desk is not None else "not-found", lack)
    held = _held(request.form.get("held", ""))
    done: list[dict[str, Any]] = []
    for each in Check(upload, parts().catalogue).outcomes():
        if not isinstance(each, Outcome):
            continue
        try:
            handed = _hand_in(upload, each, held.get(each.number), _cut(each.number))
        except StoreError as trouble:
            g.troubles.append(told(trouble.__cause__ or trouble))
            done.append({"order": each.number, "became": "failed", "words": _OUT_OF_REACH})
            break
        done.append({"order": each.number, "became": handed.became, "words": _words(handed)})
    office().shelf.put("upload", replace(upload, handed_in=tuple(done)).packed(), token)
    return redirect(url_for("office.show_result", token=token, _anchor="kept"), 303)


def _hand_in(upload: Upload, outcome: Outcome, tag: str | None, cut: tuple[str, ...] | None) -> HandedIn:
    return hand_in(
        desk(),
        visitor(),
        outcome.raw,
        upload.defaults,
        order_ref=outcome.result.order.order_ref,
        tag=tag,
        answers=upload.answers_of(outcome.number),
        already_cut=cut,
    )


def keep_answer(upload: Upload, number: int) -> None:
    """Keeps the answers to an order at once where the desk has the very sheet; elsewhere the button does.

    Args:
        upload: with the answer in it.
        number: of the order in its file, from 0.
    """
    if _lack():
        return
    for each in Check(upload, parts().catalogue).outcomes(only=number):
        if not isinstance(each, Outcome):
            continue
        own = next(iter(standings(desk(), visitor(), [each.result.order.order_ref]).values()), None)
        if own is not None and own.is_same(each.raw, upload.defaults):
            _hand_in(upload, each, own.order.tag, None)


def _held(text: str) -> dict[int, str]:
    """The state of each order that the visitor saw; what is no such is passed over, so that it is refused."""
    held: dict[int, str] = {}
    for part in text.split():
        number, _, tag = part.partition(":")
        if number.isascii() and number.isdigit() and len(number) < 9:
            held[int(number)] = tag
    return held


def _cut(number: int) -> tuple[str, ...] | None:
    """The openings that are said to be cut already; None where nothing is said."""
    text = request.form.get(f"cut-{number}", "").strip()
    if not text:
        return None
    if text.casefold() == _NONE:
        return ()
    names = [part.strip() for part in text.split(",") if part.strip()]
    return tuple(dict.fromkeys(names))[:_MOST_CUT]


def _words(handed: HandedIn) -> str:
    """What became of an order, in words."""
    order, before = handed.order, handed.before
    answered = ""
    if handed.answered:
        answered = f"; {handed.answered} answer{'s' * (handed.answered > 1)} kept with it"
    refusal = "" if handed.refusal is None else _refusal(handed.refusal)
    if order is None:
        return f"Refused: {refusal}"
    if refusal:
        answered += f"; an answer was refused: {refusal}"
    if handed.became == "kept":
        words = f"Kept as revision {order.revision}"
    elif before is not None:
        words = (
            f"Revised: revision {before.revision} ({before.digest[7:15]}) became revision {order.revision}"
        )
        words += f" ({order.digest[7:15]})"
    else:
        words = f"The same sheet as is kept, revision {order.revision}"
    return f"{words}{answered}."


def _refusal(refused: RefusedError) -> str:
    """Why something was refused, and what to do about it on this page."""
    if refused.name in _LOOK_AGAIN:
        return f"{refused.detail} See how it stands now, and keep this one again if it is to take its place."
    parts = [refused.detail]
    for why in refused.whys:
        parts.extend(part for part in (why.detail, why.remedy) if part and part not in refused.detail)
    return " ".join(parts)
