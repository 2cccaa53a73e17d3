"""Make a link that signs one browser in, once."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.timezone import now

from crews.accounts.access import key_of, secret_hash
from crews.accounts.sign_in_links import make_sign_in_link


class Command(BaseCommand):
    help = "Print the path of a link that signs one browser in, once, within ten minutes."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("key_file", type=Path, help="a file with the access key of whoever is signed in")

    def handle(self, *, key_file: Path, **options: Any) -> None:
        at = now()
        key = key_of(secret_hash(key_file.read_text().strip()), at)
        if key is None:
            raise CommandError("The key in this file opens nothing.")
        self.stdout.write(make_sign_in_link(key, at=at))
