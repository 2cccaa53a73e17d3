"""The take-off: how many logs cabins need, by length class and middle diameter, and what the yards cover.

Lengths and diameters in mm. Nothing here knows a single log's place: which log goes where is the plan's.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cabins.core.cutting import USUAL_CUTS, CutLimits
from cabins.core.height_estimate import height_estimate
from cabins.core.rounds import ImpossibleRise, rounds_for_height
from planning.core.problem import Spare
from planning.core.problem_builder import USUAL_PARAMS
from planning.core.takeoff.covering import Demand, YardLog, cover, excess_bow_mm
from planning.core.takeoff.cutting import Cut, CuttingRules, class_mm, cut_into_logs, needed_mm
from planning.core.takeoff.lines import NeededLog, TakeoffLine, lines_of, spare_by_percent
from planning.core.takeoff.needs import (
    CabinToBuild,
    MemberWanted,
    NeededStretch,
    PartUse,
    cabin_member_stretches,
    half_log_stretches,
    longest_mm,
    member_stretches,
    open_members,
    open_places,
    spare_stretches,
    wall_stretches,
)

# Beyond this the answer would keep everyone waiting; ten cabins take about a thousand logs.
MOST_LOGS = 4000


class TooMuchAtOnce(ValueError):
    """The cabins and members together need more logs than one take-off takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the crew chooses. Either `spare_rounds` or `spare_percent`; `longest_log_mm` None: as long as the
    longest piece needs, to the next class. `planned`: how its plans will cut the logs."""

    class_step_mm: float = 500.0
    trim_each_end_mm: float = USUAL_CUTS.trim_each_end_mm
    middle_step_mm: float = 25.0
    longest_log_mm: float | None = None
    spare_rounds: int | None = 1
    spare_percent: float | None = None
    planned: CutLimits = USUAL_CUTS

    @property
    def cutting(self) -> CuttingRules:
        """The rules of cutting that the crew's plans have, with the trim and classes chosen."""
        return CuttingRules(
            trim_each_end_mm=self.trim_each_end_mm,
            kerf_mm=self.planned.kerf_mm,
            max_pieces_per_log=self.planned.most_pieces,
            class_step_mm=self.class_step_mm,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class YardRounds:
    """Rounds that come nearest the wanted height with the yards' logs: their mean, thickest and thinnest."""

    mean_middle_mm: float
    rounds: int
    rounds_least: int
    rounds_most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinFigures:
    """One cabin of the take-off. `rounds_if_thick` and `rounds_if_thin`: the height with every middle half a
    step over or under the layout's. `logs` and `spare` are counts of logs, `half_logs` of halves, `members`
    of those that the layout wants and nobody has made."""

    cabin: str
    rounds: int
    pitch_mm: float
    wall_height_mm: float
    rounds_if_thick: int
    rounds_if_thin: int
    places: int
    places_filled: int
    half_logs: int
    members: int
    members_installed: int
    logs: int
    spare: int
    with_yards: YardRounds | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOff:
    """What is needed, line by line. `pieces`: places, half logs and members that the logs give."""

    cabins: tuple[CabinFigures, ...]
    lines: tuple[TakeoffLine, ...]
    pieces: int
    logs: int
    spare: int
    covered: int
    short: int
    to_order: int
    bowed: int


def take_off(
    *,
    cabins: Sequence[CabinToBuild],
    members: Sequence[MemberWanted] = (),
    yard: Sequence[YardLog] = (),
    choices: Choices,
) -> TakeOff:
    """The logs that `cabins` (of different names) and `members` need, and which of them `yard` covers.

    Pieces beside openings share logs within one cabin, since a log is reserved for one cabin, and within one
    middle band. Raises TooLong, TooMuchAtOnce.
    """
    _refuse_too_many(cabins, members, choices)
    needed = [log for cabin in cabins for log in _logs_of_cabin(cabin, choices)]
    needed += _logs_of(member_stretches(members, middle_step_mm=choices.middle_step_mm), choices)
    spare = _spare(cabins, needed, choices)
    logs = _covered([*needed, *spare], yard)
    return TakeOff(
        cabins=tuple(_figures(cabin, logs, yard, choices) for cabin in cabins),
        lines=lines_of(logs),
        pieces=sum(len(log.targets) for log in needed),
        logs=len(needed),
        spare=len(spare),
        covered=sum(log.log is not None and not log.is_spare for log in logs),
        short=sum(log.log is None and not log.is_spare for log in logs),
        to_order=sum(log.log is None for log in logs),
        bowed=sum(log.is_bowed for log in logs),
    )


def spare_to_leave(cabins: Sequence[CabinToBuild], *, rounds: int) -> tuple[Spare, ...]:
    """The spare rounds that a take-off counts, as a plan is to leave them over: logs by what they give."""
    step = Choices().middle_step_mm
    lengths = Counter(
        stretch.length_mm
        for cabin in cabins
        for stretch in spare_stretches(cabin, rounds=rounds, middle_step_mm=step)
    )
    return tuple(Spare(length_mm=length, count=count) for length, count in sorted(lengths.items()))


def _refuse_too_many(
    cabins: Sequence[CabinToBuild], members: Sequence[MemberWanted], choices: Choices
) -> None:
    more = 1 + (choices.spare_percent or 0.0) / 100
    count = sum(member.count for member in members) * more
    for cabin in cabins:
        # Asked cabin by cabin, as the places of many large ones would take long to lay out in vain.
        _refuse_beyond(count)
        count += (len(open_places(cabin)) + len(open_members(cabin))) * more
        count += (choices.spare_rounds or 0) * len(cabin.layout.log_walls)
    _refuse_beyond(count)


def _refuse_beyond(count: float) -> None:
    if count > MOST_LOGS:
        raise TooMuchAtOnce(f"this comes to {count:.0f} pieces or more; one take-off takes {MOST_LOGS}")


def _logs_of_cabin(cabin: CabinToBuild, choices: Choices) -> list[NeededLog]:
    walls = wall_stretches(cabin, middle_step_mm=choices.middle_step_mm)
    halves = half_log_stretches(cabin, middle_step_mm=choices.middle_step_mm)
    members = cabin_member_stretches(cabin, middle_step_mm=choices.middle_step_mm)
    return _logs_of(walls, choices) + _logs_of(halves, choices) + _logs_of(members, choices)


def _logs_of(stretches: Sequence[NeededStretch], choices: Choices) -> list[NeededLog]:
    """Stretches of one use cut from logs, those of each band apart."""
    rules = choices.cutting
    longest = choices.longest_log_mm
    if longest is None:
        longest = class_mm(needed_mm([longest_mm(stretches)], rules), choices.class_step_mm)
    return [
        _needed_log(cut, rules)
        for band in dict.fromkeys(stretch.band for stretch in stretches)
        for cut in cut_into_logs(
            [stretch for stretch in stretches if stretch.band == band], longest_log_mm=longest, rules=rules
        )
    ]


def _needed_log(cut: Cut, rules: CuttingRules) -> NeededLog:
    length = needed_mm([stretch.length_mm for stretch in cut], rules)
    targets = tuple(target for stretch in cut for target in stretch.targets)
    return NeededLog(
        targets=targets,
        needed_mm=length,
        length_mm=class_mm(length, rules.class_step_mm),
        band=cut[0].band,
        is_straight=any(stretch.is_straight for stretch in cut),
        is_spare=targets[0].use is PartUse.SPARE,
        crown_limit_mm=cut[0].crown_limit_mm,
    )


def _spare(cabins: Sequence[CabinToBuild], needed: Sequence[NeededLog], choices: Choices) -> list[NeededLog]:
    if choices.spare_percent is not None:
        return spare_by_percent(needed, choices.spare_percent) if needed else []
    return [
        _needed_log((stretch,), choices.cutting)
        for cabin in cabins
        for stretch in spare_stretches(
            cabin, rounds=choices.spare_rounds or 0, middle_step_mm=choices.middle_step_mm
        )
    ]


def _covered(logs: Sequence[NeededLog], yard: Sequence[YardLog]) -> list[NeededLog]:
    """The same logs with what covers each: spare ones get what is left, and of scarce logs the long needs
    come first, as short logs are the easier to get."""
    first = sorted(range(len(logs)), key=lambda n: (logs[n].is_spare, -logs[n].needed_mm))
    demands = [_demand(logs[n]) for n in first]
    by_id = {log.id: log for log in yard}
    covered = list(logs)
    for n, demand, found in zip(first, demands, cover(demands, yard), strict=True):
        if found is not None:
            is_bowed = excess_bow_mm(by_id[found], demand) > 0.0
            covered[n] = replace(logs[n], log=found, is_bowed=is_bowed)
    return covered


def _demand(log: NeededLog) -> Demand:
    limit = log.crown_limit_mm
    if limit is None and log.is_straight:
        limit = USUAL_PARAMS.crown_limit_sill_plate_mm
    return Demand(
        length_mm=log.needed_mm,
        band=log.band,
        longest_mm=max(target.length_mm for target in log.targets),
        crown_limit_mm=USUAL_PARAMS.crown_limit_other_mm if limit is None else limit,
        cabin=log.targets[0].cabin,
    )


def _figures(
    cabin: CabinToBuild, logs: Sequence[NeededLog], yard: Sequence[YardLog], choices: Choices
) -> CabinFigures:
    layout, half_step = cabin.layout, choices.middle_step_mm / 2
    own = [log for log in logs if log.targets[0].cabin == cabin.name]
    targets = [target for log in own for target in log.targets]
    return CabinFigures(
        cabin=cabin.name,
        rounds=layout.round_count,
        pitch_mm=layout.pitch_mm,
        wall_height_mm=layout.wall_height_mm,
        rounds_if_thick=rounds_for_height(layout.wall_height_mm, layout.pitch_mm + half_step),
        rounds_if_thin=rounds_for_height(layout.wall_height_mm, layout.pitch_mm - half_step),
        places=sum(target.use is PartUse.WALL for target in targets),
        places_filled=len(cabin.filled),
        half_logs=sum(target.use is PartUse.HALF_LOG for target in targets),
        members=sum(target.use is PartUse.MEMBER for target in targets),
        members_installed=len(cabin.given),
        logs=sum(not log.is_spare for log in own),
        spare=sum(log.is_spare for log in own),
        with_yards=_yard_rounds(cabin, yard),
    )


def _yard_rounds(cabin: CabinToBuild, yard: Sequence[YardLog]) -> YardRounds | None:
    """The rounds that these logs would give; None without logs, or where the overlap eats them up."""
    middles = [log.middle_mm for log in yard if log.cabin in (None, cabin.name)]
    if not middles:
        return None
    try:
        estimate = height_estimate(cabin.layout, middles_mm=middles)
    except ImpossibleRise:
        return None
    return YardRounds(
        mean_middle_mm=estimate.mean_middle_mm,
        rounds=estimate.rounds,
        rounds_least=estimate.rounds_least,
        rounds_most=estimate.rounds_most,
    )
