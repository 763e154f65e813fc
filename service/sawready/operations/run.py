"""Runs gunicorn with our configuration, in the place of this process: the command ``sawready-gunicorn``."""

import os
import sys
from importlib import resources
from typing import NoReturn


def main() -> NoReturn:
    """Becomes gunicorn; further arguments are handed on to it."""
    configuration = str(resources.files("sawready.operations") / "gunicorn_config.py")
    arguments = ["-m", "gunicorn", "-c", configuration, *sys.argv[1:], "sawready.web.serve:application()"]
    os.execv(sys.executable, [sys.executable, *arguments])  # noqa: S606 - our own interpreter and arguments


if __name__ == "__main__":
    main()
