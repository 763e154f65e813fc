"""The morning page, looked at in a real browser: on a screen, on a phone, on paper, and by axe-core.

Accessibility is judged by axe-core's rules for WCAG 2.0 to 2.2, levels A and AA, and by reflow at 320 CSS pixels
(WCAG 2.2, success criterion 1.4.10).
"""

import io
import os
import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from batch_runs import run, summary
from order_generator import sheet
from sawready.report.summary_html import MOST_FINDINGS, Morning, summary_page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],  # writing down what passes takes as long again
}
EVIL = '<img src=x onerror="document.title=1"><script>alert(1)</script>'


@pytest.fixture(scope="module")
def out(tmp_path_factory) -> Path:
    """A run over two firms' sheets with rows that cannot be read, compared with one of the night before."""
    folder = tmp_path_factory.mktemp("night")
    for firm, seed in (("harbour", 21), ("quayside", 22)):
        (folder / firm).mkdir()
        data = sheet(150, seed=seed, fault_share=0.25)
        (folder / firm / "a.csv").write_bytes(data + b"one,two\n")
        (folder / firm / "b.csv").write_bytes(sheet(40, seed=seed + 10))
    run(folder / "harbour", out=folder / "before")
    evil = (
        (folder / "quayside" / "a.csv")
        .read_text(encoding="utf-8")
        .replace("GEN-22-000001", f'"{EVIL.replace(chr(34), chr(34) * 2)}"')
    )
    (folder / "quayside" / "a.csv").write_text(evil, encoding="utf-8")
    (folder / "harbour" / "forgotten.xlsx").touch()
    run(folder / "harbour", folder / "quayside", out=folder / "out", since=folder / "before")
    return folder / "out"


class Asked(HTMLParser):
    """What a page would run, or fetch from somewhere."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Notes scripts, and attributes that name an address or a script."""
        if tag in {"script", "link", "iframe", "object", "embed", "img", "base", "form"}:
            self.found.append(tag)
        self.found += [
            f"{tag} {name}" for name, _ in attrs if name.startswith("on") or name in {"src", "href"}
        ]


def test_the_page_holds_no_script_and_asks_for_nothing(out):
    """It can be mailed, kept and opened anywhere; what an order is called cannot run in it."""
    asked = Asked()
    text = (out / "summary.html").read_text(encoding="utf-8")
    asked.feed(text)
    assert asked.found == []
    assert "&lt;script&gt;alert(1)" in text
    assert "default-src 'none'" in text
    assert "@import" not in text
    assert "url(http" not in text


def test_what_is_not_shown_is_said_with_its_number():
    """A page of a million orders stays short and says what it leaves out."""
    counts = {"read": 900, "accepted": 1, "queried": 2, "rejected": 897, "unreadable": 0, "skipped": 0}
    finding = {
        "reason": "frame-too-wide", "severity": "reject", "at": "/openings/0/frame/width", "cell": {"line": 2, "column": "W"},
        "message": "Too wide.", "measured": None, "limit": None, "candidates": [1507.0], "remedy": "Make it smaller.", "source": "s",
    }  # fmt: skip
    opening = {"opening_ref": "W1", "decision": "rejected", "findings": [finding] * 25}
    result = {"order_ref": "T-1", "decision": "rejected", "openings": [opening]}
    files = {f"{number:03}.csv": counts for number in range(300)}
    page = summary_page(
        Morning(
            total=counts, orders={"accepted": 1, "queried": 2, "rejected": 897}, severities={"reject": 1, "query": 0, "note": 0},
            reasons={"frame-too-wide": {"reject": 1}}, skipped={}, not_applied={}, firms={"": counts}, files=files,
            worst=[(result, "001.csv")], refused=[], version="0", program="sha256:0", settings="sha256:1",
        )
    ).decode()  # fmt: skip
    assert page.count("Too wide.") == MOST_FINDINGS
    assert "5 more findings of this order in findings.csv" in page
    assert "898 more orders rejected or queried" in page
    assert "100 more in summary.json" in page
    assert "(none named)" in page
    assert "line 2, column W" in page
    assert "Perhaps: 1507 mm" in page


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium; its sandbox needs another user than root."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed (extra test)")
    with playwright.sync_playwright() as driver:
        is_root = hasattr(os, "getuid") and os.getuid() == 0
        made = driver.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"] if is_root else []
        )
        yield made
        made.close()


def opened(browser: Any, out: Path, *, width: int) -> Any:
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.told = []
    page.on("console", lambda message: page.told.append(message.text))
    page.on("pageerror", lambda error: page.told.append(str(error)))
    page.on(
        "request", lambda request: page.told.append(request.url) if request.url.startswith("http") else None
    )
    page.goto((out / "summary.html").as_uri())
    return page


@pytest.mark.parametrize("width", [320, 390, 1200])
@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed (apt-get install chromium)")
def test_the_page_is_readable_at_any_width(browser, out, width):
    """Nothing runs out of the side, nothing is smaller than 11 pixels, and axe-core finds nothing."""
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="axe is not installed (extra test)"
    )
    page = opened(browser, out, width=width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    smallest = page.evaluate(
        "Math.min(...[...document.querySelectorAll('main *')].filter(e => e.innerText)"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert smallest >= 11
    assert page.told == []
    browserless = axe.Axe().run(page, options=RULES)
    assert browserless.violations_count == 0, browserless.generate_report()
    page.close()


@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed (apt-get install chromium)")
def test_a_person_sees_counts_bars_and_cells(browser, out):
    """What is drawn follows from the counts: the longest bar is the most frequent reason, bars as long as counts."""
    page = opened(browser, out, width=1200)
    counts = summary(out)
    text = page.inner_text("main")
    for name, number in counts["records"].items():
        assert f"{number:,}" in text, name
    rows = page.query_selector_all("#reasons tbody tr")
    names = [row.query_selector("td.name").inner_text().split("\n")[0] for row in rows]
    assert names == list(counts["reasons"])
    lengths = [
        sum(rect.bounding_box()["width"] for rect in row.query_selector_all("rect") if rect.bounding_box())
        for row in rows
    ]
    whole = rows[0].query_selector("svg").bounding_box()["width"]
    most = max(counts["reasons"].values())
    for length, number in zip(lengths, counts["reasons"].values(), strict=True):
        assert length == pytest.approx(whole * number / most, abs=whole * 0.01 + 2)
    assert "harbour" in text
    assert "quayside" in text
    assert EVIL in text
    assert "forgotten.xlsx" in text
    assert "order is new" in text
    first = page.query_selector("section.order")
    assert "must not be cut" in first.inner_text()
    assert ", column " in first.inner_text()
    page.close()


@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed (apt-get install chromium)")
def test_the_page_prints(browser, out):
    """On A4 every page has text, bars keep their fill, and nothing is cut off at the right."""
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed (extra test)")
    page = opened(browser, out, width=1200)
    paper = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
    assert 2 <= len(paper.pages) <= 40
    texts = [each.extract_text() for each in paper.pages]
    assert all(text.strip() for text in texts)
    assert "Reasons by frequency" in "".join(texts)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 690, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= 690
    fill = page.evaluate("getComputedStyle(document.querySelector('#reasons rect')).fill")
    assert fill == "rgb(179, 38, 30)"
    page.close()
