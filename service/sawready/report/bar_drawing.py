"""A bar plan as pictures: one SVG a profile, and a saw list to print.

Bars are drawn to scale along their length; bars that are cut alike share one drawing, which says how
many they are. The slant of a mitred end only marks it, as the faces are not drawn to scale.
"""

import re
from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from sawready.calc.nesting import Bar, Plan, ProfilePlan
from sawready.calc.nesting.plan import PlacedPiece
from sawready.model.shown import mm, plain, shown
from sawready.report.bar_plan import counted, cut_down, named, rest_of, runs, summary_of

WIDTH: Final = 1200
"""Width of the drawing of the longest bar, in pixels."""

LIST_WIDTH: Final = 780
"""The same on the saw list: with its margins as wide as a level A4 sheet, so that labels print full size."""

LEFT: Final = 110
RIGHT: Final = 130
TOP: Final = 56
BAR: Final = 26
ROW: Final = 44
SLANT: Final = 9
LETTER: Final = 7.0
"""Width of one figure of a label, in pixels, rounded up."""

_NOT_XML: Final = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_STYLE: Final = (
    "text{font:12px sans-serif;fill:#111}.head{font-size:15px;font-weight:bold}.small{font-size:11px}"
    ".piece{fill:#dbe9f6;stroke:#1f3b57;stroke-width:1}.old .piece{fill:#f6ecd2}"
    ".trim{fill:#bbb;stroke:#666;stroke-width:.5}.stock{fill:#fff;stroke:#444;stroke-width:1}"
    ".rest{stroke:#444;stroke-width:1}.kept{stroke-width:2.5}"
)
_HATCH: Final = (
    '<pattern id="{id}" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="7" height="7" fill="#fff"/>'
    '<line x1="0" y1="0" x2="0" y2="7" stroke="#777" stroke-width="2"/></pattern>'
)


def bars_svg(profile: ProfilePlan, *, trim_nm: int, hatch: str = "hatch", bar_width: int = WIDTH) -> str:
    """The bars of one profile as an SVG document.

    Args:
        profile: its plan.
        trim_nm: taken off every bar, half of it at either end. [nm]
        hatch: name of the hatching, which must be unlike any other on the same page.
        bar_width: width of the drawing of the longest bar, in pixels.
    """
    alike = list(runs(profile.bars))
    longest = max((bar.stock_nm for bar in profile.bars), default=profile.bar_nm)
    height = TOP + ROW * len(alike) + 12
    width = LEFT + bar_width + RIGHT
    title = _text(f"{named(profile)}: {counted(profile)}")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"'
        f' viewBox="0 0 {width} {height}" role="img" aria-label="{title}">'
        f"<title>{title}</title><style>{_STYLE}</style><defs>{_HATCH.format(id=hatch)}</defs>"
        f'<rect width="{width}" height="{height}" fill="#fff"/>'
        f'<text class="head" x="12" y="24">{title}</text>'
        f'<text class="small" x="12" y="42">{_text(_legend(profile))}</text>'
    )
    scale = bar_width / longest
    rows = "".join(
        _row(run, top=TOP + ROW * number, scale=scale, trim_nm=trim_nm, hatch=hatch, rest_at=bar_width + 8)
        for number, run in enumerate(alike)
    )
    return f"{head}{rows}</svg>\n"


def _legend(profile: ProfilePlan) -> str:
    summary = summary_of(profile)
    proved = "fewest possible" if profile.gap == 0 else f"at least {profile.bound} needed"
    return (
        f"{summary['pieces']} pieces; {proved}; {shown(profile.used_share * 100)} % used;"
        " lengths in mm over the points; hatched: left over, bold outline where kept; grey: trim"
    )


def _row(run: Sequence[Bar], *, top: int, scale: float, trim_nm: int, hatch: str, rest_at: int) -> str:
    """One drawing for bars that are cut alike."""
    bar = run[0]
    numbers = f"bar {bar.number}" if len(run) == 1 else f"bars {bar.number}-{run[-1].number}"
    stock = _at(bar.stock_nm, scale)
    parts = [
        f'<g class="{"old" if bar.is_old_offcut else "new"}" transform="translate({LEFT} {top})">',
        f"<title>{_text(_tooltip(run))}</title>",
        f'<text x="-10" y="17" text-anchor="end">{numbers}</text>',
        f'<rect class="stock" width="{stock}" height="{BAR}"/>',
    ]
    if trim_nm:
        side = _at(trim_nm // 2, scale)
        end = _at(bar.stock_nm - trim_nm // 2, scale)
        parts += [f'<rect class="trim" x="{x}" width="{side}" height="{BAR}"/>' for x in ("0", end)]
    parts += [_piece(placed, scale) for placed in bar.pieces]
    if bar.offcut_nm:
        start = bar.stock_nm - trim_nm // 2 - bar.offcut_nm
        kept = " kept" if bar.is_kept else ""
        parts.append(
            f'<rect class="rest{kept}" fill="url(#{hatch})" x="{_at(start, scale)}"'
            f' width="{_at(bar.offcut_nm, scale)}" height="{BAR}"/>'
        )
    times = f"{len(run)} x, " if len(run) > 1 else ""
    rest = _text(times + rest_of(bar))
    parts.append(f'<text class="small" x="{rest_at}" y="17">{rest}</text></g>')
    return "".join(parts)


def _piece(placed: PlacedPiece, scale: float) -> str:
    """A piece as a shape with slanted ends where they are mitred, and its length where that fits."""
    piece = placed.piece
    left, right = placed.start_nm * scale, (placed.start_nm + piece.nested_nm) * scale
    slant = min(SLANT, (right - left) / 3)
    outer, inner = (BAR, 0) if placed.is_turned else (0, BAR)
    inner_left = left + (slant if piece.ends.startswith("45") else 0)
    inner_right = right - (slant if piece.ends.endswith("45") else 0)
    points = f"{left:.2f},{outer} {right:.2f},{outer} {inner_right:.2f},{inner} {inner_left:.2f},{inner}"
    drawn = f'<polygon class="piece" points="{points}"/>'
    label = shown(mm(piece.length_nm))
    if len(label) * LETTER <= inner_right - inner_left:
        drawn += (
            f'<text class="small" x="{(left + right) / 2:.2f}" y="17" text-anchor="middle">{label}</text>'
        )
    return drawn


def _tooltip(run: Sequence[Bar]) -> str:
    """Whose pieces lie on the first of these bars."""
    return "; ".join(f"{shown(mm(placed.piece.length_nm))} {whose(placed)}" for placed in run[0].pieces)


def whose(placed: PlacedPiece) -> str:
    """Order, opening and part of a piece, as far as they are known."""
    piece = placed.piece
    return " ".join(each for each in (piece.order_ref, piece.opening_ref, piece.part) if each)


def _at(length_nm: int, scale: float) -> str:
    return f"{length_nm * scale:.2f}"


def _text(text: str) -> str:
    """Text that is safe in XML and HTML."""
    return escape(_NOT_XML.sub("\ufffd", text), quote=True)


def saw_list_html(plan: Plan, *, title: str = "Saw list") -> str:
    """The plan as one page to print: a picture and a table a profile, a box to tick at every piece."""
    body = "".join(
        _section(profile, plan, hatch=f"hatch-{number}") for number, profile in enumerate(plan.profiles)
    )
    if plan.findings:
        items = "".join(
            f"<li>{_text(finding.message)} {_text(finding.remedy or '')}</li>" for finding in plan.findings
        )
        body = f"<section><h2>Cannot be cut</h2><ul>{items}</ul></section>{body}"
    notes = "".join(f"<p><strong>{_text(remark)}</strong></p>" for remark in plan.remarks)
    saw = plan.saw
    figures = (
        f"kerf {plain(mm(saw.kerf_nm), 3)} mm, trim {plain(mm(saw.trim_nm), 3)} mm a bar,"
        f" offcuts kept from {plain(mm(saw.keep_nm), 3)} mm"
    )
    style = (
        "body{font:13px sans-serif;margin:1.5em}table{border-collapse:collapse;width:100%}"
        "th,td{border:1px solid #999;padding:2px 6px;text-align:left}td{overflow-wrap:anywhere}td.n{text-align:right}"
        "tbody{break-inside:avoid}tbody tr:first-child td{border-top:2px solid #333}"
        "thead{display:table-header-group}svg{width:100%;height:auto}"
        "@page{size:A4 landscape;margin:12mm}"
        "@media print{body{margin:0}section{break-before:page}section:first-of-type{break-before:auto}}"
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{_text(title)}</title><style>{style}</style></head>"
        f"<body><h1>{_text(title)}</h1><p>{_text(figures)}</p>{notes}{body}</body></html>\n"
    )


def _section(profile: ProfilePlan, plan: Plan, *, hatch: str) -> str:
    head = "".join(
        f"<th>{name}</th>"
        for name in ("bar", "stock", "no.", "length", "ends", "order", "opening", "part", "cut")
    )
    bars = "".join(_table_bar(bar) for bar in profile.bars)
    notes = "".join(f"<p>{_text(remark)}</p>" for remark in profile.remarks)
    return (
        f"<section><h2>{_text(named(profile))}</h2><p>{_text(counted(profile))}</p>{notes}"
        f"{bars_svg(profile, trim_nm=plan.saw.trim_nm, hatch=hatch, bar_width=LIST_WIDTH)}"
        f"<table><thead><tr>{head}</tr></thead>{bars}</table></section>"
    )


def _table_bar(bar: Bar) -> str:
    """The lines of one bar, its rest on the last."""
    lines = list(_table_lines(bar))
    rest = "keep, back on the rack" if bar.is_kept else "rest"
    last = f'<td></td><td class="n">{shown(cut_down(bar.offcut_nm))}</td><td colspan="4">{rest}</td><td></td>'
    stock = plain(mm(bar.stock_nm)) + (" old offcut" if bar.is_old_offcut else "")
    span = len(lines) + 1
    first = f'<td rowspan="{span}">{bar.number}</td><td rowspan="{span}">{stock}</td>'
    return (
        "<tbody>"
        + "".join(
            f"<tr>{first if number == 0 else ''}{line}</tr>" for number, line in enumerate([*lines, last])
        )
        + "</tbody>"
    )


def _table_lines(bar: Bar) -> Iterator[str]:
    for placed in bar.pieces:
        piece = placed.piece
        ends = piece.ends + (" turned" if placed.is_turned else "")
        length = shown(mm(piece.length_nm))
        yield (
            f'<td class="n">{placed.position}</td><td class="n">{length}</td><td>{ends}</td>'
            f"<td>{_text(piece.order_ref or '')}</td><td>{_text(piece.opening_ref or '')}</td>"
            f"<td>{_text(piece.part or '')}</td><td>&#9744;</td>"
        )
