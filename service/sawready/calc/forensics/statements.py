"""Suspicions that one look decides: copied readings, the wrong face, and windows that match when turned."""

from sawready.calc.forensics.changes import DIGITS, UNIT, digit_swaps, unit_slips
from sawready.calc.forensics.model import Numbers, SurveyedOpening, Suspect, SuspicionFigures
from sawready.calc.forensics.candidates import SWAPPED
from sawready.calc.forensics.siblings import SiblingSizes
from sawready.calc.forensics.sight import Axis, axis_of
from sawready.calc.forensics.wording import length
from sawready.model.finding import NOTE, QUERY, REJECT

__all__ = ["copied_readings", "inside_slips", "swapped_by_siblings", "unlike_siblings", "wrong_face"]


def copied_readings(opening: SurveyedOpening, figures: SuspicionFigures) -> Suspect | None:
    """Readings that look written down rather than measured.

    Three equal readings on both axes, all round, and diagonals equal where there are any: walls are
    never so. Equal readings that are not round happen in new walls and are left alone.

    Args:
        opening: the opening. [mm]
        figures: what counts as round.
    Returns: the remark, or None.
    """
    widths, heights = opening.widths_mm, opening.heights_mm
    if len(widths) != 3 or len(heights) != 3 or None in widths or None in heights:
        return None
    if len(set(widths)) > 1 or len(set(heights)) > 1:
        return None
    width, height = widths[0], heights[0]
    assert width is not None
    assert height is not None
    round_to = figures.copied_round_to_mm
    if width % round_to or height % round_to:
        return None
    taped = {each for each in opening.diagonals_mm if each is not None}
    if len(taped) > 1:
        return None
    return Suspect(
        reason="readings-look-copied",
        severity=NOTE,
        field="widths",
        measured_mm=width,
        candidates_mm=(),
        why=(
            f"All three widths are {length(width)} and all three heights {length(height)}, both round"
            f"{', and the diagonals are equal' if taped else ''}; walls are seldom so."
        ),
        question=f"Were all three widths of {length(width)} and heights of {length(height)} measured?",
    )


def wrong_face(opening: SurveyedOpening, figures: SuspicionFigures) -> Suspect | None:
    """Readings taken to a face that no frame can be made from.

    Args:
        opening: the opening.
        figures: the faces.
    Returns: the suspect, or None.
    """
    if opening.measured_to not in figures.wrong_faces:
        return None
    face = opening.measured_to.replace("_", " ") if opening.measured_to else ""
    return Suspect(
        reason="measured-to-wrong-face",
        severity=REJECT,
        field="measured_to",
        measured_mm=None,
        candidates_mm=(),
        why=f"The sizes are taken to the {face}; the frame has to pass the brick or render outside.",
        question=f"The sizes are taken to the {face}: what are they between brick or render, outside?",
    )


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
    if siblings.count <= figures.siblings_least:
        return None
    width, height = axis_of(opening.widths_mm), axis_of(opening.heights_mm)
    if width is None or height is None or abs(width.least - height.least) <= 2 * figures.sibling_equal_mm:
        return None
    turned = siblings.like(width_mm=height.least, height_mm=width.least, but=index)
    if len(turned) < figures.siblings_least:
        return None
    if any(each.layout_key != opening.layout_key for each in turned):
        return None
    if siblings.like(width_mm=width.least, height_mm=height.least, but=index):
        return None
    if _is_round(width.least, figures) and _is_round(height.least, figures):
        return None
    if _inside_supports(opening, figures, width, height):
        return None
    field = "widths" if width.count > 1 else "widths/0"
    return Suspect(
        reason=SWAPPED,
        severity=QUERY,
        field=field,
        measured_mm=width.least,
        candidates_mm=(height.least,),
        why=(
            f"{length(height.least)} x {length(width.least)} agrees with {len(turned)} other windows of the "
            f"order; {length(width.least)} x {length(height.least)} is that turned round."
        ),
        question=(
            f"The width is given as {length(width.least)} and the height as {length(height.least)}, the other "
            f"way round than in {len(turned)} windows like it: have the two changed places?"
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

    Only where nothing else can speak: one reading on the axis, no diagonal, and a size that is not
    round, of the same layout as the others.

    Args:
        opening: the opening. [mm]
        figures: how alike, and how many.
        siblings: the other windows.
        index: this one's place among them.
    Returns: the suspect, or None.
    """
    if siblings.count <= figures.siblings_least or any(each is not None for each in opening.diagonals_mm):
        return None
    width, height = axis_of(opening.widths_mm), axis_of(opening.heights_mm)
    if width is None or height is None or opening.layout_key is None:
        return None
    if siblings.like(width_mm=width.least, height_mm=height.least, but=index):
        return None
    for group, axis, name in (("widths", width, "width"), ("heights", height, "height")):
        if axis.count > 1 or axis.least % 10 == 0:
            continue
        for value, _ in digit_swaps(axis.least, unit_mm=opening.unit_mm):
            size = (value, height.least) if name == "width" else (width.least, value)
            alike = siblings.like(width_mm=size[0], height_mm=size[1], but=index)
            if len(alike) < figures.siblings_least or value % 10 == 0:
                continue
            if any(each.layout_key != opening.layout_key for each in alike):
                continue
            mine = [each.width_mm if name == "width" else each.height_mm for each in alike]
            if max(abs(each - value) for each in mine) > figures.sibling_equal_mm / 3:
                continue
            place = next(
                spot
                for spot, each in enumerate(opening.widths_mm if name == "width" else opening.heights_mm)
                if each is not None
            )
            return Suspect(
                reason=DIGITS,
                severity=QUERY,
                field=f"{group}/{place}",
                measured_mm=axis.least,
                candidates_mm=(value,),
                why=(
                    f"{length(value)} agrees with {len(alike)} other windows of the order; "
                    f"{length(axis.least)} is that, two digits swapped."
                ),
                question=(
                    f"The {name} reads {length(axis.least)}, in {len(alike)} windows like it {length(mine[0])}: "
                    f"is it {length(value)}?"
                ),
            )
    return None


def inside_slips(opening: SurveyedOpening, numbers: Numbers, figures: SuspicionFigures) -> list[Suspect]:
    """Inside sizes in another unit, and inside and outside sizes that match only when turned.

    Args:
        opening: the opening. [mm]
        numbers: its numbers, with what the weighing named put right. [mm]
        figures: how far inside and outside usually differ.
    Returns: the suspects.
    """
    width, height = axis_of(numbers.widths), axis_of(numbers.heights)
    found: list[Suspect] = []
    if width is None or height is None:
        return found
    within = figures.inside_differs_mm
    sides = (("width", opening.inside_width_mm, width), ("height", opening.inside_height_mm, height))
    for name, inside, axis in sides:
        if inside is None or abs(inside - axis.mean) <= 3 * within:
            continue
        for value, factor, _ in unit_slips(inside, unit_mm=opening.unit_mm, figures=figures):
            if abs(value - axis.mean) <= within and not 0.35 < factor < 2.9:
                found.append(
                    Suspect(
                        reason=UNIT,
                        severity=REJECT,
                        field=f"inside/{name}",
                        measured_mm=inside,
                        candidates_mm=(round(value, 4),),
                        why=f"{length(value)} is near the outside {name} {length(axis.mean)}; {length(inside)} is not.",
                        question=f"The inside {name} reads {length(inside)}: is it {length(value)} mm?",
                    )
                )
                break
    if found or opening.inside_width_mm is None or opening.inside_height_mm is None:
        return found
    is_off = all(abs(inside - axis.mean) > within for _, inside, axis in sides if inside is not None)
    turned = abs(opening.inside_width_mm - height.mean) <= within and (
        abs(opening.inside_height_mm - width.mean) <= within
    )
    if is_off and turned and abs(width.mean - height.mean) > 2 * within:
        found.append(
            Suspect(
                reason=SWAPPED,
                severity=REJECT,
                field="widths" if width.count > 1 else "widths/0",
                measured_mm=width.least,
                candidates_mm=(height.least,),
                why=(
                    f"The inside sizes {length(opening.inside_width_mm)} x {length(opening.inside_height_mm)} agree "
                    f"with {length(height.least)} x {length(width.least)}, the readings turned round."
                ),
                question=(
                    f"Outside the opening is {length(width.least)} wide and {length(height.least)} high, inside "
                    f"{length(opening.inside_width_mm)} wide and {length(opening.inside_height_mm)} high: which way "
                    "round is right?"
                ),
            )
        )
    return found
