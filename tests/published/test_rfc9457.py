"""RFC 9457, Problem Details for HTTP APIs (July 2023), https://www.rfc-editor.org/rfc/rfc9457.

Quoted from memory, section by section; the example of several faults is that of section 3, whose error
items name their place by a JSON Pointer in the form of a URI fragment.
"""

import pytest

from sawready.model.pointer import fragment
from sawready.web.problems import MEDIA_TYPE, PROBLEMS, ErrorItem, Problem


def test_the_media_type_is_that_of_section_6_1() -> None:
    assert MEDIA_TYPE == "application/problem+json"


@pytest.mark.parametrize(
    ("pointer", "written"),
    [("/age", "#/age"), ("/profile/color", "#/profile/color")],
    ids=["first item", "second item"],
)
def test_places_are_written_as_in_the_example_of_section_3(pointer: str, written: str) -> None:
    assert fragment(pointer) == written
    assert ErrorItem("must be a positive integer", pointer=pointer).as_dict()["pointer"] == written


@pytest.mark.parametrize("kind", PROBLEMS.values(), ids=str)
def test_members_are_of_the_types_of_section_3_1(kind) -> None:
    """type, instance: URI references; status: number equal to the HTTP status; title, detail: text."""
    made = Problem(kind, "What is wrong.").as_dict("0af3")
    assert isinstance(made["type"], str)
    assert isinstance(made["title"], str)
    assert isinstance(made["detail"], str)
    assert isinstance(made["instance"], str)
    assert made["status"] == kind.status
    assert 400 <= made["status"] < 600


def test_the_title_does_not_change_from_one_problem_to_the_next() -> None:
    """Section 3.1.3."""
    kind = PROBLEMS["not-found"]
    assert Problem(kind, "One.").as_dict("1")["title"] == Problem(kind, "Two.").as_dict("2")["title"]
