"""What a new plan changes against the one in force: trades together, each by itself, and what each gains."""

from dataclasses import replace

import pytest

from planning.core.changes import changes_between, standing_pieces, taken
from planning.core.check import judge
from planning.core.search import make_plan
from planning.core.what_if import swap_logs, turn_log
from tests.planning.core_problems import a_cabin, a_piece, a_problem, a_window

PLAN = make_plan(a_problem(), moves=20_000, seed=1).plan


def in_round(round_no: int, wall: str) -> tuple[str, str, int, int]:
    return ("K1", wall, round_no, 0)


def test_the_same_plan_changes_nothing():
    found = changes_between(a_problem(), PLAN.pieces, PLAN)

    assert (found.changes, found.unchanged) == ((), len(PLAN.pieces))
    assert set(found.stands.pieces) == set(PLAN.pieces)


def test_logs_that_trade_places_are_one_change_and_a_turned_one_is_another():
    problem = a_problem()
    worse = swap_logs(problem, PLAN, one=in_round(1, "A"), other=in_round(2, "C"))
    worse = swap_logs(problem, worse, one=in_round(2, "C"), other=in_round(1, "D"))
    worse = turn_log(worse, place=in_round(2, "B"))

    found = changes_between(problem, worse.pieces, PLAN)

    sizes = sorted(len(one.places) for one in found.changes)
    assert sizes == [1, 3]
    assert not any(one.is_forced for one in found.changes)
    assert found.unchanged == len(PLAN.pieces) - 4
    for number, one in enumerate(found.changes):
        alone = judge(problem, taken(found, [number])).objective - judge(problem, worse).objective
        assert one.objective_change == pytest.approx(alone)
        assert sum(gain.points for gain in one.gains) == pytest.approx(alone, abs=3.0)
    assert set(taken(found, range(len(found.changes))).pieces) == set(PLAN.pieces)


def test_a_change_names_the_wall_that_comes_nearer_level():
    problem = a_problem()
    worse = turn_log(PLAN, place=in_round(2, "B"))

    (change,) = changes_between(problem, worse.pieces, PLAN).changes

    words = [gain.words for gain in change.gains if gain.term == "level"]
    assert words
    assert words[0].startswith("wall B ")
    assert "nearer level after round 2" in words[0]


def test_a_log_that_is_gone_forces_its_change_and_the_rest_is_chosen():
    problem = a_problem()
    gone = next(piece.log for piece in PLAN.pieces if piece.round == 2)
    without = replace(problem, logs=tuple(log for log in problem.logs if log.id != gone))
    after = make_plan(without, moves=20_000, seed=5).plan

    found = changes_between(without, PLAN.pieces, after)

    forced = [one for one in found.changes if one.is_forced]
    assert len(forced) == 1
    assert any(one.before is None for one in forced[0].places)
    report = judge(without, taken(found, []))
    assert report.complete
    assert not any("overlap" in error for error in report.errors)


def test_a_log_that_a_lead_pins_since_is_a_forced_change():
    problem = a_problem()
    before = swap_logs(problem, PLAN, one=in_round(1, "A"), other=in_round(2, "C"))
    pin = next(piece for piece in PLAN.pieces if piece.place == in_round(2, "C"))

    found = changes_between(replace(problem, pinned=(pin,)), before.pieces, PLAN)

    (change,) = found.changes
    assert change.is_forced
    assert {one.place for one in change.places} == {in_round(1, "A"), in_round(2, "C")}
    assert set(found.stands.pieces) == set(PLAN.pieces)


@pytest.mark.parametrize(("second_from_mm", "stands"), [(1454.0, False), (1455.0, True)])
def test_beside_a_pinned_piece_stands_what_lies_two_trims_and_a_cut_from_it(second_from_mm, stands):
    # The pinned piece is 1300 long, so it ends at 1400; 25, 5 and 25 follow.
    pinned = a_piece("A", 2, "9", piece=0, from_butt_mm=100)
    problem = replace(a_problem(cabin=a_cabin(openings=(a_window(),))), pinned=(pinned,))
    second = a_piece("A", 2, "9", piece=1, from_butt_mm=second_from_mm)

    standing = standing_pieces(problem, [second])

    assert (second.place in standing) is stands


def test_a_cut_that_slides_by_a_hair_is_no_change():
    problem = a_problem()
    moved = PLAN.pieces[0]
    at = max(25.0, moved.from_butt_mm - 2.0) + 1.0
    slid = replace(PLAN, pieces=(replace(moved, from_butt_mm=at), *PLAN.pieces[1:]))

    found = changes_between(problem, slid.pieces, PLAN)

    assert found.changes == ()
    assert set(found.stands.pieces) == set(slid.pieces)
