"""Found the first crew of a server from its own command line."""

from typing import Any
from uuid import uuid4

from django.core.management.base import BaseCommand, CommandParser
from django.utils.timezone import now

from crews.accounts.actions import found_crew_with_key
from crews.accounts.models import LengthUnit, WeightUnit


class Command(BaseCommand):
    help = "Found a crew with its lead and print the lead's access key (shown this once)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="the crew's name")
        parser.add_argument("--lead", required=True, help="the lead's name")
        parser.add_argument("--length-unit", default=LengthUnit.MILLIMETRE, choices=LengthUnit.values)
        parser.add_argument("--weight-unit", choices=WeightUnit.values, help="else as the length unit")

    def handle(
        self, *, name: str, lead: str, length_unit: str, weight_unit: str | None, **options: Any
    ) -> None:
        *_, key = found_crew_with_key(
            id=uuid4(),
            name=name,
            lead_name=lead,
            at=now(),
            length_unit=length_unit,
            weight_unit=weight_unit,
        )
        self.stdout.write(key)
