"""Suspicions that only the other windows of the order raise: turned round, or two digits apart."""

from sawready.calc.forensics.changes import DIGITS, digit_swaps
from sawready.calc.forensics.explanation import SWAPPED, first_place
from sawready.calc.forensics.model import SurveyedOpening, Suspect, SuspicionFigures
from sawready.calc.forensics.siblings import Sibling, SiblingSizes
from sawready.calc.forensics.sight import Axis, axis_of
from sawready.calc.forensics.wording import length
from sawready.model.finding import QUERY

__all__ = ["swapped_by_siblings", "unlike_siblings"]


def swapped_by_siblings(
    opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
) -> Suspect | None:
    """Width and height changed over, as the other windows of the order have it.

    Several others are alike and have this opening's size turned round, of the same layout; none has it
    as it stands; nothing else says that it is right. Round sizes are let be: standard windows lie both
    ways.

    Args:
        opening: the opening. [mm]
        figures: how alike, and how many.
        siblings: the other windows.
        index: this one's place among them.
    Returns: the suspect, or None.
    """
    size = siblings.size(index)
    if size is None or abs(size[0] - size[1]) <= 2 * figures.sibling_equal_mm:
        return None
    turned = siblings.like(width_mm=size[1], height_mm=size[0], but=index)
    if len(turned) < figures.siblings_least:
        return None
    width, height = axis_of(opening.widths_mm), axis_of(opening.heights_mm)
    if any(each.layout_key != opening.layout_key for each in turned):
        return None
    if siblings.like(width_mm=width.least, height_mm=height.least, but=index):
        return None
    if _is_round(width.least, figures) and _is_round(height.least, figures):
        return None
    if _inside_supports(opening, figures, width, height):
        return None
    wide, high = length(width.least, opening.unit_mm), length(height.least, opening.unit_mm)
    field = "widths" if width.number > 1 else f"widths/{first_place(opening.widths_mm)}"
    return Suspect(
        reason=SWAPPED,
        severity=QUERY,
        field=field,
        measured_mm=width.least,
        candidates_mm=(height.least,),
        why=(
            f"{high} x {wide} agrees with {len(turned)} other windows of the order; {wide} x {high} is that "
            "turned round."
        ),
        question=(
            f"The width is given as {wide} and the height as {high}, the other way round than in "
            f"{len(turned)} windows like it: have the two changed places?"
        ),
    )


def _is_round(length_mm: float, figures: SuspicionFigures) -> bool:
    """Within tape accuracy of a size that windows are made in as a standard."""
    round_to = figures.copied_round_to_mm
    return abs(length_mm - round(length_mm / round_to) * round_to) <= 2 * figures.tape_mm


def _inside_supports(opening: SurveyedOpening, figures: SuspicionFigures, width: Axis, height: Axis) -> bool:
    """Inside sizes that fit as the opening stands, and would not if it were turned."""
    inside = (opening.inside_width_mm, opening.inside_height_mm)
    within = figures.inside_differs_mm
    for taken, mine, other in ((inside[0], width, height), (inside[1], height, width)):
        if taken is not None and abs(taken - mine.mean) <= within < abs(taken - other.mean):
            return True
    return False


def unlike_siblings(
    opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
) -> Suspect | None:
    """A lone reading that two swapped digits set apart from windows that are alike.

    Only where nothing else can speak: one reading on the axis, no diagonal, and sizes that are not
    round, of the same layout as the others.

    Args:
        opening: the opening. [mm]
        figures: how alike, and how many.
        siblings: the other windows.
        index: this one's place among them.
    Returns: the suspect, or None.
    """
    if opening.layout_key is None or any(each is not None for each in opening.diagonals_mm):
        return None
    width, height = axis_of(opening.widths_mm), axis_of(opening.heights_mm)
    if min(width.number, height.number) > 1:
        return None
    if siblings.like(width_mm=width.least, height_mm=height.least, but=index):
        return None
    for name, axis, other in (("width", width, height), ("height", height, width)):
        if axis.number > 1 or _is_round(axis.least, figures):
            continue
        for value, _ in digit_swaps(axis.least, unit_mm=opening.unit_mm):
            across, up = (value, other.least) if name == "width" else (other.least, value)
            alike = siblings.like(width_mm=across, height_mm=up, but=index)
            sizes = [each.width_mm if name == "width" else each.height_mm for each in alike]
            if _is_set_apart(value, alike, sizes, opening, figures):
                return _set_apart(opening, name, axis, value, sizes)
    return None


def _is_set_apart(
    value: float,
    alike: list[Sibling],
    sizes: list[float],
    opening: SurveyedOpening,
    figures: SuspicionFigures,
) -> bool:
    """Enough windows of the same layout have this size within tape accuracy, and it is not round."""
    return (
        len(alike) >= figures.siblings_least
        and not _is_round(value, figures)
        and all(each.layout_key == opening.layout_key for each in alike)
        and max(abs(each - value) for each in sizes) <= 2.5 * figures.tape_mm
    )


def _set_apart(opening: SurveyedOpening, name: str, axis: Axis, value: float, sizes: list[float]) -> Suspect:
    """The suspect for a reading two digits apart from the others'."""
    readings = opening.widths_mm if name == "width" else opening.heights_mm
    unit = opening.unit_mm
    was, near = length(axis.least, unit), length(value, unit)
    return Suspect(
        reason=DIGITS,
        severity=QUERY,
        field=f"{name}s/{first_place(readings)}",
        measured_mm=axis.least,
        candidates_mm=(value,),
        why=f"{near} agrees with {len(sizes)} other windows of the order; {was} is that, two digits swapped.",
        question=(
            f"The {name} reads {was}, in {len(sizes)} windows like it {length(sizes[0], unit)}: "
            f"should it be {near}?"
        ),
    )
