"""Glass: its unit, its bead, its size."""

from collections.abc import Iterator
from typing import Final

from sawready.calc.plan import NM
from sawready.catalogue.policy import policy
from sawready.model.shown import plain, quantity
from sawready.rules.registry import REJECT, Bound, Hit, Hits, declare, known, rule
from sawready.sizing import Sized

GLAZING_UNIT_UNREADABLE: Final = declare(
    reason="glazing-unit-unreadable",
    about="glazing",
    severity=REJECT,
    title="A glass unit that cannot be read",
    why="The unit decides bead, glass thickness and mass; a guess at it makes beads that do not hold.",
    message="The glass unit cannot be read: {because}.",
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


def _sheets(ctx: Sized) -> Iterator[Bound]:
    """Every pane comes out of a sheet, laid the way this one lies."""
    plan = known(ctx.plan)
    over = plan.denominator * NM
    short, long = policy().largest_sheet_mm
    for light in plan.lights:
        across, up = light.glass
        is_upright = ctx.values[across] <= ctx.values[up]
        yield across, None, (short if is_upright else long) * over
        yield up, None, (long if is_upright else short) * over


@rule(
    reason="glass-too-large",
    about="glazing",
    severity=REJECT,
    needs=("lights", "glass"),
    within=_sheets,
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
