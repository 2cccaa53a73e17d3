"""The take-off against full plans: what it counts fills every place, as it cuts and as the planner does."""

from typing import Any

import pytest

from cabins.core.layout import read_layout
from inventory.core.profile import profile_of
from planning.core.check import judge
from planning.core.problem import PlanPiece, WallPlan, WallProblem
from planning.core.problem_builder import USUAL_PARAMS, CabinToPlan, LogToPlan, build_problem
from planning.core.search import make_plan
from planning.core.takeoff.lines import NeededLog
from planning.core.takeoff.needs import CabinToBuild, PartUse
from planning.core.takeoff.take_off import Choices, TakeOff, take_off
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape

TAPER_PER_M = 7.0
LAYOUTS = pytest.mark.parametrize(
    "document",
    [a_rectangle(openings=[]), a_rectangle(), an_l_shape(), a_rectangle(partitions=[a_partition()])],
    ids=["a plain rectangle", "a door and a window", "an L", "a partition"],
)


def to_the_letter(found: TakeOff) -> list[tuple[NeededLog, LogToPlan]]:
    """A mill's delivery: what is needed and what came, middles spread over each line's band.

    What half logs are ripped from is left out, as the planner does not know of it.
    """
    pairs = []
    for number, line in enumerate(found.lines):
        needed = [log for log in line.logs if log.targets[0].use is not PartUse.HALF_LOG]
        for n, log in enumerate(needed):
            share = (n + 0.5) / len(needed)
            middle = line.least_middle_mm + share * (line.largest_middle_mm - line.least_middle_mm)
            half_taper = TAPER_PER_M * line.length_mm / 2000
            profile = profile_of(
                length_mm=line.length_mm,
                butt_mm=middle + half_taper + 6,
                middle_mm=middle,
                tip_mm=middle - half_taper,
            )
            pairs.append((log, LogToPlan(id=f"{number}-{n}", profile=profile, crown_mm=4.0 + n % 4)))
    return pairs


def counted(
    document: dict[str, Any], *, spare_rounds: int
) -> tuple[WallProblem, list[tuple[NeededLog, LogToPlan]]]:
    """The layout as the planner takes it, with a yard that has exactly the take-off."""
    layout = read_layout(document)
    found = take_off(
        cabins=[CabinToBuild(name="Lake cabin", layout=layout)], choices=Choices(spare_rounds=spare_rounds)
    )
    pairs = to_the_letter(found)
    problem = build_problem(
        name="to the letter",
        cabins=[CabinToPlan(id="Lake cabin", layout=layout)],
        logs=[log for _, log in pairs],
    )
    return problem, pairs


def pieces_of(needed: NeededLog, log: LogToPlan) -> list[PlanPiece]:
    """The pieces of one log, one behind the other from the butt, as the take-off counts them."""
    pieces, at_mm = [], USUAL_PARAMS.trim_each_end_mm
    for target in needed.targets:
        assert target.wall is not None
        assert target.round is not None
        assert target.piece is not None
        pieces.append(
            PlanPiece(
                cabin="Lake cabin",
                wall=target.wall,
                round=target.round,
                piece=target.piece,
                log=log.id,
                from_butt_mm=at_mm,
                butt_at="start" if target.round % 2 else "end",
            )
        )
        at_mm += target.length_mm + 2 * USUAL_PARAMS.trim_each_end_mm + USUAL_PARAMS.kerf_mm
    return pieces


@LAYOUTS
def test_cut_as_counted_the_logs_fill_every_place_by_the_judges_rules(document: dict[str, Any]):
    problem, pairs = counted(document, spare_rounds=0)

    pieces = tuple(piece for needed, log in pairs for piece in pieces_of(needed, log))
    report = judge(problem, WallPlan(problem=problem.name, pieces=pieces))

    assert report.errors == []
    assert report.shortages == []
    assert report.complete


@LAYOUTS
def test_a_yard_that_has_exactly_the_take_off_and_its_spare_is_plannable(document: dict[str, Any]):
    problem, _ = counted(document, spare_rounds=1)

    plan = make_plan(problem, moves=300_000, seed=5)

    assert plan.report.shortages == []
    assert plan.report.complete
    assert plan.report.feasible
