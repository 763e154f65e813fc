"""What the desk refuses, by the name of its problem."""

from collections.abc import Iterable
from dataclasses import dataclass

from sawready.errors import ServiceError


@dataclass(frozen=True, slots=True)
class Why:
    """One reason of a refusal.

    Attributes:
        detail: what stands against it, in a sentence.
        remedy: what to do.
        reason: its name.
        pointer: place in the body of the request.
        parameter: parameter or header of the request.
    """

    detail: str
    remedy: str | None = None
    reason: str | None = None
    pointer: str | None = None
    parameter: str | None = None


class RefusedError(ServiceError):
    """The desk does not do what it was asked for; nothing was changed.

    Attributes:
        name: kind of problem, such as ``release-refused``.
        detail: one sentence.
        whys: each reason.
    """

    def __init__(self, name: str, detail: str, whys: Iterable[Why] = ()) -> None:
        super().__init__(detail)
        self.name = name
        self.detail = detail
        self.whys = tuple(whys)
