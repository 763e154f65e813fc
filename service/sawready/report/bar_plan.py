"""A bar plan as text, as rows for a sheet, and as JSON."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, Final, TextIO

from sawready.calc.nesting import Bar, Plan, ProfilePlan
from sawready.calc.nesting.plan import PlacedPiece
from sawready.model.shown import mm, plain, rounded, shown
from sawready.report.as_csv import Table

COLUMNS: Final = (
    "profile", "bar", "stock_mm", "position", "length_mm", "order_ref", "opening_ref", "part",
)  # fmt: skip
"""Columns of the sheet; ``colour`` follows where any piece has one."""

STOPPED: Final = {
    "work": "the counted work limit stopped the search for fewer bars",
    "time": "the time limit stopped the search; another run may end otherwise",
}

_Row = dict[str, Any]


def as_json(plan: Plan, *, orders: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """The published form of a plan, every key present, lengths in mm to one decimal.

    ``start_mm`` of a piece is where its left tip lies from the bar's left end; ``offcut_mm`` of a bar is
    what is left behind the last cut with the trim taken off, and ``offcut_kept`` whether it is worth
    keeping.

    Args:
        plan: the plan.
        orders: what to say of the orders that it is for, where they are known.
    """
    return {
        "orders": list(orders),
        "saw": {
            "kerf_mm": _number(plan.saw.kerf_nm, 3),
            "trim_mm": _number(plan.saw.trim_nm, 3),
            "keep_mm": _number(plan.saw.keep_nm, 3),
            "scrap_mm": _number(plan.saw.scrap_nm, 3),
        },
        "summary": [summary_of(profile) for profile in plan.profiles],
        "limit_fired": plan.stopped_by,
        "remarks": list(plan.remarks),
        "findings": [finding.as_dict() for finding in plan.findings],
        "profiles": [
            {
                "profile": profile.profile,
                "colour": profile.colour,
                "bars": [_bar(bar) for bar in profile.bars],
            }
            for profile in plan.profiles
        ],
    }


def summary_of(profile: ProfilePlan) -> dict[str, Any]:
    """How good the plan of one profile is.

    ``bars`` are the fresh bars, ``bound`` the fewest that can do, proved; ``gap`` is what lies between.
    """
    return {
        "profile": profile.profile,
        "colour": profile.colour,
        "bar_mm": _number(profile.bar_nm),
        "pieces": profile.pieces,
        "bars": profile.new_bars,
        "bound": profile.bound,
        "gap": profile.gap,
        "old_offcuts": profile.old_offcuts,
        "used_share": float(rounded(profile.used_share, 4)),
        "offcuts_kept_mm": [float(cut_down(length)) for length in profile.kept_nm],
        "limit_fired": profile.stopped_by,
        "method": profile.method,
        "searched": profile.is_searched,
        "turned": profile.is_turned,
        "remarks": list(profile.remarks),
    }


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "bar": bar.number,
        "stock_mm": _number(bar.stock_nm),
        "old_offcut": bar.is_old_offcut,
        "pieces": [_piece(placed) for placed in bar.pieces],
        "offcut_mm": float(cut_down(bar.offcut_nm)),
        "offcut_kept": bar.is_kept,
    }


def _piece(placed: PlacedPiece) -> dict[str, Any]:
    piece = placed.piece
    return {
        "position": placed.position,
        "start_mm": _number(placed.start_nm),
        "length_mm": _number(piece.length_nm),
        "ends": piece.ends,
        "turned": placed.is_turned,
        "order_ref": piece.order_ref,
        "opening_ref": piece.opening_ref,
        "part": piece.part,
        "light": piece.light,
        "firm": piece.firm,
    }


def _number(length_nm: int, digits: int = 1) -> float:
    """Millimetres as a number."""
    return float(rounded(mm(length_nm), digits))


def cut_down(length_nm: int) -> Fraction:
    """Millimetres, down to the tenth: no more is promised of an offcut than there is."""
    return Fraction(length_nm // 100_000, 10)


def rows(plan: Plan) -> Iterator[_Row]:
    """One row a piece, in the order of cutting."""
    for profile in plan.profiles:
        for bar in profile.bars:
            for placed in bar.pieces:
                piece = placed.piece
                yield {
                    "profile": profile.profile,
                    "bar": bar.number,
                    "stock_mm": _number(bar.stock_nm),
                    "position": placed.position,
                    "length_mm": _number(piece.length_nm),
                    "order_ref": piece.order_ref,
                    "opening_ref": piece.opening_ref,
                    "part": piece.part,
                    "colour": profile.colour,
                }


def document_rows(document: Mapping[str, Any]) -> Iterator[_Row]:
    """The rows of a plan in its published form, with colour and firm."""
    for profile in document["profiles"]:
        for bar in profile["bars"]:
            for piece in bar["pieces"]:
                yield {
                    **piece,
                    **{name: profile[name] for name in ("profile", "colour")},
                    **{name: bar[name] for name in ("bar", "stock_mm")},
                }


def write_csv(plan: Plan, stream: TextIO) -> None:
    """Writes the rows under their heading.

    Args:
        plan: the plan.
        stream: text stream opened without newline translation.
    """
    has_colour = any(profile.colour is not None for profile in plan.profiles)
    Table(stream, (*COLUMNS, "colour") if has_colour else COLUMNS).write(rows(plan))


def summary_lines(plan: Plan) -> list[str]:
    """A table of how good the plan is, a line a profile, and what to know about it."""
    if not plan.profiles:
        return ["no pieces, no bars", *plan.remarks]
    head = ("profile", "pieces", "bars", "bound", "gap", "old offcuts", "used", "offcuts kept")
    body = [_summary_cells(profile) for profile in plan.profiles]
    widths = [max(len(row[column]) for row in (head, *body)) for column in range(len(head))]
    lines = [_aligned(row, widths) for row in (head, *body)]
    for profile in plan.profiles:
        about = [*profile.remarks, *((STOPPED[profile.stopped_by],) if profile.stopped_by else ())]
        if profile.gap and profile.is_searched:
            about.append("an exact search, which computes with rounding, found no plan with a bar less")
        lines += [f"{named(profile)}: {text}" for text in about]
    return [*lines, *plan.remarks]


def _summary_cells(profile: ProfilePlan) -> tuple[str, ...]:
    kept = [plain(cut_down(length)) for length in profile.kept_nm]
    more = f" and {len(kept) - 3} more" if len(kept) > 3 else ""
    return (
        named(profile),
        str(profile.pieces),
        str(profile.new_bars),
        str(profile.bound),
        str(profile.gap),
        str(profile.old_offcuts),
        f"{shown(profile.used_share * 100)} %",
        f"{len(kept)}: {', '.join(kept[:3])}{more} mm" if kept else "none",
    )


def _aligned(cells: Sequence[str], widths: Sequence[int]) -> str:
    """Cells in columns: the first and last to the left, numbers to the right."""
    middle = [cell.rjust(width) for cell, width in zip(cells[1:-1], widths[1:-1], strict=True)]
    return "  ".join([cells[0].ljust(widths[0]), *middle, cells[-1]]).rstrip()


def named(profile: ProfilePlan) -> str:
    """Profile and colour as one name."""
    return profile.profile if profile.colour is None else f"{profile.profile}, {profile.colour}"


def counted(profile: ProfilePlan) -> str:
    """How many fresh bars of what length, and how many old offcuts."""
    if not profile.new_bars:
        bars = "no fresh bar"
    else:
        bars = f"{profile.new_bars} bar{'s' * (profile.new_bars != 1)} of {plain(mm(profile.bar_nm))} mm"
    if profile.old_offcuts:
        bars += f" and {profile.old_offcuts} old offcut{'s' * (profile.old_offcuts != 1)}"
    return bars


def as_text(plan: Plan) -> str:
    """The plan for people: bars that are cut alike stand on one line."""
    lines: list[str] = []
    for profile in plan.profiles:
        lines.append(f"{named(profile)}: {counted(profile)}")
        for alike in runs(profile.bars):
            first, last = alike[0], alike[-1]
            number = str(first.number) if first is last else f"{first.number}-{last.number}"
            stock = f" (old offcut {plain(mm(first.stock_nm))})" if first.is_old_offcut else ""
            lengths = "  ".join(shown(mm(placed.piece.length_nm)) for placed in first.pieces)
            lines.append(f"  {number:>9}{stock}  {lengths}   {rest_of(first)}")
        lines.append("")
    for finding in plan.findings:
        lines += [f"cannot be cut: {finding.message}", f"    Do: {finding.remedy}"]
    return "\n".join(lines).rstrip("\n") + "\n" if lines else ""


def rest_of(bar: Bar) -> str:
    """What is left of a bar, in words."""
    rest = shown(cut_down(bar.offcut_nm))
    return f"keep {rest}" if bar.is_kept else f"rest {rest}"


def runs(bars: Sequence[Bar]) -> Iterator[list[Bar]]:
    """Bars in a row that are cut alike."""
    run: list[Bar] = []
    for bar in bars:
        if run and shape(bar) != shape(run[0]):
            yield run
            run = []
        run.append(bar)
    if run:
        yield run


def shape(bar: Bar) -> tuple[object, ...]:
    """What makes two bars alike at the saw: stock, lengths and ends in order."""
    cuts = tuple(
        (placed.piece.length_nm, placed.piece.ends, placed.start_nm, placed.is_turned)
        for placed in bar.pieces
    )
    return bar.stock_nm, bar.is_old_offcut, cuts
