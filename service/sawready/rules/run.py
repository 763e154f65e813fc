"""Applies the rules to an opening, and lists those that lack their facts."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from sawready.catalogue.building import building_figures
from sawready.model.finding import Finding
from sawready.rules import (
    bars,
    escape,
    fit,
    glass,
    guarding,
    handling,
    heat,
    intake,
    making,
    movement,
    openers,
    panes,
    safety_glass,
    sill,
    survey,
    suspicion,
    ventilation,
)
from sawready.rules.registry import Check, NotJudged, Reason, catalogue_pages, finding
from sawready.rules.where import as_written
from sawready.sizing import Sized

__all__ = ["FACTS", "NotApplied", "apply_rules"]

_FAMILIES: Final = (
    intake,
    fit,
    movement,
    sill,
    openers,
    survey,
    glass,
    safety_glass,
    panes,
    making,
    escape,
    ventilation,
    heat,
    bars,
    handling,
    guarding,
    suspicion,
)
"""Importing a family registers its reasons."""

FACTS: Final[Mapping[str, str]] = {
    "system": "the profile system is on file",
    "rulebook": "the rulebook is on file",
    "widths": "every width given could be read",
    "heights": "every height given could be read",
    "diagonals": "both diagonals are given and could be read, and the sides too",
    "width": "the frame's width is stated or could be worked out",
    "height": "the frame's height is stated or could be worked out",
    "sill": "there is a sill, and how it meets the wall could be read",
    "sill_profile": "the system has a sill profile for the projection",
    "set_back": "the set-back is stated",
    "layout": "the layout could be read",
    "surveyed_layout": "the survey's own layout is given and could be read",
    "plan": "frame, layout and system are known, so that lights can be worked out",
    "lights": "every divider lies inside the field that it divides",
    "glass": "the glass unit could be read",
    "floor_to_sill": "the height of the sill above the floor is stated",
    "safety_figures": "the rulebook says below which height glass has to be safety glass",
    "door_beside": "for a side panel, how far it is from its door is stated",
    "impact_class": "for a wide pane at a door, its impact class is stated",
    "design_wind": "a design wind pressure is stated, or the site's wind, terrain and height",
    "deflection_class": "the rulebook names a class of deflection",
    "stiffness": "the system states how stiff its dividers and their steel are",
    "u_limit": "the rulebook has a limit of transmittance",
    "heat_figures": "the system states its heat figures",
    "u_g": "the transmittance of the glass is stated, or its gas and emissivity",
    "condensation_figures": "the rulebook has a least temperature factor and the two temperatures",
    "escape_asked": "the order says whether it has to serve for escape, where the room may need it",
    "escape_figures": "the rulebook has the figures of an escape opening",
    "clear_opening": "the system says what the open sash leaves clear",
    "room": "the room is stated",
    "vents": "the ventilators of every opening of the room are stated",
    "ventilation_figures": "the rulebook has least areas by room, and the room is of a kind it knows",
    "handling_figures": "the rulebook has a lifting filter",
    "guarding_figures": "the rulebook has a height for guarding",
    "expansion_figures": "the rulebook has the rise of temperature, and the material is known",
}
"""What a rule may need, by name; ``Sized.missing`` says which are not there."""


@dataclass(frozen=True, slots=True)
class NotApplied:
    """A check that could not be made, so that silence never looks like a pass."""

    reason: str
    because: str

    def as_dict(self) -> dict[str, str]:
        """The published form."""
        return {"reason": self.reason, "because": self.because}


def _note_rulebook_facts(ctx: Sized) -> None:
    if ctx.rulebook is None:
        ctx.missing["safety_figures"] = ctx.missing["rulebook"]
    elif building_figures(ctx.rulebook).window_below is None:
        ctx.missing["safety_figures"] = f"rulebook {ctx.rulebook.name} has no figure for it"


@lru_cache(maxsize=4096)
def _sorted_out(
    missing: frozenset[tuple[str, bool]],
) -> tuple[tuple[tuple[Reason, Check], ...], tuple[tuple[str, str], ...]]:
    """Checks that can be made, and reasons that cannot with the fact that each lacks.

    Args:
        missing: names of missing facts, each with whether that is worth saying.
    """
    speaking = dict(missing)
    checks: list[tuple[Reason, Check]] = []
    lacking: list[tuple[str, str]] = []
    for page in catalogue_pages():
        if page.check is None:
            continue
        absent = [name for name in page.needs if name in speaking]
        if not absent:
            checks.append((page, page.check))
        elif all(speaking[name] for name in absent):
            lacking.append((page.name, absent[0]))
    return tuple(checks), tuple(lacking)


def apply_rules(ctx: Sized) -> tuple[list[Finding], list[NotApplied]]:
    """Every finding of the rules about an opening, and the checks that could not be made.

    Args:
        ctx: the opening with its sizes; facts of the rulebook are noted in its ``missing``.
    """
    _note_rulebook_facts(ctx)
    missing = ctx.missing
    checks, lacking = _sorted_out(frozenset((name, bool(because)) for name, because in missing.items()))
    found: list[Finding] = []
    not_judged: list[NotApplied] = []
    for page, check in checks:
        for hit in check(ctx):
            if isinstance(hit, NotJudged):
                not_judged.append(NotApplied(page.name, hit.because))
                continue
            at = hit.at
            if not at.startswith("/"):
                at = as_written(
                    at,
                    base=ctx.base,
                    is_turned=ctx.is_turned,
                    from_defaults=ctx.from_defaults,
                    heights=len(ctx.opening.heights_nm),
                )
            found.append(finding(page, hit, base=ctx.base, at=at))
    return found, [*[NotApplied(reason, missing[name]) for reason, name in lacking], *not_judged]
