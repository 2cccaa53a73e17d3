"""The quantity of a delivered log that is paid: by the mill's own scale, and by ours."""

from decimal import Decimal

from inventory.core.chart_line import profile_of_line
from inventory.core.order import PriceBy, Terms, paid_quantity, quantities_of_log
from inventory.core.profile import LogProfile
from inventory.core.tally_logs import TallyRow, line_of_row


def mill_quantity(row: TallyRow, terms: Terms) -> Decimal | None:
    """What the mill says it delivered: its own scale where it tallied one, else the rule over its figures."""
    scaled = {PriceBy.BOARD_FOOT: row.board_feet, PriceBy.CUBIC_METRE: row.volume_m3}.get(terms.price_by)
    return our_quantity_of_tally(row, terms) if scaled is None else scaled


def our_quantity_of_tally(row: TallyRow, terms: Terms) -> Decimal | None:
    """The rule over the diameters the mill tallied; None where it does not reach."""
    line = line_of_row(row, number="1", taper_mm_per_m=terms.taper_mm_per_m)
    return our_quantity(profile_of_line(line), length_mm=row.length_mm, terms=terms)


def our_quantity(profile: LogProfile, *, length_mm: Decimal, terms: Terms) -> Decimal | None:
    """The rule over a log as the crew measured it; None where it does not reach."""
    return paid_quantity(quantities_of_log(profile, length_mm=length_mm, terms=terms), terms.price_by)
