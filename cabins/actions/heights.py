"""Heights measured on the wall: one or many, all or nothing, doubtful ones only when confirmed."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from cabins.actions.setting import CLOCKS_DIFFER
from cabins.core.places import columns_of
from cabins.models import Cabin, End, MeasuredHeight
from cabins.queries import Standing, ends_set, height_row, stack_of, standing_of
from cabins.queries.told import heights_told
from config.api.problems import Fault, NotFound, Refusal, fault
from config.api.reading import all_faults
from config.api.versions import check_version
from crews.keeping import change_row, one_of
from crews.models import Crew, Member
from inventory.actions.checking import ask_to_confirm
from inventory.drawn import units_of

# A height so far from the computed one is more often a slip than a wall.
DOUBTFUL_MM = 150.0
WHERE = ["cabin", "wall", "round", "end"]

Line = Mapping[str, Any]
Change = Callable[[MeasuredHeight, dict[str, Any]], None]


class HeightStands(Refusal):
    """Under this id another height is stored; correct that one at its own address."""


@transaction.atomic
def measure_heights(
    *, crew: Crew, cabin: UUID, lines: Sequence[Line], confirmed: bool, recorded_by: Member, at: datetime
) -> tuple[list[MeasuredHeight], bool]:
    """Record heights of one cabin, all or none; (rows in the order sent, True if any is new).

    Each line: id, wall, round (0: what the wall starts on), end, height_mm, measured_at, measured_by (None:
    `recorded_by`), remarks. The same again changes nothing. As many queries for many as for one. Raises
    InvalidInput with every fault (pointers `/heights/N/...`), DoubtsUnconfirmed, HeightStands, NotFound.
    """

    def stands(row: MeasuredHeight, changed: dict[str, Any]) -> None:
        number = [line["id"] for line in lines].index(row.id)
        raise HeightStands(
            errors=[fault(f"/heights/{number}/{name}", "Stored otherwise.", "stands") for name in changed]
        )

    building = one_of(Cabin, crew=crew, id=cabin, lock=True)
    where = [f"/heights/{number}" for number in range(len(lines))]
    return _record(building, lines, where, confirmed=confirmed, by=recorded_by, at=at, change=stands)


@transaction.atomic
def measure_height(
    *,
    crew: Crew,
    cabin: UUID,
    line: Line,
    confirmed: bool,
    expected: int | None,
    recorded_by: Member,
    at: datetime,
) -> tuple[MeasuredHeight, bool]:
    """Record one height, or correct the version that `expected` names; (row, created).

    Where it was measured is not corrected: HeightStands. Raises as `measure_heights`, and VersionNeeded,
    VersionStale.
    """

    def correct(row: MeasuredHeight, changed: dict[str, Any]) -> None:
        if set(changed) & set(WHERE):
            raise HeightStands(errors=[fault(f"/{name}", "Stored otherwise.", "stands") for name in changed])
        [now_stored] = heights_told(units_of(crew), [height_row(crew, row.id)])
        check_version(expected=expected, current=row.version, row=now_stored)
        change_row(row, fields=changed, at=at)

    building = Cabin.objects.of(crew).select_for_update(of=("self",)).filter(id=cabin).first()
    if building is None:
        all_faults([fault("/cabin", "No such cabin in this crew.", "unknown")])
        raise AssertionError
    if expected is not None and not MeasuredHeight.objects.of(crew).filter(id=line["id"]).exists():
        raise NotFound
    rows, created = _record(
        building, [line], [""], confirmed=confirmed, by=recorded_by, at=at, change=correct
    )
    return rows[0], created


def _record(
    cabin: Cabin,
    lines: Sequence[Line],
    where: Sequence[str],
    *,
    confirmed: bool,
    by: Member,
    at: datetime,
    change: Change,
) -> tuple[list[MeasuredHeight], bool]:
    standing = standing_of([cabin]).get(cabin.id)
    people = _people(cabin.crew_id, lines)
    faults = [
        one
        for line, here in zip(lines, where, strict=True)
        for one in _faults(line, here, standing, people, at=at)
    ]
    all_faults(faults + _twice(lines, where))
    held = {row.id: row for row in MeasuredHeight.objects.filter(id__in=[line["id"] for line in lines])}
    if any(row.crew_id != cabin.crew_id for row in held.values()):
        raise NotFound
    new, touched = [], []
    for line in lines:
        fields = {**_fields(line, people, by), "cabin": cabin}
        row = held.get(line["id"])
        if row is None:
            row = MeasuredHeight(
                id=line["id"], crew_id=cabin.crew_id, recorded_by=by, created_at=at, changed_at=at, **fields
            )
            held[row.id] = row
            new.append(row)
            touched.append(row)
        elif changed := {name: value for name, value in fields.items() if getattr(row, name) != value}:
            change(row, changed)
            touched.append(row)
    MeasuredHeight.objects.bulk_create(new)
    if touched:
        at_line = dict(zip([line["id"] for line in lines], where, strict=True))
        ask_to_confirm(_doubts(cabin, touched, at_line), confirmed=confirmed)
        Cabin.objects.filter(id=cabin.id).update(built_version=F("built_version") + 1)
    return [held[line["id"]] for line in lines], bool(new)


def _people(crew_id: UUID, lines: Sequence[Line]) -> dict[UUID, Member]:
    asked = {line["measured_by"] for line in lines if line["measured_by"]}
    return {member.id: member for member in Member.objects.filter(crew=crew_id, id__in=asked)}


def _fields(line: Line, people: Mapping[UUID, Member], by: Member) -> dict[str, Any]:
    taken = {name: line[name] for name in ("wall", "round", "end", "height_mm", "measured_at", "remarks")}
    return {**taken, "measured_by": people[line["measured_by"]] if line["measured_by"] else by}


def _twice(lines: Sequence[Line], where: Sequence[str]) -> list[Fault]:
    ids = [line["id"] for line in lines]
    return [
        fault(f"{here}/id", "This id is there twice.", "twice")
        for number, here in enumerate(where)
        if ids[number] in ids[:number]
    ]


def _faults(
    line: Line, here: str, standing: Standing | None, people: Mapping[UUID, Member], *, at: datetime
) -> list[Fault]:
    faults = []
    if line["measured_by"] and line["measured_by"] not in people:
        faults.append(fault(f"{here}/measured_by", "No such member in this crew.", "unknown"))
    if line["measured_at"] > at + CLOCKS_DIFFER:
        faults.append(fault(f"{here}/measured_at", "This is still to come.", "future"))
    wall, number, end = line["wall"], line["round"], line["end"]
    if standing is None or wall not in {one.id for one in standing.layout.log_walls}:
        return [*faults, fault(f"{here}/wall", f"There is no wall {wall}.", "unknown")]
    if number > standing.layout.round_count:
        return [*faults, fault(f"{here}/round", f"Wall {wall} has no round {number}.", "unknown")]
    if number == 0:
        return faults
    if line["height_mm"] <= 0:
        faults.append(fault(f"{here}/height_mm", "The top of a log lies above the deck.", "too_small"))
    piece = ends_set(standing.layout, standing.pieces).get((wall, number, end))
    if piece is None:
        detail = f"No log is set at the {end} of wall {wall} in round {number}."
        faults.append(fault(f"{here}/round", detail, "not_set"))
    elif line["measured_at"] < piece["set_at"]:
        detail = f"Log {piece['log_number']} was set there only at {piece['set_at']:%Y-%m-%d %H:%M} UTC."
        faults.append(fault(f"{here}/measured_at", detail, "before_set"))
    return faults


def _doubts(cabin: Cabin, rows: Sequence[MeasuredHeight], where: Mapping[UUID, str]) -> list[Fault]:
    """Heights far from what the round below and the log give, judged with all heights just recorded."""
    standing = standing_of([cabin])[cabin.id]
    columns, units = columns_of(standing.layout), units_of(cabin.crew)
    computed = {(top.wall, top.round, top.column): top.computed_mm for top in stack_of(standing).tops}
    doubts = []
    for row in rows:
        column = columns[row.wall][0 if row.end == End.START else -1].column
        expected = computed[row.wall, row.round, column]
        off = float(row.height_mm) - expected
        if abs(off) > DOUBTFUL_MM:
            detail = (
                f"{units.across(float(row.height_mm))} is {units.across(abs(off))} "
                f"{'above' if off > 0 else 'below'} the {units.across(expected)} that the round below and "
                "the log give."
            )
            doubts.append(fault(f"{where[row.id]}/height_mm", detail, "far_from_computed"))
    return doubts
