"""Settings: read once from the environment, every mistake named."""

import os
from dataclasses import fields
from pathlib import Path

import pytest

from sawready.errors import SettingsError
from sawready.settings import SETTINGS, Settings, settings_table


def test_each_setting_is_recorded_and_each_record_is_a_setting() -> None:
    assert [setting.name for setting in SETTINGS] == [field.name for field in fields(Settings)]


def test_an_empty_environment_gives_the_defaults() -> None:
    made = Settings.from_environ({"PATH": "/bin"})
    assert made == Settings()
    assert (made.host, made.port) == ("127.0.0.1", 8080)
    assert (made.most_json_bytes, made.most_upload_bytes) == (1024 * 1024, 64 * 1024 * 1024)
    assert made.trusted_hosts == ()


def test_the_environment_is_read() -> None:
    made = Settings.from_environ(
        {
            "SAWREADY_HOST": "::1",
            "SAWREADY_PORT": "0",
            "SAWREADY_THREADS": "8",
            "SAWREADY_TRUSTED_HOSTS": "saw.example, Saw2.example",
            "SAWREADY_SYSTEM_FILES": os.pathsep.join(["a.yaml", "b.yaml"]),
            "SAWREADY_LOG_REQUESTS": "no",
        }
    )
    assert (made.host, made.port, made.threads, made.log_requests) == ("::1", 0, 8, False)
    assert made.system_files == (Path("a.yaml"), Path("b.yaml"))
    assert made.host_names == {"saw.example", "saw2.example"}
    assert Settings(host="::1").host_names == {"localhost", "127.0.0.1", "[::1]"}


def test_every_mistake_is_named_at_once() -> None:
    with pytest.raises(SettingsError) as raised:
        Settings.from_environ(
            {"SAWREADY_PROT": "1", "SAWREADY_PORT": "65536", "SAWREADY_LOG_REQUESTS": "maybe"}
        )
    said = str(raised.value)
    assert "SAWREADY_PROT is no setting. The nearest is SAWREADY_PORT." in said
    assert "SAWREADY_PORT is '65536'; a whole number from 0 to 65535 is due." in said
    assert "SAWREADY_LOG_REQUESTS is 'maybe'; yes or no is due." in said


@pytest.mark.parametrize("text", ["", "x", "-1", "1.5", "٤", "99999999999999", " "])
def test_a_number_is_a_plain_whole_number(text: str) -> None:
    with pytest.raises(SettingsError, match="SAWREADY_THREADS"):
        Settings.from_environ({"SAWREADY_THREADS": text})


def test_an_empty_host_is_refused() -> None:
    with pytest.raises(SettingsError, match="a text is due"):
        Settings.from_environ({"SAWREADY_HOST": " "})


def test_options_change_some_settings() -> None:
    assert Settings().with_(port=1).port == 1


def test_the_table_has_each_setting_with_its_help() -> None:
    table = settings_table()
    for setting in SETTINGS:
        assert f"| `{setting.variable}` |" in table
        assert setting.help in table
