"""A yard as a chart, the CSV that imports to the same yard; and one log's line as it was said."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.backends.postgresql.psycopg_any import mogrify

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.problems import Fault, InvalidInput, fault
from inventory.charts.chart_sql import MARKS, chart_rows_sql
from inventory.core.chart import write_chart
from inventory.core.chart_cells import Units
from inventory.core.chart_line import ChartLine, Hazard, ReadAcross, with_means
from inventory.core.chart_rules import doubts_of_line, faults_of_line
from inventory.core.finding import Finding
from inventory.core.measure import Unit
from inventory.core.spoken_line import Ask, read_spoken_line
from inventory.logs.checks import pointed
from inventory.logs.drawing_values import units_of
from inventory.logs.lines import CHARTED, line_of_fields, name_key
from inventory.logs.models import Log
from inventory.yards.models import Yard

_LINES_AT_ONCE = 500


def chart_of_yard(crew: Crew, yard: UUID, *, unit: Unit) -> Iterator[bytes]:
    """The yard's logs in the order of their numbers, as the parts of a chart. Raises NotFound at once."""
    row_or_not_found(Yard.objects.of(crew).values("id"), yard)
    rows = mogrify(chart_rows_sql(unit), {"yard": yard, "crew": crew.id, **MARKS}, connection)
    return _parts(write_chart([], unit=unit), rows)


_MEASURES = ("number", "length_mm", "butt_mm", "middle_mm", "tip_mm")


def spoken_log(crew: Crew, text: str, *, yard: UUID | None) -> dict[str, Any]:
    """What is read of a line that was said, and what is asked: SpokenLineOut. Nothing is stored.

    A line with all measures is held to the rules of the chart, and its number to those of the `yard`. Raises
    InvalidInput where the crew has no such yard.
    """
    if yard and not Yard.objects.of(crew).filter(id=yard).exists():
        raise InvalidInput(errors=[fault("/yard", "No such yard in this crew.", "unknown")])
    line = read_spoken_line(text, units=Units.of(Unit(crew.length_unit), fraction=crew.fraction))
    questions: list[Fault] = pointed(line.questions)
    questions += pointed(_rules(crew, line.fields))
    number = line.fields.get("number")
    if yard and number and _is_charted(crew, yard, number):
        taken = f"Log {number} is charted in this yard already."
        questions.append({**fault("/number", taken, Ask.NUMBER_TAKEN), "read": number})
    across = [
        {**one, "difference_mm": abs(one["first_mm"] - one["across_mm"])}
        for one in line.fields.get("read_across", [])
    ]
    told = line.fields | ({"read_across": across} if across else {})
    return {"fields": told, "questions": questions}


def _rules(crew: Crew, fields: dict[str, Any]) -> tuple[Finding, ...]:
    """What the chart's rules say of a line that has all that a log must have."""
    if not all(name in fields for name in _MEASURES):
        return ()
    parts = {
        "read_across": tuple(ReadAcross(**one) for one in fields.get("read_across", ())),
        "hazards": tuple(Hazard(**one) for one in fields.get("hazards", ())),
    }
    line = with_means(ChartLine(**fields | parts))
    units = units_of(crew)
    return faults_of_line(line, units=units) or doubts_of_line(line, units=units)


def _is_charted(crew: Crew, yard: UUID, number: str) -> bool:
    key = name_key(number)
    held = Log.objects.of(crew).filter(yard=yard).values_list("number", flat=True)
    return any(name_key(one) == key for one in held.filter(number__iexact=number))


def chart_workbook(crew: Crew, yard: UUID, *, unit: Unit) -> bytes:
    """The same logs as a workbook. Raises NotFound."""
    from inventory.core.chart_workbook import chart_as_workbook

    row_or_not_found(Yard.objects.of(crew).values("id"), yard)
    rows = Log.objects.of(crew).filter(yard=yard).order_by("number_order", "id")
    named = rows.values(*CHARTED, "number", "state", "rack__name", "species__name")
    return chart_as_workbook((_line(row) for row in named.iterator(_LINES_AT_ONCE)), unit=unit)


def _line(row: dict[str, Any]) -> ChartLine:
    line = line_of_fields(row, number=row["number"], rack=row["rack__name"], species=row["species__name"])
    return replace(line, state=row["state"])


def _parts(heading: str, rows: str) -> Iterator[bytes]:
    yield heading.encode()
    with connection.cursor() as cursor, cursor.copy(f"COPY ({rows}) TO STDOUT (FORMAT csv)") as copy:
        # PostgreSQL gives a line at a time and ends it as Unix does.
        while some := list(islice(copy, _LINES_AT_ONCE)):
            text = b"".join(some)
            if text.count(b"\n") == len(some):
                yield text.replace(b"\n", b"\r\n")
            else:  # a remark of several lines keeps its own ends
                yield b"\r\n".join([*(bytes(line)[:-1] for line in some), b""])
