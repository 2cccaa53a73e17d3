"""Whole seasons simulated, log by log: what a crew's errors really make of a plan, the estimate's witness.

One cabin is built from logs that differ from their chart, by the functions that sheets use (`seat_log`,
`height_to_reach_mm`) on tops as read, with every cut off by its error; the truth is kept beside. The judge
gives the diameters, of the charted logs and of the true ones. After each round the crew looks whether the
band can mend what stands, and where it cannot, the rest is planned again by a real search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

import numpy as np

from cabins.core.layout_parts import Gap
from cabins.core.seating import ColumnSeat, height_to_reach_mm, is_beyond_band, seat_log
from planning.core.check import judge
from planning.core.heights import rise_mm
from planning.core.plate_error import (
    ONCE,
    TRIES,
    TRIM_SHARE,
    MeasuringErrors,
    PlateError,
    Readings,
    first_spread_mm,
    has_band,
    level_by,
    spread_after_trim_mm,
    trim_mm,
    trust_in_place,
)
from planning.core.problem import AsBuilt, ProblemCabin, ProblemLog, ProblemWall, Rows, WallPlan, WallProblem

PlansAgain = Literal["never", "when the band cannot mend", "after every round"]
Search = Callable[[WallProblem, WallPlan, int], WallPlan]
"""(what stands and is to come, the plan so far, a seed) -> the next plan."""
At = tuple[str, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewHabits:
    """How a crew works: its errors, how often it reads, whether it steers, and when it plans again."""

    errors: MeasuringErrors
    readings: Readings = ONCE
    steers: bool = True
    tries: int = TRIES
    plans_again: PlansAgain = "when the band cannot mend"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seasons:
    """Many seasons of one cabin; `planned_again`: searches for the rest, in the mean of the seasons."""

    plate: PlateError
    planned_again: float


def simulate_seasons(
    problem: WallProblem, plan: WallPlan, crew: CrewHabits, *, seasons: int, seed: int, search: Search
) -> Seasons:
    """Build the problem's one cabin so many times. Raises ValueError for a cabin with tees or half logs."""
    (house,) = problem.cabins
    if house.tees or house.half_places:
        raise ValueError("seasons are simulated for a cabin without tees and half logs")
    built = [_Season(problem, plan, crew, seed=seed + n, search=search) for n in range(seasons)]
    worst = np.array([season.build() for season in built])
    shifts = np.array([shift for season in built for shift, _ in season.steered])
    beyond = np.array([is_beyond for season in built for _, is_beyond in season.steered])
    inside = [1.0 - len(season.walls_outside) / len(house.walls) for season in built]
    return Seasons(
        plate=PlateError(
            mean_mm=float(worst.mean()),
            p90_mm=float(np.percentile(worst, 90)),
            steering_mean_mm=float(shifts.mean()) if shifts.size else 0.0,
            ends_outside=float(beyond.mean()) if beyond.size else 0.0,
            walls_inside=float(np.mean(inside)),
        ),
        planned_again=float(np.mean([season.planned_again for season in built])),
    )


class _Look(NamedTuple):
    """One end of a log in place over notches cut shy: where it is to come, and what it shows itself to be."""

    at: At
    reach_mm: float
    on_sheet_mm: float
    comes_to_mm: float
    diameter_mm: float


@dataclass
class _Season:
    """One cabin while it goes up: what is planned and charted, how it really is, and what was read of it."""

    problem: WallProblem
    plan: WallPlan
    crew: CrewHabits
    search: Search
    seed: int
    planned_again: int = 0
    steered: list[tuple[float, bool]] = field(default_factory=list)
    walls_outside: set[str] = field(default_factory=set)
    planned_mm: dict[At, float] = field(default_factory=dict)
    charted_mm: dict[At, float] = field(default_factory=dict)
    real_mm: dict[At, float] = field(default_factory=dict)
    top_mm: dict[At, float] = field(default_factory=dict)
    read_mm: dict[At, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 2])
        (self.house,) = self.problem.cabins
        logs = tuple(_real_log(log, self.crew.errors.diameter_mm, self.rng) for log in self.problem.logs)
        self.truth = replace(self.problem, logs=logs)
        smallest, largest = self.house.gap_band_mm or (self.house.gap_mm, self.house.gap_mm)
        self.gap = Gap(smallest_mm=smallest, target_mm=self.house.gap_mm, largest_mm=largest)
        self.crossing = _crossings(self.house)
        self._go_by(self.plan)
        for wall in self.house.walls:
            for e in (0, 1):
                base = self.planned_mm[wall.id, 0, e]
                self.top_mm[wall.id, 0, e] = self.read_mm[wall.id, 0, e] = base

    def build(self) -> float:
        """The worst wall at the plate, out of level by so many mm."""
        for r in range(1, self.house.rounds + 1):
            for wall in sorted(self.house.walls, key=lambda wall: wall.start == "high"):
                self._lay(wall, r)
                for e in (0, 1):
                    at = (wall.id, r, e)
                    self.read_mm[at] = self.top_mm[at] + self._missed(self._reads_to(at))
            if r < self.house.rounds and self._plans_again(r):
                self._plan_again(r)
        last = self.house.rounds
        return max(
            abs(self.top_mm[wall.id, last, 0] - self.top_mm[wall.id, last, 1]) for wall in self.house.walls
        )

    def _go_by(self, plan: WallPlan) -> None:
        (house,) = self.problem.cabins
        self.plan = plan
        charted, real = (judge(one, plan).heights[house.id] for one in (self.problem, self.truth))
        self.planned_mm.update(charted.planned_mm)
        self.charted_mm, self.real_mm = charted.diameter_mm, real.diameter_mm

    def _reads_to(self, at: At) -> float:
        times = self.crew.readings.of_top(at, rounds=self.house.rounds)
        return float(self.crew.errors.top_mm / np.sqrt(times))

    def _missed(self, error_mm: float) -> float:
        return float(self.rng.normal(0.0, error_mm))

    def _lay(self, wall: ProblemWall, r: int) -> None:
        """Set one log."""
        is_on_deck = r == 1 and wall.start == "low" and self.house.sill_flat is not None
        if is_on_deck or not self.crew.steers:
            for e in (0, 1):
                rise = rise_mm(self.house, wall, r, self.real_mm[wall.id, r, e])
                missed = self._missed(self.crew.errors.cut_mm)
                self.top_mm[wall.id, r, e] = self.top_mm[wall.id, r - 1, e] + rise + missed
            return
        looks = [self._look((wall.id, r, e)) for e in (0, 1)]
        seats = [self._seat(one.at, one.reach_mm, one.diameter_mm) for one in looks]
        offs = [seat.off_mm for seat in seats]
        self.steered += [
            (abs(seat.gap_mm - self.gap.target_mm), abs(off) > 1e-9)
            for seat, off in zip(seats, offs, strict=True)
        ]
        if any(abs(off) > 1e-9 for off in offs):
            self.walls_outside.add(wall.id)
        if r == self.house.rounds:
            by = float(level_by(np.array(offs)))
            seats = [self._seat(one.at, one.reach_mm + by, one.diameter_mm) for one in looks]
        for look, seat in zip(looks, seats, strict=True):
            missed = self._missed(self.crew.errors.cut_mm)
            self.top_mm[look.at] = look.on_sheet_mm + (seat.top_mm - look.comes_to_mm) + missed
        if r == self.house.rounds:
            self._try_again(wall, r, seats)

    def _look(self, at: At) -> _Look:
        """Notch one end for its height to reach, a little shy, lay the log and read where it comes to."""
        below, crossing = (at[0], at[1] - 1, at[2]), self.crossing[at]
        reach = height_to_reach_mm(
            planned_mm=self.planned_mm[at],
            stands_off_mm=self.read_mm[below] - self.planned_mm[below],
            gap=self.gap,
        )
        sheet = self._seat(at, reach, self.charted_mm[at])
        if sheet.notch_mm is None or crossing is None:
            on_sheet = self.top_mm[below] + sheet.gap_mm + self.real_mm[at]
        else:
            on_sheet = self.top_mm[crossing] - sheet.notch_mm + self.real_mm[at]
        reads_to = self._reads_to(at)
        below_reads_to = self._reads_to(crossing or below) if at[1] > 1 or crossing else 0.0
        weight = float(
            trust_in_place(np.array(reads_to), np.array(below_reads_to), self.crew.errors.diameter_mm)
        )
        comes_to = weight * (on_sheet + self._missed(reads_to)) + (1.0 - weight) * sheet.top_mm
        return _Look(
            at=at,
            reach_mm=reach,
            on_sheet_mm=on_sheet,
            comes_to_mm=comes_to,
            # It lies so much higher than the sheet said because it is so much thicker.
            diameter_mm=self.charted_mm[at] + comes_to - sheet.top_mm,
        )

    def _seat(self, at: At, reach_mm: float, diameter_mm: float) -> ColumnSeat:
        crossing = self.crossing[at]
        return seat_log(
            own_top_mm=self.read_mm[at[0], at[1] - 1, at[2]],
            diameter_mm=diameter_mm,
            reach_mm=reach_mm,
            crossing_top_mm=None if crossing is None else self.read_mm[crossing],
            gap=self.gap,
            notch_limit=self.problem.params.notch_limit,
        )

    def _try_again(self, wall: ProblemWall, r: int, seats: list[ColumnSeat]) -> None:
        """Read the log where it lies and trim its high end, while it reads more out of level than it may."""
        ends = [(wall.id, r, e) for e in (0, 1)]
        here = np.array([[self._reads_to(at) for at in ends]])
        below = np.array([[self._reads_to(self.crossing[at] or at) for at in ends]])
        level = np.hypot(here[:, 0], here[:, 1])
        spread = first_spread_mm(here, below, self.crew.errors)
        room = [self._room_mm(seat) for seat in seats]
        for _ in range(self.crew.tries):
            read = [self.top_mm[at] + self._missed(float(here[0, e])) for e, at in enumerate(ends)]
            trim = float(trim_mm(np.array([read[0] - read[1]]), level, spread)[0])
            high = 0 if trim > 0.0 else 1
            wanted = abs(trim) + self._missed(min(self.crew.errors.cut_mm, TRIM_SHARE * abs(trim)))
            taken = min(max(0.0, wanted), room[high]) if trim else 0.0
            self.top_mm[ends[high]] -= taken
            room[high] -= taken
            spread = spread_after_trim_mm(level, spread)

    def _room_mm(self, seat: ColumnSeat) -> float:
        """How far an end may still come down: by the gap's band and by its notch."""
        by_gap = seat.gap_mm - self.gap.smallest_mm
        if seat.notch_mm is None:
            return max(0.0, by_gap)
        by_notch = self.problem.params.notch_limit[1] * seat.diameter_mm - seat.notch_mm
        return max(0.0, min(by_gap, by_notch))

    def _plans_again(self, r: int) -> bool:
        if self.crew.plans_again != "when the band cannot mend":
            return self.crew.plans_again == "after every round"
        return any(
            is_beyond_band(
                self.read_mm[wall.id, r, e] - self.planned_mm[wall.id, r, e],
                gap=self.gap,
                rounds_left=self.house.rounds - r,
            )
            for wall in self.house.walls
            for e in (0, 1)
        )

    def _plan_again(self, r: int) -> None:
        self.planned_again += 1
        as_built = AsBuilt(round=r, tops_mm=self._rows(self.read_mm, r))
        if has_band(self.house) and self.crew.steers:
            as_built = replace(as_built, planned_mm=self._rows(self.planned_mm, r))
        laid = tuple(p for p in self.plan.pieces if p.member is None and p.round <= r)
        house = replace(self.house, as_built=as_built)
        self.problem = replace(self.problem, cabins=(house,), pinned=laid)
        self.truth = replace(self.truth, cabins=(house,))
        self._go_by(self.search(self.problem, self.plan, self.seed))

    def _rows(self, tops_mm: dict[At, float], rounds: int) -> dict[str, Rows]:
        return {
            wall.id: tuple((tops_mm[wall.id, n, 0], tops_mm[wall.id, n, 1]) for n in range(1, rounds + 1))
            for wall in self.house.walls
        }


def _real_log(log: ProblemLog, error_mm: float, rng: np.random.Generator) -> ProblemLog:
    butt, middle, tip = rng.normal(0.0, error_mm, 3)
    return replace(
        log,
        butt_mm=log.butt_mm + butt,
        middle_mm=log.middle_mm + middle,
        tip_mm=log.tip_mm + tip,
        stations=tuple((x, d + rng.normal(0.0, error_mm)) for x, d in log.stations),
    )


def _crossings(house: ProblemCabin) -> dict[At, At | None]:
    """Where the log lies that an end is notched over, both by (wall, round, end); None on the deck."""
    found: dict[At, At | None] = {}
    for wall in house.walls:
        for e, corner in enumerate(wall.corners):
            other, at = next(
                (one.id, end)
                for one in house.walls
                if one.id != wall.id
                for end, number in enumerate(one.corners)
                if number == corner
            )
            for r in range(1, house.rounds + 1):
                below = r if wall.start == "high" else r - 1
                found[wall.id, r, e] = (other, below, at) if below > 0 else None
    return found
