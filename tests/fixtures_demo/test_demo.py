"""The demo's files: made again they are the same, they read without faults and they fit one another."""

import json
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from random import Random
from typing import Any

import pytest

from cabins.core.layout import Layout, read_layout
from cabins.core.layout_parts import SillFlat
from cabins.core.notching import Notch, NotchState
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters
from cabins.core.places import column_at, columns_of, places_of
from cabins.core.stack import Stack, stack_up
from fixtures.make_demo import HERE, SEED, demo_charts, demo_files
from inventory.core.chart import ChartReading, read_chart
from inventory.core.chart_line import ChartLine, Code, HazardKind, profile_of_line
from inventory.core.measure import Unit
from inventory.core.profile import diameter_mm_at, piece_crown_mm

TRIM_MM, KERF_MM, CLEAR_MM, MOST_PIECES = 25, 5, 300, 3
SCHOOL: dict[str, Any] = json.loads((HERE / "school.json").read_text(encoding="utf-8"))
BUILT: dict[str, Any] = json.loads((HERE / "built/bunkhouse.json").read_text(encoding="utf-8"))
LAYOUTS: dict[str, Layout] = {
    cabin["name"]: read_layout(json.loads((HERE / cabin["layout"]).read_text(encoding="utf-8")))
    for cabin in SCHOOL["cabins"]
}
COMMITTED = ("charts/*.csv", "layouts/*.json", "built/*.json", "school.json")


def chart_of(yard: dict[str, Any]) -> ChartReading:
    return read_chart(
        (HERE / yard["chart"]).read_bytes(),
        unit=Unit(yard["unit"]),
        known_racks=[rack["name"] for rack in yard["racks"]],
    )


LINES: dict[tuple[str, str], ChartLine] = {
    (yard["name"], line.number): line for yard in SCHOOL["yards"] for line in chart_of(yard).lines
}


def set_pieces() -> Iterator[tuple[dict[str, Any], ChartLine, float]]:
    """Every set log with its chart line and the length of its place."""
    lengths = {
        (place.wall, place.round, place.piece): place.length_mm for place in places_of(LAYOUTS["Bunkhouse"])
    }
    for row in BUILT["set_logs"]:
        yield row, LINES[row["yard"], row["log"]], lengths[row["wall"], row["round"], row["piece"]]


def built_stack(*, measured: bool) -> Stack:
    layout = LAYOUTS["Bunkhouse"]
    pieces = [
        LaidPiece(
            wall=row["wall"],
            round=row["round"],
            piece=row["piece"],
            from_butt_mm=row["from_butt_mm"],
            butt_at=ButtAt(row["butt_at"]),
            diameter_at=lambda at, line=line: diameter_mm_at(profile_of_line(line), at),
        )
        for row, line, _ in set_pieces()
    ]
    last = {wall: len(row) - 1 for wall, row in columns_of(layout).items()}
    heights = {
        (row["wall"], row["round"], last[row["wall"]] if row["end"] == "end" else 0): float(row["height_mm"])
        for row in BUILT["heights"]
    }
    return stack_up(
        layout, diameters_mm=column_diameters(layout, pieces), measured_mm=heights if measured else {}
    )


def test_the_seed_makes_exactly_the_files_that_are_there():
    made = demo_files()

    there = {
        str(path.relative_to(HERE)): path.read_text(encoding="utf-8")
        for pattern in COMMITTED
        for path in HERE.glob(pattern)
    }
    assert there == made


def test_another_seed_makes_another_yard():
    for path, text in demo_charts(Random(SEED + 1)).items():
        assert text != (HERE / path).read_text(encoding="utf-8")


@pytest.mark.parametrize("yard", SCHOOL["yards"], ids=lambda yard: yard["name"])
def test_a_chart_reads_without_faults_and_its_doubts_are_meant(yard):
    reading = chart_of(yard)

    assert reading.faults == ()
    assert [doubt.code for doubt in reading.doubts] == [Code.BOW_LARGE]
    doubtful = next(
        line for line, row in zip(reading.lines, reading.rows, strict=True) if row == reading.doubts[0].row
    )
    assert doubtful.culled


def test_the_yards_hold_what_a_school_has():
    racks = [rack["name"] for yard in SCHOOL["yards"] for rack in yard["racks"]]
    kinds = {hazard.kind for line in LINES.values() for hazard in line.hazards}
    culls = [line for line in LINES.values() if line.culled]

    assert (len(SCHOOL["yards"]), len(racks), len(LINES)) == (2, 5, 160)
    assert {line.rack for line in LINES.values()} == set(racks)
    assert len({line.species for line in LINES.values()}) == 3
    assert kinds >= {HazardKind.METAL, HazardKind.KNOT, HazardKind.ROT}
    assert 4 <= len(culls) <= 12
    assert all(line.peeled and line.charted_on and line.charted_by for line in LINES.values())


def test_the_logs_flare_so_that_middles_are_thinner_than_the_mean_of_the_ends():
    flares = [(line.butt_mm + line.tip_mm) / 2 - line.middle_mm for line in LINES.values()]

    assert 2 < sum(flares) / len(flares) < 8
    assert all(line.butt_mm > line.middle_mm > line.tip_mm for line in LINES.values())
    assert all(280 <= line.middle_mm <= 366 for line in LINES.values())


def test_every_cabin_is_laid_out_soundly_and_their_outlines_differ():
    rounds = {name: layout.round_count for name, layout in LAYOUTS.items()}
    walls = {name: len(layout.walls) for name, layout in LAYOUTS.items()}

    assert rounds == {"Bunkhouse": 8, "Schoolroom": 8, "Tool shed": 7}
    assert walls == {"Bunkhouse": 4, "Schoolroom": 6, "Tool shed": 4}


def test_every_member_named_in_the_records_belongs_to_the_school():
    members = {member["name"] for member in SCHOOL["members"]}
    named = {row[key] for row in BUILT["set_logs"] for key in ("set_by", "checked_by")}
    named |= {row["measured_by"] for row in BUILT["heights"]}
    named |= {line.charted_by for line in LINES.values()}

    assert named <= members
    assert [member["role"] for member in SCHOOL["members"]].count("lead") == 1


def test_four_of_the_bunkhouses_eight_rounds_are_set_whole():
    wanted = Counter((p.wall, p.round, p.piece) for p in places_of(LAYOUTS["Bunkhouse"]) if p.round <= 4)

    assert Counter((row["wall"], row["round"], row["piece"]) for row in BUILT["set_logs"]) == wanted


def test_set_pieces_lie_within_their_logs_and_apart_from_each_other():
    cuts: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for row, line, length_mm in set_pieces():
        begin = row["from_butt_mm"]
        assert begin >= TRIM_MM
        assert begin + length_mm <= float(line.length_mm) - TRIM_MM
        cuts.setdefault((row["yard"], row["log"]), []).append((begin, begin + length_mm))

    for pieces in cuts.values():
        assert len(pieces) <= 2
        assert all(
            after[0] - before[1] >= 2 * TRIM_MM + KERF_MM for before, after in pairwise(sorted(pieces))
        )


def test_no_cull_and_no_danger_was_cut_into():
    for row, line, length_mm in set_pieces():
        ends = (row["from_butt_mm"], row["from_butt_mm"] + length_mm)

        assert not line.culled
        assert all(abs(float(one.from_butt_mm) - end) >= CLEAR_MM for one in line.hazards for end in ends)


def test_set_pieces_are_straight_enough_for_their_round():
    for row, line, length_mm in set_pieces():
        crown = piece_crown_mm(
            crown_mm=float(line.crown_mm or 0), log_mm=float(line.length_mm), piece_mm=length_mm
        )

        assert crown <= (12 if row["round"] == 1 else 25)


def test_the_built_wall_is_a_good_one_by_its_measured_heights():
    stack = built_stack(measured=True)

    built = [notch for notch in stack.notches if notch.round <= 4]
    levels = [abs(level.out_of_level_mm) for level in stack.levels if level.round == 4]
    assert all(notch.state is NotchState.GOOD for notch in built)
    assert max(levels) <= 25  # an inch off at a corner is tolerable (USDA Misc. Pub. 579)


def test_measured_heights_scatter_about_the_charted_ones_as_tape_and_calipers_do():
    measured = {(top.wall, top.round, top.column): top for top in built_stack(measured=True).tops}

    off = [top.top_mm - top.computed_mm for top in measured.values() if top.is_measured]
    assert len(off) == 32
    assert all(abs(one) <= 15 for one in off)
    assert 1.5 < (sum(one * one for one in off) / len(off)) ** 0.5 < 7


def column_over(stack: Stack, notch: Notch) -> int:
    """The column of the wall that a notch lies over."""
    return column_at(columns_of(stack.layout)[notch.over_wall], notch.crossing)


def test_notches_were_cut_to_the_heights_that_were_measured():
    cut = {
        (row["wall"], row["round"], end): row[f"notch_{end}_mm"]
        for row in BUILT["set_logs"]
        for end in ("start", "end")
        if row[f"notch_{end}_mm"] is not None
    }
    gaps = {(row["wall"], row["round"]): row["gap_mm"] for row in BUILT["set_logs"]}

    stack = built_stack(measured=True)
    for notch in stack.notches:
        if notch.round <= 4:
            written = cut.pop((notch.wall, notch.round, "end" if notch.column else "start"))
            # The notch that leaves the gap that was cut, over the heights measured before.
            own_mm = stack.heights_mm[notch.wall, notch.round - 1, notch.column]
            over_mm = stack.heights_mm[notch.over_wall, notch.over_round, column_over(stack, notch)]
            assert written == pytest.approx(over_mm - own_mm - gaps[notch.wall, notch.round], abs=8)
    assert cut == {}


def test_big_logs_lie_low():
    middles: dict[int, list[float]] = {}
    for row, line, _ in set_pieces():
        middles.setdefault(row["round"], []).append(float(line.middle_mm))

    means = [sum(middles[number]) / len(middles[number]) for number in sorted(middles)]
    assert all(below > above - 4 for below, above in pairwise(means))


def test_the_yards_have_logs_enough_for_every_place_still_empty():
    """First fit, longest piece first: a packing that is found proves that there is one."""
    used = {(row["yard"], row["log"]) for row in BUILT["set_logs"]}
    left = sorted(
        (float(line.length_mm) - TRIM_MM, 0)
        for key, line in LINES.items()
        if key not in used and not line.culled
    )
    places = [
        place.length_mm
        for name, layout in LAYOUTS.items()
        for place in places_of(layout)
        if name != "Bunkhouse" or place.round > 4
    ]

    for length_mm in sorted(places, reverse=True):
        fits = [(rest, cut) for rest, cut in left if rest >= length_mm + TRIM_MM and cut < MOST_PIECES]
        assert fits, f"no log is left for a piece of {length_mm:g} mm"
        rest, cut = fits[0]
        left.remove((rest, cut))
        left = sorted([*left, (rest - length_mm - 2 * TRIM_MM - KERF_MM, cut + 1)])
    assert len(places) == 46 - 23 + 65 + 37 + 2


def test_the_demo_shows_flats_half_logs_a_raised_deck_and_an_inner_corner_without_tails():
    schoolroom, shed = LAYOUTS["Schoolroom"], LAYOUTS["Tool shed"]

    assert (schoolroom.deck_raise_mm, schoolroom.sill_flat) == (165, SillFlat(width_mm=60))
    assert [wall.overhangs_mm for wall in schoolroom.log_walls][2:4] == [(380, 180), (180, 380)]
    assert shed.sill_flat == SillFlat(depth_mm=15)
    assert [(p.wall, p.length_mm) for p in places_of(shed) if p.round == 0] == [("B", 3760), ("D", 3760)]
