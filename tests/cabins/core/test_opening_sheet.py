"""The sheet and the drawing of an opening: which log, how deep, from where to where, in the crew's units."""

from xml.etree import ElementTree as ET

import pytest

from cabins.core.courses import FittedOpening, fit_openings
from cabins.core.drawings.opening import OpeningToDraw, draw_opening
from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.layout import read_layout
from cabins.core.opening_sheet import OpeningLog, OpeningSheet, cuts_of, jamb_words, opening_sheet
from cabins.core.pieces import ButtAt
from cabins.core.places import WallPlace, places_of
from cabins.core.stack import Stack, stack_up
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.profile import profile_of
from tests.cabins.core.drawings import a_rectangle, an_opening

METRIC, FEET = CrewUnits(unit=Unit.MM), CrewUnits(unit=Unit.FT_IN)
TRIM_MM, SPACE_MM = 25.0, 70.0


def a_window(**changes: object) -> tuple[Stack, FittedOpening]:
    """One window in low wall A, with courses of logs of 358 and gaps of 13: they end at 371, 742, 1113."""
    window = an_opening(id="front", kind="window", sill_mm=650, head_mm=1520) | changes
    stack = stack_up(read_layout(a_rectangle(rounds=8, openings=[window])), diameters_mm={})
    (fitted,) = fit_openings(stack, spaces_mm={"front": SPACE_MM})
    return stack, fitted


def number_of(place: WallPlace) -> str:
    return f"L{place.round}{place.wall}{place.piece}"


def laid_in(stack: Stack, butt_at: ButtAt) -> list[OpeningLog]:
    return [
        OpeningLog(
            place=place,
            log=number_of(place),
            log_number=number_of(place),
            from_butt_mm=TRIM_MM,
            butt_at=butt_at,
            is_set=place.round <= 2,
        )
        for place in places_of(stack.layout)
        if place.wall == "A"
    ]


def sheet(units: CrewUnits = METRIC, butt_at: ButtAt = ButtAt.START, **changes: object) -> OpeningSheet:
    stack, fitted = a_window(**changes)
    return opening_sheet(fitted, layout=stack.layout, logs=laid_in(stack, butt_at), units=units)


def test_by_hand_sill_and_header_are_cut_where_the_hole_reaches_into_them():
    # The sill at 650 lies 92 under the top of round 2. Head and space end at 1590, 93 over the underside of
    # round 5 (1113 + 371 + 13 = 1497). Between them rounds 3 and 4 are cut through.
    found = sheet()

    assert (found.hole_asked_mm, found.hole_near_mm, found.hole_far_mm) == pytest.approx((940, 940, 940))
    assert found.rounds_through == (3, 4)
    assert (found.sill.round, found.sill.depth_near_mm, found.sill.log_number) == (2, 92, "L2A0")
    assert found.header is not None
    assert (found.header.round, found.header.depth_far_mm, found.header.log_number) == (5, 93, "L5A0")
    assert (found.sill.is_set, found.header.is_set) == (True, False)
    assert (found.sill.leave_until_round, found.header.leave_until_round) == (5, 6)
    assert found.out_of_order == ()
    assert found.cautions, "a header is for local code and licensed practice"


@pytest.mark.parametrize(
    ("butt_at", "ends"),
    # The log begins 380 before the corner, 25 of it are trimmed: 1760 lies 2165 from its butt. Turned round
    # the hole begins at 5080 - 2710 = 2370 and the trim.
    [(ButtAt.START, (2165, 3115)), (ButtAt.END, (2395, 3345))],
)
def test_the_cut_is_told_along_the_log_from_its_butt(butt_at, ends):
    found = sheet(butt_at=butt_at).sill

    assert (found.log_from_mm, found.log_to_mm) == pytest.approx(ends)


def test_the_words_are_in_the_crews_units():
    metric, feet = sheet(METRIC).sill.words, sheet(FEET).sill.words

    assert "flatten the top 92" in metric and "1760" in metric
    assert '3 5/8"' in feet and "5' 9 1/4\"" in feet
    assert "leave uncut until round 5 is on" in metric


def test_every_piece_that_ends_at_a_jamb_is_named_with_its_line_and_its_log():
    found = sheet()

    assert {(one.round, one.position, one.jamb_mm, one.log_number) for one in found.jambs} == {
        (number, f"{side} of front", at, f"L{number}A{piece}")
        for number in (3, 4)
        for side, at, piece in (("left", 1760, 0), ("right", 2710, 1))
    }
    assert all(one.run_wild_mm == 25 for one in found.jambs)


def test_a_log_finds_what_it_is_cut_and_a_piece_how_it_ends():
    stack, _ = a_window()
    found = sheet()
    by_place = {(p.round, p.piece): p for p in places_of(stack.layout) if p.wall == "A"}

    assert {key: [one.side for one in cuts] for key, cuts in cuts_of([found]).items()} == {
        ("A", 2, 0): ["sill"],
        ("A", 5, 0): ["header"],
    }
    line, brace = jamb_words([found], by_place[3, 0], METRIC)
    assert "1760 mm along the wall" in line and "25 mm wild" in line
    assert "until the jambs are in" in brace, "its other end hangs free"
    assert jamb_words([found], by_place[6, 0], METRIC) == ()


def test_what_is_left_over_of_a_course_cut_through_is_filled_in():
    # The hole ends at 1770: 273 of round 5's 358 go, so it is cut through; round 6 begins at 1868.
    found = sheet(head_mm=1700)

    assert found.rounds_through == (3, 4, 5)
    assert found.header is not None
    assert (found.header.round, found.header.depth_near_mm, found.header.infill_near_mm) == (6, 0, 98)
    assert "fill in 98" in found.header.words and "leave uncut" not in found.header.words


@pytest.mark.parametrize(
    ("threshold", "words"),
    [("kept", "kept"), ("flattened", "flatten"), ("cut_through", "No log is left under it")],
)
def test_a_doors_sheet_says_what_becomes_of_the_log_at_its_foot(threshold, words):
    flatten = {"flatten_mm": 40} if threshold == "flattened" else {}

    found = sheet(kind="door", sill_mm=0, threshold=threshold, **flatten)

    assert found.threshold is not None and words in found.threshold
    assert bool(found.out_of_order) == (threshold != "cut_through"), "a hole too small is told"


def test_the_drawing_shows_the_logs_around_the_hole_and_marks_each_cut():
    stack, fitted = a_window()
    pieces = tuple(
        PieceToDraw(
            wall="A",
            round=one.place.round,
            piece=one.place.piece,
            log_number=one.log_number,
            from_butt_mm=TRIM_MM,
            butt_at=one.butt_at,
            profile=profile_of(length_mm=5200, butt_mm=372, middle_mm=358, tip_mm=344),
            filling=Filling.SET if one.is_set else Filling.RESERVED,
        )
        for one in laid_in(stack, ButtAt.START)
        if one.place.round != 6
    )
    shown = OpeningToDraw(
        cabin="Pond hut", of_what="as built", stack=stack, pieces=pieces, fitted=fitted, units=METRIC
    )

    root = ET.fromstring(draw_opening(shown))

    marks = {node.get("data-cut") for node in root.iter()} - {None}
    rounds = {node.get("data-round") for node in root.iter()} - {None}
    words = " ".join(text.strip() for text in root.itertext())
    assert marks == {"sill", "header"}
    assert rounds >= {"2", "3", "4", "5"} and not rounds & {"8"}
    assert {"L2A0", "L3A0", "L3A1", "L5A0"} <= set(words.split())
