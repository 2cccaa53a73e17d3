"""The account of an order: ordered against delivered, the mill's scale against ours."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from inventory.core.accounting import mill_quantity, our_quantity, our_quantity_of_tally
from inventory.core.order import (
    Terms,
    amount_of,
    nominal_basis,
    paid_quantity,
    quantities_of_line,
    written_money,
)
from inventory.core.reconcile import LineAccount, outside_class, reconcile
from inventory.core.reconcile import ScaledLog as Delivered
from inventory.core.tally_logs import diameters_of
from inventory.deliveries.models import DeliveredLog, DeliveryState
from inventory.logs.models import Log
from inventory.logs.profiles import profile_of_log
from inventory.orders.models import Order
from inventory.orders.parts import lines_of, tally_row_of, terms_of
from inventory.orders.queries import basis_row

_CAUTION = (
    "The mill's own scale decides what is paid; the difference is for talking about, not for deducting."
)


def account_of(crew: Crew, order: UUID) -> dict[str, Any]:
    """What came of an order and was received, by line and in total; adds up to the log and the cent."""
    held = one_of(Order, crew=crew, id=order)
    terms = terms_of(held)
    lines = lines_of(held, terms)
    rows = list(
        DeliveredLog.objects.of(crew)
        .filter(delivery__order=held, delivery__state=DeliveryState.RECEIVED)
        .select_related("log", "line")
        .order_by("delivery__received_at", "delivery_id", "place")
    )
    logs = [_delivered(row, terms) for row in rows]
    ordered = [
        amount_of(line.price, paid_quantity(quantities_of_line(line, terms), terms.price_by))
        for line in lines
    ]
    found = reconcile(lines, logs, ordered_amounts=ordered)
    by_line = {line.line: line for line in lines}
    return {
        "currency": held.currency,
        "price_by": held.price_by,
        "state": held.state,
        "lines": [_account_row(one) for one in found.lines],
        "total": _account_row(found.total),
        "outside_logs": [
            {**_shown(row, log), "why": list(why)}
            for row, log in zip(rows, logs, strict=True)
            if not log.rejected
            and (why := outside_class(log, by_line[log.line]) if log.line in by_line else ("not_ordered",))
        ],
        "rejected_logs": [
            {**_shown(row, log), "reason": row.reject_reason}
            for row, log in zip(rows, logs, strict=True)
            if log.rejected
        ],
        "basis": basis_row(nominal_basis(terms)),
        "cautions": [_CAUTION],
    }


def _account_row(account: LineAccount) -> dict[str, Any]:
    """An account as a row, its money as exact texts."""
    row = asdict(account)
    return {name: written_money(value) if name.endswith("_amount") else value for name, value in row.items()}


def _delivered(row: DeliveredLog, terms: Terms) -> Delivered:
    """A delivered log with what the mill makes of it, and we."""
    tallied = tally_row_of(row)
    log = row.log
    if log is None:
        ours = our_quantity_of_tally(tallied, terms)
        length_mm = row.length_mm
        middle_mm = diameters_of(tallied, taper_mm_per_m=terms.taper_mm_per_m).middle_mm
    else:  # as the crew measured it, and until then as it was charted from the tally
        ours = our_quantity(profile_of_log(log), length_mm=log.length_mm, terms=terms)
        length_mm, middle_mm = log.length_mm, log.middle_mm
    return Delivered(
        line=row.line.line if row.line else None,
        length_mm=length_mm,
        middle_mm=middle_mm,
        measured=log is not None and _is_measured(row, log, terms),
        mill_quantity=mill_quantity(tallied, terms),
        our_quantity=ours,
        rejected=row.rejected_at is not None,
    )


def _is_measured(row: DeliveredLog, log: Log, terms: Terms) -> bool:
    """Whether the crew has measured the log: under its own name, or to other figures than the mill's."""
    if log.charted_by != row.charted_by:
        return True
    tallied = diameters_of(tally_row_of(row), taper_mm_per_m=terms.taper_mm_per_m)
    theirs = (row.length_mm, tallied.butt_mm, tallied.middle_mm, tallied.tip_mm)
    return (log.length_mm, log.butt_mm, log.middle_mm, log.tip_mm) != theirs


def _shown(row: DeliveredLog, log: Delivered) -> dict[str, Any]:
    return {
        "id": row.id,
        "line": log.line,
        "number": row.number,
        "yard_number": row.log.number if row.log else None,
        "length_mm": log.length_mm,
        "middle_mm": log.middle_mm,
        "measured": log.measured,
    }
