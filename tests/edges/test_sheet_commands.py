"""The commands sheet, labels and drawing: what they write, what they refuse, and their exit statuses."""

import io
import json
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner

from picture_orders import Drawn, order, three_openings
from sawready.cli.main import main
from sawready.cli.results import digest_as_written, results_in
from sawready.cli.sheet import file_part
from sawready.pipeline import check_order
from sawready.report.as_json import result_bytes, result_dict

SAMPLES = Path(__file__).parents[2] / "sample_orders"


def run(*arguments, given=None):
    """A command as a user runs it."""
    return CliRunner().invoke(main, [str(each) for each in arguments], input=given)


def accepted_order():
    raw = order(vent_mm2=8000, design_wind_pa=800)
    raw["openings"][0]["glazing"] = {"unit": "4-20-4", "safety": "none", "u_g": 1.0}
    return raw


@pytest.fixture
def orders(tmp_path):
    """A file with one order whose every opening is accepted."""
    path = tmp_path / "orders.json"
    path.write_text(json.dumps(accepted_order()))
    return path


@pytest.fixture
def results(tmp_path, orders, catalogue):
    """Its result as `check --out` writes it."""
    folder = tmp_path / "out"
    assert run("check", orders, "--out", folder, "--format", "ndjson").exit_code == 0
    return folder / "results.ndjson"


def page_count(path: Path) -> int:
    return len(pypdf.PdfReader(path).pages)


def test_sheets_from_orders(tmp_path, orders):
    out = tmp_path / "deep" / "sheets.pdf"
    done = run("sheet", orders, "--out", out)
    assert done.exit_code == 0, done.output
    assert page_count(out) == 1


def test_sheets_from_results_and_their_orders_are_the_same(tmp_path, orders, results):
    """The result is only there to say which: the sheet is made from the order."""
    one, other = tmp_path / "1.pdf", tmp_path / "2.pdf"
    assert run("sheet", orders, "--out", one).exit_code == 0
    assert run("sheet", results, "--orders", orders, "--out", other).exit_code == 0
    assert one.read_bytes() == other.read_bytes()


def test_a_result_without_its_order_is_refused(tmp_path, results):
    done = run("sheet", results, "--out", tmp_path / "x.pdf")
    assert done.exit_code == 2
    assert "--orders" in done.output
    assert not (tmp_path / "x.pdf").exists()


def test_an_order_that_changed_since_is_refused(tmp_path, orders, results):
    """A re-survey by 10 mm: the digest differs, and nothing is written."""
    raw = accepted_order()
    raw["openings"][0]["widths"] = [1822, 1818, 1820]
    orders.write_text(json.dumps(raw))
    done = run("sheet", results, "--orders", orders, "--out", tmp_path / "x.pdf")
    assert done.exit_code == 2
    assert "has changed since" in done.output
    assert not (tmp_path / "x.pdf").exists()


def test_an_order_that_is_not_there_is_refused(tmp_path, orders, results):
    orders.write_text(json.dumps(accepted_order() | {"order_ref": "TQ-0008"}))
    done = run("sheet", results, "--orders", orders, "--out", tmp_path / "x.pdf")
    assert done.exit_code == 2
    assert "TQ-0007 is not among the orders" in done.output


def test_a_revision_is_told_by_its_digest(tmp_path, orders, results):
    """Two orders of one name: the one that the result was made from is taken."""
    newer = accepted_order()
    newer["openings"][0]["widths"] = [1822, 1818, 1820]
    (tmp_path / "newer.json").write_text(json.dumps(newer))
    out = tmp_path / "x.pdf"
    done = run("sheet", results, "--orders", tmp_path / "newer.json", "--orders", orders, "--out", out)
    assert done.exit_code == 0, done.output
    assert "1798 × 1220" in pypdf.PdfReader(out).pages[0].extract_text()


def test_a_result_changed_by_hand_is_refused(tmp_path, orders, results):
    """One digit of one length: the digest no longer fits, and nothing is written."""
    text = results.read_text()
    assert "1804.0" in text
    results.write_text(text.replace("1804.0", "1805.0", 1))
    for command in (("labels",), ("sheet", "--orders", orders)):
        done = run(command[0], results, *command[1:], "--out", tmp_path / "x.pdf")
        assert done.exit_code == 2
        assert "does not fit its digest" in done.output
        assert not (tmp_path / "x.pdf").exists()


def test_every_sample_result_fits_its_digest(catalogue):
    """The SHA-256 is worked out again over the text as written; cells of sheets do not count."""
    for path in sorted((SAMPLES / "expected").glob("*.ndjson")):
        for line in path.read_text().splitlines():
            result = json.loads(line)
            assert digest_as_written(result) == result["digest"]
    own = check_order(three_openings(), catalogue=catalogue)
    assert digest_as_written(json.loads(result_bytes(own))) == result_dict(own)["digest"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        "[1, 2]",
        '{"results": []}',
        '{"order_ref": "x", "openings": []}',
        "no json",
        '"digest"',
    ],
)
def test_what_is_no_result_is_taken_for_an_order(tmp_path, text):
    path = tmp_path / "x.json"
    path.write_text(text)
    assert results_in(path) is None


def test_the_answer_of_the_service_is_read_too(tmp_path, results):
    """An object with results, as POST /v1/checks answers a sheet."""
    path = tmp_path / "answer.json"
    lines = [json.loads(line) for line in results.read_text().splitlines()]
    path.write_text(json.dumps({"results": lines, "summary": {}}))
    assert [each["order_ref"] for each in results_in(path) or ()] == ["TQ-0007"]
    assert run("labels", path, "--out", tmp_path / "l.pdf").exit_code == 0


def test_exit_status_tells_whether_all_is_to_be_fitted(tmp_path):
    """1 some openings are not accepted; 3 some input could not be read, the rest was done."""
    path = tmp_path / "orders.ndjson"
    path.write_text(json.dumps(three_openings()) + "\n")
    assert run("sheet", path, "--out", tmp_path / "a.pdf").exit_code == 1
    assert page_count(tmp_path / "a.pdf") == 3
    path.write_text(json.dumps(accepted_order()) + "\nno order\n")
    done = run("sheet", path, "--out", tmp_path / "b.pdf")
    assert done.exit_code == 3
    assert "not read:" in done.output
    assert page_count(tmp_path / "b.pdf") == 1
    path.write_text("no order\n")
    assert run("sheet", path, "--out", tmp_path / "c.pdf").exit_code == 2
    assert run("sheet", tmp_path / "none.json", "--out", tmp_path / "c.pdf").exit_code == 2
    assert not (tmp_path / "c.pdf").exists()


def test_standard_input_and_output(orders):
    given = orders.read_bytes()
    done = run("sheet", "-", "--out", "-", given=given)
    assert done.exit_code == 0
    assert len(pypdf.PdfReader(io.BytesIO(done.stdout_bytes)).pages) == 1


def test_labels_tell_what_they_leave_out(tmp_path):
    raw = accepted_order()
    spoilt = {**raw["openings"][0], "opening_ref": "W2", "widths": ["?"]}
    raw["openings"].append(spoilt)
    path = tmp_path / "orders.json"
    path.write_text(json.dumps(raw))
    done = run("labels", path, "--out", tmp_path / "l.pdf")
    assert done.exit_code == 1
    assert "no labels: TQ-0007, W2: rejected" in done.output
    assert run("labels", path, "--out", tmp_path / "l.pdf", "--grid", "a5").exit_code == 2


def test_labels_of_orders_and_of_their_results_are_the_same(tmp_path, orders, results):
    assert run("labels", orders, "--out", tmp_path / "1.pdf").exit_code == 0
    assert run("labels", results, "--out", tmp_path / "2.pdf").exit_code == 0
    assert (tmp_path / "1.pdf").read_bytes() == (tmp_path / "2.pdf").read_bytes()


def test_drawings_of_a_folder(tmp_path, orders):
    """One file an opening and view, named so that no name leads out of the folder."""
    raw = accepted_order() | {"order_ref": "../../etc/x"}
    orders.write_text(json.dumps(raw))
    out = tmp_path / "drawings"
    done = run("drawing", orders, "--out", out, "--view", "both", "--triangle", "apex-at-handle")
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in out.iterdir()) == [
        "etc_x-1-W1-inside.svg",
        "etc_x-1-W1-outside.svg",
    ]
    made = Drawn((out / "etc_x-1-W1-inside.svg").read_text(encoding="utf-8"))
    assert made.texts("view-text") == ["Seen from inside"]


def test_a_drawing_of_a_result_is_refused(tmp_path, results):
    done = run("drawing", results, "--out", tmp_path / "d")
    assert done.exit_code == 2
    assert "give the orders" in done.output


def test_a_folder_that_cannot_be_written_is_said(tmp_path, orders):
    blocked = tmp_path / "file"
    blocked.write_text("")
    done = run("sheet", orders, "--out", blocked / "x.pdf")
    assert done.exit_code == 2
    assert "file" in done.output


def test_a_sheet_of_ours_is_read_with_its_map(tmp_path):
    """The column map beside a firm's own sheet is found, as check finds it."""
    done = run("sheet", SAMPLES / "02_harbour_terrace.csv", "--out", tmp_path / "x.pdf")
    assert done.exit_code in {1, 3}
    assert page_count(tmp_path / "x.pdf") > 3


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("W1", "W1"),
        ("../..", "unnamed"),
        ("", "unnamed"),
        (None, "unnamed"),
        ("a/b\\c:d", "a_b_c_d"),
        ("é" * 80, "unnamed"),
        ("x" * 99, "x" * 60),
    ],
)
def test_names_become_harmless_file_names(name, part):
    assert file_part(name) == part
