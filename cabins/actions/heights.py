"""Heights measured on the wall: one or many, all or nothing, doubtful ones only when confirmed."""

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from cabins.actions.setting import CLOCKS_DIFFER
from cabins.core.layout_parts import Layout, Start
from cabins.core.pile import half_ends
from cabins.core.places import Spot, columns_of
from cabins.models import Cabin, End, MeasuredHeight
from cabins.queries import Standing, columns_set, height_row, stack_of, standing_of
from cabins.queries.layouts import in_stored_mm
from cabins.queries.told import heights_told
from cabins.queries.walls import columns_by_name
from config.api.problems import Fault, NotFound, Refusal, fault
from config.api.reading import all_faults
from config.api.versions import check_version
from crews.keeping import change_row, one_of
from crews.models import Crew, Member
from inventory.actions.checking import ask_to_confirm
from inventory.drawn import units_of

# A height so far from the expected one is more often a slip than a wall: four standard deviations, which one
# in sixteen thousand sound readings passes, and never more than a crew lets pass unseen (common practice).
DOUBTFUL_DEVIATIONS = 4.0
MOST_UNDOUBTED_MM = 40.0
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

    Each line: id, wall, round (0: what the wall starts on), end (or a tee's name), height_mm, measured_at,
    measured_by (None: `recorded_by`), remarks. The same again changes nothing. As many queries for many as
    for one. Raises InvalidInput with every fault (pointers `/heights/N/...`), DoubtsUnconfirmed,
    HeightStands, NotFound.
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
    lying = {} if standing is None else columns_set(standing.layout, standing.pieces)
    places = {} if standing is None else columns_by_name(standing.layout)
    people = _people(cabin.crew_id, lines)
    faults = [
        one
        for line, here in zip(lines, where, strict=True)
        for one in (
            *_faults_of_record(line, here, people, at=at),
            *_faults_of_place(line, here, standing, places, lying),
        )
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


def _faults_of_record(line: Line, here: str, people: Mapping[UUID, Member], *, at: datetime) -> list[Fault]:
    faults = []
    if line["measured_by"] and line["measured_by"] not in people:
        faults.append(fault(f"{here}/measured_by", "No such member in this crew.", "unknown"))
    if line["measured_at"] > at + CLOCKS_DIFFER:
        faults.append(fault(f"{here}/measured_at", "This is still to come.", "future"))
    return faults


def _faults_of_place(
    line: Line,
    here: str,
    standing: Standing | None,
    places: Mapping[tuple[str, str], tuple[str, int]],
    lying: Mapping[Spot, Mapping[str, Any]],
) -> list[Fault]:
    """Why nothing can be measured there; `lying`: the pieces that are set, by where they can be measured."""
    wall, number, end = line["wall"], line["round"], line["end"]
    ends = [name for one, name in places if one == wall]
    if standing is None or not ends:
        return [fault(f"{here}/wall", f"There is no wall {wall}.", "unknown")]
    if end not in ends:
        detail = f"Wall {wall} is measured at {', '.join(ends)}."
        return [fault(f"{here}/end", detail, "unknown")]
    if number > standing.layout.round_count:
        spots = half_ends(standing.layout, columns_of(standing.layout))
        over = {one for one, _, _ in spots if number == standing.layout.round_count + 1}
        if wall not in over:
            return [fault(f"{here}/round", f"Wall {wall} has no round {number}.", "unknown")]
        if end not in End.values:
            detail = "Half logs over the last round are measured at the wall's start and end."
            return [fault(f"{here}/end", detail, "unknown")]
    if number == 0:
        return []
    faults = []
    if line["height_mm"] <= 0:
        faults.append(fault(f"{here}/height_mm", "The top of a log lies above the deck.", "too_small"))
    piece = lying.get((wall, number, places[wall, end][1]))
    if piece is None:
        where = f"the {end}" if end in End.values else end
        detail = f"No log is set at {where} of wall {wall} in round {number}."
        faults.append(fault(f"{here}/round", detail, "not_set"))
    elif line["measured_at"] < piece["set_at"]:
        detail = f"Log {piece['log_number']} was set there only at {piece['set_at']:%Y-%m-%d %H:%M} UTC."
        faults.append(fault(f"{here}/measured_at", detail, "before_set"))
    return faults


def _doubts(cabin: Cabin, rows: Sequence[MeasuredHeight], where: Mapping[UUID, str]) -> list[Fault]:
    """Heights far from what is expected there, judged with the other heights just recorded."""
    standing, units = standing_of([cabin])[cabin.id], units_of(cabin.crew)
    places = columns_by_name(standing.layout)
    spots = {row.id: (row.wall, row.round, places[row.wall, row.end][1]) for row in rows}
    expected = _expected(standing, set(spots.values()))
    _keep_computed(standing, rows, spots, expected)
    doubts = []
    for row in rows:
        top, begins_mm = expected[spots[row.id]]
        off = float(row.height_mm) - top
        if abs(off) > begins_mm:
            detail = (
                f"{units.across(float(row.height_mm))} is {units.across(abs(off))} "
                f"{'above' if off > 0 else 'below'} the {units.across(top)} that the round below and "
                "the log give."
            )
            doubts.append(fault(f"{where[row.id]}/height_mm", detail, "far_from_computed"))
    return doubts


def _expected(standing: Standing, spots: Set[Spot]) -> dict[Spot, tuple[float, float]]:
    """What each of these spots would be if nobody had measured it, and from how far off a doubt begins.

    Round by round, on what was measured below: first the ends, then the tees on the ends as measured.
    """
    columns = columns_of(standing.layout)

    def is_tee(spot: Spot) -> bool:
        return spot[2] not in (columns[spot[0]][0].column, columns[spot[0]][-1].column)

    found = {}
    for number, at_tees in sorted({(spot[1], is_tee(spot)) for spot in spots}):
        asked = {spot for spot in spots if (spot[1], is_tee(spot)) == (number, at_tees)}
        others = {spot: mm for spot, mm in standing.heights_mm.items() if spot not in asked}
        stack = stack_of(replace(standing, heights_mm=others))
        for top in (*stack.tops, *stack.half_tops):
            spot = (top.wall, top.round, top.column)
            if spot in asked:
                begins = DOUBTFUL_DEVIATIONS * top.error_mm
                if _stands_on_a_guess(standing.layout, spot, others):
                    begins = MOST_UNDOUBTED_MM
                found[spot] = (top.top_mm, min(begins, MOST_UNDOUBTED_MM))
    return found


def _stands_on_a_guess(layout: Layout, spot: Spot, measured_mm: Mapping[Spot, Decimal]) -> bool:
    """Whether what the wall starts on is neither measured nor given: no log says how high that is."""
    wall, number, column = spot
    if number == 0:
        return True
    [start] = {one.start for one in layout.log_walls if one.id == wall}
    if start is Start.LOW or layout.deck_raise_mm is not None:
        return False
    return not any((wall, below, column) in measured_mm for below in range(number))


def _keep_computed(
    standing: Standing,
    rows: Sequence[MeasuredHeight],
    spots: Mapping[UUID, Spot],
    expected: Mapping[Spot, tuple[float, float]],
) -> None:
    """Beside each height what was computed for it, of which the crew's own record is made.

    Nothing of half logs, where a wall's start is a guess, and of a height that was doubted: what is off there
    is no error of reading or cutting.
    """
    for row in rows:
        wall, number, column = spots[row.id]
        others = {spot: mm for spot, mm in standing.heights_mm.items() if spot != spots[row.id]}
        row.computed_mm = row.rounds_since = None
        computed_mm, begins_mm = expected[spots[row.id]]
        is_doubted = abs(float(row.height_mm) - computed_mm) > begins_mm
        is_whole = 0 < number <= standing.layout.round_count
        if is_whole and not is_doubted and not _stands_on_a_guess(standing.layout, spots[row.id], others):
            below = next((one for one in range(number - 1, 0, -1) if (wall, one, column) in others), 0)
            row.computed_mm = in_stored_mm(computed_mm)
            row.rounds_since = number - below
    MeasuredHeight.objects.bulk_update(rows, ["computed_mm", "rounds_since"])
