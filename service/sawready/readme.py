"""Makes the README's made parts from the program: ``python -m sawready.readme [--check]``.

A made part stands between ``<!-- made: NAME -->`` and ``<!-- end -->``.
"""

import argparse
import io
import json
import re
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

import click

from sawready.catalogue.load import Catalogue
from sawready.cli.main import main as command
from sawready.pipeline import check_order
from sawready.readers.json_orders import read_json
from sawready.readers.raw import RawOrder
from sawready.report.as_json import result_dict
from sawready.report.as_text import TextReport
from sawready.rules.registry import ABOUT, catalogue_pages
from sawready.settings import SETTINGS

ROOT: Final = Path(__file__).resolve().parents[2]

_PART: Final = re.compile(r"(<!-- made: ([a-z-]+) -->\n)(?:[^<]|<(?!!-- end -->))*(<!-- end -->)")

_ORDER: Final = """\
{"order_ref": "EX-1", "system": "demo70", "rulebook": "england", "units": "mm", "viewed_from": "outside",
 "openings": [
  {"opening_ref": "W1", "widths": [1812, 1808, 1810], "heights": [1262, 1260, 1261], "diagonals": [2207, 2206],
   "sill": {"projection": 150, "fit": "horns_into_wall", "horn_left": 50, "horn_right": 50}, "set_back": 30,
   "floor_to_sill": 1050, "layout": "side-hung left | fixed",
   "colour": {"outside": "white"}, "glazing": {"unit": "4-20-4"}},
  {"opening_ref": "W2", "widths": ["3' 11 5/8\\""], "heights": [1010], "frame": {"width": 1204, "height": 1000},
   "floor_to_sill": 1050, "layout": "fixed", "colour": {"outside": "white"}, "glazing": {"unit": "4-20-4"}}]}
"""


def _example() -> str:
    """An order, its report for people, and a part of its result."""
    (raw,) = read_json(_ORDER.encode(), source="example.json")
    if not isinstance(raw, RawOrder):
        raise TypeError("the README's example order cannot be read")
    result = result_dict(check_order(raw.data, catalogue=Catalogue.load_builtin()))
    text = io.StringIO()
    TextReport(text, is_coloured=False).order(result, file="example.json")
    first = result["openings"][0]
    shown = [
        f'"frame": {json.dumps(first["frame"])}',
        f'"sill": {json.dumps(first["sill"])}',
        f'"lights": [{json.dumps(first["lights"][0])}, ...]',
        f'"pieces": [{json.dumps(first["pieces"][0])}, ... {len(first["pieces"]) - 1} more]',
        f'"beads": [{json.dumps(first["beads"][0])}, ... {len(first["beads"]) - 1} more]',
        f'"glass": [{json.dumps(first["glass"][0])}, ...]',
        f'"fixings": {json.dumps(first["fixings"])}',
    ]
    rows = "\n".join(shown)
    return (
        f"`example.json`:\n\n```json\n{_ORDER}```\n\n`sawready check example.json --format text`:\n\n"
        f"```text\n{text.getvalue().strip()}\n```\n\n"
        f"Of the result for W1 (`--format ndjson`), one row of each list:\n\n```text\n{rows}\n```\n"
    )


def _check_help() -> str:
    check = command.get_command(click.Context(command), "check")
    if check is None:
        raise TypeError("there is no command check")
    names = command.context_settings["help_option_names"]
    context = click.Context(check, info_name="sawready check", max_content_width=100, help_option_names=names)
    return f"```text\n{check.get_help(context)}\n```\n"


def _settings() -> str:
    rows = [
        f"| `{each.variable}` | {f'`{each.default}`' if each.default else '(empty)'} | {each.help} |"
        for each in SETTINGS
    ]
    return "\n".join(["| variable | default | what it decides |", "| --- | --- | --- |", *rows]) + "\n"


def _reasons() -> str:
    lines = ["| about | reason | usual severity | what it is |", "| --- | --- | --- | --- |"]
    for about in ABOUT:
        lines.extend(
            f"| {about} | `{page.name}` | {page.severity} | {page.title} |"
            for page in catalogue_pages()
            if page.about == about
        )
    return "\n".join(lines) + "\n"


PARTS: Final[Mapping[str, Callable[[], str]]] = {
    "example": _example,
    "check-help": _check_help,
    "settings": _settings,
    "reasons": _reasons,
}


def made(text: str) -> str:
    """The README with its made parts made anew."""
    return _PART.sub(lambda match: match[1] + "\n" + PARTS[match[2]]() + "\n" + match[3], text)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs it. Returns: exit status, 1 where ``--check`` finds the README stale."""
    parser = argparse.ArgumentParser(
        prog="python -m sawready.readme", description="Make the README's made parts."
    )
    parser.add_argument("--check", action="store_true", help="write nothing; say whether it is stale")
    options = parser.parse_args(arguments)
    file = ROOT / "README.md"
    old = file.read_text("utf-8")
    new = made(old)
    if options.check:
        sys.stdout.write(
            "README.md is up to date\n"
            if old == new
            else "README.md is stale: run python -m sawready.readme\n"
        )
        return int(old != new)
    file.write_text(new, "utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
