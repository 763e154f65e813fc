"""Where the point of the opening triangle is: a setting, which an option, a parameter or a choice overrides.

Whatever is drawn, the legend says which; hinges and handle are drawn as what they are all the same.
"""

import io
import re
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner

from desk_service import Service, order
from sawready.catalogue.load import Catalogue
from sawready.cli.main import main
from sawready.errors import SettingsError
from sawready.report.drawing_legend import APEX_WORDS
from sawready.report.drawing_marks import TRIANGLES
from sawready.settings import SETTINGS, Settings
from sawready.store.store import Store
from sawready.web import office_shelf
from sawready.web.app import create_app

SAMPLE = Path(__file__).parents[2] / "sample_orders" / "01_lantern_street.csv"
HINGE, HANDLE = (APEX_WORDS[each] for each in TRIANGLES)


def legend(data: bytes) -> str:
    """The convention that a sheet says it is drawn by."""
    text = " ".join(pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text().split())
    (found,) = (words for words in (HINGE, HANDLE) if words in text)
    return found


def test_the_setting_knows_the_conventions_that_are_drawn() -> None:
    setting = next(each for each in SETTINGS if each.name == "triangle")
    assert [setting.read(each) for each in TRIANGLES] == list(TRIANGLES)
    assert setting.default == TRIANGLES[0]
    with pytest.raises(SettingsError, match="apex-at-hinge or apex-at-handle is due"):
        Settings.from_environ({"SAWREADY_TRIANGLE": "apex-at-lock"})


@pytest.mark.parametrize(
    ("variable", "option", "drawn"),
    [
        (None, None, HINGE),
        ("apex-at-handle", None, HANDLE),
        ("apex-at-handle", "apex-at-hinge", HINGE),
        (None, "apex-at-handle", HANDLE),
    ],
)
def test_commands_take_the_setting_and_an_option_goes_before_it(
    tmp_path: Path, variable: str | None, option: str | None, drawn: str
) -> None:
    environ = {"SAWREADY_TRIANGLE": variable}
    more = [] if option is None else ["--triangle", option]
    CliRunner().invoke(main, ["sheet", str(SAMPLE), "--out", str(tmp_path / "s.pdf"), *more], env=environ)
    assert legend((tmp_path / "s.pdf").read_bytes()) == drawn
    CliRunner().invoke(main, ["drawing", str(SAMPLE), "--out", str(tmp_path / "d"), *more], env=environ)
    drawings = [path.read_text("utf-8") for path in sorted((tmp_path / "d").iterdir())]
    assert all(drawn in each for each in drawings if 'data-part="hinge"' in each)
    assert any(drawn in each for each in drawings)


def test_a_command_refuses_a_setting_that_is_none(tmp_path: Path) -> None:
    arguments = ["drawing", str(SAMPLE), "--out", str(tmp_path)]
    result = CliRunner().invoke(main, arguments, env={"SAWREADY_TRIANGLE": "lock"})
    assert result.exit_code == 2
    assert "apex-at-handle" in result.output


@pytest.mark.parametrize("setting", TRIANGLES)
def test_the_sheet_of_a_kept_order_takes_the_setting_and_a_parameter_goes_before_it(
    catalogue: Catalogue, tmp_path: Path, setting: str
) -> None:
    store = Store.open(f"sqlite:///{tmp_path}/desk.sqlite3")
    service = Service(store, catalogue, Settings(triangle=setting, requests_per_minute=100_000))
    service.keep(order())
    path = "/v1/orders/TQ-0007/sheet"
    assert legend(service.call("installer", "GET", path).data) == APEX_WORDS[setting]  # type: ignore[index]
    for asked in TRIANGLES:
        given = service.call("installer", "GET", f"{path}?triangle={asked}")
        assert legend(given.data) == APEX_WORDS[asked]
    refused = service.call("installer", "GET", f"{path}?triangle=lock")
    assert refused.status_code == 400
    assert refused.get_json()["errors"][0]["parameter"] == "triangle"
    store.close()


@pytest.mark.parametrize("setting", TRIANGLES)
def test_the_page_of_an_opening_takes_the_setting_and_lets_it_be_chosen(
    catalogue: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, setting: str
) -> None:
    monkeypatch.setattr(office_shelf, "temporary_folder", lambda: tmp_path)
    client = create_app(Settings(triangle=setting), catalogue, log=io.StringIO()).test_client()
    mark = re.search(r'name="mark" value="(\w+)"', client.get("/").text)
    assert mark is not None
    sent = client.post("/", data={"mark": mark[1], "pasted": SAMPLE.read_text("utf-8")})
    address = f"{sent.headers['Location']}/openings/0/0"

    def drawn(query: str = "") -> list[str]:
        svg = re.search(r"<svg.*</svg>", client.get(f"{address}{query}").text, re.DOTALL)
        assert svg is not None
        return [words for words in (HINGE, HANDLE) if words in svg[0]]

    assert drawn() == [APEX_WORDS[setting]]  # type: ignore[index]
    assert drawn("?triangle=apex-at-handle&view=inside") == [HANDLE]
    assert drawn("?triangle=apex-at-hinge") == [HINGE]
    assert drawn("?triangle=lock&view=above") == [HINGE]
    assert f'<option value="{setting}" selected>' in client.get(address).text
    sheets = client.get(f"{sent.headers['Location']}/files/fitters_sheets.pdf").data
    assert legend(sheets) == APEX_WORDS[setting]  # type: ignore[index]
