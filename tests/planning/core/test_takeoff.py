"""The take-off against counts by hand for three layouts, and what holds for every layout."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cabins.core.layout import MemberKind, read_layout
from cabins.core.places import half_logs_of, places_of
from planning.core.takeoff.covering import YardLog
from planning.core.takeoff.cutting import TooLong
from planning.core.takeoff.lines import TakeoffLine, order_lines
from planning.core.takeoff.needs import (
    CabinToBuild,
    MemberWanted,
    PartUse,
    band_of,
    class_of_round,
)
from planning.core.takeoff.take_off import Choices, TakeOff, TooMuchAtOnce, take_off
from tests.cabins.core.drawings import a_member, a_partition, a_rectangle, an_l_shape, an_opening

# The drawings' layouts have a middle of 358, so the classes of 25 mm are centred on 383, 358 and 333.
THICK, USUAL, THIN = (370.5, 395.5), (345.5, 370.5), (320.5, 345.5)
NO_SPARE = Choices(spare_rounds=0)


def counted(document: dict[str, Any], choices: Choices = NO_SPARE, **more: Any) -> TakeOff:
    """The take-off of one cabin."""
    cabin = CabinToBuild(name="Lake cabin", layout=read_layout(document), **more)
    return take_off(cabins=[cabin], choices=choices)


def table(lines: tuple[TakeoffLine, ...]) -> dict[tuple[float, tuple[float, float]], int]:
    """Count by length class and band."""
    return {
        (line.length_mm, (line.least_middle_mm, line.largest_middle_mm)): line.count
        for line in lines
        if line.count
    }


def filled(found: TakeOff) -> list[tuple[str | None, int | None, int | None]]:
    """Every place of the take-off's lines."""
    return [
        (target.wall, target.round, target.piece)
        for line in found.lines
        for log in line.logs
        for target in log.targets
        if target.use is PartUse.WALL
    ]


def test_a_plain_rectangle_as_counted_by_hand():
    # 2900 of wall at 371 a round takes 8 rounds (7 reach 2597). Bottom third 1-3, top third 6-8, so 3, 2, 3.
    # A and C: 4700 + 2 x 380 overhang + 2 x 25 trim = 5510, class 6000; 2 walls: 6, 4, 6.
    # B and D: 3500 + 760 + 50 = 4310, class 4500; 2 walls: 6, 4, 6.
    # B and D start on half logs of 4260: one thick log of 4500 ripped gives both.
    found = counted(a_rectangle(openings=[]))

    assert table(found.lines) == {
        (6000, THICK): 6,
        (6000, USUAL): 4,
        (6000, THIN): 6,
        (4500, THICK): 6 + 1,
        (4500, USUAL): 4,
        (4500, THIN): 6,
    }
    assert (found.logs, found.pieces) == (33, 32 + 2)
    (figures,) = found.cabins
    assert (figures.rounds, figures.places, figures.half_logs) == (8, 32, 2)
    # With every middle 12.5 thicker 2900 / 383.5 = 7.6, thinner 2900 / 358.5 = 8.1.
    assert (figures.rounds_if_thick, figures.rounds_if_thin) == (8, 9)


def test_the_same_rectangle_in_classes_of_two_feet():
    # 5510 mm is 18.08 ft: 20 ft; 4310 mm is 14.14 ft: 16 ft.
    found = counted(a_rectangle(openings=[]), Choices(spare_rounds=0, class_step_mm=609.6))

    assert table(found.lines) == {
        (6096, THICK): 6,
        (6096, USUAL): 4,
        (6096, THIN): 6,
        (4876.8, THICK): 7,
        (4876.8, USUAL): 4,
        (4876.8, THIN): 6,
    }


def test_a_door_and_a_window_whose_short_pieces_share_logs_as_counted_by_hand():
    # The door takes rounds 2-6 of A, the window (900 to 2050) rounds 3-6 of C; both leave 2140 and 2370.
    # Whole courses of 6000: A 1, C 1, C 2 thick; none usual; A 7 8, C 7 8 thin.
    # Short pieces: thick A 2, A 3, C 3, so three of each length; usual A 4 5, C 4 5, four of each; thin A 6,
    # C 6, two of each. Three need 6580 of the longest log's 6000, so they go by twos:
    # 2370 + 2370 + 100 trim + 5 kerf = 4845 (5000), 2370 + 2140: 4615 (5000), 2140 + 2140: 4385 (4500).
    # thick: 5000, 5000, 4500; usual: two of like lengths each way, 2 x 5000, 2 x 4500; thin: 5000, 4500.
    found = counted(a_rectangle())

    assert table(found.lines) == {
        (6000, THICK): 3,
        (6000, THIN): 4,
        (5000, THICK): 2,
        (5000, USUAL): 2,
        (5000, THIN): 1,
        (4500, THICK): 6 + 1 + 1,
        (4500, USUAL): 4 + 2,
        (4500, THIN): 6 + 1,
    }
    # Nine courses are cut by an opening: 18 pieces from 9 logs.
    assert found.cabins[0].places == 32 + 9
    assert found.logs == 7 + 16 + 1 + 9


def test_an_l_shape_as_counted_by_hand():
    # Six walls of 8 rounds: 48 courses, each from a log of its own. With 760 overhang and 50 trim:
    # A 8810 (9000), B 4310 (4500), C 3810 (4000), D 3310 (3500), E 5810 (6000), F 6810 (7000).
    # B, D and F start on half logs: F's log (7000) gives F's and B's, D's (3500) gives one and leaves one.
    found = counted(an_l_shape())

    expected = {
        (length, band): rounds
        for length in (9000, 7000, 6000, 4500, 4000, 3500)
        for band, rounds in ((THICK, 3), (USUAL, 2), (THIN, 3))
    }
    expected[7000, THICK] += 1
    expected[3500, THICK] += 1
    assert table(found.lines) == expected
    assert found.logs == 50


def test_every_line_says_in_words_what_it_is_for():
    found = counted(a_rectangle(openings=[]), Choices())

    notes = {(line.length_mm, line.least_middle_mm): line.note for line in found.lines}
    assert notes[4500, 370.5] == (
        "Lake cabin: B 1-3, D 1-3, half logs B D; 3 straight for first and last rounds"
    )
    assert notes[6000, 345.5] == "Lake cabin: A 4-5, C 4-5; 2 spare"


def test_a_spare_round_is_a_log_for_every_wall_and_two_rounds_have_a_thick_one():
    one = counted(a_rectangle(openings=[]), Choices(spare_rounds=1))
    two = counted(a_rectangle(openings=[]), Choices(spare_rounds=2))

    spare = {(line.length_mm, line.least_middle_mm): line.spare for line in two.lines if line.spare}
    assert (one.spare, two.spare) == (4, 8)
    assert spare == {(6000, 345.5): 2, (4500, 345.5): 2, (6000, 370.5): 2, (4500, 370.5): 2}
    assert one.logs == two.logs == 33


def test_spare_by_percent_is_rounded_up_once_and_follows_the_lines():
    # 10 percent of 33 is 3.3: 4 logs. Shares: 7 of 33 0.85, 6 of 33 0.73 (three lines), 4 of 33 0.48 (two).
    found = counted(a_rectangle(openings=[]), Choices(spare_rounds=None, spare_percent=10))

    spare = {(line.length_mm, line.least_middle_mm): line.spare for line in found.lines if line.spare}
    assert spare == {(4500, 370.5): 1, (6000, 370.5): 1, (6000, 320.5): 1, (4500, 320.5): 1}


def test_members_are_counted_beside_the_walls():
    purlin = MemberWanted(
        id="P", kind=MemberKind.PURLIN, length_mm=7200, least_middle_mm=240, largest_middle_mm=None, count=4
    )
    post = MemberWanted(
        id="S", kind=MemberKind.POST, length_mm=2400, least_middle_mm=200, largest_middle_mm=220, count=2
    )

    found = take_off(cabins=[], members=[purlin, post], choices=Choices())

    assert table(found.lines) == {(7500, (240, 290)): 4, (2500, (200, 220)): 2}
    assert [line.note for line in found.lines] == ["purlin P: 4", "post S: 2"]
    assert found.spare == 0


def test_members_of_a_layout_are_counted_with_their_cabin_but_for_those_made():
    members = [
        a_member(),
        a_member(id="purlin", kind="purlin", length_mm=7200, least_middle_mm=220, crown_limit_mm=20, count=4),
    ]
    without = counted(a_rectangle(openings=[]), NO_SPARE)

    found = counted(a_rectangle(openings=[], members=members), NO_SPARE, given=frozenset({"purlin 2"}))

    more = {key: count for key, count in table(found.lines).items() if key not in table(without.lines)}
    assert more == {(7500, (260, 310)): 1, (7500, (220, 270)): 3}
    assert found.logs == without.logs + 4
    notes = [line.note for line in found.lines if line.length_mm == 7500]
    assert notes == ["Lake cabin: ridge", "Lake cabin: purlin 1 3-4"]
    (cabin,) = found.cabins
    assert (cabin.members, cabin.members_installed, cabin.logs) == (4, 1, found.logs)


def test_a_member_is_covered_by_the_log_that_bows_no_more_than_its_layout_says():
    member = a_member(length_mm=7000, crown_limit_mm=8)
    bowed = YardLog(id="bowed", length_mm=7100, middle_mm=280, crown_mm=15)
    straight = YardLog(id="straight", length_mm=7500, middle_mm=280, crown_mm=9)

    found = take_off(
        cabins=[CabinToBuild(name="Lake cabin", layout=read_layout(a_rectangle(members=[member])))],
        yard=[bowed, straight],
        choices=NO_SPARE,
    )

    (ridge,) = [log for line in found.lines for log in line.logs if log.targets[0].member == "ridge"]
    assert (ridge.log, ridge.is_bowed) == ("straight", False)


def test_a_cabin_half_built_needs_only_what_is_open():
    below = frozenset((wall, r, 0) for wall in "ABCD" for r in (1, 2, 3, 4))

    found = counted(a_rectangle(openings=[]), filled=below)

    # Rounds 5-8 are open, and the high walls stand on their half logs already.
    assert table(found.lines) == {
        (6000, USUAL): 2,
        (6000, THIN): 6,
        (4500, USUAL): 2,
        (4500, THIN): 6,
    }
    assert (found.cabins[0].places, found.cabins[0].places_filled, found.cabins[0].half_logs) == (16, 16, 0)


def test_a_finished_cabin_needs_nothing_and_no_spare():
    document = a_rectangle(openings=[])
    everything = frozenset((p.wall, p.round, p.piece) for p in places_of(read_layout(document)))

    found = counted(document, Choices(spare_rounds=2), filled=everything)

    assert (found.lines, found.logs, found.spare) == ((), 0, 0)


def test_a_raised_deck_needs_no_half_logs():
    found = counted(a_rectangle(openings=[], high_start="raised_deck"))

    assert found.logs == 32


def test_a_piece_longer_than_any_log_is_refused():
    with pytest.raises(TooLong, match="5510"):
        counted(a_rectangle(), Choices(longest_log_mm=5500))


def test_longer_logs_to_be_had_give_three_short_pieces_as_counted_by_hand():
    # 3 x 2370 + 150 trim + 10 kerf = 7270, so in 9000 pieces go by threes: of 6 thick ones 2 logs, of 8 usual
    # ones 3, of 4 thin ones 2; the others stay as they are.
    found = counted(a_rectangle(), Choices(spare_rounds=0, longest_log_mm=9000))

    assert found.logs == 7 + 16 + 1 + 7


def test_two_cabins_never_share_a_log():
    layout = read_layout(a_rectangle())
    cabins = [CabinToBuild(name=name, layout=layout) for name in ("Lake cabin", "Hill cabin")]

    both = take_off(cabins=cabins, choices=NO_SPARE)

    assert both.logs == 2 * 33
    for line in both.lines:
        for log in line.logs:
            assert len({target.cabin for target in log.targets}) == 1


def test_what_goes_beyond_one_take_off_is_refused():
    post = MemberWanted(
        id="S", kind=MemberKind.POST, length_mm=2400, least_middle_mm=200, largest_middle_mm=220, count=4001
    )

    with pytest.raises(TooMuchAtOnce, match="4001"):
        take_off(cabins=[], members=[post], choices=Choices())


def test_the_order_takes_what_the_yard_does_not_cover_spare_included():
    thick = [YardLog(id=f"t{n}", length_mm=6100, middle_mm=380) for n in range(9)]
    layout = read_layout(a_rectangle(openings=[]))

    found = take_off(
        cabins=[CabinToBuild(name="Lake cabin", layout=layout)], yard=thick, choices=Choices(spare_rounds=1)
    )

    # Nine long thick logs: six for A and C 1-3, then three of the seven for B and D.
    order = {
        (line.length_mm, line.least_middle_mm): line.count
        for line in order_lines(found.lines, species="Larch")
    }
    assert order == {
        (6000, 345.5): 4 + 2,
        (6000, 320.5): 6,
        (4500, 370.5): 7 - 3,
        (4500, 345.5): 4 + 2,
        (4500, 320.5): 6,
    }
    assert (found.covered, found.short, found.to_order) == (9, 24, 28)
    assert {line.species for line in order_lines(found.lines, species="Larch")} == {"Larch"}


def test_the_yards_rounds_come_from_its_own_middles():
    # Of 2900 at 400 + 13, 7 rounds leave 9 mm; an eighth would be 404 too high.
    yard = [YardLog(id=str(n), length_mm=6000, middle_mm=390 + 20 * (n % 2)) for n in range(60)]
    layout = read_layout(a_rectangle(openings=[]))

    found = take_off(cabins=[CabinToBuild(name="Lake cabin", layout=layout)], yard=yard, choices=NO_SPARE)

    rounds = found.cabins[0].with_yards
    assert rounds is not None
    assert rounds.mean_middle_mm == pytest.approx(400)
    assert rounds.rounds == 7
    assert rounds.rounds_least <= rounds.rounds <= rounds.rounds_most


@given(rounds=st.integers(1, 60))
def test_middle_classes_fall_with_height_and_keep_the_walls_height(rounds: int):
    classes = [class_of_round(number, rounds) for number in range(1, rounds + 1)]

    assert classes == sorted(classes, reverse=True)
    assert sum(classes) == 0


def test_classes_meet_without_gap_or_overlap():
    layout = read_layout(a_rectangle())
    thick, usual, thin = (band_of(layout, number, middle_step_mm=25) for number in (1, 0, -1))

    assert (thick.least_mm, usual.least_mm) == (usual.largest_mm, thin.largest_mm)
    assert (usual.least_mm + usual.largest_mm) / 2 == layout.log_middle_mm


SPAN = st.tuples(st.integers(300, 1500), st.integers(400, 1500), st.integers(0, 1500), st.integers(300, 1400))


@settings(max_examples=40, deadline=None)
@given(
    spans=st.lists(SPAN, min_size=0, max_size=2),
    rounds=st.integers(1, 9),
    step=st.sampled_from([250.0, 500.0, 609.6]),
    trim=st.sampled_from([0.0, 25.0, 80.0]),
    partition=st.booleans(),
)
def test_every_place_is_in_exactly_one_line_and_no_log_is_cut_beyond_its_length(
    spans: list[tuple[int, int, int, int]], rounds: int, step: float, trim: float, partition: bool
):
    openings = [
        an_opening(
            id=f"o{number}",
            wall="AC"[number],
            offset_mm=offset,
            width_mm=width,
            sill_mm=sill,
            head_mm=sill + up,
        )
        for number, (offset, width, sill, up) in enumerate(spans)
    ]
    # An opening over the top or in the way of the partition's tee in wall C would be no layout.
    openings = [
        opening
        for opening in openings
        if opening["head_mm"] <= 371 * rounds and (opening["wall"] == "A" or not partition)
    ]
    document = a_rectangle(openings=openings, rounds=rounds, partitions=[a_partition()] if partition else [])
    layout = read_layout(document)
    choices = Choices(spare_rounds=0, class_step_mm=step, trim_each_end_mm=trim)

    found = take_off(cabins=[CabinToBuild(name="Lake cabin", layout=layout)], choices=choices)

    places = {(p.wall, p.round, p.piece): p.length_mm for p in places_of(layout)}
    assert sorted(filled(found)) == sorted(places)
    halves = [
        t for line in found.lines for log in line.logs for t in log.targets if t.use is PartUse.HALF_LOG
    ]
    assert sorted(t.wall or "" for t in halves) == sorted(half.wall for half in half_logs_of(layout))
    for line in found.lines:
        assert line.length_mm % step == pytest.approx(0, abs=1e-6) or line.length_mm % step == pytest.approx(
            step
        )
        for log in line.logs:
            lengths = [t.length_mm for t in log.targets]
            if log.targets[0].use is PartUse.HALF_LOG:
                lengths = [max(lengths)]
            assert len(lengths) <= 3
            cut = sum(lengths) + 2 * trim * len(lengths) + 5 * (len(lengths) - 1)
            assert log.needed_mm == pytest.approx(cut)
            assert cut <= line.length_mm + 0.01
            assert line.length_mm - cut < step
            for target in log.targets:
                if target.use is PartUse.WALL:
                    assert target.length_mm == places[target.wall, target.round, target.piece]


def test_logs_thinner_than_the_overlap_give_no_rounds():
    scribed = read_layout(a_rectangle(gap={"smallest_mm": -150, "target_mm": -120, "largest_mm": -100}))
    yard = [YardLog(id="thin", length_mm=6000, middle_mm=110)]

    found = take_off(cabins=[CabinToBuild(name="Lake cabin", layout=scribed)], yard=yard, choices=NO_SPARE)

    assert found.cabins[0].with_yards is None
