"""Plans that no search made: a log laid into each place by chance, judged and stored as a worker would."""

from random import Random
from typing import Any
from uuid import UUID

from planning.core.check import course_places, judge
from planning.core.files import read_problem, write_plan
from planning.core.problem import PlanPiece, WallPlan
from planning.core.reports import report_document
from planning.jobs import tasks
from planning.jobs.models import PlanningJob, PlanningStart
from planning.jobs.starts import StartResult, end_start
from tests.people import MORNING
from tests.planning.planning_yard import ask


def a_made_up_plan(someone: Any, cabin: str, yards: list[UUID], chance: Random) -> str:
    """A plan with a log of its own in every open place of the cabin, drawn by `chance`; its id."""
    start = PlanningStart.objects.get(job=ask(someone, [cabin], yards).body["id"])
    problem = read_problem(tasks._request_of(start)["problem"])
    taken = {piece.place for piece in problem.pinned}
    used = {piece.log for piece in problem.pinned}
    logs = [log.id for log in problem.logs if log.id not in used]
    chance.shuffle(logs)
    open_places = [
        (wall.id, number, piece)
        for drawn in problem.cabins
        for wall in drawn.walls
        for number in range(1, drawn.rounds + 1)
        for piece, _ in enumerate(course_places(drawn, wall, number, problem.params))
        if (cabin, wall.id, number, piece) not in taken
    ]
    laid = [
        PlanPiece(
            cabin=cabin,
            wall=wall,
            round=number,
            piece=piece,
            log=log,
            from_butt_mm=30.0,
            butt_at="start" if chance.random() < 0.5 else "end",
        )
        for (wall, number, piece), log in zip(open_places, logs, strict=False)
    ]
    plan = WallPlan(problem=problem.name, pieces=(*problem.pinned, *laid))
    report = report_document(judge(problem, plan)) | {"sure": [], "trade_offs": []}
    end_start(start, found=StartResult(plan=write_plan(plan), report=report, courses={}), at=MORNING)
    return str(PlanningJob.objects.get(id=start.job_id).plan.id)
