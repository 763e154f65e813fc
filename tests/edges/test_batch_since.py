"""What differs from the last run, and whether the order or the settings did it."""

import csv
from pathlib import Path

import pytest

from batch_runs import run, summary
from sawready.batch.settings import RunSettings
from sawready.errors import SettingsError
from sawready.normalise import CallerDefaults

HEAD = (
    "order_ref,system,rulebook,units,viewed_from,opening_ref,width_top,height_left,layout,colour_outside,"
    "glazing_unit,frame_width"
)
RULEBOOK = Path(__file__).parents[2] / "service/sawready/catalogue/data/rulebooks/england.yaml"


def row(order: str, *, frame: str = "", rulebook: str = "england", ref: str = "W1") -> str:
    return f"{order},demo70,{rulebook},mm,outside,{ref},1200,1050,fixed,white,4-20-4,{frame}"


def sheet(folder: Path, name: str, *rows: str) -> Path:
    path = folder / name
    path.write_text("\n".join((HEAD, *rows, "")), encoding="utf-8")
    return path


def changes(out: Path) -> list[dict[str, str]]:
    with (out / "changes.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def compared(tmp_path: Path, before: list[str], after: list[str], **options) -> list[tuple[str, ...]]:
    """Kind of change, cause, order and reason of each difference of two nights."""
    old, new = tmp_path / "old", tmp_path / "new"
    run(sheet(tmp_path, "monday.csv", *before), out=old)
    run(sheet(tmp_path, "tuesday.csv", *after), out=new, since=old, **options)
    found = changes(new)
    return [tuple(each[name] for name in ("change", "because", "order_ref", "reason")) for each in found]


def test_the_same_orders_differ_in_nothing(tmp_path):
    """In another file, in another order, beside others: a finding is known by its order and opening."""
    rows = [row("T-1", frame="1196"), row("T-2", frame="1150"), row("T-3")]
    assert compared(tmp_path, rows, rows[::-1]) == []
    assert summary(tmp_path / "new")["changes"] == {
        "new": 0,
        "gone": 0,
        "changed": 0,
        "rows": [],
        "settings": [],
    }


def test_a_changed_order_is_told_from_a_new_and_a_gone_one(tmp_path):
    """A frame made smaller loses its finding, another gets one, a third gets another message."""
    before = [
        row("SMALLER", frame="1196"),
        row("LARGER"),
        row("WORSE", frame="1196"),
        row("GONE", frame="1196"),
    ]
    after = [
        row("SMALLER", frame="1190"),
        row("LARGER", frame="1196"),
        row("WORSE", frame="1198"),
        row("NEW", frame="1196"),
    ]
    assert compared(tmp_path, before, after) == [
        ("new", "order changed", "LARGER", "frame-too-wide"),
        ("changed", "order changed", "WORSE", "frame-too-wide"),
        ("new", "order is new", "NEW", "frame-too-wide"),
        ("gone", "order changed", "SMALLER", "frame-too-wide"),
        ("gone", "order is gone", "GONE", "frame-too-wide"),
    ]
    counts = summary(tmp_path / "new")["changes"]
    assert (counts["new"], counts["gone"], counts["changed"]) == (2, 2, 1)
    assert {each["because"]: each["new"] for each in counts["rows"]} == {
        "order changed": 1, "order is gone": 0, "order is new": 1
    }  # fmt: skip
    worse = changes(tmp_path / "new")[1]
    assert "1196" in worse["message_before"]
    assert "1198" in worse["message"]
    assert worse["line"] == "4"


@pytest.fixture
def stricter(tmp_path) -> Path:
    """The rulebook of England with a wider least gap, under a name of its own."""
    text = RULEBOOK.read_text(encoding="utf-8")
    for was, now in (
        ("rulebook: england", "rulebook: own"),
        ("pvcu: {white: [5, 5, 7.5]", "pvcu: {white: [6, 6, 7.5]"),
    ):
        assert text.count(was) == 1
        text = text.replace(was, now)
    path = tmp_path / "own.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_changed_settings_are_told_from_a_changed_order(tmp_path, stricter):
    """The same order judged by another rulebook: what the order states is the same, the verdict is not."""
    old, new = tmp_path / "old", tmp_path / "new"
    one, other = (
        RunSettings.of(CallerDefaults(rulebook=name), rulebooks=(str(stricter),))
        for name in ("england", "own")
    )
    before = [row("SAME", frame="1196", rulebook=""), row("OTHER", frame="1196", rulebook="")]
    after = [before[0], row("OTHER", frame="1197", rulebook="")]
    run(sheet(tmp_path, "a.csv", *before), out=old, settings=one)
    run(sheet(tmp_path, "a.csv", *after), out=new, settings=other, since=old)
    found = {
        (each["order_ref"], each["change"], each["because"])
        for each in changes(new)
        if each["reason"] == "frame-too-wide"
    }
    assert found == {
        ("SAME", "changed", "settings changed"),
        ("OTHER", "changed", "order and settings changed"),
    }
    assert summary(new)["changes"]["settings"] == ["rulebook"]


def test_a_finding_that_comes_of_settings_alone_says_so(tmp_path):
    """Without a unit of its own an order is read by the option, and the option has changed."""
    rows = [row("T-1").replace(",mm,", ",,")]
    old, new = tmp_path / "old", tmp_path / "new"
    run(sheet(tmp_path, "a.csv", *rows), out=old, settings=RunSettings(CallerDefaults(units="mm")))
    kept = run(
        sheet(tmp_path, "a.csv", *rows), out=new, settings=RunSettings(CallerDefaults(units="cm")), since=old
    )
    found = changes(new)
    assert found
    assert {(each["change"], each["because"]) for each in found} == {("new", "settings changed")}
    assert kept.changes.settings == ["units"]
    assert kept.changes.of("new") == len(found)


def test_refused_rows_are_compared_by_what_is_wrong_with_them(tmp_path):
    """A row has no reference when it cannot be read; it is known by its file and its fault."""
    old, new = tmp_path / "old", tmp_path / "new"
    run(sheet(tmp_path, "a.csv", row("T-1"), "short,row"), out=old)
    run(sheet(tmp_path, "a.csv", "short,row", row("T-1"), row("T-2") + ",long,er"), out=new, since=old)
    found = changes(new)
    assert [(each["change"], each["reason"]) for each in found] == [("new", "row-unreadable")]
    assert "14 fields" in found[0]["message"] or "cells" in found[0]["message"]


def test_an_order_that_stands_twice_counts_as_one(tmp_path):
    """Its findings are told apart by their turn, so that one more shows as one more."""
    (tmp_path / "b").mkdir()
    old, new = tmp_path / "old", tmp_path / "new"
    first = sheet(tmp_path, "a.csv", row("T-1", frame="1196"))
    run(first, sheet(tmp_path / "b", "a.csv", row("T-1", frame="1190")), out=old)
    run(first, sheet(tmp_path / "b", "a.csv", row("T-1", frame="1196")), out=new, since=old)
    assert [(each["change"], each["because"]) for each in changes(new)] == [("new", "order changed")]


def test_only_a_whole_run_is_compared_with(tmp_path):
    """An unfinished folder, or one that somebody took a file from, is no run."""
    path = sheet(tmp_path, "a.csv", row("T-1"))
    run(path, out=tmp_path / "old")
    (tmp_path / "old" / "findings.csv").unlink()
    for folder in ("old", "nowhere"):
        with pytest.raises(SettingsError, match="no finished run lies there"):
            run(path, out=tmp_path / "new", since=tmp_path / folder)


def test_a_run_is_not_compared_with_the_folder_it_writes(tmp_path):
    """It would be gone before it could be read."""
    path = sheet(tmp_path, "a.csv", row("T-1"))
    run(path, out=tmp_path / "out")
    with pytest.raises(SettingsError, match="another one for this run"):
        run(path, out=tmp_path / "out", since=tmp_path / "out" / ".." / "out")


def test_changes_of_the_last_run_do_not_stay_when_none_are_asked_for(tmp_path):
    """A run without --since leaves no changes.csv of an earlier one behind."""
    path = sheet(tmp_path, "a.csv", row("T-1"))
    run(path, out=tmp_path / "old")
    run(path, out=tmp_path / "new", since=tmp_path / "old")
    assert (tmp_path / "new" / "changes.csv").exists()
    run(path, out=tmp_path / "new")
    assert not (tmp_path / "new" / "changes.csv").exists()
