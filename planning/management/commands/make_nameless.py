"""Take the name of somebody who left out of their crew's record."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.erasing import NotErased, make_nameless
from crews.accounts.models import Crew, Member
from crews.management.rows import row_by_id_or_name


class Command(BaseCommand):
    help = "Take the name of somebody who left out of the crew's rows and history; what they did stays."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("crew", help="its id, or its name if no other crew has it")
        parser.add_argument("member", help="the member's id, or name")

    def handle(self, *, crew: str, member: str, **options: Any) -> None:
        of = row_by_id_or_name(Crew.objects.all(), crew, name="name", what="crew")
        who = row_by_id_or_name(Member.objects.of(of), member, name="name", what="member of this crew")
        try:
            make_nameless(who)
        except NotErased as reason:
            raise CommandError(str(reason)) from reason
        self.stdout.write(
            "Done. Look through remarks yourself: what others wrote of them there is not found."
        )
