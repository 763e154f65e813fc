"""The quick yes of a shape, and marshmallow's faults, which must agree with each other."""

from typing import Any

import pytest
from marshmallow import fields

from full_order import full_order
from sawready.order_schema import ANSWER, OPENING, ORDER_HEAD, Part
from sawready.shape import (
    acceptor,
    answer_accepts,
    faults_of,
    opening_accepts,
    order_head_accepts,
    without_nulls,
)


def _opening() -> dict[str, Any]:
    order = full_order()
    opening: dict[str, Any] = {**order["defaults"], **order["openings"][0]}
    return opening


def test_a_full_opening_has_the_shape() -> None:
    assert opening_accepts(_opening())
    assert faults_of(OPENING, _opening()) == []


@pytest.mark.parametrize(
    ("change", "path", "reason"),
    [
        ({"widths": 5}, ("widths",), "value-unreadable"),
        ({"layout": None}, ("layout",), "value-missing"),
        ({"quantity": []}, ("quantity",), "quantity-not-a-count"),
        ({"layout": 5}, ("layout",), "layout-unreadable"),
        ({"storey": 1.5}, ("storey",), "value-unreadable"),
        ({"storey": 1000}, ("storey",), "value-out-of-range"),
        ({"colour": {}}, ("colour", "outside"), "value-missing"),
        ({"colour": "white"}, ("colour",), "value-unreadable"),
        ({"sill": {"fit": "x", "projection": 150}}, ("sill", "fit"), "value-unreadable"),
        ({"frame": {"widht": 5}}, ("frame", "widht"), "field-unknown"),
        ({"reason": "x"}, ("reason",), "field-unknown"),
        ({"escape": "perhaps"}, ("escape",), "value-unreadable"),
    ],
)
def test_quick_and_thorough_agree_on_a_fault(
    change: dict[str, Any], path: tuple[str, ...], reason: str
) -> None:
    record = {**_opening(), **change}
    assert not opening_accepts(record)
    assert [(where, told["reason"]) for where, told in faults_of(OPENING, record)] == [(path, reason)]


def test_nulls_count_as_absent_at_any_depth_of_the_schemas() -> None:
    record = {
        **_opening(),
        "frame": None,
        "sill": {"projection": 150, "fit": "between_reveals", "horn_left": None},
    }
    assert opening_accepts(record)
    assert faults_of(OPENING, record) == []
    assert without_nulls({"a": None, "b": {"c": None, "d": [None, {"e": None}]}}) == {"b": {"d": [None, {}]}}


def test_faults_come_in_the_order_of_the_schema_and_strange_fields_last_by_name() -> None:
    strange = {"zz": 1, "aa": 2, "mm": 3, "qq": 4}
    record = {**strange, **_opening(), "glazing": {**strange, "unit": 5}, "widths": 5}
    assert [path for path, _ in faults_of(OPENING, record)] == [
        ("widths",),
        ("glazing", "unit"),
        *(("glazing", name) for name in sorted(strange)),
        *((name,) for name in sorted(strange)),
    ]


@pytest.mark.parametrize("record", [None, 5, "x", [], [{}]])
def test_what_is_no_object_is_told_as_that(record: Any) -> None:
    assert not opening_accepts(record)
    assert [(path, told["reason"]) for path, told in faults_of(OPENING, record)] == [((), "value-unreadable")]


def test_a_subclass_of_dict_takes_the_thorough_way() -> None:
    class Own(dict[str, Any]):
        """Another kind of mapping."""

    assert not opening_accepts(Own(_opening()))
    assert faults_of(OPENING, Own(_opening())) == []


def test_heads_and_answers_have_their_shapes() -> None:
    order = full_order()
    head = {name: value for name, value in order.items() if name not in {"openings", "answers", "defaults"}}
    assert order_head_accepts(head)
    assert faults_of(ORDER_HEAD, head) == []
    assert answer_accepts(order["answers"][0])
    assert not answer_accepts({})
    assert len(faults_of(ANSWER, {})) == 4


def test_a_kind_of_field_without_a_quick_check_is_refused_at_once() -> None:
    schema = Part.from_dict({"when": fields.DateTime()})()
    with pytest.raises(TypeError, match="no quick check for DateTime"):
        acceptor(schema)


def test_a_fault_that_marshmallow_words_itself_is_still_told() -> None:
    schema = Part.from_dict({"count": fields.Integer()})()
    assert faults_of(schema, {"count": "x"}) == [
        (("count",), {"reason": "value-unreadable", "because": "Not a valid integer."})
    ]
