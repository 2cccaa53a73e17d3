"""A yard as a chart: the CSV that imports to the same yard."""

from collections.abc import Iterator
from itertools import islice
from uuid import UUID

from django.db import connection
from django.db.backends.postgresql.psycopg_any import mogrify

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from inventory.charts.chart_sql import MARKS, chart_rows_sql
from inventory.core.chart import write_chart
from inventory.core.measure import Unit
from inventory.yards.models import Yard

_LINES_AT_ONCE = 500


def chart_of_yard(crew: Crew, yard: UUID, *, unit: Unit) -> Iterator[bytes]:
    """The yard's logs in the order of their numbers, as the parts of a chart. Raises NotFound at once."""
    row_or_not_found(Yard.objects.of(crew).values("id"), yard)
    rows = mogrify(chart_rows_sql(unit), {"yard": yard, "crew": crew.id, **MARKS}, connection)
    return _parts(write_chart([], unit=unit), rows)


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
