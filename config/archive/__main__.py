"""`make export-crew CREW= FILE=` and `make import-crew FILE=`: one crew's data to a file, and from a file."""

import os
import sys

import django

from config.commands import say
from config.database import database_at_hand
from config.home import PrivateServerFailed
from config.switches import SwitchRefused


def main(arguments: list[str]) -> int:
    """Of DATABASE_URL or else of the private server, started if need be."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        django.setup()
        from config.archive import commands  # needs the models

        with database_at_hand(say, command=f"make {arguments[0]}-crew" if arguments else "make"):
            return commands.run(arguments)
    except (PrivateServerFailed, SwitchRefused) as reason:
        say(str(reason))
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
