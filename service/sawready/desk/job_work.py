"""The process that does one job: it reads what to do, does it, and writes what came of it.

``python -m sawready.desk.job_work`` is started by a foreman and ends with it: once its input ends, nobody
waits for what it does. It reads the store and never writes to it.
"""

import os
import signal
import sys
import threading
import traceback
from pathlib import Path, PurePath
from typing import Any, BinaryIO, Final

import orjson

from sawready.catalogue.load import Catalogue
from sawready.desk.bar_plans import WantedPlan, plan_document
from sawready.desk.caller import Caller
from sawready.desk.keeping import Desk
from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.store.orders import Sight
from sawready.store.store import Store

_NICE: Final = 5
"""Requests go before jobs."""

_FRAMES: Final = 12

LEFT_ALONE: Final = 3
"""Exit status where the foreman is gone."""


def caller_dict(caller: Caller) -> dict[str, Any]:
    """Who asks, in a form that can be kept."""
    firms = caller.sight.firms
    return {
        "key_id": caller.key_id,
        "firm": caller.firm,
        "roles": sorted(caller.roles),
        "sight": None if firms is None else sorted(firms),
    }


def caller_from(kept: dict[str, Any]) -> Caller:
    """Who asked, from ``caller_dict``."""
    sight = kept["sight"]
    return Caller(
        kept["key_id"],
        kept["firm"],
        frozenset(kept["roles"]),
        Sight(None if sight is None else frozenset(sight)),
    )


def problem_dict(refused: RefusedError) -> dict[str, Any]:
    """A refusal in a form that can be kept."""
    whys = [{name: getattr(why, name) for name in why.__slots__} for why in refused.whys]
    return {"name": refused.name, "detail": refused.detail, "whys": whys}


def catalogue_of(system_files: list[str], rulebook_files: list[str]) -> Catalogue:
    """The systems and rulebooks of the service that asks."""
    catalogue = Catalogue.load_builtin()
    for path in system_files:
        catalogue = catalogue.with_system_file(Path(path))
    for path in rulebook_files:
        catalogue = catalogue.with_rulebook_file(Path(path))
    return catalogue


def done(task: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    """What comes of a task: what to say of it, and the result.

    Returns: a head with ``bars`` and the ``size`` of the result; with ``problem`` where it is refused; with
        ``again`` where the store was out of reach; with ``trouble`` where the program failed.
    """
    try:
        return _done(task)
    except StoreError as trouble:
        return {"again": str(trouble)}, b""
    except Exception as trouble:  # noqa: BLE001 - told to the foreman, who logs it and gives the job up
        return {"trouble": _told(trouble)}, b""


def _told(error: Exception) -> dict[str, Any]:
    """An exception for the log: its kind and where it came from, not its message, which may quote."""
    frames = traceback.extract_tb(error.__traceback__)[-_FRAMES:]
    at = [f"{PurePath(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames]
    return {"kind": type(error).__name__, "at": at}


def _done(task: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    from sawready.calc.nesting.planner import WORK  # noqa: PLC0415 - its extra may be absent

    store = Store.open(task["store"], may_make=False)
    try:
        desk = Desk(store, catalogue_of(task["system_files"], task["rulebook_files"]))
        request = orjson.loads(task["request"])
        try:
            document = plan_document(
                desk, caller_from(request["caller"]), WantedPlan.from_dict(request["plan"]), work=WORK
            )
        except RefusedError as refused:
            return {"problem": problem_dict(refused)}, b""
        body = orjson.dumps(document)
        return {"bars": sum(each["bars"] for each in document["summary"]), "size": len(body)}, body
    finally:
        store.close()


def _end_with(stream: BinaryIO) -> None:
    """Ends the process where whoever started it is gone."""
    stream.read()
    os._exit(LEFT_ALONE)


def main() -> int:
    """Does the one task of its input. Returns: exit status."""
    for number in (signal.SIGINT, signal.SIGTERM):  # the foreman is told too, and ends this process itself
        signal.signal(number, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(_NICE)
    task = orjson.loads(sys.stdin.buffer.readline())
    threading.Thread(target=_end_with, args=(sys.stdin.buffer,), daemon=True).start()
    head, body = done(task)
    sys.stdout.buffer.write(orjson.dumps(head) + b"\n" + body)
    sys.stdout.buffer.flush()
    os._exit(0)  # the thread that waits for the end of the input would hold up an orderly end


if __name__ == "__main__":
    sys.exit(main())
