"""The office page without a browser: what it takes, what it refuses, what it gives out, who may see it."""

import io
import json
import os
import re
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.cli.main import main
from sawready.readers.column_map import load_column_map
from sawready.settings import Settings
from sawready.store import keys
from sawready.store.store import Store
from sawready.web import office_shelf
from sawready.web.access import OWN_DOOR
from sawready.web.app import create_app
from sawready.web.office_map import made_map
from sawready.web.office_rows import preview
from sawready.web.office_shelf import Shelf, new_token
from sawready.web.office_upload import Upload, kind_of_upload, tidy_name

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_orders"
SHEET = SAMPLES / "02_harbour_terrace.csv"
MAP = SAMPLES / "02_harbour_terrace.columns.yaml"
LISTS = ("results.ndjson", "findings.csv", "cutting.csv", "glass.csv")
POLICY = "default-src 'none'; style-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What is laid aside goes into the test's own folder."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(office_shelf, "temporary_folder", lambda: folder)
    return folder


def asked(**opening: Any) -> dict[str, Any]:
    """An order with one open query: the frame is narrow for its aperture."""
    made = order(widths=[1829, 1829, 1829], **opening)
    del made["openings"][0]["diagonals"]
    return made


def mark_of(page: TestResponse) -> str:
    found = re.search(r'name="mark" value="([0-9a-f]{64})"', page.text)
    assert found is not None
    return found[1]


def send(client: FlaskClient, *files: tuple[str, str, bytes], **form: Any) -> TestResponse:
    """Uploads files: field, name and bytes of each."""
    body: dict[str, Any] = {"mark": mark_of(client.get("/")), **form}
    for field, name, data in files:
        body[field] = FileStorage(io.BytesIO(data), name)
    boundary, data = encode_multipart(body)
    return client.post("/", data=data, content_type=f'multipart/form-data; boundary="{boundary}"')


def send_sample(client: FlaskClient) -> str:
    """Uploads the messy sample with its map. Gives the address of what came of it."""
    response = send(client, ("file", SHEET.name, SHEET.read_bytes()), ("columns", MAP.name, MAP.read_bytes()))
    assert response.status_code == 303
    return str(response.headers["Location"])


def send_json(client: FlaskClient, body: Any, name: str = "order.json") -> str:
    return str(send(client, ("file", name, json.dumps(body).encode())).headers["Location"])


def command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *arguments: str) -> Path:
    """What ``sawready check --out`` writes for files in the test's folder."""
    monkeypatch.chdir(tmp_path)
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["check", *arguments, "--out", str(out)])
    assert result.exit_code in (0, 1, 3), result.output
    return out


def answer_first(client: FlaskClient, address: str, **more: str) -> TestResponse:
    """Answers the first open query."""
    page = client.get(address)
    form = re.search(r'<form class="answer".*?</form>', page.text, re.DOTALL)
    assert form is not None
    hidden = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
    return client.post(f"{address}/answers", data={**hidden, "by": "A. B.", "note": "measured again", **more})


def test_the_messy_sample_comes_to_the_decisions_that_are_expected_of_it(client: FlaskClient) -> None:
    """The counts are those of sample_orders/expected, which the command line is held to."""
    page = client.get(send_sample(client))
    expected = (SAMPLES / "expected" / "02_harbour_terrace.ndjson").read_text("utf-8")
    decisions = re.findall(r'"quantity":(?:\d+|null),"decision":"(\w+)"', expected)
    found = re.findall(r'<td class="(rejected|queried|accepted)">(\d+)</td>', page.text)
    assert {name: int(count) for name, count in found} == {
        name: decisions.count(name) for name in ("rejected", "queried", "accepted")
    }


@pytest.mark.parametrize("name", LISTS)
def test_lists_are_those_of_the_command_line_byte_for_byte(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    for path in (SHEET, MAP):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    response = client.get(f"{send_sample(client)}/files/{name}")
    out = command_line(tmp_path, monkeypatch, SHEET.name)
    assert response.data == (out / name).read_bytes()
    assert response.headers["Content-Disposition"] == f'attachment; filename="{name}"'


@pytest.mark.parametrize("sample", ["01_lantern_street.csv", "03_mill_cottages.json", "05_overnight.ndjson"])
@pytest.mark.parametrize("name", LISTS)
def test_the_same_for_every_kind_of_file(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sample: str, name: str
) -> None:
    data = (SAMPLES / sample).read_bytes()
    (tmp_path / sample).write_bytes(data)
    address = str(send(client, ("file", sample, data)).headers["Location"])
    assert client.get(address).status_code == 200
    given = client.get(f"{address}/files/{name}").data
    assert given == (command_line(tmp_path, monkeypatch, sample) / name).read_bytes()


def test_a_file_that_cannot_be_read_is_told_of_and_listed_likewise(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = b'{"order_ref": "A", "openings": [{"opening_ref": "W1"'
    (tmp_path / "cut off.json").write_bytes(data)
    address = str(send(client, ("file", "cut off.json", data)).headers["Location"])
    page = client.get(address)
    assert "Not read: 1" in page.text
    out = command_line(tmp_path, monkeypatch, "cut off.json")
    for name in LISTS:
        assert client.get(f"{address}/files/{name}").data == (out / name).read_bytes()


def test_fitters_sheets_are_those_of_the_command_line(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("reportlab")
    for path in (SHEET, MAP):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    given = client.get(f"{send_sample(client)}/files/fitters_sheets.pdf")
    monkeypatch.chdir(tmp_path)
    CliRunner().invoke(main, ["sheet", SHEET.name, "--out", "sheets.pdf"])
    assert given.mimetype == "application/pdf"
    assert given.data == (tmp_path / "sheets.pdf").read_bytes()


def test_a_query_is_answered_in_place(client: FlaskClient) -> None:
    address = send_json(client, asked())
    assert "cutting and glass lists are empty" in client.get(address).text
    before = client.get(f"{address}/files/cutting.csv").data
    response = answer_first(client, address)
    assert response.status_code == 303
    page = client.get(response.headers["Location"])
    assert "A. B. settled gap-too-large of W1" in page.text
    assert "Answered by A. B. on " in page.text
    assert '<td class="accepted">1</td>' in page.text
    after = client.get(f"{address}/files/cutting.csv").data
    assert len(before.splitlines()) == 1
    assert len(after.splitlines()) > 10


def test_the_lists_after_an_answer_are_those_of_the_order_with_the_answer_in_it(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = send_json(client, asked())
    answer_first(client, address)
    given = {name: client.get(f"{address}/files/{name}").data for name in LISTS}
    day = re.search(rb"Answered by A. B. on (\d{4}-\d\d-\d\d)", given["findings.csv"])
    assert day is not None
    found = json.loads(given["results.ndjson"])["openings"][0]["findings"]
    measured = next(each for each in found if each["reason"] == "gap-too-large")["measured"]["value"]
    answered = {
        **asked(),
        "answers": [
            {
                "opening_ref": "W1",
                "reason": "gap-too-large",
                "measured": measured,
                "by": "A. B.",
                "on": day[1].decode(),
                "note": "measured again",
            }
        ],
    }
    (tmp_path / "order.json").write_text(json.dumps(answered), "utf-8")
    out = command_line(tmp_path, monkeypatch, "order.json")
    assert given == {name: (out / name).read_bytes() for name in LISTS}


@pytest.mark.parametrize(
    "more",
    [
        {"by": ""},
        {"by": "x" * 3000},
        {"by": "a\u202eb"},
        {"note": "y" * 3000},
        {"finding": "99"},
        {"opening": "99"},
        {"order": "99"},
        {"order": "-1"},
        {"order": "9" * 500},
        {"reason": "frame-too-wide"},
        {"measured": "1"},
    ],
)
def test_an_answer_that_cannot_be_used_is_told_of_and_changes_nothing(
    client: FlaskClient, more: dict[str, str]
) -> None:
    address = send_json(client, asked())
    response = answer_first(client, address, **more)
    assert response.status_code == 422
    assert "There is something to correct" in response.text
    links = re.findall(r'<section class="faults".*?</section>', response.text, re.DOTALL)[0]
    for link in re.findall(r'href="#([^"]+)"', links):
        assert f'id="{link}"' in response.text
    assert '<td class="queried">1</td>' in client.get(address).text


def test_a_reject_has_no_form_to_answer_it(client: FlaskClient) -> None:
    body = order(frame={"width": 1806, "height": 1220, "height_includes_sill": False})
    page = client.get(send_json(client, body))
    assert '<td class="rejected">1</td>' in page.text
    assert "/answers" not in page.text


def test_the_cell_that_a_finding_is_about_is_marked(client: FlaskClient) -> None:
    """Line 7 of the sample reads 61O where the middle width belongs."""
    page = client.get(send_sample(client)).text
    article = re.search(r'<article aria-labelledby="reject-0-3">.*?</article>', page, re.DOTALL)
    assert article is not None
    assert re.search(r'<mark>61O</mark> <a href="#(finding-\d+)"', article[0])
    assert "line 7, column W mid" in article[0]
    row = SHEET.read_text("utf-8").split("\n")[6].split(",")
    assert all(f"<td>{cell}</td>" in article[0] for cell in (row[0], row[1], row[4], row[6]))


@pytest.mark.parametrize("view", ["outside", "inside"])
def test_an_opening_is_drawn_as_the_command_line_draws_it(
    client: FlaskClient, tmp_path: Path, view: str
) -> None:
    address = f"{send_sample(client)}/openings/0/0"
    page = client.get(address if view == "outside" else f"{address}?view=inside").text
    CliRunner().invoke(main, ["drawing", str(SHEET), "--out", str(tmp_path / "svg"), "--view", view])
    drawn = (tmp_path / "svg" / f"HT-12-1-K1-{view}.svg").read_text("utf-8")
    assert drawn.strip() in page
    assert f"Seen from {view}</h2>" in page
    assert "style=" not in page
    assert "<script" not in page


def test_a_sheet_with_other_headings_is_asked_about_and_the_map_can_be_saved(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The map made on the page gives the command line the same results."""
    import yaml  # noqa: PLC0415 - only here

    response = send(client, ("file", SHEET.name, SHEET.read_bytes()))
    address = response.headers["Location"]
    assert address.endswith("/columns")
    page = client.get(address)
    assert 'value="2"' in page.text
    names = re.findall(r'<label for="(column_\d+)">([^<]*)</label>', page.text)
    known = yaml.safe_load(MAP.read_text("utf-8"))
    theirs = {heading: ours for ours, heading in known["columns"].items()}
    form = {field: theirs.get(heading, "-") for field, heading in names}
    said = {"units": "mm", "viewed_from": "inside", "system": "demo70", "rulebook": "england"}
    done = client.post(address, data={"mark": mark_of(page), "skip_rows": "2", **form, **said})
    assert done.status_code == 303
    result = done.headers["Location"]
    made = client.get(f"{result}/files/columns.yaml").data
    assert yaml.safe_load(made)["columns"] == known["columns"]
    (tmp_path / SHEET.name).write_bytes(SHEET.read_bytes())
    (tmp_path / "made.yaml").write_bytes(made)
    out = command_line(tmp_path, monkeypatch, SHEET.name, "--columns", "made.yaml")
    for name in LISTS:
        assert client.get(f"{result}/files/{name}").data == (out / name).read_bytes()


def test_each_heading_has_to_be_said_to_be_something(client: FlaskClient) -> None:
    address = send(client, ("file", "x.csv", b"Job,Job name\n1,2\n")).headers["Location"]
    page = client.get(address)
    response = client.post(address, data={"mark": mark_of(page), "skip_rows": "0", "column_0": "order_ref"})
    assert response.status_code == 422
    assert "Say what “Job name” is" in response.text
    assert "No column is said to be width, top, which is needed." in response.text
    twice = {"column_0": "order_ref", "column_1": "order_ref"}
    response = client.post(address, data={"mark": mark_of(page), "skip_rows": "0", **twice})
    assert "are both said to be order" in response.text
    response = client.post(address, data={"mark": mark_of(page), "skip_rows": "0", "column_0": "made up"})
    assert response.status_code == 422
    assert "<h1>What your columns are</h1>" in response.text


def test_pasted_rows_of_a_spreadsheet_are_read(client: FlaskClient) -> None:
    pasted = (SAMPLES / "01_lantern_street.csv").read_text("utf-8")
    response = send(client, pasted=pasted)
    page = client.get(response.headers["Location"])
    assert "What came of pasted" in page.text
    assert '<td class="accepted">0</td>' not in page.text


@pytest.mark.parametrize(
    ("files", "form", "sentence"),
    [
        ((), {}, "Choose a file, or paste rows or JSON."),
        ((("file", "x.csv", b""),), {}, "The file is empty."),
        ((("file", "x.xlsx", b"PK\x03\x04xyz"),), {}, "Save it as CSV there first."),
        ((("file", "x.xls", b"\xd0\xcf\x11\xe0\xa1\xb1"),), {}, "Save it as CSV there first."),
        ((("file", "x.csv", b"%PDF-1.7\n"),), {}, "Choose the CSV or JSON file."),
        ((("file", "x.csv", b"\x89PNG\r\n"),), {}, "Choose the CSV or JSON file."),
        ((("file", "x.csv", b"a,b\n"),), {"pasted": "a"}, "Choose one of the two."),
        ((("file", "x.csv", b"a,b\n"), ("columns", "m.yaml", b"colums: {}")), {}, "no such key"),
        ((("file", "x.csv", b"a,b\n"), ("columns", "m.yaml", b"\xff\xfe")), {}, "m.yaml"),
        ((("file", "x.csv", b"a,b\n"),), {"units": "cubit"}, "Choose one."),
    ],
)
def test_what_cannot_be_used_is_told_of_with_a_way_to_it(
    client: FlaskClient, files: Any, form: dict[str, str], sentence: str
) -> None:
    response = send(client, *files, **form)
    assert response.status_code == 422
    assert sentence in response.text
    assert "<title>Error: " in response.text
    field = re.search(r'<section class="faults".*?href="#(\w+)"', response.text, re.DOTALL)
    assert field is not None
    assert re.search(rf'id="{field[1]}" name="{field[1]}"[^>]*aria-invalid="true"', response.text)
    assert f'id="{field[1]}-fault"' in response.text


@pytest.mark.parametrize("over", [0, 1])
def test_a_file_may_be_as_large_as_one_order_as_json(app: Flask, client: FlaskClient, over: int) -> None:
    """Engineering note S8: the limit, and one byte more."""
    data = b"{" + b" " * (1024 * 1024 - 2 + over) + b"}"
    response = send(client, ("file", "x.json", data))
    assert response.status_code == (422 if over else 303)
    assert ("up to 1,024 KiB" in response.text) == bool(over)


@pytest.mark.parametrize("field", ["pasted", "mark"])
def test_a_request_beyond_every_limit_is_refused_on_a_page(client: FlaskClient, field: str) -> None:
    response = send(client, **{field: "x" * (3 * 1024 * 1024)})
    assert response.status_code == 413
    assert response.mimetype == "text/html"
    assert "up to 1,024 KiB" in response.text


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("../../etc/passwd.csv", "passwd.csv"),
        ("C:\\surveys\\a.csv", "a.csv"),
        ("/abs/olute.csv", "olute.csv"),
        ("nul\x00byte.csv", "nulbyte.csv"),
        ("CON.csv", "CON.csv"),
        ("<b>.csv", "<b>.csv"),
        ("..", "upload"),
    ],
)
def test_the_name_of_an_upload_is_for_people_and_never_a_path(
    client: FlaskClient, own_folder: Path, written: str, shown: str
) -> None:
    """Engineering note S17."""
    assert tidy_name(written, "upload") == shown
    before = {path for path in own_folder.rglob("*") if path.is_file()}
    client.get(send(client, ("file", written, b'{"openings": [{}]}')).headers["Location"])
    new = {path for path in own_folder.rglob("*") if path.is_file()} - before
    assert all(re.fullmatch(r"[0-9a-f]{64}\.upload", path.name) for path in new)
    assert len(new) == 1


def test_what_is_laid_aside_is_for_the_account_of_the_service_only(
    client: FlaskClient, own_folder: Path
) -> None:
    send_sample(client)
    (folder,) = own_folder.iterdir()
    assert folder.stat().st_mode & 0o077 == 0
    assert all(path.stat().st_mode & 0o077 == 0 for path in folder.iterdir())


def test_text_of_an_order_is_text_on_the_page(client: FlaskClient) -> None:
    """Engineering note S21, and OWASP ASVS 5.0 1.2.1 (output encoding), from memory."""
    nasty = '"><script>alert(1)</script><img src=x onerror=y>'
    body = order("<script>a</script>", widths=[1829, 1829, 1829], room=nasty, opening_ref="<i>W1</i>")
    address = send_json(client, body, "<img src=x>.json")
    for path in (address, f"{address}/openings/0/0"):
        page = client.get(path).text
        assert "<script" not in page
        assert "<img" not in page
        assert "<i>" not in page


def test_forms_of_strangers_are_refused(app: Flask, client: FlaskClient) -> None:
    address = send_json(client, asked())
    posts = ["/", f"{address}/answers", f"{address}/columns", "/office/leave", "/office/key"]
    mark = mark_of(client.get("/"))
    for path in posts:
        assert client.post(path, data={}).status_code == 403, path
        assert client.post(path, data={"mark": "0" * 64}).status_code == 403, path
        strange = client.post(path, data={"mark": mark}, headers={"Sec-Fetch-Site": "cross-site"})
        assert strange.status_code == 403, path
        without_cookie = app.test_client().post(path, data={"mark": mark})
        assert without_cookie.status_code == 403, path
        assert without_cookie.mimetype == "text/html"


@pytest.mark.parametrize("path", ["/", "/office/key", "/office/style.css", "/office/unknown"])
def test_pages_have_a_strict_policy(client: FlaskClient, path: str) -> None:
    response = client.get(path)
    is_page = response.mimetype == "text/html"
    data_policy = "default-src 'none'; frame-ancestors 'none'; base-uri 'none'"
    assert response.headers["Content-Security-Policy"] == (POLICY if is_page else data_policy)
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Cache-Control"] in ("no-store", "no-cache")


def test_without_keys_only_the_machine_itself_is_answered(client: FlaskClient) -> None:
    for more in (
        {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}},
        {"headers": {"X-Forwarded-For": "192.0.2.7"}},
    ):
        response = client.get("/", **more)
        assert response.status_code == 403
        assert response.mimetype == "text/html"


def test_the_cookie_is_kept_from_scripts_and_other_sites(client: FlaskClient, service: Service) -> None:
    """RFC 6265bis: HttpOnly, SameSite, Secure, and the __Host- prefix."""
    here = client.get("/").headers["Set-Cookie"]
    assert all(word in here for word in ("HttpOnly", "SameSite=Strict", "Path=/"))
    there = service.client().get("/", environ_base={"REMOTE_ADDR": "192.0.2.7"}).headers["Set-Cookie"]
    assert there.startswith("__Host-sawready-office=")
    assert all(word in there for word in ("Secure", "HttpOnly", "SameSite=Strict", "Path=/"))


def sign_in(service: Service, name: str) -> FlaskClient:
    client = service.client()
    page = client.get("/office/key")
    response = client.post("/office/key", data={"mark": mark_of(page), "key": service.keys[name]})
    assert response.status_code == 303
    return client


def test_with_keys_the_page_asks_for_one(service: Service, own_folder: Path) -> None:
    client = service.client()
    for path in ("/", f"/office/{new_token()}", f"/office/{new_token()}/files/cutting.csv"):
        response = client.get(path)
        assert (response.status_code, response.headers["Location"]) == (303, "/office/key")
    page = client.get("/office/key")
    wrong = client.post(
        "/office/key", data={"mark": mark_of(page), "key": "saw_" + "0" * 12 + "_" + "0" * 64}
    )
    assert wrong.status_code == 422
    assert "The key is unknown, ended or revoked." in wrong.text
    planted = client.get_cookie("sawready-office")
    client = sign_in(service, "installer")
    assert client.get_cookie("sawready-office") != planted
    assert "Harbour Joinery" in client.get("/").text
    secret = service.keys["installer"].rpartition("_")[2].encode()
    assert all(secret not in path.read_bytes() for path in own_folder.rglob("*") if path.is_file())
    assert secret.decode() not in service.log.getvalue()


def test_without_a_session_no_address_of_the_page_gives_anything(service: Service) -> None:
    """Every address of the office stands in this test by itself; a new one cannot escape it."""
    address = send_json(sign_in(service, "installer"), asked())
    client = service.client()
    mark = mark_of(client.get("/office/key"))
    seen = 0
    for rule in service.app.url_map.iter_rules():
        if not rule.endpoint.startswith(OWN_DOOR):
            continue
        path = rule.rule.replace("/office/<string:token>", address).replace("<string:name>", "cutting.csv")
        path = re.sub(r"<int[^>]*>", "0", path)
        for method in (rule.methods or set()) & {"GET", "POST"}:
            seen += 1
            response = client.open(path, method=method, data={"mark": mark} if method == "POST" else None)
            if path in ("/office/key", "/office/style.css"):
                assert "Harbour Joinery" not in response.text
            else:
                assert (response.status_code, response.headers.get("Location")) == (303, "/office/key"), path
                assert "W1" not in response.text
    assert seen == 13


def test_an_upload_is_seen_by_its_own_firm_only(service: Service) -> None:
    """Engineering note S4: another firm's is answered as one that is not there."""
    address = send_json(sign_in(service, "installer"), asked())
    assert sign_in(service, "integrator").get(address).status_code == 200
    stranger = sign_in(service, "other_installer")
    nothing = stranger.get(f"/office/{new_token()}")
    for path in ("", "/files/cutting.csv", "/openings/0/0", "/columns"):
        response = stranger.get(address + path)
        assert response.status_code == 404
        assert response.text == nothing.text
    mark = mark_of(stranger.get("/"))
    assert stranger.post(f"{address}/answers", data={"mark": mark}).status_code == 404
    assert stranger.post(f"{address}/columns", data={"mark": mark}).status_code == 404


def test_a_session_ends_with_its_key_and_when_it_is_left(service: Service, store: Store) -> None:
    client = sign_in(service, "installer")
    assert client.get("/").status_code == 200
    key_id = service.keys["installer"].split("_")[1]
    store.write(lambda tx: keys.revoke(tx, key_id))
    assert client.get("/").status_code == 303
    client = sign_in(service, "integrator")
    cookie = client.get_cookie("sawready-office")
    assert cookie is not None
    assert client.post("/office/leave", data={"mark": mark_of(client.get("/"))}).status_code == 303
    assert client.get("/").status_code == 303
    client.set_cookie("sawready-office", cookie.value)
    assert client.get("/").status_code == 303


def test_every_process_of_a_service_finds_what_another_laid_aside(
    client: FlaskClient, catalogue: Catalogue, settings: Settings
) -> None:
    """Under gunicorn the next click may reach another worker."""
    address = send_json(client, asked())
    other = create_app(settings, catalogue, log=io.StringIO()).test_client()
    cookie = client.get_cookie("sawready-office")
    assert cookie is not None
    other.set_cookie("sawready-office", cookie.value)
    answered = answer_first(other, address)
    assert answered.status_code == 303
    assert "A. B. settled gap-too-large of W1" in client.get(answered.headers["Location"]).text


def test_what_is_laid_aside_is_bounded_and_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shelf = Shelf("", tmp_path / "shelf")
    monkeypatch.setitem(office_shelf.MOST_KEPT, "upload", 3)
    tokens = []
    for number in range(5):
        tokens.append(shelf.put("upload", b"%d" % number))
        for path in (tmp_path / "shelf").iterdir():  # each is older than the next
            os.utime(path, (path.stat().st_atime, path.stat().st_mtime - 1))
    assert [shelf.get("upload", token) for token in tokens] == [None, None, b"2", b"3", b"4"]
    session = shelf.put("session", b"s")
    monkeypatch.setattr(office_shelf, "MOST_BYTES", 10)
    last = shelf.put("upload", b"0123456789")
    assert shelf.get("upload", tokens[4]) is None
    assert shelf.get("session", session) == b"s"
    monkeypatch.setattr(office_shelf, "KEPT_S", -1.0)
    assert shelf.get("upload", last) is None
    assert shelf.get("upload", "../../etc/passwd") is None
    monkeypatch.setattr(office_shelf, "KEPT_S", 60.0)
    old = time.time() - 61
    for path in (tmp_path / "shelf").iterdir():
        os.utime(path, (old, old))
    shelf.put("upload", b"new")
    assert len(list((tmp_path / "shelf").iterdir())) == 1


def test_a_folder_that_others_may_have_made_is_not_used(client: FlaskClient, own_folder: Path) -> None:
    send_sample(client)
    (folder,) = own_folder.iterdir()
    folder.chmod(0o777)
    response = send(client, ("file", "x.json", b"{}"))
    assert response.status_code == 503
    assert response.mimetype == "text/html"


def test_a_failure_of_our_own_on_one_order_leaves_the_others(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, log: io.StringIO
) -> None:
    from sawready.web import office_upload  # noqa: PLC0415 - is changed here

    real = office_upload.check_order

    def fails_once(raw: Any, **more: Any) -> Any:
        if raw["order_ref"] == "B":
            raise RuntimeError("secret text")
        return real(raw, **more)

    monkeypatch.setattr(office_upload, "check_order", fails_once)
    lines = "".join(json.dumps(order(name)) + "\n" for name in "ABC").encode()
    page = client.get(send(client, ("file", "x.ndjson", lines)).headers["Location"])
    assert page.status_code == 200
    assert "The service failed on this order" in page.text
    assert '<td class="accepted">2</td>' in page.text
    assert "RuntimeError" in log.getvalue()
    assert "secret text" not in log.getvalue() + page.text


NASTY = [
    b"\x00",
    b"\xff\xfe\x00",
    b"[" * 50_000,
    b"{}",
    b"[]",
    b"null",
    b'"',
    b"a",
    b"\n\n",
    b"a,b\n1\n",
    b"\xef\xbb\xbf",
]


@pytest.mark.parametrize("name", ["x.csv", "x.json", "x.ndjson", "x"])
@pytest.mark.parametrize("data", NASTY)
def test_nothing_that_is_sent_makes_the_page_fail(client: FlaskClient, name: str, data: bytes) -> None:
    response = send(client, ("file", name, data))
    assert response.status_code in (303, 422)
    if response.status_code == 303:
        address = response.headers["Location"]
        assert client.get(address).status_code == 200
        token = address.removesuffix("/columns")
        for name_of_list in LISTS:
            assert client.get(f"{token}/files/{name_of_list}").status_code == 200
        assert client.get(token).status_code == 200
        assert client.get(f"{token}/openings/0/0").status_code in (200, 404)
        assert client.get(f"{token}/columns?skip_rows=x").status_code in (404, 422)


def test_an_upload_comes_back_as_it_was_laid_aside() -> None:
    upload = Upload("a.csv", "csv", b"\n\x00x", "F", {"units": "mm"}, "m", b"a: b\n", ({"order": 0},))
    assert Upload.unpacked(upload.packed()) == upload
    bare = Upload("a", "json", b"", "F")
    assert Upload.unpacked(bare.packed()) == bare


def test_the_kind_is_told_by_the_name_or_the_first_signs() -> None:
    assert kind_of_upload("a.JSONL", b"") == "ndjson"
    assert kind_of_upload("pasted", b' {"openings": []}') == "json"
    assert kind_of_upload("pasted", b"a\tb\n") == "csv"


def test_the_header_is_proposed_where_the_most_headings_are() -> None:
    assert preview(SHEET.read_bytes(), skip_rows=None).header[:2] == ("Job no.", "Window")
    assert preview(b"a,b\n1,2\n", skip_rows=None).skip_rows == 0


def test_a_failure_of_our_own_is_a_page_that_says_nothing_of_it(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, log: io.StringIO
) -> None:
    """Engineering note S22: no stack, path or message in the answer."""

    def fail(*arguments: Any, **more: Any) -> Any:
        raise RuntimeError("secret text")

    address = send_json(client, asked())
    monkeypatch.setattr("sawready.web.office_results.shown", fail)
    response = client.get(address)
    assert (response.status_code, response.mimetype) == (500, "text/html")
    assert "what was sent is not at fault" in response.text
    assert "secret text" not in response.text + log.getvalue()
    assert "RuntimeError" in log.getvalue()


def test_the_quota_of_a_key_holds_for_the_page(store: Store, catalogue: Catalogue) -> None:
    client = sign_in(Service(store, catalogue, Settings(requests_per_minute=3)), "installer")
    statuses = [client.get("/").status_code for _ in range(6)]
    assert statuses[0] == 200
    assert statuses[-1] == 429
    assert int(client.get("/").headers["Retry-After"]) >= 1


def test_there_is_no_sheet_where_nothing_could_be_read(client: FlaskClient) -> None:
    pytest.importorskip("reportlab")
    address = send(client, ("file", "x.json", b"[")).headers["Location"]
    assert client.get(f"{address}/files/fitters_sheets.pdf").status_code == 404
    assert client.get(f"{address}/files/columns.yaml").status_code == 404
    assert client.get(f"{address}/files/..%2F..%2Fetc%2Fpasswd").status_code == 404


def test_one_column_may_hold_both_sizes() -> None:
    """The map that comes of it is one that the reader takes."""
    header = ("Job", "W", "Size", "Style", "")
    chosen = {0: "order_ref", 1: "opening_ref", 2: "size HxW", 3: "layout"}
    written, faults = made_map(header, chosen, {"system": "demo70"}, 1)
    assert faults == []
    made = load_column_map(written, name="made")
    assert made.sizes is not None
    assert (made.sizes.heading, made.sizes.order, made.skip_rows) == ("Size", "HxW", 1)
    assert made.defaults == {"system": "demo70"}
    twice = ("Job", "W", "Size", "Again", "Wide", "Style")
    chosen = {**chosen, 3: "size WxH", 4: "width_top", 5: "layout"}
    _, faults = made_map(twice, chosen, {"system": "demo70"}, 0)
    assert [field for field, _ in faults] == ["column_3", "column_0"]


def test_a_field_that_is_needed_is_pointed_at_where_it_can_be_said() -> None:
    _, faults = made_map(("Job",), {0: "order_ref"}, {}, 0)
    assert "system" in [field for field, _ in faults]
