"""Charts in and out, against COPY of the same rows."""

from typing import Any
from uuid import UUID, uuid4

import psycopg

from tests.bench.lists import told
from tests.bench.timing import Side, compare
from tests.bench.world import Result, World
from tests.bench.yards import a_chart, a_yard

_OUT = """
COPY (
    SELECT number, rack.name, species.name, length_mm, butt_mm, middle_mm, tip_mm, station_inset_mm,
        further_stations, crown_mm, crown_side, crown_at_mm, crook_mm, crook_at_mm, grain_hand, grain_slope,
        hazards, sawn_face_height_mm, sawn_thickness_mm, peeled, culled, charted_by, charted_on, log.remarks
    FROM inventory_log log
    LEFT JOIN inventory_rack rack ON rack.id = log.rack_id
    LEFT JOIN inventory_species species ON species.id = log.species_id
    WHERE log.yard_id = %s ORDER BY number_order, log.id
) TO STDOUT (FORMAT csv)
"""


def _columns(sql: psycopg.Connection[Any], table: str) -> list[str]:
    found = sql.execute(
        "SELECT column_name FROM information_schema.columns WHERE table_name = %s AND is_generated = 'NEVER'"
        " ORDER BY ordinal_position",
        [table],
    )
    return [row[0] for row in found]


class _Copied:
    """The rows that an import stored, written again by COPY into another yard."""

    def __init__(self, world: World, yard: UUID) -> None:
        self._sql = world.service.sql
        self.logs = _columns(self._sql, "inventory_log")
        self.measurements = _columns(self._sql, "inventory_measurement")
        in_yard = "log_id IN (SELECT id FROM inventory_log WHERE yard_id = %s)"
        self._log_rows = self._read("inventory_log", self.logs, "yard_id = %s", yard)
        self._measurement_rows = self._read("inventory_measurement", self.measurements, in_yard, yard)
        rack = self._sql.execute("SELECT id FROM inventory_rack WHERE yard_id = %s", [yard]).fetchone()
        self._was = {str(yard): "", str(rack and rack[0]): ""}
        self._now: tuple[list[list[Any]], list[list[Any]]] = ([], [])

    def _read(self, table: str, columns: list[str], where: str, yard: UUID) -> list[list[Any]]:
        # As text, which COPY takes as it is: already parsed, and nothing left to convert.
        named = ", ".join(f'"{name}"::text' for name in columns)
        return [list(row) for row in self._sql.execute(f"SELECT {named} FROM {table} WHERE {where}", [yard])]

    def ready(self, world: World) -> None:
        """New ids in a new yard; not timed."""
        yard = str(a_yard(self._sql, world.crew))
        rack = self._sql.execute("SELECT id::text FROM inventory_rack WHERE yard_id = %s", [yard]).fetchone()
        assert rack
        given = {row[self.logs.index("id")]: str(uuid4()) for row in self._log_rows}
        places = dict(zip(self._was, (yard, rack[0]), strict=True)) | given
        logs = [[places.get(value, value) for value in row] for row in self._log_rows]
        own = self.measurements.index("id")
        measurements = [[places.get(value, value) for value in row] for row in self._measurement_rows]
        for row in measurements:
            row[own] = str(uuid4())
        self._now = (logs, measurements)

    def copy(self) -> None:
        with self._sql.transaction(), self._sql.cursor() as cursor:
            for table, columns, rows in (
                ("inventory_log", self.logs, self._now[0]),
                ("inventory_measurement", self.measurements, self._now[1]),
            ):
                named = ", ".join(f'"{name}"' for name in columns)
                with cursor.copy(f"COPY {table} ({named}) FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(row)


def chart_in(world: World) -> Result:
    sql, caller, chart = world.service.sql, world.caller(), a_chart(10_000)
    yards = [a_yard(sql, world.crew)]
    told_of = caller.json("POST", f"yards/{yards[0]}/chart?unit=mm", chart, media="text/csv")
    assert told_of["added"] == 10_000
    copied = _Copied(world, yards[0])
    found = compare(
        Side(
            ready=lambda: yards.append(a_yard(sql, world.crew)),
            work=lambda: caller.ask("POST", f"yards/{yards[-1]}/chart?unit=mm", chart, media="text/csv"),
        ),
        Side(ready=lambda: copied.ready(world), work=copied.copy),
        runs=max(world.runs // 2, 2),
    )
    detail = told(found, "COPY of the parsed rows")
    return Result(what="chart import of 10,000 logs", figure=found.ratio, bar=3, detail=detail)


def chart_out(world: World) -> Result:
    sql = world.service.sql
    yard = a_yard(sql, world.crew, logs=100_000)
    sql.execute("ANALYZE inventory_log")

    def copied() -> int:
        with sql.cursor() as cursor, cursor.copy(_OUT, [yard]) as copy:
            return sum(len(part) for part in copy)

    before = world.service.web_mb()
    found = compare(
        # A client of its own each time: an idle connection is closed while the other side takes its turn.
        Side(work=lambda: world.caller().count(f"yards/{yard}/chart?unit=mm")),
        Side(work=copied),
        runs=max(world.runs // 3, 2),
    )
    grown = world.service.web_mb() - before
    detail = f"{told(found, 'COPY TO')}; web process grew by {grown:.0f} MB"
    return Result(what="export of 100,000 logs", figure=found.ratio, bar=2, detail=detail)
