"""``sawready check --questions``: what only the surveyor can answer, by surveyor."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from sawready.cli.main import main


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["check", *arguments])


@pytest.fixture
def order(tmp_path: Path) -> Path:
    """A swapped digit, a sound window, a reading that cannot be read, and a fault that is the office's."""

    def opening(ref: str, **more: object) -> dict:
        return {
            "opening_ref": ref,
            "widths": [1509, 1508, 1507],
            "heights": [1229, 1230, 1228],
            "diagonals": [1946, 1945],
            "layout": "fixed",
            "colour": {"outside": "white"},
            "glazing": {"unit": "4-20-4"},
            **more,
        }

    data = {
        "order_ref": "Q-1",
        "system": "demo70",
        "rulebook": "england",
        "units": "mm",
        "viewed_from": "outside",
        "survey": {"surveyor": "Ines Calloway"},
        "openings": [
            opening("W1", widths=[1509, 1570, 1507]),
            opening("W2"),
            opening("W3", heights=["12OO", 1230, 1228]),
            opening("W4", glazing={"unit": "4-24-4"}),
        ],
    }
    path = tmp_path / "order.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_questions_come_by_surveyor_one_sentence_each(order):
    """The swapped digit and the letter for a nought are asked; the bead is not the surveyor's business."""
    result = run(str(order), "--questions", "--format", "text")
    assert result.exit_code == 1
    assert result.stdout.startswith("Ines Calloway: 2 questions\n")
    assert (
        "Q-1, W1: The middle width reads 1570, the others 1509 and 1507: should it be 1507?" in result.stdout
    )
    assert 'Q-1, W3: The first height cannot be read: "12OO"' in result.stdout
    assert "W4" not in result.stdout


def test_questions_as_one_object_a_line(order):
    """A program gets surveyor, references, place, reason, question and candidates."""
    lines = [
        json.loads(line) for line in run(str(order), "--questions", "--format", "ndjson").stdout.splitlines()
    ]
    assert [line["opening_ref"] for line in lines] == ["W1", "W3"]
    assert set(lines[0]) == {
        "surveyor", "order_ref", "opening_ref", "at", "reason", "question", "candidates",
    }  # fmt: skip
    assert (lines[0]["at"], lines[0]["candidates"][0]) == ("/openings/0/widths/1", 1507.0)


@pytest.mark.parametrize(
    ("change", "ask"),
    [
        ({"heights": [1225, 1233, 1241], "diagonals": None}, ": is the wall so, or is a reading wrong?"),
        ({"diagonals": [1955, 1956]}, ": which of them is wrong?"),
        ({"frame": {"width": 1470, "height": 1218}}, ": is that meant?"),
        (
            {"surveyed": {"viewed_from": "outside", "layout": "side-hung left"}, "layout": "side-hung right"},
            ": which of the two is right?",
        ),
        (
            {"surveyed": {"viewed_from": "outside", "layout": "fixed"}, "layout": "side-hung right"},
            ": may it open there?",
        ),
    ],
)
def test_each_finding_is_asked_about_in_its_own_words(order, change, ask):
    """A message alone is no question; what to answer depends on what was found."""
    data = json.loads(order.read_text(encoding="utf-8"))
    data["openings"] = [{**data["openings"][1], **change}]
    order.write_text(json.dumps(data), encoding="utf-8")
    lines = run(str(order), "--questions", "--format", "ndjson").stdout.splitlines()
    questions = [json.loads(line)["question"] for line in lines]
    assert sum(question.endswith(ask) for question in questions) == 1
    assert {question.count("?") for question in questions} == {1}


def test_a_view_that_is_not_stated_is_asked_for(order):
    """Left and right cannot be told without it."""
    data = json.loads(order.read_text(encoding="utf-8"))
    del data["viewed_from"]
    data["openings"] = [{**data["openings"][1], "layout": "side-hung left | fixed"}]
    order.write_text(json.dumps(data), encoding="utf-8")
    lines = run(str(order), "--questions", "--format", "ndjson").stdout.splitlines()
    assert any(json.loads(line)["question"].endswith(": from which side is it seen?") for line in lines)


def test_nothing_to_ask_says_so(order, tmp_path):
    """A clean order has no question, and status 0."""
    data = json.loads(order.read_text(encoding="utf-8"))
    data["openings"] = [data["openings"][1]]
    clean = tmp_path / "clean.json"
    clean.write_text(json.dumps(data), encoding="utf-8")
    result = run(str(clean), "--questions", "--format", "text")
    assert (result.exit_code, result.stdout) == (0, "No question for any surveyor.\n")


@pytest.mark.parametrize("option", [("--out", "folder"), ("--jobs", "2")])
def test_options_of_a_run_do_not_go_with_questions(order, option):
    """Questions write no folder; a wish for one is refused, not passed over."""
    result = run(str(order), "--questions", *option)
    assert result.exit_code == 2
    assert "--questions goes with neither" in result.stderr


def test_what_cannot_be_read_is_told_and_the_rest_is_asked(order, tmp_path):
    """Status 3, the reason on standard error."""
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    result = run(str(order), str(broken), "--questions", "--format", "text")
    assert result.exit_code == 3
    assert "not read" in result.stderr
    assert "Ines Calloway" in result.stdout
