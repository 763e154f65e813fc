"""Raw records into an Order in our units and terms, with findings for whatever is missing or unclear."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from sawready.calc.glass_unit import read_glass_unit
from sawready.catalogue.load import Catalogue
from sawready.catalogue.profiles import ProfileSystem
from sawready.catalogue.rulebook import Rulebook
from sawready.layouts import NoUnitError, place_to_nm, read_layout
from sawready.lengths import (
    Count,
    Length,
    Readings,
    Refusal,
    Remark,
    WrittenDate,
    read_date,
    read_length,
    read_quantity,
    read_readings,
)
from sawready.model.finding import Finding, Quantity
from sawready.model.glass_unit import GlassUnit
from sawready.model.layout import Layout, turned
from sawready.model.order import Answer, Opening, Order, Sides, SillOrder, Site
from sawready.model.pointer import pointer
from sawready.order_schema import ANSWER, NEEDED, NO, OPENING, ORDER_HEAD, Number, fault
from sawready.rules import intake
from sawready.rules.glass import GLAZING_UNIT_UNREADABLE
from sawready.rules.registry import Hit, Reason, finding, reason_named
from sawready.rules.sill import SILL_HORNS_MISSING
from sawready.shape import answer_accepts, faults_of, opening_accepts, order_head_accepts
from sawready.sizing import nearest_sill
from sawready.units import NM_PER_MM as NM
from sawready.units import nm_per_unit, nm_to_mm_text

ZERO_SIDES: Final[Sides] = (0, 0, 0, 0)
NO_GAP: Final = (None, None, None, None)
SIDES: Final = ("left", "right", "top", "bottom")


@dataclass(frozen=True, slots=True)
class CallerDefaults:
    """What the caller says for orders that do not: options of the command line or of the request."""

    units: str | None = None
    number_style: str | None = None
    viewed_from: str | None = None
    system: str | None = None
    rulebook: str | None = None


@dataclass(slots=True)
class ReadOpening:
    """An opening as read, with what was found on the way.

    Attributes:
        base: pointer of the opening in the order.
        opening: its values.
        findings: what is missing, unclear or unknown about it.
        from_defaults: fields that the order's ``defaults`` supplied.
        is_turned: it is written from inside.
        needs_view: it may be the same from both sides; settled once its width is known.
    """

    base: str
    opening: Opening
    findings: list[Finding]
    from_defaults: frozenset[str]
    is_turned: bool
    needs_view: bool


@dataclass(slots=True)
class ReadOrder:
    """An order as read; system and rulebook are None where they are not on file."""

    order: Order
    system: ProfileSystem | None
    rulebook: Rulebook | None
    openings: list[ReadOpening] = field(default_factory=list)


_WORDS: Final[dict[str, str]] = {
    "widths": "width",
    "heights": "height",
    "diagonals": "diagonal",
    "to_come": "finish to come",
    "extenders": "extender",
    "floor_to_sill": "height of the sill above the floor",
    "set_back": "set-back",
    "vent_mm2": "vent area",
    "design_wind_pa": "design wind pressure",
    "opening_ref": "opening reference",
    "order_ref": "order reference",
    "u_g": "glass transmittance u_g",
    "old_vent_mm2": "old vent area",
    "door_beside": "distance from a door",
    "basic_wind_m_s": "basic wind velocity",
    "viewed_from": "view",
    "height_includes_sill": "height_includes_sill",
    "measured_to": "face that was measured to",
    "escape": "word on escape",
}

_PHRASES: Final[dict[tuple[str, str], str]] = {
    ("colour", "outside"): "outside colour",
    ("colour", "inside"): "inside colour",
    ("glazing", "unit"): "glass unit",
    ("glazing", "safety"): "kind of safety glass",
    ("glazing", "u_g"): "glass transmittance u_g",
    ("sill", "projection"): "projection of the sill",
    ("sill", "fit"): "fit of the sill",
    ("sill", "horn_left"): "left horn of the sill",
    ("sill", "horn_right"): "right horn of the sill",
    ("frame", "height_includes_sill"): "word height_includes_sill of the frame",
    ("survey", "surveyor"): "surveyor",
    **{
        (sides, side): f"{word} at the {side}"
        for sides, word in (("gap", "gap"), ("extenders", "extender"), ("to_come", "finish to come"))
        for side in ("left", "right", "top", "bottom")
    },
}

_ORDINALS: Final[dict[str, tuple[str, str, str]]] = {
    "widths": ("first", "second", "third"),
    "heights": ("first", "second", "third"),
    "diagonals": ("first", "second", ""),
}


def field_in_words(path: Iterable[str | int]) -> str:
    """A field as a message names it.

    Example:
        >>> field_in_words(("widths", 1)), field_in_words(("frame", "width"))
        ('second width', 'frame width')
        >>> field_in_words(("openings", 0, "sill", "horn_left"))
        'left horn of the sill'
    """
    parts = list(path)
    if parts and parts[0] == "openings" and len(parts) > 2:
        parts = parts[2:]
    if len(parts) > 1 and str(parts[0]) in _ORDINALS and str(parts[1]).isdigit() and int(parts[1]) < 3:
        return f"{_ORDINALS[str(parts[0])][int(parts[1])]} {_WORDS[str(parts[0])]}"
    phrase = _PHRASES.get((str(parts[0]), str(parts[1]))) if len(parts) == 2 else None
    if phrase is not None:
        return phrase
    words = [_WORDS.get(str(part), str(part).replace("_", " ")) for part in parts]
    return " ".join(words) if words else "value"


def read_order(raw: Any, *, catalogue: Catalogue, caller: CallerDefaults) -> ReadOrder:
    """Reads one raw order.

    Args:
        raw: an object with ``openings``, a list of one or more (the doors see to that).
        catalogue: systems and rulebooks on file.
        caller: what the caller says for what the order leaves open.
    Returns: the order with its openings, each with its findings. Nothing is raised for a faulty order:
        a fault of the order itself stands with every opening, for each of them must wait for it.
    Raises: ValueError for what is no order at all: no object, or one without a list of openings.
    """
    if not isinstance(raw, dict) or not isinstance(raw.get("openings"), list) or not raw["openings"]:
        raise ValueError("an order is an object with openings, a list of one or more")
    reader = OrderReader(raw, catalogue, caller)
    read = ReadOrder(reader.order, reader.system, reader.rulebook)
    defaults = raw.get("defaults")
    for index, opening in enumerate(raw["openings"]):
        read.openings.append(reader.opening(index, opening, defaults))
    _mark_duplicates(read.openings)
    return read


def _mark_duplicates(openings: list[ReadOpening]) -> None:
    by_ref: dict[str, list[ReadOpening]] = {}
    for read in openings:
        if read.opening.opening_ref is not None:
            by_ref.setdefault("".join(read.opening.opening_ref.casefold().split()), []).append(read)
    if len(by_ref) == len(openings):
        return
    for same in by_ref.values():
        if len(same) > 1:
            for read in same:
                hit = Hit("opening_ref", {"ref": read.opening.opening_ref, "count": len(same)})
                read.findings.append(finding(intake.DUPLICATE_OPENING, hit, base=read.base))


def _nearest(name: str, known: Iterable[str]) -> str:
    near = get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f"; the nearest is {near[0]}" if near else ""


def _finding_of(
    shape_fault: Mapping[str, Any], at: str, path: Iterable[str | int], known: Iterable[str]
) -> Finding:
    """The finding of a fault in shape."""
    reason = shape_fault["reason"]
    parts = list(path)
    if reason == "field-unknown":
        name = str(parts[-1])
        facts = {
            "name": name[:60],
            "nearest": _nearest(name, known),
            "remedy": "Correct the name or leave it out.",
        }
        return finding(intake.FIELD_UNKNOWN, Hit(at, facts), base="")
    because = shape_fault["because"]
    if because == NEEDED:
        owners = {"openings": "opening", "defaults": "opening", "answers": "answer"}
        owner = owners.get(at.split("/")[1], "order")
        because = f"every {owner} needs it"
    facts = {
        "field": field_in_words(parts),
        "because": because,
        "remedy": shape_fault.get("remedy") or f"Correct the {field_in_words(parts)}.",
    }
    value = shape_fault.get("value")
    measured = limit = None
    if "number" in shape_fault:
        measured, limit = Quantity(shape_fault["number"], ""), Quantity(shape_fault["limit"], "")
    candidates: tuple[str, ...] = ()
    if "known" in shape_fault and isinstance(value, str):
        candidates = tuple(get_close_matches(value.strip().lower(), shape_fault["known"], n=1, cutoff=0.6))
    return finding(
        reason_named(reason), Hit(at, facts, measured=measured, limit=limit, candidates=candidates), base=""
    )


class OrderReader:
    """Holds what every opening of an order shares while it is read."""

    def __init__(self, raw: Mapping[str, Any], catalogue: Catalogue, caller: CallerDefaults) -> None:
        self.head: list[Finding] = []
        head = {name: value for name, value in raw.items() if name not in ("openings", "answers", "defaults")}
        for name in ("units", "number_style", "viewed_from", "system", "rulebook"):
            stated = getattr(caller, name)
            if stated is not None and head.get(name) is None:
                head[name] = stated
        bad: set[str] = set()
        if not order_head_accepts(head):
            for path, shape_fault in faults_of(ORDER_HEAD, head):
                known: Iterable[str] = (*ORDER_HEAD.fields, "openings", "answers", "defaults")
                if len(path) > 1:
                    known = getattr(
                        getattr(ORDER_HEAD.fields.get(str(path[0])), "schema", None), "fields", ()
                    )
                self.head.append(_finding_of(shape_fault, pointer(*path), path, known))
                if path:
                    bad.add(str(path[0]))
        good = {name: value for name, value in head.items() if name not in bad}
        survey = good.get("survey") or {}
        survey_date = self._date(survey.get("date"))
        self.units: str | None = good.get("units")
        self.number_style: str = good.get("number_style") or "en"
        self.view_is_bad = "viewed_from" in bad
        self.viewed_from = good.get("viewed_from")
        self.system = self._system(good.get("system"), catalogue)
        self.rulebook = self._rulebook(good.get("rulebook"), catalogue, survey_date)
        self.limits: Mapping[str, tuple[int, int]] = {} if self.rulebook is None else self.rulebook.limits_nm
        self.any_limit: tuple[int, int | None] = (0, self.limits["size"][1] if self.limits else None)
        self.defaults_known = isinstance(raw.get("defaults"), dict | None)
        if not self.defaults_known:
            self.head.append(
                _finding_of(fault("value-unreadable", "it is not an object"), "/defaults", ("defaults",), ())
            )
        revision = survey.get("revision")
        self.order = Order(
            order_ref=good.get("order_ref"),
            system=good.get("system"),
            rulebook=good.get("rulebook"),
            units=self.units,
            number_style=self.number_style,
            viewed_from=self.viewed_from,
            survey_date=survey_date,
            surveyor=survey.get("surveyor"),
            survey_revision=None if revision is None else int(Decimal(revision)),
            answers=tuple(self._answers(raw.get("answers"))),
            site=_site(good.get("site")),
        )

    def _date(self, written: Any) -> date | None:
        if written is None:
            return None
        read = read_date(written)
        if isinstance(read, WrittenDate):
            return read.date
        if isinstance(read, Refusal):
            self.head.append(_refused(read, "/survey/date", "survey date"))
        return None

    def _system(self, name: str | None, catalogue: Catalogue) -> ProfileSystem | None:
        if name is None:
            return None
        system = catalogue.system(name)
        if system is None:
            known = catalogue.systems
            facts = {"name": name, "nearest": _nearest(name, known), "known": ", ".join(known)}
            self.head.append(finding(intake.SYSTEM_UNKNOWN, Hit("/system", facts), base=""))
        return system

    def _rulebook(self, name: str | None, catalogue: Catalogue, day: date | None) -> Rulebook | None:
        if name is None:
            return None
        rulebook = catalogue.rulebook(name)
        if rulebook is None:
            known = catalogue.rulebooks
            facts = {"name": name, "nearest": _nearest(name, known), "known": ", ".join(known)}
            self.head.append(finding(intake.RULEBOOK_UNKNOWN, Hit("/rulebook", facts), base=""))
            return None
        return rulebook.on(day)

    def _answers(self, raw: Any) -> Iterable[Answer]:
        if raw is None:
            return
        if not isinstance(raw, list):
            self.head.append(
                _finding_of(fault("value-unreadable", "it is not a list"), "/answers", ("answers",), ())
            )
            return
        for number, answer in enumerate(raw):
            if not answer_accepts(answer):
                for path, shape_fault in faults_of(ANSWER, answer):
                    at = pointer("answers", number, *path)
                    self.head.append(_finding_of(shape_fault, at, ("answer", *path), ANSWER.fields))
                continue
            when = read_date(answer["on"])
            if isinstance(when, Refusal):
                self.head.append(_refused(when, pointer("answers", number, "on"), "day of the answer"))
                continue
            measured = answer.get("measured")
            yield Answer(
                opening_ref=answer["opening_ref"],
                reason=answer["reason"],
                measured=None if measured is None else float(Decimal(str(measured))),
                by=answer["by"],
                on=answer["on"],
                note=answer.get("note"),
            )

    def opening(self, index: int, raw: Any, defaults: Any) -> ReadOpening:
        """Reads one opening, the order's defaults merged in."""
        base = f"/openings/{index}"
        from_defaults: frozenset[str] = frozenset()
        if isinstance(defaults, dict) and defaults and isinstance(raw, dict):
            supplied = {
                name: value for name, value in defaults.items() if value is not None and raw.get(name) is None
            }
            if supplied:
                raw = {**raw, **supplied}
                from_defaults = frozenset(supplied)
        reader = _OpeningReader(self, base, from_defaults)
        return reader.read(index, raw)


def _refused(refusal: Refusal, at: str, words: str) -> Finding:
    facts = {
        "field": words,
        "because": refusal.because.rstrip("."),
        "remedy": refusal.remedy or f"Write the {words} plainly.",
    }
    page: Reason = reason_named(refusal.reason)
    return finding(
        page,
        Hit(
            at,
            facts,
            measured=refusal.measured,
            limit=refusal.limit,
            candidates=refusal.candidates_mm,
        ),
        base="",
    )


class _OpeningReader:
    """Reads the values of one opening and collects what is wrong with them."""

    __slots__ = ("_limits", "_order", "base", "findings", "from_defaults", "places", "unread", "without_unit")

    def __init__(self, order: OrderReader, base: str, from_defaults: frozenset[str]) -> None:
        self._order = order
        self._limits = order.limits
        self.base = base
        self.from_defaults = from_defaults
        self.findings: list[Finding] = list(order.head)
        self.unread: set[str] = set()
        self.without_unit = 0
        self.places: dict[str, tuple[int, ...]] = {}

    def _at(self, *path: str | int) -> str:
        root = "/defaults" if path and path[0] in self.from_defaults else self.base
        return root + pointer(*path)

    def read(self, index: int, raw: Any) -> ReadOpening:
        """The opening, as far as it can be read."""
        if not opening_accepts(raw):
            raw = self._shaped(raw)
        order = self._order
        layout = self._layout(raw.get("layout"), "layout")
        surveyed_raw = raw.get("surveyed") or {}
        surveyed = self._layout(surveyed_raw.get("layout"), "surveyed", "layout")
        is_turned = order.viewed_from == "inside"
        colour = raw.get("colour") or {}
        glazing = raw.get("glazing") or {}
        widths = self._readings(raw.get("widths"), "widths", "size", "width")
        heights = self._readings(raw.get("heights"), "heights", "size", "height")
        diagonals = self._readings(raw.get("diagonals"), "diagonals", "diagonal", None)
        frame = raw.get("frame")
        frame_width = frame_height = includes = None
        if frame is not None:
            frame_width = self._length(frame.get("width"), "size", "width", "frame", "width")
            frame_height = self._length(frame.get("height"), "size", "height", "frame", "height")
            includes = _flag(frame.get("height_includes_sill"))
            if includes is None and frame.get("height") is not None and raw.get("sill") is not None:
                self._missing(
                    "a height is stated and there is a sill, so it has to say whether the sill is in it",
                    "frame",
                    "height_includes_sill",
                    remedy="State height_includes_sill as true or false.",
                )
        inside = raw.get("inside") or {}
        to_come = self._sides(raw.get("to_come"), "to_come", "finish_to_come")
        gap = self._sides(raw.get("gap"), "gap", "own_gap")
        extenders = self._sides(raw.get("extenders"), "extenders", "")
        sill = self._sill(raw.get("sill"))
        door_beside = _NO_DOOR
        if (doors := raw.get("door_beside")) is not None:
            left, right = (
                self._length(doors.get(side), "", None, "door_beside", side) for side in ("left", "right")
            )
            door_beside = (right, left) if is_turned else (left, right)
        if is_turned:
            layout = None if layout is None else turned(layout)
            heights, diagonals = heights[::-1], diagonals[::-1]
            to_come, gap, extenders = _crossed(to_come), _crossed(gap), _crossed(extenders)
            if sill is not None:
                sill = SillOrder(sill.projection_nm, sill.fit, sill.horn_right_nm, sill.horn_left_nm)
        if surveyed is not None and surveyed_raw.get("viewed_from", order.viewed_from) == "inside":
            surveyed = turned(surveyed)
        opening = Opening(
            index=index,
            opening_ref=raw.get("opening_ref"),
            quantity=self._quantity(raw.get("quantity")),
            room=raw.get("room"),
            storey=whole_number(raw.get("storey")),
            floor_to_sill_nm=self._length(raw.get("floor_to_sill"), "", None, "floor_to_sill"),
            measured_to=raw.get("measured_to"),
            widths_nm=widths,
            heights_nm=heights,
            diagonals_nm=diagonals,
            is_head_sloping=raw.get("slope") == "head",
            inside_width_nm=self._length(inside.get("width"), "size", "width", "inside", "width"),
            inside_height_nm=self._length(inside.get("height"), "size", "height", "inside", "height"),
            to_come_nm=_known(to_come),
            frame_width_nm=frame_width,
            frame_height_nm=frame_height,
            stated_height_nm=frame_height,
            height_includes_sill=includes,
            own_gap_nm=gap,
            extenders_nm=_known(extenders),
            sill=sill,
            set_back_nm=self._length(raw.get("set_back"), "", None, "set_back"),
            layout=layout,
            surveyed_layout=surveyed,
            colour_outside=colour.get("outside"),
            colour_inside=colour.get("inside"),
            glass=self._glass(glazing.get("unit")),
            safety=glazing.get("safety") or "none",
            u_g_w_m2k=_number(glazing.get("u_g")),
            vent_mm2=whole_number(raw.get("vent_mm2")),
            escape=_flag(raw.get("escape")),
            design_wind_pa=_number(raw.get("design_wind_pa")),
            note=raw.get("note"),
            gas=glazing.get("gas"),
            emissivity=_number(glazing.get("emissivity")),
            impact_class=whole_number(glazing.get("impact_class")),
            old_vent_mm2=whole_number(raw.get("old_vent_mm2")),
            element=raw.get("element") or "window",
            door_beside_nm=door_beside,
            energy_band=raw.get("energy_band"),
            unread=frozenset(self.unread) if self.unread else _NONE_UNREAD,
            reading_places=self.places or _NO_PLACES,
        )
        self._count_without_unit()
        needs_view = order.viewed_from is None and not order.view_is_bad
        return ReadOpening(self.base, opening, self.findings, self.from_defaults, is_turned, needs_view)

    def _shaped(self, raw: Any) -> dict[str, Any]:
        """Reports faults in shape and drops the members that carry them."""
        faults = faults_of(OPENING, raw)
        for path, found in faults:
            shape_fault = found
            known: Iterable[str] = OPENING.fields
            if len(path) > 1:
                nested = OPENING.fields.get(str(path[0]))
                known = getattr(getattr(nested, "schema", None), "fields", ())
            if path in (("sill", "fit"), ("sill", "projection")) and shape_fault["reason"] == "value-missing":
                shape_fault = {**found, "because": "a sill needs it"}
            self.findings.append(_finding_of(shape_fault, self._at(*path), path, known))
            if path:
                self.unread.add("/".join(map(str, path)))
        if not isinstance(raw, dict):
            return {}
        kept: dict[str, Any] = {}
        bad = {path for path, _ in faults}
        for name, value in raw.items():
            if (name,) in bad:
                continue
            if isinstance(value, dict) and name != "layout":
                kept[name] = {inner: item for inner, item in value.items() if (name, inner) not in bad}
            else:
                kept[name] = value
        return kept

    def _missing(self, because: str, *path: str, remedy: str | None = None) -> None:
        """Reports a value that is needed only because of another one."""
        if "/".join(path) not in self.unread:
            facts = {"field": field_in_words(path), "because": because}
            self.findings.append(
                finding(intake.VALUE_MISSING, Hit(self._at(*path), facts, remedy=remedy), base=self.base)
            )
            self.unread.add("/".join(path))

    def _length(self, written: Any, kind: str, axis: str | None, *path: str | int) -> int | None:
        """One length in nanometres, or None where it is absent or cannot be read."""
        if written is None:
            return None
        least, most = self._limits.get(kind) or self._order.any_limit
        read = read_length(
            written,
            unit=self._order.units,
            number_style=self._order.number_style,
            least_nm=least,
            most_nm=most,
            axis=axis,
            words_for_none=kind not in ("size", "diagonal"),
        )
        if read is None:
            return None
        if type(read) is Length:
            if read.remarks:
                self._remark(read.remarks, path)
            return read.nm
        assert isinstance(read, Refusal)  # noqa: S101 - narrows the type for the checker
        self.unread.add("/".join(map(str, path)))
        if read.reason == "unit-not-stated":
            self.without_unit += 1
            if self.without_unit > 1:
                return None
        self.findings.append(_refused(read, self._at(*path), field_in_words(path)))
        return None

    def _count_without_unit(self) -> None:
        """One missing unit is one finding, however many numbers wait for it."""
        if self.without_unit < 2:
            return
        more = self.without_unit - 1
        for number, found in enumerate(self.findings):
            if found.reason == "unit-not-stated" and found.at.startswith((self.base, "/defaults")):
                text = (
                    f"{found.message} So {'do' if more > 1 else 'does'} {more} more of this opening's values."
                )
                self.findings[number] = found.with_(message=text)
                return

    def _readings(self, raw: Any, name: str, kind: str, axis: str | None) -> tuple[int | None, ...]:
        if not raw:
            return ()
        if len(raw) == 1 and type(raw[0]) is str and len(_BETWEEN_READINGS.findall(raw[0])) > 1:
            several = self._several(raw[0], name, kind)
            if several is not None:
                return several
        found: list[int | None] = []
        places: list[int] = []
        for number, written in enumerate(raw):
            if written is None:
                continue
            read = self._length(written, kind, axis, name, number)
            if read is None and f"{name}/{number}" not in self.unread:
                continue
            if read is None:
                self.unread.add(name)
            found.append(read)
            places.append(number)
        if places and places[-1] != len(places) - 1:
            self.places[name] = tuple(places)
        return tuple(found)

    def _several(self, text: str, name: str, kind: str) -> tuple[int, ...] | None:
        """Three readings in one cell, or None where the cell is to be read as one value."""
        least, most = self._limits.get(kind) or self._order.any_limit
        read = read_readings(
            text, unit=self._order.units, number_style=self._order.number_style, least_nm=least, most_nm=most
        )
        if not isinstance(read, Readings) or len(read.nm) != len(_ORDINALS[name]):
            return None
        self._remark(read.remarks, (name, 0))
        self.places[name] = (0,) * len(read.nm)
        return read.nm

    def _remark(self, remarks: tuple[Remark, ...], path: tuple[str | int, ...]) -> None:
        for remark in remarks:
            facts = {"field": field_in_words(path), "because": remark.text.rstrip(".")}
            self.findings.append(
                finding(reason_named(remark.reason), Hit(self._at(*path), facts), base=self.base)
            )

    def _sides(self, raw: Any, name: str, kind: str) -> tuple[int | None, int | None, int | None, int | None]:
        if not raw:
            return NO_GAP
        left, right, top, bottom = (self._length(raw.get(side), kind, None, name, side) for side in SIDES)
        if any(f"{name}/{side}" in self.unread for side in SIDES):
            self.unread.add(name)
        return left, right, top, bottom

    def _sill(self, raw: Any) -> SillOrder | None:
        if raw is None:
            return None
        fit = raw.get("fit")
        projection = self._length(raw.get("projection"), "sill_projection", None, "sill", "projection")
        left = self._length(raw.get("horn_left"), "horn", None, "sill", "horn_left")
        right = self._length(raw.get("horn_right"), "horn", None, "sill", "horn_right")
        if fit is not None and fit != "between_reveals":
            for value, name in ((left, "horn_left"), (right, "horn_right")):
                if value is None and f"sill/{name}" not in self.unread:
                    facts = {"side": name.removeprefix("horn_"), "fit": fit}
                    self.findings.append(
                        finding(SILL_HORNS_MISSING, Hit(self._at("sill", name), facts), base=self.base)
                    )
                    self.unread.add(f"sill/{name}")
        if projection is not None:
            self._note_projection(projection)
        return SillOrder(projection, fit, left, right)

    def _note_projection(self, projection_nm: int) -> None:
        """Says which sill profile an odd projection takes; one that no profile serves is for the rules."""
        system = self._order.system
        near = None if system is None else nearest_sill(system, projection_nm)
        if near is not None and near.projection_mm * NM != projection_nm:
            because = (
                f"{nm_to_mm_text(projection_nm)} mm is no stock projection; {near.name} "
                f"({nm_to_mm_text(int(near.projection_mm * NM))} mm) is taken"
            )
            facts = {"field": field_in_words(("sill", "projection")), "because": because}
            at = self._at("sill", "projection")
            self.findings.append(finding(intake.NUMBER_UNUSUAL, Hit(at, facts), base=self.base))

    def _quantity(self, written: Any) -> int | None:
        if written is None:
            return 1
        if type(written) is int and 0 < written < 10_000:
            return written
        read = read_quantity(written)
        if read is None:
            return 1
        if isinstance(read, Count):
            self._remark(read.remarks, ("quantity",))
            return read.count
        self.findings.append(_refused(read, self._at("quantity"), "quantity"))
        self.unread.add("quantity")
        return None

    def _layout(self, written: Any, *path: str) -> Layout | None:
        if written is None:
            return None
        try:
            return _layout_read(written, self._order.units)
        except NoUnitError:
            because = "a place in it is a bare number, and the order states no unit"
            facts = {
                "field": field_in_words(path),
                "because": because,
                "remedy": "State units for the order.",
            }
            self.findings.append(finding(intake.UNIT_NOT_STATED, Hit(self._at(*path), facts), base=self.base))
        except ValueError as error:
            facts = {"field": field_in_words(path), "because": str(error)}
            self.findings.append(
                finding(intake.LAYOUT_UNREADABLE, Hit(self._at(*path), facts), base=self.base)
            )
        self.unread.add("/".join(path))
        return None

    def _glass(self, written: Any) -> GlassUnit | None:
        if written is None:
            return None
        unit = _GLASS_READ.get(written)
        if unit is None:
            try:
                unit = read_glass_unit(written)
            except ValueError as error:
                hit = Hit(self._at("glazing", "unit"), {"text": written[:60], "because": str(error)})
                self.findings.append(finding(GLAZING_UNIT_UNREADABLE, hit, base=self.base))
                self.unread.add("glazing/unit")
                return None
            if len(_GLASS_READ) < _MOST_KEPT:
                _GLASS_READ[written] = unit
        return unit


_BETWEEN_READINGS: Final = re.compile(r"[/;]|, ", re.ASCII)
_NONE_UNREAD: Final[frozenset[str]] = frozenset()
_NO_PLACES: Final[Mapping[str, tuple[int, ...]]] = MappingProxyType({})
_MOST_KEPT: Final = 4096
_GLASS_READ: Final[dict[str, GlassUnit]] = {}
_LAYOUTS_READ: Final[dict[tuple[str, str | None], Layout]] = {}


def _layout_read(written: Any, units: str | None) -> Layout:
    if isinstance(written, str):
        key = (written, units)
        layout = _LAYOUTS_READ.get(key)
        if layout is None:
            layout = read_layout(written, _to_nm(units))
            if len(_LAYOUTS_READ) < _MOST_KEPT:
                _LAYOUTS_READ[key] = layout
        return layout
    return read_layout(written, _to_nm(units))


def _to_nm(units: str | None) -> Any:
    def convert(value: Any) -> int:
        if units is None:
            raise NoUnitError
        return place_to_nm(value, unit_nm=Fraction(nm_per_unit(units)))

    return convert


def _crossed(
    sides: tuple[int | None, int | None, int | None, int | None],
) -> tuple[int | None, int | None, int | None, int | None]:
    return (sides[1], sides[0], sides[2], sides[3])


def _known(sides: tuple[int | None, int | None, int | None, int | None]) -> Sides:
    if sides is NO_GAP:
        return ZERO_SIDES
    return (sides[0] or 0, sides[1] or 0, sides[2] or 0, sides[3] or 0)


_NO_DOOR: Final[tuple[int | None, int | None]] = (None, None)


def _site(raw: Any) -> Site | None:
    """The site; its shape has been checked."""
    if not raw:
        return None
    velocity, height, altitude = (
        _number(raw.get(name)) for name in ("basic_wind_m_s", "height_m", "altitude_m")
    )
    return Site(velocity, raw.get("terrain"), height, altitude)


def _flag(value: Any) -> bool | None:
    if value is None or value is True or value is False:
        return value
    return str(value).strip().lower() not in NO


_ANY_NUMBER: Final = Number(least=float("-inf"), most=float("inf"))


def _number(value: Any) -> float | None:
    if value is None:
        return None
    number = _ANY_NUMBER.read(value)
    return None if number is None else float(number)


def whole_number(value: Any) -> int | None:
    """A whole number as the schema has accepted it."""
    number = _number(value)
    return None if number is None else int(number)
