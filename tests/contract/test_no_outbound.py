"""S18: nothing that is asked of the service opens a connection to anywhere."""

import socket
from typing import Any

import pytest

from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.store.store import Store


def test_no_call_opens_a_connection(
    tmp_path: Any, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    service = Service(Store.open(f"sqlite:///{tmp_path}/desk.sqlite3"), catalogue)

    def refuse(*arguments: Any, **more: Any) -> Any:
        raise AssertionError(f"a connection was opened: {arguments}")

    for name in ("connect", "connect_ex", "sendto", "bind"):
        monkeypatch.setattr(socket.socket, name, refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    body = order(note="http://192.0.2.1/x", room="file:///etc/passwd")
    digest = service.keep(body).json["digest"]
    service.release("TQ-0007", digest)
    for rule in service.app.url_map.iter_rules():
        path = (
            rule.rule.replace("<path:order_ref>", "TQ-0007")
            .replace("<order:order_ref>", "TQ-0007")
            .replace("<string:name>", "demo70")
        )
        if "GET" in (rule.methods or ()):
            response = service.call("installer", "GET", path.replace("<string:reason>", "frame-too-wide"))
            assert response.status_code < 500
