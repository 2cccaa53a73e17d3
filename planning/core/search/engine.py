"""Runs the annealers on all threads given, keeps the best plan, and reports progress; see docs/planner.md.

The threads form teams. Each team anneals a state of its own, afresh several times where that gains more. With
one or two cabins a team is one hand; with more, its cabins and logs are dealt out anew every epoch to as many
hands as there are cabins, so that no hand touches another's.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from functools import cache
from threading import Lock

import numpy as np

from planning.core.check import Report, judge
from planning.core.problem import WallPlan, WallProblem
from planning.core.search.arrays import Data, Ints, Records, State
from planning.core.search.kernels import anneal, fresh_scratch, rebuild
from planning.core.search.packing import PackedPlaces, copy_state, pack
from planning.core.search.placing import first_state, plan_of
from planning.core.search.smallest import smallest_problem

USUAL_THREADS = 2
MOST_THREADS = 64
LONGEST_S = 86_400.0
CHUNK_MOVES = 50_000
HOT, COLD, FROZEN = 30.0, 0.3, 0.02
COOLED_AT = 0.95
"""Share of a run after which logs hardly change any more and only positions settle, down to FROZEN."""
REACH = 0.15
MIX = np.cumsum([0.15, 0.05, 0.15, 0.05, 0.1, 0.15])
"""Shares of shifts, turns, trades, balances, restacks and trades of alike places; the rest are exchanges."""
ORDERED_AT, ORDER = 3.0, 8.0
"""Down to this temperature `big_low` weighs at least so much: rounds that froze out of order stay so.
Not where openings are weighed, whose sills and heads ask for an order of their own."""
SINK = 0.03
"""So long thick logs are drawn down, too, by this times the temperature for each mm and round."""
SETTLE_MIX = np.array([0.5, 0.5, 0.5, 1.0, 1.0, 1.0])
SETTLE_MOVES_PER_PLACE, SETTLE_SHARE = 3_000, 0.02
WARM = 15.0
"""Where a search that begins from a plan starts to cool: warm enough to leave it, not to forget it."""
TELL_EVERY_S, TELL_SHARE = 0.25, 0.1
"""How often progress is told at most, and the share of the search's time that telling may take."""
CABINS_TO_SHARE = 3
USUAL_MOVES_PER_S = 2_500_000
QUICK_MOVES_PER_PLACE = 4_000
LEAST_MOVES_PER_PLACE = 2_000
"""One whole short search; with fewer moves a plan is hardly more than the first guess."""
RUN_MOVES_PER_CUBED_PLACE = 400
"""Beyond this, times the cube of the places, cooling more slowly gains less than starting afresh."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the search is, and the best plan so far."""

    fraction: float
    moves: int
    objective: float
    feasible: bool
    plan: WallPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The best plan found with the judge's report on it; `report.shortages` says what the yard lacks.

    `searched` is false for what is hardly more than a first guess: stopped, or given too few moves.
    """

    plan: WallPlan
    report: Report
    moves: int
    seconds: float
    searched: bool


@dataclass(slots=True, kw_only=True)
class Budget:
    """Moves, seconds, or both (whichever ends first), counted over all threads; and the caller's stop.

    Seconds count from when it is made, which is after the kernels are loaded.
    """

    moves: int | None
    seconds: float | None
    stop: Callable[[], bool] | None
    threads: int
    began: float = field(default_factory=time.monotonic)
    stopped: bool = False
    kept_back: float = 0.0

    def settle_moves(self, places: int) -> int:
        """Moves for each of the two passes in which cuts settle at the end; few when someone waits."""
        each = self.moves_per_thread()
        if self.seconds is not None:
            each = min(each, self.seconds * USUAL_MOVES_PER_S)
        return (
            int(min(SETTLE_MOVES_PER_PLACE * places, SETTLE_SHARE * each, 1e5 if self.stopped else np.inf))
            + 1
        )

    def keep_back(self, moves: int) -> None:
        """Leave room for so many moves of one thread after the search proper."""
        self.kept_back = min(0.5, moves / self.moves_per_thread())

    def moves_per_thread(self) -> float:
        """Moves each thread may make; with seconds only, as many as it will about manage."""
        if self.moves is not None:
            return max(1.0, self.moves / self.threads)
        return max(1.0, (self.seconds or 0.0) * USUAL_MOVES_PER_S)

    def fraction(self, thread_moves: float) -> float:
        """Share of the budget spent by a thread that has made so many moves."""
        by_moves = thread_moves / self.moves_per_thread() if self.moves is not None else 0.0
        by_clock = self.elapsed() / self.seconds if self.seconds is not None else 0.0
        return max(by_moves, by_clock) / (1.0 - self.kept_back)

    def elapsed(self) -> float:
        return time.monotonic() - self.began

    def should_stop(self) -> bool:
        if not self.stopped and self.stop is not None and self.stop():
            self.stopped = True
        return self.stopped


@dataclass(slots=True, kw_only=True)
class Share:
    """What one thread has spent of the budget."""

    budget: Budget
    moves: int = 0

    def fraction(self) -> float:
        return self.budget.fraction(self.moves)

    def chunk(self, end: float) -> int:
        """Moves until the next look at clock and stop; a hundredth of the budget or less."""
        each = self.budget.moves_per_thread()
        left = (
            end * each * (1.0 - self.budget.kept_back) - self.moves
            if self.budget.moves is not None
            else CHUNK_MOVES
        )
        return max(1, min(CHUNK_MOVES, int(each / 100) + 1, int(left) + 1))


@dataclass(slots=True, kw_only=True)
class Best:
    """The best state seen by any thread, as what lies in its places."""

    objective: float
    laid: Records
    lock: Lock = field(default_factory=Lock)
    moves: int = 0
    order: int = 0

    def count(self, moves: int) -> None:
        with self.lock:
            self.moves += moves

    def offer(self, objective: float, state: State, order: int) -> None:
        """Keep the state if it is better; equal ones go by `order`, so that threads cannot race."""
        with self.lock:
            if (objective, order) < (self.objective, self.order):
                self.objective, self.order = objective, order
                self.laid = state.p.copy()


def temperature(hot: float, done: float) -> float:
    """The annealing temperature, in points of the objective, when the share `done` of a run is over."""
    if done < COOLED_AT:
        return float(hot * (COLD / hot) ** (done / COOLED_AT))
    return float(COLD * (FROZEN / COLD) ** ((done - COOLED_AT) / (1.0 - COOLED_AT)))


class BadBudget(ValueError):
    """No search can be made with this many moves or seconds, or this seed."""


def make_plan(
    problem: WallProblem,
    *,
    moves: int | None = None,
    seconds: float | None = None,
    seed: int = 0,
    threads: int = USUAL_THREADS,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    start: WallPlan | None = None,
) -> Result:
    """The best plan found within `moves` (the same seed and threads then give the same plan) or `seconds`.

    The search begins from `start`, or else from the plan that the problem keeps. With seconds at least one
    whole short search is made, however slow the machine is.
    A yard that cannot fill every place gives the best partial plan; the report names what is missing.
    Raises BadBudget.
    """
    if moves is None and seconds is None:
        raise BadBudget("a search needs a budget: moves, seconds or both")
    if moves is not None and moves < 1:
        raise BadBudget(f"a search takes one move or more, not {moves}")
    if seconds is not None and not 0 < seconds <= LONGEST_S:
        raise BadBudget(f"a search takes more than 0 and at most {LONGEST_S:g} seconds, not {seconds:g}")
    if not 0 <= seed < 2**31:
        raise BadBudget(f"a seed is a whole number from 0 to {2**31 - 1}, not {seed}")
    if not 1 <= threads <= MOST_THREADS:
        raise BadBudget(f"a search runs on 1 to {MOST_THREADS} threads, not {threads}")
    load_kernels()
    hands, teams = hands_and_teams(threads, len(problem.cabins))
    budget = Budget(moves=moves, seconds=seconds, stop=stop, threads=hands * teams)
    return Search(problem, budget, hands, seed, on_progress, start).run()


def hands_and_teams(threads: int, cabins: int) -> tuple[int, int]:
    """How many hands work at one state, and how many such teams there are."""
    hands = min(threads, cabins) if cabins >= CABINS_TO_SHARE else 1
    return hands, threads // hands


@cache
def load_kernels() -> None:
    """Have every kernel compiled, or read from numba's cache, before any clock runs; once a process."""
    Search(smallest_problem(), Budget(moves=200, seconds=None, stop=None, threads=1), 1, 0, None, None).run()


class Search:
    """One search: the packed problem, its budget, and the best found so far."""

    def __init__(
        self,
        problem: WallProblem,
        budget: Budget,
        hands: int,
        seed: int,
        on_progress: Callable[[Progress], None] | None,
        start: WallPlan | None,
    ) -> None:
        self.problem, self.budget, self.seed, self.on_progress = problem, budget, seed, on_progress
        self.hands, self.teams = hands, budget.threads // hands
        self.data: Data
        self.places: PackedPlaces
        self.data, self.places = pack(problem)
        self.scratch = [fresh_scratch(self.data, seed * 1000 + t) for t in range(budget.threads)]
        if start is None and problem.keep:
            start = WallPlan(problem=problem.name, pieces=tuple(kept.piece for kept in problem.keep))
        self.first = first_state(problem, self.data, self.places, self.scratch[0], start)
        self.warm = start is not None
        self.movable = np.flatnonzero(self.first.p["fixed"] == 0)
        self.best = Best(objective=np.inf, laid=self.first.p)
        self.best.offer(rebuild(self.data, self.first), self.first, -1)
        self.tell_at = 0.0
        self.reported: tuple[float, WallPlan, bool] = (
            np.nan,
            WallPlan(problem=problem.name, pieces=()),
            False,
        )

    def run(self) -> Result:
        """Search until the budget is spent or the caller says stop."""
        self.budget.keep_back(2 * self.budget.settle_moves(len(self.movable)))
        if len(self.movable) and not self.budget.should_stop():
            self._anneal()
            least = LEAST_MOVES_PER_PLACE * len(self.movable)
            allowed = least if self.budget.moves is None else min(least, self.budget.moves)
            if self.budget.seconds is not None and self.best.moves < allowed:
                self._search_short(allowed)
            searched = self.best.moves >= least
            self._settle()
        else:
            searched = not len(self.movable)
        plan = plan_of(self.problem, self.places, self.best.laid)
        report = judge(self.problem, plan)
        return Result(
            plan=plan,
            report=report,
            moves=self.best.moves,
            seconds=self.budget.elapsed(),
            searched=searched,
        )

    def _search_short(self, moves: int) -> None:
        """One whole annealing by moves, for a machine so busy that the clock left no time for one."""
        state = copy_state(self.first)
        groups = np.zeros(len(self.problem.logs), np.int64)
        steps = 20
        for step in range(steps):
            if self.budget.should_stop():
                return
            hot = WARM if self.warm else HOT
            heat = [temperature(hot, part / steps) for part in (step, step + 1)]
            each = moves // steps + 1
            data = self._data_at(heat[0])
            anneal(data, state, self.scratch[0], self.movable, groups, 0, each, *heat, REACH, MIX)
            self.best.count(each)
            self.best.offer(rebuild(self.data, state), state, 0)
            self._tell()

    def _data_at(self, heat: float) -> Data:
        """What a run weighs at this temperature; one that begins from a plan has its order already."""
        rules = self.data.rules.copy()
        if heat <= ORDERED_AT or self.warm or rules["big_low"] <= 0.0 or rules["opening"] > 0.0:
            return self.data
        rules["big_low"], rules["sink"] = max(ORDER, rules["big_low"]), SINK * heat
        return self.data._replace(rules=rules)

    def _settle(self) -> None:
        """Slide the best plan's pieces to rest: hardly any heat, and every log keeps its place."""
        state = copy_state(self.first)
        state.p[:] = self.best.laid
        rebuild(self.data, state)
        groups = np.zeros(len(self.problem.logs), np.int64)
        moves = self.budget.settle_moves(len(self.movable))
        for hot, cold in ((0.05, 0.002), (0.002, 0.00001)):
            anneal(
                self.data,
                state,
                self.scratch[0],
                self.movable,
                groups,
                0,
                moves,
                hot,
                cold,
                REACH,
                SETTLE_MIX,
            )
            self.best.count(moves)
            self.best.offer(rebuild(self.data, state), state, -1)

    def _anneal(self) -> None:
        """Every team anneals states of its own; only the best found is shared."""
        legs = self._legs(len(self.movable) ** 3 * RUN_MOVES_PER_CUBED_PLACE)
        with ThreadPoolExecutor(self.teams) as leads, ThreadPoolExecutor(self.budget.threads) as pool:
            work = [leads.submit(self._team, team, legs, pool) for team in range(self.teams)]
            while not all(one.done() for one in work):
                wait(work, timeout=TELL_EVERY_S)
                self._tell()
            for one in work:
                one.result()

    def _legs(self, run_moves: int) -> list[tuple[float, float]]:
        """The runs of one team as shares (from, to) of the budget: a quick one, then equal slow ones."""
        each = self.budget.moves_per_thread() * self.hands
        quick = min(0.25, QUICK_MOVES_PER_PLACE * len(self.movable) / each)
        runs = max(1, round((1.0 - quick) * each / run_moves))
        step = (1.0 - quick) / runs
        return [(0.0, quick)] + [(quick + i * step, quick + (i + 1) * step) for i in range(runs)]

    def _team(self, team: int, legs: list[tuple[float, float]], pool: ThreadPoolExecutor) -> None:
        """One team's runs, each from the first state; the quick one gives a plan to show early."""
        rng = np.random.default_rng([self.seed, team])
        share = Share(budget=self.budget)
        for number, (begin, end) in enumerate(legs):
            state = copy_state(self.first)
            hot = WARM if self.warm else HOT
            while not self.budget.should_stop() and (at := share.fraction()) < end:
                done = max(0.0, (at - begin) / (end - begin))
                chunk = share.chunk(end)
                after = min(1.0, done + (chunk / self.budget.moves_per_thread()) / (end - begin))
                begins, ends = (temperature(hot, part) for part in (done, after))
                data = self._data_at(begins)
                hands = [
                    pool.submit(
                        anneal, data, state, self.scratch[team * self.hands + hand], mine, groups, hand,
                        chunk, begins, ends, REACH, MIX,
                    )
                    for hand, mine, groups in self._deal(state, rng)
                ]  # fmt: skip
                for working in hands:
                    working.result()
                share.moves += chunk
                self.best.count(chunk * len(hands))
                self.best.offer(rebuild(self.data, state), state, number * self.teams + team)

    def _deal(self, state: State, rng: np.random.Generator) -> list[tuple[int, Ints, Ints]]:
        """Deal cabins and logs to the hands; logs whose pieces lie with several hands rest this time."""
        if self.hands == 1:
            return [(0, self.movable, np.zeros(len(self.problem.logs), np.int64))]
        cabins = rng.permutation(len(self.problem.cabins))
        owner = np.zeros(len(cabins), np.int64)
        load = np.zeros(self.hands)
        cab_of, log_of = self.data.pl["cab"], state.p["log"]
        sizes = np.bincount(cab_of, minlength=len(cabins))
        for cab in cabins:
            owner[cab] = np.argmin(load)
            load[owner[cab]] += sizes[cab]
        group = rng.integers(0, self.hands, len(self.problem.logs))
        filled = np.flatnonzero(log_of >= 0)
        hand_of = owner[cab_of]
        lowest, highest = np.full(len(group), self.hands), np.full(len(group), -1)
        np.minimum.at(lowest, log_of[filled], hand_of[filled])
        np.maximum.at(highest, log_of[filled], hand_of[filled])
        used = highest >= 0
        group[used] = np.where(lowest == highest, lowest, -1)[used]
        log_group = np.where(log_of >= 0, group[log_of], hand_of)
        free = self.movable[log_group[self.movable] == hand_of[self.movable]]
        deals = [(hand, free[hand_of[free] == hand], group) for hand in range(self.hands)]
        return [deal for deal in deals if len(deal[1])]

    def _tell(self) -> None:
        """Report progress, when anyone listens."""
        began = self.budget.elapsed()
        if self.on_progress is None or began < self.tell_at:
            return
        with self.best.lock:
            objective, laid, moves = self.best.objective, self.best.laid, self.best.moves
        if objective != self.reported[0]:
            plan = plan_of(self.problem, self.places, laid)
            self.reported = (objective, plan, judge(self.problem, plan).feasible)
        _, plan, feasible = self.reported
        self.on_progress(
            Progress(
                fraction=min(1.0, self.budget.fraction(moves / self.budget.threads)),
                moves=moves,
                objective=objective,
                feasible=feasible,
                plan=plan,
            )
        )
        spent = self.budget.elapsed() - began
        self.tell_at = began + spent + max(TELL_EVERY_S, spent / TELL_SHARE)
