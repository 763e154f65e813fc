"""The office page in a real browser, headless Chromium: the way through it, with keys alone, without script.

Accessibility is judged by axe-core (its rules for WCAG 2.0 to 2.2, levels A and AA), and by what it cannot see:
the order of focus, reflow at 320 CSS pixels (WCAG 2.2, 1.4.10), size of targets (2.5.8, 24 by 24 CSS pixels).
"""

import json
import os
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from sawready.catalogue.load import Catalogue
from sawready.cli.main import main
from sawready.settings import Settings
from sawready.store import keys
from sawready.store.store import Store
from sawready.web import office_shelf
from sawready.web.serve import make_server

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed (extra test)")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed (extra test)")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed (apt-get install chromium)"),
]

SAMPLES = Path(__file__).parents[2] / "sample_orders"
SHEET = SAMPLES / "02_harbour_terrace.csv"
MAP = SAMPLES / "02_harbour_terrace.columns.yaml"
WIDE, NARROW = 1200, 320
SHORT = (4, 7, 11, 12)
"""Lines of the sample: an accepted, two rejected and a queried opening."""

PARTS = (
    ".group.reject mark",
    ".group.query form.answer",
    ".group.note article",
    ".badge.accepted",
    "#skipped",
    "#desk + p + form",
)
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],  # writing down what passes takes as long again
}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium; its sandbox needs another user than root."""
    with playwright.sync_playwright() as driver:
        is_root = hasattr(os, "getuid") and os.getuid() == 0
        made = driver.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"] if is_root else []
        )
        yield made
        made.close()


@pytest.fixture(scope="module", autouse=True)
def own_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is laid aside goes into a folder of the tests."""
    folder = tmp_path_factory.mktemp("temporary")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(office_shelf, "temporary_folder", lambda: folder)
        yield


def serving(catalogue: Catalogue, store: Store | None) -> Iterator[str]:
    settings = Settings(port=0, store="none", log_requests=False)
    server = make_server(settings, catalogue, store)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://localhost:{server.effective_port}"
    server.close()
    thread.join(10)


@pytest.fixture(scope="module")
def address(catalogue: Catalogue) -> Iterator[str]:
    """A service without keys."""
    yield from serving(catalogue, None)


@pytest.fixture
def desk_address(catalogue: Catalogue, tmp_path: Path) -> Iterator[str]:
    """A service without keys that keeps orders, in a store of the test's own."""
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    yield from serving(catalogue, store)
    store.close()


Open = Callable[..., Any]


@pytest.fixture
def open_page(browser: Any) -> Iterator[Open]:
    """Opens a page of its own, and fails on whatever the browser complains of."""
    made: list[Any] = []
    complaints: list[str] = []

    def opened(url: str, **more: Any) -> Any:
        more.setdefault("viewport", {"width": WIDE, "height": 900})
        context = browser.new_context(**more)
        made.append(context)
        page = context.new_page()
        page.on("console", lambda message: complaints.append(f"{page.url}: {message.text}"))
        page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
        page.goto(url)
        return page

    yield opened
    for context in made:
        context.close()
    expected = "status of 422"  # a form with something to correct is told so
    assert [each for each in complaints if expected not in each] == []


def upload_sample(page: Any, sheet: Any = SHEET) -> None:
    page.get_by_label("File with the order").set_input_files(sheet)
    page.get_by_label("Column map").set_input_files(MAP)
    page.get_by_role("button", name="Check").click()
    page.get_by_role("heading", name="What came of 02_harbour_terrace.csv").wait_for()


def short_sheet() -> dict[str, Any]:
    """A few rows of the sample, in which each kind of part that a page has is there once or more."""
    lines = SHEET.read_text("utf-8").splitlines(keepends=True)
    kept = [line for number, line in enumerate(lines, 1) if number in SHORT or not line.startswith("HT-")]
    return {"name": SHEET.name, "mimeType": "text/csv", "buffer": "".join(kept).encode()}


def counts(page: Any) -> dict[str, int]:
    return {
        name: int(page.locator(f".counts td.{name}").inner_text())
        for name in ("rejected", "queried", "accepted")
    }


def expected_counts() -> dict[str, int]:
    """Of sample_orders/expected, which golden tests hold the command line to."""
    found = dict.fromkeys(("rejected", "queried", "accepted"), 0)
    for line in (SAMPLES / "expected" / "02_harbour_terrace.ndjson").read_text("utf-8").splitlines():
        for opening in json.loads(line)["openings"]:
            found[opening["decision"]] += 1
    return found


def saved(page: Any, link: str) -> bytes:
    with page.expect_download() as download:
        page.get_by_role("link", name=link, exact=True).click()
    return Path(download.value.path()).read_bytes()


def faults_of(page: Any) -> list[tuple[str, list[Any]]]:
    """What axe-core finds wrong, the part and the rule."""
    found = axe.Axe().run(page, options=RULES).response["violations"]
    return [(each["id"], [node["target"] for node in each["nodes"]]) for each in found]


def test_the_whole_way_of_the_messy_sample(
    address: str, open_page: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Upload with its map, look, open a drawing, answer every open query, take the cutting list away."""
    page = open_page(address)
    upload_sample(page)
    assert counts(page) == expected_counts()
    for path in (SHEET, MAP):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.chdir(tmp_path)
    CliRunner().invoke(main, ["check", SHEET.name, "--out", "out"])
    assert saved(page, "Cutting list") == (tmp_path / "out" / "cutting.csv").read_bytes()
    assert saved(page, "Findings") == (tmp_path / "out" / "findings.csv").read_bytes()

    page.get_by_role("link", name="K1, kitchen").last.click()
    page.get_by_role("heading", name="Seen from outside").wait_for()
    assert page.get_by_role("img", name="K1, kitchen, seen from outside").bounding_box()["width"] > 300
    hung = page.locator("svg [data-part=handle]").first.bounding_box()["x"]
    page.get_by_label("Seen from", exact=True).select_option("inside")
    page.get_by_role("button", name="Draw").click()
    assert page.get_by_role("img", name="K1, kitchen, seen from inside").is_visible()
    assert page.locator("svg [data-part=handle]").first.bounding_box()["x"] != hung
    page.get_by_role("link", name="Back to").click()

    accepted, answered = counts(page)["accepted"], 0
    while counts(page)["queried"]:
        form = page.locator("form.answer").first
        form.get_by_label("Who answers").fill("R. Tamsin")
        form.get_by_label("Why it stands").fill("measured again on site")
        form.get_by_role("button").click()
        page.get_by_text("R. Tamsin settled").wait_for()
        answered += 1
        assert answered < 10
    assert counts(page)["accepted"] == accepted + 1
    assert page.get_by_text("Answered by R. Tamsin on").count() == answered
    list_after = saved(page, "Cutting list")
    assert list_after.startswith((tmp_path / "out" / "cutting.csv").read_bytes()[:40])
    assert list_after.count(b'"HT-14","L1"') > 10
    assert saved(page, "Fitter's sheets").startswith(b"%PDF-")


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (NARROW, "dark")])
def test_every_page_is_accessible_and_fits(
    desk_address: str, open_page: Open, width: int, scheme: str
) -> None:
    """axe-core finds nothing, nothing runs over the side, and what is clicked is large enough."""
    page = open_page(desk_address, viewport={"width": width, "height": 800}, color_scheme=scheme)

    def look(name: str) -> None:
        assert faults_of(page) == [], name
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        small = page.evaluate(
            "Array.from(document.querySelectorAll('button,input:not([type=hidden]),select,summary,nav a'))"
            ".filter(e => e.checkVisibility()).map(e => [e.outerHTML, e.getBoundingClientRect()])"
            ".filter(([, box]) => box.height < 24 || box.width < 24).map(([text]) => text)"
        )
        assert small == [], name

    look("upload")
    page.get_by_role("button", name="Check").click()
    look("something to correct")
    upload_sample(page, short_sheet())
    for part in PARTS:
        assert page.locator(part).count(), part
    look("result")
    page.get_by_role("button", name="Keep these orders").click()
    page.locator("#kept").wait_for()
    look("kept")
    page.get_by_role("link", name="L1, living room").first.click()
    look("opening")
    page.get_by_role("link", name="Back to").click()
    form = page.locator("form.answer").first
    form.get_by_label("Who answers").fill(" ")
    form.get_by_role("button").click()
    look("answer to correct")
    page.goto(desk_address)
    page.get_by_label("File with the order").set_input_files(SHEET)
    page.get_by_role("button", name="Check").click()
    look("columns")
    page.get_by_role("button", name="Check").click()
    look("columns to correct")


def test_the_main_path_works_without_script(address: str, open_page: Open) -> None:
    page = open_page(address, java_script_enabled=False)
    upload_sample(page)
    assert counts(page) == expected_counts()
    form = page.locator("form.answer").first
    form.get_by_label("Who answers").fill("R. Tamsin")
    form.get_by_role("button").click()
    page.get_by_text("R. Tamsin settled").wait_for()
    assert len(saved(page, "Cutting list").splitlines()) > 10
    page.get_by_role("link", name="K1, kitchen").first.click()
    page.get_by_role("img", name="K1, kitchen, seen from outside").wait_for()


def test_keys_alone_lead_through_it(address: str, open_page: Open) -> None:
    """WCAG 2.2, 2.1.1 and 2.4.3: no mouse, in the order of the page; a fault is where the focus goes."""
    page = open_page(address)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "file"
    seen = []
    while page.evaluate("document.activeElement.tagName") != "BUTTON":
        page.keyboard.press("Tab")
        seen.append(page.evaluate("document.activeElement.id || document.activeElement.tagName"))
        assert len(seen) < 20
    assert seen == [
        "SUMMARY",
        "columns",
        "units",
        "viewed_from",
        "system",
        "rulebook",
        "number_style",
        "BUTTON",
    ]
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="There is something to correct").wait_for()
    assert page.evaluate("document.activeElement.className") == "faults"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "file"


def test_pasted_rows_with_a_map_made_on_the_page(address: str, open_page: Open) -> None:
    page = open_page(address)
    page.get_by_text("Or paste it").click()
    rows = [
        "Job\tWindow\tWide\tHigh\tStyle\tGlass\tPrice",
        "J1\tW1\t1210\t1210\tfixed\t4-20-4\t99",
    ]
    page.get_by_label("Rows or JSON").fill("\n".join(rows))
    page.get_by_role("button", name="Check").click()
    page.get_by_role("heading", name="What your columns are").wait_for()
    chosen = {
        "Job": "order_ref",
        "Window": "opening_ref",
        "Wide": "width_top",
        "High": "height_left",
        "Style": "layout",
        "Glass": "glazing_unit",
        "Price": "-",
    }
    for heading, ours in chosen.items():
        page.get_by_label(heading, exact=True).select_option(ours)
    said = {
        "Unit of bare numbers": "mm",
        "Left and right as seen from": "outside",
        "Profile system": "demo70",
        "Rulebook": "england",
    }
    for label, value in said.items():
        page.get_by_label(label).select_option(value)
    page.get_by_role("button", name="Check").click()
    page.get_by_role("heading", name="What came of pasted").wait_for()
    assert sum(counts(page).values()) == 1
    made = saved(page, "Column map").decode()
    assert "width_top: Wide" in made
    assert "ignore:" in made


def test_with_keys_the_browser_keeps_a_session(
    browser: Any, catalogue: Catalogue, tmp_path: Path, open_page: Open
) -> None:
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    written = store.write(lambda tx: keys.add(tx, role="installer", firm="Harbour Joinery"))[1]
    for address in serving(catalogue, store):
        page = open_page(address)
        page.get_by_role("heading", name="Your key").wait_for()
        assert faults_of(page) == []
        page.get_by_label("Key").fill(written)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("heading", name="Check orders before anything is cut").wait_for()
        upload_sample(page)
        form = page.locator("form.answer").first
        form.get_by_label("Who answers").fill("R. Tamsin")
        form.get_by_role("button").click()
        asked = page.locator("form.answer").count()
        page.get_by_role("button", name="Keep these orders").click()
        page.get_by_role("status").get_by_text("3 new").wait_for()
        assert page.evaluate("location.hash") == "#kept"
        assert page.get_by_text("Kept as revision 2; 1 answer kept with it.").count() == 1
        page.goto(address)
        upload_sample(page)
        assert page.locator("form.answer").count() == asked, "it is not asked for again"
        assert page.get_by_text("Answered by R. Tamsin on").count() == 1
        assert page.get_by_text("this is the same sheet").count() == 3
        (cookie,) = page.context.cookies()
        assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
        assert written not in cookie["value"]
        page.get_by_role("button", name="Sign out").click()
        page.get_by_role("heading", name="Your key").wait_for()
    store.close()
