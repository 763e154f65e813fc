"""The published form of a result: JSON with every key present, and its digest.

The digest is the SHA-256 of the result as written (UTF-8, no blanks between members, keys in schema
order) with the member ``digest`` and every ``cell`` left out, so that it is the same for an order that
came as JSON and as a sheet.
"""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from typing import Any, Final

import orjson

from sawready.calc.fit import AxisFit
from sawready.calc.fixing import Holes
from sawready.calc.plan import NM, Plan
from sawready.model.finding import Cell, Finding
from sawready.model.shown import mm, plain, shown
from sawready.pipeline import OpeningResult, OrderResult
from sawready.report.plan_json import (
    Texts,
    length_texts,
    made_template,
    numbers_of,
    quoted,
    steel_levels,
    tenths,
)
from sawready.rules.run import NotApplied
from sawready.sizing import Sized
from sawready.version import VERSION

CellOf = Callable[[str], Cell | None]
"""Finds the cell of a pointer in the sheet that the order came from."""


def result_bytes(result: OrderResult, *, cell_of: CellOf | None = None) -> bytes:
    """The published result as one line of JSON without its line end.

    Args:
        result: the result.
        cell_of: finds the cell of a pointer; None for an order that came as JSON.
    """
    return _written(result, cell_of)[0]


def result_dict(result: OrderResult, *, cell_of: CellOf | None = None) -> dict[str, Any]:
    """The published result as an object."""
    loaded: dict[str, Any] = orjson.loads(_written(result, cell_of)[0])
    return loaded


def digest_of(result: OrderResult) -> str:
    """The digest, ``sha256:`` and 64 hexadecimal digits."""
    return _written(result, None)[1]


def unreadable_bytes(found: Finding) -> bytes:
    """The published result of a row or order that could not be read at all: one rejected opening.

    Args:
        found: the finding that says what could not be read and where.
    """
    body: dict[str, Any] = {
        "opening_ref": None,
        "quantity": None,
        "decision": "rejected",
        "findings": [],
        "not_applied": [],
        "readings_mm": {"widths": [], "heights": [], "diagonals": []},
        "frame": None,
        "clearance": None,
        "sill": None,
        "lights": [],
        "pieces": [],
        "beads": [],
        "glass": [],
        "fixings": None,
    }
    made_with = {"sawready": VERSION, "system": None, "rulebook": None}
    result: dict[str, Any] = {
        "order_ref": None,
        "decision": "rejected",
        "made_with": made_with,
        "openings": [body],
    }
    bare = found.as_dict()
    del bare["cell"]
    body["findings"] = [bare]
    digest = f"sha256:{hashlib.sha256(orjson.dumps(result)).hexdigest()}"
    body["findings"] = [found.as_dict()]
    return orjson.dumps(
        {
            "order_ref": None,
            "decision": "rejected",
            "digest": digest,
            "made_with": made_with,
            "openings": [body],
        }
    )


def _written(result: OrderResult, cell_of: CellOf | None) -> tuple[bytes, str]:
    made_with = {
        "sawready": VERSION,
        "system": None if result.system is None else result.system.reference,
        "rulebook": None if result.rulebook is None else result.rulebook.reference,
    }
    head = b'{"order_ref":%b,"decision":"%b"' % (
        orjson.dumps(result.order.order_ref),
        result.decision.encode("ascii"),
    )
    made = b',"made_with":%b,"openings":[' % orjson.dumps(made_with)
    # What is published and what the digest is of differ only in the cells of findings.
    judged: list[bytes] = []
    placed: list[bytes] = []
    for opening in result.openings:
        start, end = _opening(opening)
        if opening.findings:
            bare, celled = _findings(opening.findings, cell_of)
            judged.append(start + bare + end)
            placed.append(start + celled + end)
        else:
            written = b"%b[]%b" % (start, end)
            judged.append(written)
            placed.append(written)
    hashed = b"%b%b%b]}" % (head, made, b",".join(judged))
    digest = f"sha256:{hashlib.sha256(hashed).hexdigest()}"
    line = b'%b,"digest":"%b"%b%b]}' % (head, digest.encode("ascii"), made, b",".join(placed))
    return line, digest


_AFTER_PLACE: Final = b',"message":'
"""Stands once in a finding: inside a text its quotes are escaped."""


def _findings(findings: Iterable[Finding], cell_of: CellOf | None) -> tuple[bytes, bytes]:
    """Findings without their cells, for the digest, and with them."""
    bare: list[bytes] = []
    celled: list[bytes] = []
    for found in findings:
        members = found.as_dict()
        cell = members.pop("cell")
        if cell_of is not None:
            place = cell_of(found.at)
            cell = None if place is None else place.as_dict()
        written = orjson.dumps(members)
        bare.append(written)
        before, mark, after = written.partition(_AFTER_PLACE)
        celled.append(b'%b,"cell":%b%b%b' % (before, orjson.dumps(cell), mark, after))
    return b"[%b]" % b",".join(bare), b"[%b]" % b",".join(celled)


_DECISION: Final = {
    decision: f',"decision":"{decision}","findings":'.encode()
    for decision in ("accepted", "queried", "rejected")
}
_NOTHING: Final = b',"sill":null,"lights":[],"pieces":[],"beads":[],"glass":[],"fixings":null}'


def _opening(result: OpeningResult) -> tuple[bytes, bytes]:
    """The published form of an opening: the text before its findings, and the text after."""
    sized = result.sized
    opening = sized.opening
    start = b'{"opening_ref":%b,"quantity":%b%b' % (
        orjson.dumps(opening.opening_ref),
        b"null" if opening.quantity is None else b"%d" % opening.quantity,
        _DECISION[result.decision],
    )
    exact = _EXACT.__getitem__
    end = (
        b',"not_applied":[%b],"readings_mm":{"widths":[%b],"heights":[%b],"diagonals":[%b]},"frame":%b,"clearance":%b'
        % (
            _not_applied(result.not_applied),
            b",".join(map(exact, opening.widths_nm)),
            b",".join(map(exact, opening.heights_nm)),
            b",".join(map(exact, opening.diagonals_nm)),
            _frame(sized),
            _clearance(sized),
        )
    )
    plan = sized.plan
    if result.decision == "rejected" or plan is None:
        return start, end + _NOTHING
    return start, b'%b,"sill":%b%b,"fixings":%b}' % (
        end,
        _sill(sized),
        _made(sized, plan),
        _fixings(sized, plan),
    )


_NOT_APPLIED: Final[dict[tuple[str, str], bytes]] = {}
_MOST_KEPT: Final = 4096


_LISTS: Final[dict[int, tuple[Sequence[NotApplied], bytes]]] = {}
"""Text of a list by the identity of its object, which is kept with it; openings of a pattern share theirs."""


def _not_applied(checks: Sequence[NotApplied]) -> bytes:
    known = _LISTS.get(id(checks))
    if known is not None and known[0] is checks:
        return known[1]
    text = _not_applied_text(checks)
    if type(checks) is tuple and len(_LISTS) < _MOST_KEPT:
        _LISTS[id(checks)] = checks, text
    return text


def _not_applied_text(checks: Sequence[NotApplied]) -> bytes:
    texts = []
    for check in checks:
        key = (check.reason, check.because)
        text = _NOT_APPLIED.get(key)
        if text is None:
            text = orjson.dumps(check.as_dict())
            if len(_NOT_APPLIED) < _MOST_KEPT:
                _NOT_APPLIED[key] = text
        texts.append(text)
    return b",".join(texts)


def _exact_text(nm: int | None) -> str:
    """Millimetres, unrounded, as JSON writes them."""
    if nm is None:
        return "null"
    return f"{nm // NM}.0" if not nm % NM else repr(nm / NM)


def _mm_text(nm: int) -> str:
    """Millimetres in a sum, to a ten-thousandth, without idle noughts."""
    return str(nm // NM) if not nm % NM else plain(Fraction(nm, NM), 4)


_EXACT: Final[Texts[int | None]] = Texts(_exact_text)
_SUM: Final[Texts[int]] = Texts(_mm_text)
_WHOLE: Final = length_texts(1)
_HALVES: Final = length_texts(2)


def _mm(nm: int) -> str:
    return _SUM[nm].decode("ascii")


def _frame(sized: Sized) -> bytes:
    width, height = sized.width, sized.height
    if width is None and height is None:
        return b"null"
    return b'{"width_mm":%b,"height_mm":%b,"working":{"width":%b,"height":%b}}' % (
        b"null" if width is None else _WHOLE[width.size_nm],
        b"null" if height is None else _WHOLE[height.size_nm],
        b"null" if width is None else b'"%b"' % _worked(width, ("left", "right")),
        b"null" if height is None else b'"%b"' % _worked(height, ("top", "bottom")),
    )


_NO_EXTENDERS: Final = (0, 0)


def _worked(fit: AxisFit, ends: tuple[str, str]) -> bytes:
    """The sum that leads to a frame size, as a fitter can follow it with a phone.

    Example: ``1260 (least of 1262, 1260, 1261) - 5 - 5 - 30 (sill)``.
    """
    gap = fit.gap_nm
    whole = fit.least_nm - gap[0] - gap[1] - fit.taken_nm
    if (
        fit.lean_numerator
        or fit.finishes_nm
        or fit.extender_nm != _NO_EXTENDERS
        or whole != fit.worked_nm
        or len(fit.readings_nm) == 1
    ):
        return _worked_in_full(fit, ends, whole).encode("ascii")
    # The usual sum: nothing comes off but gaps and sill.
    text = b"%b (least of %b)%b" % (
        _SUM[fit.least_nm],
        b", ".join(map(_SUM.__getitem__, fit.readings_nm)),
        _OFF[gap[0], gap[1], fit.upstand_nm],
    )
    if fit.stated_nm is not None and fit.stated_nm != fit.worked_nm:
        text += b"; %b is stated" % _SUM[fit.stated_nm]
    return text


def _off(taken_nm: tuple[int, int, int]) -> str:
    """What comes off a reading in the usual sum: two gaps and a sill."""
    first, second, upstand = taken_nm
    sill = f" - {_mm(upstand)} (sill)" if upstand else ""
    return f" - {_mm(first)} - {_mm(second)}{sill}"


_OFF: Final[Texts[tuple[int, int, int]]] = Texts(_off)


def _worked_in_full(fit: AxisFit, ends: tuple[str, str], whole: int) -> str:
    readings = [_mm(reading) for reading in fit.readings_nm]
    off = f", finishes of {_mm(fit.finishes_nm)} off" if fit.finishes_nm else ""
    which = f"least of {', '.join(readings)}" if len(readings) > 1 else "the only reading"
    text = f"{_mm(fit.least_nm)} ({which}{off})"
    if fit.lean_numerator:
        text += f" - {shown(mm(Fraction(fit.lean_numerator, fit.lean_denominator)))} (lean)"
    text += f" - {_mm(fit.gap_nm[0])} - {_mm(fit.gap_nm[1])}"
    for extender, end in zip(fit.extender_nm, ends, strict=True):
        if extender:
            text += f" - {_mm(extender)} ({end} extender)"
    if fit.upstand_nm:
        text += f" - {_mm(fit.upstand_nm)} (sill)"
    if fit.lean_numerator or whole != fit.worked_nm:
        exact = mm(whole - Fraction(fit.lean_numerator, fit.lean_denominator))
        text += f" = {plain(exact, 2)}, down to {_mm(fit.worked_nm)}"
    if fit.stated_nm is not None and fit.stated_nm != fit.worked_nm:
        text += f"; {_mm(fit.stated_nm)} is stated"
    return text


def _clearance(sized: Sized) -> bytes:
    if sized.width is None and sized.height is None:
        return b"null"
    return b'{"left_mm":%b,"right_mm":%b,"top_mm":%b,"bottom_mm":%b}' % (
        *_pair(sized.width),
        *_pair(sized.height),
    )


def _pair(fit: AxisFit | None) -> tuple[bytes, bytes]:
    if fit is None:
        return b"null", b"null"
    if not fit.lean_numerator:
        # The usual case, in halves of a nanometre: what is left over is shared by the two sides.
        room = fit.least_nm - fit.size_nm - fit.taken_nm
        if fit.stated_nm is not None:
            both = _HALVES[room]
            return both, both
        gap = fit.gap_nm
        room -= gap[0] + gap[1]
        return _HALVES[2 * gap[0] + room], _HALVES[2 * gap[1] + room]
    first, second, over = fit.clearance
    if over == 2:
        return _HALVES[first], _HALVES[second]
    return repr(tenths(first, over)).encode("ascii"), repr(tenths(second, over)).encode("ascii")


def _sill(sized: Sized) -> bytes:
    if sized.sill is None or sized.sill_length_nm is None:
        return b"null"
    return b'{"profile":%b,"length_mm":%b}' % (quoted(sized.sill.name), _WHOLE[sized.sill_length_nm])


def _made(sized: Sized, plan: Plan) -> bytes:
    """Lights, pieces, beads and glass."""
    values, glass = sized.values, sized.opening.glass
    texts = numbers_of(plan).texts(values)
    safeties = []
    for (width, height), glass_kg, sash_kg, safety in sized.glazed:
        texts += (
            b"%d" % width,
            b"%d" % height,
            b"%a" % round(glass_kg, 2),
            b"null" if sash_kg is None else b"%a" % round(sash_kg, 2),
        )
        safeties.append(safety.encode("ascii"))
    texts.append(b"" if glass is None else quoted(glass.text))
    texts += safeties
    texts.append(_further(sized))
    fitted = tuple([values[finished] >= level for finished, level in steel_levels(plan)])
    return made_template(plan, fitted).filled(texts)


def _further(sized: Sized) -> bytes:
    """Extenders and sill, each with a comma before it."""
    return b"".join(
        [
            b',{"part":"%b","profile":%b,"length_mm":%b,"ends":"90/90","light":null,"working":"%b"}'
            % (part.encode("ascii"), quoted(profile), _WHOLE[length_nm], working.encode("ascii"))
            for part, profile, length_nm, working in extra_pieces(sized)
        ]
    )


def extra_pieces(sized: Sized) -> list[tuple[str, str, int, str]]:
    """Extenders and sill, which are cut square: part, profile, length in nanometres, working."""
    found: list[tuple[str, str, int, str]] = []
    if any(sized.opening.extenders_nm):
        found += _extenders(sized)
    if sized.sill is not None and sized.sill_length_nm is not None:
        found.append(("sill", sized.sill.name, sized.sill_length_nm, _sill_working(sized)))
    return found


def _extenders(sized: Sized) -> list[tuple[str, str, int, str]]:
    system, width, height = sized.system, sized.width, sized.height
    assert system is not None  # noqa: S101 - a plan needs it
    assert system.extender is not None  # noqa: S101 - an unknown extender is rejected
    assert width is not None  # noqa: S101 - a plan needs it
    assert height is not None  # noqa: S101 - a plan needs it
    left, right, top, bottom = sized.opening.extenders_nm
    upright = height.size_nm + top + bottom
    upright_working = _mm(height.size_nm) + "".join(
        f" + {_mm(each)} ({side} extender)" for each, side in ((top, "top"), (bottom, "bottom")) if each
    )
    rows = (
        ("extender-top", top, width.size_nm, _mm(width.size_nm)),
        ("extender-bottom", bottom, width.size_nm, _mm(width.size_nm)),
        ("extender-left", left, upright, upright_working),
        ("extender-right", right, upright, upright_working),
    )
    return [
        (part, f"{system.extender.name}-{_mm(size)}", length, working)
        for part, size, length, working in rows
        if size
    ]


def _sill_working(sized: Sized) -> str:
    opening, sill, width = sized.opening, sized.opening.sill, sized.width
    assert sill is not None  # noqa: S101 - its length is known
    assert width is not None  # noqa: S101 - its length is known
    if sill.fit == "between_reveals":
        text = f"{_mm(width.size_nm)} (frame)"
        for extender in opening.extenders_nm[:2]:
            if extender:
                text += f" + {_mm(extender)}"
        return text
    name = "bottom reading" if len(width.readings_nm) > 1 else "the only reading"
    off = ", finishes off" if width.finishes_nm else ""
    horns = f" + {_mm(sill.horn_left_nm or 0)} + {_mm(sill.horn_right_nm or 0)}"
    return f"{_mm(width.readings_nm[-1])} ({name}{off}){horns}"


def _fixings(sized: Sized, plan: Plan) -> bytes:
    fixings, over = sized.fixings, plan.denominator
    if fixings is None:
        return b"null"
    left, right, top, bottom = fixings
    on_left, on_top = _holes(left, over), _holes(top, over)
    return b'{"left":%b,"right":%b,"top":%b,"bottom":%b}' % (
        on_left,
        on_left if right is left else _holes(right, over),
        on_top,
        on_top if bottom is top else _holes(bottom, over),
    )


_HOLES: Final[dict[tuple[Holes, int], bytes]] = {}
"""Text of holes by their object; the same side gives the same object."""


def _holes(holes: Holes | None, over: int) -> bytes:
    if holes is None:
        return b"[]"
    text = _HOLES.get((holes, over))
    if text is None:
        places = [repr(tenths(place.numerator, over * place.denominator)) for place in holes.at]
        text = f"[{','.join(places)}]".encode("ascii")
        if len(_HOLES) >= _MOST_HOLES:
            _HOLES.clear()
        _HOLES[holes, over] = text
    return text


_MOST_HOLES: Final = 4_096
