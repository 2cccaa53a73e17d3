"""The worker at its job: cancelled, killed, superseded, taken up again; nothing is lost but time."""

import asyncio
import subprocess
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from itertools import pairwise
from uuid import UUID, uuid4

import pytest
from django.db import OperationalError, connection, connections
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateJob

from planning.jobs import planner_process
from planning.jobs import tasks as worker
from planning.jobs.abandoned_jobs import requeue_unheld_jobs, take_up_left_jobs
from planning.jobs.fair_slots import giving_way, must_give_way
from planning.jobs.models import JobState, PlanningJob, PlanningStart
from planning.jobs.starts import end_start, keep_progress, take_up
from planning.jobs.tasks import run_start
from planning.plans.models import Plan
from tests.people import MORNING
from tests.planning.planning_yard import a_hut, ask, logs_enough

pytestmark = pytest.mark.django_db(transaction=True)


def a_job(someone, seconds: int = 30, **asked) -> PlanningJob:
    answer = ask(someone, [a_hut(someone)], [logs_enough(someone)[0].yard_id], seconds=seconds, **asked)
    return PlanningJob.objects.get(id=answer.body["id"])


@contextmanager
def at_work(job: PlanningJob, should_abort: Callable[[], bool] = lambda: False):
    """A worker at the job, in a thread of its own."""

    def work() -> None:
        try:
            run_start(job.id, should_abort=should_abort)
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
    wait_for(lambda: PlanningStart.objects.filter(job=job, best__isnull=False).exists())


def test_a_cancelled_job_ends_soon_and_keeps_its_best(builder):
    job = a_job(builder, seconds=120)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        builder.post(f"planning-jobs/{job.id}/cancel")
        done.result(timeout=60)

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
    run_start(job.id)
    ended = PlanningJob.objects.get(id=job.id)
    assert ended.state == JobState.DONE
    assert ended.objective <= before + 1e-6, "it went on from the best so far"


def test_a_run_that_was_taken_over_writes_nothing_more(builder):
    job = a_job(builder)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        PlanningStart.objects.filter(job=job).update(run=uuid4())
        done.result(timeout=20)

    assert PlanningJob.objects.get(id=job.id).state == JobState.RUNNING
    assert not Plan.objects.exists()


@pytest.fixture
def children(monkeypatch):
    """The planners that were started, the latest last; none was warm before."""
    planner_process.end_warm_planners()
    started = []
    start = subprocess.Popen

    def remember(*args, **kwargs):
        started.append(start(*args, **kwargs))
        return started[-1]

    monkeypatch.setattr(planner_process.subprocess, "Popen", remember)
    return started


def test_a_planner_that_is_killed_is_started_again_from_the_best(builder, children):
    job = a_job(builder, seconds=6)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        children[0].kill()
        done.result(timeout=60)

    ended = PlanningJob.objects.get(id=job.id)
    assert (ended.state, len(children)) == (JobState.DONE, 2)
    assert Plan.objects.get(job=job).complete


def test_a_planner_that_is_killed_each_time_fails_the_job_with_a_reason(builder, children):
    job = a_job(builder)

    with at_work(job) as done:
        for started in range(1, worker._STARTS + 1):
            wait_for(lambda started=started: len(children) == started)
            children[-1].kill()
        done.result(timeout=60)

    ended = PlanningJob.objects.get(id=job.id)
    assert ended.state == JobState.FAILED
    assert "planner failed" in ended.reason
    assert len(children) == worker._STARTS


def test_a_job_whose_database_goes_away_is_not_failed_but_taken_up_again(builder):
    job = a_job(builder, seconds=6)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        with pytest.raises(OperationalError):
            done.result(timeout=60)
    # This process's pool holds what was ended; the service's worker begins anew.
    connection.close()
    connection.close_pool()

    ProcrastinateJob.objects.filter(args__job_id=str(job.id)).delete()
    assert PlanningJob.objects.get(id=job.id).state == JobState.RUNNING
    assert requeue_unheld_jobs() == 1
    run_start(job.id)
    assert PlanningJob.objects.get(id=job.id).state == JobState.DONE


def test_a_job_that_nobody_holds_goes_back_into_the_queue(builder):
    job = a_job(builder)
    ProcrastinateJob.objects.all().delete()
    PlanningJob.objects.filter(id=job.id).update(state=JobState.RUNNING)

    first, again = requeue_unheld_jobs(), requeue_unheld_jobs()

    assert (first, again) == (1, 0)
    assert [UUID(j.args["job_id"]) for j in ProcrastinateJob.objects.filter(status="todo")] == [job.id]


def test_work_of_a_lost_worker_goes_back_or_gives_way_to_the_same_work_in_the_queue(builder):
    ProcrastinateJob.objects.all().delete()
    lost, alone = doing("deliver 1"), doing("deliver 2")
    app.configure_task("crews.deliver", queueing_lock="deliver 1").defer(webhook_id="1")

    asyncio.run(take_up_left_jobs())

    state_of = dict(ProcrastinateJob.objects.values_list("id", "status"))
    assert (state_of.pop(lost), state_of.pop(alone)) == ("failed", "todo")
    assert list(state_of.values()) == ["todo"]


def doing(lock: str) -> int:
    """A task that a worker had when it was lost."""
    id = app.configure_task("crews.deliver", queueing_lock=lock, lock=lock).defer(webhook_id=lock)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = 'doing' WHERE id = %s", [id])
    return id


@pytest.mark.parametrize(
    ("task", "seconds"),
    [
        ("planning.take_up_left_jobs", 20),
        ("planning.look_for_stale_plans", 30),
        ("crews.look_for_due_deliveries", 15),
    ],
)
def test_what_was_left_is_looked_for_at_short_intervals_all_day(task, seconds):
    (when,) = (one for one in app.periodic_registry.periodic_tasks.values() if one.task.name == task)
    dates = when.croniter
    times = [dates.get_next(float) for _ in range(500)]

    assert {after - before for before, after in pairwise(times)} == {seconds}


def test_a_crew_with_many_jobs_does_not_hold_up_another(builder, stranger):
    hut, yard = a_hut(builder), logs_enough(builder)[0].yard_id
    many = [ask(builder, [hut], [yard]).body["id"] for _ in range(4)]
    one = a_job(stranger)

    queued = ProcrastinateJob.objects.filter(status="todo").order_by("-priority", "id")
    ours = {*many, str(one.id)}  # the queue's table outlives the tests before
    order = [job.args["job_id"] for job in queued if job.args.get("job_id") in ours]

    assert order == [many[0], str(one.id), *many[1:]]


def test_a_planner_that_has_answered_is_kept_for_the_next_job(builder, stranger, children):
    first, second = a_job(builder, seconds=1), a_job(stranger, seconds=1)

    for job in (first, second):
        run_start(job.id)

    assert len(children) == 1
    assert PlanningJob.objects.filter(state=JobState.DONE, id__in=[first.id, second.id]).count() == 2


def test_a_planner_that_died_while_it_waited_is_replaced(builder, stranger, children):
    first, second = a_job(builder, seconds=1), a_job(stranger, seconds=1)
    run_start(first.id)
    children[0].kill()
    children[0].wait()

    run_start(second.id)

    assert len(children) == 2
    assert PlanningJob.objects.get(id=second.id).state == JobState.DONE


def test_the_end_of_the_worker_ends_its_planner(builder):
    job = a_job(builder)
    planner = planner_process.PlannerProcess()
    planner.ask(worker._request_of(job.searches.get()))
    planner.next_event(timeout=60)

    planner._child.stdin.close()

    assert planner._child.wait(timeout=5) == 1
    planner.kill()


@pytest.fixture
def short_searches(monkeypatch):
    """Starts search 5,000 moves; their seeds, in the order in which they began."""
    seeds = []
    by_seconds = worker._request_of

    def by_moves(start):
        request = by_seconds(start) | {"seconds": None, "moves": 5_000}
        seeds.append(request["seed"])
        return request

    monkeypatch.setattr(worker, "_request_of", by_moves)
    return seeds


def test_independent_starts_are_tasks_of_their_own_and_the_best_plan_is_kept(builder, short_searches):
    hut, yard = a_hut(builder), logs_enough(builder)[0].yard_id
    single = [ask(builder, [hut], [yard], seed=seed).body["id"] for seed in (5, 6, 7)]
    for id in single:
        run_start(UUID(id))
    alone = [Plan.objects.get(job=id).objective for id in single]
    short_searches.clear()
    job = ask(builder, [hut], [yard], seed=5, starts=3).body
    tasks = ProcrastinateJob.objects.filter(status="todo", args__job_id=job["id"])
    numbers = sorted(task.args["start"] for task in tasks)

    so_far = []
    for number in (2, 0, 1):
        assert not Plan.objects.filter(job=job["id"]).exists()
        run_start(UUID(job["id"]), number)
        so_far.append(builder.get(f"planning-jobs/{job['id']}").body)

    assert (numbers, short_searches) == ([0, 1, 2], [7, 5, 6])
    assert [one["state"] for one in so_far] == ["running", "running", "done"]
    assert [one["fraction"] for one in so_far] == pytest.approx([1 / 3, 2 / 3, 1], rel=1e-4)
    assert [one["objective"] for one in so_far] == pytest.approx(
        [alone[2], min(alone[0], alone[2]), min(alone)], abs=0.005
    )
    assert len(set(alone)) > 1
    assert Plan.objects.get(job=job["id"]).objective == pytest.approx(min(alone))
    assert not PlanningStart.objects.filter(job=job["id"]).exists()


def test_a_start_that_nobody_holds_is_taken_up_alone(builder):
    job = a_job(builder, starts=3)
    ProcrastinateJob.objects.filter(args__job_id=str(job.id), args__start=1).delete()

    again = (requeue_unheld_jobs(), requeue_unheld_jobs())

    held = ProcrastinateJob.objects.filter(status="todo", args__job_id=str(job.id))
    assert again == (1, 0)
    assert sorted(task.args["start"] for task in held) == [0, 1, 2]


def test_a_start_taken_over_writes_nothing_and_the_others_go_on(builder, short_searches):
    job = a_job(builder, starts=2)
    first, second = (take_up(job.id, number, at=MORNING) for number in (0, 1))

    taken_over = take_up(job.id, 0, at=MORNING)
    lost = keep_progress(first, {"fraction": 0.5, "moves": 9}, done_before=0)
    end_start(first, reason="Nobody waits for this.", at=MORNING)
    kept = keep_progress(second, {"fraction": 0.5, "moves": 9}, done_before=0)

    job.refresh_from_db()
    assert (lost, kept, taken_over.ended_at) == (None, False, None)
    assert (job.fraction, job.moves, job.searches.filter(ended_at=None).count()) == (0.25, 9, 2)


def test_cancelling_ends_the_starts_that_nobody_began_with_the_one_at_work(builder):
    job = a_job(builder, seconds=120, starts=4)

    with at_work(job) as done:
        wait_for_a_best_plan(job)
        builder.post(f"planning-jobs/{job.id}/cancel")
        done.result(timeout=60)

    ended = builder.get(f"planning-jobs/{job.id}").body
    assert (ended["state"], ended["fraction"]) == ("cancelled", 1)
    assert builder.get(f"plans/{ended['plan_id']}").body["complete"]
    run_start(job.id, 3)
    assert Plan.objects.filter(job=job).count() == 1


def test_a_start_that_fails_costs_its_plan_and_not_the_job(builder, short_searches, monkeypatch):
    job = a_job(builder, starts=2)

    with monkeypatch.context() as broken:
        broken.setattr(worker, "take_planner", lambda: 1 / 0)
        run_start(job.id, 0)
    run_start(job.id, 1)

    job.refresh_from_db()
    assert (job.state, job.reason) == (JobState.DONE, "")
    assert Plan.objects.get(job=job).complete


def test_a_job_of_many_starts_does_not_hold_up_another_crew(builder, stranger):
    many, one = a_job(builder, starts=4), a_job(stranger)

    queued = ProcrastinateJob.objects.filter(status="todo", args__job_id__in=[str(many.id), str(one.id)])
    order = [(task.args["job_id"], task.args["start"]) for task in queued.order_by("-priority", "id")]

    first = (str(many.id), 0)
    assert order == [first, (str(one.id), 0), *((str(many.id), number) for number in (1, 2, 3))]


def jobs_of(someone, count: int) -> list[PlanningJob]:
    """Planning jobs of one crew, one after the other."""
    hut, yard = a_hut(someone), logs_enough(someone)[0].yard_id
    asked = [ask(someone, [hut], [yard]).body["id"] for _ in range(count)]
    return [PlanningJob.objects.get(id=id) for id in asked]


def at_slots(*jobs: PlanningJob) -> list[int]:
    """The queue's tasks of these jobs, each at a worker's slot."""
    ids = [ProcrastinateJob.objects.get(args__job_id=str(job.id), status="todo").id for job in jobs]
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET status = 'doing' WHERE id = ANY(%s)", [ids])
    return ids


@pytest.fixture
def empty_queue(db):
    ProcrastinateJob.objects.all().delete()


def test_a_crew_with_every_slot_gives_its_latest_back_when_another_waits(empty_queue, builder, stranger):
    first, second = at_slots(*jobs_of(builder, 2))
    assert not must_give_way(second), "nobody waits"

    one, _ = jobs_of(stranger, 2)
    assert [must_give_way(task) for task in (first, second)] == [False, True]

    at_slots(one)
    assert [must_give_way(task) for task in (first, second)] == [False, False], "the other crew has a slot"


def test_a_crew_with_one_slot_keeps_it_whoever_waits(empty_queue, builder, stranger):
    first, _ = jobs_of(builder, 2)
    (only,) = at_slots(first)
    jobs_of(stranger, 1)

    assert not must_give_way(only)


def test_who_waits_for_a_moment_only_takes_no_slot(empty_queue, builder, stranger):
    _, second = at_slots(*jobs_of(builder, 2))
    moments = iter([0.0, 1.0, 2.5, 2.5, 3.0, 5.0, 5.0])
    asked = giving_way(second, clock=lambda: next(moments))
    jobs_of(stranger, 1)

    assert [asked() for _ in range(4)] == [False, False, False, True]


def test_a_start_that_gave_way_waits_behind_the_other_crew_and_loses_nothing(empty_queue, builder, stranger):
    first, second = jobs_of(builder, 2)
    at_slots(first, second)
    (waiting,) = jobs_of(stranger, 1)
    PlanningStart.objects.filter(job=second).update(fraction=0.5, best={"pieces": []})

    worker.wait_again(second.id, 0)

    queued = ProcrastinateJob.objects.filter(status="todo").order_by("-priority", "id")
    assert [task.args["job_id"] for task in queued] == [str(waiting.id), str(second.id)]
    assert PlanningStart.objects.get(job=second).best == {"pieces": []}
