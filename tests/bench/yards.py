"""Yards of many logs, made inside the database: the measurements are of reading and changing them."""

from typing import Any
from uuid import UUID, uuid4

import psycopg

# Logs as a crew charts them, every third with something said beside its measures.
_LOGS = """
INSERT INTO inventory_log (id, crew_id, version, created_at, changed_at, yard_id, rack_id, species_id, number,
    length_mm, butt_mm, middle_mm, tip_mm, station_inset_mm, further_stations, crown_mm, crown_side,
    crown_at_mm, crook_mm, crook_at_mm, grain_hand, grain_slope, hazards, charted_by, charted_on, peeled,
    culled, cull_reason, gone_reason, remarks, state, measures_version)
SELECT gen_random_uuid(), yard.crew_id, 1, now() - n * interval '1 ms', now(), yard.id, rack.id, species.id,
    'L' || n, 6000 + n %% 1000 + 0.79375, 330 + n %% 40, 310 + n %% 17 + 0.5, 285 + n %% 30, 305,
    CASE n %% 3 WHEN 0 THEN '[{"from_butt_mm": 1500, "diameter_mm": 318.5}]'::jsonb ELSE '[]' END,
    n %% 25, CASE n %% 2 WHEN 0 THEN 'top' END, NULL, 0, NULL, 'straight', NULL,
    CASE n %% 3 WHEN 0 THEN '[{"face": "left", "kind": "metal", "extent_mm": null, "from_butt_mm": 2310}]'
        ::jsonb ELSE '[]' END,
    'Wren', '2026-05-04', true, false, '', '', CASE n %% 3 WHEN 0 THEN 'wire, grown in' ELSE '' END,
    'in_rack', 1
FROM inventory_yard yard
LEFT JOIN inventory_rack rack ON rack.yard_id = yard.id
LEFT JOIN inventory_species species ON species.crew_id = yard.crew_id AND species.name = 'Bench pine'
CROSS JOIN generate_series(1, %(count)s) AS n
WHERE yard.id = ANY(%(yards)s)
"""


def lay_logs(sql: psycopg.Connection[Any], *, yards: list[UUID], count: int) -> None:
    """So many logs into each of the yards."""
    sql.execute(_LOGS, {"count": count, "yards": yards})


def a_yard(sql: psycopg.Connection[Any], crew: UUID, *, logs: int = 0) -> UUID:
    """A yard with one rack and so many logs."""
    yard = uuid4()
    sql.execute(
        "INSERT INTO inventory_yard (id, crew_id, version, created_at, changed_at, name, remarks)"
        " VALUES (%s, %s, 1, now(), now(), %s, '')",
        [yard, crew, f"Yard {yard}"],
    )
    sql.execute(
        "INSERT INTO inventory_rack (id, crew_id, version, created_at, changed_at, yard_id, name, remarks)"
        " VALUES (gen_random_uuid(), %s, 1, now(), now(), %s, 'R1', '')",
        [crew, yard],
    )
    lay_logs(sql, yards=[yard], count=logs)
    return yard


def many_crews(sql: psycopg.Connection[Any], *, crews: int, logs_each: int) -> None:
    """Other crews with a yard each: what an index has to tell apart. No history is kept of these."""
    with sql.transaction():
        sql.execute("SET LOCAL session_replication_role = replica")
        made = sql.execute(
            "INSERT INTO crews_crew (id, name, length_unit, fraction, version, created_at, changed_at)"
            " SELECT gen_random_uuid(), 'Crew ' || n, 'mm', 8, 1, now(), now() FROM generate_series(1, %s) n"
            " RETURNING id",
            [crews],
        ).fetchall()
        yards = sql.execute(
            "INSERT INTO inventory_yard (id, crew_id, version, created_at, changed_at, name, remarks)"
            " SELECT gen_random_uuid(), crew, 1, now(), now(), 'Yard', '' FROM unnest(%s::uuid[]) crew"
            " RETURNING id",
            [[row[0] for row in made]],
        ).fetchall()
        lay_logs(sql, yards=[row[0] for row in yards], count=logs_each)
    sql.execute("ANALYZE")


def a_chart(count: int) -> bytes:
    """A chart of so many logs, in millimetres; all fit and none is doubtful."""
    lines = ["number,rack,length,butt,middle,tip,crown,crown side,hazards,charted by,charted on,remarks"]
    for n in range(1, count + 1):
        hazard = "metal 2310 face left" if n % 3 == 0 else ""
        lines.append(
            f"L{n},R1,{6000 + n % 1000},{330 + n % 40},{310 + n % 17}.5,{275 + n % 30},{n % 25},top,{hazard},"
            f"Wren,2026-05-04,straight"
        )
    return "\n".join(lines).encode()
