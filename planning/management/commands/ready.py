"""Say what this server still lacks before others use it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from config.ready import lacks


class Command(BaseCommand):
    help = "Say what is missing for a server that others reach, and what to do; ends with 1 if anything is."
    requires_system_checks: list[str] = []

    def handle(self, **options: Any) -> None:
        found = list(lacks())
        for lack in found:
            self.stdout.write(f"MISSING  {lack.missing}\n         {lack.to_do}")
        if found:
            raise CommandError(f"{len(found)} things are missing.", returncode=1)
        self.stdout.write("Ready: nothing is missing.")
