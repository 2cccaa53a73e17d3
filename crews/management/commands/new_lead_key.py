"""Make a key for a lead whose keys are lost."""

from typing import Any
from uuid import uuid4

from django.core.management.base import BaseCommand, CommandParser
from django.utils.timezone import now

from crews.accounts.actions import make_key
from crews.accounts.models import Crew, Member, Role
from crews.management.rows import row_by_id_or_name


class Command(BaseCommand):
    help = "Print a new access key for a lead of a crew (shown this once); the old keys stay as they are."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("crew", help="its id, or its name if no other crew has it")
        parser.add_argument("member", help="the lead's id, or name")

    def handle(self, *, crew: str, member: str, **options: Any) -> None:
        of = row_by_id_or_name(Crew.objects.all(), crew, name="name", what="crew")
        leads = Member.objects.of(of).filter(role=Role.LEAD, left_at=None)
        lead = row_by_id_or_name(leads, member, name="name", what="lead of this crew")
        _, key = make_key(
            crew=of, id=uuid4(), member=lead.id, name="made on the server", role=Role.LEAD, expires_at=None,
            at=now(),
        )  # fmt: skip
        self.stdout.write(str(key))
