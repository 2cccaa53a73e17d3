"""A crew that has every planner slot gives one back when another crew waits; nothing it found is lost."""

import time
from collections.abc import Callable

from django.db import connection

from planning.jobs.abandoned_jobs import TASK

# Between looks; what waits must be seen twice, for a slot may just be free.
_LOOK_SECONDS = 2.0
_STANDING = """
    WITH held AS (
        SELECT task.id, task.status, job.crew_id, job.crew_id = mine.crew_id AS is_ours
        FROM procrastinate_jobs AS task
        JOIN planning_planningjob AS job ON job.id = (task.args->>'job_id')::uuid
        CROSS JOIN (
            SELECT crew_id FROM planning_planningjob AS own JOIN procrastinate_jobs AS self
            ON own.id = (self.args->>'job_id')::uuid WHERE self.id = %(task)s
        ) AS mine
        WHERE task.task_name = %(name)s AND task.status IN ('todo', 'doing')
    )
    SELECT coalesce(bool_or(status = 'todo' AND NOT is_ours), false)
        AND NOT coalesce(bool_or(status = 'doing' AND NOT is_ours), false)
        AND count(*) FILTER (WHERE status = 'doing' AND is_ours) > 1
        AND max(id) FILTER (WHERE status = 'doing' AND is_ours) = %(task)s
    FROM held
"""


def must_give_way(task: int) -> bool:
    """Whether this task of the queue is the latest of a crew that holds every slot while another waits."""
    with connection.cursor() as cursor:
        cursor.execute(_STANDING, {"task": task, "name": TASK})
        return bool(cursor.fetchone()[0])


def giving_way(task: int, *, clock: Callable[[], float] = time.monotonic) -> Callable[[], bool]:
    """To be asked again and again while the task runs: whether it has had to give way at two looks."""
    seen, looked_at = 0, clock()

    def asked() -> bool:
        nonlocal seen, looked_at
        if seen < 2 and clock() - looked_at >= _LOOK_SECONDS:
            seen, looked_at = seen + 1 if must_give_way(task) else 0, clock()
        return seen >= 2

    return asked
