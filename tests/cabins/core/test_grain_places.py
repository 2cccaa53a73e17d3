"""A place in a wall as the rules of spiral grain see it."""

from typing import Any

import pytest

from cabins.core.grain import Grain, GrainWeight, judge_grain
from cabins.core.grain_places import grain_place
from cabins.core.layout import read_layout
from cabins.core.places import WallPlace, places_of
from cabins.core.stack import Stack, stack_up
from inventory.core.chart_line import GrainHand
from tests.cabins.core.drawings import a_rectangle, an_opening


def a_wall(*openings: dict[str, Any]) -> Stack:
    """Eight rounds of logs of 358 mm with gaps of 13 mm."""
    return stack_up(read_layout(a_rectangle(rounds=8, openings=list(openings))), diameters_mm={})


def the_place(stack: Stack, round_number: int, wall: str = "A") -> WallPlace:
    """The first piece of the round, from the wall's start."""
    places = places_of(stack.layout)
    return next(place for place in places if (place.wall, place.round) == (wall, round_number))


def test_a_full_wall_log_is_held_by_a_notch_at_either_corner():
    stack = a_wall()

    found = grain_place(stack, the_place(stack, 3))

    assert (found.round, found.rounds, found.full_notches, found.cut_share) == (3, 8, 2, 0)


def test_a_piece_beside_a_door_is_held_at_one_corner_only():
    stack = a_wall(an_opening())
    third = [place for place in places_of(stack.layout) if (place.wall, place.round) == ("A", 3)]

    beside = [grain_place(stack, place) for place in third]

    assert [place.full_notches for place in beside] == [1, 1]


@pytest.mark.parametrize("share", [0.1, 0.2])
def test_a_sill_that_runs_into_a_log_takes_its_share_of_it(share: float):
    top_of_third = 3 * (358 + 13)
    window = an_opening(sill_mm=top_of_third - share * 358, head_mm=top_of_third + 900)

    stack = a_wall(window)

    assert grain_place(stack, the_place(stack, 3)).cut_share == pytest.approx(share)
    assert grain_place(stack, the_place(stack, 2)).cut_share == 0
    assert grain_place(stack, the_place(stack, 3, wall="C")).cut_share == 0


def test_a_rule_that_binds_forbids_and_the_same_rule_off_is_silent():
    stack = a_wall(an_opening())
    place = grain_place(stack, the_place(stack, 3))
    twisted = Grain(hand=GrainHand.RIGHT, run=18)

    bound = judge_grain(twisted, place)
    silent = judge_grain(twisted, place, switched={"twist_two_full_notches": GrainWeight.OFF})

    assert not bound.may_lie
    assert (silent.may_lie, silent.objections) == (True, ())
