"""Who calls: a key's role and firm, and whose orders that lets them see."""

from dataclasses import dataclass
from typing import Final

from sawready.store.keys import EVERY_FIRM, Key
from sawready.store.orders import KeptOrder, Sight

LOCAL_FIRM: Final = "local"
"""Firm of a service without keys, which answers on its own machine only."""


@dataclass(frozen=True, slots=True)
class Caller:
    """Who calls.

    Attributes:
        key_id: public part of the key; ``local`` where there are no keys.
        firm: firm that it acts for.
        roles: what it may do.
        sight: whose orders it sees.
    """

    key_id: str
    firm: str
    roles: frozenset[str]
    sight: Sight

    def sees_drafts(self, order: KeptOrder) -> bool:
        """Whether lists of the order are shown that are not released: to its own firm only."""
        return order.firm == self.firm


LOCAL: Final = Caller(
    "local",
    LOCAL_FIRM,
    frozenset({"installer", "factory", "integrator", "admin"}),
    Sight(frozenset({LOCAL_FIRM})),
)
"""The person at the machine, where there are no keys."""


def caller_of(key: Key) -> Caller:
    """Whom a key stands for. A factory sees the firms that it serves; anyone else their own."""
    if key.role != "factory":
        sight = Sight(frozenset({key.firm}))
    elif EVERY_FIRM in key.serves:
        sight = Sight(None)
    else:
        sight = Sight(frozenset(key.serves) | {key.firm})
    return Caller(key.key_id, key.firm, frozenset({key.role}), sight)
