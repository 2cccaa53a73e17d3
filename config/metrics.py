"""Prometheus metrics: requests as they come, jobs and connections when they are asked for.

Several web processes (config/web.py) share their counters through files, one set for each process's slot; who
takes the place of one that ended goes on with its files.
"""

import hmac
import os
from collections.abc import Iterator

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
    values,
)
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector
from psycopg_pool import ConnectionPool

from crews.api.problems import NotFound, problem_response

_slot = {"now": "parent"}
if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
    values.ValueClass = values.MultiProcessValue(process_identifier=lambda: _slot["now"])
_requests = CollectorRegistry()
REQUESTS = Counter(
    "roundlay_requests",
    "Requests answered, by operation and status.",
    ["operation", "method", "status"],
    registry=_requests,
)
DURATION = Histogram(
    "roundlay_request_seconds",
    "How long requests took, by operation.",
    ["operation"],
    registry=_requests,
)
_PROCESS = {
    name: Gauge(f"roundlay_web_{name}", meaning, ["process"], multiprocess_mode="livesum", registry=_requests)
    for name, meaning in {
        "memory_bytes": "Memory of each web process.",
        "cpu_seconds": "Processor time that each web process has used.",
        "connections": "Connections that each web process holds, idle and half-sent ones among them.",
        "waiting": "Requests read and not begun, for want of a free thread.",
        "pool_size": "Connections to the database in each web process's pool.",
        "pool_available": "Those of them that are free.",
        "pool_waiting": "Threads that wait for one.",
    }.items()
}
_METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
_LOOPBACK = {"127.0.0.1", "::1", ""}  # empty: asked through a Unix socket

_JOBS = "SELECT queue_name, status::text, count(*) FROM procrastinate_jobs GROUP BY 1, 2"
_PLANNING = "SELECT state, count(*) FROM planning_planningjob GROUP BY 1"
_QUEUE_AGE = """
    SELECT queue.name, coalesce(extract(epoch FROM now() - min(coalesce(job.scheduled_at, event.at))), 0)
    FROM (VALUES ('planning'), ('default')) queue (name)
    LEFT JOIN (procrastinate_jobs job JOIN procrastinate_events event
        ON event.job_id = job.id AND job.status = 'todo' AND event.type = 'deferred'
        AND coalesce(job.scheduled_at, event.at) <= now())
    ON job.queue_name = queue.name
    GROUP BY 1
"""
_PLANNED = """
    SELECT ended.state, count(job.id), coalesce(sum(extract(epoch FROM job.ended_at - job.started_at)), 0)
    FROM (VALUES ('done'), ('failed'), ('cancelled')) ended (state)
    LEFT JOIN planning_planningjob job
    ON job.state = ended.state AND job.ended_at > now() - interval '1 day'
    GROUP BY 1
"""
_DELIVERIES = """
    SELECT count(*) FILTER (WHERE failures = 0), count(*) FILTER (WHERE failures > 0)
    FROM crews_webhookdelivery WHERE state = 'waiting'
"""
_CONNECTIONS = """
    SELECT coalesce(state, 'other'), count(*) FROM pg_stat_activity
    WHERE datname = current_database() GROUP BY 1
"""
_GAUGES = [
    ("roundlay_jobs", "Jobs in the queue's books.", ["queue", "state"], _JOBS),
    ("roundlay_planning_jobs", "Planning jobs.", ["state"], _PLANNING),
    ("roundlay_queue_age_seconds", "How long the oldest due job has waited.", ["queue"], _QUEUE_AGE),
    ("roundlay_database_connections", "Connections of all processes.", ["state"], _CONNECTIONS),
]  # fmt: skip


def note_request(operation: str, method: str, status: int, seconds: float) -> None:
    """Count one request; whoever makes up methods makes no counter of their own."""
    REQUESTS.labels(operation, method if method in _METHODS else "other", str(status)).inc()
    DURATION.labels(operation).observe(seconds)


def counting_as(slot: int) -> None:
    """From now on this process counts as the one in that slot."""
    _slot["now"] = str(slot)


def note_process(slot: int, **figures: float) -> None:
    """Keep a web process's figures of this moment, by their names in the metrics."""
    pool: ConnectionPool = getattr(connection, "pool")  # noqa: B009 - PostgreSQL's alone, says the type
    stats = pool.get_stats()
    figures |= {name: stats.get(name, 0) for name in ("pool_size", "pool_available")}
    figures["pool_waiting"] = stats.get("requests_waiting", 0)
    for name, value in figures.items():
        _PROCESS[name].labels(str(slot)).set(value)


class ServiceState(Collector):
    """What the database knows of jobs and connections at this moment."""

    def collect(self) -> Iterator[Metric]:
        up = GaugeMetricFamily("roundlay_database_up", "1 if the database answers.")
        try:
            yield from list(self._from_database())
            up.add_metric([], 1)
        except DatabaseError:
            up.add_metric([], 0)
        yield up
        version = GaugeMetricFamily("roundlay_version", "The version that runs.", labels=["version"])
        version.add_metric([settings.VERSION], 1)
        yield version

    def _from_database(self) -> Iterator[Metric]:
        with connection.cursor() as cursor:
            for name, meaning, labels, query in _GAUGES:
                gauge = GaugeMetricFamily(name, meaning, labels=labels)
                cursor.execute(query)
                for *values, number in cursor.fetchall():
                    gauge.add_metric([str(value) for value in values], float(number))
                yield gauge
            cursor.execute(_PLANNED)
            number = GaugeMetricFamily(
                "roundlay_planning_ended_today", "Planning jobs that ended within 24 hours.", labels=["state"]
            )
            took = GaugeMetricFamily(
                "roundlay_planning_seconds_today", "How long they ran, together.", labels=["state"]
            )
            for state, count, ran in cursor.fetchall():
                number.add_metric([state], float(count))
                took.add_metric([state], float(ran))
            yield number
            yield took
            cursor.execute(_DELIVERIES)
            fresh, failing = cursor.fetchone() or (0, 0)
            waiting = GaugeMetricFamily(
                "roundlay_webhook_deliveries", "Events on their way to receivers.", labels=["tried"]
            )
            waiting.add_metric(["not yet"], float(fresh))
            waiting.add_metric(["in vain"], float(failing))
            yield waiting


def metrics_page(request: HttpRequest) -> HttpResponse:
    """All metrics, for a scraper with the token or, where none is set, for one on this machine."""
    if not _may_read(request):
        return problem_response(NotFound())
    registry = CollectorRegistry()
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        MultiProcessCollector(registry)
        told = generate_latest(registry)
    else:
        told = generate_latest(_requests)
    now = CollectorRegistry()
    now.register(ServiceState())
    return HttpResponse(told + generate_latest(now), content_type=CONTENT_TYPE_LATEST)


def _may_read(request: HttpRequest) -> bool:
    if not settings.METRICS_TOKEN:
        return request.META.get("REMOTE_ADDR", "") in _LOOPBACK
    given = request.headers.get("Authorization", "").encode()
    return hmac.compare_digest(given, f"Bearer {settings.METRICS_TOKEN}".encode())
