"""How high ends stand, reckoned from the last measured height: the whole stack's tops, to the last bit."""

from hypothesis import given
from hypothesis import strategies as st

from cabins.core.layout import read_layout
from cabins.core.places import columns_of
from cabins.core.reached import courses_needed, ends_after
from cabins.core.stack import stack_up
from tests.cabins.core.drawings import a_partition, a_rectangle

LAYOUT = read_layout(a_rectangle(partitions=[a_partition()]))
ROUNDS = LAYOUT.round_count
COLUMNS = columns_of(LAYOUT)
SPOTS = [(wall, n, c.column) for wall, row in COLUMNS.items() for n in range(ROUNDS + 1) for c in row]
COURSES = [(wall, n) for wall in COLUMNS for n in range(ROUNDS + 1)]


@given(
    # A height is measured only where a log lies, or before the first one.
    diameters=st.dictionaries(st.sampled_from([s for s in SPOTS if s[1]]), st.floats(150, 600)),
    heights=st.dictionaries(st.sampled_from(SPOTS), st.floats(1, 9000), max_size=12),
    wanted=st.sets(st.sampled_from(COURSES), max_size=10),
)
def test_every_end_is_where_the_whole_stack_has_it(diameters, heights, wanted):
    measured = {spot: height for spot, height in heights.items() if spot[1] == 0 or spot in diameters}
    stack = stack_up(LAYOUT, diameters_mm=diameters, measured_mm=measured)
    tops = {(top.wall, top.round, top.column): top for top in stack.tops}

    needed = courses_needed(LAYOUT, COLUMNS, wanted, measured)
    known = {spot: diameter for spot, diameter in diameters.items() if spot[:2] in needed}
    found = ends_after(LAYOUT, COLUMNS, wanted, diameters_mm=known, measured_mm=measured)

    assert found.keys() == wanted
    for (wall, number), ends in found.items():
        for end, column in zip(ends, (COLUMNS[wall][0], COLUMNS[wall][-1]), strict=True):
            top = tops[wall, number, column.column]
            assert end.top_mm == top.top_mm
            assert end.error_mm == top.error_mm
            assert (end.is_measured, end.is_assumed) == (top.is_measured, top.is_assumed)


def test_nothing_below_a_measured_height_is_needed():
    measured = {("A", 3, COLUMNS["A"][0].column): 940.0, ("A", 3, COLUMNS["A"][-1].column): 950.0}

    assert courses_needed(LAYOUT, COLUMNS, [("A", 5)], measured) == {("A", 4), ("A", 5)}
    assert courses_needed(LAYOUT, COLUMNS, [("A", 3)], measured) == set()
