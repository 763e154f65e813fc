"""From a statement to an answer: limits, remarks, and refusals with the readings worth offering."""

from collections.abc import Iterable
from fractions import Fraction
from typing import Final, NamedTuple

from sawready.lengths.grammar import Doubt, Sure, read_statement
from sawready.lengths.results import Length, Refusal, Remark
from sawready.model.finding import Quantity
from sawready.units import LENGTH_UNITS, UNIT_NAMES, mm, nm_per_unit, nm_to_mm_text

STATE_ONE_SIZE: Final = "State one size, such as 1200 mm."
_REMEDY: Final = {
    "unit-not-stated": "Write the unit beside the number, or declare one for the order.",
    "value-ambiguous": "Say which is meant, and write it with its unit.",
    "value-unreadable": STATE_ONE_SIZE,
    "unit-not-a-length": "Write a length in mm, cm, m, inches or feet.",
}


class Ask(NamedTuple):
    """What a reader was asked, beside the text itself.

    Attributes:
        quoted: the raw text as messages quote it.
        unit: declared unit, or None.
        style: declared number style.
        least_nm: least length that is accepted, or None.
        most_nm: greatest length that is accepted, or None.
        axis: side that the cell is about, or None.
    """

    quoted: str
    unit: str | None
    style: str
    least_nm: int | None
    most_nm: int | None
    axis: str | None = None

    def allows(self, nm: Fraction | int) -> bool:
        """Whether a length lies within the limits; nothing below nought ever does."""
        return nm >= (self.least_nm or 0) and (self.most_nm is None or nm <= self.most_nm)


def whole_nm(nm: Fraction) -> int:
    """Nearest whole nanometre; of two equally near, the even one."""
    return round(nm)


def candidates(lengths: Iterable[Fraction], *, ask: Ask, keep_all: bool = False) -> tuple[float, ...]:
    """Readings in mm without repeats, those outside the limits left out unless all are kept."""
    kept = (mm(whole_nm(nm)) for nm in lengths if keep_all or ask.allows(nm))
    return tuple(dict.fromkeys(kept))


def refuse(
    ask: Ask, reason: str, because: str, offered: tuple[float | str, ...] = (), *, remedy: str = ""
) -> Refusal:
    """A refusal whose sentence begins with the quoted text and ends with what may be meant."""
    likely = f"; it may be {_listed(offered)}" if offered else ""
    return Refusal(
        reason=reason,
        because=f"{ask.quoted} {because}{likely}.",
        candidates_mm=offered,
        remedy=remedy or _REMEDY[reason],
    )


def _listed(offered: tuple[float | str, ...]) -> str:
    return " or ".join(one if isinstance(one, str) else f"{one:.10g} mm" for one in offered)


def refuse_doubt(doubt: Doubt, ask: Ask) -> Refusal:
    """The refusal of a doubtful statement, with its candidates."""
    offered = candidates(doubt.candidates, ask=ask, keep_all=doubt.keep_all)
    return refuse(ask, doubt.reason, doubt.because, offered)


def settle(sure: Sure, text: str, ask: Ask, *, remarks: tuple[Remark, ...] = ()) -> Length | Refusal:
    """Length of a sure statement with its remarks, or a refusal where it is outside the limits.

    Args:
        sure: the statement as read.
        text: the same, as written, cleaned; other readings of it are offered where it is refused.
        ask: the question that it answers.
        remarks: what was already noticed about it.
    """
    if not ask.allows(sure.nm):
        return _outside(sure, text, ask)
    if sure.unit is not None and ask.unit is not None and sure.unit != ask.unit:
        written, declared = UNIT_NAMES[sure.unit], UNIT_NAMES[ask.unit]
        said = (
            f"{ask.quoted} is written in {written}; the declared unit is {declared}. The written one is used."
        )
        remarks = (*remarks, Remark("unit-differs", said))
    if sure.has_leading_zero:
        remarks = (*remarks, Remark("number-unusual", f"{ask.quoted} begins with a needless nought."))
    return Length(whole_nm(sure.nm), remarks)


def _outside(sure: Sure, text: str, ask: Ask) -> Refusal:
    """Refusal of a length outside the limits, saying what else it may have been."""
    nm = whole_nm(sure.nm)
    offered: dict[float, str] = {}
    other_style = read_statement(text, style="unknown", unit=ask.unit)
    if isinstance(other_style, Doubt):
        for value in candidates(other_style.candidates, ask=ask):
            offered[value] = f"{value:.10g} mm in another number style"
    if sure.figure is not None:
        for unit in LENGTH_UNITS:
            for value in candidates([sure.figure * nm_per_unit(unit)], ask=ask):
                offered.setdefault(value, _in_unit(sure.figure, unit, value))
    least, most = ask.least_nm or 0, ask.most_nm
    limits = (
        f"{nm_to_mm_text(least)} mm or more"
        if most is None
        else f"{nm_to_mm_text(least)} to {nm_to_mm_text(most)} mm"
    )
    likely = f"; it may be {' or '.join(offered.values())}" if offered else ""
    limit = least if nm < least or most is None else most
    return Refusal(
        reason="value-out-of-range",
        because=f"{ask.quoted} is {nm_to_mm_text(nm)} mm, outside {limits}{likely}.",
        candidates_mm=tuple(offered),
        remedy="Correct the number or its unit.",
        measured=Quantity(mm(nm), "mm"),
        limit=Quantity(mm(limit), "mm"),
    )


def _in_unit(figure: Fraction, unit: str, value_mm: float) -> str:
    """A number with another unit, and the millimetres that it would make."""
    written = f"{float(figure):.10g} {UNIT_NAMES[unit]}"
    return written if unit == "mm" else f"{written} ({value_mm:.10g} mm)"
