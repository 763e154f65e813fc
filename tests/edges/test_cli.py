"""The command line: what it reads, what it writes, with which exit status."""

import csv
import hashlib
import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sawready.cli.main import main

ROOT = Path(__file__).parents[2]

HEAD = "order_ref,system,rulebook,units,viewed_from,opening_ref,width_top,height_left,layout,colour_outside,glazing_unit,frame_width"
SOUND = "T-1,demo70,england,mm,outside,W1,1200,1050,fixed,white,4-20-4,"
TOO_WIDE = "T-2,demo70,england,mm,outside,W1,1200,1050,fixed,white,4-20-4,1196"
ASKED = "T-3,demo70,england,mm,outside,W1,1200,1050,fixed,white,4-20-4,1150"
SHIFTED = "T-4,demo70,england,mm,outside,W1,1,200,1050,fixed,white,4-20-4,"


def run(*arguments: str, stdin: bytes | None = None) -> Result:
    return CliRunner().invoke(main, list(arguments), input=stdin)


def sheet(folder: Path, *rows: str, name: str = "orders.csv") -> str:
    path = folder / name
    path.write_text("\n".join((HEAD, *rows, "")), encoding="utf-8")
    return str(path)


def lines(result: Result) -> list[dict]:
    return [json.loads(line) for line in result.stdout_bytes.splitlines()]


@pytest.mark.parametrize(
    ("rows", "options", "status"),
    [
        ((SOUND,), (), 0),
        ((SOUND, TOO_WIDE), (), 1),
        ((ASKED,), (), 1),
        ((ASKED,), ("--fail-on", "reject"), 0),
        ((TOO_WIDE,), ("--fail-on", "reject"), 1),
        ((SOUND, SHIFTED), (), 3),
        ((TOO_WIDE, SHIFTED), (), 3),
    ],
)
def test_exit_status_says_what_was_found(tmp_path, rows, options, status):
    """0 nothing, 1 something at or above --fail-on, 3 something unreadable; 3 wins over 1."""
    assert run("check", sheet(tmp_path, *rows), *options).exit_code == status


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("check", "no-such-file.csv"), "no such file or folder"),
        (("check", "{folder}"), "no .csv, .json or .ndjson file"),
        (("check", "{notes}"), "the name does not tell what it holds"),
        (("check", "{sheet}", "--system", "{notes}"), "notes.txt"),
        (("check", "{sheet}", "--columns", "missing.yaml"), "missing.yaml"),
        (("reasons", "frame-to-wide"), "the nearest is frame-too-wide"),
        (("check", "{sheet}", "--units", "furlong"), "furlong"),
    ],
)
def test_status_two_for_what_cannot_be_run(tmp_path, arguments, says):
    """Options, settings or no input: a sentence on standard error and status 2."""
    (tmp_path / "empty").mkdir()
    notes = tmp_path / "notes.txt"
    notes.write_text("note: 1", encoding="utf-8")
    names = {"folder": str(tmp_path / "empty"), "notes": str(notes), "sheet": sheet(tmp_path, SOUND)}
    result = run(*(argument.format_map(names) for argument in arguments))
    assert result.exit_code == 2
    assert says in result.stderr


def test_results_come_in_input_order_one_a_line(tmp_path):
    """--format ndjson writes one result a line, and the bad row where it stood."""
    result = run("check", sheet(tmp_path, ASKED, SHIFTED, SOUND), "--format", "ndjson")
    assert [line["order_ref"] for line in lines(result)] == ["T-3", None, "T-1"]
    refused = lines(result)[1]["openings"][0]["findings"][0]
    assert (refused["reason"], refused["cell"]["line"]) == ("row-unreadable", 3)


def test_a_file_that_cannot_be_read_does_not_stop_the_rest(tmp_path):
    """Its result says why, the next file is checked, and the status is 3."""
    broken = tmp_path / "a.json"
    broken.write_text('{"order_ref": NaN', encoding="utf-8")
    result = run("check", str(broken), sheet(tmp_path, SOUND), "--format", "ndjson")
    assert result.exit_code == 3
    assert [line["decision"] for line in lines(result)] == ["rejected", "accepted"]


@pytest.mark.parametrize(
    "data",
    [
        f"{HEAD}\n{SOUND}\n".encode(),
        b"\xef\xbb\xbf" + f"{HEAD}\n{SOUND}\n".encode(),
        json.dumps({"order_ref": "T-1", "openings": [{"opening_ref": "W1"}]}).encode(),
        b'{"order_ref": "T-1", "openings": [{"opening_ref": "W1"}]}\n{"order_ref": "T-5", "openings": [{}]}\n',
    ],
    ids=["sheet", "sheet with a mark", "json", "ndjson"],
)
def test_standard_input_shows_its_kind(data):
    """A dash reads standard input, whichever of the three kinds it is."""
    result = run("check", "-", "--format", "ndjson", stdin=data)
    assert lines(result)[0]["order_ref"] == "T-1"


def test_options_fill_in_what_orders_leave_open():
    """--units, --viewed-from, --rulebook and --profile-system stand in where an order says nothing."""
    order = {
        "order_ref": "T-1",
        "openings": [
            {"opening_ref": "W1", "widths": [120], "heights": [105], "layout": "side-hung left | fixed",
             "colour": {"outside": "white"}, "glazing": {"unit": "4-20-4"}}
        ],
    }  # fmt: skip
    options = (
        "--units",
        "cm",
        "--viewed-from",
        "inside",
        "--rulebook",
        "england",
        "--profile-system",
        "demo70",
    )
    result = lines(run("check", "-", *options, "--format", "ndjson", stdin=json.dumps(order).encode()))[0]
    assert result["decision"] == "accepted"
    assert [light["hinge"] for light in result["openings"][0]["lights"]] == [None, "right"]


def test_a_sheet_finds_the_column_map_beside_it(tmp_path):
    """x.csv is read through x.columns.yaml; --columns goes before it."""
    path = tmp_path / "firm.csv"
    path.write_text("Job,Ref,W,H\nT-1,W1,1200,1050\n", encoding="utf-8")
    (tmp_path / "firm.columns.yaml").write_text(
        "columns: {order_ref: Job, opening_ref: Ref, width_top: W, height_left: H}\n"
        "defaults: {system: demo70, rulebook: england, units: mm, viewed_from: outside, layout: fixed,\n"
        "  colour_outside: white, glazing_unit: 4-20-4}\n",
        encoding="utf-8",
    )
    assert lines(run("check", str(path), "--format", "ndjson"))[0]["decision"] == "accepted"


def test_the_folder_of_out_holds_results_tables_and_counts(tmp_path):
    """Every file under its own name; the tables hold accepted openings only, and the counts add up."""
    out = tmp_path / "out"
    run("check", sheet(tmp_path, SOUND, TOO_WIDE, ASKED, SHIFTED), "--format", "ndjson", "--out", str(out))
    assert sorted(path.name for path in out.iterdir()) == [
        "cutting.csv", "findings.csv", "glass.csv", "manifest.json", "orders.csv", "results.ndjson",
        "summary.html", "summary.json",
    ]  # fmt: skip
    with (out / "cutting.csv").open(newline="", encoding="utf-8") as stream:
        cuts = list(csv.DictReader(stream))
    assert {row["order_ref"] for row in cuts} == {"T-1"}
    assert {row["part"] for row in cuts} >= {"frame-head", "bead-left"}
    with (out / "findings.csv").open(newline="", encoding="utf-8") as stream:
        found = list(csv.DictReader(stream))
    assert [row["reason"] for row in found] == ["frame-too-wide", "gap-too-large", "row-unreadable"]
    counts = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    openings = counts["openings"]
    assert openings["read"] == openings["accepted"] + openings["queried"] + openings["rejected"] == 3
    assert counts["unreadable"] == 1


def test_a_cell_that_looks_like_a_formula_is_made_harmless(tmp_path):
    """OWASP, CSV injection: a text that a spreadsheet would run gets an apostrophe before it."""
    row = SOUND.replace("W1", "=1+2")
    out = tmp_path / "out"
    run("check", sheet(tmp_path, row), "--format", "ndjson", "--out", str(out))
    text = (out / "cutting.csv").read_text(encoding="utf-8")
    assert '"\'=1+2"' in text
    assert ',"=1+2"' not in text


def test_the_digest_is_the_hash_of_the_line_without_digest_and_cells(tmp_path):
    """Anybody can work it out again from a result line with a general JSON library."""
    for result in lines(run("check", sheet(tmp_path, SOUND, TOO_WIDE), "--format", "ndjson")):
        stated = result.pop("digest")
        for opening in result["openings"]:
            for found in opening["findings"]:
                del found["cell"]
        written = json.dumps(result, separators=(",", ":"), ensure_ascii=False).encode()
        assert stated == f"sha256:{hashlib.sha256(written).hexdigest()}"


def test_text_is_plain_where_it_is_not_a_terminal(tmp_path):
    """Colour would spoil a file or a mail; the worst opening of an order comes first."""
    text = run("check", sheet(tmp_path, SOUND, TOO_WIDE), "--format", "text").stdout
    assert "\x1b" not in text
    assert "Make the frame 1190 mm wide or less." in text
    assert "2 orders: 1 rejected, 0 queried, 1 accepted" in text


def test_every_reason_has_its_page():
    """The list names every reason, and each has a page that says why and what to do."""
    listed = [line.split()[0] for line in run("reasons").stdout.splitlines() if line.startswith("  ")]
    assert {"frame-too-wide", "view-not-stated", "glazing-no-bead"} <= set(listed)
    for name in listed:
        page = run("reasons", name).stdout
        assert "Why it matters:" in page
        assert "What to do:" in page


def test_the_module_runs_as_the_command_does():
    """``python -m sawready`` is the command."""
    command = [sys.executable, "-m", "sawready", "--version"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S603 - our own
    assert done.stdout.startswith("sawready ")
