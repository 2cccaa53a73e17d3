"""Close a crew: its archive to a new file, and no key opens it any more."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.timezone import now

from config.archive.commands import CannotArchive, export_crew
from config.erasing import WAITS, close_crew
from crews.accounts.models import Crew
from crews.management.rows import row_by_id_or_name


class Command(BaseCommand):
    help = "Write a crew's archive to a new file and revoke all of its keys; erase_crew may follow later."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("crew", help="its id, or its name if no other crew has it")
        parser.add_argument("--archive", type=Path, required=True, help="the new file, for the crew to keep")

    def handle(self, *, crew: str, archive: Path, **options: Any) -> None:
        of = row_by_id_or_name(Crew.objects.all(), crew, name="name", what="crew")
        try:
            export_crew(str(of.id), archive)
        except CannotArchive as reason:
            raise CommandError(str(reason)) from reason
        close_crew(of, at=now())
        self.stdout.write(
            f"Closed. Give {archive} to the crew; in {WAITS.days} days erase_crew may take it away."
        )
