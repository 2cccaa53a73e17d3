"""How a plan's logs lie over the course below: the gap along the wall, and scribing, by hand."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cabins.core.along_the_wall import CrownLaid, GapAlong, LaidLog, diameter_mm, gap_along, top_mm
from cabins.core.layout import Layout, read_layout
from cabins.core.pieces import ButtAt
from cabins.core.places import columns_of, places_of
from cabins.core.scribing import LAST_GAP_MM
from cabins.core.stack import stack_up
from inventory.core.crew_units import CrewUnits
from inventory.core.measure import Unit
from inventory.core.profile import profile_of
from planning.core.check import course_places
from planning.core.files import read_problem
from planning.core.lying import Lying, WallLying
from planning.core.sheets import SheetPiece
from tests.cabins.core.drawings import a_cabin, a_rectangle, an_opening
from tests.tools.planner.baseline import paper_plan

DATA = Path(__file__).parent.parent / "data"


def logs_of(layout: Layout, **charted: Any) -> list[SheetPiece]:
    """An even log of 300 mm, exactly as long as its place, in every place; all charted alike."""
    return [
        SheetPiece(
            wall=place.wall, round=place.round, piece=place.piece, log=f"{place.wall}{place.round}",
            from_butt_mm=0.0, butt_at="start",
            profile=profile_of(
                length_mm=place.length_mm, butt_mm=300, middle_mm=300, tip_mm=300, station_inset_mm=0
            ),
            **charted,
        )
        for place in places_of(layout)
    ]  # fmt: skip


def lying_of(layout: Layout, pieces: list[SheetPiece], key: tuple[str, int, int], **more: float) -> Lying:
    even = {
        (wall, number, column.column): 300.0
        for wall, columns in columns_of(layout).items()
        for number in range(1, layout.round_count + 1)
        for column in columns
    }
    return WallLying(layout, pieces, stack_up(layout, diameters_mm=even)).lying(key, **more)


def with_crowns(pieces: list[SheetPiece], **crowns: float | None) -> list[SheetPiece]:
    """The pieces, those of the logs named with a crown: A2=60."""
    return [replace(one, crown_mm=crowns.get(one.log, one.crown_mm)) for one in pieces]


def test_even_straight_logs_have_their_gap_all_along():
    layout = a_cabin()

    lying = lying_of(layout, logs_of(layout), ("A", 2, 0))

    assert (lying.gap_along.smallest_mm, lying.gap_along.largest_mm) == pytest.approx((10, 10))
    assert (lying.is_outside_band, lying.scribing, lying.cautions) == (False, None, ())


def test_a_crown_leaves_the_band_and_says_so_in_the_crews_units():
    layout = a_cabin()
    wall = next(one for one in layout.log_walls if one.id == "A")
    pieces = with_crowns(logs_of(layout), A2=60)

    lying = lying_of(layout, pieces, ("A", 2, 0))

    # Held at the corners' centres, inside the overhangs: what is left of the crown between them.
    whole = next(one.length_mm for one in places_of(layout) if (one.wall, one.round) == ("A", 2))
    left = 60 * (wall.length_mm / whole) ** 2
    assert lying.gap_along.largest_mm == pytest.approx(10 + left)
    assert lying.gap_along.largest_at_mm == pytest.approx(wall.length_mm / 2)
    assert lying.is_outside_band
    assert "the layout's band is a gap of" in lying.cautions[0]
    assert '"' in CrewUnits(unit=Unit.FT_IN).say(lying.cautions[0])
    # The log above it comes as much nearer.
    assert lying_of(
        a_cabin(rounds=3), with_crowns(logs_of(a_cabin(rounds=3)), A2=60), ("A", 3, 0)
    ).gap_along.smallest_mm == pytest.approx(10 - left)


def test_logs_of_a_chinked_wall_that_would_touch_are_said_to_run_into_each_other():
    touching = lying_of(a_cabin(), with_crowns(logs_of(a_cabin()), A1=90), ("A", 2, 0))

    assert touching.gap_along.smallest_mm < 0
    into = CrewUnits(unit=Unit.MM).across(-touching.gap_along.smallest_mm)
    assert f"the logs run {into} into each other" in touching.cautions[0]


def test_a_scribed_wall_is_told_overlaps_where_they_leave_the_band():
    layout = a_cabin(gap_mm=-40)

    apart = lying_of(layout, with_crowns(logs_of(layout), A2=90), ("A", 2, 0)).cautions[0]
    deep = lying_of(layout, with_crowns(logs_of(layout), A1=60), ("A", 2, 0)).cautions[0]

    assert " apart; the layout's band is an overlap of " in apart
    assert deep.startswith("Along the wall the overlap is 40 mm to ")
    assert "-" not in CrewUnits(unit=Unit.FT_IN).say(apart) + CrewUnits(unit=Unit.FT_IN).say(deep)


def test_the_crown_is_laid_up():
    layout = a_cabin()

    assert lying_of(layout, logs_of(layout, crown_mm=20.0), ("A", 2, 0)).crown_laid is CrownLaid.UP


def test_where_nobody_looked_at_a_crown_it_is_said():
    layout = a_cabin()
    own, below = (with_crowns(logs_of(layout), **{name: None}) for name in ("A2", "A1"))

    for pieces in (own, below):
        assert any("looked at a crown" in one for one in lying_of(layout, pieces, ("A", 2, 0)).cautions)
    assert lying_of(layout, below, ("A", 1, 0)).gap_along is None


def test_a_scribed_wall_has_one_setting_and_its_groove():
    # Overlap 40 at the corners, at least 30 wanted: even logs overlap by 40 all along.
    layout = a_cabin(gap_mm=-40)

    scribing = lying_of(layout, logs_of(layout), ("A", 2, 0), overscribe_mm=6).scribing

    # Round 2 of A lies over B, whose top is at 130 + 260 = 390; its own underside is to be at 220: 170 deep.
    # Un-notched its underside is at 390 and A's first log tops at 260: 130 of gap, and 30 wanted.
    assert scribing.first.widest_mm == pytest.approx(130)
    assert scribing.first.setting_mm == pytest.approx(160)
    assert [rest.top_mm for rest in scribing.first.rests] == pytest.approx([690, 690])
    # Roughly 170 - (50.8 + 40); the last 90.8 in one setting bring it to the 520 planned.
    assert [rest.rough_cut_mm for rest in scribing.final.rests] == pytest.approx([79.2, 79.2])
    assert scribing.final.widest_mm == pytest.approx(LAST_GAP_MM)
    assert scribing.final.setting_mm == pytest.approx(90.8)
    assert scribing.final.groove_setting_mm == pytest.approx(96.8)
    assert scribing.final.tops_mm == pytest.approx((520, 520))
    # Two logs of 300 that overlap by 40: 2 sqrt(150^2 - 130^2) = 149.7, half the log.
    assert [groove.width_mm for groove in scribing.grooves] == pytest.approx([149.67] * 3, abs=0.01)
    assert any("groove this wide" in one for one in scribing.cautions)


def test_a_piece_beside_an_opening_is_held_at_its_edge_with_the_walls_gap():
    layout = read_layout(a_rectangle(openings=[an_opening(sill_mm=500, head_mm=2150)]))
    pieces = logs_of(layout)
    cut = [one for one in pieces if one.wall == "A" and one.piece == 1]

    assert cut
    for piece in cut:
        lying = lying_of(layout, pieces, ("A", piece.round, 1))

        gap = lying.gap_along
        assert (gap.smallest_mm, gap.largest_mm) == pytest.approx((13, 13))


def test_over_an_opening_a_log_has_a_gap_only_where_logs_lie_below():
    layout = read_layout(a_rectangle(openings=[an_opening(sill_mm=500, head_mm=1500)]))
    pieces = logs_of(layout)
    header = next(
        one for one in pieces
        if one.wall == "A" and (one.wall, one.round - 1, 1) in {(p.wall, p.round, p.piece) for p in pieces}
        and not any(p.wall == "A" and p.round == one.round and p.piece == 1 for p in pieces)
    )  # fmt: skip

    lying = lying_of(layout, with_crowns(pieces, **{header.log: 40}), ("A", header.round, 0))

    # The opening runs from 1760 to 2710 of 4700: the crown's middle is over it.
    assert lying.gap_along.largest_at_mm in (1760, 2710)


def test_a_yards_own_taper_and_crowns_move_the_gap_between_the_corners():
    # Problem S-1, biggest logs first: full courses held at 13 mm over both corners. An independent
    # reckoning, with another plan of that yard, found 9.9 to 18.6 mm along the wall by taper alone, and with
    # the charted crowns laid up -19.5 to 25.7, some logs touching.
    problem = read_problem(json.loads((DATA / "S-1.json").read_text()))
    (cabin,) = problem.cabins
    logs, pieces = {log.id: log for log in problem.logs}, paper_plan(problem).pieces

    def gaps(*, with_crowns: bool) -> list[GapAlong]:
        found = []
        for wall in cabin.walls:
            below = None
            for number in range(1, cabin.rounds + 1):
                course = [one for one in pieces if (one.wall, one.round) == (wall.id, number)]
                if len(course) > 1:
                    below = None
                    continue
                ((start, end),) = course_places(cabin, wall, number, problem.params)
                log = logs[course[0].log]
                laid = LaidLog(
                    profile=profile_of(
                        length_mm=log.length_mm, butt_mm=log.butt_mm, middle_mm=log.middle_mm,
                        tip_mm=log.tip_mm,
                    ),
                    from_butt_mm=course[0].from_butt_mm, butt_at=ButtAt(course[0].butt_at),
                    start_mm=start, end_mm=end, supports=((0, 0), (wall.length_mm, 0)),
                    crown_mm=log.crown_mm if with_crowns else 0,
                )  # fmt: skip
                at = (0, wall.length_mm)
                seats = [top_mm(below, x) + cabin.gap_mm if below else 0 for x in at]
                tops = [(x, seat + diameter_mm(laid, x)) for x, seat in zip(at, seats, strict=True)]
                laid = replace(laid, supports=tuple(tops))
                if below:
                    found.append(gap_along(laid, [below]))
                below = laid
        return found

    straight, crowned = gaps(with_crowns=False), gaps(with_crowns=True)

    assert len(straight) == len(crowned) >= 10
    assert 9 < min(gap.smallest_mm for gap in straight) < 13 < max(gap.largest_mm for gap in straight) < 19
    assert min(gap.smallest_mm for gap in crowned) < -10
    assert max(gap.largest_mm for gap in crowned) > 25
    assert 0 < sum(gap.smallest_mm < 0 for gap in crowned) < len(crowned) / 2
