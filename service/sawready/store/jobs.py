"""Jobs: long work that is asked for now and answered later, kept in the store until it is done and a while on.

A worker takes a job up for a few seconds at a time and renews that lease while it works. Where it dies, the
lease ends and another takes the job up. Each take-up counts ``attempt`` up, and only who holds the newest
attempt can end the job, so it is never lost and never ended twice.
"""

import json
import secrets
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final, Literal

import sqlalchemy as sa

from sawready.store.clock import now, written
from sawready.store.tables import JOBS

State = Literal["waiting", "running", "done", "failed"]
STATES: Final[tuple[State, ...]] = ("waiting", "running", "done", "failed")

MOST_ATTEMPTS: Final = 20
"""Take-ups after which a job is given up: more than any rolling restart makes, and few enough that one on
which the whole service dies does not take it down for ever."""

MOST_CRASHES: Final = 2
"""Times that its own process may die of a job, as one that runs out of memory does each time."""

MOST_KEPT: Final = 200
"""Jobs of a firm that are kept at a time, done ones included; results take up to some megabytes each. Failed
ones, which have no result, make room before that refuses anything."""

_TURN: Final = 5_972_646_010
"""Number of the lock under which PostgreSQL counts jobs, so that two never count at the same time."""

_HEAD: Final = [column for column in JOBS.c if column.name != "result"]


@dataclass(frozen=True, slots=True)
class Job:
    """One job without its result; see ``tables.JOBS``."""

    job_id: str
    kind: str
    firm: str
    key_id: str
    firms: frozenset[str]
    fingerprint: str
    request: bytes
    orders: int
    pieces: int
    state: State
    attempt: int
    crashes: int
    lease_until: str | None
    asked_at: str
    begun_at: str | None
    ended_at: str | None
    kept_until: str | None
    bars: int | None
    problem: bytes | None


@dataclass(frozen=True, slots=True)
class NewJob:
    """A job to be kept.

    Attributes:
        kind: what is to be done, such as ``bars``.
        firm: firm that asks.
        key_id: public part of its key.
        firms: firms whose orders it is about.
        fingerprint: the same for the same work on the same orders.
        request: all that is needed to do it, as JSON.
        orders: how many orders.
        pieces: how many pieces.
    """

    kind: str
    firm: str
    key_id: str
    firms: Iterable[str]
    fingerprint: str
    request: bytes
    orders: int
    pieces: int


class TooManyError(Exception):
    """The firm has as many jobs as it may.

    Attributes:
        is_kept: whether it is those that are kept, not those that are still to be done.
        until: when the first of the kept ones is removed.
    """

    def __init__(self, *, is_kept: bool, until: str | None = None) -> None:
        super().__init__("too many jobs")
        self.is_kept = is_kept
        self.until = until


def _job(row: sa.RowMapping) -> Job:
    values: dict[str, Any] = {str(name): value for name, value in row.items()}
    return Job(**{**values, "firms": frozenset(json.loads(values["firms"]))})


def _in(seconds: float) -> str:
    return written(datetime.now(UTC) + timedelta(seconds=seconds))


def _take_turns(tx: sa.Connection) -> None:
    """Lets nobody else count or take up jobs until the transaction ends; SQLite has one writer anyway."""
    if tx.dialect.name == "postgresql":
        tx.execute(sa.select(sa.func.pg_advisory_xact_lock(_TURN)))


def _is_kept(moment: str) -> sa.ColumnElement[bool]:
    return sa.or_(JOBS.c.kept_until.is_(None), JOBS.c.kept_until > moment)


def add(tx: sa.Connection, new: NewJob, *, per_firm: int) -> Job:
    """Keeps a job; the same work of the same firm that is kept already is given instead.

    Args:
        tx: a transaction that writes.
        new: the job.
        per_firm: jobs that a firm may have waiting and running.
    Raises: TooManyError.
    """
    _take_turns(tx)
    moment = now()
    same = sa.select(*_HEAD).where(
        JOBS.c.firm == new.firm,
        JOBS.c.fingerprint == new.fingerprint,
        JOBS.c.state != "failed",
        _is_kept(moment),
    )
    found = tx.execute(same.order_by(JOBS.c.asked_at.desc()).limit(1)).mappings().one_or_none()
    if found is not None:
        return _job(found)
    of_firm = sa.select(JOBS.c.state, JOBS.c.kept_until).where(JOBS.c.firm == new.firm, _is_kept(moment))
    others = tx.execute(of_firm).all()
    if sum(row.state in ("waiting", "running") for row in others) >= per_firm:
        raise TooManyError(is_kept=False)
    if len(others) >= MOST_KEPT and not _drop_oldest_failed(tx, new.firm):
        raise TooManyError(is_kept=True, until=min(row.kept_until for row in others if row.kept_until))
    job = Job(
        job_id=secrets.token_hex(16),
        kind=new.kind,
        firm=new.firm,
        key_id=new.key_id,
        firms=frozenset(new.firms),
        fingerprint=new.fingerprint,
        request=new.request,
        orders=new.orders,
        pieces=new.pieces,
        state="waiting",
        attempt=0,
        crashes=0,
        lease_until=None,
        asked_at=moment,
        begun_at=None,
        ended_at=None,
        kept_until=None,
        bars=None,
        problem=None,
    )
    values = {name: getattr(job, name) for name in Job.__slots__}
    tx.execute(JOBS.insert().values(**{**values, "firms": json.dumps(sorted(job.firms))}))
    return job


def _drop_oldest_failed(tx: sa.Connection, firm: str) -> bool:
    """Removes the job of a firm that failed first, before its time. Returns: whether there was one."""
    of_firm = (JOBS.c.firm == firm, JOBS.c.state == "failed")
    oldest = tx.scalar(sa.select(JOBS.c.job_id).where(*of_firm).order_by(JOBS.c.ended_at).limit(1))
    if oldest is not None:
        tx.execute(JOBS.delete().where(JOBS.c.job_id == oldest))
    return oldest is not None


def find(tx: sa.Connection, job_id: str) -> Job | None:
    """A job by its number; None where there is none, or its time is over."""
    found = tx.execute(sa.select(*_HEAD).where(JOBS.c.job_id == job_id, _is_kept(now())))
    row = found.mappings().one_or_none()
    return None if row is None else _job(row)


def result(tx: sa.Connection, job_id: str) -> bytes | None:
    """What came of a job that is done."""
    found: bytes | None = tx.scalar(sa.select(JOBS.c.result).where(JOBS.c.job_id == job_id))
    return found


def are_there_to_do(tx: sa.Connection) -> bool:
    """Whether any job waits, or was left by a worker that died; a look that only reads."""
    return tx.execute(sa.select(sa.literal(1)).where(_to_do(now())).limit(1)).first() is not None


def _to_do(moment: str) -> sa.ColumnElement[bool]:
    left = sa.and_(JOBS.c.state == "running", JOBS.c.lease_until < moment)
    return sa.or_(JOBS.c.state == "waiting", left)


def take_up(tx: sa.Connection, *, lease_s: float, at_once: int) -> Job | None:
    """The job that is to be done next, now the caller's for the time of a lease.

    Firms with the fewest jobs running come first, then who asked first.

    Args:
        tx: a transaction that writes.
        lease_s: how long it is the caller's without renewal. [s]
        at_once: jobs that may run at the same time, all workers together.
    Returns: the job; None where there is none, or as many run as may.
    """
    _take_turns(tx)
    moment = now()
    running = Counter(
        tx.scalars(sa.select(JOBS.c.firm).where(JOBS.c.state == "running", JOBS.c.lease_until >= moment))
    )
    if running.total() >= at_once:
        return None
    waiting = tx.execute(
        sa.select(JOBS.c.job_id, JOBS.c.firm, JOBS.c.asked_at, JOBS.c.attempt).where(_to_do(moment))
    ).all()
    for row in sorted(waiting, key=lambda row: (running[row.firm], row.asked_at, row.job_id)):
        if row.attempt >= MOST_ATTEMPTS:
            continue  # ``give_up`` ends it
        tx.execute(
            JOBS.update()
            .where(JOBS.c.job_id == row.job_id)
            .values(
                state="running",
                attempt=row.attempt + 1,
                lease_until=_in(lease_s),
                begun_at=sa.func.coalesce(JOBS.c.begun_at, moment),
            )
        )
        return find(tx, row.job_id)
    return None


def _change(tx: sa.Connection, job: Job, **values: Any) -> bool:
    """Changes a job that is still the caller's. Returns: whether it was."""
    mine = (JOBS.c.job_id == job.job_id, JOBS.c.attempt == job.attempt, JOBS.c.state == "running")
    return tx.execute(JOBS.update().where(*mine).values(**values)).rowcount == 1


def renew(tx: sa.Connection, job: Job, *, lease_s: float) -> bool:
    """Keeps a job for another lease. Returns: whether it still is the caller's."""
    return _change(tx, job, lease_until=_in(lease_s))


def hand_back(tx: sa.Connection, job: Job) -> bool:
    """Lets another worker take a job up at once, as this one stops."""
    return _change(tx, job, state="waiting", lease_until=None)


def finish(tx: sa.Connection, job: Job, document: bytes, *, bars: int, hours: float) -> bool:
    """Ends a job with its result. Returns: whether it still was the caller's; else nothing is kept."""
    return _change(
        tx,
        job,
        state="done",
        result=document,
        bars=bars,
        lease_until=None,
        ended_at=now(),
        kept_until=_in(hours * 3600),
    )


def fail(tx: sa.Connection, job: Job, problem: bytes, *, hours: float) -> bool:
    """Ends a job with a problem instead. Returns: as ``finish``."""
    return _change(
        tx,
        job,
        state="failed",
        problem=problem,
        lease_until=None,
        ended_at=now(),
        kept_until=_in(hours * 3600),
    )


def crashed(tx: sa.Connection, job: Job, problem: bytes, *, hours: float) -> bool:
    """Notes that the process of a job died; it is tried again, and given up where that happens again."""
    if job.crashes + 1 >= MOST_CRASHES:
        return fail(tx, job, problem, hours=hours) and _note_crash(tx, job)
    return _change(tx, job, state="waiting", lease_until=None, crashes=job.crashes + 1)


def _note_crash(tx: sa.Connection, job: Job) -> bool:
    tx.execute(JOBS.update().where(JOBS.c.job_id == job.job_id).values(crashes=job.crashes + 1))
    return True


def tidy(tx: sa.Connection, problem: bytes, *, hours: float) -> int:
    """Removes jobs whose time is over, and gives up those that were taken up too often.

    Args:
        tx: a transaction that writes.
        problem: what to say of those that are given up.
        hours: how long that is kept. [h]
    Returns: how many were removed.
    """
    _take_turns(tx)
    moment = now()
    tx.execute(
        JOBS.update()
        .where(_to_do(moment), JOBS.c.attempt >= MOST_ATTEMPTS)
        .values(
            state="failed", problem=problem, lease_until=None, ended_at=moment, kept_until=_in(hours * 3600)
        )
    )
    return tx.execute(JOBS.delete().where(JOBS.c.kept_until <= moment)).rowcount
