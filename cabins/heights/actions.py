"""Heights measured on the wall: one or many, all or nothing, doubtful ones only when confirmed."""

import itertools
import math
from collections.abc import Callable, Container, Mapping, Sequence, Set
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F

from cabins.cabins.models import Cabin
from cabins.core.layout_parts import Layout, Start
from cabins.core.pile import half_ends
from cabins.core.places import Spot, columns_of
from cabins.core.top_readings import TopReadings, repeat_miss_mm
from cabins.heights.models import MeasuredHeight
from cabins.heights.queries import height_row
from cabins.layouts.queries import in_stored_mm
from cabins.set_logs.actions import CLOCKS_DIFFER
from cabins.set_logs.models import End
from cabins.sheets.texts import heights_told
from cabins.walls.queries import Standing, columns_by_name, columns_set, stack_of, standing_of
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of
from crews.api.problems import Fault, InvalidInput, NotFound, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_events
from crews.events.models import EventKind
from inventory.logs.checks import ask_to_confirm
from inventory.logs.drawing_values import units_of

# A height so far from the expected one is more often a slip than a wall: four standard deviations, which one
# in sixteen thousand sound readings passes, and never more than a crew lets pass unseen (common practice).
DOUBTFUL_DEVIATIONS = 4.0
MOST_UNDOUBTED_MM = 40.0
WHERE = ["cabin", "wall", "round", "end"]

Line = Mapping[str, Any]
Change = Callable[[MeasuredHeight, dict[str, Any]], None]


class HeightStands(Refusal):
    """Under this id another height is stored; correct that one at its own address."""


register_constraint_errors(
    {"height_undone_with_a_reason": (InvalidInput, "Say why the reading of the height is taken back.")}
)


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
    expected: Expected | None,
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
        raise_if_any([fault("/cabin", "No such cabin in this crew.", "unknown")])
        raise AssertionError
    if expected is not None and not MeasuredHeight.objects.of(crew).filter(id=line["id"]).exists():
        raise NotFound
    rows, created = _record(
        building, [line], [""], confirmed=confirmed, by=recorded_by, at=at, change=correct
    )
    return rows[0], created


@transaction.atomic
def undo_height(*, crew: Crew, id: UUID, reason: str, undone_by: Member, at: datetime) -> MeasuredHeight:
    """Take back one reading of a top, with a reason; undone already, it stays as it was undone.

    The other readings of that top count on. Raises NotFound.
    """
    cabin = one_of(MeasuredHeight, crew=crew, id=id).cabin_id
    one_of(Cabin, crew=crew, id=cabin, lock=True)
    row = one_of(MeasuredHeight, crew=crew, id=id, lock=True)
    if row.undone_at is not None:
        return row
    change_row(row, fields={"undone_at": at, "undone_by": undone_by, "undo_reason": reason}, at=at)
    Cabin.objects.filter(id=cabin).update(built_version=F("built_version") + 1)
    return row


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
    raise_if_any(faults + _twice(lines, where))
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
            if row.undone_at is not None:
                raise HeightStands("This reading was taken back; record a new one under an id of its own.")
            change(row, changed)
            touched.append(row)
    MeasuredHeight.objects.bulk_create(new)
    if touched:
        at_line = dict(zip([line["id"] for line in lines], where, strict=True))
        ask_to_confirm(_doubts(cabin, touched, at_line), confirmed=confirmed)
        Cabin.objects.filter(id=cabin.id).update(built_version=F("built_version") + 1)
        emit_events(cabin.crew, [(EventKind.HEIGHT_MEASURED, _told(row)) for row in touched], at)
    return [held[line["id"]] for line in lines], bool(new)


def _told(row: MeasuredHeight) -> dict[str, Any]:
    """What an event tells of a height."""
    where = {"wall": row.wall, "round": row.round, "end": row.end}
    return {"height": str(row.id), "cabin": str(row.cabin_id), **where, "height_mm": float(row.height_mm)}


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
    """Heights far from the readings of that top before them, or from what is expected there.

    Judged with the other heights just recorded.
    """
    standing, units = standing_of([cabin])[cabin.id], units_of(cabin.crew)
    places = columns_by_name(standing.layout)
    spots = {row.id: (row.wall, row.round, places[row.wall, row.end][1]) for row in rows}
    expected = _expected(standing, set(spots.values()))
    doubts = []
    for row in rows:
        top, begins_mm = expected[spots[row.id]]
        earlier = _read_before(standing, spots[row.id], row)
        if earlier is not None:
            top, begins_mm = float(earlier.mean_mm), _doubt_of_repeat_mm(standing, earlier)
        off = float(row.height_mm) - top
        is_doubted = abs(off) > begins_mm
        _keep_for_record(standing, row, spots[row.id], computed_mm=top, earlier=earlier, doubted=is_doubted)
        if is_doubted:
            here, code = f"{where[row.id]}/height_mm", "far_from_readings" if earlier else "far_from_computed"
            is_from = (
                "read there before; if the log was moved since, take those readings back."
                if earlier
                else "that the round below and the log give."
            )
            detail = (
                f"{units.across(float(row.height_mm))} is {units.across(abs(off))} "
                f"{'above' if off > 0 else 'below'} the {units.across(top)} {is_from}"
            )
            doubts.append(fault(here, detail, code))
    MeasuredHeight.objects.bulk_update(rows, ["computed_mm", "rounds_since", "repeat_mm"])
    return doubts


def _read_before(standing: Standing, spot: Spot, row: MeasuredHeight) -> TopReadings | None:
    """The readings of the same top that were taken before this one and count beside it."""
    found = standing.readings.get(spot)
    if found is None or row.id not in [one.id for one in found.readings]:
        return None
    before = itertools.takewhile(lambda one: one.id != row.id, found.readings)
    earlier = tuple(before)
    return TopReadings(readings=earlier) if earlier else None


def _doubt_of_repeat_mm(standing: Standing, earlier: TopReadings) -> float:
    """From how far off the readings before it a reading is doubted."""
    errors = standing.errors.errors
    of_mean = errors.top_mm(rounds_since_measured=0, times_read=earlier.times)
    begins = DOUBTFUL_DEVIATIONS * math.hypot(errors.height_mm, of_mean)
    return min(begins, MOST_UNDOUBTED_MM)


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
        others = {spot: read for spot, read in standing.readings.items() if spot not in asked}
        stack = stack_of(replace(standing, readings=others))
        for top in (*stack.tops, *stack.half_tops):
            spot = (top.wall, top.round, top.column)
            if spot in asked:
                begins = DOUBTFUL_DEVIATIONS * top.error_mm
                if _stands_on_a_guess(standing.layout, spot, others):
                    begins = MOST_UNDOUBTED_MM
                found[spot] = (top.top_mm, min(begins, MOST_UNDOUBTED_MM))
    return found


def _stands_on_a_guess(layout: Layout, spot: Spot, measured: Container[Spot]) -> bool:
    """Whether what the wall starts on is neither measured nor given: no log says how high that is."""
    wall, number, column = spot
    if number == 0:
        return True
    [start] = {one.start for one in layout.log_walls if one.id == wall}
    if start is Start.LOW or layout.deck_raise_mm is not None:
        return False
    return not any((wall, below, column) in measured for below in range(number))


def _keep_for_record(
    standing: Standing,
    row: MeasuredHeight,
    spot: Spot,
    *,
    computed_mm: float,
    earlier: TopReadings | None,
    doubted: bool,
) -> None:
    """Beside a reading what the crew's own record is made of.

    Of the first one of a top what was computed for it, of later ones how far they are off those before them.
    Nothing of a height that was doubted, and nothing computed of half logs and where a wall's start is a
    guess: what is off there is no error of reading or cutting.
    """
    wall, number, column = spot
    row.computed_mm = row.rounds_since = row.repeat_mm = None
    if doubted:
        return
    if earlier is not None:
        row.repeat_mm = in_stored_mm(repeat_miss_mm(float(row.height_mm), earlier))
        return
    others = set(standing.readings) - {spot}
    is_whole = 0 < number <= standing.layout.round_count
    if is_whole and not _stands_on_a_guess(standing.layout, spot, others):
        below = next((one for one in range(number - 1, 0, -1) if (wall, one, column) in others), 0)
        row.computed_mm = in_stored_mm(computed_mm)
        row.rounds_since = number - below
