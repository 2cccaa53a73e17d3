"""Cutting short pieces from shared logs: the rules, the classes, and how near the fewest logs it comes."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.core.takeoff.cutting import CuttingRules, class_mm, cut_into_logs, needed_mm
from planning.core.takeoff.needs import MiddleBand, NeededStretch, PartUse, Target

RULES = CuttingRules(trim_each_end_mm=25, kerf_mm=5, max_pieces_per_log=3, class_step_mm=500)
BAND = MiddleBand(least_mm=300, largest_mm=325)


def a_piece(length_mm: float, *, may_share: bool = True) -> NeededStretch:
    target = Target(use=PartUse.WALL, length_mm=length_mm)
    return NeededStretch(targets=(target,), length_mm=length_mm, band=BAND, may_share=may_share)


def lengths(cuts: list[tuple[NeededStretch, ...]]) -> list[list[float]]:
    return sorted(sorted(stretch.length_mm for stretch in cut) for cut in cuts)


def test_a_log_of_three_pieces_loses_six_trims_and_two_kerfs():
    assert needed_mm([1000, 1200, 800], RULES) == 3000 + 6 * 25 + 2 * 5


def test_a_length_on_the_class_stays_in_it():
    assert class_mm(6096.0, 609.6) == pytest.approx(6096)
    assert class_mm(3 * 609.6, 609.6) == pytest.approx(1828.8)
    assert class_mm(6000.5, 500) == 6500


def test_the_fourth_piece_starts_a_new_log_however_short():
    cuts = cut_into_logs([a_piece(500) for _ in range(4)], longest_log_mm=6000, rules=RULES)

    assert sorted(len(cut) for cut in cuts) in ([1, 3], [2, 2])


def test_whole_courses_do_not_share():
    cuts = cut_into_logs([a_piece(1000, may_share=False)] * 2, longest_log_mm=6000, rules=RULES)

    assert lengths(cuts) == [[1000], [1000]]


def test_two_logs_are_cut_anew_where_that_saves_a_class():
    # First fit pairs 2900 with 2500 (5505: 6000) and 2400 with 2000 (4505: 5000). With 2400 instead of 2500
    # the first log is of 5500 and the second, 4605, still of 5000.
    pieces = [a_piece(length) for length in (2900, 2500, 2400, 2000)]

    cuts = cut_into_logs(pieces, longest_log_mm=6000, rules=RULES)

    assert lengths(cuts) == [[2000, 2500], [2400, 2900]]


def test_a_log_too_many_is_saved():
    # First fit: 2900 + 2300, then 1800 + 1700 + 1500, then 1400 alone. Two logs do: 2900 + 1500 + 1400 takes
    # 5960, and 2300 + 1800 + 1700 takes 5960.
    pieces = [a_piece(length) for length in (2900, 2300, 1800, 1700, 1500, 1400)]

    cuts = cut_into_logs(pieces, longest_log_mm=5970, rules=RULES)

    assert lengths(cuts) == [[1400, 1500, 2900], [1700, 1800, 2300]]


def fewest_logs(pieces: list[float], longest_mm: float) -> int:
    """By trying everything: the least number of logs."""
    best = len(pieces)

    def place(rest: list[float], logs: list[list[float]]) -> None:
        nonlocal best
        if len(logs) >= best and rest:
            return
        if not rest:
            best = min(best, len(logs))
            return
        for number, log in enumerate(logs):
            if len(log) < 3 and needed_mm([*log, rest[0]], RULES) <= longest_mm:
                place(rest[1:], [*logs[:number], [*log, rest[0]], *logs[number + 1 :]])
        place(rest[1:], [*logs, [rest[0]]])

    place(sorted(pieces, reverse=True), [])
    return best


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(6, 40).map(lambda n: n * 100.0), min_size=1, max_size=7))
def test_small_benches_are_cut_within_one_log_of_the_fewest_and_mostly_from_the_fewest(pieces: list[float]):
    cuts = cut_into_logs([a_piece(length) for length in pieces], longest_log_mm=6000, rules=RULES)

    assert sorted(length for log in lengths(cuts) for length in log) == sorted(pieces)
    assert all(len(cut) <= 3 and needed_mm([s.length_mm for s in cut], RULES) <= 6000 for cut in cuts)
    assert len(cuts) <= fewest_logs(pieces, 6000) + 1


@given(st.floats(1, 20_000), st.sampled_from([250.0, 500.0, 609.6]))
def test_a_class_is_the_next_step_up(length_mm: float, step_mm: float):
    found = class_mm(length_mm, step_mm)

    assert found >= length_mm - 0.011
    assert found - step_mm < length_mm


def test_classes_are_a_step_apart():
    found = sorted({class_mm(length, 609.6) for length in range(100, 9000, 100)})

    assert all(later - earlier == pytest.approx(609.6) for earlier, later in pairwise(found))
