"""Every reason finds what it is for and leaves alone what it is not, as the files of cases/ say."""

import io
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

import sawready.rules.run  # noqa: F401 - importing it registers every reason
from rules_cases import HERE, Case, all_cases, order_of
from sawready.catalogue.load import Catalogue
from sawready.model.pointer import resolve
from sawready.pipeline import check_order
from sawready.readers.orders import read_orders
from sawready.readers.raw import Unreadable
from sawready.report.as_json import result_dict
from sawready.rules.registry import REASONS

CASES = all_cases()


@cache
def _catalogue(system: str | None) -> Catalogue:
    builtin = Catalogue.load_builtin()
    return builtin if system is None else builtin.with_system_file(HERE / "systems" / f"{system}.yaml")


def _told(case: Case, *, cured: bool = False) -> tuple[dict[str, Any], dict[str, Any]]:
    order = order_of(case, cured=cured)
    return order, result_dict(check_order(order, catalogue=_catalogue(case.data.get("system"))))


def _findings(told: dict[str, Any]) -> list[dict[str, Any]]:
    return [found for opening in told["openings"] for found in opening["findings"]]


def _is_through_a_door(case: Case) -> bool:
    return any(door in case.data for door in ("sheet", "json", "ndjson"))


@pytest.mark.parametrize("case", [case for case in CASES if not _is_through_a_door(case)], ids=str)
def test_case(case: Case) -> None:
    order, told = _told(case)
    mine = [found for found in _findings(told) if found["reason"] == case.reason]
    assert len(mine) == (case.data.get("times", 1) if case.is_found else 0), _findings(told)
    others = {found["reason"] for found in _findings(told) if found["severity"] != "note"} - {case.reason}
    assert others == set(case.data.get("also", ()))
    for opening in told["openings"]:
        skipped = {each["reason"] for each in opening["not_applied"]}
        assert skipped >= set(case.data.get("not_applied", ()))
    if not mine:
        return
    found = mine[0]
    for key in ("at", "severity", "message", "remedy"):
        if key in case.data:
            assert found[key] == case.data[key]
    if "candidates" in case.data:
        assert found["candidates"] == [
            float(each) if isinstance(each, Decimal) else each for each in case.data["candidates"]
        ]
    for key in ("measured", "limit"):
        if key in case.data:
            assert found[key] is not None
            assert found[key]["value"] == pytest.approx(float(case.data[key]), abs=1e-9)
    for each in mine:
        assert _names_a_place(order, each["at"]), each["at"]


def _names_a_place(order: dict[str, Any], at: str) -> bool:
    """Whether a pointer leads to something in the order, or to a member that could stand there."""
    try:
        resolve(order, at)
    except KeyError:
        return isinstance(resolve(order, at.rsplit("/", 1)[0]) if "/" in at[1:] else order, dict)
    except (LookupError, ValueError):
        return False
    return True


@pytest.mark.parametrize("case", [case for case in CASES if "cure" in case.data], ids=str)
def test_doing_what_the_remedy_says_settles_the_case(case: Case) -> None:
    _, told = _told(case, cured=True)
    assert case.reason not in {found["reason"] for found in _findings(told)}


@pytest.mark.parametrize("case", [case for case in CASES if _is_through_a_door(case)], ids=str)
def test_case_at_a_door(case: Case) -> None:
    kind, text = next(
        (kind, case.data[key])
        for key, kind in (("sheet", "csv"), ("json", "json"), ("ndjson", "ndjson"))
        if key in case.data
    )
    read = list(read_orders(io.BytesIO(text.encode()), kind=kind, source="case"))
    refused = [each for each in read if isinstance(each, Unreadable)]
    assert len(refused) == (case.data.get("times", 1) if case.is_found else 0)
    for each in refused:
        assert each.reason == case.reason
        assert each.detail
        assert each.remedy
    if refused and "message" in case.data:
        assert refused[0].detail == case.data["message"]


@pytest.mark.parametrize("reason", sorted(REASONS))
def test_every_reason_has_cases(reason: str) -> None:
    mine = [case for case in CASES if case.reason == reason]
    kinds = {case.kind for case in mine}
    assert {"pass", "fail"} <= kinds, f"{reason} needs a pass and a fail case"
    if any(_limit(case) is not None for case in mine if case.is_found and not _is_through_a_door(case)):
        assert {"inside", "outside"} <= kinds, f"{reason} has a limit and needs a case on either side of it"


def _limit(case: Case) -> Any:
    _, told = _told(case)
    return next((found["limit"] for found in _findings(told) if found["reason"] == case.reason), None)


def test_every_case_file_is_about_a_reason() -> None:
    assert {case.reason for case in CASES} <= set(REASONS)


def test_the_order_that_cases_change_has_no_finding() -> None:
    _, told = _told(Case("none", {"name": "base", "kind": "pass"}))
    assert told["decision"] == "accepted"
    assert _findings(told) == []
