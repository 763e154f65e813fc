"""A service of its own for each test, and a client that reads every answer to its end."""

import io
import json
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.web.app import create_app


class ReadingClient(FlaskClient):
    """A client that closes each answer, so that its log line is written."""

    def open(self, *args: Any, buffered: bool = True, **kwargs: Any) -> TestResponse:
        """Sends a request and reads the whole answer."""
        return super().open(*args, buffered=buffered, **kwargs)


@pytest.fixture
def log() -> io.StringIO:
    """What the service has logged."""
    return io.StringIO()


@pytest.fixture
def settings() -> Settings:
    """Settings of the service; a test may give its own by parameters."""
    return Settings()


@pytest.fixture
def app(catalogue: Catalogue, settings: Settings, log: io.StringIO) -> Flask:
    """The service."""
    made = create_app(settings, catalogue, log=log)
    made.test_client_class = ReadingClient
    return made


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A client of the service."""
    return app.test_client()


Check = Callable[..., TestResponse]


@pytest.fixture
def check(client: FlaskClient) -> Check:
    """Sends a body to be checked: an object as JSON, text or bytes as they are."""

    def send(
        body: Any, media_type: str = "application/json", query: str = "", **headers: str
    ) -> TestResponse:
        data = body if isinstance(body, str | bytes) else json.dumps(body)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return client.post(f"/v1/checks{query}", data=data, content_type=media_type, headers=named)

    return send
