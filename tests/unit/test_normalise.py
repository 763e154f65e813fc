"""Raw records into values: units, defaults, views, counts, and what each fault is called."""

from decimal import Decimal
from typing import Any

import pytest

from full_order import full_order
from sawready.catalogue.load import Catalogue
from sawready.model.layout import Division, Light
from sawready.normalise import CallerDefaults, ReadOpening, ReadOrder, field_in_words, read_order
from strategies import order_of

MM = 1_000_000


@pytest.fixture
def read(catalogue: Catalogue) -> Any:
    def reading(order: dict[str, Any], **caller: Any) -> ReadOrder:
        return read_order(order, catalogue=catalogue, caller=CallerDefaults(**caller))

    return reading


def _opening(**more: Any) -> dict[str, Any]:
    base = {
        "opening_ref": "W1",
        "widths": [1210],
        "heights": [1260],
        "layout": "fixed",
        "colour": {"outside": "white"},
        "glazing": {"unit": "4-20-4"},
    }
    return {**base, **more}


def _reasons(opening: ReadOpening) -> list[tuple[str, str]]:
    return [(found.reason, found.at) for found in opening.findings]


def test_a_full_order_is_read_without_a_finding(read: Any) -> None:
    found = read(full_order())
    opening = found.openings[0].opening
    assert found.openings[0].findings == []
    assert (found.order.order_ref, found.order.surveyor, found.order.survey_revision) == ("F-1", "AB", 1)
    assert str(found.order.survey_date) == "2026-11-02"
    assert found.order.answers[0].measured == 21.0
    assert opening.widths_nm == (1812 * MM, 1808 * MM, 1810 * MM)
    assert opening.sill is not None
    assert (opening.sill.projection_nm, opening.sill.horn_left_nm) == (150 * MM, 50 * MM)
    assert (opening.colour_outside, opening.room) == ("white", "kitchen")
    assert found.openings[0].from_defaults == {"colour", "room"}
    assert opening.u_g_w_m2k == 1.0
    assert (opening.vent_mm2, opening.escape, opening.design_wind_pa) == (8000, False, 1200.0)


def test_an_opening_goes_before_the_orders_defaults_and_null_leaves_them(read: Any) -> None:
    defaults = {"set_back": 30, "room": "hall", "colour": {"outside": "grey"}}
    order = order_of(_opening(set_back=20, room=None), defaults=defaults)
    found = read(order).openings[0]
    assert (found.opening.set_back_nm, found.opening.room, found.opening.colour_outside) == (
        20 * MM,
        "hall",
        "white",
    )
    assert found.from_defaults == {"room"}


def test_defaults_are_taken_whole_and_not_mixed(read: Any) -> None:
    order = order_of(_opening(glazing={"safety": "toughened"}), defaults={"glazing": {"unit": "4-16-4"}})
    assert _reasons(read(order).openings[0]) == [("value-missing", "/openings/0/glazing/unit")]


@pytest.mark.parametrize(
    ("units", "value", "nm"),
    [
        ("mm", 1210, 1210 * MM),
        ("cm", 121, 1210 * MM),
        ("cm", Decimal("121.05"), 1_210_500_000),
        ("m", Decimal("1.21"), 1210 * MM),
        ("in", 48, 1_219_200_000),
        ("ft", 4, 1_219_200_000),
        ("in", "1210 mm", 1210 * MM),
        (None, "47 1/4 in", 1_200_150_000),
        (None, "3' 11 1/4\"", 1_200_150_000),
    ],
)
def test_a_length_is_read_in_its_own_unit_else_the_orders(
    read: Any, units: str | None, value: Any, nm: int
) -> None:
    order = order_of(_opening(widths=[value], heights=["1260 mm"]), units=units)
    assert read(order).openings[0].opening.widths_nm == (nm,)


def test_the_callers_unit_serves_an_order_without_one(read: Any) -> None:
    order = order_of(_opening(widths=[48], heights=[50]), units=None)
    assert read(order, units="in").openings[0].opening.widths_nm == (1_219_200_000,)


def test_three_readings_in_one_cell_are_read_as_three(read: Any) -> None:
    opening = read(order_of(_opening(widths=["1212/1208/1210"]))).openings[0].opening
    assert opening.widths_nm == (1212 * MM, 1208 * MM, 1210 * MM)


@pytest.mark.parametrize("text", ["1212/1208", "1212/1208/1210/1214", "1212/x/1210"])
def test_another_number_of_readings_in_one_cell_is_not_guessed_at(read: Any, text: str) -> None:
    found = read(order_of(_opening(widths=[text]))).openings[0]
    assert found.opening.widths_nm == (None,)
    assert [at for _, at in _reasons(found)] == ["/openings/0/widths/0"]


def test_blanks_among_readings_are_remembered(read: Any) -> None:
    found = read(order_of(_opening(widths=[1212, None, 1210], heights=[None, 1260]))).openings[0].opening
    assert (found.widths_nm, found.heights_nm) == ((1212 * MM, 1210 * MM), (1260 * MM,))
    assert dict(found.reading_places) == {"widths": (0, 2), "heights": (1,)}
    plain = read(order_of(_opening(widths=[1212, 1208, None]))).openings[0].opening
    assert dict(plain.reading_places) == {}


def test_a_reading_that_cannot_be_read_keeps_its_place(read: Any) -> None:
    found = read(order_of(_opening(widths=[1212, "abc", 1210]))).openings[0]
    assert found.opening.widths_nm == (1212 * MM, None, 1210 * MM)
    assert found.opening.unread == {"widths", "widths/1"}


def test_an_order_from_inside_is_turned_to_the_outside(read: Any) -> None:
    opening = _opening(
        heights=[1260, 1262, 1264],
        diagonals=[1740, 1750],
        layout="side-hung left | fixed",
        gap={"left": 6, "right": 7},
        extenders={"left": 15},
        to_come={"right": 10},
        sill={"projection": 150, "fit": "horns_into_wall", "horn_left": 30, "horn_right": 50},
    )
    found = read(order_of(opening, viewed_from="inside")).openings[0]
    seen = found.opening
    assert found.is_turned
    assert seen.heights_nm == (1264 * MM, 1262 * MM, 1260 * MM)
    assert seen.diagonals_nm == (1750 * MM, 1740 * MM)
    assert seen.layout == Division("columns", (Light("fixed"), Light("side-hung", "right")), (None,))
    assert seen.own_gap_nm == (7 * MM, 6 * MM, None, None)
    assert seen.extenders_nm == (0, 15 * MM, 0, 0)
    assert seen.to_come_nm == (10 * MM, 0, 0, 0)
    assert seen.sill is not None
    assert (seen.sill.horn_left_nm, seen.sill.horn_right_nm) == (50 * MM, 30 * MM)


@pytest.mark.parametrize(
    ("order_view", "survey_view", "layout"),
    [
        ("outside", None, "side-hung left | fixed"),
        ("outside", "outside", "side-hung left | fixed"),
        ("outside", "inside", "fixed | side-hung right"),
        ("inside", None, "fixed | side-hung right"),
        ("inside", "outside", "side-hung left | fixed"),
    ],
)
def test_the_surveys_drawing_is_turned_by_its_own_view(
    read: Any, order_view: str, survey_view: str | None, layout: str
) -> None:
    surveyed = {"layout": layout, **({"viewed_from": survey_view} if survey_view else {})}
    found = read(order_of(_opening(surveyed=surveyed), viewed_from=order_view)).openings[0].opening
    assert found.surveyed_layout == Division("columns", (Light("side-hung", "left"), Light("fixed")), (None,))


@pytest.mark.parametrize(
    ("value", "count"),
    [(None, 1), (1, 1), (7, 7), ("2 off", 2), ("3", 3), (9999, 9999), (Decimal(2), 2), (2.0, 2)],
)
def test_a_quantity(read: Any, value: Any, count: int) -> None:
    assert read(order_of(_opening(quantity=value))).openings[0].opening.quantity == count


@pytest.mark.parametrize("value", [0, -1, 10_000, "10000", 1.5, "half", 10**30])
def test_no_quantity(read: Any, value: Any) -> None:
    found = read(order_of(_opening(quantity=value))).openings[0]
    assert found.opening.quantity is None
    assert _reasons(found) == [("quantity-not-a-count", "/openings/0/quantity")]


@pytest.mark.parametrize(
    ("value", "is_so"), [(True, True), (False, False), ("yes", True), ("No", False), (None, None)]
)
def test_yes_and_no(read: Any, value: Any, is_so: bool | None) -> None:
    assert read(order_of(_opening(escape=value))).openings[0].opening.escape is is_so


@pytest.mark.parametrize(
    ("name", "class_"), [("white", "white"), (" White ", "white"), ("cream", "coloured")]
)
def test_only_white_is_white(read: Any, name: str, class_: str) -> None:
    assert read(order_of(_opening(colour={"outside": name}))).openings[0].opening.colour_class == class_


def test_one_missing_unit_is_one_finding_with_a_count(read: Any) -> None:
    one = read(order_of(_opening(widths=["1210 mm"]), units=None)).openings[0]
    two = read(order_of(_opening(widths=["1210 mm"], set_back=30), units=None)).openings[0]
    many = read(order_of(_opening(widths=[1, 2, 3]), units=None)).openings[0]
    assert [len(each.findings) for each in (one, two, many)] == [1, 1, 1]
    assert "more of this opening" not in one.findings[0].message
    assert two.findings[0].message.endswith(" So does 1 more of this opening's values.")
    assert many.findings[0].message.endswith(" So do 3 more of this opening's values.")


def test_a_missing_unit_in_the_defaults_is_counted_too(read: Any) -> None:
    order = order_of(
        _opening(widths=["1210 mm"], heights=["1260 mm"]),
        units=None,
        defaults={"set_back": 3, "gap": {"left": 6}},
    )
    findings = read(order).openings[0].findings
    assert [(found.reason, found.at) for found in findings] == [("unit-not-stated", "/defaults/gap/left")]
    assert findings[0].message.endswith("So does 1 more of this opening's values.")


def test_faults_of_the_order_stand_with_every_opening(read: Any) -> None:
    order = order_of(
        _opening(), _opening(opening_ref="W2"), units="yard", colour="x", survey={"date": "2026-02-30"}
    )
    for opening in read(order).openings:
        head = [found for found in _reasons(opening) if not found[1].startswith("/openings")]
        assert head == [
            ("value-unreadable", "/units"),
            ("field-unknown", "/colour"),
            ("value-unreadable", "/survey/date"),
        ]


@pytest.mark.parametrize(
    ("name", "at", "says"),
    [
        ("units", "/units", "the nearest is units"),
        ("openning", "/openning", "the nearest is openings"),
        ("zzz", "/zzz", 'There is no field "zzz" here.'),
    ],
)
def test_a_strange_field_is_told_with_the_nearest_known_one(read: Any, name: str, at: str, says: str) -> None:
    if name == "units":
        order, at = order_of(_opening(), unit="mm"), "/unit"
    else:
        order = order_of(_opening(), **{name: 1})
    found = read(order).openings[0].findings[0]
    assert (found.reason, found.at) == ("field-unknown", at)
    assert says in found.message


def test_a_strange_field_inside_another_is_compared_with_its_neighbours(read: Any) -> None:
    found = read(order_of(_opening(), survey={"datum": "2026-11-02"})).openings[0].findings[0]
    assert (found.at, "the nearest is date" in found.message) == ("/survey/datum", True)


def test_an_unknown_word_offers_the_nearest(read: Any) -> None:
    found = read(order_of(_opening(measured_to="Bricks"))).openings[0].findings[0]
    assert (found.reason, found.candidates) == ("value-unreadable", ("brick",))


def test_answers_that_are_none_are_told_and_the_others_kept(read: Any) -> None:
    good = {
        "opening_ref": "W1",
        "reason": "gap-too-large",
        "measured": "12.5",
        "by": "AB",
        "on": "2026-11-03",
    }
    answers = [good, {**good, "on": "2026-02-30"}, {**good, "by": None}, 5]
    found = read(order_of(_opening(), answers=answers))
    assert [answer.measured for answer in found.order.answers] == [12.5]
    assert _reasons(found.openings[0]) == [
        ("value-unreadable", "/answers/1/on"),
        ("value-missing", "/answers/2/by"),
        ("value-unreadable", "/answers/3"),
    ]


@pytest.mark.parametrize("answers", [{}, "x", 5])
def test_answers_that_are_no_list_are_told(read: Any, answers: Any) -> None:
    assert _reasons(read(order_of(_opening(), answers=answers)).openings[0]) == [
        ("value-unreadable", "/answers")
    ]


def test_an_unknown_system_leaves_the_rest_to_be_read(read: Any) -> None:
    found = read(order_of(_opening(sill={"projection": 152, "fit": "between_reveals"}), system="other"))
    assert found.system is None
    assert _reasons(found.openings[0]) == [("system-unknown", "/system")]
    assert found.openings[0].opening.widths_nm == (1210 * MM,)


def test_without_a_rulebook_a_length_has_no_upper_limit(read: Any) -> None:
    found = read(order_of(_opening(widths=[99_999]), rulebook="other"))
    assert found.openings[0].opening.widths_nm == (99_999 * MM,)
    assert _reasons(found.openings[0]) == [("rulebook-unknown", "/rulebook")]


def test_a_view_that_cannot_be_read_is_not_also_missing(read: Any) -> None:
    assert not read(order_of(_opening(), viewed_from="left")).openings[0].needs_view
    assert read(order_of(_opening(), viewed_from=None)).openings[0].needs_view


def test_an_opening_that_is_no_object_is_told_and_empty(read: Any) -> None:
    found = read({**order_of(_opening()), "openings": [5, None]})
    for opening in found.openings:
        assert opening.opening.widths_nm == ()
        assert [reason for reason, _ in _reasons(opening)] == ["value-unreadable"]


def test_the_same_place_seen_twice_is_read_the_same(read: Any) -> None:
    """Layouts and glass units are remembered by their text and unit."""
    for units, nm in (("mm", 600 * MM), ("cm", 6000 * MM), ("mm", 600 * MM)):
        order = order_of(
            _opening(layout="fixed |@600 fixed", widths=["1210 mm"], heights=["1260 mm"]), units=units
        )
        layout = read(order).openings[0].opening.layout
        assert isinstance(layout, Division)
        assert layout.places[0] is not None
        assert layout.places[0].nm == nm


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (("widths", 0), "first width"),
        (("heights", 2), "third height"),
        (("diagonals", 1), "second diagonal"),
        (("openings", 3, "widths", 1), "second width"),
        (("widths", 7), "width 7"),
        (("gap", "left"), "gap at the left"),
        (("extenders", "top"), "extender at the top"),
        (("colour", "outside"), "outside colour"),
        (("frame", "width"), "frame width"),
        (("set_back",), "set-back"),
        (("openings",), "openings"),
        ((), "value"),
        ((5,), "5"),
    ],
)
def test_a_field_in_words(path: tuple[str | int, ...], words: str) -> None:
    assert field_in_words(path) == words
