"""The register of reasons: names once, reasons why, findings filled in."""

from typing import Any

import pytest

import sawready.rules.run
from sawready.model.finding import NOTE, QUERY, REJECT, Quantity
from sawready.rules import registry
from sawready.rules.registry import (
    ABOUT,
    REASONS,
    Hit,
    Reason,
    catalogue_pages,
    declare,
    finding,
    reason_named,
    rule,
)

PAGE: dict[str, Any] = {
    "reason": "made-for-the-test",
    "about": "size",
    "severity": REJECT,
    "title": "Made for the test",
    "message": "It is {much} mm.",
    "remedy": "Make it {less} mm.",
    "source": "nowhere",
}


@pytest.fixture(autouse=True)
def own_register(monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of the register, so that nothing made here stays in it."""
    monkeypatch.setattr(registry, "REASONS", dict(REASONS))


def test_a_name_is_given_once() -> None:
    declare(why="so", **PAGE)
    with pytest.raises(ValueError, match="reason made-for-the-test is declared twice"):
        declare(why="so", **PAGE)


def test_a_rule_says_why_it_matters() -> None:
    with pytest.raises(ValueError, match="the rule for made-for-the-test does not say why"):
        rule(**PAGE)(lambda _: ())


def test_a_rules_docstring_becomes_its_why() -> None:
    @rule(needs=("width",), **PAGE)
    def made(ctx: Any) -> tuple[Hit, ...]:
        """It matters.

        Very much.
        """
        return ()

    page = registry.REASONS["made-for-the-test"]
    assert (page.why, page.check, page.needs, page.stage) == (
        "It matters. Very much.",
        made,
        ("width",),
        "sizes",
    )


def test_pages_come_by_family() -> None:
    families = [page.about for page in catalogue_pages()]
    assert families == sorted(families, key=ABOUT.index)


def test_a_reason_that_there_is_not_raises() -> None:
    assert reason_named("frame-too-wide").about == "size"
    with pytest.raises(KeyError):
        reason_named("frame-too-purple")


def _page() -> Reason:
    return declare(why="so", **PAGE)


@pytest.mark.parametrize(
    ("at", "pointer"),
    [("gap/left", "/openings/0/gap/left"), ("", "/openings/0"), ("/viewed_from", "/viewed_from")],
)
def test_a_place_is_relative_to_the_opening_unless_it_begins_with_a_slash(at: str, pointer: str) -> None:
    assert finding(_page(), Hit(at, {"much": 7, "less": 5}), base="/openings/0").at == pointer


def test_a_finding_takes_what_the_hit_leaves_open_from_its_page() -> None:
    found = finding(_page(), Hit("x", {"much": 7, "less": 5}), base="/o")
    assert (found.severity, found.message, found.remedy, found.source) == (
        REJECT,
        "It is 7 mm.",
        "Make it 5 mm.",
        "nowhere",
    )
    own = Hit(
        "x",
        {"much": 7, "less": 5},
        measured=Quantity(7.0, "mm"),
        candidates=[5, "six"],
        severity=QUERY,
        source="here",
        message="All of {much}.",
        remedy="Try {less}.",
    )
    found = finding(_page_again(), own, base="/o")
    assert (found.severity, found.message, found.remedy, found.source) == (
        QUERY,
        "All of 7.",
        "Try 5.",
        "here",
    )
    assert (found.measured, found.candidates) == (Quantity(7.0, "mm"), (5, "six"))


def _page_again() -> Reason:
    return registry.REASONS["made-for-the-test"]


def test_half_characters_in_what_an_order_says_are_replaced() -> None:
    found = finding(_page(), Hit("a\ud800", {"much": "\udfff", "less": "é"}), base="/o")
    assert (found.at, found.message, found.remedy) == ("/o/a?", "It is ? mm.", "Make it é mm.")


def test_every_reason_has_a_page_that_a_person_can_use() -> None:
    assert sawready.rules.run.FACTS
    for page in REASONS.values():
        assert page.title[0].isupper()
        assert not page.title.endswith(".")
        assert page.why.endswith(".")
        assert page.message
        assert page.remedy
        assert page.source
        assert page.severity in {REJECT, QUERY, NOTE}
        assert set(page.needs) <= set(sawready.rules.run.FACTS), page.name
