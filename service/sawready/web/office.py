"""The page for the office: upload, look, answer, take the lists away. Plain pages, no script.

Every address of it is a page for people, so none is in the OpenAPI document: what it does, programs do by
``POST /v1/checks``. Its own guard lets people in (``office_session``). What was sent lies aside for some hours
(``office_shelf``) and is read and checked anew for each page (``office_upload``).
"""

from importlib import resources

from flask import Response

from sawready.web import office_desk, office_intake, office_results
from sawready.web.office_frame import POLICY, blueprint
from sawready.web.parts import kept

__all__ = ["POLICY", "blueprint", "office_desk", "office_intake", "office_results"]


@blueprint.get("/office/style.css")
def give_style() -> Response:
    """How the pages look."""
    file = resources.files("sawready.web").joinpath("static", "office.css")
    return kept(Response(file.read_bytes(), mimetype="text/css"))
