"""A thousand drawings and a thousand pages of sheets, beside a general library's blank pages.

Run on demand: ``pytest tests/benchmarks/test_drawings.py --benchmark-only``. The blank pages are reportlab's
own, one document of a thousand with a line of text in one of its built-in faces and no drawing: what a page
costs before anything of ours is on it. Every order is generated; every name in it is invented.
"""

import io
from typing import Any

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from reportlab.pdfgen.canvas import Canvas

from order_generator import openings
from sawready.catalogue.load import Catalogue
from sawready.pipeline import check_order
from sawready.report.as_json import result_dict
from sawready.report.drawing import DrawingStyle
from sawready.report.drawing_svg import drawing_svg
from sawready.report.labels import labels_pdf
from sawready.report.order_places import order_view
from sawready.report.sheet import sheet_pdf

COUNT = 1000


def _orders() -> list[dict[str, Any]]:
    """Orders of a thousand openings in all, none with a planted fault."""
    orders: dict[str, dict[str, Any]] = {}
    for row in openings(COUNT, seed=5, fault_share=0.0):
        raw = orders.setdefault(
            row["order_ref"],
            {
                "order_ref": row["order_ref"],
                "system": row["system"],
                "rulebook": "england",
                "units": "mm",
                "viewed_from": "outside",
                "openings": [],
            },
        )
        opening: dict[str, Any] = {
            "opening_ref": row["opening_ref"],
            "quantity": row["quantity"],
            "room": row["room"],
            "storey": row["storey"],
            "floor_to_sill": row["floor_to_sill"],
            "widths": [row["width_top"], row["width_middle"], row["width_bottom"]],
            "heights": [row["height_left"], row["height_middle"], row["height_right"]],
            "layout": row["layout"],
            "colour": {"outside": row["colour_outside"], "inside": "white"},
            "glazing": {"unit": row["glazing_unit"], "safety": row["glazing_safety"] or "none", "u_g": 0.9},
            "vent_mm2": 8000,
            "design_wind_pa": 600,
        }
        if row["sill_projection"]:
            opening["set_back"] = 40
            opening["sill"] = {
                "projection": row["sill_projection"],
                "fit": "horns_into_wall",
                "horn_left": 50,
                "horn_right": 50,
            }
        raw["openings"].append(opening)
    return list(orders.values())


@pytest.fixture(scope="module")
def checked() -> list[Any]:
    """What comes of the orders; checking them is no part of what is timed."""
    catalogue = Catalogue.load_builtin()
    return [check_order(raw, catalogue=catalogue) for raw in _orders()]


@pytest.mark.parametrize("view", ["outside", "inside"])
def test_a_thousand_drawings(benchmark: BenchmarkFixture, checked: list[Any], view: Any) -> None:
    """From results to SVG text."""

    def draw() -> int:
        style = DrawingStyle(view=view)
        return sum(
            len(drawing_svg(opening, style)) > 0
            for result in checked
            for opening in order_view(result).openings
        )

    assert benchmark.pedantic(draw, rounds=3) == COUNT


def test_a_thousand_sheet_pages(benchmark: BenchmarkFixture, checked: list[Any]) -> None:
    """From results to one PDF."""
    data = benchmark.pedantic(lambda: sheet_pdf(map(order_view, checked)), rounds=3)
    assert data.startswith(b"%PDF")


def test_a_thousand_labels(benchmark: BenchmarkFixture, checked: list[Any]) -> None:
    """Stickers of as many windows as come to a thousand or a few more."""
    results: list[dict[str, Any]] = []
    count = 0
    for result in map(result_dict, checked):
        if count >= COUNT:
            break
        count += sum(
            len(opening["pieces"]) + len(opening["beads"])
            for opening in result["openings"]
            if opening["decision"] == "accepted"
        )
        results.append(result)
    assert count >= COUNT
    assert benchmark.pedantic(lambda: labels_pdf(results), rounds=3).startswith(b"%PDF")


def test_a_thousand_blank_pages_of_the_library(benchmark: BenchmarkFixture) -> None:
    """The floor: reportlab alone, a line of text on each page."""

    def blank() -> bytes:
        stream = io.BytesIO()
        canvas = Canvas(stream, invariant=1, pageCompression=1)
        for number in range(COUNT):
            canvas.drawString(72, 720, f"page {number}")
            canvas.showPage()
        canvas.save()
        return stream.getvalue()

    assert benchmark.pedantic(blank, rounds=3).startswith(b"%PDF")
