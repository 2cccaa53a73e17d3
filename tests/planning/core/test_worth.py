"""Which readings are worth repeating: tops where the gap has a band, logs where it has none."""

from dataclasses import replace

from planning.core.plate_error import MeasuringErrors
from planning.core.problem import AsBuilt, ProblemSillFlat
from planning.core.worth import MOST_NAMED, what_readings_are_worth
from tests.planning.core.test_plate_error import six_rounds, with_band

ERRORS = MeasuringErrors()
LEVEL = {wall: tuple((330.0 * r, 330.0 * r) for r in range(1, 7)) for wall in "ABCD"}


def worth_of(problem, plan, *, measured=0, open_logs=None, errors=ERRORS, read=()):
    rows = {wall: tops[:measured] for wall, tops in LEVEL.items()}
    [house] = problem.cabins
    built = replace(
        problem, cabins=(replace(house, as_built=AsBuilt(round=measured, tops_mm=rows if measured else {})),)
    )
    once = {(wall, r, e): 1 for wall in LEVEL for r in range(1, measured + 1) for e in (0, 1)}
    return what_readings_are_worth(
        built,
        plan,
        cabin="K1",
        errors=errors,
        read=once | dict(read),
        open_logs=frozenset(p.log for p in plan.pieces) if open_logs is None else open_logs,
    )


def test_with_a_band_the_ends_of_the_last_rounds_are_named_worth_most_first():
    problem, plan = six_rounds()

    found = worth_of(problem, plan)

    each = [one.worth_mm for one in found.tops]
    assert found.steered and 0 < len(each) <= MOST_NAMED
    assert {one.spot[1] for one in found.tops} <= {5, 6}
    assert each == sorted(each, reverse=True) and max(each) < found.tops_together_mm < found.plate_mm


def test_the_worse_tops_are_read_the_more_a_second_reading_is_worth():
    problem, plan = six_rounds()

    by_tape = worth_of(problem, plan)
    by_level = worth_of(problem, plan, errors=replace(ERRORS, top_mm=0.5))

    assert by_level.tops_together_mm < by_tape.tops_together_mm


def test_an_end_that_was_read_often_is_worth_less_than_one_read_once():
    problem, plan = six_rounds()

    once = {one.spot: one.worth_mm for one in worth_of(problem, plan, measured=6).tops}
    spot = max(once, key=once.__getitem__)
    again = {
        one.spot: one.worth_mm for one in worth_of(problem, plan, measured=6, read={spot: 4}.items()).tops
    }

    assert again.get(spot, 0.0) < once[spot]


def test_without_a_band_logs_still_to_be_laid_are_named_and_no_tops():
    problem, plan = six_rounds()
    loose = with_band(problem, 0.0, 0.0)
    last = frozenset(p.log for p in plan.pieces if p.round == 6)

    found = worth_of(loose, plan, measured=5)
    only = worth_of(loose, plan, measured=5, open_logs=frozenset(sorted(last)[:1]))

    assert (found.steered, found.tops) == (False, ())
    assert {one.log for one in found.logs} <= last and found.logs[0].worth_mm > 0.05
    assert len(only.logs) <= 1


def test_a_cabin_whose_every_top_is_read_has_no_log_left_to_measure():
    problem, plan = six_rounds()

    assert worth_of(with_band(problem, 0.0, 0.0), plan, measured=6).logs == ()


def on_flats(problem):
    [house] = problem.cabins
    return replace(problem, cabins=(replace(house, sill_flat=ProblemSillFlat(depth_mm=30.0)),))


def test_first_logs_on_the_deck_have_no_gap_and_are_named_for_the_first_round_in_spite_of_a_band():
    problem, plan = six_rounds()
    first = {p.log for p in plan.pieces if p.round == 1 and p.wall in "AC"}
    one = min(first)

    found = worth_of(on_flats(problem), plan)
    read_better = worth_of(on_flats(problem), plan, errors=replace(ERRORS, diameter_mm=2.0))
    only = worth_of(on_flats(problem), plan, open_logs=frozenset({one}))

    assert found.steered and {row.log for row in found.first_logs} == first
    assert all(0.1 < row.worth_mm < found.first_round_mm for row in found.first_logs)
    assert read_better.first_round_mm < found.first_round_mm
    assert [row.log for row in only.first_logs] == [one]


def test_first_logs_with_a_gap_under_them_or_that_are_read_where_they_lie_are_not_named():
    problem, plan = six_rounds()

    with_gap, laid = worth_of(problem, plan), worth_of(on_flats(problem), plan, measured=1)

    assert (with_gap.first_round_mm, with_gap.first_logs) == (0.0, ())
    assert (laid.first_round_mm, laid.first_logs) == (0.0, ())
