"""A real PostgreSQL for tests: a cluster of its own on a socket of its own, gone when the tests end."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import psycopg

SUPERUSER = "sawready"


def programs() -> Path | None:
    """Folder of the newest PostgreSQL that is installed; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


class Cluster:
    """A cluster that is running. PostgreSQL does not run as root, so root starts it as another user."""

    def __init__(self, bin_folder: Path) -> None:
        self._bin = bin_folder
        self.folder = Path(tempfile.mkdtemp(prefix="sr-pg-"))
        self._as: dict[str, int | str] = {}
        if os.geteuid() == 0:
            user = pwd.getpwnam("postgres")
            shutil.chown(self.folder, user.pw_uid, user.pw_gid)
            self._as = {"user": user.pw_uid, "group": user.pw_gid}
        self._run(
            "initdb", "-D", f"{self.folder}/data", "-U", SUPERUSER, "-A", "trust", "-E", "UTF8",
            "--no-locale", "--no-sync",
        )  # fmt: skip
        self.start()
        self._count = 0

    def _run(self, program: str, *arguments: str) -> None:
        subprocess.run(  # noqa: S603 - the programs of the cluster itself
            [str(self._bin / program), *arguments],
            check=True,
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            **self._as,  # type: ignore[call-overload] # user and group
        )

    def start(self) -> None:
        """Starts the server and waits until it answers."""
        options = f"-k {self.folder} -h '' -c max_connections=60 -c shared_buffers=32MB"
        self._run(
            "pg_ctl", "-D", f"{self.folder}/data", "-w", "-o", options, "-l", f"{self.folder}/log", "start"
        )

    def stop(self) -> None:
        """Stops the server at once, as a machine that loses it would see."""
        self._run("pg_ctl", "-D", f"{self.folder}/data", "-m", "immediate", "-w", "stop")

    def database(self) -> str:
        """Makes an empty database. Returns: its address."""
        self._count += 1
        name = f"desk_{self._count}"
        address = f"host={self.folder} user={SUPERUSER} dbname=postgres"
        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")  # type: ignore[call-overload] # a name of our own
        return f"postgresql://{SUPERUSER}@/{name}?host={self.folder}"

    def close(self) -> None:
        """Stops the server and removes the cluster."""
        with contextlib.suppress(subprocess.CalledProcessError):  # a test may have stopped it already
            self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)
