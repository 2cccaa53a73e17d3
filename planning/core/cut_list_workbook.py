"""The cut list as a workbook: a row for each piece, log by log, with where the saw goes."""

from collections.abc import Iterable, Mapping
from typing import Any

from inventory.core.form_cells import UNIT_WORDS
from inventory.core.measure import Unit
from inventory.core.workbook import Table, in_unit, write_table


def cut_list_as_workbook(logs: Iterable[Mapping[str, Any]], *, unit: Unit) -> bytes:
    """`logs` as the cut list's answer has them; positions are numbers, and again as a crew reads them."""
    word = UNIT_WORDS[unit]
    headings = (
        "log", "yard", "rack", f"log's length ({word})", f"from butt ({word})", f"to ({word})",
        f"length ({word})", "from butt, as read", "to, as read", "goes to", "wall", "round", "piece",
        "member", "at openings", "sawn or marked", "cautions",
    )  # fmt: skip
    rows = (
        [
            log["log_number"],
            log["yard_name"],
            log["rack_name"],
            in_unit(log["length_mm"], unit),
            in_unit(piece["near_butt_mm"], unit),
            in_unit(piece["near_tip_mm"], unit),
            in_unit(piece["length_mm"], unit),
            piece["near_butt_text"],
            piece["near_tip_text"],
            piece["goes_to"],
            piece["wall"],
            piece["round"],
            piece["piece"],
            piece["member"],
            " ".join(piece["opening_cuts"]),
            ", ".join(_done(mark) for mark in piece["marks"]),
            " ".join(log["cautions"]),
        ]
        for log in logs
        for piece in log["pieces"]
    )
    return write_table(Table(title="cut list", headings=headings), rows)


def _done(mark: Any) -> str:
    return str(mark).replace("_", " ")
