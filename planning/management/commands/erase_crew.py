"""Take a closed crew away for good."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.timezone import now

from config.erasing import NotErased, erase_crew
from crews.accounts.models import Crew
from crews.management.rows import row_by_id_or_name


class Command(BaseCommand):
    help = (
        "Delete all of a crew that was closed long enough ago (close_crew); backups keep it for their time."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("crew", help="its id, or its name if no other crew has it")

    def handle(self, *, crew: str, **options: Any) -> None:
        of = row_by_id_or_name(Crew.objects.all(), crew, name="name", what="crew")
        try:
            number = erase_crew(of, at=now())
        except NotErased as reason:
            raise CommandError(str(reason)) from reason
        self.stdout.write(f"{of.name} is gone: {number} rows.")
