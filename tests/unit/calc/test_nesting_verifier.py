"""The independent verifier itself: a check that cannot fail would be none."""

from fractions import Fraction

import pytest

from nesting_verifier import CutBar, CutPiece, faults_of_bar, faults_of_list


def bar_of(*pieces: CutPiece, stock: int = 6000, offcut: Fraction | int = 0) -> CutBar:
    """A bar for the verifier."""
    return CutBar(Fraction(stock), is_old_offcut=False, pieces=pieces, offcut_mm=Fraction(offcut))


def cut(length: float, start: float, *, ends: tuple[int, int] = (90, 90), turned: bool = False) -> CutPiece:
    """A piece for the verifier."""
    return CutPiece(Fraction(str(length)), Fraction(str(start)), *ends, turned, (length,))


RIGHT = bar_of(cut(1000, 10), cut(500, 1014), offcut=5980 - 1504 - 4)


@pytest.mark.parametrize(
    ("bar", "fault"),
    [
        (bar_of(), "without pieces"),
        (bar_of(cut(1000, 10), cut(500, 1013)), "apart, not 4"),
        (bar_of(cut(1000, -1)), "before the bar"),
        (bar_of(cut(5981, 10)), "and the trim are on"),
        (bar_of(cut(1000, 5500)), "behind the bar"),
        (bar_of(cut(1000, 10), offcut=4977), "the offcut should be"),
        (bar_of(cut(1000, 10), offcut=-1), "an offcut of -1"),
        (bar_of(cut(1000, 10), offcut=4981), "an offcut of 4981"),
        (bar_of(cut(1000, 10, ends=(45, 45)), cut(500, 1015, ends=(45, 45))), "apart, not 5.6"),
        (bar_of(cut(1000, 10, ends=(45, 45)), cut(500, 1015)), "apart, not 5.6"),
        (bar_of(cut(1000, 10, ends=(45, 45)), cut(500, 940, ends=(45, 45))), "apart"),
        (bar_of(cut(1000, 10, ends=(45, 45)), cut(500, 945, ends=(45, 45), turned=True)), "apart"),
    ],
)
def test_the_verifier_sees_a_wrong_bar(bar: CutBar, fault: str) -> None:
    """Each way to be wrong is found, and a right bar passes."""
    figures = {"kerf_mm": Fraction(4), "trim_mm": Fraction(20)}
    assert any(fault in each for each in faults_of_bar(bar, **figures))
    assert faults_of_bar(RIGHT, **figures) == []
    turned = bar_of(cut(1000, 10, ends=(45, 45)), cut(500, 945.7, ends=(45, 45), turned=True))
    assert faults_of_bar(turned, **figures) == []


def test_the_verifier_counts_pieces_offcuts_and_bars() -> None:
    """Missing, doubled, from nowhere, from a bar of the wrong length."""
    figures = {"kerf_mm": Fraction(4), "trim_mm": Fraction(20)}
    wanted = [(1000,), (500,)]
    check = {"wanted": wanted, "fresh_mm": Fraction(6000), **figures}
    assert faults_of_list([RIGHT], **check) == []
    assert any("missing" in fault for fault in faults_of_list([], **check))
    assert any("too many" in fault for fault in faults_of_list([RIGHT, RIGHT], **check))
    old = CutBar(RIGHT.stock_mm, is_old_offcut=True, pieces=RIGHT.pieces, offcut_mm=RIGHT.offcut_mm)
    assert any("more than there are" in fault for fault in faults_of_list([old], **check))
    assert faults_of_list([old], **check, rack_mm=[Fraction(6000)]) == []
    assert any(
        "fresh ones are" in fault
        for fault in faults_of_list([RIGHT], **{**check, "fresh_mm": Fraction(6500)})
    )
