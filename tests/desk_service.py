"""A service with a store and keys, for tests of the order desk."""

import copy
import io
import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from sawready.catalogue.load import Catalogue
from sawready.settings import Settings
from sawready.store import keys
from sawready.store.store import Store
from sawready.web.app import create_app
from sawready.web.examples import EXAMPLE_ORDER

if TYPE_CHECKING:
    from flask import Flask

NAMES = {
    "installer": ("installer", "Harbour Joinery", ()),
    "other_installer": ("installer", "Mill Glazing", ()),
    "integrator": ("integrator", "Harbour Joinery", ()),
    "admin": ("admin", "Harbour Joinery", ()),
    "factory": ("factory", "Quay Frames", ("Harbour Joinery",)),
    "second_factory": ("factory", "Lantern Frames", ("Harbour Joinery", "Mill Glazing")),
    "strange_factory": ("factory", "Far Frames", ("Somebody Else",)),
}
"""Invented firms, by the name that tests use for their key."""


def order(ref: str = "TQ-0007", **opening: Any) -> dict[str, Any]:
    """The example order under a name, its one opening changed."""
    made = copy.deepcopy(EXAMPLE_ORDER)
    made["order_ref"] = ref
    made["openings"][0].update(opening)
    return made


def queried(ref: str = "TQ-0007", **opening: Any) -> dict[str, Any]:
    """An order whose readings disagree, which a person has to look at."""
    made = order(ref, widths=[1836, 1808, 1812], **opening)
    del made["openings"][0]["diagonals"]
    return made


def rejected(ref: str = "TQ-0007") -> dict[str, Any]:
    """An order whose frame is too wide."""
    return order(ref, frame={"width": 1806, "height": 1220, "height_includes_sill": False})


@dataclass
class Service:
    """One service, and a key for each name."""

    store: Store
    catalogue: Catalogue
    settings: Settings = field(default_factory=lambda: Settings(requests_per_minute=1_000_000))
    job: str = ""

    def __post_init__(self) -> None:
        self.log = io.StringIO()
        self.keys = {
            name: self.store.write(
                lambda tx, role=role, firm=firm, serves=serves: keys.add(
                    tx, role=role, firm=firm, serves=serves
                )
            )[1]
            for name, (role, firm, serves) in NAMES.items()
        }
        self.app: Flask = create_app(self.settings, self.catalogue, self.store, log=self.log)

    def client(self) -> FlaskClient:
        """A further client."""
        return self.app.test_client()

    def call(
        self, name: str | None, method: str, path: str, body: Any = None, **headers: str
    ) -> TestResponse:
        """A call with the key of that name, or without any."""
        named = {header.replace("_", "-"): value for header, value in headers.items()}
        if name is not None:
            named["Authorization"] = f"Bearer {self.keys[name]}"
        data, media_type = body, named.pop("Content-Type", None)
        if body is not None and not isinstance(body, bytes):
            data, media_type = json.dumps(body), "application/json"
        return self.client().open(
            path, method=method, data=data, content_type=media_type, headers=named, buffered=True
        )

    def keep(self, body: Any, name: str = "installer") -> TestResponse:
        """Keeps an order."""
        return self.call(name, "POST", "/v1/orders", body)

    def tag(self, ref: str, name: str = "installer") -> str:
        """Entity tag of an order as it stands."""
        return self.call(name, "GET", f"/v1/orders/{ref}").headers["ETag"]

    def revise(self, ref: str, body: Any, name: str = "installer", **headers: str) -> TestResponse:
        """Revises an order as it stands."""
        return self.call(name, "PUT", f"/v1/orders/{ref}", body, If_Match=self.tag(ref), **headers)

    def release(self, ref: str, digest: str, name: str = "factory", **headers: str) -> TestResponse:
        """Asks for a release."""
        return self.call(name, "POST", f"/v1/orders/{ref}/release", {"digest": digest}, **headers)
