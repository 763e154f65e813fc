"""The table of written values: each case gives its number and remarks, or its reason and candidates."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml

from sawready.lengths import (
    Angle,
    Count,
    Length,
    Pair,
    Readings,
    Refusal,
    WrittenDate,
    read_angle,
    read_date,
    read_length,
    read_pair,
    read_quantity,
    read_readings,
)
from sawready.readers.rows import classify_row, row_key

TABLE: dict[str, list[dict[str, Any]]] = yaml.safe_load(
    (Path(__file__).parent / "cases" / "written_lengths.yaml").read_text(encoding="utf-8")
)
NM = 1_000_000
LIMITS = {"sizes": (150, 6000), "horns": (0, 150), "sill_projections": (50, 300)}


def cases(*sections: str) -> list[Any]:
    return [pytest.param(section, case, id=case["id"]) for section in sections for case in TABLE[section]]


def declared(case: dict[str, Any]) -> dict[str, Any]:
    unit = case.get("unit", "mm")
    return {"unit": None if unit == "none" else unit, "number_style": case.get("style", "en")}


def assert_refused_or_empty(case: dict[str, Any], answer: object) -> None:
    if case.get("empty"):
        assert answer is None
        return
    assert isinstance(answer, Refusal)
    assert answer.reason == case["reason"]
    assert answer.because.endswith(".")
    assert answer.remedy
    if "candidates" in case:
        assert list(answer.candidates_mm) == case["candidates"]


def said(remarks: Any) -> list[str]:
    return [remark.reason for remark in remarks]


@pytest.mark.parametrize(("section", "case"), cases("sizes", "horns", "sill_projections"))
def test_written_length_gives_its_number_or_its_reason(section: str, case: dict[str, Any]) -> None:
    least, most = LIMITS[section]
    answer = read_length(
        case["text"],
        **declared(case),
        least_nm=least * NM,
        most_nm=most * NM,
        axis=case.get("side"),
        words_for_none=section == "horns",
    )
    if "mm" not in case:
        assert_refused_or_empty(case, answer)
        return
    assert isinstance(answer, Length)
    assert Fraction(answer.nm, NM) == Fraction(case["mm"])
    assert said(answer.remarks) == case.get("said", [])


@pytest.mark.parametrize(("section", "case"), cases("pairs"))
def test_written_pair_gives_width_and_height_or_its_reason(section: str, case: dict[str, Any]) -> None:
    answer = read_pair(
        case["text"], **declared(case), least_nm=150 * NM, most_nm=6000 * NM, order=case.get("order")
    )
    if "mm" not in case:
        assert_refused_or_empty(case, answer)
        return
    assert isinstance(answer, Pair)
    assert [Fraction(answer.width_nm, NM), Fraction(answer.height_nm, NM)] == [*map(Fraction, case["mm"])]
    assert said(answer.remarks) == case.get("said", [])


@pytest.mark.parametrize(("section", "case"), cases("readings"))
def test_written_readings_give_each_number_or_their_reason(section: str, case: dict[str, Any]) -> None:
    answer = read_readings(case["text"], **declared(case), least_nm=150 * NM, most_nm=6000 * NM)
    if "mm" not in case:
        assert_refused_or_empty(case, answer)
        return
    assert isinstance(answer, Readings)
    assert [Fraction(nm, NM) for nm in answer.nm] == [*map(Fraction, case["mm"])]
    assert said(answer.remarks) == case.get("said", [])


READERS: dict[str, Callable[[dict[str, Any]], object]] = {
    "quantities": lambda case: read_quantity(case["text"], number_style=case.get("style", "en")),
    "angles": lambda case: read_angle(case["text"]),
    "dates": lambda case: read_date(case["text"]),
}


@pytest.mark.parametrize(("section", "case"), cases("quantities", "angles", "dates"))
def test_written_count_angle_or_date_gives_its_value_or_its_reason(
    section: str, case: dict[str, Any]
) -> None:
    answer = READERS[section](case)
    if "value" not in case:
        assert_refused_or_empty(case, answer)
        return
    assert isinstance(answer, Count | Angle | WrittenDate)
    if isinstance(answer, Count):
        assert answer.count == case["value"]
    elif isinstance(answer, Angle):
        assert answer.degrees == case["value"]
    else:
        assert answer.date.isoformat() == case["value"]
    assert said(answer.remarks) == case.get("said", [])


def test_rows_of_one_sheet_are_told_apart() -> None:
    """Each row in its turn, with the openings above it known."""
    seen: set[tuple[str, ...]] = set()
    found = {}
    for case in TABLE["rows"]:
        found[case["id"]] = kind = classify_row(case["cells"], seen=seen)
        if kind == "data":
            seen.add(row_key(case["cells"]))
    assert found == {case["id"]: case["kind"] for case in TABLE["rows"]}


def test_sheet_without_references_knows_rows_by_all_their_cells() -> None:
    row = ["1200", "1050"]
    assert classify_row(row, roles=["size", "size"]) == "data"
    assert classify_row(row, roles=["size", "size"], seen={row_key(row)}) == "duplicate"


def test_each_case_has_a_name_of_its_own_and_says_what_it_is_about() -> None:
    everything = [case for section in TABLE.values() for case in section]
    assert len({case["id"] for case in everything}) == len(everything)
    assert all(case["why"] for case in everything)
