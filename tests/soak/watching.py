"""What is looked at during a soak: memory of each process, connections to the database, age of the queue."""

import statistics
import threading
import time
from dataclasses import dataclass, field
from typing import Any

import psutil
import psycopg

_CONNECTIONS = """
    SELECT count(*) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid() AND backend_type = 'client backend'
"""
_QUEUE_AGE = """
    SELECT coalesce(max(extract(epoch FROM now() - greatest(job.scheduled_at, event.at))), 0)
    FROM procrastinate_jobs job JOIN procrastinate_events event ON event.job_id = job.id
    WHERE job.status = 'todo' AND event.type = 'deferred' AND coalesce(job.scheduled_at, event.at) <= now()
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One look; `memory_mb` by process."""

    at_s: float
    memory_mb: dict[str, float]
    connections: int
    queue_age_s: float


def processes_of(web: int, planner: int, default: int) -> dict[str, psutil.Process]:
    """The lasting processes of a service, by what they are called here."""
    answering = sorted(psutil.Process(web).children(), key=lambda one: one.pid)
    named = {f"web {number}": one for number, one in enumerate(answering, start=1)}
    named |= {"planner": psutil.Process(planner), "default": psutil.Process(default)}
    return named


@dataclass(slots=True, kw_only=True)
class Watch:
    """Looks every so often, in a thread of its own, until told to end."""

    sql: psycopg.Connection[Any]
    processes: dict[str, psutil.Process]
    every_s: float
    samples: list[Sample] = field(default_factory=list)
    _began: float = field(default_factory=time.monotonic)
    _ended: threading.Event = field(default_factory=threading.Event)
    _thread: threading.Thread | None = None

    def look(self) -> Sample:
        connections = self.sql.execute(_CONNECTIONS).fetchone()
        age = self.sql.execute(_QUEUE_AGE).fetchone()
        assert connections and age
        memory = {name: one.memory_info().rss / 1e6 for name, one in self.processes.items()}
        sample = Sample(
            at_s=time.monotonic() - self._began,
            memory_mb=memory,
            connections=connections[0],
            queue_age_s=float(age[0]),
        )
        self.samples.append(sample)
        return sample

    def begin(self) -> None:
        self.look()
        self._thread = threading.Thread(target=self._go_on, daemon=True)
        self._thread.start()

    def _go_on(self) -> None:
        while not self._ended.wait(self.every_s):
            self.look()

    def end(self) -> None:
        self._ended.set()
        if self._thread:
            self._thread.join()
        self.look()


def slope_per_hour(samples: list[tuple[float, float]]) -> float:
    """How fast the second grows with the first (seconds), by least squares."""
    if len(samples) < 2:
        return 0.0
    return statistics.linear_regression(*zip(*samples, strict=True)).slope * 3600
