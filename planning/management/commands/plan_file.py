"""`manage.py plan_file PROBLEM.json --seconds N --seed K --out PLAN.json`: plan without a database."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from planning.core.files import read_plan, read_problem, write_plan, write_problem
from planning.core.openings_loop import share_of_budget, take_turns
from planning.core.problem import WallPlan, WallProblem
from planning.core.reading import UnreadableFile


class Command(BaseCommand):
    """Reads a wall-problem/1 file, searches, writes a wall-plan/1 file and prints the judge's verdict."""

    help = "Plans the cabins of a wall-problem/1 file and writes a wall-plan/1 file; no database is touched."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("problem", type=Path, help="wall-problem/1 file")
        parser.add_argument("--out", type=Path, required=True, help="where the wall-plan/1 file is written")
        parser.add_argument(
            "--seconds", type=float, help="time for the search (10 when --moves is not given)"
        )
        parser.add_argument("--moves", type=int, help="moves for the search: the same plan on every run")
        parser.add_argument("--seed", type=int, default=0)
        parser.add_argument(
            "--problem-out",
            type=Path,
            help="plan in turns, cutting courses by the plan's own heights where a cabin has a `cut_share`, "
            "and "
            "write the problem as it was cut for the plan",
        )
        parser.add_argument("--start", type=Path, help="a plan to begin from")

    def handle(self, *args: Any, **options: Any) -> None:
        from planning.core.search import make_plan
        from planning.core.search.engine import BadBudget

        in_turns = options["problem_out"] is not None

        try:
            problem = read_problem(json.loads(options["problem"].read_text("utf-8")))
            start = options["start"] and read_plan(json.loads(options["start"].read_text("utf-8")))
        except UnreadableFile as unreadable:
            lines = [f"{fault.pointer or '/'}: {fault.text}" for fault in unreadable.faults]
            raise CommandError("The file cannot be planned with.\n" + "\n".join(lines)) from unreadable
        except (OSError, ValueError) as fault:
            raise CommandError(f"The file cannot be read: {fault}") from fault
        seconds, moves = options["seconds"], options["moves"]
        if seconds is None and moves is None:
            seconds = 10.0
        try:
            options["out"].touch()  # before the search, not after it

            def make(cut: WallProblem, begun: WallPlan | None, turn: int) -> Any:
                some = share_of_budget(turn, moves=moves, seconds=seconds) if in_turns else (moves, seconds)
                return make_plan(cut, moves=some[0], seconds=some[1], seed=options["seed"], start=begun)

            result: Any
            if in_turns:
                result = take_turns(problem, make, start=start or None)
                told = json.dumps(write_problem(result.problem), indent=1)
                options["problem_out"].write_text(f"{told}\n", "utf-8")
            else:
                result = make(problem, start or None, 0)
        except BadBudget as fault:
            raise CommandError(f"No search was made: {fault}.") from fault
        except OSError as fault:
            raise CommandError(f"The plan cannot be written: {fault}") from fault
        options["out"].write_text(json.dumps(write_plan(result.plan), indent=1) + "\n", "utf-8")
        report = result.report
        verdict = {
            "objective": round(report.objective, 3),
            "searched": result.searched,
            "feasible": report.feasible,
            "complete": report.complete,
            "errors": report.errors[:10],
            "terms": {name: round(value, 3) for name, value in report.terms.items()},
            "metrics": {name: round(value, 3) for name, value in report.metrics.items()},
            "shortages": [
                {"length": s.length_mm, "least_middle": s.least_middle_mm, "count": s.count}
                for s in report.shortages
            ],
            "moves": result.moves,
            "seconds": round(result.seconds, 2),
        }
        self.stdout.write(json.dumps(verdict, indent=1))
