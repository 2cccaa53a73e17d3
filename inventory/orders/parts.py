"""From stored orders to the core's values: the terms of a mill, the lines of an order, a tally's logs."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from crews.accounts.models import Crew
from crews.api.problems import Refusal
from inventory.core.board_feet import Scaling
from inventory.core.crew_units import Sentence
from inventory.core.form import Form
from inventory.core.form_reading import read_form
from inventory.core.log_rules import BoardRule
from inventory.core.order import BadOrder, PriceBy, Terms, check_line
from inventory.core.order import ClassLine as Line
from inventory.core.tally_logs import TallyRow
from inventory.core.volume import CubicRule
from inventory.core.wood import SpeciesFigures as Wood
from inventory.deliveries.models import DeliveredLog
from inventory.logs.lines import name_key
from inventory.logs.profiles import WOOD, wood_of_row
from inventory.mills.models import Mill, MillForm
from inventory.orders.models import Order, OrderLine
from inventory.yards.models import Species

# The fields of a mill that say how it reckons.
TERMS = ["board_rule", "cubic_rule", "trim_mm", "length_step_ft", "longest_ft", "taper_mm_per_m"]


def terms_to_keep(mill: Mill) -> dict[str, Any]:
    """The mill's way of reckoning as JSON, exact."""
    given = {name: getattr(mill, name) for name in TERMS}
    return {name: str(value) if isinstance(value, Decimal) else value for name, value in given.items()}


def terms_of(order: Order) -> Terms:
    """The terms an order was sent with; of a draft those of its mill today."""
    given: Mapping[str, Any] = order.sent_terms or terms_to_keep(order.mill)
    return Terms(
        board_rule=BoardRule(given["board_rule"]),
        cubic_rule=CubicRule(given["cubic_rule"]),
        scaling=Scaling(
            trim_mm=float(given["trim_mm"]),
            length_step_ft=int(given["length_step_ft"]),
            longest_ft=int(given["longest_ft"]),
        ),
        taper_mm_per_m=float(given["taper_mm_per_m"]),
        price_by=PriceBy(order.price_by),
    )


def core_line(row: OrderLine) -> Line:
    """A stored line as the core has it."""
    return Line(
        line=row.line,
        species=row.species,
        length_mm=row.length_mm,
        least_middle_mm=row.least_middle_mm,
        largest_middle_mm=row.largest_middle_mm,
        count=row.count,
        sawn_thickness_mm=row.sawn_thickness_mm,
        price=row.price,
        note=row.note,
    )


class LineOrdersNoLog(Refusal):
    """With the mill's terms as they are now, a line of this draft stands for no log."""


def lines_of(order: Order, terms: Terms) -> list[Line]:
    """The lines of an order in their order. Raises LineOrdersNoLog, where the mill changed under a draft."""
    lines = [core_line(row) for row in order.lines.order_by("line")]
    try:
        for line in lines:
            check_line(line, terms)
    except BadOrder as bad:
        raise LineOrdersNoLog(
            Sentence("Line {line} stands for no log: {bad}.", line=line.line, bad=bad)
        ) from bad
    return lines


def woods_of(crew: Crew, names: Iterable[str]) -> dict[str, Wood]:
    """The wood of each species name as written, of those the crew keeps figures for."""
    known = {name_key(row["name"]): row for row in Species.objects.of(crew).values(*WOOD)}
    return {name: wood_of_row(known[name_key(name)]) for name in names if name_key(name) in known}


def form_row_of(order: Order) -> MillForm | None:
    """The form an order went out in; of a draft the newest of its mill."""
    return order.form or MillForm.objects.filter(mill=order.mill_id).order_by("-version").first()


def form_of(row: MillForm) -> Form:
    """The stored form as the core has it; it was checked when it was stored."""
    return read_form(row.document)


def tally_row_of(log: DeliveredLog) -> TallyRow:
    """The mill's figures of a delivered log."""
    return TallyRow(
        row=log.place,
        number=log.number,
        species=log.species,
        length_mm=log.length_mm,
        butt_mm=log.butt_mm,
        middle_mm=log.middle_mm,
        tip_mm=log.tip_mm,
        sawn_thickness_mm=log.sawn_thickness_mm,
        board_feet=log.board_feet,
        volume_m3=log.volume_m3,
        remarks=log.remarks,
    )
