"""The cabin that docs/model/by_hand.md works with a pencil is what the wall stack says, figure by figure."""

import re
from pathlib import Path

import pytest

from cabins.core.corner_sheet import corner_sheet
from cabins.core.layout import read_layout
from cabins.core.notching import NotchState
from cabins.core.places import column_at, columns_of
from cabins.core.stack import Spot, Stack, stack_up
from tests.cabins.core.drawings import a_rectangle

PAGE = Path(__file__).resolve().parents[3] / "docs" / "model" / "by_hand.md"
LAYOUT = read_layout(
    a_rectangle(
        openings=[],
        rounds=2,
        log_middle_mm=300,
        gap={"smallest_mm": 5, "target_mm": 10, "largest_mm": 20},
        half_logs=True,
        rip_kerf_mm=4,
        sill_flat={"depth_mm": 12},
    )
)


def rows_under(heading: str) -> list[list[str]]:
    """The rows of the table under a heading of the page, without its head."""
    part = PAGE.read_text(encoding="utf-8").split(f"## {heading}")[1].split("\n## ")[0]
    lines = [line for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


WORKED = rows_under("Log by log, in the order of setting")


def course_of(words: str) -> tuple[str, int]:
    """`half log of B` is round 0 of wall B, `A, round 1` what it says."""
    found = re.fullmatch(r"half log of (\w)|(\w), round (\d)", words)
    assert found, words
    return (found[1], 0) if found[1] else (found[2], int(found[3]))


def spot_of(words: str, corner: str) -> Spot:
    wall, number = course_of(words)
    return wall, number, column_at(columns_of(LAYOUT)[wall], corner)


def the_stack() -> Stack:
    charted = rows_under("What was charted")
    return stack_up(
        LAYOUT,
        diameters_mm={spot_of(row[1], row[at]): float(row[at + 1]) for row in charted for at in (2, 4)},
    )


def test_the_page_has_six_logs_of_which_one_is_ripped():
    charted = rows_under("What was charted")

    assert {row[0] for row in charted} == {"1", "2", "3", "4", "5", "6"}
    assert [row[1] for row in charted if row[0] == "1"] == ["half log of B", "half log of D"]


@pytest.mark.parametrize("row", WORKED, ids=lambda row: " ".join(row[:2]))
def test_each_line_is_what_the_wall_stack_says(row: list[str]):
    words, corner, underside, top, over, crossing_top, depth, share = row
    stack, spot = the_stack(), spot_of(words, corner)
    found = {(t.wall, t.round, t.column): t for t in stack.tops}[spot]
    notches = {(n.wall, n.round, n.column): n for n in stack.notches}

    assert found.top_mm == pytest.approx(float(top))
    assert (found.seat.underside_mm if found.seat else 0.0) == pytest.approx(float(underside))
    if over == "the deck":
        assert spot not in notches
        return
    notch = notches[spot]
    assert (notch.over_wall, notch.over_round) == course_of(over)
    assert stack.heights_mm[spot_of(over, corner)] == pytest.approx(float(crossing_top))
    assert notch.depth_mm == pytest.approx(float(depth))
    assert f"{notch.share:.0%}".replace("%", " %") == share
    assert notch.state is NotchState.GOOD


def test_every_log_of_the_page_stands_in_its_table_at_both_corners():
    charted = {(row[1], row[at]) for row in rows_under("What was charted") for at in (2, 4)}

    worked = {(row[0], row[1]) for row in WORKED}

    assert worked == charted


def test_the_corner_sheet_cuts_the_same_notches_and_adds_up():
    stack = the_stack()

    for words, corner, _, _, over, _, depth, _ in WORKED:
        sheet = corner_sheet(stack, crossing=corner)
        found = {(row.wall, row.round): row for row in sheet.rows}
        if over != "the deck":
            assert found[course_of(words)].cut.depth_mm == pytest.approx(float(depth))
        assert sheet.sum_mm == pytest.approx(sheet.height_mm)
