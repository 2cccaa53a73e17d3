"""`make export-crew CREW= FILE=` and `make import-crew FILE=`: one crew's data to a file, and from a file."""

import os
import sys
from contextlib import ExitStack

import django

from config.database import PrivateServerFailed, private_place, running_server


def main(arguments: list[str]) -> int:
    """Of DATABASE_URL or else of the private server, started if need be."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from config.archive import commands  # needs the models

    try:
        with ExitStack() as stack:
            if not os.environ.get("DATABASE_URL"):
                stack.enter_context(running_server(private_place()))
            return commands.run(arguments)
    except PrivateServerFailed as reason:
        commands.say(str(reason))
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
