"""Counts for operators, in the text form that collectors read."""

import os
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

MEDIA_TYPE: Final = "text/plain; version=0.0.4; charset=utf-8"

MANY_PROCESSES: Final = "PROMETHEUS_MULTIPROC_DIR"
"""Variable that names the folder where several workers count together."""

_SECONDS: Final = (0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 60)


class Metrics:
    """The counts of one application; nothing in them comes from a customer."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self.requests = Counter(
            "sawready_requests",
            "Requests by call, method and status.",
            ("call", "method", "status"),
            registry=self._registry,
        )
        self.seconds = Histogram(
            "sawready_request_seconds",
            "Time from the first byte of a request to the last of its answer.",
            ("call",),
            buckets=_SECONDS,
            registry=self._registry,
        )
        self.orders = Counter(
            "sawready_orders_checked", "Orders by decision.", ("decision",), registry=self._registry
        )
        self.openings = Counter(
            "sawready_openings_checked", "Openings by decision.", ("decision",), registry=self._registry
        )
        self.findings = Counter(
            "sawready_findings", "Findings by reason.", ("reason",), registry=self._registry
        )
        self.unreadable = Counter(
            "sawready_unreadable", "Rows, lines and orders that could not be read.", registry=self._registry
        )

    def text(self) -> bytes:
        """All counts as they stand."""
        if (
            MANY_PROCESSES in os.environ
        ):  # under several workers each counts for itself, in files of that folder
            gathered = CollectorRegistry()
            MultiProcessCollector(gathered)  # type: ignore[no-untyped-call] # of prometheus_client
            return generate_latest(gathered)
        return generate_latest(self._registry)
