"""Load the invented demo school into a database that has no crew yet."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import transaction
from django.utils.timezone import now

from config.home import write_secret
from planning.demo import load_demo


class Command(BaseCommand):
    help = "Load the demo school if there is no crew yet; prints its lead's access key (shown this once)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--key-file", type=Path, help="keep the key there, for the owner's eyes alone")

    def handle(self, *_args: Any, key_file: Path | None, **_options: Any) -> None:
        with transaction.atomic():
            key = load_demo(at=now())
            if key is not None and key_file is not None:
                write_secret(key_file, key)  # before the demo stands: a key that is lost is lost for ever
        if key is None:
            self.stdout.write("There is a crew already; the demo was not loaded.")
        else:
            self.stdout.write(f"The demo school is loaded.\nkey: {key}")
