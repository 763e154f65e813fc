"""DEVELOPERS.md lists every calculation, with a call of it in one line.

``pytest tests/contract/test_calculations_listed.py --rewrite-golden`` writes the list anew.
"""

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from sawready import calc, conversion

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- made: calculations -->\n", "<!-- end -->\n"


def modules() -> list[ModuleType]:
    """Every module of calc but its packages, and the one that converts units."""
    names = [module.name for module in pkgutil.iter_modules(calc.__path__) if not module.ispkg]
    return [importlib.import_module(f"sawready.calc.{name}") for name in names] + [conversion]


def calculations(module: ModuleType) -> Iterator[tuple[str, Callable[..., Any]]]:
    """The public functions that a module defines, in the order of their definition."""
    for name, member in vars(module).items():
        if (
            not name.startswith("_")
            and callable(member)
            and getattr(member, "__module__", "") == module.__name__
        ):
            function = inspect.unwrap(member)
            if inspect.isfunction(function):
                yield name, function


def in_one_line(function: Callable[..., Any]) -> str:
    """The docstring's first example as one line; the signature where there is none."""
    sources = []
    for example in doctest.DocTestParser().get_examples(function.__doc__ or ""):
        sources.append(example.source)
        if example.want:
            break
    if not sources:
        return f"{function.__name__}({', '.join(inspect.signature(function).parameters)})"
    tree = ast.parse("".join(sources))
    return "; ".join(ast.unparse(statement) for statement in tree.body)


def made() -> str:
    """The list, a table a module."""
    lines: list[str] = []
    for module in modules():
        rows = list(calculations(module))
        if not rows:
            continue
        title = re.split(r"(?<=[.:;])\s", (module.__doc__ or "").strip())[0].rstrip(".:;")
        lines += [f"### `{module.__name__}`", "", f"{title}.", "", "| gives | in one line |", "| --- | --- |"]
        for _, function in rows:
            gives = (function.__doc__ or "").strip().split("\n\n")[0]
            call = in_one_line(function).replace("|", "\\|")
            lines.append(f"| {' '.join(gives.split()).rstrip('.')} | `{call}` |")
        lines.append("")
    return "\n".join(lines)


def test_the_list_is_up_to_date(pytestconfig: pytest.Config) -> None:
    text = DEVELOPERS.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN)
    _, after = rest.split(END, 1)
    expected = f"{before}{BEGIN}\n{made()}\n{END}{after}"
    if pytestconfig.getoption("--rewrite-golden"):
        DEVELOPERS.write_text(expected, encoding="utf-8", newline="\n")
        text = expected
    assert text == expected


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__)
def test_every_calculation_of_a_module_can_be_found(module: ModuleType) -> None:
    """By its name and its module, whatever the form of the list."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    for name, _ in calculations(module):
        assert f"### `{module.__name__}`" in text
        assert name in text.split(f"### `{module.__name__}`\n")[1].split("\n### ")[0]
