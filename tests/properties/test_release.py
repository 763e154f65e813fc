"""Release under concurrency, on both databases: one outcome, and never of what is superseded.

Two factories ask, two threads each, while a re-survey arrives. Whatever the order of events, the laws below
hold; they are checked on the frozen lists and the trail, not on what the threads believe.
"""

import json
import threading
from typing import Any

import pytest

from desk_service import Service, order
from sawready.store import orders as kept
from sawready.store import trail

ROUNDS = 12
TALLER = {"heights": [1272, 1270, 1271], "frame": None}


def race(*works: Any) -> list[Any]:
    """Runs each in a thread of its own, all let go at once. Returns: what each gave."""
    gate, results = threading.Barrier(len(works)), [None] * len(works)

    def run(number: int) -> None:
        gate.wait()
        results[number] = works[number]()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(len(works))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results


@pytest.mark.parametrize("number", range(ROUNDS))
def test_two_factories_and_a_re_survey_at_once_have_one_outcome(service: Service, number: int) -> None:
    ref = f"R{number}"
    digest = service.keep(order(ref)).json["digest"]
    tag = service.tag(ref)

    def ask(name: str) -> Any:
        return lambda: service.release(ref, digest, name)

    def revise() -> Any:
        return service.call("installer", "PUT", f"/v1/orders/{ref}", order(ref, **TALLER), If_Match=tag)

    *asked, revised = race(
        ask("factory"), ask("second_factory"), ask("factory"), ask("second_factory"), revise
    )
    released = [answer for answer in asked if answer.status_code == 200]
    refused = [answer for answer in asked if answer.status_code != 200]
    assert all(answer.status_code == 409 for answer in refused), [answer.data for answer in refused]
    reasons = {error["reason"] for answer in refused for error in answer.json["errors"]}

    (found,) = service.store.read(lambda tx: kept.find(tx, kept.Sight(None), ref))
    frozen = service.store.read(lambda tx: kept.release(tx, found, 1))
    events = [entry.event for entry in service.store.read(lambda tx: trail.entries_of(tx, found.order_id))]
    # exactly one of the two happened: the first revision was released, or it was revised before that
    assert len(released) + (revised.status_code == 200) == 1
    if released:
        assert revised.status_code == 412
        assert reasons == {"already-released"}
        assert (found.revision, found.released_revision) == (1, 1)
        assert frozen is not None
        assert json.loads(frozen.document) == released[0].json
        assert events == ["order-kept", "list-released"]
    else:
        assert reasons == {"superseded"}
        assert (found.revision, found.released_revision, frozen) == (2, None, None)
        assert events == ["order-kept", "order-revised"]


def test_one_idempotency_key_from_many_threads_releases_once(service: Service) -> None:
    digest = service.keep(order("R")).json["digest"]
    answers = race(*[lambda: service.release("R", digest, Idempotency_Key="one")] * 6)
    assert {answer.status_code for answer in answers} == {200}
    assert len({answer.data for answer in answers}) == 1


def test_one_order_from_many_threads_is_kept_once(service: Service) -> None:
    answers = race(*[lambda: service.keep(order("R"))] * 6)
    assert sorted(answer.status_code for answer in answers) == [200] * 5 + [201]
    assert len({answer.data for answer in answers}) == 1


def test_of_many_re_surveys_of_one_state_one_wins(service: Service) -> None:
    service.keep(order("R"))
    tag = service.tag("R")
    works = [
        lambda room=room: service.call(
            "installer", "PUT", "/v1/orders/R", order("R", room=room), If_Match=tag
        )
        for room in ("hall", "bath", "loft", "shed")
    ]
    assert sorted(answer.status_code for answer in race(*works)) == [200, 412, 412, 412]
    assert service.call("installer", "GET", "/v1/orders/R").json["revision"] == 2
