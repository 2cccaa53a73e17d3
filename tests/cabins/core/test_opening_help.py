"""What helps to lay openings out: heights that need no cut, pieces that need a brace, words for where they
lie."""

from typing import Any

import pytest

from cabins.core.courses import settling_space_mm
from cabins.core.layout import read_layout
from cabins.core.layout_parts import Layout, Opening
from cabins.core.opening_help import OpeningLine, other_heights, position_words, stubs_of
from cabins.core.places import columns_of
from cabins.core.settling_rules import RULES
from cabins.core.stack import stack_up
from tests.cabins.core.drawings import a_rectangle, an_opening


def space_of(opening: Opening) -> float:
    return settling_space_mm(opening, RULES["ilba2000_green"])


def a_layout(*openings: dict[str, Any], **changes: Any) -> Layout:
    return read_layout(a_rectangle(rounds=8, openings=list(openings), **changes))


def columns_at(layout: Layout) -> dict[str, list[float]]:
    return {wall: [column.at_mm for column in columns] for wall, columns in columns_of(layout).items()}


def test_by_hand_the_next_heads_need_no_cut():
    # Logs of 358 and gaps of 13: course n lies from 371 n - 358 to 371 n. A window from 742 (the top of round
    # 2)
    # to 1700 has 6 % of h over it: its hole ends at 742 + 958 / 0.94 = 1761.
    layout = a_layout(an_opening(kind="window", sill_mm=742, head_mm=1700))
    stack = stack_up(layout, diameters_mm={})

    found = other_heights(stack, layout.openings[0], space_of=space_of)

    # Round 5 lies over 1497, round 6 over 1868: h = 755 and 1126, heads at 742 + 0.94 h.
    assert {(one.line, one.height_mm) for one in found} == {
        (OpeningLine.HEAD, 1452),
        (OpeningLine.HEAD, 1800),
    }
    assert all(one.cut_mm < 2 and one.infill_mm < 2 for one in found)
    assert [one.change_mm for one in found if one.change_mm > 0] == [100]


def test_a_sill_that_falls_badly_is_moved_to_the_top_of_a_log():
    layout = a_layout(an_opening(kind="window", sill_mm=600, head_mm=1700))
    stack = stack_up(layout, diameters_mm={})

    found = [
        one
        for one in other_heights(stack, layout.openings[0], space_of=space_of)
        if one.line is OpeningLine.SILL
    ]

    assert {(one.height_mm, one.change_mm) for one in found} == {(742, 142), (371, -229)}


def test_an_opening_that_falls_well_is_left_alone():
    layout = a_layout(an_opening(kind="window", sill_mm=742, head_mm=1800))
    stack = stack_up(layout, diameters_mm={})

    assert other_heights(stack, layout.openings[0], space_of=space_of) == ()


def test_a_short_stub_with_one_notch_is_warned_of():
    # Pieces run from -380 to 200 beside the door's near jamb, and from 1150 to 5080 beyond it.
    layout = a_layout(an_opening(offset_mm=200, sill_mm=0, head_mm=2000))

    stubs = [stub for stub in stubs_of(layout, columns_at(layout)) if stub.round == 2]

    assert [(stub.piece, stub.is_short, stub.is_free) for stub in stubs] == [
        (0, True, True),
        (1, False, True),
    ]


@pytest.mark.parametrize(
    ("piece", "words"),
    [(0, "left of door"), (1, "between door and W1"), (2, "right of W1")],
)
def test_pieces_are_named_by_where_they_lie(piece: int, words: str):
    layout = a_layout(
        an_opening(offset_mm=600, width_mm=900, sill_mm=0),
        an_opening(id="W1", kind="window", offset_mm=2500, width_mm=800, sill_mm=742),
    )

    assert position_words(layout, "A", layout.courses["A", 4], piece) == words
    assert position_words(layout, "A", layout.courses["A", 8], 0) is None
