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


def test_results_without_their_orders_say_that_colours_are_not_told_apart(order, tmp_path):
    """On standard error, in the JSON and on the saw list; never silently."""
    run("check", str(order), "--format", "ndjson", "--out", str(tmp_path / "out"))
    results = str(tmp_path / "out" / "results.ndjson")
    said = "Colours are not told apart"
    assert said in run("bars", results, "--format", "csv").stderr
    folder = tmp_path / "drawings"
    plan = json.loads(run("bars", results, "--format", "json", "--drawings", str(folder)).stdout)
    assert [remark for remark in plan["remarks"] if said in remark]
    assert said in (folder / "saw-list.html").read_text("utf-8")
    assert said not in run("bars", str(order), "--format", "csv").stderr


def test_results_with_their_orders_are_planned_by_colour(order, tmp_path):
    """The plan is that of the orders, byte for byte."""
    run("check", str(order), "--format", "ndjson", "--out", str(tmp_path / "out"))
    results = str(tmp_path / "out" / "results.ndjson")
    beside = run("bars", results, "--orders", str(order), "--format", "csv")
    assert beside.stdout == run("bars", str(order), "--format", "csv").stdout
    assert "Colours" not in beside.stderr
    other = json.loads(order.read_text("utf-8"))
    other["openings"][0]["widths"] = [1210]
    (tmp_path / "other.json").write_text(json.dumps(other), "utf-8")
    refused = run("bars", results, "--orders", str(tmp_path / "other.json"))
    assert refused.exit_code == 2
    assert "digest" in refused.stderr


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
        ("profile,length_mm\nrail,12OO\n", 3),
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


@pytest.mark.parametrize(
    ("content", "options", "said"),
    [
        ("profile,quantity\nrail,1\n", (), "Column length_mm is missing. Add a column length_mm."),
        ("length_mm,quantity\n1000,1\n", (), "Column profile is missing."),
        ("Profile,Length,Qty\nrail,1000,1\n", (), "Column 'Profile' is not known. Call it profile."),
        ("profile,length_mm\nrail,-5\n", (), 'pieces.csv, line 2, length_mm: "-5" is below nought.'),
        ("profile,length_mm\nrail,0.05\n", (), "outside 0.1 mm or more"),
        ("profile,length_mm\nrail,12OO\n", (), "it may be 1200 mm"),
        ("profile,length_mm\nrail,1.2\nrail,900\n", (), "shortest 1.2 mm of rail, line 2: are all lengths"),
        ("profile,length_mm\nrail,900\n", ("--bar", "6"), "bar_mm 6 leaves nothing after 20 mm of trim"),
        (
            "profile,length_mm\nrail,900\n",
            ("--bar", "6m"),
            "no plain number of millimetres, such as 4 or 3.2",
        ),
        ("profile,length_mm\nrail,900\n", ("--kerf", "51"), "kerf_mm 51 is outside 0 to 50 mm"),
    ],
)
def test_a_slip_is_told_by_place_value_and_remedy(tmp_path, content, options, said):
    """Missing columns, negative lengths, mixed units, bars in metres: what to do stands on standard error."""
    sheet = tmp_path / "pieces.csv"
    sheet.write_text(content, encoding="utf-8")
    assert said in run("bars", str(sheet), "--format", "csv", *options).stderr


def test_old_offcuts_that_nothing_fits_are_told(tmp_path):
    """A misspelt profile or a colour that is not stated leaves offcuts on the rack, and the plan says so."""
    sheet, rack = tmp_path / "pieces.csv", tmp_path / "rack.csv"
    sheet.write_text("profile,length_mm,quantity,colour\nrail,1900,4,white\n", encoding="utf-8")
    rack.write_text("profile,length_mm\nrial,1950\nrail,1950\n", encoding="utf-8")
    result = run("bars", str(sheet), "--offcuts", str(rack), "--format", "csv")
    assert "1 old offcut of rial was left alone: no piece has this profile." in result.stderr
    assert (
        "1 old offcut of rail without a colour was left alone: the pieces of rail are white." in result.stderr
    )


def test_an_offcut_longer_than_a_bar_is_used_like_any_other(tmp_path):
    """Text says that no fresh bar is needed."""
    sheet, rack = tmp_path / "pieces.csv", tmp_path / "rack.csv"
    sheet.write_text("profile,length_mm,quantity\nrail,1200,5\n", encoding="utf-8")
    rack.write_text("profile,length_mm\nrail,9000\n", encoding="utf-8")
    result = run("bars", str(sheet), "--offcuts", str(rack), "--format", "text")
    assert "rail: no fresh bar and 1 old offcut" in result.stdout


def test_the_json_of_the_command_fits_the_schema_of_the_service(order):
    """One form of a plan, whoever makes it."""
    from jsonschema import Draft202012Validator  # noqa: PLC0415 - only here

    root = Path(__file__).parents[2]
    schema = json.loads((root / "schemas" / "bar_plan.schema.json").read_text("utf-8"))
    Draft202012Validator(schema).validate(json.loads(run("bars", str(order), "--format", "json").stdout))
