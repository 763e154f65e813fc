"""Reads the case files of the reasons, and puts a case's order together.

A case file names its reason and lists cases. A case changes the order of base.yaml:

    change     members of the opening, merged in; null takes one out
    order      members of the order, merged in likewise
    openings   instead of `change`: a list of changes, one an opening
    system     a file of systems/ that is added to the catalogue and named by the order
    sheet, json, ndjson   instead of all that: text that goes through the door

    kind       pass: the reason is not found; fail: it is; inside, outside: the same, just within the limit
               and just past it
    at, severity, measured, limit, candidates, message, remedy   of the finding, where stated
    times      how many times it is found; 1 where absent
    also       other reasons that the same fault brings; none may come unasked but notes
    not_applied   reasons that cannot be judged; with a fail case, none of them may be found
    cure       a change that does what the remedy says; the reason is then gone
"""

import copy
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import yaml

HERE = Path(__file__).parent / "rules"
KINDS = frozenset({"pass", "fail", "inside", "outside"})
KEYS = frozenset(
    {
        "name",
        "kind",
        "change",
        "order",
        "openings",
        "system",
        "sheet",
        "json",
        "ndjson",
        "at",
        "severity",
        "measured",
        "limit",
        "candidates",
        "message",
        "remedy",
        "times",
        "also",
        "not_applied",
        "cure",
    }
)


class _Loader(yaml.SafeLoader):
    """YAML whose decimals are exact and whose dates stay text, as the JSON door gives them."""


_Loader.add_constructor(
    "tag:yaml.org,2002:float", lambda loader, node: Decimal(loader.construct_scalar(node))
)
_Loader.add_constructor("tag:yaml.org,2002:timestamp", lambda loader, node: loader.construct_scalar(node))


@dataclass(frozen=True)
class Case:
    """One case of one reason."""

    reason: str
    data: dict[str, Any]

    @property
    def kind(self) -> str:
        """What is expected: pass, fail, inside or outside."""
        return str(self.data["kind"])

    @property
    def is_found(self) -> bool:
        """Whether the reason has to be found."""
        return self.kind in {"fail", "outside"}

    def __str__(self) -> str:
        return f"{self.reason}: {self.data['name']}".replace(" ", "-")


def load(path: Path) -> Any:
    """A YAML file of this folder."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=_Loader)  # noqa: S506 - a safe loader with two changes


def cases_of(path: Path) -> list[Case]:
    """The cases of one file."""
    data = load(path)
    if set(data) != {"reason", "cases"} or data["reason"] != path.stem:
        raise ValueError(f"{path.name} must hold the reason it is named after, and cases")
    cases = [Case(data["reason"], case) for case in data["cases"]]
    for case in cases:
        strange = set(case.data) - KEYS
        if strange or case.kind not in KINDS or "name" not in case.data:
            raise ValueError(f"{path.name}, {case.data.get('name')}: {sorted(strange) or 'kind or name'}")
    if len({case.data["name"] for case in cases}) != len(cases):
        raise ValueError(f"{path.name} names two cases alike")
    return cases


def all_cases() -> list[Case]:
    """Every case of every file."""
    return [case for path in sorted((HERE / "cases").glob("*.yaml")) for case in cases_of(path)]


def merged(base: Any, change: Any) -> Any:
    """A document with another laid over it; null takes a member out, a list replaces a list."""
    if not isinstance(base, dict) or not isinstance(change, dict):
        return copy.deepcopy(change)
    found = {name: value for name, value in base.items() if not (name in change and change[name] is None)}
    for name, value in change.items():
        if value is not None:
            found[name] = merged(found.get(name), value)
    return found


def order_of(case: Case, *, cured: bool = False) -> dict[str, Any]:
    """The order of a case, changed once more by its cure where that is asked for."""
    base = load(HERE / "base.yaml")
    opening = base.pop("opening")
    changes = case.data.get("openings", [case.data.get("change", {})])
    openings = [merged(opening, change) for change in changes]
    order: dict[str, Any] = merged({**base, "openings": openings}, case.data.get("order", {}))
    if "system" in case.data:
        order["system"] = case.data["system"]
    if cured:
        cure = case.data["cure"]
        order = merged(order, cure.get("order", {}))
        order["openings"] = [merged(each, cure.get("change", {})) for each in order["openings"]]
    return order
