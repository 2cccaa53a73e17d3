"""Writes of crews, members and keys."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import IntegrityError, transaction

from crews.accounts.access import new_secret, secret_hash
from crews.accounts.models import AccessKey, Crew, Member, Person, Role, role_covers
from crews.accounts.new_crew_defaults import furnish_crew
from crews.accounts.queries import crew_row, key_row, member_row
from crews.accounts.versioned_rows import change_row, one_of, put_row
from crews.api.problems import Conflict, Refusal, fault, register_constraint_errors
from crews.api.reading import raise_if_any
from crews.api.versions import NO_VERSION, Expected, check_version


class LastLead(Refusal):
    """A crew keeps at least one lead."""


class LastLeadKey(Refusal):
    """This is the last key that opens the crew to a lead."""


class KeyTooStrong(Refusal):
    """A key cannot allow more than its member's role."""

    status = 422


register_constraint_errors(
    {
        "person_once_in_crew": (Conflict, "This person is already a member."),
        "key_expires_after_made": (KeyTooStrong, "A key expires after it was made."),
    }
)


@transaction.atomic
def found_crew(
    *, id: UUID, name: str, lead_name: str, person: Person | None = None, at: datetime, **fields: Any
) -> tuple[Crew, Member]:
    """A new crew with its first lead: `person`, or else someone new."""
    crew = Crew.objects.create(id=id, name=name, created_at=at, changed_at=at, **fields)
    lead = {"person": person or new_person(), "name": lead_name, "role": Role.LEAD}
    member = Member.objects.create(id=uuid4(), crew=crew, created_at=at, changed_at=at, **lead)
    furnish_crew(crew, at)
    return crew, member


def new_person() -> Person:
    """Someone who holds keys and signs in by nothing else."""
    person = Person(id=uuid4())
    person.set_unusable_password()
    person.save(force_insert=True)
    return person


class FoundingClosed(Refusal):
    """Only the operator founds crews on this server."""

    status = 403


class CrewExists(Refusal):
    """A crew with this id exists already; its first key was shown when it was founded."""


def found_crew_with_key(*, id: UUID, at: datetime, **fields: Any) -> tuple[Crew, Member, str]:
    """A new crew and its first key, for someone who came by the API."""
    try:
        with transaction.atomic():
            crew, member = found_crew(id=id, at=at, **fields)
            _, secret = make_key(
                crew=crew,
                id=uuid4(),
                member=member.id,
                name="first key",
                role=Role.LEAD,
                expires_at=None,
                at=at,
            )
    except IntegrityError as taken:
        raise CrewExists from taken
    return crew, member, secret or ""


def change_crew(*, crew: Crew, fields: dict[str, Any], expected: Expected | None, at: datetime) -> None:
    """Change the crew's name or its way of writing lengths."""
    with transaction.atomic():
        held = Crew.objects.select_for_update().get(id=crew.id)
        if all(getattr(held, name) == value for name, value in fields.items()):
            return
        check_version(expected=expected, current=held.version, row=crew_row(crew))
        Crew.objects.filter(id=crew.id).update(version=held.version + 1, changed_at=at, **fields)


@transaction.atomic
def put_member(
    *, crew: Crew, id: UUID, name: str, role: str, expected: Expected | None, at: datetime
) -> bool:
    """Take a person into the crew, or change the name or role; True if newly taken in."""
    # One lock for the crew's membership, so that two leads cannot demote each other at once.
    Crew.objects.select_for_update().get(id=crew.id)
    held = Member.objects.of(crew).filter(id=id).first()
    fields = {"name": name, "role": role}
    if held is None:
        new = {"person": new_person(), **fields}
        _, created = put_row(Member, crew=crew, id=id, fields=new, expected=expected, at=at)
        return created
    if (held.role, held.name) == (role, name):
        return False
    check_version(expected=expected, current=held.version, row=member_row(crew, id))
    if held.role == Role.LEAD and role != Role.LEAD:
        _keep_a_lead(crew, leaving=held)
    change_row(held, fields=fields, at=at)
    return False


@transaction.atomic
def part_with_member(*, crew: Crew, id: UUID, expected: Expected | None, at: datetime) -> None:
    """A member leaves the crew: their keys open nothing from now on; what they recorded stays."""
    Crew.objects.select_for_update().get(id=crew.id)
    held = one_of(Member, crew=crew, id=id, lock=True)
    if held.left_at is not None:
        return
    check_version(expected=expected, current=held.version, row=member_row(crew, id))
    if held.role == Role.LEAD:
        _keep_a_lead(crew, leaving=held)
    change_row(held, fields={"left_at": at}, at=at)


def _keep_a_lead(crew: Crew, *, leaving: Member) -> None:
    leads = Member.objects.of(crew).filter(role=Role.LEAD, left_at=None).exclude(id=leaving.id)
    if not leads.exists():
        raise LastLead


@transaction.atomic
def make_key(
    *, crew: Crew, id: UUID, member: UUID, name: str, role: str, expires_at: datetime | None, at: datetime
) -> tuple[bool, str | None]:
    """A new key for a member; returns (created, secret). A repeat gives no secret: it was shown once."""
    # The same request sent twice at once: the second one sees the key that the first one made.
    members = Member.objects.of(crew).select_for_update(of=("self",), no_key=True)
    holder = members.filter(id=member, left_at=None).first()
    if holder is None:
        raise_if_any([fault("/member", "No such member in this crew.", "unknown")])
        raise AssertionError
    if not role_covers(holder.role, role):
        raise KeyTooStrong(errors=[fault("/role", f"The member is a {holder.role}.", "too_strong")])
    if expires_at is not None and expires_at <= at:
        raise_if_any([fault("/expires_at", "Already past.", "past")])
    held = AccessKey.objects.of(crew).filter(id=id).first()
    if held is not None:
        same = (held.member_id, held.name, held.role, held.expires_at) == (member, name, role, expires_at)
        if not same:
            check_version(expected=NO_VERSION, current=held.version, row=key_row(crew, id))
        return False, None
    secret = new_secret()
    fields = {"member": holder, "name": name, "role": role, "expires_at": expires_at, "hint": secret[:8]}
    _, created = put_row(
        AccessKey,
        crew=crew,
        id=id,
        fields={**fields, "secret_sha256": secret_hash(secret)},
        expected=None,
        at=at,
    )
    return created, secret


def revoke_key(*, crew: Crew, id: UUID, at: datetime) -> None:
    """The key opens nothing from now on. Raises LastLeadKey if no lead could get in any more."""
    with transaction.atomic():
        # One lock for the crew's membership, so that two leads cannot revoke each other's key at once.
        Crew.objects.select_for_update().get(id=crew.id)
        key = one_of(AccessKey, crew=crew, id=id, lock=True)
        if key.revoked_at is None:
            _keep_a_lead_key(crew, leaving=key, at=at)
            change_row(key, fields={"revoked_at": at}, at=at)


def _keep_a_lead_key(crew: Crew, *, leaving: AccessKey, at: datetime) -> None:
    opening = AccessKey.objects.of(crew).filter(role=Role.LEAD, revoked_at=None, member__left_at=None)
    good = opening.exclude(expires_at__lte=at)
    if good.filter(id=leaving.id).exists() and not good.exclude(id=leaving.id).exists():
        raise LastLeadKey
