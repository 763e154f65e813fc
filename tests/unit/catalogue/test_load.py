"""The catalogue: what comes with the program, what a firm adds, and files that cannot be read."""

import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

from sawready.catalogue.load import Catalogue, read_rulebook, read_system
from sawready.errors import CatalogueError

Change = Callable[..., str]


@pytest.fixture(scope="module")
def builtin() -> Catalogue:
    return Catalogue.load_builtin()


def test_two_systems_and_five_rulebooks_come_with_the_program(builtin: Catalogue) -> None:
    assert builtin.systems == ("demo70", "demo82-inward")
    assert builtin.rulebooks == ("england", "ireland", "northern_ireland", "scotland", "wales")
    for name in builtin.systems:
        system = builtin.system(name)
        assert system is not None
        assert system.name == name
        assert "invented" in system.source
        assert system.reference == f"{name}@{system.digest}"
    for name in builtin.rulebooks:
        rulebook = builtin.rulebook(name)
        assert rulebook is not None
        assert rulebook.reference == f"{name}@{rulebook.digest}"


def test_an_unknown_name_is_none(builtin: Catalogue) -> None:
    assert builtin.system("demo71") is None
    assert builtin.rulebook("atlantis") is None


def test_a_file_adds_to_a_copy(
    builtin: Catalogue, demo70_text: str, england_text: str, changed: Change, tmp_path: Path
) -> None:
    system_file, rulebook_file = tmp_path / "own.yaml", tmp_path / "ours.yaml"
    system_file.write_text(changed(demo70_text, ("system: demo70", "system: a-own")), encoding="utf-8")
    rulebook_file.write_text(changed(england_text, ("rulebook: england", "rulebook: Ours")), encoding="utf-8")
    more = builtin.with_system_file(system_file).with_rulebook_file(str(rulebook_file))
    assert more.systems == ("a-own", "demo70", "demo82-inward")
    assert more.rulebooks == ("Ours", *builtin.rulebooks)
    assert more.system("demo70") is builtin.system("demo70")
    assert builtin.systems == ("demo70", "demo82-inward")


def test_the_same_content_under_a_known_name_changes_nothing(
    builtin: Catalogue, demo70_text: str, england_whole_text: str, tmp_path: Path
) -> None:
    file = tmp_path / "same.yaml"
    file.write_bytes(b"\xef\xbb\xbf# our copy\r\n" + demo70_text.replace("\n", "\r\n").encode())
    assert builtin.with_system_file(file).system("demo70") is builtin.system("demo70")
    file.write_text(england_whole_text, encoding="utf-8")
    assert builtin.with_rulebook_file(file).rulebook("england") is builtin.rulebook("england")


def test_other_content_under_a_known_name_is_refused(
    builtin: Catalogue, demo70_text: str, england_text: str, changed: Change, tmp_path: Path
) -> None:
    file = tmp_path / "other.yaml"
    file.write_text(changed(demo70_text, ("face_mm: 62", "face_mm: 63")), encoding="utf-8")
    with pytest.raises(CatalogueError) as caught:
        builtin.with_system_file(file)
    assert str(caught.value) == (
        f"{file}: the name demo70 is taken by 'Demonstration 70 mm outward casement', "
        "which has other content. Give this one another name."
    )
    file.write_text(changed(england_text, ("value: [10, 15]", "value: [12, 15]")), encoding="utf-8")
    with pytest.raises(CatalogueError, match="the name england is taken by 'England, replacement windows'"):
        builtin.with_rulebook_file(file)


def test_objects_can_be_added_without_a_file(builtin: Catalogue, demo70_text: str, changed: Change) -> None:
    system = read_system(changed(demo70_text, ("system: demo70", "system: x")), name="x")
    assert builtin.with_system(system).system("x") is system
    with pytest.raises(CatalogueError, match="this system: the name demo70 is taken"):
        builtin.with_system(read_system(changed(demo70_text, ("depth_mm: 70", "depth_mm: 71")), name="x"))


def test_a_mistake_names_the_file_as_its_user_did(
    builtin: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "own.yaml").write_text("system: a b\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CatalogueError, match=r"^own\.yaml, line 1: system: 'a b' is no name"):
        builtin.with_system_file("own.yaml")


@pytest.mark.parametrize("method", ["with_system_file", "with_rulebook_file"])
def test_a_file_that_cannot_be_read_is_told_by_its_path(
    builtin: Catalogue, tmp_path: Path, method: str
) -> None:
    for path, why in (
        (tmp_path / "none.yaml", "No such file or directory"),
        (tmp_path, "Is a directory"),
        (tmp_path / "x\0y", "no usable path"),
    ):
        with pytest.raises(CatalogueError) as caught:
            getattr(builtin, method)(path)
        assert str(caught.value) == f"{path}: cannot be read ({why}). Check the path and who may read it."


def test_a_file_that_is_too_large_is_not_read_whole(builtin: Catalogue, tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    file.write_bytes(b"#" * (3 * 1024 * 1024))
    with pytest.raises(CatalogueError, match="1048577 bytes are more than 1048576"):
        builtin.with_system_file(file)


def test_a_rulebook_is_no_system(builtin: Catalogue, england_text: str) -> None:
    with pytest.raises(CatalogueError, match="rulebook: is not known here"):
        read_system(england_text, name="england.yaml")
    with pytest.raises(CatalogueError, match="is missing"):
        read_rulebook("system: x", name="x.yaml")


def test_a_catalogue_goes_to_other_processes_whole(builtin: Catalogue) -> None:
    copy = pickle.loads(pickle.dumps(builtin))  # noqa: S301 - our own bytes
    assert copy.systems == builtin.systems
    for name in builtin.systems:
        assert copy.system(name).digest == builtin.system(name).digest  # type: ignore[union-attr]
    assert copy.rulebook("england").on(None) is copy.rulebook("england")
