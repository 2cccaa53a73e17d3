"""The table of docs/checks.md: `python -m tests.outside.table > docs/checks.md`."""

import sys

from tests.outside.registry import OutsideCheck, all_checks

HEAD = """# Checks against the world outside

What the figures of this service are checked against, apart from its own tests. Made by
`python -m tests.outside.table > docs/checks.md`; the same checks run with the tests, which fail beyond the
limit.

A source is *seen* (it was read), *second-hand* (a text that quotes it was read) or *computed* (by a general
library, or from seen data by a published formula). The sources of single values stand in
`tests/outside/data/`.

| what | source | mark | values | worst difference | limit |
|---|---|---|---|---|---|
"""


def table() -> str:
    """The whole document, ending in a line break."""
    return HEAD + "".join(f"{_row(check)}\n" for check in all_checks())


def _row(check: OutsideCheck) -> str:
    compared = list(check.compare())
    worst = max(compared, key=lambda one: one.difference)
    # Below a thousandth of the limit it is rounding in floating point, which differs between machines.
    found = (
        f"{worst.difference:.2g} {check.unit} ({worst.label})"
        if worst.difference > check.limit / 1000
        else "0"
    )
    cells = (
        check.what,
        check.source,
        check.mark,
        str(len(compared)),
        found,
        f"{check.limit:g} {check.unit}",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


if __name__ == "__main__":
    sys.stdout.write(table())
