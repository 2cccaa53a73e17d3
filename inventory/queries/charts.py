"""A yard as a chart: the CSV that imports to the same yard."""

from collections.abc import Iterator
from itertools import chain
from uuid import UUID

from crews.models import Crew
from crews.queries import one_row
from inventory.core.chart import write_chart
from inventory.core.chart_line import ChartLine
from inventory.core.measure import Unit
from inventory.lines import CHARTED, line_of_fields
from inventory.models import Log, Yard

_ROWS_AT_ONCE = 1000


def chart_of_yard(crew: Crew, yard: UUID, *, unit: Unit) -> Iterator[str]:
    """The yard's logs in the order of their numbers, as the parts of a chart. Raises NotFound at once."""
    one_row(Yard.objects.of(crew).values("id"), yard)
    rows = Log.objects.of(crew).filter(yard=yard).order_by("number_order", "id")
    found = rows.values(*CHARTED, "number", "rack__name", "species__name").iterator(_ROWS_AT_ONCE)
    lines = (
        line_of_fields(row, number=row["number"], rack=row["rack__name"], species=row["species__name"])
        for row in found
    )
    heading = write_chart([], unit=unit)
    return chain([heading], _parts(lines, unit=unit, fraction=crew.fraction, heading=heading))


def _parts(lines: Iterator[ChartLine], *, unit: Unit, fraction: int, heading: str) -> Iterator[str]:
    part: list[ChartLine] = []
    for line in lines:
        part.append(line)
        if len(part) == _ROWS_AT_ONCE:
            yield write_chart(part, unit=unit, fraction=fraction).removeprefix(heading)
            part = []
    if part:
        yield write_chart(part, unit=unit, fraction=fraction).removeprefix(heading)
