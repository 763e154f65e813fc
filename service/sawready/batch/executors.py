"""Where chunks are checked: here, in processes of this machine, or on a cluster; results come in order.

Everything goes through the interface of ``concurrent.futures``.
"""

import contextlib
import importlib
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager
from multiprocessing.connection import wait
from typing import Final, TypeVar

from sawready.batch.chunks import Chunk
from sawready.batch.settings import RunSettings
from sawready.batch.work import Checked, Wanted, check_chunk
from sawready.errors import ServiceError, SettingsError

MOST_DEATHS: Final = 3
"""Times that workers may die without a chunk done in between, before the run is given up."""

CONNECT_SECONDS: Final = 20

_T = TypeVar("_T")


class WorkersLostError(ServiceError):
    """Workers died, or the cluster went away, and the work could not be done elsewhere."""


class HereExecutor(Executor):
    """Does the work at once, in this process."""

    def submit(self, fn: Callable[..., _T], /, *args: object, **kwargs: object) -> "Future[_T]":
        """Calls the function. Returns: a future that is done."""
        future: Future[_T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - a future carries any exception to whoever asks for its result
            future.set_exception(error)
        return future


class Workers:
    """An executor that is made when it is first needed, and made anew when its processes die.

    Args:
        make: makes an executor; gives it together with how many tasks it does at a time.
    """

    def __init__(self, make: Callable[[], AbstractContextManager[tuple[Executor, int]]]) -> None:
        self._make = make
        self._stack = contextlib.ExitStack()
        self._executor: Executor | None = None
        self.width = 1

    def __enter__(self) -> "Workers":
        return self

    def __exit__(self, *details: object) -> None:
        self.close()

    def begin(self) -> None:
        """Makes the executor, where there is none."""
        if self._executor is None:
            self._executor, self.width = self._stack.enter_context(self._make())

    def submit(self, settings: RunSettings, chunk: Chunk, wanted: Wanted) -> "Future[Checked]":
        """Has a chunk checked."""
        self.begin()
        assert self._executor is not None  # noqa: S101 - it has begun
        return self._executor.submit(check_chunk, settings, chunk, wanted)

    def close(self) -> None:
        """Lets the executor go; the next task gets a new one."""
        self._executor = None
        self._stack.close()


def workers(*, jobs: int = 1, scheduler: str | None = None) -> Workers:
    """Workers as the options ask for them.

    Args:
        jobs: processes on this machine; with one, the work is done here.
        scheduler: address of a Dask scheduler; its workers do the work.
    """
    if scheduler is not None:
        return Workers(lambda: _cluster(scheduler))
    return Workers(lambda: _processes(jobs)) if jobs > 1 else Workers(_here)


def checked_in_order(
    chunks: Iterable[Chunk], settings: RunSettings, wanted: Wanted, force: Workers
) -> Iterator[tuple[Chunk, Checked]]:
    """Checks chunks, several at a time, and gives what came of each in their order.

    No more chunks are held than keep the workers busy.

    Args:
        chunks: the work.
        settings: what orders are checked with.
        wanted: what is needed of each.
        force: who does it.
    Raises: WorkersLostError where workers die again and again, or the cluster is gone.
    """
    waiting: deque[tuple[Chunk, Future[Checked] | None]] = deque()
    supply = iter(chunks)
    deaths = done_before = 0
    force.begin()
    while True:
        while len(waiting) < 2 * force.width + 1 and (chunk := next(supply, None)) is not None:
            waiting.append((chunk, None))
            if force.width == 1:
                break  # what is done here is done at once
        if not waiting:
            return
        try:
            for place, (chunk, begun) in enumerate(waiting):
                if begun is None:
                    waiting[place] = chunk, force.submit(settings, chunk, wanted)
            chunk, future = waiting[0]
            assert future is not None  # noqa: S101 - it has been handed in just now
            checked = future.result()
        except BrokenProcessPool as error:
            kept = [(chunk, begun if _is_done(begun) else None) for chunk, begun in waiting]
            finished = sum(begun is not None for _, begun in kept)
            deaths = 1 if finished > done_before else deaths + 1
            done_before = finished
            if deaths >= MOST_DEATHS:
                raise WorkersLostError(
                    f"worker processes died {deaths} times over chunk {waiting[0][0].number} or the next. "
                    "Give them more memory or fewer --jobs, and go on with --resume."
                ) from error
            force.close()
            waiting = deque(kept)
            continue
        except Exception as error:
            if isinstance(error, (CancelledError, ConnectionError, TimeoutError)) or _is_of_cluster(error):
                raise WorkersLostError(
                    f"the cluster went away, or its workers died again and again ({type(error).__name__}). "
                    "Go on with --resume when it is back."
                ) from error
            raise
        deaths = done_before = 0
        waiting.popleft()
        yield chunk, checked


def _is_done(future: "Future[Checked] | None") -> bool:
    """Whether the work is done and its result is there."""
    return future is not None and future.done() and not future.cancelled() and future.exception() is None


def _is_of_cluster(error: Exception) -> bool:
    return type(error).__module__.partition(".")[0] == "distributed"


@contextmanager
def _here() -> Iterator[tuple[Executor, int]]:
    yield HereExecutor(), 1


@contextmanager
def _processes(jobs: int) -> Iterator[tuple[Executor, int]]:
    # Fresh processes: a fork would copy whatever threads and locks the caller has.
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=_begin_worker)
    try:
        yield pool, jobs
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin_worker() -> None:
    """Leaves Ctrl-C to the parent, and ends the worker when the parent is killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    wait([sentinel])
    os._exit(1)


@contextmanager
def _cluster(address: str) -> Iterator[tuple[Executor, int]]:
    try:
        distributed = importlib.import_module("distributed")
    except ImportError as error:
        raise SettingsError("--scheduler needs the extra cluster: pip install 'sawready[cluster]'") from error
    try:
        client = distributed.Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise SettingsError(f"--scheduler {address}: no scheduler answers there ({error})") from error
    try:
        threads = sum(client.nthreads().values())
        if not threads:
            raise SettingsError(f"--scheduler {address}: it has no workers. Start some, and try again.")
        with client.get_executor() as pool:
            yield pool, threads
    finally:
        client.close()
