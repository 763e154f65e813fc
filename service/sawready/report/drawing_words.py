"""A drawing in words: for a screen reader, for the lines under the picture, for the fitter's sheet."""

from typing import Final

from sawready.model.finding import Severity
from sawready.report.order_view import LightView, OpeningView, Side

SEVERITY_WORDS: Final[dict[Severity, str]] = {
    "reject": "must not be made",
    "query": "ask first",
    "note": "note",
}
"""What a finding asks of its reader."""


def words_of(view: OpeningView) -> list[str]:
    """The drawing in sentences, for a screen reader."""
    words = [f"Seen from {view.view}."]
    if view.frame is not None:
        published = view.published.get("frame") or {}
        words.append(f"Frame {published.get('width_mm', 0):g} by {published.get('height_mm', 0):g} mm.")
    words.extend(f"{line}." for line in lights_in_words(view))
    words.extend(
        f"{SEVERITY_WORDS[noted.finding.severity].capitalize()}: {noted.finding.message}"
        for noted in view.noted
    )
    return words


def lights_in_words(view: OpeningView) -> list[str]:
    """Every light in words with its sizes, those that are alike together; sides as in the view.

    Example: ``Light 1: side-hung, hinges on the left, handle on the right, opens outward``.
    """
    alike: dict[str, list[int]] = {}
    for light in view.lights:
        alike.setdefault(f"{light_words(light)}{_sizes_of(view, light)}", []).append(light.number)
    return [f"{_numbers(numbers)}: {words}" for words, numbers in alike.items()]


def _numbers(numbers: list[int]) -> str:
    """Lights by number, runs drawn together.

    Example: ``Lights 1, 3 to 5``.
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = [", ".join(map(str, run)) if len(run) < 3 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"Light{'s' * (len(numbers) > 1)} {', '.join(texts)}"


def light_words(light: LightView) -> str:
    """How a light opens, in words, sides as in its view.

    Example: ``side-hung, hinges on the left, handle on the right, opens outward``.
    """
    if light.hinge is None:
        return "fixed"
    kind, tilts = (
        ("tilt and turn", ", tilts at the bottom") if light.kind == "tilt-turn" else (light.kind, "")
    )
    return (
        f"{kind}, hinges {at_side(light.hinge)}{tilts}, handle {at_side(light.handle or 'right')}, "
        f"opens {light.opens}"
    )


def at_side(side: Side) -> str:
    """A side in words: on the left, at the top."""
    return f"on the {side}" if side in {"left", "right"} else f"at the {side}"


def _sizes_of(view: OpeningView, light: LightView) -> str:
    published = view.published.get("lights") or []
    if len(published) < light.number:
        return ""
    own = published[light.number - 1]
    text = f"; daylight {own['daylight_mm'][0]:g} × {own['daylight_mm'][1]:g}"
    if own["sash_mm"] is not None:
        text += f", sash {own['sash_mm'][0]:g} × {own['sash_mm'][1]:g}"
    if own["glass_mm"] is not None:
        text += f", glass {own['glass_mm'][0]} × {own['glass_mm'][1]}"
    return text
