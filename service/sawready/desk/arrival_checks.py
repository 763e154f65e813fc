"""A delivered frame against the survey: size, gaps, handing, sill, safety glass, each with its working.

The size is judged by the order's own rules: the frame as taped stands in for the frame as ordered, and
whatever would have refused the order refuses the frame.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Literal

from sawready.calc.fit import AxisFit
from sawready.desk.arrival_figures import ArrivalFigures
from sawready.model.layout import Layout, in_words, lights_of
from sawready.model.shown import mm, plain
from sawready.pipeline import OpeningResult

Verdict = Literal["yes", "ask", "no"]

WORST: Final[tuple[Verdict, ...]] = ("yes", "ask", "no")

CAUTION: Final = (
    "Before an old window comes out: look for gas, flues and cables near it, for asbestos in boards, putty "
    "and packing, and for load that the old frame carries. Local codes and licensed practice decide, not "
    "this program."
)

_SIZE_REASONS: Final = ("frame-", "gap-", "sill-height", "average-reading", "measured-to", "width-height")


@dataclass(frozen=True, slots=True)
class Taped:
    """What the fitter found, in our units.

    Attributes:
        width_nm: frame over all. [nm]
        height_nm: frame over all, as taped. [nm]
        height_includes_sill: whether the sill is in that height; None where not said.
        layout: lights of the frame seen from outside, where stated.
        hinge: hinge side of its one hinged light seen from outside, where stated.
        sill_nm: length of the sill, where taped. [nm]
        glass_mark: text of the mark in the pane, where read.
    """

    width_nm: int
    height_nm: int
    height_includes_sill: bool | None
    layout: Layout | None
    hinge: str | None
    sill_nm: int | None
    glass_mark: str | None


@dataclass(frozen=True, slots=True)
class Check:
    """One look at the frame.

    Attributes:
        check: ``width``, ``height``, ``handing``, ``sill``, ``glass`` or ``release``.
        verdict: ``yes`` goes in, ``ask`` a person decides first, ``no`` does not.
        working: what was compared with what, and what came out.
        do: what to do; None where all is well.
        left_mm, right_mm: gap left there; top and bottom for the height. [mm]
        source: where the limit comes from.
    """

    check: str
    verdict: Verdict
    working: str
    do: str | None = None
    left_mm: float | None = None
    right_mm: float | None = None
    source: str | None = None

    def as_dict(self) -> dict[str, Any]:
        """The published form."""
        return {
            "check": self.check,
            "verdict": self.verdict,
            "working": self.working,
            "do": self.do,
            "gap_mm": None if self.left_mm is None else [self.left_mm, self.right_mm],
            "source": self.source,
        }


def _mm(nm: int | Fraction) -> str:
    return plain(mm(nm), 2)


def size_check(
    axis: Literal["width", "height"], taped: OpeningResult, ordered: AxisFit | None, figures: ArrivalFigures
) -> Check:
    """The frame in its aperture on one axis.

    Args:
        axis: ``width`` or ``height``.
        taped: check of the opening with the taped frame in the place of the ordered one.
        ordered: fit of the frame as it was ordered.
        figures: tolerances.
    """
    fit = taped.sized.width if axis == "width" else taped.sized.height
    ends = ("left", "right") if axis == "width" else ("top", "bottom")
    if fit is None:
        return Check(
            axis, "no", f"The survey gives no {axis} to hold the frame against.", "Have the survey looked at."
        )
    first, second, over = fit.clearance
    gaps = [round(float(mm(Fraction(each, over))), 1) for each in (first, second)]
    taken = (
        f" - {_mm(fit.taken_nm)} ({'extenders' if axis == 'width' else 'sill and extenders'})"
        if fit.taken_nm
        else ""
    )
    lean = (
        f" - {_mm(Fraction(fit.lean_numerator, fit.lean_denominator))} (lean)" if fit.lean_numerator else ""
    )
    working = (
        f"{_mm(fit.least_nm)} (least {axis} of the survey) - {_mm(fit.size_nm)} (tape){taken}{lean} = "
        f"{_mm(Fraction(first + second, over))}: {gaps[0]:g} {ends[0]}, {gaps[1]:g} {ends[1]}; "
        f"{_mm(fit.gap_nm[0])} and {_mm(fit.gap_nm[1])} are planned."
    )
    found = [each for each in taped.findings if _is_about(each.reason, each.at, axis)]
    for severity, verdict in (("reject", "no"), ("query", "ask")):
        worst = next((each for each in found if each.severity == severity), None)
        if worst is not None:
            do = (
                "Leave the old window in. Have the frame and the survey measured again, and order afresh if "
                "both stand."
            )
            if verdict == "ask":
                do = "Leave the old window in until the office has decided on this gap."
            said = f"{working} {worst.message}"
            return Check(axis, verdict, said, do, gaps[0], gaps[1], worst.source)  # type: ignore[arg-type] # one of the two
    if first < 0 or second < 0:
        return Check(
            axis,
            "no",
            working,
            "Leave the old window in: the frame is larger than its opening.",
            gaps[0],
            gaps[1],
        )
    if ordered is not None:
        off = abs(fit.size_nm - ordered.size_nm)
        most = figures.frame_differs_nm + figures.tape_nm(fit.size_nm)
        working += f" Ordered {_mm(ordered.size_nm)}, {_mm(off)} off; {_mm(most)} are let pass."
        if off > most:
            return Check(
                axis,
                "ask",
                working,
                "It goes in, but is not the size that was ordered: see whether it is another opening's.",
                gaps[0],
                gaps[1],
                figures.sources["frame_differs_mm"],
            )
    return Check(axis, "yes", working, None, gaps[0], gaps[1])


def _is_about(reason: str, at: str, axis: str) -> bool:
    """Whether a finding of the taped order is about the frame's size on this axis."""
    if not reason.startswith(_SIZE_REASONS):
        return False
    other = "height" if axis == "width" else "width"
    is_other = f"/{other}" in at or f"too-{'tall' if axis == 'width' else 'wide'}" in reason
    return not is_other


def handing_check(taped: Taped, ordered: Layout | None) -> Check:
    """Hinge sides and kinds of light, both seen from outside."""
    if ordered is None:
        return Check(
            "handing", "no", "The order has no layout that can be read.", "Have the order looked at."
        )
    meant = in_words(ordered)
    hinged = [light for light in lights_of(ordered) if light.hinge is not None]
    if taped.layout is not None:
        seen = in_words(taped.layout)
        working = f"Ordered, seen from outside: {meant}. Delivered: {seen}."
        if seen == meant:
            return Check("handing", "yes", working)
        return Check(
            "handing", "no", working, "Leave the old window in: the frame opens otherwise than ordered."
        )
    if not hinged:
        if taped.hinge is None:
            return Check(
                "handing", "yes", f"Ordered, seen from outside: {meant}; nothing in it hangs at a side."
            )
        return Check(
            "handing",
            "no",
            f"Ordered, seen from outside: {meant}, nothing of it hung at a side. Delivered: {taped.hinge}.",
            "Leave the old window in: the frame opens otherwise than ordered.",
        )
    if taped.hinge is None:
        return Check(
            "handing",
            "ask",
            f"Ordered, seen from outside: {meant}. The hinge side of the delivered frame is not said.",
            "Look at the hinges and say the side and the view.",
        )
    if len(hinged) > 1:
        return Check(
            "handing",
            "ask",
            f"Ordered, seen from outside: {meant}, with {len(hinged)} lights hung at a side. One hinge side "
            "says too little.",
            "Send the whole layout as it stands before you, with the view.",
        )
    working = f"Ordered: hung {hinged[0].hinge} seen from outside ({meant}). Delivered: hung {taped.hinge}."
    if hinged[0].hinge == taped.hinge:
        return Check("handing", "yes", working)
    return Check(
        "handing", "no", working, "Leave the old window in: the frame is handed the other way round."
    )


def sill_check(taped: Taped, ordered: OpeningResult, figures: ArrivalFigures) -> Check | None:
    """The sill's length; None where there is none to look at."""
    sized = ordered.sized
    length, width = sized.sill_length_nm, sized.width
    if sized.opening.sill is None:
        if taped.sill_nm is None:
            return None
        return Check(
            "sill",
            "ask",
            f"No sill was ordered; one of {_mm(taped.sill_nm)} mm came.",
            "See whose it is before the old window comes out.",
        )
    if length is None or width is None:
        return Check("sill", "no", "The order gives no length of the sill.", "Have the order looked at.")
    if taped.sill_nm is None:
        return Check(
            "sill",
            "ask",
            f"A sill of {_mm(length)} mm was ordered; it is not taped.",
            "Tape the sill and send its length.",
        )
    short = length - taped.sill_nm
    most = figures.sill_differs_nm + figures.tape_nm(length)
    side = "short" if short > 0 else "long"
    working = f"Ordered {_mm(length)} mm, taped {_mm(taped.sill_nm)} mm: {_mm(abs(short))} mm {side}; "
    working += f"{_mm(most)} are let pass."
    if short == 0:
        working = f"Ordered {_mm(length)} mm, taped {_mm(taped.sill_nm)} mm."
    source = figures.sources["sill_differs_mm"]
    if abs(short) <= most:
        return Check("sill", "yes", working, source=source)
    if short < 0:
        return Check(
            "sill", "ask", working, "Trim the sill to its length first, if its ends allow.", source=source
        )
    if taped.sill_nm < width.size_nm:
        return Check(
            "sill",
            "no",
            f"{working} The frame is {_mm(width.size_nm)} mm wide, so the sill does not reach under it all.",
            "Leave the old window in and order the sill afresh.",
            source=source,
        )
    do = "Leave the old window in until the office has decided whether the shorter sill still serves."
    return Check("sill", "ask", working, do, source=source)


def glass_check(taped: Taped, ordered: OpeningResult, figures: ArrivalFigures) -> Check | None:
    """The mark of the safety glass that was ordered; None where none was."""
    kinds = sorted({glazed.safety for glazed in ordered.sized.glazed if glazed.safety != "none"})
    if not kinds:
        return None
    if taped.glass_mark is None:
        return Check(
            "glass",
            "ask",
            f"{' and '.join(kinds).capitalize()} glass was ordered; no mark was read in the pane.",
            "Look for the lasting mark in a corner of each pane. Without it nobody can tell the glass from "
            "ordinary.",
            source=figures.sources[kinds[0]],
        )
    digits = "".join(sign for sign in taped.glass_mark if sign.isdigit() or sign == " ")
    missing = [kind for kind in kinds if not any(number in digits for number in figures.marks[kind])]
    names = "; ".join(f"{kind}: EN {' or EN '.join(figures.marks[kind])}" for kind in kinds)
    working = f'Ordered {" and ".join(kinds)}, whose mark names {names}. Read: "{taped.glass_mark}".'
    if missing:
        return Check(
            "glass",
            "ask",
            working,
            f"Have the office confirm the glass: the mark names none for {' and '.join(missing)} glass.",
            source=figures.sources[missing[0]],
        )
    return Check("glass", "yes", working, source=figures.sources[kinds[0]])


def worst_of(checks: list[Check]) -> Verdict:
    """The verdict of all checks together."""
    return WORST[max((WORST.index(check.verdict) for check in checks), default=0)]


def other_frames(
    taped: OpeningResult, results: tuple[OpeningResult, ...], figures: ArrivalFigures, *, but: str
) -> Iterator[str]:
    """Other openings of the order whose ordered frame has the taped size."""
    width, height = taped.sized.width, taped.sized.height
    for result in results:
        sized = result.sized
        if width is None or height is None:
            return
        if sized.opening.opening_ref in (None, but) or sized.width is None or sized.height is None:
            continue
        pairs = ((width.size_nm, sized.width.size_nm), (height.size_nm, sized.height.size_nm))
        if all(abs(one - two) <= figures.frame_differs_nm + figures.tape_nm(one) for one, two in pairs):
            yield str(sized.opening.opening_ref)
