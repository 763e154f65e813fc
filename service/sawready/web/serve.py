"""Starts the service. Without keys it answers on this machine only."""

import atexit
import ipaddress
import logging.config
import os
import signal
import socket
import sys
from types import FrameType
from typing import Any, Final, NoReturn, TextIO

import orjson
import waitress
from flask import Flask

from sawready.catalogue.load import Catalogue
from sawready.desk.foreman import Foreman
from sawready.errors import SettingsError
from sawready.pipeline import check_order
from sawready.readers.json_door import loads
from sawready.settings import NO_STORE, Settings
from sawready.store import keys
from sawready.store.store import Store
from sawready.web import server_log
from sawready.web.app import create_app
from sawready.web.examples import EXAMPLE_ORDER
from sawready.web.requests import make_log

MOST_HEADER_BYTES: Final = 64 * 1024
"""Bytes of all headers of one request."""


def is_own_machine(host: str) -> bool:
    """Whether only the machine itself can reach what listens on an address.

    Example:
        >>> is_own_machine("localhost"), is_own_machine("::1"), is_own_machine("0.0.0.0")
        (True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def load_catalogue(settings: Settings) -> Catalogue:
    """The systems and rulebooks that come with the program, and those of the settings.

    Raises: CatalogueError naming file and line of every mistake.
    """
    catalogue = Catalogue.load_builtin()
    for path in settings.system_files:
        catalogue = catalogue.with_system_file(path)
    for path in settings.rulebook_files:
        catalogue = catalogue.with_rulebook_file(path)
    return catalogue


def open_store(settings: Settings) -> Store | None:
    """The store of the settings; None where nothing is to be kept.

    Raises: SettingsError for one that this version cannot use as it is; StoreError where it is out of reach.
    """
    return None if settings.store == NO_STORE else Store.open(settings.store)


def refuse_strangers(host: str, store: Store | None) -> bool:
    """Refuses an address that others can reach while there are no keys.

    Args:
        host: address to listen on.
        store: where the keys are.
    Returns: whether there are keys.
    Raises: SettingsError; StoreError.
    """
    has_keys = store is not None and store.read(keys.are_there)
    if not has_keys and not is_own_machine(host):
        raise SettingsError(
            f"host is {host!r}, which others can reach, and there are no keys to tell them apart. "
            "Listen on 127.0.0.1 or ::1, or make keys first: sawready keys add."
        )
    return has_keys


def make_server(
    settings: Settings, catalogue: Catalogue, store: Store | None = None, *, log: TextIO | None = None
) -> Any:
    """A server that listens already and answers once it is run.

    Args:
        settings: where to listen, and limits.
        catalogue: profile systems and rulebooks on file.
        store: where orders are kept; None to keep nothing.
        log: where log lines go; standard error where None.
    Returns: the server of waitress, with ``run``, ``close``, ``effective_host`` and ``effective_port``.
    Raises: SettingsError for an address beyond this machine, as there are no keys, and for one that
        cannot be had.
    """
    refuse_strangers(settings.host, store)
    app = create_app(settings, catalogue, store, log=log)
    check_order(loads(orjson.dumps(EXAMPLE_ORDER)), catalogue=catalogue)  # the first order loads a good deal
    return waitress.create_server(
        app,
        sockets=[_listening(settings)],
        threads=settings.threads,
        ident=None,  # says nothing about itself
        # it would take away what tells that a proxy handed a request on, which then would pass for the machine's own
        clear_untrusted_proxy_headers=False,
        max_request_header_size=MOST_HEADER_BYTES,
        # the application refuses sooner and in our own shape; this bounds what is taken in before
        max_request_body_size=2 * settings.most_upload_bytes,
    )


def _listening(settings: Settings) -> socket.socket:
    """A socket at the address of the settings. Raises: SettingsError where it cannot be had."""
    host = "127.0.0.1" if settings.host == "localhost" else settings.host.strip("[]")
    bound = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would let two services share a port
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((host, settings.port))
    except OSError as trouble:
        bound.close()
        raise SettingsError(
            f"{settings.host}:{settings.port} cannot be listened on "
            f"({trouble.strerror or 'no such address'}). Choose another port or address."
        ) from None
    return bound


def start_foreman(settings: Settings, store: Store) -> Foreman:
    """Begins to work off jobs; what becomes of each is logged."""
    logger = make_log(None)

    def tell(*, event: str, **facts: Any) -> None:
        logger.info(event, **facts)

    foreman = Foreman(store, settings, tell=tell)
    foreman.start()
    return foreman


def serve(settings: Settings, catalogue: Catalogue | None = None, *, out: TextIO | None = None) -> None:
    """Serves until it is told to stop (Ctrl-C or SIGTERM), then ends what it is at.

    Args:
        settings: where to listen, limits, further systems and rulebooks.
        catalogue: what is on file; loaded by the settings where None.
        out: where to say the address; standard error where None.
    Raises: SettingsError, CatalogueError where it cannot start.
    """
    store = open_store(settings)
    has_keys = refuse_strangers(settings.host, store)
    server = make_server(settings, load_catalogue(settings) if catalogue is None else catalogue, store)
    host = f"[{server.effective_host}]" if ":" in server.effective_host else server.effective_host
    address = f"http://{host}:{server.effective_port}"
    whom = "" if has_keys else ", to this machine only, as there are no keys"
    print(
        f"sawready answers on {address}{whom}. Documentation: {address}/docs",
        file=out or sys.stderr,
        flush=True,
    )
    logging.config.dictConfig(server_log.config())
    before = signal.signal(signal.SIGTERM, _stop)
    foreman = None if store is None else start_foreman(settings, store)
    try:
        server.run()
    except SystemExit:
        pass
    finally:
        signal.signal(signal.SIGTERM, before)
        server.close()
        if foreman is not None:
            foreman.stop()
        if store is not None:
            store.close()


def application() -> Flask:
    """The application for a server of its own, such as gunicorn, by the environment.

    Raises: SettingsError, CatalogueError, StoreError where it cannot start.
    """
    settings = Settings.from_environ(os.environ)
    catalogue = load_catalogue(settings)
    store = open_store(settings)
    app = create_app(settings, catalogue, store)
    check_order(loads(orjson.dumps(EXAMPLE_ORDER)), catalogue=catalogue)  # the first order loads a good deal
    if store is not None:
        atexit.register(start_foreman(settings, store).stop)
    return app


def _stop(number: int, frame: FrameType | None) -> NoReturn:
    del number, frame
    raise SystemExit(0)
