"""The published form of a result: JSON with every key present, and its digest.

The digest is the SHA-256 of the result as written (UTF-8, no blanks between members, keys in schema
order) with the member ``digest`` and every ``cell`` left out, so that it is the same for an order that
came as JSON and as a sheet.
"""

import hashlib
from collections.abc import Callable
from fractions import Fraction
from typing import Any, Final

import orjson

from sawready.calc.fit import AxisFit
from sawready.calc.fixing import Holes
from sawready.calc.plan import NM, Working
from sawready.model.finding import Cell, Finding
from sawready.model.shown import mm, plain, shown
from sawready.pipeline import OpeningResult, OrderResult
from sawready.sizing import Sized
from sawready.version import VERSION

CellOf = Callable[[str], Cell | None]
"""Finds the cell of a pointer in the sheet that the order came from."""

_TENTH: Final = 100_000
"""Nanometres in a tenth of a millimetre."""


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
    result: dict[str, Any] = {"order_ref": None, "decision": "rejected", "made_with": made_with, "openings": [body]}
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
    bodies = [_opening(opening) for opening in result.openings]
    hashed = hashlib.sha256(head + made)
    final: list[bytes] = []
    for number, (opening, body) in enumerate(zip(result.openings, bodies, strict=True)):
        if number:
            hashed.update(b",")
        if not opening.findings:
            written = orjson.dumps(body)
            hashed.update(written)
        else:
            found = [finding.as_dict() for finding in opening.findings]
            for each in found:
                del each["cell"]
            body["findings"] = found
            hashed.update(orjson.dumps(body))
            body["findings"] = [
                (finding if cell_of is None else finding.with_(cell=cell_of(finding.at))).as_dict()
                for finding in opening.findings
            ]
            written = orjson.dumps(body)
        final.append(written)
    hashed.update(b"]}")
    digest = f"sha256:{hashed.hexdigest()}"
    line = b'%b,"digest":"%b"%b%b]}' % (head, digest.encode("ascii"), made, b",".join(final))
    return line, digest


def _opening(result: OpeningResult) -> dict[str, Any]:
    """The published form of an opening, findings left for the caller."""
    sized = result.sized
    opening = sized.opening
    is_cut = result.decision != "rejected"
    return {
        "opening_ref": opening.opening_ref,
        "quantity": opening.quantity,
        "decision": result.decision,
        "findings": [],
        "not_applied": [each.as_dict() for each in result.not_applied],
        "readings_mm": {
            "widths": [_exact(reading) for reading in opening.widths_nm],
            "heights": [_exact(reading) for reading in opening.heights_nm],
            "diagonals": [_exact(reading) for reading in opening.diagonals_nm],
        },
        "frame": _frame(sized),
        "clearance": _clearance(sized),
        "sill": _sill(sized) if is_cut else None,
        "lights": _lights(sized) if is_cut else [],
        "pieces": _pieces(sized) if is_cut else [],
        "beads": _beads(sized) if is_cut else [],
        "glass": _glass(sized) if is_cut else [],
        "fixings": _fixings(sized) if is_cut else None,
    }


def _exact(nm: int | None) -> float | None:
    return None if nm is None else nm / NM


def _tenths(value: int, over: int) -> float:
    """A length to a tenth of a millimetre, half to even; exact until the last step."""
    whole, rest = divmod(value, over * _TENTH)
    twice = 2 * rest
    if twice > over * _TENTH or (twice == over * _TENTH and whole & 1):
        whole += 1
    return whole / 10


def _frame(sized: Sized) -> dict[str, Any] | None:
    width, height = sized.width, sized.height
    if width is None and height is None:
        return None
    return {
        "width_mm": None if width is None else _tenths(width.size_nm, 1),
        "height_mm": None if height is None else _tenths(height.size_nm, 1),
        "working": {
            "width": None if width is None else _worked(width, ("left", "right")),
            "height": None if height is None else _worked(height, ("top", "bottom")),
        },
    }


def _worked(fit: AxisFit, ends: tuple[str, str]) -> str:
    """The sum that leads to a frame size, as a fitter can follow it with a phone.

    Example: ``1260 (least of 1262, 1260, 1261) - 5 - 5 - 30 (sill)``.
    """
    readings = [plain(mm(reading), 4) for reading in fit.readings_nm]
    off = f", finishes of {plain(mm(fit.finishes_nm), 4)} off" if fit.finishes_nm else ""
    which = f"least of {', '.join(readings)}" if len(readings) > 1 else "the only reading"
    text = f"{plain(mm(fit.least_nm), 4)} ({which}{off})"
    if fit.lean_numerator:
        text += f" - {shown(mm(Fraction(fit.lean_numerator, fit.lean_denominator)))} (lean)"
    for gap in fit.gap_nm:
        text += f" - {plain(mm(gap), 4)}"
    for extender, end in zip(fit.extender_nm, ends, strict=True):
        if extender:
            text += f" - {plain(mm(extender), 4)} ({end} extender)"
    if fit.upstand_nm:
        text += f" - {plain(mm(fit.upstand_nm), 4)} (sill)"
    exact = (
        mm(fit.least_nm - sum(fit.gap_nm) - fit.taken_nm)
        - mm(Fraction(fit.lean_numerator, fit.lean_denominator))
    )
    if exact != mm(fit.worked_nm):
        text += f" = {plain(exact, 2)}, down to {plain(mm(fit.worked_nm))}"
    if fit.stated_nm is not None and fit.stated_nm != fit.worked_nm:
        text += f"; {plain(mm(fit.stated_nm), 4)} is stated"
    return text


def _clearance(sized: Sized) -> dict[str, float | None] | None:
    if sized.width is None and sized.height is None:
        return None
    left, right = (None, None) if sized.width is None else sized.width.clearance_mm
    top, bottom = (None, None) if sized.height is None else sized.height.clearance_mm
    return {
        "left_mm": _tenth_of(left),
        "right_mm": _tenth_of(right),
        "top_mm": _tenth_of(top),
        "bottom_mm": _tenth_of(bottom),
    }


def _tenth_of(value: Fraction | None) -> float | None:
    return None if value is None else round(value * 10) / 10


def _sill(sized: Sized) -> dict[str, Any] | None:
    if sized.sill is None or sized.sill_length_nm is None:
        return None
    return {"profile": sized.sill.name, "length_mm": _tenths(sized.sill_length_nm, 1)}


def _lights(sized: Sized) -> list[dict[str, Any]]:
    plan, values = sized.plan, sized.values
    if plan is None:
        return []
    over = plan.denominator
    found = []
    for number, light in enumerate(plan.lights):
        glazed = sized.glazed[number] if number < len(sized.glazed) else None
        sash = light.sash
        found.append(
            {
                "light": light.light.kind,
                "hinge": light.light.hinge,
                "daylight_mm": [_tenths(values[light.daylight[0]], over), _tenths(values[light.daylight[1]], over)],
                "sash_mm": None if sash is None else [_tenths(values[sash[0]], over), _tenths(values[sash[1]], over)],
                "glass_mm": None if glazed is None else list(glazed.glass_mm),
                "glass_kg": None if glazed is None else round(glazed.glass_kg, 2),
                "sash_kg": None if glazed is None or glazed.sash_kg is None else round(glazed.sash_kg, 2),
            }
        )
    return found


def _text(sized: Sized, working: Working) -> str:
    """A sum in words, forms replaced by their values to a thousandth."""
    parts = []
    over = sized.plan.denominator if sized.plan is not None else 1
    whole = over * NM
    for part in working:
        if isinstance(part, str):
            parts.append(part)
        else:
            value = sized.values[part]
            exact, rest = divmod(value, whole)
            parts.append(str(exact) if not rest else plain(Fraction(value, whole), 3))
    return "".join(parts)


def _pieces(sized: Sized) -> list[dict[str, Any]]:
    plan, values = sized.plan, sized.values
    if plan is None:
        return []
    over = plan.denominator
    found: list[dict[str, Any]] = []
    for member in plan.members:
        found.append(
            {
                "part": member.part,
                "profile": member.profile,
                "length_mm": _tenths(values[member.cut], over),
                "ends": member.ends,
                "light": member.light,
                "working": _text(sized, member.working),
            }
        )
        steel = member.steel
        if steel is not None and values[member.finished] >= steel.from_nm * over:
            found.append(
                {
                    "part": "reinforcement",
                    "profile": steel.profile,
                    "length_mm": _tenths(values[steel.cut], over),
                    "ends": "90/90",
                    "light": member.light,
                    "working": _text(sized, steel.working),
                }
            )
    found.extend(_extenders(sized))
    if sized.sill is not None and sized.sill_length_nm is not None:
        found.append(
            {
                "part": "sill",
                "profile": sized.sill.name,
                "length_mm": _tenths(sized.sill_length_nm, 1),
                "ends": "90/90",
                "light": None,
                "working": _sill_working(sized),
            }
        )
    return found


def _extenders(sized: Sized) -> list[dict[str, Any]]:
    system, width, height = sized.system, sized.width, sized.height
    left, right, top, bottom = sized.opening.extenders_nm
    if not (left or right or top or bottom) or system is None or system.extender is None:
        return []
    if width is None or height is None:
        return []
    upright = height.size_nm + top + bottom
    upright_working = plain(mm(height.size_nm), 3) + "".join(
        f" + {plain(mm(each), 3)} ({side} extender)" for each, side in ((top, "top"), (bottom, "bottom")) if each
    )
    rows = (
        ("extender-top", top, width.size_nm, plain(mm(width.size_nm), 3)),
        ("extender-bottom", bottom, width.size_nm, plain(mm(width.size_nm), 3)),
        ("extender-left", left, upright, upright_working),
        ("extender-right", right, upright, upright_working),
    )
    return [
        {
            "part": part,
            "profile": f"{system.extender.name}-{plain(mm(size), 3)}",
            "length_mm": _tenths(length, 1),
            "ends": "90/90",
            "light": None,
            "working": working,
        }
        for part, size, length, working in rows
        if size
    ]


def _sill_working(sized: Sized) -> str:
    opening, sill, width = sized.opening, sized.opening.sill, sized.width
    if sill is None or width is None:
        return ""
    if sill.fit == "between_reveals":
        text = f"{plain(mm(width.size_nm), 3)} (frame)"
        for extender in opening.extenders_nm[:2]:
            if extender:
                text += f" + {plain(mm(extender), 3)}"
        return text
    name = "bottom reading" if len(width.readings_nm) > 1 else "the only reading"
    off = ", finishes off" if width.finishes_nm else ""
    text = f"{plain(mm(width.readings_nm[-1]), 3)} ({name}{off})"
    for horn in (sill.horn_left_nm, sill.horn_right_nm):
        text += f" + {plain(mm(horn or 0), 3)}"
    return text


def _beads(sized: Sized) -> list[dict[str, Any]]:
    plan, values = sized.plan, sized.values
    if plan is None:
        return []
    over = plan.denominator
    return [
        {
            "part": bead.part,
            "profile": bead.profile,
            "length_mm": _tenths(values[bead.cut], over),
            "ends": bead.ends,
            "light": number,
            "working": _text(sized, bead.working),
        }
        for number, light in enumerate(plan.lights)
        for bead in light.beads
    ]


def _glass(sized: Sized) -> list[dict[str, Any]]:
    glass = sized.opening.glass
    if glass is None:
        return []
    return [
        {
            "width_mm": glazed.glass_mm[0],
            "height_mm": glazed.glass_mm[1],
            "unit": glass.text,
            "safety": glazed.safety,
            "kg": round(glazed.glass_kg, 2),
            "light": number,
        }
        for number, glazed in enumerate(sized.glazed)
    ]


def _fixings(sized: Sized) -> dict[str, list[float]] | None:
    if sized.fixings is None or sized.plan is None:
        return None
    over = sized.plan.denominator

    def places(holes: Holes | None) -> list[float]:
        return [] if holes is None else [_tenths_of_fraction(place, over) for place in holes.at]

    fixings = sized.fixings
    return {
        "left": places(fixings.left),
        "right": places(fixings.right),
        "top": places(fixings.top),
        "bottom": places(fixings.bottom),
    }


def _tenths_of_fraction(place: Fraction, over: int) -> float:
    return _tenths(place.numerator, over * place.denominator)
