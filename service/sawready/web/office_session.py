"""Who is at the office page: a cookie, the key behind it, and the mark that each form carries.

Where there are no keys, only the machine itself is answered, as everywhere. Where there are, the page asks
for one; the cookie then holds a random number, and what lies under it names the key but not its secret. A
key that is revoked or ends is out at the next click.

Against forms of strangers: the cookie is same-site, every form repeats a mark made from the cookie, and a
browser that says it sends a form from another site is refused.
"""

import hashlib
import hmac
from dataclasses import dataclass
from typing import Final

import orjson
from flask import Response, current_app, g, request

from sawready.desk.caller import LOCAL, Caller, caller_of
from sawready.store import keys
from sawready.store.clock import now
from sawready.web.auth import Doorkeeper, is_here
from sawready.web.office_shelf import KEPT_S, Shelf, is_token, new_token
from sawready.web.parts import Parts, parts
from sawready.web.problems import ProblemError
from sawready.web.rate import Rates

COOKIE: Final = "sawready-office"
SECURE_COOKIE: Final = "__Host-sawready-office"
"""The prefix makes a browser refuse it where it is not for this very host over TLS (RFC 6265bis 4.1.3)."""

_EXTENSION: Final = "sawready-office"
_SAFE_SITES: Final = frozenset({"same-origin", "none", ""})


@dataclass(slots=True)
class Office:
    """What the office page of one application has.

    Attributes:
        shelf: uploads and sessions.
        doorkeeper: knows the keys.
        rates: quotas of keys; None where there is no store.
    """

    shelf: Shelf
    doorkeeper: Doorkeeper
    rates: Rates | None


def office_of(shared: Parts) -> Office:
    """The office of an application with these parts."""
    rates = None if shared.store is None else Rates(shared.store, shared.settings.requests_per_minute)
    return Office(Shelf(shared.settings.store), Doorkeeper(shared.store), rates)


def office() -> Office:
    """The office of the application that answers the request at hand."""
    found: Office | None = current_app.extensions.get(_EXTENSION)
    if found is None:
        found = current_app.extensions.setdefault(_EXTENSION, office_of(parts()))
    return found


def form_mark() -> str:
    """What each form carries to show that it is from a page of this visitor."""
    cookie: str = g.office_cookie
    return hmac.new(cookie.encode("ascii"), b"form", hashlib.sha256).hexdigest()


def visitor() -> Caller:
    """Who is at the page, once it is known."""
    found: Caller = g.office_caller
    return found


def find_visitor() -> None:
    """Finds out who is at the page; ``g.office_caller`` is None where a key is needed first.

    Raises: ProblemError, status 403 where there are no keys and the visitor is elsewhere, 429 over quota.
    """
    g.office_is_here = is_here()
    g.office_cookie_name = COOKIE if g.office_is_here and not request.is_secure else SECURE_COOKIE
    sent = request.cookies.get(g.office_cookie_name, "")
    g.office_cookie = sent if is_token(sent) else new_token()
    g.office_is_new = g.office_cookie != sent
    g.office_has_keys = office().doorkeeper.has_keys()
    if not g.office_has_keys:
        if not g.office_is_here:
            raise ProblemError("forbidden", "There are no keys, so only the machine itself is answered.")
        g.office_caller = LOCAL
        return
    g.office_caller = None if g.office_is_new else _of_session(g.office_cookie)
    if g.office_caller is not None:
        g.caller = g.office_caller  # the log names its key
        _spend(g.office_caller)


def _of_session(token: str) -> Caller | None:
    """Whom a session stands for; None where it has ended, or its key has."""
    content = office().shelf.get("session", token)
    store = parts().store
    if content is None or store is None:
        return None
    session = orjson.loads(content)
    key, secret_sha256 = store.read(lambda tx: keys.find(tx, session["key_id"]))
    is_same = hmac.compare_digest(secret_sha256, session["secret_sha256"])
    if key is None or not is_same or not key.holds(now()):
        office().shelf.drop("session", token)
        return None
    return caller_of(key)


def _spend(caller: Caller) -> None:
    rates = office().rates
    if rates is None:
        return
    spent = rates.spend(caller.key_id)
    if not spent.is_allowed:
        raise ProblemError(
            "too-many-requests",
            f"The key may make {rates.per_minute} requests a minute.",
            headers=rates.headers(spent),
        )


def begin_session(written: str) -> bool:
    """Begins a session by a key. Returns: whether the key is right."""
    caller = office().doorkeeper.who(written)
    parted = keys.split(written)
    if caller is None or parted is None:
        return False
    content = orjson.dumps({"key_id": parted[0], "secret_sha256": keys.hashed(parted[1])})
    g.office_cookie = office().shelf.put("session", content)  # a new one: nobody can have planted it
    g.office_is_new = True
    g.office_caller = caller
    return True


def end_session() -> None:
    """Ends the session and forgets its cookie."""
    office().shelf.drop("session", g.office_cookie)
    g.office_cookie = new_token()
    g.office_is_new = True


def refuse_strange_form() -> None:
    """Refuses a form that is not from a page of this visitor. Raises ProblemError, status 403."""
    is_ours = hmac.compare_digest(
        request.form.get("mark", "").encode("utf-8", "replace"), form_mark().encode()
    )
    if request.headers.get("Sec-Fetch-Site", "") not in _SAFE_SITES or g.office_is_new or not is_ours:
        raise ProblemError(
            "forbidden",
            "The form is not from a page that was open here, or that page is too old. Open the page again.",
        )


def set_cookie(response: Response) -> None:
    """Gives a visitor the cookie where it is new."""
    if g.get("office_is_new"):
        response.set_cookie(
            g.office_cookie_name,
            g.office_cookie,
            max_age=int(KEPT_S),
            secure=g.office_cookie_name == SECURE_COOKIE,
            httponly=True,
            samesite="Strict",
            path="/",
        )
