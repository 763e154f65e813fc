"""Frame against aperture: size, gaps, readings, diagonals, extenders."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache

from sawready.calc.fit import NM, AxisFit
from sawready.catalogue.profiles import ProfileSystem
from sawready.model.shown import apart, mm, plain, quantity, shown
from sawready.rules.registry import NOTE, QUERY, REJECT, Bound, Hit, Hits, known, rule
from sawready.sizing import Sized

_SHORT = ("left", "right", "top", "bottom")


def _side(ctx: Sized, number: int) -> str:
    """A side as a message names it; the sizes see the opening from outside, the order perhaps not."""
    is_doubtful = ctx.is_turned and number < 2
    return f"{_SHORT[number]} (from outside)" if is_doubtful else _SHORT[number]


def _too_large(ctx: Sized, fit: AxisFit | None, axis: int) -> Hits:
    """The hit of a stated frame that leaves less than its gaps, lean or no lean."""
    if fit is None or fit.stated_nm is None or not fit.is_too_large:
        return ()
    if fit.lean_numerator and fit.fits_without_lean:
        return ()
    side = Fraction(fit.room_numerator(), 2 * fit.lean_denominator)
    needed = Fraction(fit.gap_nm[0] + fit.gap_nm[1], 2)
    left, wanted = apart(mm(side), mm(needed))
    name = ("width", "height")[axis]
    remedy = None
    if axis == 1 and not fit.upstand_nm:
        remedy = "Make the frame {most} mm high or less."
    elif axis == 1 and ctx.opening.height_includes_sill:
        remedy = "Make the height {most_with_sill} mm or less with its sill, which is {most} mm without."
    figure = ctx.gaps[axis]
    own = any(gap is not None for gap in ctx.opening.own_gap_nm[2 * axis : 2 * axis + 2])
    return (
        Hit(
            f"frame/{name}",
            {
                "frame": _stated(fit),
                "left": left,
                "over": plain(mm(-2 * side)),
                "where": ("a side", "each at head and bottom")[axis],
                "aperture": plain(mm(fit.least_nm)),
                "needed": wanted,
                "taken": _taken(fit),
                "most": plain(mm(fit.worked_nm)),
                "most_with_sill": plain(mm(fit.worked_nm + fit.upstand_nm)),
            },
            measured=quantity(left, "mm"),
            limit=quantity(wanted, "mm"),
            source="own gap of the order" if own or figure is None else figure.source,
            message=None if side >= 0 else _LARGER_THAN_APERTURE,
            remedy=remedy,
        ),
    )


_LARGER_THAN_APERTURE = "Frame {frame} mm{taken} is {over} mm more than its {aperture} mm aperture; {needed} mm {where} is needed."


def _stated(fit: AxisFit) -> str:
    """A stated frame size, with as many decimals as tell it from the one that would fit."""
    text, _ = apart(mm(fit.size_nm), mm(fit.worked_nm))
    return text.rstrip("0").rstrip(".")


def _taken(fit: AxisFit) -> str:
    """What comes off besides the frame, in words."""
    parts = []
    if fit.upstand_nm:
        parts.append(f"{plain(mm(fit.upstand_nm))} mm of sill")
    if fit.extender_nm[0] or fit.extender_nm[1]:
        parts.append(f"{plain(mm(fit.extender_nm[0] + fit.extender_nm[1]))} mm of extenders")
    if fit.lean_numerator:
        lean = Fraction(fit.lean_numerator, fit.lean_denominator)
        parts.append(f"{shown(mm(lean))} mm of lean")
    return f" with {' and '.join(parts)}" if parts else ""


@rule(
    reason="frame-too-wide",
    about="size",
    severity=REJECT,
    needs=("width",),
    title="Frame too wide for its aperture",
    message="Frame {frame} mm{taken} leaves {left} mm a side in a {aperture} mm aperture; {needed} mm is needed.",
    remedy="Make the frame {most} mm wide or less.",
    source="rulebook, gap_per_side_mm",
)
def frame_too_wide(ctx: Sized) -> Hits:
    """A frame without its gap has no room for packers, nor for the plastic to grow in the sun: it bows."""
    return _too_large(ctx, ctx.width, 0)


@rule(
    reason="frame-too-tall",
    about="size",
    severity=REJECT,
    needs=("height",),
    title="Frame too tall for its aperture",
    message="Frame {frame} mm{taken} leaves {left} mm each at head and bottom in a {aperture} mm aperture; "
    "{needed} mm is needed.",
    remedy="Make the frame {most} mm high or less, the sill not counted.",
    source="rulebook, gap_per_side_mm",
)
def frame_too_tall(ctx: Sized) -> Hits:
    """A frame too tall does not go in over its sill, or carries the wall above it."""
    return _too_large(ctx, ctx.height, 1)


@rule(
    reason="frame-will-not-stand-plumb",
    about="size",
    severity=REJECT,
    needs=("width", "height", "diagonals"),
    title="Frame fits only if it leans with the opening",
    message="The opening leans by {lean} mm; stood plumb in it, the frame of {frame} mm leaves {left} mm {where}; "
    "{needed} mm is needed.",
    remedy="Make the frame {most} mm {way} or less.",
    source="geometry of the parallelogram; gap of the rulebook",
)
def frame_will_not_stand_plumb(ctx: Sized) -> Hits:
    """Sashes of a frame that leans with its opening swing by themselves, bind and leak."""
    for axis, fit in enumerate((ctx.width, ctx.height)):
        if fit is None or fit.stated_nm is None or not fit.lean_numerator:
            continue
        if fit.is_too_large and fit.fits_without_lean:
            room = Fraction(fit.room_numerator(), 2 * fit.lean_denominator)
            left, wanted = apart(mm(room), mm(Fraction(fit.gap_nm[0] + fit.gap_nm[1], 2)))
            facts = {
                "lean": shown(mm(Fraction(fit.lean_numerator, fit.lean_denominator))),
                "frame": _stated(fit),
                "left": left,
                "over": plain(mm(-2 * room)),
                "where": ("a side", "each at head and bottom")[axis],
                "needed": wanted,
                "most": plain(mm(fit.worked_nm)),
                "way": ("wide", "high")[axis],
            }
            at = ("frame/width", "frame/height")[axis]
            message = None if room >= 0 else _NO_ROOM_PLUMB
            return (
                Hit(at, facts, measured=quantity(left, "mm"), limit=quantity(wanted, "mm"), message=message),
            )
    return ()


_NO_ROOM_PLUMB = (
    "The opening leans by {lean} mm; stood plumb in it, the frame of {frame} mm is {over} mm too large even without "
    "its gaps, and {needed} mm {where} is needed."
)


@lru_cache(maxsize=256)
def _frame_limits(system: ProfileSystem) -> tuple[tuple[int, int], tuple[int, int]]:
    """Least and greatest width and height of a frame. [nm]"""
    width, height = system.frame_width_mm, system.frame_height_mm
    return (int(width[0] * NM), int(width[1] * NM)), (int(height[0] * NM), int(height[1] * NM))


def _frames(ctx: Sized) -> Iterator[Bound]:
    """The frame is within the system's sizes, where lights could be worked out."""
    plan = known(ctx.plan)
    for member, limits in zip(plan.members[::2], _frame_limits(known(ctx.system)), strict=False):
        least_nm, most_nm = limits
        yield member.finished, least_nm * plan.denominator, most_nm * plan.denominator


@rule(
    reason="frame-size-out-of-range",
    about="size",
    severity=REJECT,
    needs=("system",),
    within=_frames,
    title="Frame smaller or larger than the system allows",
    message="Frame {name} {frame} mm lies outside the {least} to {most} mm of {system}.",
    remedy="Choose a system that reaches this size, couple two frames, or check the survey.",
    source="profile system, frame_size",
)
def frame_size_out_of_range(ctx: Sized) -> Hits:
    """Outside its range a system cannot be welded, reinforced or hung as its maker has tested it."""
    system = ctx.system
    assert system is not None  # noqa: S101 - the rule needs it
    hits: list[Hit] = []
    for axis, fit in enumerate((ctx.width, ctx.height)):
        if fit is None:
            hits += _beyond_table(ctx, axis)
            continue
        least_nm, most_nm = _frame_limits(system)[axis]
        if not least_nm <= fit.size_nm <= most_nm:
            name = ("width", "height")[axis]
            least, most = mm(least_nm), mm(most_nm)
            limit = least if mm(fit.size_nm) < least else most
            text, _ = apart(mm(fit.size_nm), limit)
            facts = {
                "name": name,
                "frame": plain(mm(fit.size_nm), 3),
                "least": plain(least),
                "most": plain(most),
                "system": system.name,
            }
            at = f"frame/{name}" if fit.stated_nm is not None else f"{name}s"
            hits.append(
                Hit(
                    at,
                    facts,
                    measured=quantity(text, "mm"),
                    limit=quantity(shown(limit), "mm"),
                    source=system.source,
                )
            )
    return hits


def _beyond_table(ctx: Sized, axis: int) -> tuple[Hit, ...]:
    """A reading for which the rulebook's gap table has no row."""
    name = ("width", "height")[axis]
    because = ctx.missing.get(name, "")
    if "gap table" not in because or ctx.rulebook is None:
        return ()
    table = ctx.rulebook.figure("gap_per_side_mm")
    readings = (ctx.opening.widths_nm, ctx.opening.heights_nm)[axis]
    least = min(reading for reading in readings if reading is not None)
    return (
        Hit(
            f"{name}s",
            {"name": name, "reading": plain(mm(least)), "rulebook": ctx.rulebook.name},
            measured=quantity(shown(mm(least)), "mm"),
            message="The gap table of rulebook {rulebook} has no row for a {name} of {reading} mm, so no frame "
            "can be worked out.",
            remedy="Couple two frames, or state the gap of each side on the order.",
            source=table.source,
        ),
    )


@rule(
    reason="gap-below-rulebook",
    about="size",
    severity=REJECT,
    needs=("rulebook",),
    title="The order's own gap is below the rulebook's",
    message="A gap of {gap} mm at the {side} is stated; {least} mm is the least for {what}.",
    remedy="State {least} mm or more, or leave the gap to the rulebook.",
    source="rulebook, gap_per_side_mm",
)
def gap_below_rulebook(ctx: Sized) -> Hits:
    """A gap that is agreed too small is still too small: the plastic grows all the same."""
    if not ctx.opening.has_own_gap:
        return ()
    hits = []
    for number, own in enumerate(ctx.opening.own_gap_nm):
        figure = ctx.gaps[number // 2]
        if own is None or figure is None or own >= figure.nm:
            continue
        gap, least = apart(mm(own), figure.mm)
        facts = {
            "gap": gap,
            "side": _side(ctx, number),
            "least": least,
            "what": f"a {ctx.opening.colour_class} frame of this {('width', 'height')[number // 2]}",
        }
        hits.append(
            Hit(
                f"gap/{_SHORT[number]}",
                facts,
                measured=quantity(gap, "mm"),
                limit=quantity(least, "mm"),
                severity=None if figure.may_reject else QUERY,
                source=figure.source,
            )
        )
    return hits


@rule(
    reason="gap-too-large",
    about="size",
    severity=QUERY,
    needs=("rulebook",),
    title="The joint would be wider than it can be sealed",
    message="At the largest {name}, {largest} mm, the joint is {gap} mm {where}; {most} mm is the most.",
    remedy="Measure the {name} again, or add extenders.",
    source="rulebook, gap_most_per_side_mm",
)
def gap_too_large(ctx: Sized) -> Hits:
    """A joint too wide cannot be sealed to last, and often means that a size was taken off twice."""
    hits = []
    own_gaps = ctx.opening.own_gap_nm
    for number, own in enumerate(own_gaps if own_gaps != _NO_GAPS else ()):
        most = ctx.gaps_most[number // 2]
        if own is not None and most is not None and own > most.nm:
            gap, limit = apart(mm(own), most.mm)
            hits.append(
                Hit(
                    f"gap/{_SHORT[number]}",
                    {"gap": gap, "side": _side(ctx, number), "most": limit},
                    measured=quantity(gap, "mm"),
                    limit=quantity(limit, "mm"),
                    message="A gap of {gap} mm at the {side} is stated; {most} mm is the most.",
                    remedy="State {most} mm or less, or leave the gap to the rulebook.",
                    source=most.source,
                )
            )
    for axis, fit in enumerate((ctx.width, ctx.height)):
        most = ctx.gaps_most[axis]
        if fit is None or most is None or fit.most_nm - fit.size_nm - fit.taken_nm <= 2 * most.nm:
            continue
        if any(hit.at.startswith("gap/") and _SHORT.index(hit.at[4:]) // 2 == axis for hit in hits):
            continue
        name = ("width", "height")[axis]
        gap, limit = apart(mm(Fraction(fit.widest_room_nm, 2)), most.mm)
        smallest = fit.most_nm - fit.taken_nm - 2 * most.nm
        facts = {
            "name": name,
            "largest": plain(mm(fit.most_nm)),
            "gap": gap,
            "where": ("a side", "each at head and bottom")[axis],
            "most": limit,
            "way": ("wide", "high")[axis],
            "smallest": plain(-mm(-smallest // _TENTH * _TENTH)),
        }
        remedy = None
        if fit.stated_nm is not None and smallest <= fit.worked_nm:
            remedy = "Make the frame {smallest} mm {way} or more, or add extenders."
            if axis == 1 and fit.upstand_nm:
                remedy = "Make the frame {smallest} mm high or more, the sill not counted, or add extenders."
        at = f"frame/{name}" if fit.stated_nm is not None else f"{name}s"
        hits.append(
            Hit(
                at,
                facts,
                measured=quantity(gap, "mm"),
                limit=quantity(limit, "mm"),
                source=most.source,
                remedy=remedy,
            )
        )
    return hits


_TENTH = NM // 10
_NO_GAPS = (None, None, None, None)


@rule(
    reason="aperture-out-of-square",
    about="size",
    severity=NOTE,
    needs=("diagonals",),
    title="The opening is out of square",
    message="The diagonals differ by {differ} mm: the opening leans {lean} mm, which comes off the frame's {way}.",
    remedy="Pack the frame plumb; expect a joint that tapers by the lean.",
    source="rulebook, survey.diagonals_differ_from_mm; geometry of the parallelogram",
)
def aperture_out_of_square(ctx: Sized) -> Hits:
    """A frame stands plumb in a leaning hole only if it is smaller by the lean."""
    lean = ctx.lean
    assert lean is not None  # noqa: S101 - the rule needs the diagonals
    assert ctx.rulebook is not None  # noqa: S101 - the diagonals need it
    fit = ctx.height if ctx.opening.is_head_sloping else ctx.width
    if not lean.counts and (fit is None or 2 * lean.numerator <= min(fit.gap_nm) * lean.denominator):
        return ()
    way = "height" if ctx.opening.is_head_sloping else "width"
    facts = {"differ": plain(mm(lean.differ_nm)), "lean": shown(mm(lean.nm)), "way": way}
    if lean.counts or fit is None:
        differ, tolerance = apart(mm(lean.differ_nm), mm(ctx.rulebook.diagonals_differ_from_nm))
        return (Hit("diagonals", facts, measured=quantity(differ, "mm"), limit=quantity(tolerance, "mm")),)
    facts["part"] = "head" if ctx.opening.is_head_sloping else "jambs"
    facts["differ"] = plain(mm(lean.differ_nm), 2)
    facts["lean"], facts["half"] = apart(mm(lean.nm), mm(Fraction(min(fit.gap_nm), 2)))
    return (
        Hit(
            "diagonals",
            facts,
            measured=quantity(facts["lean"], "mm"),
            limit=quantity(facts["half"], "mm"),
            message="The diagonals differ by {differ} mm, within tape accuracy, but that can hide a lean of {lean} mm: "
            "more than half of one side's gap ({half} mm).",
            remedy="Check the {part} with a level before fitting; nothing was taken off for it.",
        ),
    )


@rule(
    reason="diagonals-disagree",
    about="size",
    severity=QUERY,
    needs=("diagonals",),
    title="Sides and diagonals cannot belong to one opening",
    message="Sides and diagonals are {misfit} mm from belonging to one opening with parallel sides; "
    "{limit} mm is the most.",
    remedy="Measure widths, heights and both diagonals again; one of them is wrong.",
    source="rulebook, survey.diagonals_against_sides_mm; parallelogram law",
)
def diagonals_disagree(ctx: Sized) -> Hits:
    """One of the readings is wrong, and the frame would be made to it."""
    lean, rulebook = ctx.lean, ctx.rulebook
    assert lean is not None  # noqa: S101 - the rule needs the diagonals
    assert rulebook is not None  # noqa: S101 - the diagonals need it
    if lean.misfit_nm <= rulebook.diagonals_against_sides_nm:
        return ()
    misfit, limit = apart(mm(lean.misfit_nm), mm(rulebook.diagonals_against_sides_nm))
    return (
        Hit(
            "diagonals",
            {"misfit": misfit, "limit": limit},
            measured=quantity(misfit, "mm"),
            limit=quantity(limit, "mm"),
            source=rulebook.figure("survey.diagonals_against_sides_mm").source,
        ),
    )


@rule(
    reason="readings-disagree",
    about="size",
    severity=QUERY,
    needs=("rulebook",),
    title="Readings of one side are far apart",
    message="The {name}s {readings} mm lie {spread} mm apart; more than {limit} mm is questioned.",
    remedy="Measure the {name} again, or answer that the wall is so.",
    source="rulebook, survey.readings_spread_mm",
)
def readings_disagree(ctx: Sized) -> Hits:
    """Walls taper a little; a large step between readings is more often a slip of the tape or the pen."""
    rulebook = ctx.rulebook
    assert rulebook is not None  # noqa: S101 - the rule needs it
    hits = []
    for name, readings in (("width", ctx.opening.widths_nm), ("height", ctx.opening.heights_nm)):
        taken: Sequence[int] = readings  # type: ignore[assignment] # the next line sees to a None in it
        if None in readings:
            taken = [reading for reading in readings if reading is not None]
        if len(taken) < 2 or max(taken) - min(taken) <= rulebook.readings_spread_nm:
            continue
        spread, limit = apart(mm(max(taken) - min(taken)), mm(rulebook.readings_spread_nm))
        facts = {
            "name": name,
            "readings": ", ".join(plain(mm(reading)) for reading in taken),
            "spread": plain(mm(max(taken) - min(taken)), len(spread.split(".")[1])),
            "limit": plain(mm(rulebook.readings_spread_nm)),
        }
        hits.append(
            Hit(
                f"{name}s",
                facts,
                measured=quantity(spread, "mm"),
                limit=quantity(limit, "mm"),
                source=rulebook.figure("survey.readings_spread_mm").source,
            )
        )
    return hits


@rule(
    reason="extender-width-unknown",
    about="openers",
    severity=REJECT,
    needs=("system",),
    title="An extender width that the system does not have",
    message="An extender of {width} mm at the {side} is ordered; {system} has {known}.",
    remedy="{remedy}",
    source="profile system, extender",
)
def extender_width_unknown(ctx: Sized) -> Hits:
    """Another width cannot be bought, so the frame would come out larger or smaller than the hole needs."""
    system = ctx.system
    assert system is not None  # noqa: S101 - the rule needs it
    if not any(ctx.opening.extenders_nm):
        return ()
    hits = []
    widths = () if system.extender is None else system.extender.widths_mm
    for number, width in enumerate(ctx.opening.extenders_nm):
        if not width or mm(width) in widths:
            continue
        listed = ", ".join(f"{plain(each)} mm" for each in widths) or "no extender"
        remedy = f"Order one of {listed}." if widths else "Leave the extender out, or choose another system."
        facts = {
            "width": plain(mm(width), 3),
            "side": _side(ctx, number),
            "system": system.name,
            "known": listed,
            "remedy": remedy,
        }
        hits.append(
            Hit(
                f"extenders/{_SHORT[number]}",
                facts,
                measured=quantity(plain(mm(width), 3), "mm"),
                candidates=[float(each) for each in widths],
            )
        )
    return hits
