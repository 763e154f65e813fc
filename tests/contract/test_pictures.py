"""The README's pictures are what the program draws of the sample orders."""

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from sawready import pictures

SVG = "{http://www.w3.org/2000/svg}"


def test_they_are_up_to_date() -> None:
    assert pictures.main(["--check"]) == 0
    assert {path.name for path in pictures.FOLDER.iterdir()} == {path.name for path, _ in pictures.pictures()}


def test_a_stale_one_is_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(pictures, "ROOT", tmp_path)
    monkeypatch.setattr(pictures, "FOLDER", tmp_path / "pictures")
    assert pictures.main(["--check"]) == 1
    assert pictures.main([]) == 0
    assert pictures.main(["--check"]) == 0
    (tmp_path / "pictures" / "rejected.svg").write_text("", "utf-8")
    assert pictures.main(["--check"]) == 1
    assert "pictures/rejected.svg is stale" in capsys.readouterr().out


@pytest.mark.parametrize("picture", pictures.PICTURES, ids=lambda picture: picture.name)
def test_each_is_a_whole_drawing_that_names_its_view(picture: pictures.Picture) -> None:
    root = ET.fromstring((pictures.FOLDER / f"{picture.name}.svg").read_text("utf-8"))  # noqa: S314 - our own
    title = root.find(f"{SVG}title")
    assert title is not None
    assert f"seen from {picture.view}" in (title.text or "")
    assert title.text.startswith(picture.opening_ref)


def test_an_opening_that_is_not_there_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    gone = pictures.PICTURES[0]._replace(opening_ref="W99")
    monkeypatch.setattr(pictures, "PICTURES", (gone,))
    with pytest.raises(LookupError, match="no opening W99 of LS-1041"):
        list(pictures.pictures())
