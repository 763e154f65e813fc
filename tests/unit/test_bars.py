"""From results, sheets and profile systems to pieces, bars and the saw."""

import dataclasses
import io
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from sawready.bars import pieces_of, saw, stock_for, stock_of
from sawready.calc.nesting import BarStock, OldOffcut, Piece, plan_bars
from sawready.catalogue.load import Catalogue
from sawready.catalogue.saw import saw_figures
from sawready.errors import SettingsError, UnreadableError
from sawready.model.finding import Cell
from sawready.readers.bar_lists import read_offcuts, read_pieces

MM = 1_000_000


def row(part: str, profile: str, length_mm: object, *, ends: str = "90/90", light: int | None = None) -> Any:
    """A piece as a result publishes it."""
    return {"part": part, "profile": profile, "length_mm": length_mm, "ends": ends, "light": light}


def result(**changes: Any) -> dict[str, Any]:
    """A published result with one opening, as far as a bar plan reads it."""
    opening = {
        "opening_ref": "W1",
        "quantity": 2,
        "decision": "accepted",
        "pieces": [
            {
                "part": "frame-head",
                "profile": "frame-62",
                "length_mm": 1804.0,
                "ends": "45/45",
                "light": None,
            },
            {
                "part": "reinforcement",
                "profile": "steel-u28",
                "length_mm": 1698.0,
                "ends": "90/90",
                "light": None,
            },
        ],
        "beads": [
            {"part": "bead-top", "profile": "bead-28", "length_mm": 711.3, "ends": "90/90", "light": 0}
        ],
        **changes,
    }
    return {"order_ref": "TQ-7", "openings": [opening]}


def test_pieces_of_accepted_openings_are_taken_times_the_windows_alike() -> None:
    """Frame, steel and bead, two of each, with whose they are."""
    pieces = list(pieces_of(result(), at="/results/3"))
    assert [(piece.profile, piece.length_nm, piece.quantity, piece.ends) for piece in pieces] == [
        ("frame-62", 1804 * MM, 2, "45/45"),
        ("steel-u28", 1698 * MM, 2, "90/90"),
        ("bead-28", 711_300_000, 2, "90/90"),
    ]
    assert pieces[2].at == "/results/3/openings/0/beads/0"
    assert (pieces[0].order_ref, pieces[0].opening_ref, pieces[0].part, pieces[2].light) == (
        "TQ-7",
        "W1",
        "frame-head",
        0,
    )


@pytest.mark.parametrize("decision", ["queried", "rejected"])
def test_nothing_is_cut_for_an_opening_that_is_not_accepted(decision: str) -> None:
    """Its pieces are for pricing only."""
    assert list(pieces_of(result(decision=decision))) == []


def test_numbers_come_exactly_from_any_decoder() -> None:
    """Float, Decimal and text digits of one length are one length."""
    for length in (711.3, Decimal("711.3")):
        (piece,) = pieces_of(result(pieces=[], beads=[row("bead-top", "b", length)]))
        assert piece.length_nm == 711_300_000


@pytest.mark.parametrize(
    ("colour", "name"),
    [
        ({"outside": "anthracite", "inside": "white"}, "anthracite/white"),
        ({"outside": "white", "inside": "white"}, "white"),
        ({"outside": "white", "inside": None}, "white"),
        (None, None),
    ],
)
def test_colours_come_from_the_result_where_it_states_them(
    colour: dict[str, str] | None, name: str | None
) -> None:
    """Steel is the same for all colours."""
    frame, steel, _ = pieces_of(result(colour=colour))
    assert (frame.colour, steel.colour) == (name, None)
    assert (
        next(pieces_of(result(colour=colour), colour_of=lambda reference: f"{reference} red")).colour
        == "W1 red"
    )


def test_bars_come_from_the_profile_system(catalogue: Catalogue) -> None:
    """Every profile of a system by the name that cutting lists use."""
    system = catalogue.system("demo70")
    assert system is not None
    stock = stock_of(system)
    assert stock["frame-62"] == BarStock(6000 * MM, 62 * MM)
    assert {"sash-72", "mullion-76", "steel-u28", "bead-28", "sill-150", "extender-25"} <= set(stock)


def test_a_stated_bar_length_goes_over_the_system(catalogue: Catalogue) -> None:
    """For every profile; the face stays known."""
    system = catalogue.system("demo70")
    assert system is not None
    assert stock_for(["frame-62"], [system], bar_mm=Fraction(6500)) == {
        "frame-62": BarStock(6500 * MM, 62 * MM)
    }
    assert stock_for(["unknown"]) == {"unknown": BarStock(saw_figures()["bar_mm"].nm)}
    with pytest.raises(SettingsError, match="bar_mm 0 is outside"):
        stock_for(["frame-62"], bar_mm=Fraction(0))


def test_one_name_for_different_bars_is_no_guess(catalogue: Catalogue) -> None:
    """Two systems that call bars of different length alike are told apart by a person."""
    system = catalogue.system("demo70")
    assert system is not None
    other = dataclasses.replace(
        system, name="other", frame=dataclasses.replace(system.frame, bar_mm=Fraction(6500))
    )
    with pytest.raises(SettingsError, match="frame-62 has other bars in other"):
        stock_for(["frame-62"], [system, other])
    assert stock_for(["bead-28"], [system, other])["bead-28"].bar_nm == 6000 * MM


def test_every_saw_figure_has_a_source_and_lies_in_its_range() -> None:
    """Figures are data; each says where it comes from."""
    for figure in saw_figures().values():
        assert figure.source
        assert figure.note
        assert figure.confidence in {"high", "medium", "low"}
        assert figure.least_mm <= figure.value_mm <= figure.most_mm


def test_the_saw_is_as_stated_and_assumed_for_the_rest() -> None:
    """Kerf stated, trim and keep from the figures; scrap never above keep."""
    figures = saw_figures()
    made = saw(kerf_mm=Fraction("3.2"))
    assert (made.kerf_nm, made.trim_nm, made.keep_nm) == (
        3_200_000,
        figures["trim_mm"].nm,
        figures["keep_mm"].nm,
    )
    assert saw(keep_mm=Fraction(50)).scrap_nm == 50 * MM
    with pytest.raises(SettingsError, match="kerf_mm 51 is outside 0 to 50 mm"):
        saw(kerf_mm=Fraction(51))


def test_a_sheet_of_pieces_is_read() -> None:
    """The plainest sheet, and one with every column."""
    plain = read_pieces(io.BytesIO(b"profile,length_mm,quantity\nframe-62,1804.5,6\nframe-62,1226,\n"))
    assert plain.findings == []
    assert [(row.length_nm, row.quantity, row.ends, row.cell) for row in plain.rows] == [
        (1_804_500_000, 6, "90/90", Cell(2, "length_mm")),
        (1226 * MM, 1, "90/90", Cell(3, "length_mm")),
    ]
    full = read_pieces(
        io.BytesIO(
            b"part;opening_ref;order_ref;colour;ends;quantity;length_mm;profile\n"
            b"frame-head;W1;TQ-7;white;45/45;2;1804;frame-62\n"
        )
    )
    assert full.rows == [
        Piece(
            "frame-62", 1804 * MM, 2, "45/45", "white", "TQ-7", "W1", "frame-head", cell=Cell(2, "length_mm")
        )
    ]


@pytest.mark.parametrize(
    ("row", "reason", "column"),
    [
        ("frame,12x,1,", "value-ambiguous", "length_mm"),
        ("frame,0,1,", "value-out-of-range", "length_mm"),
        ("frame,,1,", "value-missing", "length_mm"),
        ("frame,1200,1.5,", "quantity-not-a-count", "quantity"),
        ("frame,1200,0,", "quantity-not-a-count", "quantity"),
        (",1200,1,", "value-missing", "profile"),
        ("frame,1200,1,30/60", "value-unreadable", "ends"),
        ("frame,1200", "row-unreadable", None),
    ],
)
def test_a_row_that_cannot_be_read_is_refused_alone(row: str, reason: str, column: str | None) -> None:
    """The finding names line and column; the rows around it are read."""
    sheet = f"profile,length_mm,quantity,ends\nframe,1000,1,\n{row}\nframe,1001,1,\n"
    read = read_pieces(io.BytesIO(sheet.encode()))
    assert [piece.length_nm for piece in read.rows] == [1000 * MM, 1001 * MM]
    (finding,) = read.findings
    assert (finding.reason, finding.severity, finding.cell) == (reason, "reject", Cell(3, column))
    assert finding.remedy


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("profile,lenght_mm", "'lenght_mm' is not known. Call it length_mm."),
        ("profile,length_mm,zebra", "'zebra' is not known. Take it out"),
        ("profile,quantity", "Column length_mm is missing. Add a column length_mm."),
    ],
)
def test_a_header_that_does_not_fit_is_refused(header: str, said: str) -> None:
    """By the name of the column, with what it most likely should be."""
    with pytest.raises(UnreadableError, match=re.escape(said)):
        read_pieces(io.BytesIO(f"{header}\nframe,1000\n".encode()))


def test_a_sheet_of_old_offcuts_is_read() -> None:
    """Profile, length, how many, colour."""
    read = read_offcuts(io.BytesIO(b"profile,length_mm,quantity,colour\nframe,1804,2,white\nsash,900,,\n"))
    assert read.rows == [OldOffcut("frame", 1804 * MM, 2, "white"), OldOffcut("sash", 900 * MM)]


def test_results_and_systems_lead_to_a_plan(catalogue: Catalogue) -> None:
    """The whole way, as the command line goes it."""
    pieces = list(pieces_of(result()))
    system = catalogue.system("demo70")
    assert system is not None
    stock = stock_for({piece.profile for piece in pieces}, [system])
    plan = plan_bars(pieces, stock=stock, saw=saw())
    assert {(each.profile, each.new_bars) for each in plan.profiles} == {
        ("frame-62", 1),
        ("steel-u28", 1),
        ("bead-28", 1),
    }
