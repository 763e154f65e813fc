"""Settings of the service: one record each, read once from the environment."""

import difflib
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from sawready.errors import SettingsError

PREFIX: Final = "SAWREADY_"
"""How the name of every environment variable of the service begins."""

OWN_NAMES: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
"""Host names of the machine itself."""

NO_STORE: Final = "none"
"""Setting of a service that keeps nothing."""

_MIB: Final = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting.

    Attributes:
        name: attribute of Settings that it fills; its variable is ``SAWREADY_`` and the name in capitals.
        default: text that stands where the environment says nothing.
        help: what it decides, in one sentence.
        read: turns its text into a value; raises ValueError with what would do.
    """

    name: str
    default: str
    help: str
    read: Callable[[str], Any]

    @property
    def variable(self) -> str:
        """Name of its environment variable.

        Example:
            >>> SETTINGS[0].variable
            'SAWREADY_HOST'
        """
        return PREFIX + self.name.upper()


def _text(text: str) -> str:
    if not text.strip() or not text.isprintable():
        raise ValueError("a text is due")
    return text.strip()


def _whole(least: int, most: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        plain = text.strip()
        if not (plain.isascii() and plain.isdigit() and len(plain) < 12 and least <= int(plain) <= most):
            raise ValueError(f"a whole number from {least} to {most} is due")
        return int(plain)

    return read


def _paths(text: str) -> tuple[Path, ...]:
    return tuple(Path(part) for part in text.split(os.pathsep) if part.strip())


def _words(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _yes_no(text: str) -> bool:
    word = text.strip().lower()
    if word not in ("yes", "no"):
        raise ValueError("yes or no is due")
    return word == "yes"


def _one_of(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        word = text.strip().lower()
        if word not in words:
            raise ValueError(f"{' or '.join(words)} is due")
        return word

    return read


SETTINGS: Final[tuple[Setting, ...]] = (
    Setting("host", "127.0.0.1", "Address that the service listens on.", _text),
    Setting("port", "8080", "Port that it listens on; 0 takes a free one.", _whole(0, 65_535)),
    Setting("threads", "4", "Requests that are worked on at the same time.", _whole(1, 256)),
    Setting(
        "most_json_bytes",
        str(_MIB),
        "Bytes that a body of application/json may have.",
        _whole(1024, 64 * _MIB),
    ),
    Setting(
        "most_upload_bytes",
        str(64 * _MIB),
        "Bytes that a sheet (text/csv) or a stream of orders (application/x-ndjson) may have.",
        _whole(1024, 1024 * _MIB),
    ),
    Setting(
        "trusted_hosts",
        "",
        "Host names, separated by commas, that requests may be addressed to; only this machine's own "
        "names (localhost, 127.0.0.1, [::1]) where it is empty.",
        _words,
    ),
    Setting(
        "store",
        "sqlite:///sawready.sqlite3",
        "Where orders are kept: sqlite:///PATH or postgresql://USER@HOST/NAME; nothing is kept where it is "
        "none.",
        _text,
    ),
    Setting(
        "requests_per_minute",
        "1200",
        "Requests that each key may make in a minute, all workers together.",
        _whole(1, 10_000_000),
    ),
    Setting(
        "bars_at_once",
        "2000",
        "Pieces whose bars are planned while the caller waits, some two seconds; more become a job.",
        _whole(0, 50_000),
    ),
    Setting(
        "jobs_at_once", "1", "Jobs that are worked on at the same time, all workers together.", _whole(1, 64)
    ),
    Setting("jobs_per_firm", "4", "Jobs that a firm may have waiting and running.", _whole(1, 1000)),
    Setting("job_hours", "24", "Hours that a job and its result are kept once it has ended.", _whole(1, 720)),
    Setting(
        "system_files",
        "",
        "Files of further profile systems, separated as in PATH.",
        _paths,
    ),
    Setting(
        "rulebook_files",
        "",
        "Files of further rulebooks, separated as in PATH.",
        _paths,
    ),
    Setting(
        "triangle",
        "apex-at-hinge",
        "Where drawings and fitter's sheets put the point of the opening triangle: apex-at-hinge or "
        "apex-at-handle; the legend says which is drawn.",
        _one_of("apex-at-hinge", "apex-at-handle"),
    ),
    Setting("log_requests", "yes", "Whether each request is logged, one JSON object a line.", _yes_no),
)
"""Every setting, in the order of the README's table."""


def _default(name: str) -> Any:
    setting = next(each for each in SETTINGS if each.name == name)
    return setting.read(setting.default)


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings as read; see SETTINGS for what each decides."""

    host: str = field(default_factory=lambda: _default("host"))
    port: int = field(default_factory=lambda: _default("port"))
    threads: int = field(default_factory=lambda: _default("threads"))
    most_json_bytes: int = field(default_factory=lambda: _default("most_json_bytes"))
    most_upload_bytes: int = field(default_factory=lambda: _default("most_upload_bytes"))
    trusted_hosts: tuple[str, ...] = field(default_factory=lambda: _default("trusted_hosts"))
    store: str = field(default_factory=lambda: _default("store"))
    requests_per_minute: int = field(default_factory=lambda: _default("requests_per_minute"))
    bars_at_once: int = field(default_factory=lambda: _default("bars_at_once"))
    jobs_at_once: int = field(default_factory=lambda: _default("jobs_at_once"))
    jobs_per_firm: int = field(default_factory=lambda: _default("jobs_per_firm"))
    job_hours: int = field(default_factory=lambda: _default("job_hours"))
    system_files: tuple[Path, ...] = field(default_factory=lambda: _default("system_files"))
    rulebook_files: tuple[Path, ...] = field(default_factory=lambda: _default("rulebook_files"))
    triangle: str = field(default_factory=lambda: _default("triangle"))
    log_requests: bool = field(default_factory=lambda: _default("log_requests"))

    @classmethod
    def from_environ(cls, environ: Mapping[str, str]) -> "Settings":
        """Settings of an environment.

        Args:
            environ: variables by name, such as ``os.environ``; others than ours are passed over.
        Raises: SettingsError naming every variable that is unknown or cannot be used, and what would do.

        Example:
            >>> Settings.from_environ({"SAWREADY_PORT": "9000"}).port
            9000
        """
        by_variable = {setting.variable: setting for setting in SETTINGS}
        values: dict[str, Any] = {}
        faults: list[str] = []
        for variable, text in sorted(environ.items()):
            if not variable.startswith(PREFIX):
                continue
            setting = by_variable.get(variable)
            if setting is None:
                near = difflib.get_close_matches(variable, by_variable, n=1)
                hint = f" The nearest is {near[0]}." if near else ""
                faults.append(f"{variable} is no setting.{hint}")
                continue
            try:
                values[setting.name] = setting.read(text)
            except ValueError as trouble:
                faults.append(f"{variable} is {text[:60]!r}; {trouble}.")
        if faults:
            raise SettingsError(" ".join(faults))
        return cls(**values)

    @property
    def host_names(self) -> frozenset[str]:
        """Names that requests may be addressed to, in small letters.

        Example:
            >>> (
            ...     "localhost" in Settings().host_names,
            ...     "localhost" in Settings(trusted_hosts=("saw",)).host_names,
            ... )
            (True, False)
        """
        if self.trusted_hosts:
            return frozenset(name.lower() for name in self.trusted_hosts)
        own = f"[{self.host}]" if ":" in self.host and not self.host.startswith("[") else self.host
        return OWN_NAMES | {own.lower()}

    def with_(self, **changes: Any) -> "Settings":
        """The same settings with some of them changed, as options of the command line do."""
        return replace(self, **changes)


def settings_table() -> str:
    """The settings as a table in Markdown, for the README."""
    rows = ["| variable | when absent | decides |", "| --- | --- | --- |"]
    rows.extend(
        f"| `{each.variable}` | {f'`{each.default}`' if each.default else 'empty'} | {each.help} |"
        for each in SETTINGS
    )
    return "\n".join(rows) + "\n"
