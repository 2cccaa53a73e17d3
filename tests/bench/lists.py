"""Lists: a page of many logs, the last page of a large yard, the history of one log."""

from urllib.parse import quote

from tests.bench.service import Caller
from tests.bench.timing import Compared, Side, compare
from tests.bench.world import Result, World
from tests.bench.yards import a_yard, many_crews

_BY_DATABASE = """
SELECT json_agg(t)::text FROM (
    SELECT log.id, number, log.yard_id, log.rack_id, log.species_id, state, length_mm, butt_mm, middle_mm,
        tip_mm, station_inset_mm, further_stations, crown_mm, crown_side, crown_at_mm, crook_mm, crook_at_mm,
        grain_hand, grain_slope, hazards, sawn_face_height_mm, sawn_thickness_mm, charted_by, charted_on,
        peeled, culled, cull_reason, gone_reason, log.remarks, measures_version, log.version, log.created_at,
        log.changed_at, rack.name AS rack_name, species.name AS species_name
    FROM inventory_log log
    LEFT JOIN inventory_rack rack ON rack.id = log.rack_id
    LEFT JOIN inventory_species species ON species.id = log.species_id
    WHERE log.crew_id = %s ORDER BY number_order, log.id LIMIT 500
) AS t
"""


def told(compared: Compared, other: str) -> str:
    """Both medians and the noise, for the table."""
    return (
        f"{compared.ours_ms:.1f} ms against {compared.other_ms:.1f} ms {other}, "
        f"noise {compared.noise_pct:.0f} %"
    )


def page_of_logs(world: World) -> Result:
    a_yard(world.service.sql, world.crew, logs=2000)
    world.service.sql.execute("ANALYZE inventory_log")
    caller = world.caller()
    assert len(caller.json("GET", "logs?limit=500")["items"]) == 500
    found = compare(
        Side(work=lambda: caller.ask("GET", "logs?limit=500")),
        Side(work=lambda: world.service.sql.execute(_BY_DATABASE, [world.crew]).fetchone()),
        runs=world.runs * 4,
    )
    return Result(what="page of 500 logs", figure=found.ratio, bar=1.5, detail=told(found, "json_agg"))


def last_page(world: World) -> Result:
    sql = world.service.sql
    many_crews(sql, crews=999, logs_each=1000)
    a_yard(sql, world.crew, logs=1000)
    sql.execute("ANALYZE inventory_log")
    caller = world.caller()
    first = last = "logs?limit=100"
    while after := caller.json("GET", last)["next"]:
        last = f"logs?limit=100&after={quote(after)}"
    assert len(caller.json("GET", last)["items"]) == 100
    found = compare(
        Side(work=lambda: caller.ask("GET", last)),
        Side(work=lambda: caller.ask("GET", first)),
        runs=world.runs * 4,
    )
    detail = told(found, "first page")
    return Result(what="last page, 1,000,000 logs in 1,000 crews", figure=found.ratio, bar=1.2, detail=detail)


def _changed_log(world: World, caller: Caller, *, changes: int) -> str:
    """The history of a log changed three times, in a yard where so many changes were made."""
    yard = a_yard(world.service.sql, world.crew, logs=100)
    sql = world.service.sql
    ids = [row[0] for row in sql.execute("SELECT id FROM inventory_log WHERE yard_id = %s", [yard])]
    for turn in range(max(changes // 100, 1)):
        few = ids[: min(changes, 100)]
        remark = f"turn {turn}"
        sql.execute(
            "UPDATE inventory_log SET remarks = %s, version = version + 1 WHERE id = ANY(%s) AND id <> %s",
            [remark, few, ids[0]],
        )
    for turn in range(3):
        sql.execute("UPDATE inventory_log SET remarks = %s WHERE id = %s", [f"own {turn}", ids[0]])
    address = f"history/log/{ids[0]}"
    assert len(caller.json("GET", address)["items"]) == 4
    return address


def history(world: World) -> Result:
    caller = world.caller()
    few = _changed_log(world, caller, changes=10)
    many = _changed_log(world, caller, changes=10_000)
    world.service.sql.execute("ANALYZE crews_change")
    found = compare(
        Side(work=lambda: caller.ask("GET", many)),
        Side(work=lambda: caller.ask("GET", few)),
        runs=world.runs * 4,
    )
    detail = told(found, "with 10")
    return Result(
        what="a log's history, 10,000 changes in its yard", figure=found.ratio, bar=1.2, detail=detail
    )
