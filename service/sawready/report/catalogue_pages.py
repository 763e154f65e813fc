"""The published form of the catalogues: profile systems, rulebooks and reasons."""

from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from sawready.catalogue.figures import Figure
from sawready.catalogue.load import Catalogue
from sawready.catalogue.profiles import Opener, Profile, ProfileSystem, Reinforcement
from sawready.catalogue.rulebook import Rulebook
from sawready.rules.registry import Reason
from sawready.rules.run import FACTS


def plain_number(value: Fraction | float) -> float | int:
    """An exact or measured figure as JSON writes it: whole numbers without a point.

    Example:
        >>> plain_number(Fraction(5)), plain_number(Fraction(1, 4)), plain_number(2.5)
        (5, 0.25, 2.5)
    """
    return int(value) if value == int(value) else float(value)


def system_summary(system: ProfileSystem) -> dict[str, Any]:
    """A profile system in a list."""
    return {
        "name": system.name,
        "title": system.title,
        "reference": system.reference,
        "material": system.material,
        "opens": system.opens,
        "source": system.source,
    }


def system_list(catalogue: Catalogue) -> dict[str, Any]:
    """Every profile system on file."""
    found = (catalogue.system(name) for name in catalogue.systems)
    return {"systems": [system_summary(system) for system in found if system is not None]}


def system_page(system: ProfileSystem) -> dict[str, Any]:
    """A profile system with its figures, in the form of a system file; as YAML it can be used as one."""
    members = {
        name: _member(profile, name)
        for name, profile in (
            ("frame", system.frame),
            ("sash", system.sash),
            ("mullion", system.mullion),
            ("transom", system.transom),
        )
        if profile is not None
    }
    if system.extender is not None:
        members["extender"] = _plain(
            {key: getattr(system.extender, key) for key in ("name", "widths_mm", "bar_mm", "mass_kg_m")}
        )
    file: dict[str, Any] = {
        "system": system.name,
        "title": system.title,
        "source": system.source,
        "material": system.material,
        "opens": system.opens,
        "depth_mm": system.depth_mm,
        "glass_clearance_mm": system.glass_clearance_mm,
        "hardware_kg_per_sash": system.hardware_kg_per_sash,
        "frame_size": {"width_mm": system.frame_width_mm, "height_mm": system.frame_height_mm},
        "daylight_least_mm": system.daylight_least_mm,
    }
    if system.thermal is not None:
        file["thermal"] = {"u_f_w_m2k": system.thermal.u_f_w_m2k, "psi_g_w_mk": system.thermal.psi_g_w_mk}
    file["profiles"] = members
    bead_keys = ("unit_mm", "name", "height_mm", "joint", "allowance_mm", "bar_mm", "mass_kg_m")
    file["beads"] = [{key: getattr(bead, key) for key in bead_keys} for bead in system.beads]
    if system.sills:
        sill_keys = ("name", "projection_mm", "upstand_mm", "bar_mm", "mass_kg_m")
        file["sills"] = [{key: getattr(sill, key) for key in sill_keys} for sill in system.sills]
    if system.openers:
        file["openers"] = {kind: _opener(opener) for kind, opener in system.openers.items()}
    return {"reference": system.reference, "system": _plain(file)}


def _member(profile: Profile, kind: str) -> dict[str, Any]:
    """A member with the keys that its kind has in a file."""
    own = {
        "frame": ("weld_allowance_mm",),
        "sash": ("weld_allowance_mm", "overlap_mm"),
    }.get(kind, ("end_allowance_mm", "ends"))
    keys = ("name", "face_mm", "rebate_mm", *own, "bar_mm", "mass_kg_m")
    made: dict[str, Any] = {key: getattr(profile, key) for key in keys}
    if profile.i_mm4 is not None:
        made["i_mm4"] = profile.i_mm4
    if profile.reinforcement is not None:
        made["reinforcement"] = _steel(profile.reinforcement)
    if profile.flip:
        made["flip"] = True
    return made


def _steel(steel: Reinforcement) -> dict[str, Any]:
    made: dict[str, Any] = {
        "name": steel.name,
        "set_back_mm": steel.set_back_mm,
        "from_mm": dict(steel.from_mm),
        "bar_mm": steel.bar_mm,
        "mass_kg_m": steel.mass_kg_m,
    }
    if steel.i_mm4 is not None:
        made["i_mm4"] = steel.i_mm4
    return made


def _opener(opener: Opener) -> dict[str, Any]:
    made: dict[str, Any] = {
        "width_mm": opener.width_mm,
        "height_mm": opener.height_mm,
        "most_kg": opener.most_kg,
    }
    if opener.clear_opening is not None:
        clear = opener.clear_opening
        made["clear_opening"] = {"width_loss_mm": clear.width_loss_mm, "height_loss_mm": clear.height_loss_mm}
    return made


def rulebook_summary(rulebook: Rulebook) -> dict[str, Any]:
    """A rulebook in a list."""
    return {
        "name": rulebook.name,
        "title": rulebook.title,
        "reference": rulebook.reference,
        "checked": _plain(rulebook.checked),
    }


def rulebook_list(catalogue: Catalogue) -> dict[str, Any]:
    """Every rulebook on file."""
    found = (catalogue.rulebook(name) for name in catalogue.rulebooks)
    return {"rulebooks": [rulebook_summary(rulebook) for rulebook in found if rulebook is not None]}


def rulebook_page(rulebook: Rulebook, *, on: date | None = None) -> dict[str, Any]:
    """A rulebook with the figures in force on a day; None is the day on which they were last checked."""
    view = rulebook.on(on)
    return {
        **rulebook_summary(view),
        "on": _plain(on),
        "figures": [_figure(path, figure) for path, figure in sorted(view.figures.items())],
    }


def _figure(path: str, figure: Figure) -> dict[str, Any]:
    return {
        "path": path,
        "value": None if figure.rows else _plain(figure.value),
        "unit": figure.unit,
        "rows": [_plain(row) for row in figure.rows],
        "least": _plain(figure.least),
        "most": _plain(figure.most),
        "usual": _plain(figure.usual),
        "source": figure.source,
        "confidence": figure.confidence,
        "edition": figure.edition,
        "paragraph": figure.paragraph,
        "in_force": _plain(figure.in_force),
        "checked": _plain(figure.checked),
        "note": figure.note,
    }


def reason_page(reason: Reason) -> dict[str, Any]:
    """A page of the catalogue of reasons."""
    return {
        "name": reason.name,
        "about": reason.about,
        "severity": reason.severity,
        "stage": reason.stage,
        "title": reason.title,
        "why": reason.why,
        "message": reason.message,
        "remedy": reason.remedy,
        "source": reason.source,
        "since": reason.since,
        "needs": [FACTS.get(need, need) for need in (*reason.needs, *reason.asks)],
    }


def reason_list(reasons: Iterable[Reason]) -> dict[str, Any]:
    """The catalogue of reasons."""
    return {"reasons": [reason_page(reason) for reason in reasons]}


def _plain(value: Any) -> Any:
    """Exact numbers and days as JSON holds them, all the way down."""
    if isinstance(value, bool):
        return value
    if isinstance(value, Fraction | float):
        return plain_number(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value
