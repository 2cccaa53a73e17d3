"""How sure: what errors of reading and cutting make of a plan by the time the plate is laid (Monte Carlo).

Diameters were read with an error at every station, tops are read with an error after every round, and every
notch is cut with one. Heights here are true ones less the plan's own: how far the wall really stands off.

*Steered*, as a crew builds. Each log is notched for its height to reach: what was read of the tops below,
brought towards the plan within the gap's band. It is laid over notches cut shy, both ends are read in place,
and the final cut takes what that reading and the chart tell together, as far as the band and the notch limit
allow. In the last round level goes before height: where one end cannot come to its height, the other is left
as far off; and the log is read again where it lies and trimmed at its high end, `TRIES` times at most, while
it reads more out of level than it is read to. A first log that lies on the deck on its flat has no gap to
steer by. *Not steered*, each log lies at the target gap.

Caution: an expected error is no promise; level and plumb are checked on the wall before the roof goes on.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from inventory.core.crew_errors import USUAL_ERRORS
from planning.core.check import judge
from planning.core.places import course_places
from planning.core.problem import PlanPiece, ProblemCabin, ProblemLog, WallPlan, WallProblem

Floats = npt.NDArray[np.float64]
Booleans = npt.NDArray[np.bool_]
# (wall, round, 0 for its start and 1 for its end)
EndSpot = tuple[str, int, int]

TRIES = 3
"""So often a crew lifts the last log again and trims it (common practice, no source)."""
TRIM_SHARE = 1 / 3
"""A trim misses by this share of what it takes off, and by no more than any cut (our assumption)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringErrors:
    """Standard errors of reading a diameter and a top, and of cutting a notch: those of `CrewErrors`."""

    diameter_mm: float = USUAL_ERRORS.diameter_mm
    top_mm: float = USUAL_ERRORS.height_mm
    cut_mm: float = USUAL_ERRORS.cut_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """How often tops are read, and diameters of logs: once where nothing is said here.

    `last_rounds`: from the plate down, rounds of which every top is read `times`; `tops`: single ends by
    (wall, round, end); `logs`: logs whose every diameter is the mean of so many readings.
    """

    last_rounds: int = 0
    times: int = 2
    tops: Mapping[EndSpot, int] = field(default_factory=dict)
    logs: Mapping[str, int] = field(default_factory=dict)

    def of_top(self, spot: EndSpot, *, rounds: int) -> int:
        """How often the top of a wall's end is read."""
        return self.tops.get(spot, self.times if spot[1] > rounds - self.last_rounds else 1)


ONCE = Readings()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateError:
    """Worst wall out of level at the plate, over the samples; steering figures are 0 when not steered."""

    mean_mm: float
    p90_mm: float
    steering_mean_mm: float
    """Mean difference of the gap from its target, over the ends steered."""
    ends_outside: float
    """Share of the ends steered that wanted more than the band or the notch limit allows."""
    walls_inside: float
    """Share of the walls of which no end did."""


class Ends(NamedTuple):
    """Per (wall, round, end) of one cabin: the log and stations its diameter comes from, and its notch."""

    log: npt.NDArray[np.int64]
    station: npt.NDArray[np.int64]
    part: Floats
    tilt: Floats  # wall x round: planned start minus end, mm
    least: Floats  # lowest change of the gap that the notch limit allows
    most: Floats
    measured: Booleans
    on_deck: Booleans  # walls whose first log lies on its flat


class _Step(NamedTuple):
    """One round: how sure its readings are, and how far the gap may go from its target."""

    below_mm: Floats  # wall x end: error of what was read of the tops below
    here_mm: Floats
    least: Floats
    most: Floats
    steers: Booleans  # walls whose log has a gap to steer by


def has_band(house: ProblemCabin) -> bool:
    """Whether the gap between the logs of a cabin may be steered at all."""
    return house.gap_band_mm is not None and house.gap_band_mm[1] > house.gap_band_mm[0]


def plate_error(
    problem: WallProblem,
    plan: WallPlan,
    *,
    cabin: str,
    errors: MeasuringErrors | None = None,
    steered: bool = True,
    tries: int = TRIES,
    readings: Readings = ONCE,
    samples: int = 1000,
    seed: int = 0,
) -> PlateError:
    """Expected error at the plate of one cabin, steered within its own gap band or not steered."""
    return Estimate(problem, plan, cabin=cabin, errors=errors, samples=samples, seed=seed).plate_error(
        steered=steered, tries=tries, readings=readings
    )


class Estimate:
    """The same for many questions of one plan: each is answered with the same chances, so that they compare.

    `samples` cabins; a top that `as_built` holds is known as read, and what lies above it is to come.
    """

    def __init__(
        self,
        problem: WallProblem,
        plan: WallPlan,
        *,
        cabin: str,
        errors: MeasuringErrors | None = None,
        samples: int = 1000,
        seed: int = 0,
    ) -> None:
        self.house = next(c for c in problem.cabins if c.id == cabin)
        self.errors = errors or MeasuringErrors()
        self.ends = ends_of_plan(problem, self.house, plan)
        self._number = {log.id: n for n, log in enumerate(problem.logs)}
        self._samples, self._seed = samples, seed
        most = max((len(log.stations) for log in problem.logs), default=0) + 3
        chances = np.random.default_rng([seed, 0]).normal(0.0, 1.0, (samples, len(problem.logs) + 1, most))
        chances[:, -1] = 0.0  # the place of an empty end
        self._chances = chances

    def plate_error(
        self, *, steered: bool = True, tries: int = TRIES, readings: Readings = ONCE
    ) -> PlateError:
        """Expected error at the plate, if the crew reads so often and steers or does not."""
        house, ends, errors = self.house, self.ends, self.errors
        rng = np.random.default_rng([self._seed, 1])
        shape = (self._samples, len(house.walls), 2)
        band = _band(house) if steered else None
        in_log = self._diameter_errors(readings)
        off, read = np.zeros(shape), np.zeros(shape)
        shifts: list[Floats] = []
        outside: list[Booleans] = []
        # Below the last round that was read everywhere nothing is left to chance.
        open_rounds = np.flatnonzero(~ends.measured.all(axis=(0, 2)))
        first = max(0, int(open_rounds[0]) - 1) if open_rounds.size else house.rounds - 1
        for r in range(first, house.rounds):
            step = self._step(r, readings, band or (0.0, 0.0))
            is_last = r == house.rounds - 1
            if band is None:
                laid = off + in_log[:, :, r] + errors.cut_mm * rng.normal(0.0, 1.0, shape)
            else:
                laid, shift, beyond = _steered(read, in_log[:, :, r], step, band, errors, rng, level=is_last)
                shifts.append(np.abs(shift[:, step.steers]).ravel())
                outside.append(beyond & step.steers[:, None])
                if is_last:
                    room = shift - step.least
                    laid = _tried(laid, room, ends.tilt[:, r], step, tries, errors, rng)
            error = step.here_mm * rng.normal(0.0, 1.0, shape)
            # What was measured already is known as read: the wall lies where the reading's error puts it.
            off = np.where(ends.measured[:, r], -error, laid)
            read = off + error
        worst = np.abs(off[:, :, 0] - off[:, :, 1] + ends.tilt[:, -1]).max(axis=1)
        return _summary(worst, shifts, outside)

    def worth_of_first_logs(self) -> tuple[float, dict[str, float]]:
        """Worst of the walls on the deck after the first round, as expected; by log what it is worth there.

        Nothing can be done there about a log that is thicker or thinner than it was charted: it has no gap.
        """
        on_deck = self.ends.on_deck & ~self.ends.measured[:, 0].all(axis=1)
        return self._worth_of_logs(walls=np.flatnonzero(on_deck), rounds=1) if on_deck.any() else (0.0, {})

    def worth_of_logs(self) -> dict[str, float]:
        """By log: how much surer the plate is, in mm, if its diameters were the mean of two readings.

        For a cabin that is not steered, where errors add up from the tops measured last; logs that are worth
        nothing are left out.
        """
        return self._worth_of_logs(walls=np.arange(len(self.house.walls)), rounds=self.house.rounds)[1]

    def _worth_of_logs(
        self, *, walls: npt.NDArray[np.int64], rounds: int, times: int = 2
    ) -> tuple[float, dict[str, float]]:
        """The worst of some walls out of level after a round, not steered, and what each log is worth."""
        ends, in_log = self.ends, self._diameter_errors(ONCE)
        log, measured, in_log = (
            ends.log[walls, :rounds],
            ends.measured[walls, :rounds],
            in_log[:, walls, :rounds],
        )
        rng = np.random.default_rng([self._seed, 2])
        numbers = np.arange(rounds)[None, :, None]
        read_last = np.where(measured, numbers, -1).max(axis=1, keepdims=True)
        counts = (numbers > read_last) * np.array([1.0, -1.0])
        cuts = (numbers > read_last).sum(axis=(1, 2)) * self.errors.cut_mm**2
        known = (read_last >= 0).sum(axis=(1, 2)) * self.errors.top_mm**2
        other = rng.normal(0.0, 1.0, in_log.shape[:2]) * np.sqrt(cuts + known)
        tilts = (in_log * counts).sum(axis=(2, 3)) + other + ends.tilt[walls, rounds - 1]
        worst = float(np.abs(tilts).max(axis=1).mean())
        names = {number: log_id for log_id, number in self._number.items()}
        found = {}
        for number in np.unique(log[log >= 0]):
            its = (in_log * (counts * (log == number))).sum(axis=(2, 3))
            surer = np.abs(tilts - (1.0 - 1.0 / math.sqrt(times)) * its).max(axis=1).mean()
            found[names[int(number)]] = worst - float(surer)
        return worst, {log_id: worth for log_id, worth in found.items() if worth > 0.0}

    def _step(self, r: int, readings: Readings, band: tuple[float, float]) -> _Step:
        ends = self.ends
        return _Step(
            below_mm=self._reading_errors(r, readings) if r else np.zeros((len(self.house.walls), 2)),
            here_mm=self._reading_errors(r + 1, readings),
            least=np.maximum(ends.least[:, r], band[0]),
            most=np.minimum(ends.most[:, r], band[1]),
            steers=~ends.on_deck if r == 0 else np.ones_like(ends.on_deck),
        )

    def _reading_errors(self, round_no: int, readings: Readings) -> Floats:
        rounds = self.house.rounds
        times = [
            [readings.of_top((wall.id, round_no, e), rounds=rounds) for e in (0, 1)]
            for wall in self.house.walls
        ]
        return np.asarray(self.errors.top_mm / np.sqrt(times))

    def _diameter_errors(self, readings: Readings) -> Floats:
        """True minus read diameter at every end: samples x walls x rounds x 2."""
        scale = np.full(self._chances.shape[1], self.errors.diameter_mm)
        for log, times in readings.logs.items():
            scale[self._number[log]] /= math.sqrt(times)
        ends, stations = self.ends, self._chances
        near, far = stations[:, ends.log, ends.station], stations[:, ends.log, ends.station + 1]
        return np.asarray(scale[ends.log] * (near * (1.0 - ends.part) + far * ends.part))


def _band(house: ProblemCabin) -> tuple[float, float] | None:
    """How far the gap may go below its target and above it; None where it may not."""
    if not has_band(house) or house.gap_band_mm is None:
        return None
    return house.gap_band_mm[0] - house.gap_mm, house.gap_band_mm[1] - house.gap_mm


def _steered(
    read: Floats,
    in_log: Floats,
    step: _Step,
    band: tuple[float, float],
    errors: MeasuringErrors,
    rng: np.random.Generator,
    *,
    level: bool,
) -> tuple[Floats, Floats, Booleans]:
    """Where a round's logs come to lie, how far their gaps leave the target, and which wanted to go farther.

    `read`: how far the tops below read off their plan; `in_log`: true minus charted diameter; `level`: where
    one end cannot come to its height, the other is left as far off, so that the log lies level.
    """
    shape = read.shape
    reach = np.where(read > 0.0, np.maximum(0.0, read + band[0]), np.minimum(0.0, read + band[1]))
    # Notched as on the sheet: what was misread of the crossing log and of this one shows in its top.
    on_sheet = reach + in_log + step.below_mm * rng.normal(0.0, 1.0, shape)
    seen = on_sheet + step.here_mm * rng.normal(0.0, 1.0, shape)
    weight = trust_in_place(step.here_mm, step.below_mm, errors.diameter_mm)
    comes_to = weight * seen + (1.0 - weight) * reach
    # The final cut brings the log to its height; the log itself is as much thicker as it came out higher.
    wanted = (reach - read) - (comes_to - reach)
    shift = np.clip(wanted, step.least, step.most)
    beyond = np.asarray(np.abs(shift - wanted) > 1e-9)
    if level:
        shift = np.clip(wanted + level_by(shift - wanted)[:, :, None], step.least, step.most)
    cut = errors.cut_mm * rng.normal(0.0, 1.0, shape)
    laid = on_sheet + (reach - comes_to) + (shift - wanted) + cut
    return laid, shift, beyond


def level_by(off_mm: Floats) -> Floats:
    """How far off its height a whole log is to lie so that its ends, which must be `off_mm`, lie level."""
    return np.asarray(np.maximum(off_mm.max(axis=-1), 0.0) + np.minimum(off_mm.min(axis=-1), 0.0))


def trust_in_place(here_mm: Floats, below_mm: Floats, diameter_mm: float) -> Floats:
    """Weight of what a log reads in place against what its chart and the tops below say of it."""
    by_chart = below_mm**2 + diameter_mm**2
    both = here_mm**2 + by_chart
    return np.where(both > 0.0, by_chart / np.where(both > 0.0, both, 1.0), 1.0)


def _tried(
    laid: Floats,
    room: Floats,
    tilt: Floats,
    step: _Step,
    tries: int,
    errors: MeasuringErrors,
    rng: np.random.Generator,
) -> Floats:
    """The last logs read where they lie and trimmed at the high end while they read out of level.

    `room`: how much the gap's band and the notch limit let each end come down.
    """
    level_mm = np.hypot(step.here_mm[:, 0], step.here_mm[:, 1])
    spread = first_spread_mm(step.here_mm, step.below_mm, errors)
    for _ in range(tries):
        seen = laid + step.here_mm * rng.normal(0.0, 1.0, laid.shape)
        trim = trim_mm(seen[:, :, 0] - seen[:, :, 1] + tilt, level_mm, spread)
        missed = np.minimum(errors.cut_mm, TRIM_SHARE * np.abs(trim)) * rng.normal(0.0, 1.0, trim.shape)
        high = np.stack([trim > 0.0, trim < 0.0], axis=2)
        taken = np.where(high, np.clip((np.abs(trim) + missed)[:, :, None], 0.0, room), 0.0)
        laid, room = laid - taken, room - taken
        spread = spread_after_trim_mm(level_mm, spread)
    return laid


def first_spread_mm(here_mm: Floats, below_mm: Floats, errors: MeasuringErrors) -> Floats:
    """How far the last log may be out of level once it is cut for good, one standard deviation by wall."""
    weight = trust_in_place(here_mm, below_mm, errors.diameter_mm)
    chart = below_mm**2 + errors.diameter_mm**2
    variance = (weight * here_mm) ** 2 + (1.0 - weight) ** 2 * chart + errors.cut_mm**2
    return np.asarray(np.sqrt(variance.sum(axis=1)))


def trim_mm(reads_mm: Floats, level_mm: Floats, spread_mm: Floats) -> Floats:
    """What to take off the start (positive) or the end (negative) of a log that reads so far out of level.

    As much of it as is more likely the wall's than the reading's; nothing below what both ends are read to,
    shared between them. `level_mm`: error of that reading; `spread_mm`: how far out the log may be.
    """
    both = level_mm**2 + spread_mm**2
    share = np.where(both > 0.0, spread_mm**2 / np.where(both > 0.0, both, 1.0), 1.0)
    trim = share * reads_mm
    return np.asarray(np.where(np.abs(trim) > level_mm / math.sqrt(2.0), trim, 0.0))


def spread_after_trim_mm(level_mm: Floats, spread_mm: Floats) -> Floats:
    """How far a log may be out of level once it was read again and trimmed."""
    both = level_mm**2 + spread_mm**2
    left = np.where(both > 0.0, level_mm**2 * spread_mm**2 / np.where(both > 0.0, both, 1.0), 0.0)
    return np.asarray(np.sqrt(left + (TRIM_SHARE * level_mm) ** 2))


def ends_of_plan(problem: WallProblem, house: ProblemCabin, plan: WallPlan) -> Ends:
    """Where the diameter at every end comes from, and how far its notch lets the gap change."""
    inset = problem.params.station_inset_mm
    number = {log.id: n for n, log in enumerate(problem.logs)}
    by_place = {piece.place: piece for piece in plan.pieces}
    report = judge(problem, plan)
    heights = report.heights[house.id]
    shape = (len(house.walls), house.rounds, 2)
    ends = Ends(
        log=np.full(shape, -1, np.int64),
        station=np.zeros(shape, np.int64),
        part=np.zeros(shape),
        tilt=np.zeros(shape[:2]),
        least=np.full(shape, -np.inf),
        most=np.full(shape, np.inf),
        measured=_measured(house),
        on_deck=np.array([house.sill_flat is not None and wall.start == "low" for wall in house.walls]),
    )
    for w, wall in enumerate(house.walls):
        for r in range(1, house.rounds + 1):
            spans = course_places(house, wall, r, problem.params)
            ends.tilt[w, r - 1] = heights.top_mm[wall.id, r, 0] - heights.top_mm[wall.id, r, 1]
            for e, (i, x) in enumerate(((0, 0.0), (len(spans) - 1, wall.length_mm))):
                piece = by_place.get((house.id, wall.id, r, i))
                if piece is not None:
                    log = problem.logs[number[piece.log]]
                    station, part = _between_stations(log, _spot(piece, *spans[i], x), inset)
                    ends.log[w, r - 1, e] = number[piece.log]
                    ends.station[w, r - 1, e], ends.part[w, r - 1, e] = station, part
    row = {wall.id: w for w, wall in enumerate(house.walls)}
    lowest, highest = problem.params.notch_limit
    for notch in report.notches:
        if notch.cabin == house.id and notch.column < 2:
            at = (row[notch.wall], notch.round - 1, notch.column)
            # A wider gap makes the notch shallower by as much, a tighter one deeper.
            ends.least[at] = min(0.0, notch.depth_mm - highest * notch.diameter_mm)
            ends.most[at] = max(0.0, notch.depth_mm - lowest * notch.diameter_mm)
    ends.least[ends.on_deck, 0] = ends.most[ends.on_deck, 0] = 0.0
    return ends


def _measured(house: ProblemCabin) -> Booleans:
    """Which tops of wall ends are known as read."""
    found = np.zeros((len(house.walls), house.rounds, 2), np.bool_)
    for w, wall in enumerate(house.walls):
        rows = house.as_built.tops_mm.get(wall.id, ())[: min(house.as_built.round, house.rounds)]
        for r, tops in enumerate(rows):
            found[w, r] = [top is not None for top in tops[:2]]
    return found


def _spot(piece: PlanPiece, a: float, b: float, x: float) -> float:
    return piece.from_butt_mm + (x - a if piece.butt_at == "start" else b - x)


def _between_stations(log: ProblemLog, x: float, inset: float) -> tuple[int, float]:
    """Which two stations (butt, middle, tip, then further ones, by position) and how far between them."""
    at = sorted([inset, log.length_mm / 2.0, log.length_mm - inset, *(s for s, _ in log.stations)])
    i = 0
    while i < len(at) - 2 and x > at[i + 1]:
        i += 1
    return i, (x - at[i]) / (at[i + 1] - at[i])


def _summary(worst: Floats, shifts: list[Floats], outside: list[Booleans]) -> PlateError:
    if not shifts:
        return PlateError(
            mean_mm=float(worst.mean()),
            p90_mm=float(np.percentile(worst, 90)),
            steering_mean_mm=0.0,
            ends_outside=0.0,
            walls_inside=1.0,
        )
    beyond, steered = np.stack(outside), np.concatenate(shifts)  # rounds x samples x walls x 2; ends
    return PlateError(
        mean_mm=float(worst.mean()),
        p90_mm=float(np.percentile(worst, 90)),
        steering_mean_mm=float(steered.mean()) if steered.size else 0.0,
        ends_outside=float(beyond.sum() / max(1, steered.size)),
        walls_inside=float(1.0 - beyond.any(axis=(0, -1)).mean()),
    )
