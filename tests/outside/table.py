"""The table of docs/checks.md: `python -m tests.outside.table > docs/checks.md`."""

import math
import sys
from dataclasses import dataclass

from tests.outside.noticing import Noticing, noticing
from tests.outside.registry import Compared, OutsideCheck, all_checks

HEAD = """# Checks against the world outside

What the figures of this service are checked against, apart from its own tests. Made by
`python -m tests.outside.table > docs/checks.md`; the same checks run with the tests, which fail beyond the
limit.

{counts}

A source is *seen* (it was read), *second-hand* (a text that quotes it was read) or *computed* (by a general
library, or from seen data by a published formula). The sources of single values stand in
`tests/outside/data/`.

**Independent** is what could contradict us: a *printed* value, a *measured* one, an example *worked* by
another, a general *library*. The **same formula** or the **same table** evaluated again cannot; those rows
stand apart as a regression. *Smallest error noticed*: every figure is multiplied until its row fails, too
much and too little, and the greater of the two is printed; behind it the error that half of the values
notice, each alone. A row must notice less than 10 % for a lift or a price and less than 25 % for anything
else. *Counted* are the values that alone notice that much; only they are in the line above.
"""
COLUMNS = (
    "| what | source | mark | kind | counted of | smallest error noticed | worst difference | limit |\n"
    "|---|---|---|---|---|---|---|---|\n"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One check, tried."""

    check: OutsideCheck
    compared: list[Compared]
    noticed: Noticing

    @classmethod
    def of(cls, check: OutsideCheck) -> "Row":
        """The check, tried."""
        compared = list(check.compare())
        return cls(check=check, compared=compared, noticed=noticing(check, compared))


def rows() -> list[Row]:
    """Every check with what it found and what it notices."""
    return [Row.of(check) for check in all_checks()]


def counts(tried: list[Row]) -> dict[str, int]:
    """How many values are independent, how many of those printed or measured, how many a regression."""
    independent = [row for row in tried if row.check.is_independent]
    on_paper = [row for row in independent if row.check.kind in ("printed", "measured")]
    return {
        "independent": sum(row.noticed.counted for row in independent),
        "printed or measured": sum(row.noticed.counted for row in on_paper),
        "regression": sum(len(row.compared) for row in tried if not row.check.is_independent),
    }


def table(tried: list[Row]) -> str:
    """The whole document, ending in a line break."""
    number = counts(tried)
    line = (
        f"independent: {number['independent']} (printed or measured: {number['printed or measured']}); "
        f"regression: {number['regression']}"
    )
    parts = [HEAD.format(counts=line)]
    for title, is_independent in (("Independent", True), ("The same formula or table again", False)):
        lines = [_line(row) for row in tried if row.check.is_independent is is_independent]
        parts.append(f"\n## {title}\n\n{COLUMNS}" + "".join(f"{one}\n" for one in lines))
    return "".join(parts)


def _line(row: Row) -> str:
    check, noticed = row.check, row.noticed
    worst = max(row.compared, key=lambda one: one.difference)
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
        check.kind,
        f"{noticed.counted if check.is_independent else 0} of {len(row.compared)}",
        f"{_percent(noticed.check_pct)} (half: {_percent(noticed.half_pct)})",
        found,
        f"{check.limit:g} {check.unit}",
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _percent(pct: float) -> str:
    return "none" if math.isinf(pct) else f"{pct:g} %"


if __name__ == "__main__":
    sys.stdout.write(table(rows()))
