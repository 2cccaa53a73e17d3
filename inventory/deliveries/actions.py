"""Writes of deliveries: announced, tallied in the mill's columns, received onto a rack, logs rejected."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from hashlib import sha256
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of, put_row
from crews.api.problems import Fault, InvalidInput, NotFound, Refusal, fault
from crews.api.reading import raise_if_any
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_event
from crews.events.models import EventKind
from inventory.core.crew_units import sentence_of
from inventory.core.finding import Finding
from inventory.core.numbering import BadNumber, numbers_after
from inventory.core.reconcile import line_for
from inventory.core.tally import FormReadsNoTally, read_tally
from inventory.core.tally_logs import TallyRow, diameters_of, line_of_row, logs_of_row
from inventory.deliveries.models import DeliveredLog, Delivery, DeliveryState
from inventory.deliveries.queries import TALLIED, delivery_row
from inventory.logs.actions import keep_measurements
from inventory.logs.drawing_values import units_of
from inventory.logs.lines import fields_of_line, name_key
from inventory.logs.models import Log
from inventory.orders.models import Order
from inventory.orders.parts import core_line, form_of, form_row_of, tally_row_of, terms_of
from inventory.orders.states import (
    DELIVERABLE,
    Doer,
    locked_order,
    note_on_order,
    refuse_unless,
    settle_state,
)
from inventory.yards.models import Rack, Species, Yard


class DeliveryReceived(Refusal):
    """The delivery was received already; its logs lie in the yard."""


class DeliveryNotTallied(Refusal):
    """The delivery has no tally yet: nothing says which logs came."""


class MillFormReadsNoTally(Refusal):
    """The mill's form has no columns from which a tally could be read."""


@transaction.atomic
def announce_delivery(
    *, crew: Crew, id: UUID, fields: dict[str, Any], by: Doer, expected: Expected | None, at: datetime
) -> bool:
    """A truck is to come, by the mill's word or the crew's; True if it is new. `fields` has `order` as an id.

    Raises InvalidInput, OrderMoveRefused, VersionNeeded, VersionStale, NotFound.
    """
    if not Order.objects.of(crew).filter(id=fields["order"]).exists():
        raise_if_any([fault("/order", "No such order in this crew.", "unknown")])
    order = locked_order(crew, fields["order"])
    held = Delivery.objects.of(crew).filter(id=id).first()
    if held is None:
        refuse_unless(order, *DELIVERABLE)
    elif held.order_id != order.id:
        if by.mill_key is not None:
            raise NotFound  # the crew's other orders are not there for a mill
        raise_if_any([fault("/order", "A delivery stays with its order.", "fixed")])
    columns = {"order": order, "expected_on": fields["expected_on"], "remarks": fields["remarks"]}
    row_of = partial(delivery_row, crew)
    _, created = put_row(Delivery, crew=crew, id=id, fields=columns, expected=expected, at=at, row_of=row_of)
    if created:
        when = columns["expected_on"] and columns["expected_on"].isoformat()
        detail = f"expected on {when}" if when else ""
        note_on_order(order, what="delivery_announced", by=by, at=at, detail=detail)
        data = {"order": str(order.id), "delivery": str(id), "expected_on": when}
        emit_event(crew, EventKind.DELIVERY_ANNOUNCED, data, at)
    return created


@transaction.atomic
def post_tally(
    *, crew: Crew, id: UUID, file: bytes, by: Doer, expected: Expected | None, at: datetime
) -> None:
    """The tally of a delivery, in the mill's own columns. The same file again changes nothing.

    Every row is checked before any is stored. Another file before the delivery is received replaces the first
    and needs its version. Raises InvalidInput with every fault (row, column, read), MillFormReadsNoTally,
    DeliveryReceived, OrderMoveRefused, VersionNeeded, VersionStale, NotFound.
    """
    order = locked_order(crew, one_of(Delivery, crew=crew, id=id).order_id)
    delivery = one_of(Delivery, crew=crew, id=id, lock=True)
    digest = sha256(file).digest()
    if delivery.tally_sha256 is not None and bytes(delivery.tally_sha256) == digest:
        return
    if delivery.state == DeliveryState.RECEIVED:
        raise DeliveryReceived
    refuse_unless(order, *DELIVERABLE)
    if delivery.tally_sha256 is not None:
        check_version(expected=expected, current=delivery.version, row=delivery_row(crew, id))
    rows = _read(order, file)
    delivery.logs.all().delete()
    logs = _delivered(delivery, rows, order=order, at=at)
    DeliveredLog.objects.bulk_create(logs)
    fields = {"state": DeliveryState.TALLIED, "tally_sha256": digest}
    change_row(delivery, fields=fields, at=at)
    note_on_order(order, what="delivery_tallied", by=by, at=at, detail=f"{len(logs)} logs")


def _read(order: Order, file: bytes) -> tuple[TallyRow, ...]:
    form = form_row_of(order)
    if form is None:
        raise MillFormReadsNoTally
    lines = list(order.lines.values_list("line", flat=True))
    try:
        reading = read_tally(
            file,
            form_of(form),
            known_lines=lines,
            taper_mm_per_m=terms_of(order).taper_mm_per_m,
            units=units_of(order.crew),
        )
    except FormReadsNoTally as bad:
        raise MillFormReadsNoTally(f"The mill's form reads no tally: {bad}.") from bad
    if reading.faults:
        raise InvalidInput(
            f"The tally has {len(reading.faults)} fault(s); nothing was stored.",
            errors=[_in_file(one) for one in reading.faults],
        )
    return reading.rows


def _in_file(one: Finding) -> Fault:
    pointer = f"/rows/{one.row}" if one.row else ""
    return {**fault(pointer, one.text, one.code), "row": one.row, "column": one.column, "read": one.read}


def _delivered(
    delivery: Delivery, rows: Sequence[TallyRow], *, order: Order, at: datetime
) -> list[DeliveredLog]:
    """The logs of a tally, each counted for the line that it was tallied for or that it fits."""
    lines = {row.line: row for row in order.lines.order_by("line")}
    core = [core_line(row) for row in lines.values()]
    taper = terms_of(order).taper_mm_per_m
    lacking = _lacking(order, lines.values(), but=delivery)
    logs: list[DeliveredLog] = []
    for row in (one for many in rows for one in logs_of_row(many)):
        number = row.line
        if number is None:
            number = line_for(
                species=row.species,
                length_mm=row.length_mm,
                middle_mm=diameters_of(row, taper_mm_per_m=taper).middle_mm,
                lines=core,
                open_count=lacking,
            )
        else:
            lacking[number] -= 1
        logs.append(
            DeliveredLog(
                id=uuid4(), crew_id=order.crew_id, delivery=delivery, place=len(logs) + 1,
                line=None if number is None else lines[number],
                created_at=at, changed_at=at, **{name: getattr(row, name) for name in TALLIED},
            )
        )  # fmt: skip
    return logs


def _lacking(order: Order, lines: Any, *, but: Delivery | None = None) -> dict[int, int]:
    """How many logs each line still lacks, those rejected not counted."""
    logs = DeliveredLog.objects.filter(delivery__order=order, rejected_at=None, line__isnull=False)
    if but is not None:
        logs = logs.exclude(delivery=but)
    here = list(logs.values_list("line__line", flat=True))
    return {row.line: row.count - here.count(row.line) for row in lines}


@transaction.atomic
def receive_delivery(
    *, crew: Crew, id: UUID, rack: UUID, first_number: str | None, member: Member, at: datetime
) -> None:
    """The logs of a tally lie on a rack, numbered on in the yard's sequence. A repeat changes nothing.

    Their measures are the mill's until someone measures them, and say so in `charted_by`. Logs rejected
    before do not come in. Raises InvalidInput, DeliveryNotTallied, OrderMoveRefused, NotFound.
    """
    order = locked_order(crew, one_of(Delivery, crew=crew, id=id).order_id)
    delivery = one_of(Delivery, crew=crew, id=id, lock=True)
    if delivery.state == DeliveryState.RECEIVED:
        return
    if delivery.state != DeliveryState.TALLIED:
        raise DeliveryNotTallied
    refuse_unless(order, *DELIVERABLE)
    place = Rack.objects.of(crew).filter(id=rack).first()
    if place is None:
        raise_if_any([fault("/rack", "No such rack in this crew.", "unknown")])
        raise AssertionError
    rows = list(delivery.logs.filter(rejected_at=None).select_related("line").order_by("place"))
    numbers = _numbers(crew, place, how_many=len(rows), first=first_number)
    _into_yard(rows, numbers, order=order, rack=place, member=member, at=at)
    fields = {"state": DeliveryState.RECEIVED, "received_at": at, "rack": place}
    change_row(delivery, fields=fields, at=at)
    by = Doer(member=member)
    note_on_order(order, what="delivery_received", by=by, at=at, detail=f"{len(rows)} logs on {place.name}")
    settle_state(order, by=by, at=at)
    data = {"order": str(order.id), "delivery": str(id), "logs": len(rows)}
    emit_event(crew, EventKind.DELIVERED, data, at)


def _numbers(crew: Crew, rack: Rack, *, how_many: int, first: str | None) -> tuple[str, ...]:
    # From here on nobody else adds logs to the yard: their numbers go on from those there are.
    one_of(Yard, crew=crew, id=rack.yard_id, lock=True)
    taken = list(Log.objects.filter(yard=rack.yard_id).values_list("number", flat=True))
    try:
        return numbers_after(taken, how_many=how_many, first=first)
    except BadNumber as bad:
        raise InvalidInput(errors=[fault("/first_number", sentence_of(bad), "no_number")]) from bad


def _into_yard(
    rows: Sequence[DeliveredLog],
    numbers: Sequence[str],
    *,
    order: Order,
    rack: Rack,
    member: Member,
    at: datetime,
) -> None:
    crew, taper = order.crew, terms_of(order).taper_mm_per_m
    mark = f"tally of {order.mill.name}"
    species = {name_key(one.name): one.id for one in Species.objects.of(crew)}
    logs = []
    for row, number in zip(rows, numbers, strict=True):
        fields = fields_of_line(line_of_row(tally_row_of(row), number=number, taper_mm_per_m=taper))
        named = row.species or (row.line.species if row.line else "")
        fields |= {"charted_by": mark, "charted_on": at.date(), "species_id": species.get(name_key(named))}
        log = Log(
            id=uuid4(), crew=crew, yard_id=rack.yard_id, rack=rack, number=number,
            created_at=at, changed_at=at, **fields,
        )  # fmt: skip
        logs.append(log)
        row.log, row.charted_by = log, mark
        row.version, row.changed_at = row.version + 1, at
    Log.objects.bulk_create(logs)
    keep_measurements(logs, member=member)
    DeliveredLog.objects.bulk_update(rows, ["log", "charted_by", "version", "changed_at"])
