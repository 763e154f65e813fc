"""The documentation pages: whole, without network, without script, and true."""

import json
import re
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest

from sawready.pipeline import check_order
from sawready.readers.json_door import loads
from sawready.report.as_json import result_dict
from sawready.rules.registry import REASONS
from sawready.web.examples import EXAMPLE_ORDER
from sawready.web.problems import PROBLEMS

PAGES = ["/docs", "/docs/reasons", "/problems", "/problems/not-an-order"]
VOID = {"meta", "link", "br", "img", "hr", "input"}


class Page(HTMLParser):
    """A page's elements, as far as the tests ask."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.faults: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Opens an element."""
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Closes an element, which has to be the last one opened."""
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        """Keeps the text."""
        self.words.append(data)

    @property
    def ids(self) -> list[str]:
        """Places that links can lead to."""
        return [str(attrs["id"]) for _, attrs in self.elements if "id" in attrs]

    @property
    def links(self) -> list[str]:
        """What the page leads to or fetches."""
        return [str(attrs[name]) for _, attrs in self.elements for name in ("href", "src") if name in attrs]


@pytest.fixture
def page(client) -> Any:
    return lambda path: Page(client.get(path).get_data(as_text=True))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_needs_no_network_and_no_script(page, path) -> None:
    found = page(path)
    assert all(link.startswith(("/", "#")) and not link.startswith("//") for link in found.links)
    assert not {"script", "iframe", "img", "form"} & {tag for tag, _ in found.elements}
    assert not [
        attrs
        for _, attrs in found.elements
        if "style" in attrs or any(name.startswith("on") for name in attrs)
    ]


def test_the_style_fetches_nothing(client) -> None:
    assert not re.search(r"url\(|@import|https?:", client.get("/docs/style.css").get_data(as_text=True))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_well_formed(page, path) -> None:
    found = page(path)
    assert found.faults == []
    assert found.open == []
    assert len(found.ids) == len(set(found.ids))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_can_be_used_without_seeing_or_pointing(page, path) -> None:
    """WCAG 2.2: language (3.1.1), title (2.4.2), skip link (2.4.1), headings and header cells (1.3.1)."""
    found = page(path)
    tags = [tag for tag, _ in found.elements]
    assert dict(found.elements)["html"] == {"lang": "en-GB"}
    assert "title" in tags
    assert found.links.count("#content") == 1
    levels = [int(tag[1]) for tag in tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    assert all(attrs.get("scope") in ("col", "row") for tag, attrs in found.elements if tag == "th")
    assert tags.count("table") == tags.count("caption")
    assert all(attrs.get("tabindex") == "0" for tag, attrs in found.elements if tag == "pre")
    labels = [str(attrs["aria-labelledby"]) for _, attrs in found.elements if "aria-labelledby" in attrs]
    assert set(labels) <= set(found.ids)


@pytest.mark.parametrize("path", PAGES)
def test_every_link_leads_somewhere(client, page, path) -> None:
    found = page(path)
    for link in set(found.links):
        if link.startswith("#"):
            assert link[1:] in found.ids
        else:
            assert client.get(link).status_code == 200


def test_every_call_and_every_schema_is_described(client, page) -> None:
    document = client.get("/openapi.json").json
    found = page("/docs")
    calls = [
        operation["operationId"]
        for item in document["paths"].values()
        for method, operation in item.items()
        if method != "parameters"
    ]
    assert set(calls) <= set(found.ids)
    assert {f"schema-{name}" for name in document["components"]["schemas"]} <= set(found.ids)


def test_the_answers_shown_are_those_of_the_service(client, page, catalogue) -> None:
    shown = "".join(page("/docs").words)
    result = result_dict(check_order(loads(json.dumps(EXAMPLE_ORDER).encode()), catalogue=catalogue))
    assert result["digest"] in shown
    assert '"reason": "frame-too-wide"' in shown
    assert "invented" in shown


def test_the_caution_stands_on_every_page(page) -> None:
    for path in PAGES:
        words = " ".join("".join(page(path).words).split())
        assert "asbestos" in words
        assert "Local codes and licensed practice decide" in words


def test_every_reason_and_every_problem_has_its_place(client, page) -> None:
    assert set(REASONS) <= set(page("/docs/reasons").ids)
    assert set(PROBLEMS) <= set(page("/problems").ids)
    for kind in PROBLEMS.values():
        assert kind.title in "".join(page(kind.type).words)


def test_a_page_that_is_not_wanted_is_406(client) -> None:
    assert client.get("/docs", headers={"Accept": "application/json"}).status_code == 406
