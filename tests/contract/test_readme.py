"""The README's made parts fit the program."""

from pathlib import Path

from sawready import readme

README = Path(__file__).parents[2] / "README.md"


def test_the_made_parts_are_up_to_date():
    """``python -m sawready.readme`` would change nothing."""
    text = README.read_text(encoding="utf-8")
    assert readme.made(text) == text


def test_every_made_part_stands_in_the_readme():
    """No part is made for nothing."""
    text = README.read_text(encoding="utf-8")
    assert all(f"<!-- made: {name} -->" in text for name in readme.PARTS)
