"""Searches in a process of their own: `python -m planning.core.search.child`.

Reads JSON lines on stdin, one request each: {"problem", "seconds" and/or "moves", "seed", "threads",
"start": a plan or null}. Writes JSON lines on stdout: progress about twice a second (the plan only when it
changed), then `done` or `failed`, and waits for the next request with its kernels loaded. Plans of a problem
that is planned in turns come with the `courses` they are for. A line `stop` ends the search at hand with the
best so far. The end of stdin (its parent died or wants no more) ends the process at once. `last` in an answer
says that the process ends now because it has grown large: the next request needs a new one.
"""

from __future__ import annotations

import json
import os
import queue
import resource
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any, TextIO

from planning.core.files import read_plan, read_problem, write_plan
from planning.core.openings_loop import (
    TURN_SHARES,
    is_cut_by_heights,
    share_of_budget,
    take_turns,
    write_courses,
)
from planning.core.problem import WallPlan, WallProblem
from planning.core.reading import UnreadableFile
from planning.core.reports import report_document, sure_rows

TELL_EVERY_S = 0.5
LEAST_MOVES = 20_000
LARGEST_MB = 600
"""A process that once needed more than this ends after its answer instead of waiting for the next request."""


class Teller:
    """Writes events, progress no more often than twice a second and plans only when they changed.

    `before_answer` is called before the answer is written; whether the process ends after it.
    """

    def __init__(self, out: TextIO, *, before_answer: Callable[[], bool] = lambda: False) -> None:
        self.out = out
        self.before_answer = before_answer
        self.said_last = False
        self.last = -TELL_EVERY_S
        self.plan: WallPlan | None = None
        self.turn: int | None = None
        self.courses: dict[str, Any] | None = None

    def begin_turn(self, problem: WallProblem, turn: int | None) -> None:
        """Plans told from now on are for `problem` as it is cut in this turn; None: it is planned once."""
        self.turn = turn
        self.courses = write_courses(problem) if turn else None

    def tell(self, event: dict[str, Any]) -> None:
        if event["event"] in ("done", "failed"):
            self.said_last = self.before_answer()
            event = event | {"last": self.said_last}
        self.out.write(json.dumps(event) + "\n")
        self.out.flush()

    def progress(self, progress: Any) -> None:
        now = time.monotonic()
        if now - self.last < TELL_EVERY_S:
            return
        self.last = now
        event = {
            "event": "progress",
            "fraction": progress.fraction if self.turn is None else _of_all(self.turn, progress.fraction),
            "moves": progress.moves,
            "objective": progress.objective,
            "feasible": progress.feasible,
        }
        if progress.plan is not self.plan:
            self.plan = progress.plan
            event["plan"] = write_plan(progress.plan)
            if self.courses is not None:
                event["courses"], self.courses = self.courses, None
        self.tell(event)


def _of_all(turn: int, fraction: float) -> float:
    """The share of all turns that is done when `fraction` of this one is."""
    return sum(TURN_SHARES[:turn]) + TURN_SHARES[turn] * fraction


Requests = queue.Queue[tuple[str, threading.Event]]


def _listen(lines: TextIO, requests: Requests) -> None:
    """Hand on requests, each with its own stop; when the other end is gone nobody wants an answer."""
    stopped = threading.Event()
    for line in lines:
        if line.strip() == "stop":
            stopped.set()  # the request before this line, should it still be at work
        else:
            stopped = threading.Event()
            requests.put((line, stopped))
    os._exit(0 if requests.empty() and not requests.unfinished_tasks else 1)


def _has_grown_large() -> bool:
    return _peak_memory_mb() > LARGEST_MB


def _peak_memory_mb() -> float:
    """The most that this process has held at once.

    Linux hands a parent's peak in `ru_maxrss` on to the child that it starts, so there the kernel's own
    figure for this program is read.
    """
    try:
        status = Path("/proc/self/status").read_text(encoding="ascii")
    except OSError:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20  # macOS counts bytes
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def serve(request_line: str, teller: Teller, stopped: threading.Event) -> None:
    """Answer one request; every way it can go wrong becomes a `failed` event with a sentence."""
    try:
        request = json.loads(request_line)
        problem = read_problem(request["problem"])
        start = read_plan(request["start"]) if request.get("start") else None
        seconds, moves = request.get("seconds"), request.get("moves")
        if seconds is None and moves is None:
            teller.tell({"event": "failed", "reason": "The request gives neither seconds nor moves."})
            return
    except UnreadableFile as fault:
        teller.tell({"event": "failed", "reason": f"The problem or plan cannot be read: {fault}"})
        return
    except (ValueError, KeyError, TypeError) as fault:
        teller.tell({"event": "failed", "reason": f"The request cannot be read: {fault!r}"})
        return
    # Only here, so that a bad request is answered without waiting for the compiler's cache.
    from planning.core.search import USUAL_THREADS, make_plan

    tabled = bool(request.get("trade_offs"))
    # Half of the time is for the plan; the table makes one plan for each set of weights in the other.
    each = seconds / 2 if tabled and seconds else seconds
    in_turns = is_cut_by_heights(problem)

    def make(cut: WallProblem, begun: WallPlan | None, turn: int) -> Any:
        teller.begin_turn(cut, turn if in_turns else None)
        some = share_of_budget(turn, moves=moves, seconds=each) if in_turns else (moves, each)
        return make_plan(
            cut,
            moves=some[0],
            seconds=some[1],
            seed=int(request.get("seed") or 0),
            threads=int(request.get("threads") or USUAL_THREADS),
            start=begun,
            on_progress=teller.progress,
            stop=stopped.is_set,
        )

    made = take_turns(problem, make, start=start, stop=stopped.is_set)
    teller.tell(
        {
            "event": "done",
            "moves": made.moves,
            "seconds": made.seconds,
            "plan": write_plan(made.plan),
            "courses": write_courses(made.problem),
            "report": report_document(made.report)
            | {
                "searched": made.searched,
                "sure": sure_rows(made.problem, made.plan, request.get("errors")),
                "trade_offs": _trade_off_rows(made.problem, made.moves, request) if tabled else [],
                "turns": made.turns,
                "openings_agree": made.agree,
            },
        }
    )


def _trade_off_rows(problem: WallProblem, moves_made: int, request: dict[str, Any]) -> list[dict[str, Any]]:
    from planning.core.weights import PRESETS, trade_offs

    moves = max(LEAST_MOVES, moves_made // len(PRESETS))
    return [asdict(row) for row in trade_offs(problem, moves=moves, seed=int(request.get("seed") or 0))]


def main() -> None:
    requests: Requests = queue.Queue()
    threading.Thread(target=_listen, args=(sys.stdin, requests), daemon=True).start()

    def before_answer() -> bool:
        requests.task_done()  # before it is written: who has read it may close our input at once
        return _has_grown_large()

    while True:
        request_line, stopped = requests.get()
        teller = Teller(sys.stdout, before_answer=before_answer)
        try:
            serve(request_line, teller, stopped)
        except MemoryError:
            teller.before_answer = lambda: True
            reason = "The machine has not enough memory for this problem."
            teller.tell({"event": "failed", "reason": reason})
            os._exit(0)
        if teller.said_last:
            os._exit(0)  # the listening thread still waits on stdin


if __name__ == "__main__":
    main()
