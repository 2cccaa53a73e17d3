"""The mill's side of an order: keys that open it, changes that the mill proposes, the crew's answers."""

import secrets
from copy import copy
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from crews.accounts.access import secret_hash
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import change_row, one_of, put_row
from crews.api.problems import NotFound, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import NO_VERSION, check_version
from inventory.core.crew_units import CrewUnits
from inventory.logs.drawing_values import units_of
from inventory.mill_side.queries import mill_key_row
from inventory.orders.actions import confirm_if_complete, confirm_lines, faults_of_count, faults_of_line
from inventory.orders.models import MillKey, Order, OrderLine, OrderState, Proposal, ProposalState
from inventory.orders.parts import terms_of
from inventory.orders.states import Doer, locked_order, note_on_order, refuse_unless, settle_state

KEY_START = "mill_"
_ANSWERABLE = (OrderState.SENT, OrderState.CONFIRMED, OrderState.PART_DELIVERED)


class ProposalAnswered(Refusal):
    """The crew has answered this proposal already, the other way."""


class ProposalFixed(Refusal):
    """A proposal is not changed; make another one."""


class MillKeyExpiry(Refusal):
    """A mill's key expires after it was made."""

    status = 422


register_constraint_errors(
    {"mill_key_expires_after_made": (MillKeyExpiry, "A mill's key expires after it was made.")}
)


@transaction.atomic
def make_mill_key(
    *, crew: Crew, order: UUID, id: UUID, name: str, expires_at: datetime, at: datetime
) -> tuple[bool, str | None]:
    """A key that opens one order to its mill; (created, secret). A repeat gives no secret."""
    one_of(Order, crew=crew, id=order)
    held = MillKey.objects.of(crew).filter(id=id).first()
    if held is not None:
        if (held.order_id, held.name, held.expires_at) != (order, name, expires_at):
            check_version(expected=NO_VERSION, current=held.version, row=mill_key_row(crew, id))
        return False, None
    if expires_at <= at:
        raise_if_any([fault("/expires_at", "Already past.", "past")])
    secret = KEY_START + secrets.token_urlsafe(32)
    fields = {"order_id": order, "name": name, "expires_at": expires_at, "hint": secret[:9]}
    kept = {**fields, "secret_sha256": secret_hash(secret)}
    _, created = put_row(MillKey, crew=crew, id=id, fields=kept, expected=None, at=at)
    return created, secret


@transaction.atomic
def revoke_mill_key(*, crew: Crew, id: UUID, at: datetime) -> None:
    """The key opens nothing from now on."""
    key = one_of(MillKey, crew=crew, id=id, lock=True)
    if key.revoked_at is None:
        change_row(key, fields={"revoked_at": at}, at=at)


@transaction.atomic
def mill_confirms(*, key: MillKey, lines: list[int] | None, at: datetime) -> None:
    """The mill confirms lines of its order, or all of them."""
    order = locked_order(key.crew, key.order_id)
    confirm_lines(order, lines=lines, by=Doer(mill_key=key), at=at)


@transaction.atomic
def propose_change(*, key: MillKey, id: UUID, fields: dict[str, Any], at: datetime) -> bool:
    """The mill proposes another length or count of a line, or another date; True if the proposal is new.

    Nothing of the order changes before the crew accepts. Raises InvalidInput, OrderMoveRefused,
    ProposalFixed, NotFound for an id of another order's.
    """
    order = locked_order(key.crew, key.order_id)
    number = fields.pop("line")
    line = order.lines.filter(line=number).first() if number is not None else None
    held = Proposal.objects.filter(id=id).first()
    if held is not None and held.order_id != order.id:
        raise NotFound  # the crew's other orders are not there for a mill
    if held is not None:
        if held.line != line or any(getattr(held, name) != value for name, value in fields.items()):
            raise ProposalFixed
        return False
    refuse_unless(order, *_ANSWERABLE)
    _check_proposal(order, line, number=number, fields=fields)
    columns = {"order": order, "mill_key": key, "line": line, **fields}
    put_row(Proposal, crew=key.crew, id=id, fields=columns, expected=None, at=at)
    note_on_order(
        order,
        what="change_proposed",
        by=Doer(mill_key=key),
        at=at,
        detail=_said(line, fields, units_of(order.crew)),
    )
    return True


def _check_proposal(
    order: Order, line: OrderLine | None, *, number: int | None, fields: dict[str, Any]
) -> None:
    of_line = fields["length_mm"] is not None or fields["count"] is not None
    faults = []
    if number is not None and line is None:
        faults.append(fault("/line", "The order has no such line.", "unknown"))
    elif of_line and number is None:
        faults.append(fault("/line", "A length or a count is that of a line.", "missing"))
    elif not of_line and number is not None:
        faults.append(fault("/line", "Say what is to change: length_mm or count.", "nothing"))
    elif not of_line and fields["wanted_on"] is None:
        faults.append(
            fault("", "Say what is to change: a line's length_mm or count, or wanted_on.", "nothing")
        )
    elif line is not None:
        wanted = copy(line)
        wanted.length_mm = fields["length_mm"] or line.length_mm
        faults += [
            fault("/length_mm", one["detail"], one["code"])
            for one in faults_of_line(wanted, 0, terms_of(order))
        ]
        others = sum(row.count for row in order.lines.all() if row.line != line.line)
        faults += faults_of_count(others + (fields["count"] or line.count), at="/count")
    raise_if_any(faults)


def _said(line: OrderLine | None, fields: dict[str, Any], units: CrewUnits) -> str:
    parts = [f"line {line.line}"] if line else []
    if fields["length_mm"] is not None:
        parts.append(f"length {units.along(fields['length_mm'])}")
    if fields["count"] is not None:
        parts.append(f"count {fields['count']}")
    if fields["wanted_on"] is not None:
        parts.append(f"on {fields['wanted_on'].isoformat()}")
    return ", ".join(parts)


@transaction.atomic
def accept_proposal(*, crew: Crew, id: UUID, member: Member, at: datetime) -> None:
    """The order becomes what the mill proposed, and the line counts as confirmed. Raises ProposalAnswered."""
    order, proposal = _to_answer(crew, id, ProposalState.ACCEPTED)
    if proposal.state == ProposalState.ACCEPTED:
        return
    refuse_unless(order, *_ANSWERABLE)
    by = Doer(member=member)
    _answer(proposal, ProposalState.ACCEPTED, member=member, at=at)
    changed: dict[str, Decimal | int | date | None] = {
        name: value for name in ("length_mm", "count") if (value := getattr(proposal, name)) is not None
    }
    units = units_of(crew)
    if proposal.line is not None:
        was = f"was {units.along(proposal.line.length_mm)}, {proposal.line.count} logs"
        change_row(proposal.line, fields={**changed, "confirmed_at": at}, at=at)
    else:
        was = f"was {order.wanted_on.isoformat()}" if order.wanted_on else "no date before"
    wanted_on = proposal.wanted_on
    change_row(order, fields={} if wanted_on is None else {"wanted_on": wanted_on}, at=at)
    fields = {"length_mm": proposal.length_mm, "count": proposal.count, "wanted_on": wanted_on}
    detail = f"{_said(proposal.line, fields, units)}; {was}"
    note_on_order(order, what="change_accepted", by=by, at=at, detail=detail)
    confirm_if_complete(order, by=by, at=at)
    settle_state(order, by=by, at=at)


@transaction.atomic
def decline_proposal(*, crew: Crew, id: UUID, member: Member, at: datetime) -> None:
    """The order stays as it is. Raises ProposalAnswered."""
    order, proposal = _to_answer(crew, id, ProposalState.DECLINED)
    if proposal.state == ProposalState.DECLINED:
        return
    by = Doer(member=member)
    _answer(proposal, ProposalState.DECLINED, member=member, at=at)
    fields = {name: getattr(proposal, name) for name in ("length_mm", "count", "wanted_on")}
    note_on_order(
        order, what="change_declined", by=by, at=at, detail=_said(proposal.line, fields, units_of(crew))
    )
    confirm_if_complete(order, by=by, at=at)


def _to_answer(crew: Crew, id: UUID, answer: ProposalState) -> tuple[Order, Proposal]:
    # The order's row first, as everywhere, so that two who answer cannot wait for each other.
    order = locked_order(crew, one_of(Proposal, crew=crew, id=id).order_id)
    proposal = one_of(Proposal, crew=crew, id=id, lock=True)
    if proposal.state not in (ProposalState.OPEN, answer):
        raise ProposalAnswered
    return order, proposal


def _answer(proposal: Proposal, state: ProposalState, *, member: Member, at: datetime) -> None:
    change_row(proposal, fields={"state": state, "decided_by": member, "decided_at": at}, at=at)
