"""Low windows over a drop: a caution that refuses nothing."""

from fractions import Fraction
from typing import Final

from sawready.calc.plan import NM
from sawready.catalogue.building import building_figures
from sawready.model.shown import apart, plain, quantity
from sawready.rules.registry import NOTE, Hit, Hits, NotJudged, known, rule
from sawready.rules.where import light_in_words
from sawready.sizing import Sized

_GROUND: Final = 0


@rule(
    reason="guarding-to-check",
    about="rules",
    severity=NOTE,
    needs=("lights", "rulebook"),
    asks=("guarding_figures", "floor_to_sill"),
    title="A low window over a drop, which may need guarding",
    message="{lights} {height} mm above the floor{storey}; below {limit} mm a window over a drop is "
    "guarded{drop}.",
    remedy="Check the drop outside: fit guarding or a restrictor to what opens, and glass that holds a "
    "person to what does not. Local codes and licensed practice decide.",
    source="rulebook, guarding.below_mm",
)
def guarding_to_check(ctx: Sized) -> Hits:
    """Children climb and lean: a low window high up is guarded, or somebody falls out of it.

    An order does not state the drop, so from the first floor up a drop is taken to be there, and also
    where the storey is not stated; on the ground floor none is.
    """
    plan, rulebook, opening = known(ctx.plan), known(ctx.rulebook), ctx.opening
    if opening.storey is not None and opening.storey <= _GROUND:
        return ()
    figures = building_figures(rulebook)
    below = figures.guard_below
    if below is None:
        return (NotJudged(f"rulebook {rulebook.name} has no figure for it"),)
    if opening.floor_to_sill_nm is None:
        return (NotJudged(ctx.missing["floor_to_sill"]),)
    if opening.floor_to_sill_nm >= figures.guard_below_nm:
        return ()
    bottom = (opening.floor_to_sill_nm + known(ctx.height).size_nm) * plan.denominator
    limit = figures.guard_below_nm * plan.denominator
    low = [
        (bottom - ctx.values[light.y[1]], number)
        for number, light in enumerate(plan.lights)
        if bottom - ctx.values[light.y[1]] < limit
    ]
    if not low:
        return ()
    lowest = Fraction(min(low)[0], plan.denominator * NM)
    text, bound = apart(lowest, below.number)
    names = ", ".join(light_in_words(plan, number) for _, number in low)
    facts = {
        "lights": f"{names[:1].upper()}{names[1:]} begin{'s' if len(low) == 1 else ''}",
        "height": plain(lowest, len(text.split(".")[1])),
        "storey": " on a storey that is not stated"
        if opening.storey is None
        else f" on storey {opening.storey}",
        "limit": plain(below.number),
        "drop": ""
        if figures.drop_over is None
        else f", a drop of more than {plain(figures.drop_over.number)} mm",
    }
    return (
        Hit(
            "floor_to_sill",
            facts,
            measured=quantity(text, "mm"),
            limit=quantity(bound, "mm"),
            source=below.cited,
        ),
    )
