"""Who acts in the tests: a crew with its lead, builder and learner, and a stranger from another crew."""

from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import uuid4

from crews.accounts.actions import found_crew, make_key, new_person
from crews.accounts.models import Crew, Member, Role

MORNING = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Someone:
    """A member with a key that opens what the role opens."""

    crew: Crew
    member: Member
    key: str


def a_crew(name: str = "Alder Bend crew") -> Someone:
    """A new crew; the someone is its lead."""
    _crew, member = found_crew(id=uuid4(), name=name, lead_name="Odda", at=MORNING)
    return with_key(member)


def with_key(member: Member) -> Someone:
    _, secret = make_key(
        crew=member.crew,
        id=uuid4(),
        member=member.id,
        name="test",
        role=member.role,
        expires_at=None,
        at=MORNING,
    )
    assert secret
    return Someone(crew=member.crew, member=member, key=secret)


def join(crew: Crew, name: str, role: Role) -> Someone:
    """Someone new in the crew."""
    who = {"person": new_person(), "name": name, "role": role}
    member = Member.objects.create(id=uuid4(), crew=crew, created_at=MORNING, changed_at=MORNING, **who)
    return with_key(member)
