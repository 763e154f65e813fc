"""Profile system files: the figures arrive exactly, and every kind of mistake is named by its line."""

from collections.abc import Callable
from fractions import Fraction

import pytest

from sawready.catalogue.faults import CatalogueFileError
from sawready.catalogue.load import read_system
from sawready.catalogue.profiles import OPENER_KINDS

Change = Callable[..., str]
Mistakes = Callable[..., list[str]]


def test_demo70_has_the_figures_of_its_file(demo70_text: str) -> None:
    system = read_system(demo70_text, name="demo70.yaml")
    assert (system.name, system.material, system.opens) == ("demo70", "pvcu", "outward")
    assert system.source == "invented for demonstration"
    assert system.frame_width_mm == (300, 3000)
    assert system.frame_height_mm == (300, 2400)
    assert system.thermal is not None
    assert (system.thermal.u_f_w_m2k, system.thermal.psi_g_w_mk) == (1.4, 0.06)
    frame, sash, mullion = system.frame, system.sash, system.mullion
    assert sash is not None
    assert mullion is not None
    assert (frame.face_mm, frame.rebate_mm, frame.weld_allowance_mm) == (62, 20, 3)
    assert (frame.overlap_mm, frame.end_allowance_mm, frame.ends, frame.flip) == (0, 0, "45/45", False)
    assert (frame.mass_kg_m, frame.i_mm4) == (1.2, 210000.0)
    assert (sash.overlap_mm, sash.weld_allowance_mm, sash.i_mm4, sash.ends) == (8, 3, None, "45/45")
    assert (mullion.end_allowance_mm, mullion.weld_allowance_mm, mullion.ends) == (18, 0, "90/90")
    assert frame.reinforcement is not None
    assert frame.reinforcement.from_mm == {"white": 1500, "coloured": 900}
    assert frame.reinforcement.set_back_mm == 50
    assert system.extender is not None
    assert system.extender.widths_mm == (15, 25, 50)
    assert [bead.unit_mm for bead in system.beads] == [24, 25, 28, 36]
    assert [bead.joint for bead in system.beads] == ["square", "square", "square", "mitred"]
    assert system.beads[3].allowance_mm == Fraction(1, 2)
    assert [sill.projection_mm for sill in system.sills] == [85, 150, 180, 225]
    assert tuple(system.openers) == OPENER_KINDS
    assert system.openers["top-hung"].width_mm == (300, 1300)
    assert system.openers["top-hung"].most_kg == 40.0
    assert system.openers["top-hung"].clear_opening is None


def test_the_second_system_differs_wherever_systems_do(demo70_text: str, demo82_text: str) -> None:
    first = read_system(demo70_text, name="demo70.yaml")
    second = read_system(demo82_text, name="demo82-inward.yaml")
    assert second.opens == "inward"
    assert {bead.joint for bead in second.beads} == {"mitred"}
    assert all(bead.allowance_mm > 0 for bead in second.beads)
    assert [bead.unit_mm for bead in second.beads] == [28, 32, 36, 44]
    assert "top-hung" not in second.openers
    assert second.openers["tilt-turn"].clear_opening is not None
    assert second.mullion is not None
    assert second.transom is not None
    assert second.mullion.name != second.transom.name
    assert second.frame.weld_allowance_mm == Fraction(5, 2)
    assert second.sills[0].upstand_mm == 35
    for part in ("frame", "sash", "mullion", "transom"):
        one, other = getattr(first, part), getattr(second, part)
        assert one.face_mm != other.face_mm
        assert one.rebate_mm != other.rebate_mm
    assert first.glass_clearance_mm != second.glass_clearance_mm


SMALLEST = """
system: bare
title: A frame and nothing else
source: made up for the tests
depth_mm: 60
glass_clearance_mm: 5
hardware_kg_per_sash: 0
frame_size: {width_mm: [300, 2000], height_mm: [300, 2000]}
daylight_least_mm: 100
thermal: ~
profiles:
  frame: {name: f, face_mm: 60, rebate_mm: 20, weld_allowance_mm: 3, bar_mm: 6000, mass_kg_m: 1, flip: yes}
  sash: null
beads:
  - {unit_mm: 28, name: b28, height_mm: 20, joint: mitred, allowance_mm: 0, bar_mm: 6000, mass_kg_m: 0.2}
  - {unit_mm: 24, name: b24, height_mm: 20, joint: square, allowance_mm: -0.5, bar_mm: 6000, mass_kg_m: 0.2}
"""


def test_what_a_system_need_not_have_is_absent() -> None:
    system = read_system(SMALLEST, name="bare.yaml")
    assert system.frame.flip
    assert system.frame.reinforcement is None
    for part in (system.sash, system.mullion, system.transom, system.extender, system.thermal):
        assert part is None
    assert system.sills == ()
    assert system.openers == {}


def test_beads_come_thinnest_first() -> None:
    assert [bead.name for bead in read_system(SMALLEST, name="bare.yaml").beads] == ["b24", "b28"]


def test_the_digest_knows_content_from_layout(demo70_text: str, changed: Change) -> None:
    digest = read_system(demo70_text, name="a.yaml").digest
    same = [
        demo70_text.replace("\n", "\r\n"),
        "# another remark\n" + demo70_text,
        changed(demo70_text, ("depth_mm: 70\n", ""), ("system: demo70", "depth_mm: 70\nsystem: demo70")),
        changed(
            demo70_text, ("{u_f_w_m2k: 1.4, psi_g_w_mk: 0.06}", "\n  psi_g_w_mk: '0.06'\n  u_f_w_m2k: 1.4")
        ),
    ]
    for text in same:
        assert read_system(text, name="b.yaml").digest == digest
    other = read_system(changed(demo70_text, ("face_mm: 62", "face_mm: 62.5")), name="a.yaml")
    assert other.digest != digest
    assert other.reference == f"demo70@{other.digest}"
    assert len(digest) == len("sha256:") + 64


MISTAKES = [
    # a change to demo70 and what is told about it, without file and line
    (("title: Demonstration 70 mm outward casement\n", ""), "title: is missing. Add it: title for people."),
    (("    face_mm: 62\n", ""), "profiles.frame.face_mm: is missing. Add it: outer edge to sight line;"),
    (("white: 1500, ", ""), "profiles.frame.reinforcement.from_mm.white: is missing."),
    (("face_mm: 62", "face: 62"), "profiles.frame.face: is not known here. Did you mean face_mm?"),
    (("depth_mm: 70", "depth_mm: 70\nzzz: 1"), "zzz: is not known here. Take it out; known here: beads, "),
    (("bottom-hung:", "botom-hung:"), "openers.botom-hung: is not known here. Did you mean bottom-hung?"),
    (("name: sill-85, ", "nam: sill-85, "), "sills row 1, nam: is not known here. Did you mean name?"),
    (("face_mm: 62", "face_mm: 62 mm"), "profiles.frame.face_mm: '62 mm' is no number."),
    (("face_mm: 62", "face_mm: 6_2"), "profiles.frame.face_mm: '6_2' is no number."),
    (("face_mm: 62", "face_mm: 062"), "profiles.frame.face_mm: '062' is no number."),
    (("face_mm: 62", "face_mm: 62,5"), "profiles.frame.face_mm: '62,5' is no number."),
    (("face_mm: 62", "face_mm: [62]"), "profiles.frame.face_mm: a list is no number."),
    (("most_kg: 100", "most_kg: .inf"), "openers.tilt-turn.most_kg: '.inf' is no number."),
    (("face_mm: 62", "face_mm: 6200"), "profiles.frame.face_mm: 6200 mm is not plausible; 20 to 250 mm is"),
    (("face_mm: 62", "face_mm: -62"), "profiles.frame.face_mm: -62 mm is not plausible"),
    (("mass_kg_m: 0.24", "mass_kg_m: 24"), "beads row 1, mass_kg_m: 24 kg/m is not plausible; 0.01 to 5 kg/m is"),
    (("projection_mm: 225", "projection_mm: 2250"), "sills row 4, projection_mm: 2250 mm is not plausible"),
    (("white: 1500", "white: -1"), "profiles.frame.reinforcement.from_mm.white: -1 mm is not plausible"),
    (("width_mm: [300, 850]", "width_mm: [300, 8500]"), "openers.side-hung.width_mm: 8500 mm is not plausible"),
    (("width_mm: [300, 3000]", "width_mm: [3000, 300]"), "frame_size.width_mm: the least, 3000, must be below"),
    (("width_mm: [300, 850]", "width_mm: [850, 850]"), "openers.side-hung.width_mm: the least, 850, must be"),
    (("width_mm: [300, 850]", "width_mm: 850"), "openers.side-hung.width_mm: must be two numbers."),
    (("[15, 25, 50]", "[15, 50, 25]"), "profiles.extender.widths_mm: 25 stands after 50."),
    (("[15, 25, 50]", "[]"), "profiles.extender.widths_mm: a list is no list of numbers."),
    (("joint: mitred", "joint: mitered"), "beads row 4, joint: 'mitered' is not known. Did you mean mitred?"),
    (("ends: 90/90", "ends: 90/80"), "profiles.mullion.ends: '90/80' is not known."),
    (("system: demo70", "system: demo 70"), "system: 'demo 70' is no name."),
    (("system: demo70", "system: demo70\nmaterial: pvc"), "material: 'pvc' is not known. Did you mean pvcu?"),
    (("system: demo70", "system: demo70\nopens: in"), "opens: 'in' is not known."),
    (("    face_mm: 62\n", "    face_mm: 62\n    flip: maybe\n"), "profiles.frame.flip: 'maybe' is neither yes nor"),
    (("thermal: {u_f_w_m2k: 1.4, psi_g_w_mk: 0.06}", "thermal: 1.4"), "thermal: must be a mapping of keys"),
    (("  - {unit_mm: 24, ", "  - 24\n  - {unit_mm: 23, "), "beads row 1: must be a mapping of keys and values."),
    (("unit_mm: 25", "unit_mm: 24"), "beads row 2, unit_mm: 24 mm is also in row 1. Keep one row."),
    (("unit_mm: 25", "unit_mm: 24.0"), "beads row 2, unit_mm: 24 mm is also in row 1. Keep one row."),
    (("projection_mm: 180", "projection_mm: 150"), "sills row 3, projection_mm: 150 mm is also in row 2."),
    (("name: sill-180", "name: sill-150"), "sills row 3, name: sill-150 is also in row 2."),
    (("face_mm: 62", "face_mm: 20"), "profiles.frame.rebate_mm: a rebate of 20 mm does not fit into a face of 20"),
    (("rebate_mm: 20\n    end", "rebate_mm: 38\n    end"), "profiles.mullion.rebate_mm: two rebates of 38 mm do"),
    (("glass_clearance_mm: 5", "glass_clearance_mm: 20"), "profiles.frame.rebate_mm: a rebate of 20 mm holds no"),
    (("overlap_mm: 8", "overlap_mm: 38"), "profiles.sash.overlap_mm: two sashes that each lap 38 mm meet"),
    (("end_allowance_mm: 18", "end_allowance_mm: 62"), "profiles.mullion.end_allowance_mm: 62 mm runs through"),
    (("set_back_mm: 20", "set_back_mm: 68"), "profiles.mullion.reinforcement.set_back_mm: twice 68 mm leaves no"),
    (("bar_mm: 6000, mass_kg_m: 1.10, i_mm4: 14000}\n  s", "bar_mm: 6500, mass_kg_m: 1.10, i_mm4: 14000}\n  s"),
     "profiles.sash.reinforcement.bar_mm: 6000 for steel-u28, which has 6500 elsewhere in this file."),
]  # fmt: skip


@pytest.mark.parametrize(("change", "says"), MISTAKES)
def test_a_mistake_is_named_by_file_line_and_key(
    demo70_text: str, changed: Change, mistakes: Mistakes, change: tuple[str, str], says: str
) -> None:
    text = changed(demo70_text, change)
    told = mistakes(read_system, text, name="own.yaml")
    assert any(f": {says}" in line for line in told), told
    assert all(line.startswith("own.yaml, line ") for line in told)


@pytest.mark.parametrize(
    ("change", "line_of"),
    [
        (("face_mm: 62", "face_mm: 6200"), "face_mm: 6200"),
        (("rebate_mm: 20", "rebate: 20"), "rebate: 20"),
        (("joint: mitred", "joint: x"), "joint: x"),
        (("projection_mm: 225", "projection_mm: x"), "projection_mm: x"),
        (("most_kg: 30", "most_kg: x"), "most_kg: x"),
        (("unit_mm: 25", "unit_mm: 24"), "name: bead-25"),
        (("    face_mm: 62\n", ""), "  frame:"),
    ],
)
def test_the_line_is_the_one_a_person_finds_it_on(
    demo70_text: str, changed: Change, mistakes: Mistakes, change: tuple[str, str], line_of: str
) -> None:
    text = changed(demo70_text, change)
    line = next(number for number, shown in enumerate(text.split("\n"), 1) if line_of in shown)
    (told,) = mistakes(read_system, text, name="own.yaml")
    assert told.startswith(f"own.yaml, line {line}: ")


def test_all_mistakes_are_told_in_one_pass(demo70_text: str, changed: Change, mistakes: Mistakes) -> None:
    text = changed(
        demo70_text,
        ("face_mm: 62", "face_mm: x"),
        ("overlap_mm: 8", "overlap_mm: 80"),
        ("unit_mm: 25", "unit_mm: 24"),
        ("mass_kg_m: 2.30", "mass_kg_m: 230"),
        ("side-hung:", "side_hung:"),
    )
    told = mistakes(read_system, text, name="own.yaml")
    for word in (
        "'x' is no number",
        "80 mm is not plausible",
        "also in row 1",
        "230 kg/m",
        "Did you mean side-hung",
    ):
        assert sum(word in line for line in told) == 1, (word, told)


def test_a_misspelt_key_is_one_mistake_not_two(demo70_text: str, changed: Change, mistakes: Mistakes) -> None:
    told = mistakes(read_system, changed(demo70_text, ("depth_mm", "dept_mm")), name="own.yaml")
    assert told == ["own.yaml, line 8: dept_mm: is not known here. Did you mean depth_mm?"]


def test_openers_need_a_sash(demo70_text: str, mistakes: Mistakes) -> None:
    start, end = demo70_text.index("  sash:\n"), demo70_text.index("  mullion:\n")
    told = mistakes(read_system, demo70_text[:start] + demo70_text[end:], name="own.yaml")
    (only,) = told
    assert "openers: kinds of opening light are given but no sash profile." in only


def test_a_sash_may_not_lap_the_whole_frame(demo70_text: str, changed: Change, mistakes: Mistakes) -> None:
    text = changed(demo70_text, ("face_mm: 62", "face_mm: 39"), ("overlap_mm: 8", "overlap_mm: 39"))
    assert any(
        "laps past the whole frame face of 39 mm" in line for line in mistakes(read_system, text, name="f")
    )


def test_steel_needs_some_length_in_the_shortest_frame(
    demo70_text: str, changed: Change, mistakes: Mistakes
) -> None:
    """At 150 each end of a 300 frame nothing is left; just below, something is."""
    for set_back, wrong in (("150", True), ("149.9", False)):
        text = changed(
            demo70_text,
            ("set_back_mm: 50, from_mm: {white: 1500", f"set_back_mm: {set_back}, from_mm: {{white: 0"),
        )
        assert bool(mistakes(read_system, text, name="f")) is wrong


@pytest.mark.parametrize("text", ["- a\n- b", "just text", "[]", "'x'"])
def test_a_file_that_is_no_mapping_is_refused(text: str, mistakes: Mistakes) -> None:
    (told,) = mistakes(read_system, text, name="own.yaml")
    assert told.startswith("own.yaml, line 1: ")
    assert "is no settings file" in told


def test_beads_must_be_rows_and_at_least_one(demo70_text: str, mistakes: Mistakes) -> None:
    start, end = demo70_text.index("beads:\n"), demo70_text.index("sills:\n")
    for rows, says in (("beads: 3\n", "must be a list of rows"), ("beads: []\n", "has no row")):
        (told,) = mistakes(read_system, demo70_text[:start] + rows + demo70_text[end:], name="f")
        assert says in told


def test_the_error_gives_its_faults_as_data(demo70_text: str, changed: Change) -> None:
    with pytest.raises(CatalogueFileError) as caught:
        read_system(changed(demo70_text, ("face_mm: 62", "face_mm: x")), name="own.yaml")
    (fault,) = caught.value.faults
    assert fault.path == ("profiles", "frame", "face_mm")
    assert fault.name == "own.yaml"
