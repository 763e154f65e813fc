"""Pieces, beads and lights of a plan as JSON text with blanks, filled in per window.

Rows of a list differ from window to window only in a few numbers. Their text is put together once for a
plan, with a blank for each number; a window then costs one number text for each distinct length and one
filling of the blanks.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from operator import itemgetter
from typing import Final

import orjson

from sawready.calc.plan import NM, Plan, Ref, Working
from sawready.model.shown import plain

_TENTH: Final = 100_000
"""Nanometres in a tenth of a millimetre."""

Slot = tuple[Ref, bool]
"""A blank: the form whose value goes there, and whether as a term of a sum (exact) or a length (0.1 mm)."""


class Template:
    """Text with blanks for the numbers of one window.

    Args:
        text: text with a ``%s`` for each blank.
        slots: what goes into each.
    """

    __slots__ = ("_lengths", "_pick", "_terms", "_text")

    def __init__(self, text: str, slots: Sequence[Slot]) -> None:
        self._text = text
        self._lengths = tuple(dict.fromkeys(ref for ref, is_term in slots if not is_term))
        self._terms = tuple(dict.fromkeys(ref for ref, is_term in slots if is_term))
        order = {(ref, False): number for number, ref in enumerate(self._lengths)}
        order |= {(ref, True): number + len(self._lengths) for number, ref in enumerate(self._terms)}
        # One index more than is needed, so that itemgetter gives a tuple even for a single blank.
        self._pick = itemgetter(*(order[slot] for slot in slots), 0, 0)
        self._text += "%.0s%.0s"

    def filled(self, values: Sequence[int], denominator: int) -> str:
        """The text with every blank filled.

        Args:
            values: values of the plan's forms. [nm over the denominator]
            denominator: the plan's.
        """
        tenth = denominator * _TENTH
        texts: list[str] = []
        for ref in self._lengths:
            whole, rest = divmod(values[ref], tenth)
            twice = 2 * rest
            if twice > tenth or (twice == tenth and whole & 1):
                whole += 1
            texts.append(repr(whole / 10))
        unit = denominator * NM
        for ref in self._terms:
            whole, rest = divmod(values[ref], unit)
            texts.append(str(whole) if not rest else exact_text(values[ref], denominator))
        return self._text % tuple(self._pick(texts))


def tenths(value: int, over: int) -> float:
    """A length to a tenth of a millimetre, half to even; exact until the last step.

    Args:
        value: numerator. [nm]
        over: denominator.
    Example:
        >>> tenths(649_350_000, 1), tenths(649_250_000, 1)
        (649.4, 649.2)
    """
    whole, rest = divmod(value, over * _TENTH)
    twice = 2 * rest
    if twice > over * _TENTH or (twice == over * _TENTH and whole & 1):
        whole += 1
    return whole / 10


def exact_text(value: int, over: int) -> str:
    """A term of a sum: whole millimetres as they are, others to a thousandth.

    Example:
        >>> exact_text(1_798_000_000, 1), exact_text(1_597_000_000, 2), exact_text(1_000_000, 3)
        ('1798', '798.5', '0.333')
    """
    whole, rest = divmod(value, over * NM)
    return str(whole) if not rest else plain(Fraction(value, over * NM), 3)


class _Text:
    """Collects text with its blanks."""

    def __init__(self) -> None:
        self._parts: list[str] = []
        self._slots: list[Slot] = []

    def say(self, text: str) -> None:
        """Adds text that is the same for every window; a per cent sign in it is doubled already."""
        self._parts.append(text)

    def length(self, ref: Ref) -> None:
        """Adds a blank for a length to 0.1 mm."""
        self._parts.append("%s")
        self._slots.append((ref, False))

    def term(self, ref: Ref) -> None:
        """Adds a blank for a term of a sum."""
        self._parts.append("%s")
        self._slots.append((ref, True))

    def row(
        self,
        form: "Form",
        *,
        part: str,
        profile: str,
        cut: Ref,
        ends: str,
        light: int | None,
        working: Working,
    ) -> None:
        """Adds a piece or a bead."""
        if self._parts:
            self.say(form.between)
        self.say(form.mark + form.before.format(part=form.quoted(part), profile=form.quoted(profile)))
        self.length(cut)
        self.say(form.behind.format(ends=form.quoted(ends), light=form.none if light is None else light))
        for term in working:
            if isinstance(term, str):
                self.say(form.quoted(term)[1:-1])
            else:
                self.term(term)
        self.say(form.end)

    def done(self) -> Template:
        """The template."""
        return Template("".join(self._parts), self._slots)


def _quoted(text: str) -> str:
    return orjson.dumps(text).decode().replace("%", "%%")


def _cell(text: str) -> str:
    return '"' + text.replace('"', '""').replace("%", "%%") + '"'


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """How a row of a piece or bead is written.

    Attributes:
        quoted: a text with its quotes, per cent signs doubled.
        mark: stands where each row begins, for what the writer fills in afterwards.
        before, behind: what comes before and after the length.
        none: a light that is none.
        end: what closes a row.
        between: what parts rows.
    """

    quoted: Callable[[str], str]
    mark: str
    before: str
    behind: str
    none: str
    end: str
    between: str


OBJECTS: Final = Form(
    _quoted,
    "",
    '{{"part":{part},"profile":{profile},"length_mm":',
    ',"ends":{ends},"light":{light},"working":"',
    "null",
    '"}',
    ",",
)
"""Objects of JSON."""

ROWS: Final = Form(_cell, "\x1e", "{part},{profile},", ',{ends},{light},"', '""', '"\r\n', "")
"""Lines of a table, each with a sign in front that no text can hold."""


@lru_cache(maxsize=4096)
def steel_levels(plan: Plan) -> tuple[tuple[Ref, int], ...]:
    """Each distinct question whether steel is fitted: a finished length and the level it must reach."""
    return tuple(
        dict.fromkeys(
            (member.finished, member.steel.from_nm * plan.denominator)
            for member in plan.members
            if member.steel is not None
        )
    )


def piece_template(plan: Plan, values: Sequence[int], form: Form = OBJECTS) -> "Template":
    """All members of a plan with the steel that is fitted, in published order, without brackets.

    Args:
        plan: the plan.
        values: values of its forms, which tell where steel is fitted.
        form: how a row is written.
    """
    return _pieces(plan, tuple([values[finished] >= level for finished, level in steel_levels(plan)]), form)


@lru_cache(maxsize=16384)
def _pieces(plan: Plan, fitted: tuple[bool, ...], form: Form) -> Template:
    answers = dict(zip(steel_levels(plan), fitted, strict=True))
    text = _Text()
    for member in plan.members:
        text.row(
            form,
            part=member.part,
            profile=member.profile,
            cut=member.cut,
            ends=member.ends,
            light=member.light,
            working=member.working,
        )
        steel = member.steel
        if steel is not None and answers[member.finished, steel.from_nm * plan.denominator]:
            text.row(
                form,
                part="reinforcement",
                profile=steel.profile,
                cut=steel.cut,
                ends="90/90",
                light=member.light,
                working=steel.working,
            )
    return text.done()


@lru_cache(maxsize=4096)
def bead_template(plan: Plan, form: Form = OBJECTS) -> Template:
    """All beads of a plan, light by light, without brackets."""
    text = _Text()
    for number, light in enumerate(plan.lights):
        for bead in light.beads:
            text.row(
                form,
                part=bead.part,
                profile=bead.profile,
                cut=bead.cut,
                ends=bead.ends,
                light=number,
                working=bead.working,
            )
    return text.done()


@lru_cache(maxsize=4096)
def lights_template(plan: Plan) -> Template:
    """All lights of a plan without brackets; glass and masses are blanks of their own, written ``%%s``."""
    text = _Text()
    for number, light in enumerate(plan.lights):
        hinge = orjson.dumps(light.light.hinge).decode()
        text.say(
            f'{"," if number else ""}{{"light":{_quoted(light.light.kind)},"hinge":{hinge},"daylight_mm":['
        )
        text.length(light.daylight[0])
        text.say(",")
        text.length(light.daylight[1])
        text.say('],"sash_mm":')
        if light.sash is None:
            text.say("null")
        else:
            text.say("[")
            text.length(light.sash[0])
            text.say(",")
            text.length(light.sash[1])
            text.say("]")
        text.say(',"glass_mm":[%%s,%%s],"glass_kg":%%s,"sash_kg":%%s}')
    return text.done()
