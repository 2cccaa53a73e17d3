"""`make bench`: what the service costs beside the database alone, as ratios measured side by side.

Needs no network beyond this machine and leaves nothing behind. `ARGS="--only page --runs 9"` measures less.
"""

import argparse
import subprocess
import sys
from collections.abc import Callable

import django

from config.home import PROJECT
from tests.bench import archives, building, charts, lists, load
from tests.bench.service import throwaway_database, whole_service
from tests.bench.world import Result, World, a_world

ROWS: dict[str, Callable[[World], Result]] = {
    "start": load.start_up,
    "memory": load.web_memory,
    "page": lists.page_of_logs,
    "history": lists.history,
    "progress": building.progress,
    "batch": building.batch,
    "adopt": building.adopt,
    "load": load.mixed_load,
    "sheet": building.setting_sheet,
    "elevation": building.elevation,
    "import": charts.chart_in,
    "export": charts.chart_out,
    "archive-out": archives.archive_out,
    "archive-in": archives.archive_in,
    "last-page": lists.last_page,  # after all others: a million logs stay in the table
}


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def main() -> int:
    reader = argparse.ArgumentParser(description="What the service costs beside the database alone.")
    reader.add_argument("--only", nargs="+", choices=ROWS, default=list(ROWS), help="rows to measure")
    reader.add_argument("--runs", type=int, choices=range(2, 100), default=9, metavar="N", help="2 to 99")
    asked = reader.parse_args()
    missed = 0
    with throwaway_database() as url:
        subprocess.run([sys.executable, "manage.py", "migrate", "--verbosity", "0"], cwd=PROJECT, check=True)
        django.setup()
        with whole_service(url) as service:
            say(f"{'what':<46} {'measured':>10} {'bar':>8}         medians and noise")
            for name in asked.only:
                result = ROWS[name](a_world(service, name=f"Bench {name}", runs=asked.runs))
                missed += not result.holds
                say(_line(result))
    say(f"\n{missed} of {len(asked.only)} rows miss their bar." if missed else "\nEvery row holds its bar.")
    return 0


def _line(result: Result) -> str:
    bar = "shown" if result.bar is None else f"{'>=' if result.at_least else '<='} {result.bar:g}"
    verdict = "" if result.holds else "MISSED"
    figure = f"{result.figure:.2f} {result.unit}"
    return f"{result.what:<46} {figure:>10} {bar:>8} {verdict:<7} {result.detail}"


if __name__ == "__main__":
    sys.exit(main())
