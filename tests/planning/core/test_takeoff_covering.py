"""What yards cover: a real assignment, checked against a general solver and by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from inventory.core.profile import profile_of
from planning.core.takeoff.covering import Demand, YardLog, cover, yard_log
from planning.core.takeoff.needs import MiddleBand


def a_demand(length_mm: float, least_mm: float = 300, largest_mm: float = 325, **more) -> Demand:
    usual = {"longest_mm": length_mm, "crown_limit_mm": 25.0}
    return Demand(
        length_mm=length_mm, band=MiddleBand(least_mm=least_mm, largest_mm=largest_mm), **(usual | more)
    )


def a_yard_log(id: str, length_mm: float, middle_mm: float = 310, **more) -> YardLog:
    return YardLog(id=id, length_mm=length_mm, middle_mm=middle_mm, **more)


def test_one_long_log_covers_one_need_though_it_would_do_for_each():
    demands = [a_demand(6000), a_demand(4000)]

    assert cover(demands, [a_yard_log("long", 6200)]) == ["long", None]


def test_a_log_is_passed_on_where_that_covers_one_more():
    # The first need could take either; only if it takes the thick one is there a log for the second.
    demands = [a_demand(4000, 300, 350), a_demand(4000, 300, 325)]
    logs = [a_yard_log("thick", 5000, 340), a_yard_log("usual", 4050, 310)]

    assert cover(demands, logs) == ["thick", "usual"]


def test_of_all_ways_the_one_with_the_least_left_over_is_taken():
    demands = [a_demand(4000), a_demand(5000)]
    logs = [a_yard_log("c", 7000), a_yard_log("b", 5100), a_yard_log("a", 4100)]

    assert cover(demands, logs) == ["a", "b"]


def test_limits_of_length_and_band_belong_to_it():
    demands = [a_demand(4000, 300, 325)]

    assert cover(demands, [a_yard_log("a", 4000, 300)]) == ["a"]
    assert cover(demands, [a_yard_log("a", 4000, 325)]) == ["a"]
    assert cover(demands, [a_yard_log("a", 3999, 310)]) == [None]
    assert cover(demands, [a_yard_log("a", 4000, 325.1)]) == [None]
    assert cover(demands, [a_yard_log("a", 4000, 299.9)]) == [None]


def test_what_comes_first_is_covered_before_what_is_spare():
    needed, spare = a_demand(4000), a_demand(3000)

    assert cover([needed, spare], [a_yard_log("only", 4100)]) == ["only", None]


def test_a_log_reserved_for_one_cabin_serves_no_other():
    logs = [a_yard_log("reserved", 4100, cabin="Lake cabin")]

    assert cover([a_demand(4000, cabin="Hill cabin")], logs) == [None]
    assert cover([a_demand(4000, cabin="Lake cabin")], logs) == ["reserved"]


def test_a_bowed_log_is_taken_last():
    logs = [a_yard_log("bowed", 4000, crown_mm=40), a_yard_log("straight", 4900)]

    assert cover([a_demand(4000)], logs) == ["straight"]
    # Cut to half its length it keeps a quarter of its bow, 10 mm, which is no fault.
    assert cover([a_demand(2000)], logs) == ["bowed"]


def test_nothing_covers_nothing():
    assert cover([], [a_yard_log("a", 4000)]) == []
    assert cover([a_demand(4000)], []) == [None]


def a_profile():
    return profile_of(length_mm=8000, butt_mm=360, middle_mm=320, tip_mm=280)


def test_of_a_log_with_metal_the_longest_clear_stretch_counts():
    log = yard_log(id="a", profile=a_profile(), crown_mm=32, metal_mm=[(2000, 2000)], hazard_clear_mm=300)

    # From 2300 to the tip: 5700 long; its middle, 5150 from the butt, lies 1150 past the log's own.
    assert log is not None
    assert log.length_mm == 5700
    assert log.middle_mm == pytest.approx(320 - 40 * 1150 / (4000 - 305))
    assert log.crown_mm == pytest.approx(32 * (5700 / 8000) ** 2)


def test_metal_all_along_leaves_no_log():
    metal = [(100.0, 4000.0), (4200.0, 7900.0)]

    assert yard_log(id="a", profile=a_profile(), crown_mm=0, metal_mm=metal, hazard_clear_mm=300) is None


def test_metal_that_overlaps_is_one_stretch_of_metal():
    metal = [(1000.0, 3000.0), (1200.0, 1300.0)]

    log = yard_log(id="a", profile=a_profile(), crown_mm=0, metal_mm=metal, hazard_clear_mm=300)

    assert log is not None
    assert log.length_mm == 8000 - 3300


DEMANDS = st.lists(st.tuples(st.integers(1, 4), st.sampled_from([300, 310, 325])), min_size=1, max_size=9)
LOGS = st.lists(st.tuples(st.integers(1, 5), st.integers(295, 345)), min_size=1, max_size=9)


@settings(max_examples=200, deadline=None)
@given(demands=DEMANDS, logs=LOGS)
def test_as_many_as_a_general_solver_covers_and_as_little_left_over(
    demands: list[tuple[int, int]], logs: list[tuple[int, int]]
):
    wanted = [a_demand(1000.0 * n, least, least + 25) for n, least in demands]
    yard = [a_yard_log(str(n), 1000.0 * size, middle) for n, (size, middle) in enumerate(logs)]
    # One column more for every demand: left short, at a price above all that could be left over.
    far, short = 1e9, 1e6
    costs = np.full((len(wanted), len(yard) + len(wanted)), short)
    for row, demand in enumerate(wanted):
        for column, log in enumerate(yard):
            does = log.length_mm >= demand.length_mm
            does &= demand.band.least_mm <= log.middle_mm <= demand.band.largest_mm
            costs[row, column] = log.length_mm - demand.length_mm if does else far
    rows, columns = linear_sum_assignment(costs)

    found = cover(wanted, yard)

    taken = [id for id in found if id is not None]
    assert len(taken) == len(set(taken))
    assert len(taken) == int((columns < len(yard)).sum())
    for demand, id in zip(wanted, found, strict=True):
        if id is not None:
            assert costs[wanted.index(demand), int(id)] < short
    if None not in found:
        left = sum(yard[int(id)].length_mm for id in taken) - sum(d.length_mm for d in wanted)
        assert left == pytest.approx(costs[rows, columns].sum())


@settings(max_examples=60, deadline=None)
@given(demands=DEMANDS, logs=LOGS, more=st.integers(1, 3))
def test_another_need_takes_no_log_from_those_before_it(
    demands: list[tuple[int, int]], logs: list[tuple[int, int]], more: int
):
    wanted = [a_demand(1000.0 * n, least, least + 25) for n, least in demands]
    yard = [a_yard_log(str(n), 1000.0 * size, middle) for n, (size, middle) in enumerate(logs)]
    alike = {demand: wanted.count(demand) for demand in wanted}

    before = cover(wanted, yard)
    after = cover([*wanted, *[a_demand(500.0, 300, 325)] * more], yard)[: len(wanted)]

    for demand in alike:
        covered = [
            sum(id is not None for d, id in zip(wanted, found, strict=True) if d == demand)
            for found in (before, after)
        ]
        assert covered[0] == covered[1]
