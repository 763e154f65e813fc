"""Imports go one way, and the core reaches neither the web, nor a database, nor a file.

`model` <- `units`, `lengths`, `catalogue`, `calc` <- `normalise`, `sizing`, `rules` <- `pipeline` <- the
edges (`readers`, `report`, `store`) <- what joins edges up (`batch`, `web`, `cli`, `desk`, the makers of files).
"""

import ast
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import sawready

ROOT = Path(sawready.__file__).parent

RANKS = {
    "version": 0,
    "errors": 0,
    "model": 0,
    "units": 1,
    "conversion": 1,
    "lengths": 1,
    "calc": 1,
    "catalogue": 1,
    "settings": 1,
    "layouts": 2,
    "order_schema": 2,
    "order_facts": 2,
    "shape": 2,
    "normalise": 2,
    "sizing": 2,
    "resizing": 2,
    "patterns": 2,
    "rules": 2,
    "pipeline": 3,
    "readers": 4,
    "report": 4,
    "store": 4,
    "bars": 4,
    "json_schema": 4,
    "batch": 5,
    "desk": 5,
    "web": 6,
    "operations": 7,
    "cli": 7,
    "published": 8,
    "pictures": 8,
    "readme": 8,
    "__main__": 8,
    "__init__": 8,
}
"""A module imports what has a lower number; a new package takes its place here first."""

ONE_RANK = {
    1: {"units", "conversion", "lengths", "calc", "catalogue"},
    2: {name for name, rank in RANKS.items() if rank == 2},
}
"""Parts of the core that may use each other, as long as no circle comes of it."""

PURE = (
    "model",
    "calc",
    "rules",
    "lengths",
    "layouts",
    "sizing",
    "resizing",
    "normalise",
    "shape",
    "order_facts",
    "pipeline",
)
BARRED = frozenset(
    {
        "alembic",
        "click",
        "flask",
        "flask_smorest",
        "glob",
        "http",
        "importlib",
        "io",
        "logging",
        "os",
        "pathlib",
        "requests",
        "shutil",
        "socket",
        "sqlalchemy",
        "sqlite3",
        "subprocess",
        "tempfile",
        "urllib.request",
        "werkzeug",
        "yaml",
    }
)


@cache
def _modules() -> dict[str, ast.Module]:
    """Every module of the package by its dotted name."""
    found = {}
    for path in sorted(ROOT.rglob("*.py")):
        parts = list(path.relative_to(ROOT).with_suffix("").parts)
        if parts[-1] == "__init__" and len(parts) > 1:
            parts.pop()
        found[".".join(("sawready", *parts))] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def _imports(name: str) -> Iterator[str]:
    """Dotted names that a module imports, relative ones in full, those for the type checker left out."""
    tree = _modules()[name]
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) in {"TYPE_CHECKING", "typing.TYPE_CHECKING"}
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                is_package = any(other.startswith(f"{name}.") for other in _modules())
                parts = name.split(".")
                parts = parts[: len(parts) - node.level + is_package]
                base = ".".join((*parts, *([node.module] if node.module else [])))
            inner = [f"{base}.{alias.name}" for alias in node.names]
            yield from (each if each in _modules() else base for each in inner)


def _part(name: str) -> str:
    """The part of the package that a module belongs to."""
    return name.split(".")[1] if "." in name else "__init__"


def _own(name: str) -> set[str]:
    """Modules of the package that a module imports."""
    return {found for found in _imports(name) if found.split(".")[0] == "sawready" and found != name}


@pytest.mark.parametrize("name", sorted(_modules()))
def test_a_module_imports_only_what_lies_below_it(name: str) -> None:
    mine = _part(name)
    assert mine in RANKS, f"say in RANKS where {mine} stands"
    for found in _own(name):
        theirs = _part(found)
        same_part = theirs == mine
        beside = {mine, theirs} <= ONE_RANK.get(RANKS[mine], set())
        assert same_part or beside or RANKS[theirs] < RANKS[mine], f"{name} imports {found}"


def test_no_modules_import_each_other_in_a_circle() -> None:
    known = set(_modules())
    needs = {name: {found for found in _own(name) if found in known} for name in known}
    while free := {name for name, others in needs.items() if not others}:
        needs = {name: others - free for name, others in needs.items() if name not in free}
    assert not needs, f"in a circle, or above one: {sorted(needs)}"


@pytest.mark.parametrize("name", [name for name in sorted(_modules()) if _part(name) in PURE])
def test_the_core_reaches_no_web_no_database_and_no_file(name: str) -> None:
    for found in _imports(name):
        assert found.split(".")[0] not in BARRED, f"{name} imports {found}"
        assert found not in BARRED, f"{name} imports {found}"
    for node in ast.walk(_modules()[name]):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in {"open", "input", "print", "eval", "exec", "__import__"}, name


def test_the_core_uses_no_library_but_the_one_for_schemas() -> None:
    """Units, glass and rules are plain Python; marshmallow reads shapes; highspy and numpy plan bars."""
    allowed = {"marshmallow"}
    for name in _modules():
        if _part(name) in PURE and ".nesting" not in name:
            outside = (
                {found.split(".")[0] for found in _imports(name)} - {"sawready"} - sys.stdlib_module_names
            )
            assert outside <= allowed, f"{name} imports {sorted(outside)}"
