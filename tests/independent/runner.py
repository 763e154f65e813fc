"""Makes one random order, has it checked, and compares."""

import json
import random
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

from independent.compare import differences
from independent.figures import load_figures
from independent.generator import random_order
from independent.opening import work_out
from sawready.catalogue.load import Catalogue, read_system
from sawready.pipeline import check_order
from sawready.report.as_json import result_bytes

THIRD_SYSTEM = (Path(__file__).parent / "odd61.yaml").read_text(encoding="utf-8")


@dataclass
class Tools:
    """The catalogue for the program, and the same figures as plain trees."""

    catalogue: Catalogue
    systems: dict[str, Any]
    rulebook: Any


def everything() -> Tools:
    """The two systems that come with the program and the third one of the comparison."""
    data = Path(str(resources.files("sawready.catalogue").joinpath("data")))
    trees = [load_figures(path) for path in (data / "systems").glob("*.yaml")]
    trees.append(load_figures(THIRD_SYSTEM))
    catalogue = Catalogue.load_builtin().with_system(read_system(THIRD_SYSTEM, name="third"))
    systems = {tree["system"]: tree for tree in trees}
    return Tools(catalogue, systems, load_figures(data / "rulebooks" / "england.yaml"))


def compare_one(number: int, tools: Tools, seen: Counter[str]) -> list[str]:
    """Disagreements over the random order of that number; counts what it held."""
    order = random_order(random.Random(number), tools.systems, tools.rulebook)
    result = check_order(order, catalogue=tools.catalogue)
    told = json.loads(result_bytes(result), parse_float=Decimal)
    lines = []
    for index, opening in enumerate(told["openings"]):
        own = work_out(order, index, tools.systems[order["system"]], tools.rulebook)
        lines += [f"opening {index}: {line}" for line in differences(opening, own)]
        _count(order, index, opening, own, seen)
    return lines


def _count(order: Any, index: int, told: Any, own: Any, seen: Counter[str]) -> None:
    opening = order["openings"][index]
    seen["openings"] += 1
    seen[order["system"]] += 1
    seen[f"units {order['units']}"] += 1
    seen[f"view {order.get('viewed_from')}"] += 1
    seen[f"decision {told['decision']}"] += 1
    seen[f"lights {min(len(own['lights']), 6)}"] += 1
    for key in ("sill", "frame", "gap", "extenders", "to_come", "diagonals", "set_back"):
        seen[key] += opening.get(key) is not None
    seen[f"layout {'tree' if isinstance(opening['layout'], dict) else 'text'}"] += 1
    seen["lean head"] += bool(opening.get("diagonals")) and opening.get("slope") == "head"
    seen["stated places"] += "@" in str(opening["layout"]) or "'at': [D" in str(opening["layout"])
    seen["lights opening"] += any(light["sash"] for light in own["lights"])
    if opening.get("sill"):
        seen[f"sill {opening['sill']['fit']}"] += 1
    for side in ("left", "right", "top", "bottom"):
        seen[f"fixings {own['fixings'][side][0]}"] += 1
    for finding in told["findings"]:
        seen[f"{finding['severity']} {finding['reason']}"] += 1
