"""Idempotency-Key: the same call twice has its effect once, and the same answer.

Answers of success are kept, in the transaction of what they tell of; a refusal changed nothing, so the
call may be made again under the same key. Kept for 48 hours.

Source: draft-ietf-httpapi-idempotency-key-header.
"""

import hashlib
import re
from collections.abc import Callable
from typing import Any, Final

import sqlalchemy as sa
from flask import Response, request
from werkzeug.datastructures import Headers

from sawready.desk.caller import Caller
from sawready.desk.documents import fingerprint
from sawready.desk.refusals import RefusedError
from sawready.errors import StoreError
from sawready.store import replays
from sawready.store.replays import Replay
from sawready.store.store import Store
from sawready.web.media import JSON
from sawready.web.problems import ErrorItem, ProblemError

HEADER: Final = "Idempotency-Key"

_FORM: Final = re.compile(
    r'"([\x20\x21\x23-\x5b\x5d-\x7e]{1,255})"|([\x21\x23-\x2b\x2d-\x7e]{1,255})', re.ASCII
)
_KEPT_HEADERS: Final = ("ETag", "Location", "Content-Digest")


def stated_key() -> str | None:
    """The key of the request. Raises ProblemError, status 400, for one that is no key."""
    written = request.headers.get(HEADER)
    if written is None:
        return None
    match = _FORM.fullmatch(written.strip())
    if match is None:
        detail = f"{HEADER} is no text of 1 to 255 plain characters."
        raise ProblemError(
            "bad-parameter",
            detail,
            errors=[ErrorItem(detail, "Send a random one, such as a UUID.", parameter=HEADER)],
        )
    return match[1] or match[2]


class Once:
    """One call that has its effect once.

    Args:
        store: where answers are kept.
        caller: who calls; another firm's keys are other keys.
        body: what the request says; with the address it tells two requests apart.
    Raises: ProblemError, status 422, where the key came with something else before.
    """

    def __init__(self, store: Store, caller: Caller, body: Any) -> None:
        self._store = store
        self._key = stated_key()
        self._firm = caller.firm
        self._call = hashlib.sha256(f"{request.method} {request.path}".encode()).hexdigest()
        self._fingerprint = fingerprint(body, request.query_string.decode("latin-1"), request.mimetype)

    def answered(self) -> Response | None:
        """The answer that was given already, if any."""
        if self._key is None:
            return None
        found = self._store.read(self._find)
        if found is None:
            return None
        self._refuse_other(found)
        response = Response(found.body, status=found.status, mimetype=JSON)
        response.headers.update(found.headers)
        response.headers["Idempotency-Replayed"] = "true"
        return response

    def _find(self, tx: sa.Connection) -> Replay | None:
        return replays.find(tx, firm=self._firm, call=self._call, replay_key=self._key or "")

    def _refuse_other(self, found: Replay) -> None:
        if found.fingerprint != self._fingerprint:
            detail = f"This {HEADER} came with another request before."
            raise ProblemError(
                "key-reused", detail, errors=[ErrorItem(detail, "Choose a new one.", parameter=HEADER)]
            )

    def run(self, work: Callable[[], Response]) -> Response:
        """Does the work, unless it was done under this key already: then its answer is given again."""
        already = self.answered()
        if already is not None:
            return already
        try:
            return work()
        except AnsweredError:
            return self.answered() or _lost()
        except RefusedError:
            # refused, as the very same request was done a moment ago
            already = self.answered()
            if already is not None:
                return already
            raise

    def keeping(self, make: Callable[[Any], Response]) -> Callable[[sa.Connection, Any], None]:
        """Keeps an answer in the transaction of what it tells of.

        Args:
            make: makes the answer of what was done.
        """

        def also(tx: sa.Connection, done: Any) -> None:
            if self._key is None:
                return
            if self._find(tx) is not None:
                raise AnsweredError
            response = make(done)
            replay = Replay(
                self._fingerprint, response.status_code, _kept(response.headers), response.get_data()
            )
            replays.keep(tx, replay, firm=self._firm, call=self._call, replay_key=self._key)

        return also


class AnsweredError(Exception):
    """The same call was answered between our look and our work; what was begun is taken back."""


def _lost() -> Response:
    raise StoreError("an answer that was kept is not there any more")


def _kept(headers: Headers) -> dict[str, str]:
    return {name: headers[name] for name in _KEPT_HEADERS if name in headers}
