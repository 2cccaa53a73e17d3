"""What drawings of the yard show."""

from uuid import UUID

from crews.models import Crew
from crews.queries import one_row
from inventory.core.drawings.yard import LogInYard, draw_yard
from inventory.drawn import units_of
from inventory.models import Log, LogState, Yard
from inventory.queries.summary import LYING


def yard_drawing(crew: Crew, yard: UUID) -> str:
    """The yard's histograms as SVG: logs that lie there, free or promised. Raises NotFound."""
    name = one_row(Yard.objects.of(crew).values("id", "name"), yard)["name"]
    rows = Log.objects.of(crew).filter(yard=yard, state__in=LYING)
    logs = [
        LogInYard(middle_mm=float(middle), length_mm=float(length), is_promised=state == LogState.PROMISED)
        for middle, length, state in rows.values_list("middle_mm", "length_mm", "state")
    ]
    return draw_yard(name, logs, units=units_of(crew))
