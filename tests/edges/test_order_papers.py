"""Bars and the fitter's sheet of a kept order, and questions over HTTP."""

import csv
import io
import json
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner

from desk_service import Service, order, queried, rejected
from sawready.catalogue.load import Catalogue
from sawready.cli.main import main
from sawready.store.store import Store


@pytest.fixture
def desk(tmp_path: Path, catalogue: Catalogue) -> Service:
    return Service(Store.open(f"sqlite:///{tmp_path}/desk.sqlite3"), catalogue)


def test_every_piece_of_the_cutting_list_is_on_exactly_one_bar(desk):
    """Pieces of the plan are the rows of the list times their count, white bars apart."""
    desk.keep(order("TQ", quantity=3))
    listed = desk.call("installer", "GET", "/v1/orders/TQ/cutting-list").get_json()
    answer = desk.call("installer", "GET", "/v1/orders/TQ/bars", Accept="text/csv")
    planned = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))
    wanted: Counter[tuple[str, str, float]] = Counter()
    for row in listed["pieces"]:
        wanted[row["profile"], row["part"], row["length_mm"]] += row["count"]
    assert Counter((row["profile"], row["part"], float(row["length_mm"])) for row in planned) == wanted
    assert {row["colour"] for row in planned if row["part"] == "frame-head"} == {"white"}


def test_the_plan_as_json_carries_its_bound(desk):
    """No profile needs fewer bars than proved, and the answer names its digest."""
    desk.keep(order("TQ"))
    answer = desk.call("installer", "GET", "/v1/orders/TQ/bars")
    assert all(each["bars"] >= each["bound"] for each in answer.get_json()["summary"])
    assert answer.headers["Content-Digest"].startswith("sha-256=:")


def test_the_sheet_is_that_of_the_command(desk, tmp_path):
    """The same order gives the same PDF from the desk and from sawready sheet."""
    file = tmp_path / "order.json"
    file.write_text(json.dumps(order("TQ")), encoding="utf-8")
    CliRunner().invoke(
        main, ["sheet", str(file), "--out", str(tmp_path / "sheet.pdf")], catch_exceptions=False
    )
    desk.keep(order("TQ"))
    answer = desk.call("installer", "GET", "/v1/orders/TQ/sheet")
    assert answer.mimetype == "application/pdf"
    assert answer.data == (tmp_path / "sheet.pdf").read_bytes()


@pytest.mark.parametrize("paper", ["bars", "sheet"])
def test_a_factory_gets_neither_before_the_release(desk, paper):
    """What must not be cut yet is not handed to the saw in another form."""
    kept = desk.keep(order("TQ")).get_json()
    assert desk.call("factory", "GET", f"/v1/orders/TQ/{paper}").status_code == 409
    desk.release("TQ", kept["digest"])
    assert desk.call("factory", "GET", f"/v1/orders/TQ/{paper}").status_code == 200


def test_a_rejected_order_has_no_pieces_to_plan(desk):
    """Its plan is empty, not a failure."""
    desk.keep(rejected("TQ"))
    assert desk.call("installer", "GET", "/v1/orders/TQ/bars").get_json()["profiles"] == []


def test_media_types_that_are_not_given(desk):
    """406 names what is."""
    desk.keep(order("TQ"))
    assert desk.call("installer", "GET", "/v1/orders/TQ/sheet", Accept="image/png").status_code == 406
    assert desk.call("installer", "GET", "/v1/orders/TQ/bars", Accept="image/png").status_code == 406


@pytest.mark.parametrize("form", ["json", "ndjson"])
def test_questions_over_http(desk, form):
    """A query comes back as a question with its place; a clean order gives none."""
    clean, asked = order("A"), queried("B")
    body = json.dumps(asked) if form == "json" else f"{json.dumps(clean)}\n{json.dumps(asked)}\n"
    media = {"json": "application/json", "ndjson": "application/x-ndjson"}[form]
    answer = desk.call("integrator", "POST", "/v1/questions", body.encode(), Content_Type=media)
    questions = answer.get_json()["questions"]
    assert questions
    assert {(each["order_ref"], each["opening_ref"]) for each in questions} == {("B", "W1")}
    assert all(each["question"].endswith("?") for each in questions)


def test_questions_of_a_sheet(desk):
    """A sheet is read as for a check."""
    sheet = (
        "order_ref,system,rulebook,units,viewed_from,surveyor,opening_ref,width_top,width_middle,width_bottom,"
        "height_left,layout,colour_outside,glazing_unit\n"
        "T,demo70,england,mm,outside,AB,W1,1509,1570,1507,1229,fixed,white,4-20-4\n"
    )
    answer = desk.call("integrator", "POST", "/v1/questions", sheet.encode(), Content_Type="text/csv")
    assert [(each["surveyor"], each["candidates"][0]) for each in answer.get_json()["questions"]] == [
        ("AB", 1507.0)
    ]
