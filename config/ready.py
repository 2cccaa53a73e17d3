"""What `manage.py ready` looks at: what a server that others reach still lacks, each with what to do."""

import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass

from django.conf import settings
from django.core.checks import run_checks
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

_FREE_BYTES = 2 * 1024**3
_WORKERS = "SELECT count(*) FROM procrastinate_workers WHERE last_heartbeat > now() - interval '1 minute'"
_LATE = """
    SELECT job.queue_name, round(extract(epoch FROM now() - min(coalesce(job.scheduled_at, event.at))))
    FROM procrastinate_jobs job JOIN procrastinate_events event ON event.job_id = job.id
    WHERE job.status = 'todo' AND event.type = 'deferred'
      AND coalesce(job.scheduled_at, event.at) <= now() - interval '2 minutes'
    GROUP BY 1 ORDER BY 1
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """Something that is missing, and what to do about it."""

    missing: str
    to_do: str


def lacks() -> Iterator[Lack]:
    """Everything that is missing, settings first."""
    yield from _of_settings()
    yield from _of_django()
    try:
        yield from _of_database()
    except DatabaseError as fault:
        yield Lack(
            missing=f"The database does not answer: {str(fault).strip().splitlines()[0]}",
            to_do="Look at DATABASE_URL, and whether PostgreSQL runs.",
        )
    free = shutil.disk_usage(tempfile.gettempdir()).free
    if free < _FREE_BYTES:
        yield Lack(
            missing=f"{tempfile.gettempdir()} has {free // 1024**2} MB left.",
            to_do="Make room, or name another folder by TMPDIR: large bodies and archives lie there.",
        )


def _of_settings() -> Iterator[Lack]:
    if settings.DEBUG:
        yield Lack(
            missing="Debug pages are on: they show settings to everybody.", to_do="Unset ROUNDLAY_DEBUG."
        )
    if not settings.HTTPS:
        yield Lack(
            missing="Keys and cookies go unencrypted.",
            to_do="Let a proxy end TLS, and set ROUNDLAY_HTTPS=1 and ROUNDLAY_BEHIND_PROXY=1.",
        )
    if set(settings.ALLOWED_HOSTS) <= {"localhost", "127.0.0.1", "[::1]"}:
        yield Lack(
            missing="The service answers to no name but this machine's own.",
            to_do="Set ROUNDLAY_ALLOWED_HOSTS to the name that people use.",
        )
    if hasattr(settings, "SECURE_PROXY_SSL_HEADER") and not settings.TRUSTED_PROXIES:
        yield Lack(
            missing="Behind a proxy all strangers count as one address, and share one limit.",
            to_do="Set ROUNDLAY_TRUSTED_PROXIES to the proxy's address, 127.0.0.1 if it is on this machine.",
        )
    if settings.WEBHOOKS_TO_PRIVATE:
        yield Lack(
            missing="Crews may have events sent into this machine's own network.",
            to_do="Unset ROUNDLAY_WEBHOOKS_TO_PRIVATE, unless every lead may reach all that lies there.",
        )


def _of_django() -> Iterator[Lack]:
    """Django's own checks; those of HTTPS are told above, in one."""
    told_above = {"security.W004", "security.W008", "security.W012", "security.W016"}
    for found in run_checks(include_deployment_checks=True):
        if not found.is_silenced() and (settings.HTTPS or found.id not in told_above):
            yield Lack(
                missing=f"{found.msg} ({found.id})", to_do=found.hint or "See manage.py check --deploy."
            )


def _of_database() -> Iterator[Lack]:
    with connection.cursor() as cursor:
        executor = MigrationExecutor(connection)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if plan:
            yield Lack(missing=f"{len(plan)} migrations are not made.", to_do="python manage.py migrate")
            return
        cursor.execute("SELECT EXISTS (SELECT 1 FROM crews_crew)")
        if cursor.fetchone() == (False,):
            yield Lack(missing="There is no crew.", to_do='python manage.py found_crew "NAME" --lead "NAME"')
        cursor.execute(_WORKERS)
        [working] = cursor.fetchone() or [0]
        if working < 2:
            yield Lack(
                missing=f"{working} workers are alive; planning and the default queue have one each.",
                to_do="Start both (docs/running/production.md): else nothing is planned, and no event sent.",
            )
        cursor.execute(_LATE)
        for queue, age in cursor.fetchall():
            yield Lack(
                missing=f"The oldest job of the queue {queue} waits for {age:.0f} s.",
                to_do=f"See whether a worker takes the queue {queue}, and what its log says.",
            )
