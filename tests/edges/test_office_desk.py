"""From the office page to the order desk: what is kept, revised, refused, and not asked again.

What the page does is held against what ``/v1/orders`` says of the same store.
"""

import io
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from desk_service import Service, order, rejected
from sawready.catalogue.load import Catalogue
from sawready.desk.handing_in import hand_in
from sawready.desk.keeping import Desk
from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.settings import Settings
from sawready.store.store import Store
from sawready.web import office_desk, office_shelf
from sawready.web.app import create_app

if TYPE_CHECKING:
    from flask import Flask
    from flask.testing import FlaskClient

SAMPLES = Path(__file__).parents[2] / "sample_orders"
SHEET = SAMPLES / "02_harbour_terrace.csv"
MAP = SAMPLES / "02_harbour_terrace.columns.yaml"


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is laid aside goes into the test's own folder."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(office_shelf, "temporary_folder", lambda: folder)


def asking(ref: str = "TQ-0007", **opening: Any) -> dict[str, Any]:
    """An order with one open query: the frame is narrow for its aperture."""
    made = order(ref, **{"widths": [1829, 1829, 1829], **opening})
    del made["openings"][0]["diagonals"]
    return made


class Visitor:
    """A visitor of the page, signed in."""

    def __init__(self, service: Service, name: str = "installer") -> None:
        self.client: FlaskClient = service.client()
        mark = self.mark(self.client.get("/office/key"))
        signed = self.client.post("/office/key", data={"mark": mark, "key": service.keys[name]})
        assert signed.status_code == 303

    @staticmethod
    def mark(page: TestResponse) -> str:
        """The mark of the page's forms."""
        found = re.search(r'name="mark" value="([0-9a-f]{64})"', page.text)
        assert found is not None
        return found[1]

    def send(self, *bodies: dict[str, Any]) -> str:
        """Uploads orders. Gives the address of what came of them."""
        lines = "".join(json.dumps(body) + "\n" for body in bodies).encode()
        form = {
            "mark": self.mark(self.client.get("/")),
            "file": FileStorage(io.BytesIO(lines), "x.ndjson"),
        }
        boundary, data = encode_multipart(form)
        response = self.client.post(
            "/", data=data, content_type=f'multipart/form-data; boundary="{boundary}"'
        )
        assert response.status_code == 303
        return str(response.headers["Location"])

    def keep(
        self, address: str, page: TestResponse | None = None, cut: str | None = None, **more: str
    ) -> TestResponse:
        """Presses the button of a page, the newest where none is given, and follows it."""
        page = page or self.client.get(address)
        form = re.search(r'<form method="post" action="[^"]*/desk">.*?</form>', page.text, re.DOTALL)
        assert form is not None
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form[0]))
        response = self.client.post(
            f"{address}/desk", data={**hidden, **more, **({} if cut is None else {"cut-0": cut})}
        )
        assert response.status_code == 303
        assert response.headers["Location"] == f"{address}#kept"
        return self.client.get(address)

    def answer(self, address: str, by: str = "A. B.") -> TestResponse:
        """Answers the first open query, and follows it."""
        form = re.search(r'<form class="answer".*?</form>', self.client.get(address).text, re.DOTALL)
        assert form is not None
        hidden = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
        data = {**hidden, "by": by, "note": "measured again"}
        response = self.client.post(f"{address}/answers", data=data)
        return self.client.get(response.headers["Location"])


def kept(service: Service, ref: str = "TQ-0007", name: str = "installer") -> dict[str, Any]:
    found: dict[str, Any] = service.call(name, "GET", f"/v1/orders/{ref}").get_json()
    return found


def said(page: TestResponse) -> str:
    """What the page says was done."""
    found = re.search(r'id="kept" role="status" tabindex="-1">(.*?)</p>', page.text)
    assert found is not None
    return re.sub(r"<[^>]+>", "", found[1])


def became(page: TestResponse) -> list[str]:
    """What became of each order, row by row."""
    table = re.search(r'aria-label="Orders at the desk".*?</table>', page.text, re.DOTALL)
    assert table is not None
    cells = [re.findall(r"<td>(.*?)</td>", row, re.DOTALL) for row in table[0].split("<tr>")[2:]]
    return [" ".join(re.sub(r"<[^>]+>", " ", row[-1]).split()) for row in cells]


def stands(page: TestResponse) -> list[str]:
    """How each order stands, row by row."""
    table = re.search(r'aria-label="Orders at the desk".*?</table>', page.text, re.DOTALL)
    assert table is not None
    cells = [re.findall(r"<td>(.*?)</td>", row, re.DOTALL) for row in table[0].split("<tr>")[2:]]
    return [" ".join(re.sub(r"<[^>]+>", " ", row[1]).split()) for row in cells]


def test_orders_are_kept_for_the_firm_of_the_key_as_a_program_would_keep_them(service: Service) -> None:
    visitor = Visitor(service)
    address = visitor.send(order("A-1"), rejected("A-2"))
    assert stands(visitor.client.get(address)) == ["not kept yet", "not kept yet"]
    page = visitor.keep(address)
    assert said(page).startswith("At the desk: 2 new.")
    assert became(page) == ["Kept as revision 1.", "Kept as revision 1."]
    assert "All of it is kept." in page.text
    for body, decision in ((order("A-1"), "accepted"), (rejected("A-2"), "rejected")):
        found = kept(service, body["order_ref"])
        assert (found["firm"], found["revision"], found["decision"]) == ("Harbour Joinery", 1, decision)
        again = service.keep(body)
        assert again.status_code == 200, "the very same sheet, sent by a program"
        assert again.get_json() == found["result"]
    assert service.call("other_installer", "GET", "/v1/orders/A-1").status_code == 404


def test_pressing_twice_keeps_once(service: Service) -> None:
    visitor = Visitor(service)
    address = visitor.send(order())
    page = visitor.client.get(address)
    visitor.keep(address, page)
    again = visitor.keep(address, page)
    assert said(again).startswith("At the desk: 1 kept already.")
    assert became(again) == ["The same sheet as is kept, revision 1."]
    assert kept(service)["revision"] == 1


def test_a_re_survey_says_which_state_it_revises(service: Service) -> None:
    visitor = Visitor(service)
    first = service.keep(order()).get_json()["digest"]
    address = visitor.send(order(frame={"width": 1790, "height": 1220, "height_includes_sill": False}))
    page = visitor.client.get(address)
    assert "this sheet differs and would revise it" in stands(page)[0]
    assert "Keep these orders</button> 1 to revise." in page.text
    page = visitor.keep(address, page)
    second = kept(service)
    assert second["revision"] == 2
    assert second["digest"] != first
    assert became(page) == [
        f"Revised: revision 1 ({first[7:15]}) became revision 2 ({second['digest'][7:15]})."
    ]


def test_an_order_that_changed_since_the_page_was_shown_is_refused(service: Service) -> None:
    """As If-Match does for a program: neither the state that came between is lost nor the other orders."""
    visitor = Visitor(service)
    service.keep(order())
    changed = order(frame={"width": 1790, "height": 1220, "height_includes_sill": False})
    address = visitor.send(changed, order("B-1"))
    page = visitor.client.get(address)
    between = order(frame={"width": 1792, "height": 1220, "height_includes_sill": False})
    assert service.revise("TQ-0007", between).status_code == 200
    page = visitor.keep(address, page)
    assert said(page).startswith("At the desk: 1 new, 1 refused.")
    assert "The order has changed since it was read; it now stands at revision 2." in became(page)[0]
    found = kept(service)
    assert (found["revision"], found["result"]["openings"][0]["frame"]["width_mm"]) == (2, 1792.0)
    page = visitor.keep(address)
    assert became(page)[0].startswith("Revised: revision 2")
    assert kept(service)["result"]["openings"][0]["frame"]["width_mm"] == 1790.0


def test_an_order_that_came_in_since_the_page_was_shown_is_refused(service: Service) -> None:
    visitor = Visitor(service)
    address = visitor.send(order(frame={"width": 1790, "height": 1220, "height_includes_sill": False}))
    page = visitor.client.get(address)
    service.keep(order())
    page = visitor.keep(address, page)
    assert became(page)[0].startswith("Refused: Another order of this name is kept: revision 1. See how")
    assert kept(service)["revision"] == 1


@pytest.mark.parametrize("held", ["", "0:", "0:0-0", "x", "0", "99999999999:1-1", "0:1-1 0:2-2", "é:ü"])
def test_a_state_that_nobody_saw_revises_nothing(service: Service, held: str) -> None:
    visitor = Visitor(service)
    service.keep(order())
    address = visitor.send(order(frame={"width": 1790, "height": 1220, "height_includes_sill": False}))
    page = visitor.keep(address, held=held)
    assert became(page)[0].startswith("Refused: ")
    assert kept(service)["revision"] == 1


def test_a_released_order_is_revised_only_by_who_says_what_is_cut(service: Service) -> None:
    visitor = Visitor(service)
    digest = service.keep(order()).get_json()["digest"]
    assert service.release("TQ-0007", digest).status_code == 200
    address = visitor.send(order(frame={"width": 1790, "height": 1220, "height_includes_sill": False}))
    page = visitor.client.get(address)
    assert "revision 1 is released to the saw" in stands(page)[0]
    assert 'name="cut-0"' in page.text
    page = visitor.keep(address)
    assert became(page)[0].startswith("Refused: Revision 1 is released to the saw")
    page = visitor.keep(address, cut="W99")
    assert "W99 is not in the released list." in became(page)[0]
    assert kept(service)["revision"] == 1
    page = visitor.keep(address, cut="W1")
    assert became(page)[0].startswith("Revised: revision 1")
    assert [each["opening_ref"] for each in kept(service)["already_cut"]] == ["W1"]


def test_none_is_cut_can_be_said_in_a_word(service: Service) -> None:
    visitor = Visitor(service)
    service.release("TQ-0007", service.keep(order()).get_json()["digest"])
    address = visitor.send(order(frame={"width": 1790, "height": 1220, "height_includes_sill": False}))
    assert became(visitor.keep(address, cut="None"))[0].startswith("Revised: ")
    assert kept(service)["already_cut"] == []


def test_an_answer_is_kept_with_its_order_and_not_asked_for_again(service: Service) -> None:
    visitor = Visitor(service)
    address = visitor.send(asking())
    page = visitor.answer(address)
    assert "The order was checked again.</p>" in page.text, "it is not kept before the button is pressed"
    page = visitor.keep(address)
    assert became(page) == ["Kept as revision 2; 1 answer kept with it."]
    found = kept(service)
    assert found["decision"] == "accepted"
    assert [each["cause"] for each in found["revisions"]] == ["answer", "upload"]
    again = visitor.send(asking())
    assert again != address
    page = visitor.client.get(again)
    assert '<td class="accepted">1</td>' in page.text
    assert 'class="answer"' not in page.text
    assert "Answered by A. B. on " in page.text
    assert stands(page)[0].endswith("; this is the same sheet")
    assert "The answers that were given before, as the desk keeps them, are in them." in page.text
    assert len(visitor.client.get(f"{again}/files/cutting.csv").text.splitlines()) > 10
    assert "Answer it" not in visitor.client.get(f"{again}/openings/0/0").text


def test_an_answer_to_an_order_that_is_kept_is_kept_at_once(service: Service) -> None:
    visitor = Visitor(service)
    service.keep(asking())
    page = visitor.answer(visitor.send(asking()))
    assert "and the answer is kept at the desk." in page.text
    assert (kept(service)["revision"], kept(service)["decision"]) == (2, "accepted")


def test_an_answer_given_to_the_desk_counts_on_the_page_for_its_firm_alone(service: Service) -> None:
    result = service.keep(asking()).get_json()
    query = next(each for each in result["openings"][0]["findings"] if each["severity"] == "query")
    body = {
        "opening_ref": "W1",
        "reason": query["reason"],
        "measured": query["measured"]["value"],
        "by": "C. D.",
    }
    assert service.call("installer", "POST", "/v1/orders/TQ-0007/answers", body).status_code == 200
    visitor = Visitor(service)
    assert "Answered by C. D." in visitor.client.get(visitor.send(asking())).text
    changed = visitor.client.get(visitor.send(asking(widths=[1831, 1831, 1831]))).text
    assert "Answered by C. D." not in changed, "another value is another question"
    stranger = Visitor(service, "other_installer")
    assert "Answered by" not in stranger.client.get(stranger.send(asking())).text


def test_answers_count_through_a_re_survey(service: Service) -> None:
    visitor = Visitor(service)
    visitor.answer(visitor.send(asking()))
    first = visitor.send(asking())
    visitor.answer(first)
    visitor.keep(first)
    second = visitor.send(asking(room="scullery"))
    page = visitor.client.get(second)
    assert '<td class="accepted">1</td>' in page.text
    page = visitor.keep(second)
    assert became(page)[0].startswith("Revised: revision 2")
    assert kept(service)["decision"] == "accepted"


def test_an_answer_that_the_desk_refuses_is_told_of_with_the_order(
    service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    visitor = Visitor(service)
    address = visitor.send(asking())
    visitor.answer(address)

    def refuses(*arguments: Any, **more: Any) -> Any:
        raise RefusedError("answer-refused", "The query is no longer open.")

    monkeypatch.setattr(Desk, "answer", refuses)
    page = visitor.keep(address)
    assert became(page)[0].startswith(
        "Kept as revision 1; an answer was refused: The query is no longer open."
    )
    assert "1 answer given here not kept yet" in stands(page)[0]
    assert "Keep these orders</button> 1 to add answers to." in page.text


@pytest.mark.parametrize("name", ["integrator", "factory", "admin"])
def test_only_an_installer_keeps_orders(service: Service, name: str) -> None:
    visitor = Visitor(service, name)
    address = visitor.send(order())
    page = visitor.client.get(address)
    assert f"Orders are kept with a key of the role installer; yours has the role {name}." in page.text
    assert "Keep these orders" not in page.text
    response = visitor.client.post(f"{address}/desk", data={"mark": visitor.mark(page), "held": ""})
    assert (response.status_code, response.mimetype) == (403, "text/html")
    assert service.call("installer", "GET", "/v1/orders/TQ-0007").status_code == 404


def test_an_order_without_a_usable_name_is_refused_and_the_rest_is_kept(service: Service) -> None:
    visitor = Visitor(service)
    nameless = order()
    del nameless["order_ref"]
    page = visitor.keep(visitor.send(nameless, order("C-1"), order("C/sheet")))
    assert said(page).startswith("At the desk: 1 new, 2 refused.")
    assert "The order has no order_ref to be kept under." in became(page)[0]
    assert "which is the name of a call" in became(page)[2]


def test_two_orders_of_one_name_in_one_file(service: Service) -> None:
    """The first is kept; the other is no re-survey of it that anybody has looked at."""
    visitor = Visitor(service)
    other = order(frame={"width": 1790, "height": 1220, "height_includes_sill": False})
    page = visitor.keep(visitor.send(order(), other))
    assert became(page)[0] == "Kept as revision 1."
    assert became(page)[1].startswith("Refused: Another order of this name is kept")


def test_a_store_that_fails_midway_is_told_of_and_can_be_pressed_again(
    service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    visitor = Visitor(service)
    address = visitor.send(order("D-1"), order("D-2"), order("D-3"))
    calls = 0

    def fails_second(*arguments: Any, **more: Any) -> Any:
        nonlocal calls
        calls += 1
        if calls == 2:
            raise StoreError("secret text")
        return hand_in(*arguments, **more)

    with monkeypatch.context() as patch:
        patch.setattr(office_desk, "hand_in", fails_second)
        page = visitor.keep(address)
    assert said(page).startswith("At the desk: 1 new, 1 not kept, as the store cannot be used.")
    assert "of this order and those after it nothing was kept" in became(page)[1]
    assert "secret text" not in page.text + service.log.getvalue()
    page = visitor.keep(address)
    assert said(page).startswith("At the desk: 2 new, 1 kept already.")


def test_a_service_without_a_store_says_that_it_keeps_nothing(catalogue: Catalogue) -> None:
    app: Flask = create_app(Settings(), catalogue, log=io.StringIO())
    visitor = object.__new__(Visitor)
    visitor.client = app.test_client()
    address = visitor.send(asking())
    page = visitor.client.get(address)
    assert "This service keeps no orders; it was started without a store." in page.text
    response = visitor.client.post(f"{address}/desk", data={"mark": visitor.mark(page)})
    assert (response.status_code, response.mimetype) == (404, "text/html")
    assert visitor.answer(address).status_code == 200


def test_without_keys_the_person_at_the_machine_keeps_orders(store: Store, catalogue: Catalogue) -> None:
    app = create_app(Settings(), catalogue, store, log=io.StringIO())
    visitor = object.__new__(Visitor)
    visitor.client = app.test_client()
    assert said(visitor.keep(visitor.send(order()))).startswith("At the desk: 1 new.")
    assert visitor.client.get("/v1/orders/TQ-0007").get_json()["firm"] == "local"


def test_the_form_carries_its_mark(service: Service) -> None:
    visitor = Visitor(service)
    address = visitor.send(order())
    assert visitor.client.post(f"{address}/desk", data={}).status_code == 403
    assert Visitor(service, "other_installer").client.post(f"{address}/desk", data={}).status_code == 403
    assert service.call("installer", "GET", "/v1/orders/TQ-0007").status_code == 404


def test_the_messy_sample_by_its_map_is_the_same_sheet_the_next_day(service: Service) -> None:
    visitor = Visitor(service)

    def send() -> str:
        form = {
            "mark": visitor.mark(visitor.client.get("/")),
            "file": FileStorage(io.BytesIO(SHEET.read_bytes()), SHEET.name),
            "columns": FileStorage(io.BytesIO(MAP.read_bytes()), MAP.name),
        }
        boundary, data = encode_multipart(form)
        kind = f'multipart/form-data; boundary="{boundary}"'
        return str(visitor.client.post("/", data=data, content_type=kind).headers["Location"])

    address = send()
    assert said(visitor.keep(address)).startswith("At the desk: 3 new.")
    page = visitor.client.get(send())
    assert [each.endswith("this is the same sheet") for each in stands(page)] == [True] * 3
    assert "All of it is kept." in page.text
    answered = visitor.answer(send())
    assert "and the answer is kept at the desk." in answered.text
    assert "Answered by A. B." in visitor.client.get(send()).text
