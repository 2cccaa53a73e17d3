"""Load the invented demo school into a database that has no crew yet."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils.timezone import now

from planning.demo import load_demo


class Command(BaseCommand):
    help = "Load the demo school if there is no crew yet; prints its lead's access key (shown this once)."

    def handle(self, *_args: Any, **_options: Any) -> None:
        key = load_demo(at=now())
        if key is None:
            self.stdout.write("There is a crew already; the demo was not loaded.")
        else:
            self.stdout.write(f"The demo school is loaded.\nkey: {key}")
