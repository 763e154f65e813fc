"""Applies the rules to an opening, and lists those that lack their facts."""

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

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
from sawready.rules.registry import SILL, Bound, Check, Hit, NotJudged, Reason, catalogue_pages, finding
from sawready.rules.where import as_written
from sawready.sizing import Sized

__all__ = ["FACTS", "NotApplied", "Steps", "apply_rules"]

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
            else:
                found.append(_found(ctx, page, hit))
    return found, [*[NotApplied(reason, missing[name]) for reason, name in lacking], *not_judged]


def _found(ctx: Sized, page: Reason, hit: Hit) -> Finding:
    """The finding of a hit, with its place as the order was written."""
    at = hit.at
    if not at.startswith("/"):
        at = as_written(
            at,
            base=ctx.base,
            is_turned=ctx.is_turned,
            from_defaults=ctx.from_defaults,
            heights=len(ctx.opening.heights_nm),
        )
    return finding(page, hit, base=ctx.base, at=at)


_SIZED_FIXED: Final = frozenset(
    {"system", "rulebook", "is_turned", "from_defaults", "missing", "sill", "bead", "plan", "places_nm"}
)
_OPENING_FIXED: Final = frozenset(
    {
        "measured_to", "is_head_sloping", "inside_width_nm", "inside_height_nm", "to_come_nm", "height_includes_sill",
        "own_gap_nm", "extenders_nm", "sill", "set_back_nm", "layout", "surveyed_layout", "colour_outside",
        "colour_inside", "glass", "safety", "u_g_w_m2k", "vent_mm2", "escape", "design_wind_pa", "gas", "emissivity",
        "impact_class", "old_vent_mm2", "element", "door_beside_nm", "energy_band", "unread", "has_own_gap",
        "colour_class",
    }
)  # fmt: skip
_SHARED_FIXED: Final = frozenset({"site"})
_FIT_FIXED: Final = frozenset({"upstand_nm", "extender_nm", "finishes_nm"})
_LOOKED_INTO: Final[Mapping[str, frozenset[str]]] = {
    "opening": _OPENING_FIXED,
    "shared": _SHARED_FIXED,
    "width": _FIT_FIXED,
    "height": _FIT_FIXED,
    "lean": frozenset(),
}
"""Members of a sized opening of which some parts are fixed by its pattern; that they are there at all is."""


class _Watch:
    """Stands for an opening before a check, and sees whether the check looks at anything of its own."""

    def __init__(self, inner: Any, fixed: frozenset[str], seen: list[str]) -> None:
        self._inner, self._fixed, self._seen = inner, fixed, seen

    def __getattr__(self, name: str) -> Any:
        """A member; what is not known to be fixed is noted."""
        value = getattr(self._inner, name)
        if isinstance(self._inner, Sized) and name in _LOOKED_INTO:
            return None if value is None else _Watch(value, _LOOKED_INTO[name], self._seen)
        if name not in self._fixed and not (name == "stated_nm" and value is None):
            self._seen.append(name)
        return value


_ANY: Final = 1 << 80
"""More than any length. [nm over a denominator]"""


def _merged(bounds: Iterable[Sequence[Bound]]) -> tuple[tuple[tuple[int, int, int], ...], int]:
    """The narrowest bounds of each length, and the greatest length of the sill. [nm]"""
    least: dict[int, int] = {}
    most: dict[int, int] = {}
    for ref, low, high in itertools.chain.from_iterable(bounds):
        least[ref] = max(least.get(ref, -_ANY), -_ANY if low is None else low)
        most[ref] = min(most.get(ref, _ANY), _ANY if high is None else high)
    most_sill = most.pop(SILL, _ANY)
    return tuple((ref, least[ref], high) for ref, high in most.items()), most_sill


class Steps:
    """The checks that the openings of a pattern need, and what is the same for all of them.

    Args:
        checks: checks in their order; None for one that is the same for all.
        told: beside each, that it is not applied, where that is the same for all.
        lacking: checks that lack a fact.
        bounds: by the number of a check, the bounds within which it finds nothing.
    """

    def __init__(
        self,
        checks: Sequence[tuple[Reason, Check | None]],
        told: Sequence[NotApplied | None],
        lacking: Sequence[NotApplied],
        bounds: Mapping[int, Sequence[Bound]],
    ) -> None:
        self._live = tuple(
            (place, page, check) for place, (page, check) in enumerate(checks) if check is not None
        )
        self._unbound = tuple(live for live in self._live if live[0] not in bounds)
        self._bounds, self._most_sill_nm = _merged(bounds.values())
        self._told = tuple(told)
        self._lacking = tuple(lacking)
        self._known: dict[tuple[tuple[int, str], ...], tuple[NotApplied, ...]] = {}

    @classmethod
    def watched(cls, ctx: Sized) -> "Steps":
        """Runs each check on an opening and sees which of them look at what is its own.

        A check is a function of what it looks at. One that looked only at what the pattern fixes takes the
        same way for every opening of it.

        Args:
            ctx: an opening that `apply_rules` has judged.
        """
        missing = ctx.missing
        checks, lacking = _sorted_out(frozenset((name, bool(because)) for name, because in missing.items()))
        steps: list[tuple[Reason, Check | None]] = []
        told: list[NotApplied | None] = []
        bounds: dict[int, Sequence[Bound]] = {}
        for number, (page, check) in enumerate(checks):
            if page.within is not None:
                bounds[number] = tuple(page.within(ctx))
            seen: list[str] = []
            hits = list(check(_Watch(ctx, _SIZED_FIXED, seen)))
            is_fixed = not seen and len(hits) <= 1 and all(isinstance(hit, NotJudged) for hit in hits)
            steps.append((page, None if is_fixed else check))
            because = next((hit.because for hit in hits if isinstance(hit, NotJudged)), None)
            told.append(NotApplied(page.name, because) if is_fixed and because is not None else None)
        return cls(steps, told, [NotApplied(reason, missing[name]) for reason, name in lacking], bounds)

    def apply(self, ctx: Sized) -> tuple[list[Finding], tuple[NotApplied, ...]]:
        """What `apply_rules` gives for an opening of the pattern."""
        found: list[Finding] = []
        not_judged: list[tuple[int, str]] = []
        live = self._unbound if self._are_within(ctx) else self._live
        for place, page, check in live:
            if hits := check(ctx):
                for hit in hits:
                    if isinstance(hit, NotJudged):
                        not_judged.append((place, hit.because))
                    else:
                        found.append(_found(ctx, page, hit))
        key = tuple(not_judged)
        not_applied = self._known.get(key)
        if not_applied is None:
            not_applied = self._known[key] = self._not_applied(not_judged)
        return found, not_applied

    def _are_within(self, ctx: Sized) -> bool:
        """Whether every length is within the bounds, so that checks that judge nothing else find nothing."""
        values = ctx.values
        for ref, least, most in self._bounds:
            if not least <= values[ref] <= most:
                return False
        return ctx.sill_length_nm is None or ctx.sill_length_nm <= self._most_sill_nm

    def _not_applied(self, not_judged: Sequence[tuple[int, str]]) -> tuple[NotApplied, ...]:
        """Everything that is not applied, in the order of the checks."""
        names = {place: page.name for place, page, _ in self._live}
        by_place = [(place, told) for place, told in enumerate(self._told) if told is not None]
        by_place += [(place, NotApplied(names[place], because)) for place, because in not_judged]
        by_place.sort(key=lambda item: item[0])
        return (*self._lacking, *[told for _, told in by_place])
