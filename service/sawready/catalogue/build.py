"""From what a schema has read to the objects that the rest of the program uses."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import fields as dataclass_fields
from datetime import date
from typing import Any, Final

from sawready.catalogue.checks import gap_rows
from sawready.catalogue.figure_fields import EditionList
from sawready.catalogue.figures import Figure, GapTable, gap_table
from sawready.catalogue.profiles import (
    Bead,
    ClearOpening,
    Extender,
    Opener,
    Profile,
    ProfileSystem,
    Reinforcement,
    Sill,
    Thermal,
)
from sawready.catalogue.rulebook import RulebookEditions

_FIGURE_FIELDS: Final = tuple(field.name for field in dataclass_fields(Figure))


def digest_of(tree: Any) -> str:
    """``sha256:`` and the hash of a file's tree: comments, spacing, line ends and order of keys do not count.

    Example:
        >>> digest_of({"b": "1", "a": "2"}) == digest_of({"a": "2", "b": "1"})
        True
    """
    text = json.dumps(tree, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"


def profile_system(data: Mapping[str, Any], *, digest: str) -> ProfileSystem:
    """A profile system from the complete data of its schema."""
    members = data["profiles"]
    sills = [Sill(**row) for row in data.get("sills", ())]
    optional = {key: data[key] for key in ("material", "opens") if key in data}
    return ProfileSystem(
        name=data["system"],
        title=data["title"],
        source=data["source"],
        depth_mm=data["depth_mm"],
        glass_clearance_mm=data["glass_clearance_mm"],
        hardware_kg_per_sash=data["hardware_kg_per_sash"],
        frame_width_mm=data["frame_size"]["width_mm"],
        frame_height_mm=data["frame_size"]["height_mm"],
        daylight_least_mm=data["daylight_least_mm"],
        frame=_profile(members["frame"]),
        beads=tuple(sorted((Bead(**row) for row in data["beads"]), key=lambda bead: bead.unit_mm)),
        sills=tuple(sorted(sills, key=lambda sill: sill.projection_mm)),
        openers={kind: _opener(kind, limits) for kind, limits in data.get("openers", {}).items()},
        digest=digest,
        sash=_profile(members["sash"]) if "sash" in members else None,
        mullion=_profile(members["mullion"]) if "mullion" in members else None,
        transom=_profile(members["transom"]) if "transom" in members else None,
        extender=Extender(**members["extender"]) if "extender" in members else None,
        thermal=Thermal(**data["thermal"]) if "thermal" in data else None,
        **optional,
    )


def _profile(data: Mapping[str, Any]) -> Profile:
    steel = data.get("reinforcement")
    return Profile(**{**data, "reinforcement": None if steel is None else Reinforcement(**steel)})


def _opener(kind: str, data: Mapping[str, Any]) -> Opener:
    clear = data.get("clear_opening")
    return Opener(**{"kind": kind, **data, "clear_opening": None if clear is None else ClearOpening(**clear)})


def rulebook_editions(data: Mapping[str, Any], *, digest: str) -> RulebookEditions:
    """A rulebook with all its editions from the complete data of its schema."""
    checked: date | None = data.get("checked")
    tables = {"gap_per_side_mm", "gap_most_per_side_mm"}
    figures = {
        path: tuple(_figure(edition, checked) for edition in editions)
        for path, editions in _figure_lists(data, "")
        if path not in tables
    }
    return RulebookEditions(
        name=data["rulebook"],
        title=data["title"],
        digest=digest,
        checked=checked,
        figures=figures,
        gaps=tuple(_gaps(edition, checked) for edition in data["gap_per_side_mm"]),
        gaps_most=tuple(_gaps_most(edition, checked) for edition in data["gap_most_per_side_mm"]),
    )


def _figure_lists(data: Mapping[str, Any], before: str) -> Iterator[tuple[str, EditionList]]:
    for key, inner in data.items():
        if isinstance(inner, EditionList):
            yield f"{before}{key}", inner
        elif isinstance(inner, dict):
            yield from _figure_lists(inner, f"{before}{key}.")


def _figure(edition: Mapping[str, Any], checked: date | None) -> Figure:
    """A figure; where it does not say when it was checked, the file's day stands for it."""
    known = {"value": (), "unit": "mm", "checked": checked}
    return Figure(**{**known, **{key: edition[key] for key in _FIGURE_FIELDS if key in edition}})


def _gaps(edition: Mapping[str, Any], checked: date | None) -> GapTable:
    return gap_table(
        figure=_figure(edition, checked), up_to_mm=edition["up_to_mm"], gaps_mm=dict(gap_rows(edition))
    )


def _gaps_most(edition: Mapping[str, Any], checked: date | None) -> GapTable:
    figure = _figure({**edition, "value": ()}, checked)
    return gap_table(figure=figure, up_to_mm=edition["up_to_mm"], gaps_mm={("", ""): edition["value"]})
