"""Glass: its unit, its bead, its size, and where it has to be safety glass."""

from fractions import Fraction
from typing import Final

from sawready.catalogue.policy import policy
from sawready.model.shown import apart, mm, plain, quantity
from sawready.rules.registry import QUERY, REJECT, Hit, Hits, declare, rule
from sawready.sizing import Sized

GLAZING_UNIT_UNREADABLE: Final = declare(
    reason="glazing-unit-unreadable",
    about="glazing",
    severity=REJECT,
    title="A glass unit that cannot be read",
    why="The unit decides bead, glass thickness and mass; a guess at it makes beads that do not hold.",
    message='The glass unit "{text}" cannot be read: {because}.',
    remedy="Write panes and cavities from outside, such as 4-20-4.",
    source="contract of the order, section 1",
)


@rule(
    reason="glazing-no-bead",
    about="glazing",
    severity=REJECT,
    needs=("glass", "system"),
    title="No bead of the system holds this unit",
    message="The unit {unit} is {thick} mm thick; {system} has beads for {known}.",
    remedy="Choose a unit of one of those thicknesses, or another system.",
    source="profile system, beads",
)
def glazing_no_bead(ctx: Sized) -> Hits:
    """With the wrong bead the glass is loose, leaks, or cannot be got in."""
    glass, system = ctx.opening.glass, ctx.system
    assert glass is not None  # noqa: S101 - the rule needs it
    assert system is not None  # noqa: S101 - the rule needs it
    if ctx.bead is not None:
        return ()
    facts = {
        "unit": glass.text,
        "thick": plain(glass.thickness_mm, 2),
        "system": system.name,
        "known": ", ".join(f"{plain(bead.unit_mm)} mm" for bead in system.beads),
    }
    return (
        Hit(
            "glazing/unit",
            facts,
            measured=quantity(plain(glass.thickness_mm, 2), "mm"),
            candidates=[float(bead.unit_mm) for bead in system.beads],
            source=system.source,
        ),
    )


@rule(
    reason="glass-too-large",
    about="glazing",
    severity=REJECT,
    needs=("lights", "glass"),
    title="A pane larger than glass is made",
    message="The pane of light {light} is {width} x {height} mm; a sheet is {short} x {long} mm.",
    remedy="Divide the light.",
    source="catalogue, policy: largest_sheet_mm",
)
def glass_too_large(ctx: Sized) -> Hits:
    """A pane that does not come out of a full sheet cannot be had at any price."""
    short, long = policy().largest_sheet_mm
    hits = []
    for number, glazed in enumerate(ctx.glazed):
        small, large = sorted(glazed.glass_mm)
        if small <= short and large <= long:
            continue
        measured, limit = (small, short) if small > short else (large, long)
        facts = {
            "light": number + 1,
            "width": glazed.glass_mm[0],
            "height": glazed.glass_mm[1],
            "short": short,
            "long": long,
        }
        hits.append(
            Hit(
                "layout",
                facts,
                measured=quantity(str(measured), "mm"),
                limit=quantity(str(limit), "mm"),
                source=policy().sources["largest_sheet_mm"],
            )
        )
    return hits


@rule(
    reason="safety-glass-needed",
    about="glazing",
    severity=REJECT,
    needs=("lights", "floor_to_sill", "safety_figures"),
    title="Ordinary glass where people can fall against it",
    message="The glass of light {light} begins {height} mm above the floor; below {limit} mm it has to be safety "
    "glass, and {safety} is ordered.",
    remedy="Order toughened or laminated glass for this light. Local codes and licensed practice decide.",
    source="rulebook, glazing.safety_window_below_mm",
)
def safety_glass_needed(ctx: Sized) -> Hits:
    """Ordinary glass low in a wall breaks into blades under a stumbling child."""
    plan, opening, rulebook, height = ctx.plan, ctx.opening, ctx.rulebook, ctx.height
    if plan is None or rulebook is None or height is None or opening.floor_to_sill_nm is None:
        return ()
    figure = rulebook.figure("glazing.safety_window_below_mm")
    bottom_of_frame = (opening.floor_to_sill_nm + height.size_nm) * plan.denominator
    floor = figure.nm * plan.denominator
    hits = []
    for number, (light, glazed) in enumerate(zip(plan.lights, ctx.glazed, strict=False)):
        if glazed.safety != "none" or bottom_of_frame - ctx.values[light.glass_y[1]] >= floor:
            continue
        limit = Fraction(figure.number)
        above = mm(opening.floor_to_sill_nm + height.size_nm) - ctx.mm(light.glass_y[1])
        text, bound = apart(above, limit)
        facts = {
            "light": number + 1,
            "height": plain(above, len(text.split(".")[1])),
            "limit": plain(limit),
            "safety": "none",
        }
        hits.append(
            Hit(
                "glazing/safety",
                facts,
                measured=quantity(text, "mm"),
                limit=quantity(bound, "mm"),
                severity=None if figure.may_reject else QUERY,
                source=figure.source,
            )
        )
    return hits
