"""The order's drawing against the survey's own, both seen from outside."""

from sawready.model.layout import Division, Layout, Light, in_words, lights_of, turned
from sawready.rules.registry import REJECT, Hit, Hits, rule
from sawready.sizing import Sized


def _pairs(ordered: Layout, surveyed: Layout) -> list[tuple[Light, Light]] | None:
    """Lights that stand in the same place of both layouts, or None where the dividers differ."""
    if isinstance(ordered, Light) and isinstance(surveyed, Light):
        return [(ordered, surveyed)]
    if not isinstance(ordered, Division) or not isinstance(surveyed, Division):
        return None
    if ordered.axis != surveyed.axis or len(ordered.parts) != len(surveyed.parts):
        return None
    pairs: list[tuple[Light, Light]] = []
    for one, other in zip(ordered.parts, surveyed.parts, strict=True):
        inner = _pairs(one, other)
        if inner is None:
            return None
        pairs.extend(inner)
    return pairs


def _differing(ordered: Layout, surveyed: Layout) -> list[tuple[int, Light, Light]] | None:
    """Number and kinds of the lights that differ; None where the dividers do."""
    pairs = _pairs(ordered, surveyed)
    if pairs is None:
        return None
    return [
        (number, one, other)
        for number, (one, other) in enumerate(pairs, start=1)
        if (one.kind, one.hinge) != (other.kind, other.hinge)
    ]


def _only_openers_for_fixed(differing: list[tuple[int, Light, Light]] | None) -> bool:
    return bool(differing) and all(
        one.kind != "fixed" and other.kind == "fixed" for _, one, other in differing or ()
    )


@rule(
    reason="layout-differs-from-survey",
    about="openers",
    severity=REJECT,
    stage="order",
    needs=("layout", "surveyed_layout"),
    title="The order's layout is not the one that was surveyed",
    message='Seen from outside, the order has "{ordered}" and the survey "{surveyed}"{hint}.',
    remedy="Draw the order as the survey has it, or correct the view that one of them is stated from.",
    source="contract of the order, section 1: both must agree once seen from outside",
)
def layout_differs_from_survey(ctx: Sized) -> Hits:
    """A window drawn again from the wrong side opens against the wall, into the path, or not at all."""
    ordered, surveyed = ctx.opening.layout, ctx.opening.surveyed_layout
    assert ordered is not None  # noqa: S101 - the rule needs it
    assert surveyed is not None  # noqa: S101 - the rule needs it
    differing = _differing(ordered, surveyed)
    if differing == [] or _only_openers_for_fixed(differing):
        return ()
    hint = ""
    if _differing(turned(ordered), surveyed) == []:
        hint = "; they agree if one of them was drawn from the other side"
    elif differing is None and sum(1 for _ in lights_of(ordered)) != sum(1 for _ in lights_of(surveyed)):
        hint = "; even the number of lights differs"
    facts = {"ordered": in_words(ordered), "surveyed": in_words(surveyed), "hint": hint}
    return (Hit("layout", facts, candidates=[in_words(surveyed)]),)


@rule(
    reason="opener-in-fixed-position",
    about="openers",
    severity=REJECT,
    stage="order",
    needs=("layout", "surveyed_layout"),
    title="An opener is ordered where the survey has a fixed light",
    message='Seen from outside, light {number} is ordered as "{ordered}", and the survey has it fixed.',
    remedy="Make the light fixed, or have the surveyor confirm that it may open there.",
    source="contract of the order, section 1: both must agree once seen from outside",
)
def opener_in_fixed_position(ctx: Sized) -> Hits:
    """A light that was surveyed fixed may have a wall, a pipe or a footpath where its sash would swing."""
    ordered, surveyed = ctx.opening.layout, ctx.opening.surveyed_layout
    assert ordered is not None  # noqa: S101 - the rule needs it
    assert surveyed is not None  # noqa: S101 - the rule needs it
    differing = _differing(ordered, surveyed)
    if not _only_openers_for_fixed(differing):
        return ()
    return [
        Hit("layout", {"number": number, "ordered": one.name}, candidates=[other.name])
        for number, one, other in differing or ()
    ]
