"""Survey forensics: which statement of a survey is probably wrong, and what it probably was.

`survey_suspects` weighs the openings of one order; the method and what it cannot see are described in
service/sawready/calc/forensics/README.md. It never changes a value: it names a cause, offers candidates and asks.
"""

from collections.abc import Sequence

from sawready.calc.forensics.alike import swapped_by_siblings, unlike_siblings
from sawready.calc.forensics.faults import is_clean
from sawready.calc.forensics.model import Numbers, SurveyedOpening, Suspect, SuspicionFigures
from sawready.calc.forensics.search import Weighing, explain
from sawready.calc.forensics.siblings import SiblingSizes
from sawready.calc.forensics.statements import copied_readings, inside_slips, wrong_face
from sawready.calc.forensics.verdict import suspects_of

__all__ = ["SurveyedOpening", "Suspect", "SuspicionFigures", "opening_suspects", "survey_suspects"]


def survey_suspects(
    openings: Sequence[SurveyedOpening], figures: SuspicionFigures
) -> tuple[tuple[Suspect, ...], ...]:
    """What is suspicious about each opening of an order, the others looked at beside it.

    Args:
        openings: the order's openings, as the order has them. [mm]
        figures: the rulebook's figures.
    Returns: for each opening its suspects; empty where the survey can be true as it stands, and where an
        axis has no reading to judge.
    """
    siblings = SiblingSizes(openings, figures)
    return tuple(opening_suspects(each, figures, siblings, index) for index, each in enumerate(openings))


def opening_suspects(
    opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
) -> tuple[Suspect, ...]:
    """What is suspicious about one opening.

    Args:
        opening: the opening. [mm]
        figures: the rulebook's figures.
        siblings: sizes of all the order's openings.
        index: the opening's place among them.
    Returns: its suspects, the likeliest cause of each disagreement first.
    """
    found = [wrong_face(opening.measured_to)] if opening.measured_to in figures.wrong_faces else []
    if siblings.size(index) is None:
        return tuple(found)
    numbers = None
    if not is_clean(opening, figures):
        suspects, numbers = _weighed(opening, figures, siblings, index)
        found += suspects
    if opening.inside_width_mm is not None or opening.inside_height_mm is not None:
        found += inside_slips(opening, numbers or Numbers.of(opening), figures)
    if opening.widths_mm[0] == opening.widths_mm[-1] and opening.heights_mm[0] == opening.heights_mm[-1]:
        copied = copied_readings(opening, figures)
        found += [copied] if copied is not None else []
    if siblings.count > figures.siblings_least and not found:
        for look in (swapped_by_siblings, unlike_siblings):
            suspect = look(opening, figures, siblings, index)
            if suspect is not None:
                found.append(suspect)
    return tuple(found)


def _weighed(
    opening: SurveyedOpening, figures: SuspicionFigures, siblings: SiblingSizes, index: int
) -> tuple[list[Suspect], Numbers]:
    """Causes of what disagrees, one after the other, each with the ones before put right."""
    weighing = Weighing(opening, figures, siblings, index)
    numbers = weighing.stated
    found: list[Suspect] = []
    for _ in range(figures.mistakes_most):
        verdict = explain(numbers, weighing)
        if verdict is None:
            break
        found += suspects_of(verdict, numbers, weighing)
        numbers = verdict.explanations[0].numbers
    return found, numbers
