"""The parts of a fitter's page, each a column of blocks; every printed size is the published one."""

from typing import TYPE_CHECKING, Any, Final

from sawready.report.drawing_words import SEVERITY_WORDS
from sawready.report.order_view import OpeningView, OrderView, mm_text
from sawready.report.sheet_layout import Block, Column, Line, Plate, beside
from sawready.report.sheet_text import Faces
from sawready.report.sheet_words import (
    bead_words,
    cautions,
    glass_mark,
    hole_words,
    inside_words,
    lifting,
    lifting_note,
    packing_words,
    seal_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

NOT_STATED: Final = "not known"


def size_text(width: float | None, height: float | None) -> str:
    """Width by height; what is not known says so."""
    return f"{_mm(width)} × {_mm(height)}"


def _mm(value: float | None) -> str:
    return NOT_STATED if value is None else mm_text(value)


def handing(column: Column, opening: OpeningView) -> None:
    """How the window is handed, in words from inside."""
    column.heading("Seen from inside")
    for name, words in inside_words(opening):
        column.named(f"{name}:", words, 10.5)


def sizes(column: Column, opening: OpeningView) -> None:
    """Opening, frame, gaps, sill and extenders."""
    published = opening.published
    aperture = opening.aperture
    if aperture is not None:
        lean = f"; {mm_text(aperture.lean_mm)} of it lean" if aperture.lean_mm else ""
        column.figure(
            "Opening in the wall, least width × height",
            size_text(round(aperture.width_mm, 1), round(aperture.height_mm, 1)),
            f"finishes still to come are off{lean}" if _has_finishes(opening) else lean.removeprefix("; "),
        )
    frame = published["frame"] or {}
    column.figure("Frame, width × height", size_text(frame.get("width_mm"), frame.get("height_mm")))
    if opening.sill is not None and frame.get("height_mm") is not None:
        column.figure("Frame height with sill", mm_text(_with_sill(opening)), size=12.0)
    clearance = published["clearance"] or {}
    gaps = ", ".join(
        f"{side} {_mm(clearance.get(f'{side}_mm'))}" for side in ("left", "right", "top", "bottom")
    )
    column.figure("Gap at each side, left and right from outside", gaps, size=9.5)
    if opening.sill is not None and published["sill"] is not None:
        sill = opening.sill
        horns = "between the reveals, no horns"
        if sill.horn_left_mm is not None and sill.horn_right_mm is not None:
            left, right = mm_text(sill.horn_left_mm), mm_text(sill.horn_right_mm)
            horns = f"horns past the reveal: left {left}, right {right}, from outside"
            if sill.fit == "notched_round_brick":
                horns += "; notched round the brick"
        column.figure(
            f"Sill ({published['sill']['profile']}), length", mm_text(published["sill"]["length_mm"]), horns
        )
    if opening.extenders:
        widths = ", ".join(
            f"{side} {mm_text(box.width if side in {'left', 'right'} else box.height)}"
            for side, box in opening.extenders
        )
        column.figure("Extenders, left and right from outside", widths, size=9.5)


def _has_finishes(opening: OpeningView) -> bool:
    working = (opening.published["frame"] or {}).get("working") or {}
    return any("finishes of" in (text or "") for text in working.values())


def _with_sill(opening: OpeningView) -> float:
    """Height of the frame with extender and sill under it, as a tape finds it. [mm]."""
    frame, sill = opening.published["frame"], opening.sill
    under = sum(box.height for side, box in opening.extenders if side == "bottom")
    return float(round(frame["height_mm"] + under + (0.0 if sill is None else sill.box.height), 1))


def tape_checks(faces: Faces, width: float, scale: float, opening: OpeningView) -> Block:
    """Five things to tape on the delivered window, with a box for each to write in."""
    column = Column(faces, width, scale)
    column.heading("Tape checks before the old window comes out: write in what you find")
    frame = opening.published["frame"] or {}
    hinges = _hinge_sides(opening)
    marks = sorted({safety for safety in opening.safety.values() if safety != "none"})
    sill = opening.published["sill"]
    checks: Sequence[tuple[str, str]] = (
        ("1 Frame width", _mm(frame.get("width_mm"))),
        ("2 Frame height with sill" if sill else "2 Frame height, no sill", mm_text(_with_sill(opening))),
        ("3 Hinge side from outside", hinges),
        ("4 Glass mark", " and ".join(marks) or "none ordered"),
        ("5 Sill length", mm_text(sill["length_mm"]) if sill else "no sill"),
    )
    gap = 5 * scale
    each = (width - gap * (len(checks) - 1)) / len(checks)
    small, large, box = 8.0 * scale, 13.0 * scale, 34.0 * scale
    ops: list[Any] = []
    for number, (name, value) in enumerate(checks):
        x = number * (each + gap)
        size = faces.fitted(value, each - gap, large, 9.0 * scale, is_bold=True)
        lines = faces.wrapped(value, each - gap, size, is_bold=True)
        if len(lines) > 1:
            size = 8.0 * scale
            lines = faces.wrapped(value, each - gap, size, is_bold=True)
        if len(lines) > 2:
            lines = ["see the drawing"]
        ops.append(Line(x, small, name, faces.fitted(name, each, small, 6.0 * scale)))
        ops.extend(
            Line(x, small * 1.4 + size * (0.95 + 1.1 * place), line, size, is_bold=True)
            for place, line in enumerate(lines)
        )
        ops.append(Plate(x, small * 1.4 + 1.5 * large, each, box, None, 1.1))
    column.add(small * 1.4 + 1.5 * large + box + 5 * scale, *ops)
    return beside([column], 0.0)


def _hinge_sides(opening: OpeningView) -> str:
    """Hinge sides seen from outside, by light.

    Example: ``left`` where one light opens, or ``1, 3 left; 2 right``.
    """
    sides: dict[str, list[str]] = {}
    lights = opening.seen_from("outside").lights
    for light in lights:
        if light.hinge is not None:
            sides.setdefault(light.hinge, []).append(str(light.number))
    if not sides:
        return "nothing opens"
    if sum(map(len, sides.values())) == 1:
        return next(iter(sides))
    return "; ".join(f"{', '.join(numbers)} {side}" for side, numbers in sides.items())


def glass_table(column: Column, opening: OpeningView) -> None:
    """Lights with their glass, its mark, and what it takes to lift them."""
    masses = opening.masses
    column.heading("Lights and glass, what they weigh and how many lift them")
    shares = (8, 14, 17, 21, 20, 20)
    column.row(
        ("Light", "Glass", "Unit", "Permanent mark", "Glass alone", "Sash with glass"), shares, is_head=True
    )
    rows: dict[tuple[str, ...], list[str]] = {}
    for number, (light, pane) in enumerate(
        zip(opening.published["lights"], opening.published["glass"], strict=True), 1
    ):
        sash_kg = light["sash_kg"]
        cells = (
            f"{pane['width_mm']} × {pane['height_mm']}",
            pane["unit"],
            glass_mark(pane["safety"]),
            f"{pane['kg']:.1f} kg, {lifting().in_words(pane['kg'])}",
            "fixed" if sash_kg is None else f"{sash_kg:.1f} kg, {lifting().in_words(sash_kg)}",
        )
        rows.setdefault(cells, []).append(str(number))
    for own, numbers in rows.items():
        column.row((", ".join(numbers), *own), shares)
    if masses is not None:
        column.text(
            f"Whole window without sill: {masses.window:.0f} kg, {lifting().in_words(masses.window)}. "
            f"Frame with its sashes, all glass out: {masses.bare:.0f} kg, {lifting().in_words(masses.bare)}. "
            f"{lifting_note()[:1].upper()}{lifting_note()[1:]}.",
            8.5,
        )


def fixing(column: Column, opening: OpeningView, packers: str) -> None:
    """Holes with their packers."""
    column.heading("Fixing holes and packers, sides from outside")
    for name, text in hole_words(opening):
        column.named(name, text)
    column.text(packers, 8.5)


def glazing(column: Column, opening: OpeningView) -> None:
    """Packing of the glass and order of the beads."""
    column.heading("Glass: packers and beads")
    for name, text in packing_words(opening):
        column.named(name, text, 9.0)
    if bead_words(opening):
        column.named("Beads:", bead_words(opening), 9.0)


def sealing(column: Column, opening: OpeningView, order: OrderView) -> None:
    """What is sealed."""
    column.heading("Seal")
    for text in seal_words(opening, order):
        column.text(text, 9.0)


def asked(column: Column, opening: OpeningView) -> None:
    """What was queried and who answered, and what else is worth knowing, by the numbers in the drawing."""
    answered = [noted for noted in opening.noted if noted.answer is not None]
    others = [noted for noted in opening.noted if noted.answer is None]
    if answered:
        column.heading("Asked and answered")
        for noted in answered:
            column.named(f"({noted.number})", noted.finding.message, 9.0)
    if others:
        column.heading("Notes")
        for noted in others:
            column.named(f"({noted.number})", noted.finding.message, 9.0)


def reasons(column: Column, opening: OpeningView) -> None:
    """Why an opening is not made, the gravest first, and what would help."""
    column.heading("Why")
    for noted in opening.noted:
        found = noted.finding
        column.named(f"{noted.number} {SEVERITY_WORDS[found.severity]}:", found.message, 10.0)
        if found.remedy and found.severity != "note":
            column.text(found.remedy, 10.0, indent=10 * column.scale)


def caution_list(column: Column) -> None:
    """What can hurt somebody."""
    column.heading("Cautions")
    for about, text in cautions():
        column.named(f"{about}:", text, 8.5)
