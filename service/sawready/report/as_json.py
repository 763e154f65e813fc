"""The published form of a result: JSON with every key present, and its digest.

The digest is the SHA-256 of the result as written (UTF-8, no blanks between members, keys in schema
order) with the member ``digest`` and every ``cell`` left out, so that it is the same for an order that
came as JSON and as a sheet.
"""

import hashlib
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any

import orjson

from sawready.calc.fit import AxisFit
from sawready.calc.fixing import Holes
from sawready.calc.plan import NM, Plan
from sawready.model.finding import Cell, Finding
from sawready.model.shown import mm, plain, shown
from sawready.pipeline import OpeningResult, OrderResult
from sawready.report.plan_json import (
    bead_template,
    lights_template,
    piece_template,
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
    hashed = hashlib.sha256(head + made)
    final: list[bytes] = []
    for number, opening in enumerate(result.openings):
        start, end = _opening(opening)
        if opening.findings:
            bare = [finding.as_dict() for finding in opening.findings]
            for each in bare:
                del each["cell"]
            placed = [
                (finding if cell_of is None else finding.with_(cell=cell_of(finding.at))).as_dict()
                for finding in opening.findings
            ]
            judged, written = start + orjson.dumps(bare) + end, start + orjson.dumps(placed) + end
        else:
            judged = written = b"%b[]%b" % (start, end)
        hashed.update(b"," + judged if number else judged)
        final.append(written)
    hashed.update(b"]}")
    digest = f"sha256:{hashed.hexdigest()}"
    line = b'%b,"digest":"%b"%b%b]}' % (head, digest.encode("ascii"), made, b",".join(final))
    return line, digest


def _opening(result: OpeningResult) -> tuple[bytes, bytes]:
    """The published form of an opening: the text before its findings, and the text after."""
    sized = result.sized
    opening = sized.opening
    start = b'{"opening_ref":%b,"quantity":%b,"decision":"%b","findings":' % (
        orjson.dumps(opening.opening_ref),
        b"null" if opening.quantity is None else b"%d" % opening.quantity,
        result.decision.encode("ascii"),
    )
    widths, heights, diagonals = (
        _readings(readings) for readings in (opening.widths_nm, opening.heights_nm, opening.diagonals_nm)
    )
    text = (
        f',"not_applied":{_not_applied(result.not_applied)}'
        f',"readings_mm":{{"widths":{widths},"heights":{heights},"diagonals":{diagonals}}}'
        f',"frame":{_frame(sized)},"clearance":{_clearance(sized)}'
    )
    if result.decision == "rejected" or sized.plan is None:
        text += ',"sill":null,"lights":[],"pieces":[],"beads":[],"glass":[],"fixings":null}'
    else:
        plan = sized.plan
        beads = bead_template(plan).filled(sized.values, plan.denominator)
        text += (
            f',"sill":{_sill(sized)},"lights":[{_lights(sized, plan)}]'
            f',"pieces":[{_pieces(sized, plan)}],"beads":[{beads}]'
            f',"glass":[{_glass(sized)}],"fixings":{_fixings(sized, plan)}}}'
        )
    return start, text.encode()


def _not_applied(checks: Sequence[NotApplied]) -> str:
    return orjson.dumps([each.as_dict() for each in checks]).decode() if checks else "[]"


@lru_cache(maxsize=65536)
def _exact(nm: int) -> str:
    """Millimetres, unrounded, as JSON writes them."""
    return f"{nm // NM}.0" if not nm % NM else repr(nm / NM)


def _readings(readings: Sequence[int | None]) -> str:
    return f"[{','.join(['null' if reading is None else _exact(reading) for reading in readings])}]"


def _frame(sized: Sized) -> str:
    width, height = sized.width, sized.height
    if width is None and height is None:
        return "null"
    width_mm, height_mm = ("null" if fit is None else repr(tenths(fit.size_nm, 1)) for fit in (width, height))
    across = "null" if width is None else f'"{_worked(width, ("left", "right"))}"'
    upright = "null" if height is None else f'"{_worked(height, ("top", "bottom"))}"'
    return (
        f'{{"width_mm":{width_mm},"height_mm":{height_mm},"working":{{"width":{across},"height":{upright}}}}}'
    )


@lru_cache(maxsize=65536)
def _mm(nm: int) -> str:
    """Millimetres in a sum, to a ten-thousandth, without idle noughts."""
    return str(nm // NM) if not nm % NM else plain(Fraction(nm, NM), 4)


def _worked(fit: AxisFit, ends: tuple[str, str]) -> str:
    """The sum that leads to a frame size, as a fitter can follow it with a phone.

    Example: ``1260 (least of 1262, 1260, 1261) - 5 - 5 - 30 (sill)``.
    """
    readings = [_mm(reading) for reading in fit.readings_nm]
    off = f", finishes of {_mm(fit.finishes_nm)} off" if fit.finishes_nm else ""
    which = f"least of {', '.join(readings)}" if len(readings) > 1 else "the only reading"
    text = f"{_mm(fit.least_nm)} ({which}{off})"
    whole = fit.least_nm - fit.gap_nm[0] - fit.gap_nm[1] - fit.taken_nm
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


def _clearance(sized: Sized) -> str:
    if sized.width is None and sized.height is None:
        return "null"
    left, right = _pair(sized.width)
    top, bottom = _pair(sized.height)
    return f'{{"left_mm":{left},"right_mm":{right},"top_mm":{top},"bottom_mm":{bottom}}}'


def _pair(fit: AxisFit | None) -> tuple[str, str]:
    if fit is None:
        return "null", "null"
    first, second, over = fit.clearance
    return repr(tenths(first, over)), repr(tenths(second, over))


def _sill(sized: Sized) -> str:
    if sized.sill is None or sized.sill_length_nm is None:
        return "null"
    return f'{{"profile":{_quoted(sized.sill.name)},"length_mm":{tenths(sized.sill_length_nm, 1)!r}}}'


def _quoted(text: str) -> str:
    return orjson.dumps(text).decode()


def _lights(sized: Sized, plan: Plan) -> str:
    masses: list[object] = []
    for glazed in sized.glazed:
        sash_kg = glazed.sash_kg
        masses += (
            *glazed.glass_mm,
            repr(round(glazed.glass_kg, 2)),
            "null" if sash_kg is None else repr(round(sash_kg, 2)),
        )
    return lights_template(plan).filled(sized.values, plan.denominator) % tuple(masses)


def _pieces(sized: Sized, plan: Plan) -> str:
    text = piece_template(plan, sized.values).filled(sized.values, plan.denominator)
    for part, profile, length_nm, working in extra_pieces(sized):
        text += (
            f',{{"part":"{part}","profile":{_quoted(profile)},"length_mm":{tenths(length_nm, 1)!r},"ends":"90/90",'
            f'"light":null,"working":"{working}"}}'
        )
    return text


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


def _glass(sized: Sized) -> str:
    glass = sized.opening.glass
    assert glass is not None  # noqa: S101 - an opening without glass is rejected
    unit = _quoted(glass.text)
    return ",".join(
        [
            f'{{"width_mm":{glazed.glass_mm[0]},"height_mm":{glazed.glass_mm[1]},"unit":{unit},'
            f'"safety":"{glazed.safety}","kg":{round(glazed.glass_kg, 2)!r},"light":{number}}}'
            for number, glazed in enumerate(sized.glazed)
        ]
    )


def _fixings(sized: Sized, plan: Plan) -> str:
    fixings, over = sized.fixings, plan.denominator
    assert fixings is not None  # noqa: S101 - an opening without fixings is rejected
    left, right, top, bottom = (
        "[]" if side is None else _holes(side, over)
        for side in (fixings.left, fixings.right, fixings.top, fixings.bottom)
    )
    return f'{{"left":{left},"right":{right},"top":{top},"bottom":{bottom}}}'


@lru_cache(maxsize=16384)
def _holes(holes: Holes, over: int) -> str:
    places = [repr(tenths(place.numerator, over * place.denominator)) for place in holes.at]
    return f"[{','.join(places)}]"
