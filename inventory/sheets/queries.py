"""Printed sheets and drawings of the yard."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from inventory.core.drawings.yard import LogInYard, draw_yard
from inventory.core.printed.press import Paper
from inventory.core.printed.yard_sheets import print_blank_chart, print_labels, print_yard_chart
from inventory.logs.drawing_values import as_of, units_of
from inventory.logs.models import Log, LogState
from inventory.logs.queries import logs_of
from inventory.yards.models import Rack, Yard
from inventory.yards.summary import LYING


def yard_chart_file(crew: Crew, yard: UUID, *, rack: UUID | None, paper: Paper, at: datetime) -> bytes:
    """Every log that lies in the yard, or on one rack of it, as PDF. Raises NotFound."""
    name, rows = _lying(crew, yard, rack)
    return print_yard_chart(name, rows, units=units_of(crew), as_of=as_of(at), paper=paper)


def labels_file(
    crew: Crew,
    yard: UUID,
    *,
    rack: UUID | None,
    address_of: Callable[[UUID], str],
    paper: Paper,
    at: datetime,
) -> bytes:
    """A label for every log that lies in the yard, or on one rack of it, as PDF. Raises NotFound.

    `address_of`: where the label's code leads to, by the log's id.
    """
    name, rows = _lying(crew, yard, rack)
    return print_labels(
        name,
        rows,
        address_of=lambda row: address_of(row["id"]),
        units=units_of(crew),
        as_of=as_of(at),
        paper=paper,
    )


def blank_chart_file(crew: Crew, *, paper: Paper, at: datetime) -> bytes:
    """A chart to fill in by hand, in the crew's units, as PDF."""
    return print_blank_chart(units=units_of(crew), as_of=as_of(at), paper=paper)


def _lying(crew: Crew, yard: UUID, rack: UUID | None) -> tuple[str, list[dict[str, Any]]]:
    name = row_or_not_found(Yard.objects.of(crew).values("id", "name"), yard)["name"]
    rows = logs_of(crew).filter(yard=yard, state__in=LYING).order_by("number_order", "id")
    if rack is None:
        return name, list(rows)
    on = row_or_not_found(Rack.objects.of(crew).filter(yard=yard).values("id", "name"), rack)["name"]
    return f"{name}, {on}", list(rows.filter(rack=rack))


def yard_drawing(crew: Crew, yard: UUID) -> str:
    """The yard's histograms as SVG: logs that lie there, free or reserved. Raises NotFound."""
    name = row_or_not_found(Yard.objects.of(crew).values("id", "name"), yard)["name"]
    rows = Log.objects.of(crew).filter(yard=yard, state__in=LYING)
    logs = [
        LogInYard(middle_mm=float(middle), length_mm=float(length), is_reserved=state == LogState.RESERVED)
        for middle, length, state in rows.values_list("middle_mm", "length_mm", "state")
    ]
    return draw_yard(name, logs, units=units_of(crew))
