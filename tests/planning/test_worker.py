"""The worker at its job: cancelled, killed, superseded, taken up again; nothing is lost but time."""

import subprocess
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from uuid import UUID, uuid4

import pytest
from django.db import connections
from procrastinate.contrib.django.models import ProcrastinateJob

from planning import worker
from planning.left_jobs import requeue_unheld_jobs
from planning.models import JobState, Plan, PlanningJob
from planning.worker import run_job
from tests.planning.planning_yard import a_hut, ask, logs_enough

pytestmark = pytest.mark.django_db(transaction=True)


def a_job(someone, seconds: int = 30) -> PlanningJob:
    answer = ask(someone, [a_hut(someone)], [logs_enough(someone)[0].yard_id], seconds=seconds)
    return PlanningJob.objects.get(id=answer.body["id"])


@contextmanager
def at_work(job: PlanningJob, should_abort: Callable[[], bool] = lambda: False):
    """A worker at the job, in a thread of its own."""

    def work() -> None:
        try:
            run_job(job.id, should_abort=should_abort)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(1) as pool:
        yield pool.submit(work)


def wait_for(said: Callable[[], bool], seconds: float = 20) -> None:
    for _ in range(int(seconds * 20)):
        if said():
            return
        time.sleep(0.05)
    raise AssertionError("it did not happen in time")


def wait_for_a_best_plan(job: PlanningJob) -> None:
    wait_for(lambda: PlanningJob.objects.exclude(best=None).filter(id=job.id).exists())


def test_a_cancelled_job_ends_soon_and_keeps_its_best(builder):
    job = a_job(builder)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        builder.post(f"planning-jobs/{job.id}/cancel")
        began = time.monotonic()
        done.result(timeout=20)

    assert time.monotonic() - began < 5
    ended = builder.get(f"planning-jobs/{job.id}").body
    assert ended["state"] == "cancelled"
    assert "kept" in ended["reason"]
    assert builder.get(f"plans/{ended['plan_id']}").body["complete"]


def test_a_worker_that_stops_leaves_the_job_for_another_which_goes_on_from_the_best(builder):
    job = a_job(builder, seconds=4)
    stopping: Future[None] = Future()

    with at_work(job, should_abort=stopping.done) as done:
        wait_for_a_best_plan(job)
        stopping.set_result(None)
        done.result(timeout=20)

    left = PlanningJob.objects.get(id=job.id)
    assert (left.state, left.ended_at) == (JobState.RUNNING, None)
    before = left.objective
    run_job(job.id)
    ended = PlanningJob.objects.get(id=job.id)
    assert ended.state == JobState.DONE
    assert ended.objective <= before + 1e-6, "it went on from the best so far"


def test_a_run_that_was_taken_over_writes_nothing_more(builder):
    job = a_job(builder)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        PlanningJob.objects.filter(id=job.id).update(run=uuid4())
        done.result(timeout=20)

    assert PlanningJob.objects.get(id=job.id).state == JobState.RUNNING
    assert not Plan.objects.exists()


def test_a_killed_planner_fails_the_job_with_a_reason(builder, monkeypatch):
    job = a_job(builder)
    children = []
    start = subprocess.Popen

    def remember(*args, **kwargs):
        children.append(start(*args, **kwargs))
        return children[-1]

    monkeypatch.setattr(worker.subprocess, "Popen", remember)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        children[0].kill()
        done.result(timeout=20)

    ended = PlanningJob.objects.get(id=job.id)
    assert ended.state == JobState.FAILED
    assert "planner failed" in ended.reason


def test_a_job_that_nobody_holds_goes_back_into_the_queue(builder):
    job = a_job(builder)
    ProcrastinateJob.objects.all().delete()
    PlanningJob.objects.filter(id=job.id).update(state=JobState.RUNNING)

    first, again = requeue_unheld_jobs(), requeue_unheld_jobs()

    assert (first, again) == (1, 0)
    assert [UUID(j.args["job_id"]) for j in ProcrastinateJob.objects.filter(status="todo")] == [job.id]


def test_a_crew_with_many_jobs_does_not_hold_up_another(builder, stranger):
    hut, yard = a_hut(builder), logs_enough(builder)[0].yard_id
    many = [ask(builder, [hut], [yard]).body["id"] for _ in range(4)]
    one = a_job(stranger)

    queued = ProcrastinateJob.objects.filter(status="todo").order_by("-priority", "id")
    ours = {*many, str(one.id)}  # the queue's table outlives the tests before
    order = [job.args["job_id"] for job in queued if job.args.get("job_id") in ours]

    assert order == [many[0], str(one.id), *many[1:]]


def test_the_end_of_the_worker_ends_its_planner(builder):
    job = a_job(builder)
    request = worker._request_of(job)
    child = subprocess.Popen(
        [worker.sys.executable, "-m", "planning.core.search.child"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=worker.settings.BASE_DIR,
    )  # fmt: skip
    child.stdin.write(worker.json.dumps(request) + "\n")
    child.stdin.flush()
    child.stdout.readline()

    child.stdin.close()

    child.wait(timeout=5)
    child.stdout.close()
