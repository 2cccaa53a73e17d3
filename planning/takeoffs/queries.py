"""Reads a take-off is made from: cabins laid out, what is set in them, free logs; and the answer itself."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q, Subquery

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.core.cutting import CutLimits
from cabins.core.members import MemberKind
from cabins.roof_members.queries import members_installed_in
from cabins.set_logs.models import SetLog
from cabins.walls.queries import layout_of
from crews.accounts.models import Crew
from crews.api.problems import InvalidInput, fault
from inventory.core.crew_units import sentence_of
from inventory.core.measure import Unit
from inventory.logs.models import Log, LogState
from inventory.logs.profiles import profile_of_log
from inventory.yards.models import Species, Yard
from planning.core.takeoff.cautions import advice_of, bases_of, cautions_of, uncertainty_of
from planning.core.takeoff.covering import YardLog, yard_log
from planning.core.takeoff.cutting import TooLong
from planning.core.takeoff.lines import NeededLog, TakeoffLine, order_lines
from planning.core.takeoff.needs import CabinToBuild, MemberWanted
from planning.core.takeoff.take_off import CabinFigures, Choices, TakeOff, TooMuchAtOnce, take_off
from planning.core.usual_log import BowAndGrain, UsualLog, usual_log
from planning.reservations.models import Reservation


def cabins_by_id(crew: Crew, ids: Iterable[UUID]) -> dict[UUID, Cabin]:
    """The crew's cabins among these."""
    return {cabin.id: cabin for cabin in Cabin.objects.of(crew).filter(id__in=ids)}


def yards_by_id(crew: Crew, ids: Iterable[UUID]) -> dict[UUID, Yard]:
    """The crew's yards among these."""
    return {yard.id: yard for yard in Yard.objects.of(crew).filter(id__in=ids)}


def species_named(crew: Crew, name: str) -> Species | None:
    """The crew's species of this name, whatever the case of its letters."""
    return Species.objects.of(crew).filter(name__iexact=name).first()


def take_off_answer(crew: Crew, asked: Mapping[str, Any]) -> dict[str, Any]:
    """The take-off of what `TakeOffIn` read. Raises InvalidInput where it cannot be counted."""
    cabins, species, choices = asked["cabins"], asked["species"], _choices(asked, cut_limits(crew))
    free = _free_logs(asked["yards"], cabins)
    logs = [log for log in free if species is None or log.species_id == species.id]
    names = {cabin.id: cabin.name for cabin in cabins}
    usual = usual_log(map(_bow_and_grain, logs))
    try:
        found = take_off(
            cabins=cabins_to_build(cabins, asked["layouts"]),
            members=[_member(member) for member in asked["members"]],
            yard=[
                counted
                for log in logs
                if (counted := _yard_log(log, names, usual, choices.planned)) is not None
            ],
            choices=choices,
        )
    except TooLong as long:
        raise InvalidInput(errors=[fault("/longest_log_mm", sentence_of(long), "too_short")]) from long
    except TooMuchAtOnce as much:
        raise InvalidInput(errors=[fault("", str(much), "too_much")]) from much
    name = None if species is None else species.name
    return {
        **_counts(found, cabins),
        "lines": [_line_row(line, name, {str(log.id): log for log in logs}) for line in found.lines],
        "order": order_lines(found.lines, species=name),
        "other_species": len(free) - len(logs),
        "advice": advice_of(choices),
        "basis": bases_of(choices),
        "uncertainty": uncertainty_of(found, choices),
        "cautions": cautions_of(found, choices),
    }


def takeoff_workbook(crew: Crew, asked: Mapping[str, Any]) -> bytes:
    """The lines of the same take-off as a workbook. Raises InvalidInput."""
    from planning.core.takeoff.workbook import takeoff_as_workbook

    return takeoff_as_workbook(take_off_answer(crew, asked)["lines"], unit=Unit(crew.length_unit))


def _choices(asked: Mapping[str, Any], planned: CutLimits) -> Choices:
    longest, trim = asked["longest_log_mm"], asked["trim_each_end_mm"]
    return Choices(
        class_step_mm=float(asked["class_step_mm"]),
        trim_each_end_mm=planned.trim_each_end_mm if trim is None else float(trim),
        middle_step_mm=float(asked["middle_step_mm"]),
        longest_log_mm=None if longest is None else float(longest),
        spare_rounds=asked["spare"].get("rounds"),
        spare_percent=asked["spare"].get("percent"),
        planned=planned,
    )


def _free_logs(yards: Iterable[Yard], cabins: Iterable[Cabin]) -> list[Log]:
    """Sound logs on the yards' racks, and those reserved for these cabins (then with `reserved_for`)."""
    reservation = Reservation.objects.filter(log=OuterRef("pk"), ended_at=None, cabin__in=cabins)
    return list(
        Log.objects.filter(yard__in=yards, culled=False)
        .annotate(reserved_for=Subquery(reservation.values("cabin")[:1]))
        .filter(Q(state=LogState.IN_RACK) | Q(state=LogState.RESERVED, reserved_for__isnull=False))
        .select_related("yard")
        .order_by("yard", "number_order", "id")
    )


def _bow_and_grain(log: Log) -> BowAndGrain:
    return BowAndGrain(
        length_mm=float(log.length_mm),
        crown_mm=None if log.crown_mm is None else float(log.crown_mm),
        grain=log.grain_hand,
        twist=None,
    )


def _yard_log(log: Any, names: Mapping[UUID, str], usual: UsualLog, planned: CutLimits) -> YardLog | None:
    length = float(log.length_mm)
    return yard_log(
        id=str(log.id),
        profile=profile_of_log(log),
        crown_mm=usual.crown_mm(length) if log.crown_mm is None else float(log.crown_mm),
        metal_mm=[
            (
                float(hazard["from_butt_mm"]),
                float(hazard["from_butt_mm"]) + float(hazard.get("extent_mm") or 0),
            )
            for hazard in log.hazards
            if hazard["kind"] == "metal"
        ],
        hazard_clear_mm=planned.hazard_clear_mm,
        cabin=None if log.reserved_for is None else names[log.reserved_for],
    )


def cabins_to_build(
    cabins: Sequence[Cabin], sketches: Iterable[Mapping[str, Any]] = ()
) -> list[CabinToBuild]:
    """Cabins laid out, with what is set and made of them already; then sketches of others."""
    filled: dict[UUID, set[tuple[str, int, int]]] = {cabin.id: set() for cabin in cabins}
    for cabin, wall, round_number, piece in SetLog.objects.filter(
        cabin__in=cabins, undone_at=None
    ).values_list("cabin", "wall", "round", "piece"):
        filled[cabin].add((wall, round_number, piece))
    given: dict[UUID, set[str]] = {cabin.id: set() for cabin in cabins}
    for row in members_installed_in(cabins):
        given[row.cabin_id].add(row.member)
    stored = [
        CabinToBuild(
            name=cabin.name,
            layout=layout_of(cabin),
            filled=frozenset(filled[cabin.id]),
            given=frozenset(given[cabin.id]),
        )
        for cabin in cabins
    ]
    return stored + [CabinToBuild(name=sketch["name"], layout=sketch["layout"]) for sketch in sketches]


def _member(asked: Mapping[str, Any]) -> MemberWanted:
    largest = asked["largest_middle_mm"]
    return MemberWanted(
        id=asked["id"],
        kind=MemberKind(asked["kind"]),
        length_mm=float(asked["length_mm"]),
        least_middle_mm=float(asked["least_middle_mm"]),
        largest_middle_mm=None if largest is None else float(largest),
        count=asked["count"],
    )


def _counts(found: TakeOff, cabins: Iterable[Cabin]) -> dict[str, Any]:
    stored = {cabin.name: cabin for cabin in cabins}
    return {
        "cabins": [_cabin_row(figures, stored.get(figures.cabin)) for figures in found.cabins],
        "pieces": found.pieces,
        "logs": found.logs,
        "spare": found.spare,
        "covered": found.covered,
        "short": found.short,
        "to_order": found.to_order,
        "bowed": found.bowed,
    }


def _cabin_row(figures: CabinFigures, cabin: Cabin | None) -> dict[str, Any]:
    return {
        "cabin": figures.cabin,
        "id": None if cabin is None else cabin.id,
        "layout_version": None if cabin is None else cabin.layout_version,
        "rounds": figures.rounds,
        "pitch_mm": figures.pitch_mm,
        "wall_height_mm": figures.wall_height_mm,
        "rounds_if_thick": figures.rounds_if_thick,
        "rounds_if_thin": figures.rounds_if_thin,
        "places": figures.places,
        "places_filled": figures.places_filled,
        "half_logs": figures.half_logs,
        "members": figures.members,
        "members_installed": figures.members_installed,
        "logs": figures.logs,
        "spare": figures.spare,
        "with_yards": figures.with_yards,
    }


def _line_row(line: TakeoffLine, species: str | None, logs: Mapping[str, Log]) -> dict[str, Any]:
    return {
        "species": species,
        "length_mm": line.length_mm,
        "least_middle_mm": line.least_middle_mm,
        "largest_middle_mm": line.largest_middle_mm,
        "count": line.count,
        "spare": line.spare,
        "covered": line.covered,
        "spare_covered": line.spare_covered,
        "short": line.short,
        "to_order": line.to_order,
        "straight": line.straight,
        "note": line.note,
        "logs": [_needed_row(needed, logs) for needed in line.logs],
    }


def _needed_row(needed: NeededLog, logs: Mapping[str, Log]) -> dict[str, Any]:
    return {
        "targets": needed.targets,
        "needed_mm": needed.needed_mm,
        "is_straight": needed.is_straight,
        "is_spare": needed.is_spare,
        "log": None if needed.log is None else _covering_row(logs[needed.log], is_bowed=needed.is_bowed),
    }


def _covering_row(log: Log, *, is_bowed: bool) -> dict[str, Any]:
    return {
        "id": log.id,
        "number": log.number,
        "yard": log.yard_id,
        "yard_name": log.yard.name,
        "length_mm": log.length_mm,
        "middle_mm": log.middle_mm,
        "is_bowed": is_bowed,
    }
