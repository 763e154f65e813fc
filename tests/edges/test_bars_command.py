"""``sawready bars``: what it takes, what it leaves out, what it writes."""

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sawready.cli.main import main

pytest.importorskip("highspy", reason="planning bars needs the extra 'bars'")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def opening(ref: str, colour: str, width: int = 1200, **more: object) -> dict:
    return {
        "opening_ref": ref,
        "widths": [width],
        "heights": [1050],
        "layout": "fixed",
        "colour": {"outside": colour},
        "glazing": {"unit": "4-20-4"},
        **more,
    }


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """Two windows white, one grey, one that must not be cut."""
    path = tmp_path / "order.json"
    data = {
        "order_ref": "B-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "openings": [
            opening("W1", "white", quantity=2),
            opening("W2", "grey"),
            opening("W3", "white", frame={"width": 1199}),
        ],
    }
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def planned(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_accepted_openings_times_their_quantity(order):
    """Four frame pieces a window, two windows alike; the rejected opening is left out and told."""
    result = run("bars", str(order), "--format", "csv")
    rows = planned(result.stdout)
    frames = [row for row in rows if row["part"].startswith("frame-")]
    assert [row["opening_ref"] for row in frames].count("W1") == 8
    assert [row["opening_ref"] for row in frames].count("W2") == 4
    assert "W3" not in {row["opening_ref"] for row in rows}
    assert "1 opening is not accepted and left out" in result.stderr
    assert result.exit_code == 1


def test_colours_never_share_a_bar(order):
    """A grey frame does not come from a white bar (common practice, no source)."""
    rows = planned(run("bars", str(order), "--format", "csv").stdout)
    by_bar: dict[tuple[str, str], set[str]] = {}
    for row in rows:
        by_bar.setdefault((row["profile"], row["bar"]), set()).add(row["colour"])
    assert all(len(colours) == 1 for colours in by_bar.values())
    assert {"white", "grey"} <= {row["colour"] for row in rows}


def test_results_of_a_check_are_planned_as_the_order_is(order, tmp_path):
    """The pieces of results.ndjson are those of the order; only the colours are not in it."""
    run("check", str(order), "--format", "ndjson", "--out", str(tmp_path / "out"))
    of_results = planned(run("bars", str(tmp_path / "out" / "results.ndjson"), "--format", "csv").stdout)
    of_order = planned(run("bars", str(order), "--format", "csv").stdout)

    def pieces(rows: list[dict[str, str]]) -> list[tuple[str, ...]]:
        return sorted((row["profile"], row["length_mm"], row["opening_ref"], row["part"]) for row in rows)

    assert pieces(of_results) == pieces(of_order)


def test_a_result_that_was_changed_is_refused(order, tmp_path):
    """A length edited by hand no longer fits the digest, and nothing is planned from it."""
    run("check", str(order), "--format", "ndjson", "--out", str(tmp_path / "out"))
    file = tmp_path / "out" / "results.ndjson"
    file.write_text(file.read_text("utf-8").replace("1196.0", "1196.5"), "utf-8")
    result = run("bars", str(file))
    assert result.exit_code == 2
    assert "does not fit its digest" in result.stderr


def test_a_list_of_pieces_with_its_own_saw(tmp_path):
    """Bar, kerf and trim of the options count: three pieces of 1996 with cuts of 2 fit 6000 less 8."""
    sheet = tmp_path / "pieces.csv"
    sheet.write_text("profile,length_mm,quantity\nrail,1996,6\n", encoding="utf-8")
    options = ("--bar", "6000", "--kerf", "2", "--trim", "8", "--format", "json")
    summary = json.loads(run("bars", str(sheet), *options).stdout)["summary"]
    assert [(each["bars"], each["bound"]) for each in summary] == [(2, 2)]
    tighter = ("--bar", "6000", "--kerf", "2", "--trim", "9", "--format", "json")
    assert json.loads(run("bars", str(sheet), *tighter).stdout)["summary"][0]["bars"] == 3


def test_old_offcuts_go_first(tmp_path):
    """An offcut that holds a piece saves a bar."""
    sheet, rack = tmp_path / "pieces.csv", tmp_path / "rack.csv"
    sheet.write_text("profile,length_mm,quantity\nrail,1900,4\n", encoding="utf-8")
    rack.write_text("profile,length_mm,quantity\nrail,1950,1\n", encoding="utf-8")
    summary = json.loads(run("bars", str(sheet), "--offcuts", str(rack), "--format", "json").stdout)[
        "summary"
    ]
    assert (summary[0]["bars"], summary[0]["old_offcuts"]) == (1, 1)


def test_a_piece_longer_than_its_bar_is_named_and_the_rest_is_planned(tmp_path):
    """Status 1, a finding with its line, and every other piece on a bar."""
    sheet = tmp_path / "pieces.csv"
    sheet.write_text("profile,length_mm,quantity\nrail,7000,1\nrail,1000,2\n", encoding="utf-8")
    result = run("bars", str(sheet), "--format", "csv")
    assert result.exit_code == 1
    assert "piece-longer-than-bar: line 2" in result.stderr
    assert [row["length_mm"] for row in planned(result.stdout)] == ["1000.0", "1000.0"]


@pytest.mark.parametrize(
    ("content", "status"),
    [
        ("profile,length_mm\nrail,12OO\nrail,1000\n", 3),
        ("profile,length_mm\n", 2),
        ("profile,length_mm,price\nrail,1000,3\n", 3),
    ],
)
def test_what_cannot_be_read_or_is_empty(tmp_path, content, status):
    """A bad row is told by line and the rest is planned; a list without pieces is no input."""
    sheet = tmp_path / "pieces.csv"
    sheet.write_text(content, encoding="utf-8")
    assert run("bars", str(sheet), "--format", "csv").exit_code == status


def test_drawings_are_written_with_a_saw_list(order, tmp_path):
    """One SVG a profile and colour, and a list to print."""
    folder = tmp_path / "drawings"
    run("bars", str(order), "--format", "csv", "--drawings", str(folder))
    names = [path.name for path in folder.iterdir()]
    assert "saw-list.html" in names
    assert any(name.endswith("frame-62--grey.svg") for name in names)
