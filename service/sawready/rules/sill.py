"""The sill: its profile, how its ends meet the wall, how far it stands proud."""

from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.fit import NM
from sawready.catalogue.profiles import ProfileSystem, Sill
from sawready.model.shown import apart, mm, plain, quantity
from sawready.rules.registry import QUERY, REJECT, Hit, Hits, declare, rule
from sawready.sizing import Sized

SILL_HORNS_MISSING: Final = declare(
    reason="sill-horns-missing",
    about="sill",
    severity=REJECT,
    title="A sill that runs into the wall without its horns stated",
    why="The horns decide the length of the sill; a sill cut too short cannot be lengthened.",
    message="The {side} horn of the sill is missing; {fit} needs both.",
    remedy="State both horns in full, each from the reveal; 0 where one end has none.",
    source="contract of the order, section 1",
)


@rule(
    reason="sill-profile-unknown",
    about="sill",
    severity=REJECT,
    needs=("sill", "system"),
    title="No sill profile of that projection",
    message="A sill of {wanted} mm is ordered; {system} has {known}.",
    remedy="Order one of those, or choose another system.",
    source="profile system, sills",
)
def sill_profile_unknown(ctx: Sized) -> Hits:
    """The sill's profile decides how much of the height it takes, and with it the frame's height."""
    order, system = ctx.opening.sill, ctx.system
    assert order is not None  # noqa: S101 - the rule needs a sill
    assert system is not None  # noqa: S101 - the rule needs it
    if ctx.sill is not None or order.projection_nm is None:
        return ()
    known = ", ".join(f"{plain(sill.projection_mm)} mm" for sill in system.sills) or "no sill"
    wanted = plain(mm(order.projection_nm), 3)
    return (
        Hit(
            "sill/projection",
            {"wanted": wanted, "system": system.name, "known": known},
            measured=quantity(wanted, "mm"),
            candidates=[float(sill.projection_mm) for sill in system.sills],
            source=system.source,
            remedy=None if system.sills else "Leave the sill out, or choose another system.",
        ),
    )


@rule(
    reason="sill-fit-contradiction",
    about="sill",
    severity=REJECT,
    title="What is said of the sill cannot all be true",
    message="{what}",
    remedy="{remedy}",
    source="contract of the order, section 1",
)
def sill_fit_contradiction(ctx: Sized) -> Hits:
    """Two statements that exclude each other would give two lengths or two heights; one must go."""
    sill = ctx.opening.sill
    if sill is None:
        if (
            ctx.opening.height_includes_sill
            and ctx.opening.stated_height_nm is not None
            and not ctx.missing["sill"]
        ):
            facts = {
                "what": "The frame's height is said to include a sill, yet no sill is ordered.",
                "remedy": "Order the sill, or state height_includes_sill as false.",
            }
            return (Hit("frame/height_includes_sill", facts),)
        return ()
    horns = (sill.horn_left_nm, sill.horn_right_nm)
    if sill.fit == "between_reveals" and any(horns):
        longest = max(horn for horn in horns if horn is not None)
        text = plain(mm(longest))
        facts = {
            "what": f"The sill is to fit between the reveals, yet a horn of {text} mm is stated.",
            "remedy": "Leave the horns out, or state horns_into_wall or notched_round_brick.",
        }
        return (Hit("sill/fit", facts, measured=quantity(text, "mm")),)
    if sill.fit is not None and sill.fit != "between_reveals" and horns == (0, 0):
        facts = {
            "what": f"The sill is to run past the reveals ({sill.fit}), yet both horns are 0.",
            "remedy": "State the horns, or between_reveals.",
        }
        return (Hit("sill/fit", facts),)
    return ()


@lru_cache(maxsize=1024)
def _reach_nm(sill: Sill, system: ProfileSystem) -> int:
    """How far the sill reaches past the frame's outer face. [nm]"""
    return int((sill.projection_mm - system.depth_mm) * NM)


@rule(
    reason="sill-overhang",
    about="sill",
    severity=QUERY,
    needs=("sill_profile", "set_back"),
    title="The sill reaches too far out, or not far enough",
    message="The sill reaches {overhang} mm past the wall face ({projection} - {depth} deep - {set_back} set back); "
    "{least} to {most} mm is usual.",
    remedy="Choose another projection or set-back.",
    source="rulebook, sill_overhang_mm",
)
def sill_overhang(ctx: Sized) -> Hits:
    """A sill that ends short of the wall face sheds its water into the wall; one too far out breaks off."""
    opening, system, rulebook, sill = ctx.opening, ctx.system, ctx.rulebook, ctx.sill
    if system is None or rulebook is None or sill is None or opening.set_back_nm is None:
        return ()
    reach_nm = _reach_nm(sill, system) - opening.set_back_nm
    least_nm, most_nm = rulebook.sill_overhang_nm
    if least_nm <= reach_nm <= most_nm:
        return ()
    overhang, least, most = mm(reach_nm), mm(least_nm), mm(most_nm)
    text, limit = apart(overhang, least if overhang < least else most)
    facts = {
        "overhang": text,
        "projection": plain(sill.projection_mm),
        "depth": plain(system.depth_mm),
        "set_back": plain(mm(opening.set_back_nm)),
        "least": plain(least),
        "most": plain(most),
    }
    nearest, farthest = (sill.projection_mm - system.depth_mm - past for past in (most, least))
    nearest = max(nearest, Fraction(0))
    remedy = None
    if nearest < farthest:
        facts |= {"nearest": plain(nearest), "farthest": plain(farthest)}
        remedy = "Set the frame {nearest} to {farthest} mm back, or choose another projection."
    source = rulebook.figure("sill_overhang_mm").source
    measured, bound = quantity(text, "mm"), quantity(limit, "mm")
    if overhang <= 0:
        return (
            Hit(
                "sill/projection",
                facts,
                measured=measured,
                limit=bound,
                severity=REJECT,
                source="geometry: sill, frame depth and set-back",
                message="The sill does not reach past the wall face: {projection} - {depth} deep - {set_back} set back "
                "is {overhang} mm.",
                remedy=remedy or "Choose a deeper sill, or set the frame farther out.",
            ),
        )
    return (Hit("sill/projection", facts, measured=measured, limit=bound, source=source, remedy=remedy),)
