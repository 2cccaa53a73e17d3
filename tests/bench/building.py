"""Cabins: progress of many, a batch from a phone, a plan adopted, sheets and drawings."""

import json
from typing import Any
from uuid import UUID, uuid4

from tests.bench.lists import told
from tests.bench.timing import Side, compare
from tests.bench.world import Result, World
from tests.bench.yards import a_yard, lay_logs
from tests.rectangle import RECTANGLE

_AT = "2026-05-04T10:00:00Z"
# Set logs: every place of the lower rounds, one log of the yard each, in the order of both.
_SET = """
INSERT INTO cabins_setlog (id, crew_id, version, created_at, changed_at, cabin_id, wall, round, piece,
    place_id, log_id, from_butt_mm, butt_at, set_at, set_by_id, recorded_by_id, metal_removed, remarks,
    warnings, undo_reason)
SELECT gen_random_uuid(), %(crew)s, 1, now(), now(), cabin_id, wall, round, piece, spot.id, log.id, 60,
    'start', %(at)s, %(member)s, %(member)s, true, '', '[]', ''
FROM (SELECT *, row_number() OVER (ORDER BY id) AS n FROM cabins_place
      WHERE cabin_id = ANY(%(cabins)s) AND round <= %(rounds)s) AS spot
JOIN (SELECT id, row_number() OVER (ORDER BY id) AS n FROM inventory_log WHERE yard_id = %(yard)s) AS log
    USING (n)
"""
_HEIGHTS = """
INSERT INTO cabins_measuredheight (id, crew_id, version, created_at, changed_at, cabin_id, wall, round, "end",
    height_mm, measured_at, measured_by_id, recorded_by_id, remarks)
SELECT gen_random_uuid(), %(crew)s, 1, now(), now(), cabin_id, wall, round, one_end, 310 * round,
    %(at)s::timestamptz + interval '1 h', %(member)s, %(member)s, ''
FROM cabins_place CROSS JOIN unnest(ARRAY['start', 'end']) AS one_end
WHERE cabin_id = ANY(%(cabins)s) AND round <= %(rounds)s AND piece = 0
"""
_MEASUREMENTS = """
INSERT INTO inventory_measurement (id, crew_id, version, created_at, changed_at, log_id, measures_version,
    length_mm, butt_mm, middle_mm, tip_mm, station_inset_mm, further_stations, crown_mm, crook_mm, grain_hand,
    hazards, charted_by)
SELECT gen_random_uuid(), crew_id, 1, created_at, changed_at, id, 1, length_mm, butt_mm, middle_mm, tip_mm,
    station_inset_mm, further_stations, crown_mm, crook_mm, grain_hand, hazards, charted_by
FROM inventory_log WHERE yard_id = %s
"""
_PROGRESS = """
SELECT json_agg(t)::text FROM (
    SELECT cabin.id, cabin.name, layout_version, spots.places, spots.set, spots.last_set_at,
        (SELECT min(round) - 1 FROM cabins_place open WHERE open.cabin_id = cabin.id AND NOT EXISTS (
            SELECT FROM cabins_setlog l WHERE l.place_id = open.id AND undone_at IS NULL)) AS complete,
        (SELECT json_agg(latest) FROM (
            SELECT DISTINCT ON (wall, "end") wall, "end", round, height_mm FROM cabins_measuredheight h
            WHERE h.cabin_id = cabin.id ORDER BY wall, "end", round DESC, measured_at DESC) AS latest
        ) AS heights
    FROM cabins_cabin cabin
    LEFT JOIN LATERAL (
        SELECT count(*) AS places, count(l.id) AS set, max(l.set_at) AS last_set_at FROM cabins_place p
        LEFT JOIN cabins_setlog l ON l.place_id = p.id AND l.undone_at IS NULL
        WHERE p.cabin_id = cabin.id) AS spots ON true
    WHERE cabin.crew_id = %s ORDER BY cabin.created_at, cabin.id
) AS t
"""


def _cabins(world: World, *, count: int, rounds: int, built: int) -> list[UUID]:
    """Cabins of four walls, laid out through the API, with logs set and measured up to a round."""
    caller, sql, ids = world.caller(), world.service.sql, [uuid4() for _ in range(count)]
    layout = {**RECTANGLE, "rounds": rounds, "wall_height_mm": 312 * rounds}
    for number, id in enumerate(ids):
        caller.ask("PUT", f"cabins/{id}", {"name": f"Cabin {number}"})
        caller.ask("PUT", f"cabins/{id}/layout", layout)
    yard = a_yard(sql, world.crew, logs=4 * built * count)
    given = {"crew": world.crew, "member": world.member, "cabins": ids, "rounds": built, "yard": yard}
    sql.execute(_SET, given | {"at": _AT})
    sql.execute(_HEIGHTS, given | {"at": _AT})
    sql.execute("UPDATE inventory_log SET state = 'set' WHERE yard_id = %s", [yard])
    sql.execute("ANALYZE")
    return ids


def progress(world: World) -> Result:
    _cabins(world, count=50, rounds=20, built=10)
    caller = world.caller()
    found = compare(
        Side(work=lambda: caller.ask("GET", "progress")),
        Side(work=lambda: world.service.sql.execute(_PROGRESS, [world.crew]).fetchone()),
        runs=world.runs,
    )
    detail = told(found, "one query")
    return Result(what="progress of 50 cabins with 20 rounds", figure=found.ratio, bar=2, detail=detail)


def batch(world: World) -> Result:
    """500 logs measured without a signal; against INSERTs of the same logs and measurements."""
    sql, caller, sent = world.service.sql, world.caller(), {"entries": [{}]}
    yards = [a_yard(sql, world.crew)]

    def ready() -> None:
        yards.append(a_yard(sql, world.crew))
        sent["entries"] = [_entry(yards[-1], number) for number in range(500)]

    def send() -> None:
        assert caller.json("POST", "batch", sent)["accepted"] == 500

    found = compare(
        Side(ready=ready, work=send),
        Side(
            ready=lambda: yards.append(a_yard(sql, world.crew)),
            work=lambda: _insert_logs(world, yards[-1], 500),
        ),
        runs=max(world.runs // 3, 2),
    )
    detail = told(found, "INSERT of the rows")
    return Result(what="batch of 500 field entries", figure=found.ratio, bar=4, detail=detail)


def _entry(yard: UUID, number: int) -> dict[str, Any]:
    measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
    return {
        "id": str(uuid4()),
        "made_at": _AT,
        "method": "PUT",
        "path": f"/api/v1/logs/{uuid4()}",
        "body": {"yard": str(yard), "number": f"B{number}", **measures},
    }


def _insert_logs(world: World, yard: UUID, count: int) -> None:
    with world.service.sql.transaction():
        lay_logs(world.service.sql, yards=[yard], count=count)
        world.service.sql.execute(_MEASUREMENTS, [yard])


def adopt(world: World) -> Result:
    """A plan of 500 pieces, each from a log of its own; against one UPDATE of those logs."""
    sql, caller = world.service.sql, world.caller()
    cabins = _cabins(world, count=5, rounds=25, built=0)
    yard = a_yard(sql, world.crew, logs=500)
    plan = _plan(world, cabins, yard)
    raised = (
        "UPDATE inventory_log SET state = 'reserved', version = version + 1, changed_at = now()"
        " WHERE id = ANY(%s)"
    )
    ids = [row[0] for row in sql.execute("SELECT id FROM inventory_log WHERE yard_id = %s", [yard])]

    def ready() -> None:
        sql.execute("DELETE FROM planning_reservation WHERE plan_id = %s", [plan])
        sql.execute("DELETE FROM planning_currentplan WHERE plan_id = %s", [plan])
        sql.execute("UPDATE planning_plan SET state = 'proposed' WHERE id = %s", [plan])
        sql.execute("UPDATE inventory_log SET state = 'in_rack' WHERE yard_id = %s", [yard])

    caller.ask("POST", f"plans/{plan}/adopt")
    reserved = sql.execute("SELECT count(*) FROM planning_reservation WHERE plan_id = %s", [plan]).fetchone()
    assert reserved == (500,)
    found = compare(
        Side(ready=ready, work=lambda: caller.ask("POST", f"plans/{plan}/adopt")),
        Side(ready=ready, work=lambda: sql.execute(raised, [ids])),
        runs=world.runs,
    )
    detail = told(found, "UPDATE of the logs")
    return Result(what="adopt a plan of 500 pieces", figure=found.ratio, bar=4, detail=detail)


def _plan(world: World, cabins: list[UUID], yard: UUID) -> UUID:
    """A proposed plan as a worker stores it, without the search."""
    sql, job, plan = world.service.sql, uuid4(), uuid4()
    built = sql.execute(
        "SELECT id::text, layout_version, built_version FROM cabins_cabin WHERE id = ANY(%s)", [cabins]
    ).fetchall()
    logs = sql.execute("SELECT id::text, measures_version FROM inventory_log WHERE yard_id = %s", [yard])
    stated = {id: {"layout_version": laid, "built_version": version} for id, laid, version in built}
    made_from = json.dumps({"cabins": stated, "logs": dict(logs.fetchall())})
    given = {"job": job, "plan": plan, "crew": world.crew, "member": world.member, "made_from": made_from}
    sql.execute(
        "INSERT INTO planning_planningjob (id, crew_id, version, created_at, changed_at, cabins, yards,"
        " excluded, pinned, preset, weights, trade_offs, seconds, seed, asked_by_id, state, cancel_asked,"
        " reason, fraction, moves) VALUES (%(job)s, %(crew)s, 1, now(), now(), '[]', '[]', '[]', '[]',"
        " 'usual', '{}', false, 10, 7, %(member)s, 'done', false, '', 1, 1)",
        given,
    )
    report = '{"terms": [], "metrics": {}, "shortages": [], "sure": [], "trade_offs": []}'
    sql.execute(
        "INSERT INTO planning_plan (id, crew_id, version, created_at, changed_at, job_id, state, problem,"
        " made_from, report, courses, objective, feasible, complete) VALUES (%(plan)s, %(crew)s, 1, now(),"
        " now(), %(job)s, 'proposed', '{}', %(made_from)s, %(report)s, '{}', 1, true, true)",
        given | {"report": report},
    )
    sql.execute(
        "INSERT INTO planning_plannedpiece (plan_id, cabin_id, wall, round, piece, start_mm, end_mm, log_id,"
        " from_butt_mm, butt_at)"
        " SELECT %s, cabin_id, wall, round, piece, start_mm, end_mm, log.id, 60, 'start' FROM"
        " (SELECT *, row_number() OVER (ORDER BY id) AS n FROM cabins_place WHERE cabin_id = ANY(%s)) AS spot"
        " JOIN (SELECT id, row_number() OVER (ORDER BY id) AS n FROM inventory_log WHERE yard_id = %s) AS log"
        " USING (n)",
        [plan, cabins, yard],
    )
    return plan


def setting_sheet(world: World) -> Result:
    return _shown(world, "setting sheet PDF of 14 rounds", "sheets/setting?round=14")


def elevation(world: World) -> Result:
    return _shown(world, "elevation SVG", "elevation?wall=A")


def _shown(world: World, what: str, address: str) -> Result:
    [cabin] = _cabins(world, count=1, rounds=14, built=13)
    caller = world.caller()
    caller.ask("POST", f"plans/{_plan(world, [cabin], a_yard(world.service.sql, world.crew, logs=56))}/adopt")
    side = Side(work=lambda: caller.ask("GET", f"cabins/{cabin}/{address}"))
    found = compare(side, side, runs=max(world.runs // 3, 2))
    detail = f"noise {found.noise_pct:.0f} %"
    return Result(what=what, figure=found.ours_ms, bar=None, unit="ms", detail=detail)
