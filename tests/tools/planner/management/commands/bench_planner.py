"""`manage.py bench_planner`: the planner's figures as Markdown tables, all by the judge; no database."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from planning.core.files import read_problem
from planning.core.problem import WallProblem

PARTS = (
    "quality", "baselines", "growth", "memory", "again", "change", "habits", "hands", "sure", "seasons",
    "proof",
)  # fmt: skip


class Command(BaseCommand):
    """Runs all parts, or those named, on the problems of a folder."""

    help = "Measures the planner on the problems in tests/planning/data (or --folder)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("parts", nargs="*", default=list(PARTS), help=f"of {', '.join(PARTS)}")
        parser.add_argument("--folder", type=Path, default=Path(settings.BASE_DIR) / "tests/planning/data")
        parser.add_argument("--problems", nargs="+", default=["S-1", "M-1", "L-1", "XL-1"])
        parser.add_argument("--seconds", nargs="+", type=float, default=[10.0, 60.0])
        parser.add_argument("--seeds", type=int, default=5)
        parser.add_argument("--plot", type=Path, help="where the drawing of the growth goes (SVG)")
        parser.add_argument(
            "--moves", type=int, default=25_000_000, help="moves of each search counted by moves"
        )
        parser.add_argument("--states", type=int, default=20, help="states of each cabin in `change`")
        parser.add_argument("--seasons", type=int, default=200, help="seasons of each cabin in `seasons`")

    def handle(self, *args: Any, **options: Any) -> None:
        from planning.core.search.warm import main as warm

        warm()
        self.options = options
        for part in options["parts"]:
            if part not in PARTS:
                self.stderr.write(f"There is no part {part}; there are {', '.join(PARTS)}.")
                sys.exit(2)
            self.stdout.write(f"\n## {part}\n")
            getattr(self, f"print_{part}")()

    def problem(self, name: str) -> WallProblem:
        return read_problem(json.loads((self.options["folder"] / f"{name}.json").read_text("utf-8")))

    def print_quality(self) -> None:
        from tests.tools.planner.bench import as_table, quality_rows

        rows = []
        for seconds in self.options["seconds"]:
            for name in self.options["problems"]:
                rows += quality_rows(self.problem(name), seconds=seconds, seeds=self.options["seeds"])
        for name in ("tiny2-1", "tiny3-1", "tiny4-1"):
            rows += quality_rows(self.problem(name), seconds=1.0, seeds=self.options["seeds"])
        self.stdout.write(as_table(rows))

    def print_baselines(self) -> None:
        from tests.tools.planner.bench import as_table, baseline_rows

        rows = [
            row
            for name in self.options["problems"]
            for row in baseline_rows(self.problem(name), seconds=self.options["seconds"][0])
        ]
        self.stdout.write(as_table(rows))

    def print_growth(self) -> None:
        from tests.tools.planner.bench import as_table, growth_row, growth_svg

        rows = [growth_row(self.problem(name)) for name in self.options["problems"]]
        self.stdout.write(as_table(rows))
        if self.options["plot"]:
            self.options["plot"].write_text(growth_svg(rows), "utf-8")

    def print_memory(self) -> None:
        name = self.options["problems"][-1]
        request = json.loads((self.options["folder"] / f"{name}.json").read_text("utf-8"))
        child = subprocess.Popen(
            [sys.executable, "-m", "planning.core.search.child"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            cwd=settings.BASE_DIR,
        )
        assert child.stdin is not None and child.stdout is not None
        child.stdin.write(json.dumps({"problem": request, "seconds": 5}).encode() + b"\n")
        child.stdin.flush()
        for line in child.stdout:
            if json.loads(line)["event"] in ("done", "failed"):
                break
        child.stdin.close()
        child.wait()
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        self.stdout.write(f"{name}: a search of 5 s in a process of its own needs {most:.0f} MB at most.")

    def print_again(self) -> None:
        from tests.tools.planner.bench import again_rows, as_table

        rows = []
        for name in [n for n in self.options["problems"] if len(self.problem(n).cabins) == 1]:
            rows += again_rows(
                self.problem(name),
                seconds=5.0,
                fresh_seconds=30.0,
                plan_seconds=self.options["seconds"][0],
                seeds=self.options["seeds"],
            )
        self.stdout.write(as_table(rows))

    def print_change(self) -> None:
        from tests.tools.planner.bench import as_table, change_rows

        rows = []
        for name in [n for n in self.options["problems"] if len(self.problem(n).cabins) == 1]:
            rows += change_rows(
                self.problem(name), moves=self.options["moves"], states=self.options["states"]
            )
        self.stdout.write(as_table(rows))

    def print_habits(self) -> None:
        from tests.tools.planner.bench import as_table, habit_rows

        rows = []
        for name in self.options["problems"]:
            rows += habit_rows(self.problem(name), moves=self.options["moves"], seeds=self.options["seeds"])
        self.stdout.write(as_table(rows))

    def print_hands(self) -> None:
        from tests.tools.planner.bench import as_table, hands_rows

        rows = []
        for name in self.options["problems"]:
            rows += hands_rows(
                self.problem(name), moves=self.options["moves"], seeds=self.options["seeds"],
                threads=(2, 4, 8, 16),
            )  # fmt: skip
        self.stdout.write(as_table(rows))

    def print_sure(self) -> None:
        from tests.tools.planner.bench import as_table, sure_rows

        rows = []
        for name in [n for n in self.options["problems"] if len(self.problem(n).cabins) == 1]:
            rows += sure_rows(self.problem(name), moves=self.options["moves"])
        self.stdout.write(as_table(rows))

    def print_seasons(self) -> None:
        from tests.tools.planner.bench import as_table, season_rows

        began = os.getloadavg()[0]
        rows = []
        for name in [n for n in self.options["problems"] if len(self.problem(n).cabins) == 1]:
            rows += season_rows(
                self.problem(name), moves=self.options["moves"], seasons=self.options["seasons"]
            )
        self.stdout.write(as_table(rows))
        self.stdout.write(
            f"\nLoad average {began:.1f} at the start, {os.getloadavg()[0]:.1f} at the end: it changes how "
            "long it takes, no figure."
        )

    def print_proof(self) -> None:
        from tests.tools.planner.bench import as_table, proof_row

        self.stdout.write(as_table([proof_row(self.problem("tiny2-1"))]))
