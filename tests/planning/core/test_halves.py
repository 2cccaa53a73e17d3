"""Half logs are ripped in pairs: which go together, and how what lies already is told to the planner."""

from cabins.core.layout import Layout, read_layout
from inventory.core.profile import profile_of
from planning.core.files import read_problem, write_problem
from planning.core.halves import HalfPair, halves_pinned, pair_half_logs
from planning.core.problem import PlanPiece
from planning.core.problem_builder import CabinToPlan, LogToPlan, build_problem
from planning.core.search import make_plan
from tests.cabins.core.drawings import a_rectangle, an_l_shape, an_opening


def a_half(
    wall: str, log: str = "7", from_butt_mm: float = 100, piece: int = 0, butt_at: str = "start"
) -> PlanPiece:
    return PlanPiece(
        cabin="hut",
        wall=wall,
        round=0,
        piece=0,
        log=log,
        from_butt_mm=from_butt_mm,
        butt_at="start" if butt_at == "start" else "end",
    )


def an_l() -> Layout:
    """High walls B (3500), D (2500) and F (6000), each with 380 at both ends."""
    return read_layout(an_l_shape(half_logs=True))


def spots(pairs: tuple[HalfPair, ...]) -> list[tuple[str, ...]]:
    return [tuple(wall for wall, _, _ in pair.places) for pair in pairs]


def test_the_longest_go_together_and_an_odd_one_lies_alone():
    assert spots(pair_half_logs(an_l())) == [("F", "B"), ("D",)]


def test_the_other_half_of_a_set_one_goes_where_it_reaches():
    assert spots(pair_half_logs(an_l(), [a_half("B")])) == [("B", "D"), ("F",)]
    assert spots(pair_half_logs(an_l(), [a_half("D")])) == [("D",), ("F", "B")]


def test_halves_set_of_one_log_are_a_pair_and_of_two_logs_are_not():
    one_log = pair_half_logs(an_l(), [a_half("B"), a_half("D")])
    two_logs = pair_half_logs(an_l(), [a_half("B", log="7"), a_half("D", log="8")])

    assert spots(one_log) == [("B", "D"), ("F",)]
    assert spots(two_logs) == [("B",), ("D",), ("F",)]


def test_two_parts_of_one_log_are_no_pair():
    apart = pair_half_logs(an_l(), [a_half("B"), a_half("D", from_butt_mm=4500)])

    assert spots(apart) == [("B",), ("D",), ("F",)]


def test_what_lies_pins_its_other_half_beside_it_as_one_cut():
    pairs = pair_half_logs(an_l(), [a_half("B", butt_at="end")])

    pinned = halves_pinned(pairs, [a_half("B", butt_at="end")])

    assert [(p.wall, p.log, p.from_butt_mm, p.butt_at) for p in pinned] == [
        ("B", "7", 100, "end"),
        ("D", "7", 100, "end"),
    ]


def test_the_problem_has_flat_sealer_halves_and_overhangs():
    document = a_rectangle(
        half_logs=True,
        sill_flat={"width_mm": 63.5},
        sealer_mm=6,
        openings=[an_opening(wall="B", sill_mm=0, offset_mm=1200)],
    )
    document["walls"][1]["overhang_end_mm"] = 200
    layout = read_layout(document)

    problem = build_problem(
        name="job",
        cabins=[CabinToPlan(id="hut", layout=layout, pairs=pair_half_logs(layout))],
        logs=[],
    )

    [cabin] = problem.cabins
    assert cabin.sill_flat is not None
    assert (cabin.sill_flat.width_mm, cabin.sill_flat.sealer_mm) == (63.5, 6)
    assert [wall.overhangs_mm for wall in cabin.walls] == [(380, 380), (380, 200), (380, 380), (380, 380)]
    found = [[(h.wall, h.piece, h.start_mm, h.end_mm) for h in entry.halves] for entry in cabin.half_places]
    assert found == [
        [("D", 0, -380, 3880), ("B", 0, -380, 1200)],
        [("B", 1, 2150, 3700)],
    ]
    assert {entry.kerf_mm for entry in cabin.half_places} == {5}


def test_a_raised_deck_is_said_outright_at_every_column():
    layout = read_layout(a_rectangle(high_start="raised_deck", deck_raise_mm=190))

    problem = build_problem(name="job", cabins=[CabinToPlan(id="hut", layout=layout)], logs=[])

    assert problem.cabins[0].start_heights_mm == {"B": (190, 190), "D": (190, 190)}
    assert problem.cabins[0].half_places == ()


def test_half_logs_at_the_top_are_places_of_the_round_over_the_last():
    layout = read_layout(a_rectangle(openings=[], top="even", rounds=3))

    problem = build_problem(
        name="job", cabins=[CabinToPlan(id="hut", layout=layout, pairs=pair_half_logs(layout))], logs=[]
    )

    [entry] = problem.cabins[0].half_places
    assert [(h.wall, h.round, h.piece, h.start_mm, h.end_mm) for h in entry.halves] == [
        ("A", 4, 0, 179, 4521),
        ("C", 4, 0, 179, 4521),
    ]
    assert read_problem(write_problem(problem)) == problem


def test_halves_of_one_log_lie_in_one_round_and_the_planner_fills_them_all():
    # An L: three high walls on half logs, and the low ones end in three.
    layout = read_layout(an_l_shape(half_logs=True, top="even", rounds=2))
    pairs = pair_half_logs(layout)
    profile = profile_of(length_mm=9500, butt_mm=330, middle_mm=310, tip_mm=295)
    logs = [LogToPlan(id=f"{n}", profile=profile) for n in range(24)]
    cabin = CabinToPlan(id="hut", layout=layout, pairs=pairs)

    found = make_plan(build_problem(name="job", cabins=[cabin], logs=logs), moves=2_000, seed=1)

    assert [sorted({spot[1] for spot in pair.places}) for pair in pairs] == [[0], [0], [3], [3]]
    assert found.report.errors == [] and found.report.complete
    halves = {(p.wall, p.round) for p in found.plan.pieces if p.round in (0, 3)}
    assert halves == {("B", 0), ("D", 0), ("F", 0), ("A", 3), ("C", 3), ("E", 3)}
