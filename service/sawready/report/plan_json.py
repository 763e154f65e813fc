"""Pieces, beads and lights of a plan as text with blanks, filled in per window.

Rows of a list differ from window to window only in a few numbers. Their text is put together once for a
plan, with a blank for each number; a window then costs one look-up for each distinct length and one
filling of the blanks. All text is bytes, which need no encoding afterwards.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from operator import itemgetter
from typing import Final, TypeVar

import orjson

from sawready.calc.plan import NM, Plan, Ref, Working
from sawready.model.shown import plain

_TENTH: Final = 100_000
"""Nanometres in a tenth of a millimetre."""

_MOST_TEXTS: Final = 65_536

Slot = tuple[Ref, bool] | int
"""A blank: a form's value as a length (False, 0.1 mm) or as a term of a sum (True), or a text by its number."""


_K = TypeVar("_K")


class Texts(dict[_K, bytes]):
    """Numbers as text, each written once and then looked up.

    Args:
        written: writes a number.
    """

    def __init__(self, written: Callable[[_K], str]) -> None:
        super().__init__()
        self._written: Callable[[_K], str] = written

    def __missing__(self, number: _K) -> bytes:
        """Writes a number that has not been met."""
        if len(self) >= _MOST_TEXTS:
            self.clear()
        text: bytes = self._written(number).encode("ascii")
        self[number] = text
        return text


@lru_cache(maxsize=64)
def length_texts(over: int) -> Texts[int]:
    """Lengths to a tenth of a millimetre, by their numerator. [nm over a denominator]"""
    return Texts(lambda value: repr(tenths(value, over)))


@lru_cache(maxsize=64)
def term_texts(over: int) -> Texts[int]:
    """Terms of a sum, by their numerator. [nm over a denominator]"""
    return Texts(lambda value: exact_text(value, over))


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


class Numbers:
    """The numbers of a plan that its texts show, each distinct one once.

    Args:
        plan: the plan.
    """

    def __init__(self, plan: Plan) -> None:
        lengths: dict[Ref, None] = {}
        terms: dict[Ref, None] = {}

        def note(cut: Ref, working: Working) -> None:
            lengths[cut] = None
            terms.update((term, None) for term in working if not isinstance(term, str))

        for member in plan.members:
            note(member.cut, member.working)
            if member.steel is not None:
                note(member.steel.cut, member.steel.working)
        for light in plan.lights:
            lengths.update(dict.fromkeys((*light.daylight, *(light.sash or ()))))
            for bead in light.beads:
                note(bead.cut, bead.working)
        refs = [*lengths, *terms]
        self._lengths = len(lengths)
        self._pick = itemgetter(*refs)
        self._length_of = length_texts(plan.denominator).__getitem__
        self._term_of = term_texts(plan.denominator).__getitem__
        self.places: Mapping[Slot, int] = {
            **{(ref, False): number for number, ref in enumerate(lengths)},
            **{(ref, True): number + len(lengths) for number, ref in enumerate(terms)},
        }
        """Where the text of each stands among `texts`."""

    def texts(self, values: Sequence[int]) -> list[bytes]:
        """The text of each.

        Args:
            values: values of the plan's forms. [nm over the denominator]
        """
        picked = self._pick(values)
        texts = list(map(self._length_of, picked[: self._lengths]))
        texts += map(self._term_of, picked[self._lengths :])
        return texts


@lru_cache(maxsize=4096)
def numbers_of(plan: Plan) -> Numbers:
    """The numbers of a plan; a plan has at least the lengths of its frame."""
    return Numbers(plan)


class Template:
    """Text with blanks for the numbers of one window.

    Args:
        parts: text, and between it blanks.
        numbers: the numbers of the plan.
    """

    __slots__ = ("_pick", "_text")

    def __init__(self, parts: Sequence[bytes | Slot], numbers: Numbers) -> None:
        texts: list[bytes] = []
        places: list[int] = []
        shown = len(numbers.places)
        for part in parts:
            if isinstance(part, bytes):
                texts.append(part.replace(b"%", b"%%"))
            else:
                texts.append(b"%b")
                places.append(shown + part if isinstance(part, int) else numbers.places[part])
        # Two blanks more than are needed, so that itemgetter gives a tuple even for a single one.
        self._text = b"".join(texts) + b"%.0b%.0b"
        self._pick = itemgetter(*places, 0, 0)

    def filled(self, texts: Sequence[bytes]) -> bytes:
        """The text with every blank filled.

        Args:
            texts: texts of the plan's numbers, and after them those that the blanks name by number.
        """
        picked: tuple[bytes, ...] = self._pick(texts)
        return self._text % picked


def quoted(text: str) -> bytes:
    """A text as JSON."""
    written: bytes = orjson.dumps(text)
    return written


def _cell(text: str) -> bytes:
    """A text as a cell of a table."""
    return b'"' + text.replace('"', '""').encode() + b'"'


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """How a row of a piece or bead is written.

    Attributes:
        quoted: a text with its quotes.
        mark: stands where each row begins, for what the writer fills in afterwards.
        names: what stands before part, profile, length, ends, light and working.
        none: a light that is none.
        end: what closes a row.
        between: what parts rows.
    """

    quoted: Callable[[str], bytes]
    mark: bytes
    names: tuple[bytes, bytes, bytes, bytes, bytes, bytes]
    none: bytes
    end: bytes
    between: bytes


OBJECTS: Final = Form(
    quoted,
    b"",
    (b'{"part":', b',"profile":', b',"length_mm":', b',"ends":', b',"light":', b',"working":"'),
    b"null",
    b'"}',
    b",",
)
"""Objects of JSON."""

ROWS: Final = Form(_cell, b"\x1e", (b"", b",", b",", b",", b",", b',"'), b'""', b'"\r\n', b"")
"""Lines of a table, each with a sign in front that no text can hold."""


def _row(
    form: Form, *, part: str, profile: str, cut: Ref, ends: str, light: int | None, working: Working
) -> list[bytes | Slot]:
    """A piece or a bead."""
    names = form.names
    return [
        form.mark + names[0] + form.quoted(part) + names[1] + form.quoted(profile) + names[2],
        (cut, False),
        names[3] + form.quoted(ends) + names[4] + (form.none if light is None else b"%d" % light) + names[5],
        *[form.quoted(term)[1:-1] if isinstance(term, str) else (term, True) for term in working],
        form.end,
    ]


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


def pieces(plan: Plan, fitted: Sequence[bool], form: Form) -> list[bytes | Slot]:
    """All members of a plan with the steel that is fitted, in published order, without brackets.

    Args:
        plan: the plan.
        fitted: answers to ``steel_levels``, in its order.
        form: how a row is written.
    """
    answers = dict(zip(steel_levels(plan), fitted, strict=True))
    parts: list[bytes | Slot] = []
    for member in plan.members:
        if parts:
            parts.append(form.between)
        parts += _row(
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
            parts.append(form.between)
            parts += _row(
                form,
                part="reinforcement",
                profile=steel.profile,
                cut=steel.cut,
                ends="90/90",
                light=member.light,
                working=steel.working,
            )
    return parts


def beads(plan: Plan, form: Form) -> list[bytes | Slot]:
    """All beads of a plan, light by light, without brackets."""
    parts: list[bytes | Slot] = []
    for number, light in enumerate(plan.lights):
        for bead in light.beads:
            if parts:
                parts.append(form.between)
            parts += _row(
                form,
                part=bead.part,
                profile=bead.profile,
                cut=bead.cut,
                ends=bead.ends,
                light=number,
                working=bead.working,
            )
    return parts


PANE: Final = 4
"""Texts of a light that are no lengths of the plan: width and height of its glass, mass of it, of its sash."""


def _lights(plan: Plan) -> list[bytes | Slot]:
    """All lights of a plan without brackets."""
    parts: list[bytes | Slot] = []
    for number, light in enumerate(plan.lights):
        kind, hinge = quoted(light.light.kind), orjson.dumps(light.light.hinge)
        first = PANE * number
        parts += [
            (b"," if number else b"") + b'{"light":' + kind + b',"hinge":' + hinge + b',"daylight_mm":[',
            (light.daylight[0], False),
            b",",
            (light.daylight[1], False),
            b'],"sash_mm":',
            *_pair(light.sash),
            b',"glass_mm":[',
            first,
            b",",
            first + 1,
            b'],"glass_kg":',
            first + 2,
            b',"sash_kg":',
            first + 3,
            b"}",
        ]
    return parts


def _pair(sash: tuple[Ref, Ref] | None) -> list[bytes | Slot]:
    if sash is None:
        return [b"null"]
    return [b"[", (sash[0], False), b",", (sash[1], False), b"]"]


def _glass(plan: Plan, after: int) -> list[bytes | Slot]:
    """All panes without brackets.

    Args:
        plan: the plan.
        after: number of the text of the unit; the kind of safety glass of each light follows it.
    """
    parts: list[bytes | Slot] = []
    for number in range(len(plan.lights)):
        first = PANE * number
        parts += [
            b',{"width_mm":' if number else b'{"width_mm":',
            first,
            b',"height_mm":',
            first + 1,
            b',"unit":',
            after,
            b',"safety":"',
            after + 1 + number,
            b'","kg":',
            first + 2,
            b',"light":%d}' % number,
        ]
    return parts


@lru_cache(maxsize=16384)
def made_template(plan: Plan, fitted: tuple[bool, ...]) -> Template:
    """Lights, pieces, beads and glass of a window, from ``,"lights"`` on.

    Its blanks by number are: four texts for each light (`PANE`), the glass unit, the safety glass of each
    light, and further pieces with a comma before each.

    Args:
        plan: the plan.
        fitted: answers to ``steel_levels``, in its order.
    """
    after = PANE * len(plan.lights)
    parts = [
        b',"lights":[',
        *_lights(plan),
        b'],"pieces":[',
        *pieces(plan, fitted, OBJECTS),
        after + 1 + len(plan.lights),
        b'],"beads":[',
        *beads(plan, OBJECTS),
        b'],"glass":[',
        *_glass(plan, after),
        b"]",
    ]
    return Template(parts, numbers_of(plan))


@lru_cache(maxsize=16384)
def cutting_template(plan: Plan, fitted: tuple[bool, ...]) -> Template:
    """Lines of the cutting list, with one blank by number for further pieces before the beads."""
    return Template([*pieces(plan, fitted, ROWS), 0, *beads(plan, ROWS)], numbers_of(plan))
