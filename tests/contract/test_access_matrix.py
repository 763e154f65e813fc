"""Route x role x firm: who may make which call about whose order, every cell of it.

The expected answers are written out here from the project's contract of the HTTP calls; nothing of them
comes from the program.
"""

import io
import re

import pytest
from werkzeug.test import TestResponse

from desk_service import NAMES, Service, order
from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.store.store import Store
from sawready.web.access import ACCESS, OWN_DOOR, calls_without_access
from sawready.web.app import create_app

EVERYBODY = (*NAMES, None, "wrong")
ANY_KEY = set(NAMES)
OWN_FIRM = {"installer", "integrator", "admin"}
SERVING = {"factory", "second_factory"}
BAD_DIGEST = {"digest": f"sha256:{'0' * 64}"}
ANSWER = {"opening_ref": "W9", "reason": "gap-too-large", "by": "AB"}
FRAME = {
    "opening_ref": "W1",
    "by": "AB",
    "width": "1798 mm",
    "height": "1220 mm",
    "height_includes_sill": False,
}

CALLS: dict[tuple[str, str], tuple[object, set[str] | None, set[str] | None, int]] = {
    # method, address: body; who may make the call (None: open); of those, who sees the order; status then
    ("POST", "/v1/checks"): (order(), ANY_KEY, None, 200),
    ("POST", "/v1/questions"): (order(), ANY_KEY, None, 200),
    ("GET", "/v1/systems"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/systems/demo70"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/rulebooks"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/rulebooks/england"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/reasons"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/reasons/frame-too-wide"): (None, ANY_KEY, None, 200),
    ("POST", "/v1/orders"): ("new", {"installer", "other_installer"}, None, 201),
    ("GET", "/v1/orders"): (None, ANY_KEY, None, 200),
    ("GET", "/v1/orders/TQ"): (None, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("PUT", "/v1/orders/TQ"): (order("TQ"), {"installer", "other_installer"}, {"installer"}, 200),
    ("POST", "/v1/orders/TQ/answers"): (ANSWER, {"installer", "other_installer"}, {"installer"}, 409),
    ("POST", "/v1/orders/TQ/release"): (BAD_DIGEST, SERVING | {"strange_factory"}, SERVING, 409),
    ("GET", "/v1/orders/TQ/cutting-list"): (None, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("GET", "/v1/orders/TQ/glass-list"): (None, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("GET", "/v1/orders/TQ/bars"): (None, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("POST", "/v1/bars"): ({"orders": [{"order_ref": "TQ"}]}, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("GET", "/v1/jobs/JOB"): (None, ANY_KEY, OWN_FIRM, 200),
    ("GET", "/v1/jobs/JOB/result"): (None, ANY_KEY, OWN_FIRM, 409),
    ("GET", "/v1/orders/TQ/sheet"): (None, ANY_KEY, OWN_FIRM | SERVING, 200),
    ("POST", "/v1/orders/TQ/arrivals"): (FRAME, {"installer", "other_installer"}, {"installer"}, 200),
    ("GET", "/livez"): (None, None, None, 200),
    ("GET", "/readyz"): (None, None, None, 200),
    ("GET", "/openapi.json"): (None, None, None, 200),
    ("GET", "/docs"): (None, None, None, 200),
    ("GET", "/docs/reasons"): (None, None, None, 200),
    ("GET", "/docs/style.css"): (None, None, None, 200),
    ("GET", "/problems"): (None, None, None, 200),
    ("GET", "/problems/key-needed"): (None, None, None, 200),
    ("GET", "/metrics"): (None, {"admin"}, None, 200),  # from elsewhere; on the machine itself it is open
}
UNSEEN = [
    (name, *call)
    for call, (_, may, sees, _) in CALLS.items()
    if may is not None and sees is not None
    for name in NAMES
    if name in may and name not in sees
]
"""Who may make a call about an order, but does not see this one."""
NOT_RELEASED = {
    ("POST", "/v1/bars"),
    *(("GET", f"/v1/orders/TQ/{name}") for name in ("cutting-list", "glass-list", "bars", "sheet")),
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, catalogue: Catalogue) -> Service:
    store = Store.open(f"sqlite:///{tmp_path_factory.mktemp('matrix')}/desk.sqlite3")
    made = Service(store, catalogue)
    assert made.keep(order("TQ")).status_code == 201
    made.job = made.call("installer", "GET", "/v1/orders/TQ/bars", Prefer="respond-async").json["job_id"]
    return made


def ask(
    desk: Service, name: str | None, method: str, path: str, *, address: str = "192.0.2.7"
) -> TestResponse:
    known = (
        path if (method, path) in CALLS else path.replace("/RANDOM", "/JOB" if "/jobs/" in path else "/TQ")
    )
    body = CALLS[method, known][0]
    if body == "new":
        body = order(f"new of {name}")
    key = f"saw_{'0' * 12}_{'0' * 64}" if name == "wrong" else desk.keys.get(name or "")
    headers = {} if key is None else {"Authorization": f"Bearer {key}"}
    if method == "PUT":
        headers["If-Match"] = "*"
    path = path.replace("/JOB", f"/{desk.job}")
    return desk.client().open(
        path, method=method, json=body, headers=headers, environ_base={"REMOTE_ADDR": address}, buffered=True
    )


def test_every_route_stands_in_the_matrix(desk: Service) -> None:
    """A route without a line here, or in the program's own table, fails; test_office_page has its own."""
    seen = set()
    rules = [rule for rule in desk.app.url_map.iter_rules() if not rule.endpoint.startswith(OWN_DOOR)]
    for rule in rules:
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            seen.add((method, re.sub(r"<[^>]+>", "_", rule.rule)))
    named = re.compile(r"/(demo70|england|frame-too-wide|key-needed|TQ|JOB)(?=/|$)")
    assert seen == {(method, named.sub("/_", path)) for method, path in CALLS}
    assert calls_without_access(desk.app) == []
    assert {rule.endpoint for rule in rules} == set(ACCESS)


@pytest.mark.parametrize(("method", "path"), CALLS)
@pytest.mark.parametrize("name", EVERYBODY, ids=str)
def test_each_cell(desk: Service, name: str | None, method: str, path: str) -> None:
    _, may, sees, status = CALLS[method, path]
    response = ask(desk, name, method, path)
    if may is None:
        expected = status
    elif name in (None, "wrong"):
        expected = 401
    elif name not in may:
        expected = 403
    elif sees is not None and name not in sees:
        expected = 404
    elif (method, path) in NOT_RELEASED and name in SERVING:
        expected = 409  # a factory sees released lists only
    else:
        expected = status
    assert response.status_code == expected, response.data
    if expected == 401:
        assert response.headers["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize(("name", "method", "path"), UNSEEN)
def test_another_firms_order_is_byte_for_byte_one_that_is_not_there(
    desk: Service, name: str, method: str, path: str
) -> None:
    """S4: nothing tells the order of another firm from a name that nobody has."""
    answers = []
    for address in (path, path.replace("/TQ", "/RANDOM").replace("/JOB", "/RANDOM")):
        response = ask(desk, name, method, address)
        number = response.headers["X-Request-Id"].encode()
        headers = {key: value for key, value in response.headers if key not in ("X-Request-Id", "RateLimit")}
        answers.append((response.status_code, headers, response.data.replace(number, b"")))
    assert answers[0] == answers[1]
    assert answers[0][0] == 404


def test_the_list_of_orders_holds_those_that_are_seen(desk: Service) -> None:
    for name in NAMES:
        refs = {row["order_ref"] for row in ask(desk, name, "GET", "/v1/orders").json["orders"]}
        assert ("TQ" in refs) is (name in OWN_FIRM | SERVING)


def test_a_factory_changes_no_order(desk: Service) -> None:
    """S7."""
    before = ask(desk, "installer", "GET", "/v1/orders/TQ").json
    for method, path in CALLS:
        if path.startswith("/v1/orders/TQ") and method != "GET" and not path.endswith("/release"):
            assert ask(desk, "factory", method, path).status_code == 403
    assert ask(desk, "installer", "GET", "/v1/orders/TQ").json == before


@pytest.mark.parametrize("header", ["Forwarded", "X-Forwarded-For", "X-Real-IP"])
def test_a_proxy_on_the_machine_does_not_open_the_counts(desk: Service, header: str) -> None:
    client = desk.client()
    assert client.get("/metrics").status_code == 200
    assert client.get("/metrics", headers={header: "127.0.0.1"}).status_code == 401


def test_without_keys_only_the_machine_itself_is_answered(catalogue: Catalogue, tmp_path) -> None:
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    client = create_app(Settings(), catalogue, store, log=io.StringIO()).test_client()
    assert client.post("/v1/orders", json=order()).status_code == 201
    assert client.get("/v1/orders").json["orders"][0]["firm"] == "local"
    elsewhere = {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}}
    assert client.get("/v1/orders", **elsewhere).status_code == 403
    assert client.get("/v1/orders", headers={"X-Forwarded-For": "192.0.2.7"}).status_code == 403


def test_the_document_says_who_may_make_each_call(desk: Service) -> None:
    paths = desk.app.extensions["sawready"].document["paths"]
    for path, item in paths.items():
        for method, operation in item.items():
            if method in ("get", "post", "put"):
                is_open = path in ("/livez", "/readyz", "/openapi.json") or path.startswith(
                    ("/docs", "/problems")
                )
                assert ("security" in operation) is not is_open
                assert ("401" in operation["responses"]) is not is_open
