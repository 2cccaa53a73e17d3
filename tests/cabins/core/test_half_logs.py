"""Half logs are places: under the first round of high walls, over the last one of low walls."""

import math

import pytest

from cabins.core.courses import cut_courses, fit_openings, settling_spaces_mm
from cabins.core.expected import expected_stack
from cabins.core.half_logs import rip_line
from cabins.core.layout import read_layout
from cabins.core.places import half_logs_of, places_of, rounds_with_places
from cabins.core.stack import columns_of, stack_up
from inventory.core.crew_errors import CrewErrors
from inventory.core.profile import profile_of
from tests.cabins.core.drawings import a_partition, a_rectangle, an_opening


def halves(**changes: object) -> list[tuple[str, int, int, float, float]]:
    """The half-log places of the rectangle without openings, with some fields changed."""
    layout = read_layout(a_rectangle(**({"openings": []} | changes)))
    return [
        (p.wall, p.round, p.piece, p.start_mm, p.end_mm)
        for p in places_of(layout)
        if not 1 <= p.round <= layout.round_count
    ]


def test_high_walls_get_places_for_half_logs_from_tail_to_tail():
    assert halves(half_logs=True) == [("B", 0, 0, -380, 3880), ("D", 0, 0, -380, 3880)]
    assert halves() == []


def test_a_door_that_begins_at_the_deck_cuts_the_half_log():
    on_the_deck = an_opening(wall="B", sill_mm=0, offset_mm=1200)
    low_sill = an_opening(wall="B", sill_mm=80, offset_mm=1200)
    over_the_half_log = an_opening(wall="B", sill_mm=100, offset_mm=1200)

    # Half a log is 179 high; what takes more than half of that cuts it through.
    for opening, in_b in (
        (on_the_deck, [(-380, 1200), (2150, 3880)]),
        (low_sill, [(-380, 1200), (2150, 3880)]),
        (over_the_half_log, [(-380, 3880)]),
    ):
        found = halves(half_logs=True, openings=[opening])
        assert [(start, end) for wall, _, _, start, end in found if wall == "B"] == in_b


def test_a_half_log_is_cut_by_the_height_it_will_have():
    # 95 mm up: of a half log of 176.5 it takes 46 %, of one of 197.5 (a log of 400) 52 %.
    layout = read_layout(
        a_rectangle(half_logs=True, openings=[an_opening(wall="B", sill_mm=95, offset_mm=1200)])
    )
    stacks = [expected_stack(layout, round_middles_mm=middles) for middles in ((), (400, 358, 358))]
    spaces = settling_spaces_mm(layout)

    whole, cut = (cut_courses(stack, spaces_mm=spaces)["B", 0] for stack in stacks)

    assert whole == ((-380, 3880),)
    assert cut == ((-380, 1200), (2150, 3880))
    measured = stack_up(layout, diameters_mm={}, measured_mm={("B", 0, 0): 198, ("B", 0, 1): 198})
    assert cut_courses(measured, spaces_mm=spaces)["B", 0] == cut
    # A half log that lies stays as it lies.
    lies = cut_courses(measured, spaces_mm=spaces, present=layout.courses, set_courses=frozenset({("B", 0)}))
    assert lies["B", 0] == whole


def test_an_opening_under_an_even_top_cuts_the_half_log_over_the_last_round():
    # The half log over round 5 lies from 1868 to 2044.5: a hole that ends at 1920 takes 29 % of it, one that
    # ends at 1960 52 %.
    opening = an_opening(sill_mm=742, head_mm=1850, offset_mm=1200)
    layout = read_layout(a_rectangle(openings=[opening], top="even", rounds=5))
    stack = stack_up(layout, diameters_mm={})

    less, more = (cut_courses(stack, spaces_mm={opening["id"]: space}) for space in (70, 110))

    assert less["A", 6] == ((179, 4521),)
    assert more["A", 6] == ((179, 1200), (2150, 4521))
    (fitted,) = fit_openings(stack, spaces_mm={opening["id"]: 70})
    assert fitted.fit.header is not None
    assert (fitted.fit.header.round, fitted.fit.header.cut_mm) == (6, (52, 52))
    assert fitted.fit.misfits == ()


def test_even_tops_get_half_logs_between_the_high_walls_last_logs():
    partition = a_partition()

    found = halves(top="even", rounds=5, partitions=[partition])

    # Half a log (179) clear of the centres of the corners and of the partition at 3200, 1500 along C.
    assert found == [
        ("A", 6, 0, 179, 3021),
        ("A", 6, 1, 3379, 4521),
        ("C", 6, 0, 179, 1321),
        ("C", 6, 1, 1679, 4521),
    ]
    layout = read_layout(a_rectangle(openings=[], top="even", rounds=5, half_logs=True))
    assert list(rounds_with_places(layout)) == [0, 1, 2, 3, 4, 5, 6]


def test_the_top_of_a_half_log_is_told_with_half_the_error_of_its_diameter_more():
    layout = read_layout(a_rectangle(openings=[], top="even", rounds=5))
    errors = CrewErrors(diameter_mm=6, height_mm=0, cut_mm=0)

    stack = stack_up(layout, diameters_mm={}, errors=errors)

    last = {(top.wall, top.column): top.error_mm for top in stack.tops if top.round == 5}
    told = [(top.error_mm, last[top.wall, top.column]) for top in stack.half_tops]
    assert told
    assert all(error == pytest.approx(math.hypot(below, 3)) for error, below in told)


def test_a_half_log_over_a_wall_with_a_tee_lies_on_the_tops_beside_its_end():
    layout = read_layout(a_rectangle(openings=[], top="even", rounds=5, partitions=[a_partition()]))
    start, tee, end = columns_of(layout)["A"]
    measured = {("A", 5, start.column): 1800.0, ("A", 5, tee.column): 1860.0, ("A", 5, end.column): 1790.0}

    stack = stack_up(layout, diameters_mm={}, measured_mm=measured)

    half = layout.log_middle_mm / 2
    rise = {"start": 60 * half / (tee.at_mm - start.at_mm), "end": 70 * half / (end.at_mm - tee.at_mm)}
    over = layout.gap.target_mm + (layout.log_middle_mm - layout.rip_kerf_mm) / 2
    tops = {top.column: top.top_mm for top in stack.half_tops if top.wall == "A"}
    assert tops == pytest.approx(
        {start.column: 1800 + rise["start"] + over, end.column: 1790 + rise["end"] + over}
    )


def test_there_is_one_declaration_of_half_logs():
    layout = read_layout(a_rectangle(openings=[], half_logs=True, top="even", rounds=5))

    told = {(half.wall, half.round, half.piece, half.length_mm) for half in half_logs_of(layout)}

    places = {(p.wall, p.round, p.piece, p.length_mm) for p in places_of(layout)}
    assert told == {place for place in places if place[1] in (0, 6)}
    assert len(told) == 4


def test_by_hand_the_rip_leaves_half_of_what_the_saw_does_not_take():
    profile = profile_of(length_mm=6000, butt_mm=340, middle_mm=310, tip_mm=290)

    rip = rip_line(profile, cut_near_butt_mm=305, cut_near_tip_mm=3000, kerf_mm=6)

    assert (rip.leave_near_butt_mm, rip.leave_near_tip_mm) == (167, 152)


def test_a_half_log_that_nobody_knows_yet_is_assumed_and_a_known_one_is_not():
    layout = read_layout(a_rectangle(openings=[], rounds=1, half_logs=True, rip_kerf_mm=4))

    tops = {
        (t.wall, t.column): t for t in stack_up(layout, diameters_mm={("B", 0, 0): 320}).tops if t.round == 0
    }

    assert (tops["B", 0].top_mm, tops["B", 0].is_assumed, tops["B", 0].diameter_mm) == (158, False, 320)
    assert (tops["B", 1].top_mm, tops["B", 1].is_assumed) == (177, True)
    assert (tops["A", 0].top_mm, tops["A", 0].is_assumed) == (0, False)
    # Half the error of a diameter's reading, and that of the deck.
    assert 2.5 < tops["B", 0].error_mm < 4


@pytest.mark.parametrize("sealer", [0.0, 6.0])
def test_a_high_wall_without_half_logs_starts_half_of_what_the_first_logs_rise(sealer: float):
    layout = read_layout(a_rectangle(openings=[], rounds=1, sill_flat={"depth_mm": 20}, sealer_mm=sealer))

    stack = stack_up(layout, diameters_mm={})

    assert stack.heights_mm["A", 1, 0] == 358 - 20 + sealer
    assert stack.heights_mm["B", 0, 0] == (358 - 20 + sealer) / 2
