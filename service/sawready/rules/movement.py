"""Growth of a frame in the sun against the gaps that are left for it."""

from fractions import Fraction
from functools import lru_cache
from typing import Final

from sawready.calc.expansion import movement_fits_gap
from sawready.calc.fit import NM, AxisFit
from sawready.catalogue.building import building_figures
from sawready.catalogue.figures import Figure
from sawready.catalogue.physics import physics
from sawready.catalogue.rulebook import Rulebook
from sawready.model.shown import apart, mm, plain, quantity
from sawready.rules.registry import NOTE, Hit, Hits, NotJudged, known, rule
from sawready.sizing import Sized

_MM_PER_M: Final = 1000


@lru_cache(maxsize=16)
def expansion_per_k(material: str) -> float | None:
    """Coefficient of expansion of a frame material; None where there is no figure. [1/K]."""
    return physics().column("materials.expansion", by="material", value="alpha_per_k").get(material)


@lru_cache(maxsize=256)
def _growth(rulebook: Rulebook, material: str, colour_class: str) -> float | str:
    """Growth over length, or which figure is missing."""
    rise, alpha = building_figures(rulebook).rise_k.get(colour_class), expansion_per_k(material)
    if rise is None:
        return f"rulebook {rulebook.name} has no figure for it"
    if alpha is None:
        return f"there is no figure for the material {material}"
    return alpha * float(rise.number)


@rule(
    reason="expansion-exceeds-gap",
    about="size",
    severity=NOTE,
    needs=("width", "height", "rulebook", "system"),
    asks=("expansion_figures",),
    title="A frame that may grow more than its gaps",
    message="In the sun the frame may grow {movement} mm in its {name} of {frame} mm ({alpha} mm per m and K "
    "x {rise} K); {gap} mm are left at its two ends together.",
    remedy="Leave larger gaps, and fix it so that it can slide.",
    source="rulebook, expansion",
)
def expansion_exceeds_gap(ctx: Sized) -> Hits:
    """A frame that finds no room bows, and its sashes bind on the hottest day of the year.

    Free growth by colour class against the gaps at both ends. The rise of temperature is a starting value,
    and a fixed or reinforced frame moves less, so this is a note beside the gaps of the rulebook. A frame
    that is too large anyway is not told besides.
    """
    system, rulebook, colour_class = known(ctx.system), known(ctx.rulebook), known(ctx.opening.colour_class)
    share = _growth(rulebook, system.material, colour_class)
    if isinstance(share, str):
        return (NotJudged(share),)
    hits = []
    for name, fit in (("width", known(ctx.width)), ("height", known(ctx.height))):
        room_nm: float = fit.least_nm - fit.size_nm - fit.taken_nm
        if fit.lean_numerator:
            room_nm -= fit.lean_numerator / fit.lean_denominator
        if fit.size_nm * share <= room_nm:
            continue
        if fit.size_nm <= 0 or (fit.stated_nm is not None and fit.is_too_large):
            continue
        rise = building_figures(rulebook).rise_k[colour_class]
        hits.append(_grows(name, fit, known(expansion_per_k(system.material)), rise))
    return hits


def _grows(name: str, fit: AxisFit, alpha: float, rise: Figure) -> Hit:
    gap = max(mm(Fraction(fit.room_numerator(), fit.lean_denominator)), Fraction(0))
    verdict = movement_fits_gap(
        alpha_per_k=alpha,
        length_mm=Fraction(fit.size_nm, NM),
        rise_k=float(rise.number),
        first_gap_mm=gap,
        second_gap_mm=0,
    )
    text, limit = apart(Fraction(verdict.movement_mm), gap)
    facts = {
        "frame": plain(mm(fit.size_nm)),
        "name": name,
        "movement": text,
        "alpha": f"{alpha * _MM_PER_M:g}",
        "rise": plain(rise.number),
        "gap": limit,
    }
    at = f"{name}s" if fit.stated_nm is None else f"frame/{name}"
    return Hit(at, facts, measured=quantity(text, "mm"), limit=quantity(limit, "mm"), source=rise.cited)
