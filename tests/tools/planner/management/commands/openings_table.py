"""`manage.py openings_table`: how doors and windows fall in plans, as Markdown tables; no database."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from cabins.core.layout import read_layout
from inventory.core.chart import read_chart
from inventory.core.chart_line import profile_of_line
from inventory.core.measure import Unit
from planning.core.files import read_problem
from planning.core.openings_loop import share_of_budget
from planning.core.problem import WallPlan, WallProblem
from planning.core.problem_builder import CabinToPlan, LogToPlan, build_problem
from tests.tools.planner.opening_rows import OpeningRow, made_up_problems, opening_rows

PROBLEMS = ["tiny2-1", "tiny3-1", "tiny4-1", "S-1", "M-1", "L-1", "XL-1"]
HEADS = (
    "problem", "opening", "turns", "asked", "hole", "sill cut", "header cut", "infill", "of the log",
    "nominal hole", "nominal infill", "nominal of the log",
)  # fmt: skip


class Command(BaseCommand):
    """Plans the shared problems and made-up layouts in turns and by the nominal pitch."""

    help = "Tables of openings: asked, hole, cuts and infill, beside those of courses cut by a nominal pitch."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--folder", type=Path, default=Path(settings.BASE_DIR) / "tests/planning/data")
        parser.add_argument("--problems", nargs="*", default=PROBLEMS)
        parser.add_argument(
            "--demo",
            type=Path,
            nargs="?",
            default=Path(settings.BASE_DIR) / "fixtures",
            help="folder of the demo, whose cabins are planned from its yards as if nothing stood",
        )
        parser.add_argument("--made-up", type=int, default=100, help="so many made-up layouts")
        parser.add_argument("--moves", type=int, default=400_000, help="moves for all turns of a problem")
        parser.add_argument("--seed", type=int, default=1)

    def handle(self, *args: Any, **options: Any) -> None:
        from planning.core.search import make_plan

        moves, seed = options["moves"], options["seed"]

        def make(problem: WallProblem, start: WallPlan | None, turn: int) -> Any:
            some, _ = share_of_budget(turn, moves=moves, seconds=None)
            return make_plan(problem, moves=some, seed=seed, start=start)

        shared = [
            read_problem(json.loads((options["folder"] / f"{name}.json").read_text("utf-8")))
            for name in options["problems"]
        ]
        shared += demo_problems(options["demo"]) if options["demo"] else []
        rows = [row for problem in shared for row in opening_rows(problem, make)]
        self.stdout.write(as_table(rows))
        drawn = [
            row for p in made_up_problems(options["made_up"], seed=seed) for row in opening_rows(p, make)
        ]
        for name, some in (("shared problems", rows), ("made-up layouts", drawn)):
            if some:
                self.stdout.write(summary(name, some))


def demo_problems(folder: Path) -> list[WallProblem]:
    """Each cabin of the demo with the logs of all its yards, as charted."""
    school = json.loads((folder / "school.json").read_text("utf-8"))
    lines = [
        (yard["name"], line)
        for yard in school["yards"]
        for line in read_chart((folder / yard["chart"]).read_bytes(), unit=Unit(yard["unit"])).lines
    ]
    logs = [
        LogToPlan(
            id=f"{yard} {line.number}",
            profile=profile_of_line(line),
            crown_mm=None if line.crown_mm is None else float(line.crown_mm),
            culled=bool(line.culled),
        )
        for yard, line in lines
    ]
    return [
        build_problem(
            name=f"demo, {cabin['name']}",
            cabins=[
                CabinToPlan(
                    id=cabin["name"],
                    layout=read_layout(json.loads((folder / cabin["layout"]).read_text("utf-8"))),
                )
            ],
            logs=logs,
        )
        for cabin in school["cabins"]
    ]


def as_table(rows: Sequence[OpeningRow]) -> str:
    """The rows as a Markdown table, lengths in mm."""
    lines = [f"| {' | '.join(HEADS)} |", f"|{'---|' * len(HEADS)}"]
    for row in rows:
        cells = [
            row.problem, f"{row.cabin} {row.opening}", str(row.turns), f"{row.asked_mm:.0f}",
            f"{row.hole_mm:.0f}", f"{row.sill_cut_mm:.0f}", f"{row.header_cut_mm:.0f}",
            f"{row.infill_mm:.0f}",
            f"{row.deepest_share:.0%}", f"{row.nominal_hole_mm:.0f}", f"{row.nominal_infill_mm:.0f}",
            f"{row.nominal_share:.0%}",
        ]  # fmt: skip
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def summary(name: str, rows: Sequence[OpeningRow]) -> str:
    """How many of these openings fit or are told, and what they need at the median and at most."""
    told, sound = sum(row.is_told for row in rows), sum(row.is_sound for row in rows)
    infill = [row.infill_mm for row in rows]
    nominal = [row.nominal_infill_mm for row in rows]
    too_deep = sum(row.nominal_share > 0.5 for row in rows)
    return (
        f"{name}: {len(rows)} openings; {told} as asked or told within 10 mm, {sound} without a cut deeper "
        f"than "
        f"the share; infill {median(infill):.0f} mm at the median, {max(infill):.0f} at most (nominal: "
        f"{median(nominal):.0f}, {max(nominal):.0f}; {too_deep} cut more than half of a log); turns "
        f"{median(row.turns for row in rows):g} at the median, {max(row.turns for row in rows)} at most.\n"
    )
