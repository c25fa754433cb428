"""What is counted for Prometheus: of this process as it happens, of background work whenever it is asked for.

Labels are names that the code has: routes, kinds, states. Never an id, a path or the name of an organisation, so that
there are as many series after years as on the first day.
"""

from __future__ import annotations

import hmac
import logging
import sys
import time
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.signals import got_request_exception
from django.db import Error
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from prometheus_client import (
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    ProcessCollector,
    disable_created_metrics,
    generate_latest,
)
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4
from prometheus_client.metrics_core import GaugeMetricFamily, Metric

from campaigns.free_space import free_bytes
from campaigns.services import work_load, workers
from config import readiness
from config.server.streams import PLACES
from config.version import VERSION
from readings.models import Upload

log = logging.getLogger(__name__)

METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
#: Upper edges, s; a page is promised within 0.15.
SECONDS = (0.01, 0.025, 0.05, 0.1, 0.15, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)

disable_created_metrics()  # type: ignore[no-untyped-call]  # a second series for each, of which nothing is made
REGISTRY = CollectorRegistry()
ProcessCollector(registry=REGISTRY)
REQUESTS = Counter(
    "fanlight_requests", "Requests answered, by name of the route.", ("route", "method", "status"), registry=REGISTRY
)
REQUEST_SECONDS = Histogram(
    "fanlight_request_seconds", "Until the last byte of the answer was handed over.", ("route",),
    buckets=SECONDS, registry=REGISTRY,
)  # fmt: skip
EXCEPTIONS = Counter("fanlight_exceptions", "Views that failed, by class of the error.", ("kind",), registry=REGISTRY)
BEGUN = Gauge("fanlight_started_time_seconds", "When this process began, Unix time.", registry=REGISTRY)
INFO = Gauge("fanlight_info", "Always 1; which version this is.", ("version",), registry=REGISTRY)
STREAMS = Gauge("fanlight_streams_running", "Exports that are being sent piece by piece.", registry=REGISTRY)
STREAM_PLACES = Gauge("fanlight_streams_places", "How many can be sent at once.", registry=REGISTRY)
BEGUN.set(time.time())
INFO.labels(VERSION).set(1)
STREAMS.set_function(lambda: len(PLACES))
STREAM_PLACES.set_function(lambda: PLACES.at_once)


def count_request(method: str, route: str, status: int, seconds: float) -> None:
    """``route``: a name, not a path."""
    REQUESTS.labels(route, method if method in METHODS else "other", str(status)).inc()
    REQUEST_SECONDS.labels(route).observe(seconds)


def count_exception(sender: Any, **_: Any) -> None:
    """Receiver of got_request_exception, which is sent while the error is being handled."""

    kind = sys.exc_info()[0]
    EXCEPTIONS.labels(kind.__name__ if kind else "unknown").inc()


got_request_exception.connect(count_exception, dispatch_uid="config.metrics.exceptions")


class BackgroundWork:
    """What the database, the broker and the disk say when they are asked. What does not answer is left out."""

    def collect(self) -> Iterator[Metric]:
        try:
            said = [*_of_jobs(), *_of_workers(), *_of_readings()]
        except Error as error:
            log.warning("Nothing was counted: the database is away (%s).", type(error).__name__)
            said = []
        yield _gauge("fanlight_database_up", "Whether the database answered just now.", bool(said))
        yield from said
        if (messages := readiness.queue_length()) is not None:
            yield _gauge("fanlight_queue_messages", "Messages that the broker holds for workers.", messages)
        yield _gauge("fanlight_free_bytes", "Space on the fullest disk that Fanlight writes to.", free_bytes())

    def describe(self) -> list[Metric]:
        """Nothing is asked of anybody when this is registered."""
        return []


REGISTRY.register(BackgroundWork())


def _gauge(name: str, what: str, value: float) -> Metric:
    return GaugeMetricFamily(name, what, value=float(value))


def _of_jobs() -> Iterator[Metric]:
    jobs = GaugeMetricFamily("fanlight_jobs", "Jobs that are kept, by kind and state.", labels=("kind", "state"))
    for kind, state, number in work_load.jobs_by_kind():
        jobs.add_metric((kind, state), number)
    yield jobs
    failed = GaugeMetricFamily(
        "fanlight_jobs_failed_unseen", "Jobs that failed and that nobody has looked at, by message.", labels=("code",)
    )
    for code, number in work_load.failures_to_look_at():
        failed.add_metric((code,), number)
    yield failed
    yield _gauge(
        "fanlight_oldest_waiting_seconds", "How long the oldest waiting job has waited.", work_load.oldest_waiting_s()
    )


def _of_workers() -> Iterator[Metric]:
    yield _gauge("fanlight_workers", f"Workers heard of within {workers.SILENT_S} s.", workers.beating())
    if (silence := workers.silence_s()) is not None:
        yield _gauge("fanlight_worker_beat_age_seconds", "Since any worker was last heard of.", silence)


def _of_readings() -> Iterator[Metric]:
    summed = Upload.objects.aggregate(rows=Sum("lines"), stored=Sum("stored"))
    yield _gauge("fanlight_rows_read", "Lines with readings in the logs that are kept.", summed["rows"] or 0)
    yield _gauge("fanlight_readings_stored", "Readings stored from them.", summed["stored"] or 0)


def may_read(request: HttpRequest) -> bool:
    """Whether it shows the token of the settings (``Authorization: Bearer``, RFC 6750). Without one nobody may."""
    scheme, _, shown = request.headers.get("Authorization", "").partition(" ")
    wanted = settings.METRICS_TOKEN.encode()
    return bool(wanted) and scheme.lower() == "bearer" and hmac.compare_digest(shown.strip().encode(), wanted)


def metrics(request: HttpRequest) -> HttpResponse:
    """In the text format that every version of Prometheus reads."""
    return HttpResponse(generate_latest(REGISTRY), content_type=CONTENT_TYPE_PLAIN_0_0_4)
