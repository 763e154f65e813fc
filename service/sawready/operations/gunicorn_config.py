"""Configuration of gunicorn, which ``sawready-gunicorn`` runs with it.

The address, the store and the limits are read from the environment, as ``sawready serve`` reads them.
"""

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from sawready.settings import Settings
from sawready.web import server_log

_SETTINGS = Settings.from_environ(os.environ)
_COUNTS = "PROMETHEUS_MULTIPROC_DIR"
_OWN_PREFIX = "sawready-counts-"

_host = (
    f"[{_SETTINGS.host}]" if ":" in _SETTINGS.host and not _SETTINGS.host.startswith("[") else _SETTINGS.host
)
bind = f"{_host}:{_SETTINGS.port}"
worker_class = "gthread"
workers = int(os.environ.get("WEB_CONCURRENCY", str(os.cpu_count() or 2)))
threads = _SETTINGS.threads
timeout = 60
graceful_timeout = 30  # requests that are under way are finished, then the worker ends
keepalive = 15
max_requests = 200_000
max_requests_jitter = 20_000
limit_request_line = 8190
limit_request_fields = 60
limit_request_field_size = 16_380
forwarded_allow_ips = ""  # no header of a proxy is believed
accesslog = None  # the application logs each request itself, one JSON object a line
logconfig_dict = server_log.config()  # and so does what gunicorn says of itself


def on_starting(server: Any) -> None:
    """Refuses an address that others can reach while there are no keys; makes a new SQLite store once."""
    del server
    if _COUNTS not in os.environ:
        os.environ[_COUNTS] = tempfile.mkdtemp(prefix=_OWN_PREFIX)
    from sawready.web.serve import open_store, refuse_strangers  # noqa: PLC0415 - counts by the variable set above

    store = open_store(_SETTINGS)
    try:
        refuse_strangers(_SETTINGS.host, store)
    finally:
        if store is not None:
            store.close()


def child_exit(server: Any, worker: Any) -> None:
    """Lets the counts of a worker that has ended stand, without the worker."""
    del server
    from prometheus_client.multiprocess import mark_process_dead  # noqa: PLC0415 - reads the variable set above

    mark_process_dead(worker.pid)  # type: ignore[no-untyped-call] # of prometheus_client


def on_exit(server: Any) -> None:
    """Removes the folder of the counts, where it was made here."""
    del server
    folder = Path(os.environ.get(_COUNTS, ""))
    if folder.name.startswith(_OWN_PREFIX):
        shutil.rmtree(folder, ignore_errors=True)
