"""The frames arrive: may the old window come out?"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import orjson
import sqlalchemy as sa

from sawready.desk.arrival_checks import (
    CAUTION,
    Check,
    Taped,
    Verdict,
    glass_check,
    handing_check,
    other_frames,
    sill_check,
    size_check,
    worst_of,
)
from sawready.desk.arrival_figures import arrival_figures
from sawready.desk.caller import Caller
from sawready.desk.documents import read_back, written
from sawready.desk.finding_order import the_order
from sawready.desk.keeping import Desk
from sawready.desk.refusals import RefusedError, Why
from sawready.layouts import place_to_nm, read_layout
from sawready.lengths import Length, Refusal, read_length
from sawready.model.layout import Layout, turned
from sawready.model.shown import mm, plain
from sawready.pipeline import CallerDefaults, OpeningResult, OrderResult, check_order
from sawready.store import orders, trail
from sawready.store.clock import now
from sawready.store.orders import KeptOrder
from sawready.units import nm_per_unit

_LEAST_NM: Final = 1
_MOST_NM: Final = 20_000_000_000
_OPPOSITE: Final = {"left": "right", "right": "left"}


@dataclass(frozen=True, slots=True)
class Arrived:
    """What came of an arrival, as it is answered."""

    document: bytes


def arrive(
    desk: Desk,
    caller: Caller,
    order_ref: str,
    body: Mapping[str, Any],
    *,
    also: Callable[[sa.Connection, Arrived], None] | None = None,
) -> Arrived:
    """Judges a delivered frame against the survey, and keeps what was found.

    Args:
        desk: the desk.
        caller: who.
        order_ref: which order.
        body: what the fitter sends, see ``web.desk_schemas.ArrivalSchema``.
        also: further work of the same transaction.
    Raises: RefusedError for an opening that the order has not, and for lengths that cannot be read;
        StoreError.
    """
    taped = read_taped(body)

    def work(tx: sa.Connection) -> Arrived:
        order = the_order(tx, caller, order_ref, firm=caller.firm)
        upload = read_back(orders.newest(tx, order).document)
        ordered = check_order(
            upload.data, catalogue=desk.catalogue, caller=upload.caller, problems=upload.problems
        )
        document = judged(desk, order, upload.data, ordered, taped, body, upload.caller)
        at, by = now(), body["by"]
        arrived = Arrived(orjson.dumps({**document, "by": by, "at": at}))
        opening_ref, verdict = body["opening_ref"], document["may_old_window_come_out"]
        orders.insert_arrival(
            tx,
            order,
            revision_number=order.revision,
            opening_ref=opening_ref,
            verdict=verdict,
            taped=written(dict(body)),
            document=arrived.document,
            key_id=caller.key_id,
        )
        trail.note(
            tx,
            "frame-arrived",
            key_id=caller.key_id,
            firm=order.firm,
            order_id=order.order_id,
            revision=order.revision,
            opening_ref=opening_ref,
            verdict=verdict,
            by=by,
        )
        if also is not None:
            also(tx, arrived)
        return arrived

    return desk.store.write(work)


def judged(
    desk: Desk,
    order: KeptOrder,
    data: Mapping[str, Any],
    ordered: OrderResult,
    taped: Taped,
    body: Mapping[str, Any],
    caller_defaults: CallerDefaults,
) -> dict[str, Any]:
    """The verdict on one frame, as it is published.

    Args:
        desk: the desk.
        order: the order.
        data: the newest revision as it came.
        ordered: its check.
        taped: what the fitter found.
        body: the same as it was sent.
        caller_defaults: what the caller of that revision said for what it leaves open.
    Raises: RefusedError for an opening that the order has not, or has several times.
    """
    ref = body["opening_ref"]
    places = [number for number, each in enumerate(ordered.openings) if each.sized.opening.opening_ref == ref]
    if len(places) != 1:
        known = ", ".join(str(each.sized.opening.opening_ref) for each in ordered.openings[:20])
        count = "no opening" if not places else "several openings"
        raise _refused(f"The order has {count} of this name.", f"It has {known}.", "/opening_ref")
    result = ordered.openings[places[0]]
    figures = arrival_figures()
    has_sill = result.sized.opening.sill is not None
    if has_sill and taped.height_includes_sill is None:
        raise _refused(
            "A sill was ordered, so it has to be said whether the taped height includes it.",
            "State true or false.",
            "/height_includes_sill",
        )
    stood_in = _with_frame(data, places[0], taped, has_sill=has_sill, style=caller_defaults.number_style)
    checked = check_order(stood_in, catalogue=desk.catalogue, caller=caller_defaults).openings[places[0]]
    checks = [
        *_standing(order, ordered, result),
        size_check("width", checked, result.sized.width, figures),
        size_check("height", checked, result.sized.height, figures),
        handing_check(taped, result.sized.opening.layout),
        *(each for each in (sill_check(taped, result, figures), glass_check(taped, result, figures)) if each),
    ]
    verdict = worst_of(checks)
    others = [] if verdict == "yes" else [*other_frames(checked, ordered.openings, figures, but=ref)]
    return {
        "order_ref": order.order_ref,
        "revision": order.revision,
        "opening_ref": ref,
        "may_old_window_come_out": verdict,
        "checks": [check.as_dict() for check in checks],
        "same_size_as": others,
        "do": _do(verdict, checks, others),
        "caution": CAUTION,
    }


def _do(verdict: Verdict, checks: list[Check], others: list[str]) -> str:
    """What to do, in a sentence or two."""
    if verdict == "yes":
        return "The frame goes in. See to the caution first, then the old window may come out."
    first = next(check for check in checks if check.verdict == verdict)
    hint = f" It has the size of {', '.join(others)}." if others else ""
    return f"{first.do or 'Leave the old window in.'}{hint}"


def _standing(order: KeptOrder, ordered: OrderResult, result: OpeningResult) -> list[Check]:
    """Whether the order stands as it should for a frame that was made."""
    if result.decision == "rejected":
        found = next(each for each in result.findings if each.severity == "reject")
        return [
            Check(
                "release",
                "no",
                f"The opening is rejected as the order stands now: {found.message}",
                "Leave the old window in until the order is put right.",
            )
        ]
    if order.released_revision is None:
        return [
            Check(
                "release",
                "ask",
                f"No list of this order was released; it is {ordered.decision}.",
                "Ask the office where this frame comes from.",
            )
        ]
    if order.released_revision != order.revision:
        return [
            Check(
                "release",
                "ask",
                f"Revision {order.released_revision} was released, and a re-survey has come since "
                f"(revision {order.revision}). The frame is held against the newest survey.",
                "Ask the office which revision this frame was made for.",
            )
        ]
    return [Check("release", "yes", f"Revision {order.revision} was released, and is the newest.")]


def _with_frame(
    data: Mapping[str, Any], number: int, taped: Taped, *, has_sill: bool, style: str | None
) -> dict[str, Any]:
    """The order with the taped frame in the place of the ordered one."""
    sign = "," if (data.get("number_style") or style) == "eu" else "."

    def text(nm: int) -> str:
        return f"{plain(mm(nm), 6).replace('.', sign)} mm"

    frame: dict[str, Any] = {
        "width": text(taped.width_nm),
        "height": text(taped.height_nm),
        "height_includes_sill": bool(taped.height_includes_sill) if has_sill else False,
    }
    openings = list(data["openings"])
    openings[number] = {**openings[number], "frame": frame}
    return {**data, "openings": openings}


def read_taped(body: Mapping[str, Any]) -> Taped:
    """What the fitter found, in our units, seen from outside.

    Raises: RefusedError for a length or a layout that cannot be read, and for a side without its view.
    """
    units = body.get("units")
    width = _length(body["width"], units, "width")
    height = _length(body["height"], units, "height")
    sill = None if body.get("sill_length") is None else _length(body["sill_length"], units, "sill_length")
    view, hinge = body.get("viewed_from"), body.get("hinge")
    if (hinge is not None or body.get("layout") is not None) and view is None:
        raise _refused(
            "A hinge side or layout is stated without the view that it is seen from.",
            "State outside or inside.",
            "/viewed_from",
        )
    layout = None if body.get("layout") is None else _layout(body["layout"], units or "mm")
    if view == "inside":
        layout = None if layout is None else turned(layout)
        hinge = _OPPOSITE.get(hinge or "", hinge)
    return Taped(
        width_nm=width,
        height_nm=height,
        height_includes_sill=body.get("height_includes_sill"),
        layout=layout,
        hinge=hinge,
        sill_nm=sill,
        glass_mark=body.get("glass_mark"),
    )


def _length(value: Any, unit: str | None, name: str) -> int:
    read = read_length(value, unit=unit, least_nm=_LEAST_NM, most_nm=_MOST_NM)
    if isinstance(read, Length):
        return read.nm
    if isinstance(read, Refusal):
        raise RefusedError(
            "body-not-usable",
            f"The {name.replace('_', ' ')} cannot be used.",
            [Why(read.because, read.remedy or "State one size, such as 1200 mm.", read.reason, f"/{name}")],
        )
    raise _refused("It is empty.", "State one size, such as 1200 mm.", f"/{name}")


def _layout(written_layout: Any, units: str) -> Layout:
    def to_nm(place: Any) -> int:
        return place_to_nm(place, unit_nm=Fraction(nm_per_unit(units)))

    try:
        return read_layout(written_layout, to_nm)
    except ValueError as trouble:
        raise _refused(
            f"The layout cannot be read: {trouble}.", "Write it as in an order.", "/layout"
        ) from None


def _refused(detail: str, remedy: str, pointer: str) -> RefusedError:
    return RefusedError("body-not-usable", detail, [Why(detail, remedy, pointer=pointer)])
