"""Logs that are sawn already: their pieces fit where their length fits, and no plan joins them again."""

from dataclasses import replace

import pytest

from planning.core.check import diameter_at, judge
from planning.core.files import read_problem, write_problem
from planning.core.problem import KeptPiece, PlanPiece, ProblemHazard, WallProblem
from planning.core.sawing import SawnStretch, parts_of_log, prepared_price, saw_up, whole_log
from planning.core.sawn_first import lay_sawn_pieces
from planning.core.search import make_plan
from planning.core.what_if import place_lengths_mm
from tests.planning.core_problems import a_problem, some_params, some_weights


def a_square() -> WallProblem:
    """Four walls of two rounds, with a price for what leaves the plan in force."""
    return a_problem(params=some_params(weights=some_weights(keep=5.0)))


def stretch(near: float, far: float) -> SawnStretch:
    return SawnStretch(near_mm=near, far_mm=far, gives_mm=far - near)


def test_a_sawn_log_is_its_pieces_and_its_rests():
    problem = a_square()
    log = replace(
        problem.logs[0],
        length_mm=9000.0,
        crown_mm=9.0,
        hazards=(
            ProblemHazard(from_butt_mm=4000.0, kind="metal"),
            ProblemHazard(from_butt_mm=8000.0, kind="knot"),
        ),
    )

    parts = parts_of_log(log, [stretch(2000.0, 5000.0)], problem.params)

    assert [(whole_log(part, 0.0)[0], round(part.part_from_mm), round(part.length_mm)) for part in parts] == [
        (log.id, 0, 1970), (log.id, 1975, 3050), (log.id, 5030, 3970)
    ]  # fmt: skip
    assert len({part.id for part in parts}) == 3
    for part in parts:
        for at in (50.0, part.length_mm / 3, part.length_mm - 50.0):
            inset = problem.params.station_inset_mm
            here = diameter_at(part, at, station_inset_mm=inset)
            assert here == pytest.approx(diameter_at(log, part.part_from_mm + at, station_inset_mm=inset))
    assert parts[1].hazards == (ProblemHazard(from_butt_mm=pytest.approx(2025.01), kind="metal"),)
    assert parts[1].crown_mm == pytest.approx(9.0 * (3050.02 / 9000.0) ** 2)


def test_a_log_sawn_into_as_many_pieces_as_a_log_may_give_has_no_rest():
    problem = a_square()
    log = replace(problem.logs[0], length_mm=9000.0)
    cuts = [stretch(25.0, 2000.0), stretch(2100.0, 4000.0), stretch(4100.0, 6000.0)]

    assert len(parts_of_log(log, cuts, problem.params)) == 3
    assert len(parts_of_log(log, cuts[:2], problem.params)) == 3


def test_what_overlaps_is_one_piece():
    problem = a_square()
    log = replace(problem.logs[0], length_mm=9000.0)

    parts = parts_of_log(log, [stretch(25.0, 4000.0), stretch(3990.0, 4030.0)], problem.params)

    assert round(parts[0].length_mm - 50) == 4005


def test_the_problem_reads_back_from_its_file_with_its_parts():
    problem = a_square()
    sawn = saw_up(problem, {problem.logs[0].id: [stretch(25.0, 2000.0)]})

    assert read_problem(write_problem(sawn)).logs == sawn.logs


def test_no_plan_joins_a_sawn_piece_again_and_each_is_used_where_it_fits():
    problem = a_square()
    lengths = place_lengths_mm(problem)
    first = make_plan(problem, moves=20_000, seed=1).plan
    piece = first.pieces[0]
    cut = stretch(piece.from_butt_mm, piece.from_butt_mm + lengths[piece.place])
    kept = tuple(KeptPiece(piece=one) for one in first.pieces)

    again = saw_up(replace(problem, keep=kept), {piece.log: [cut]})
    plan = make_plan(again, moves=20_000, seed=2).plan

    report = judge(again, plan)
    assert report.errors == []
    logs = {log.id: log for log in again.logs}
    for one in plan.pieces:
        whole, near = whole_log(logs[one.log], one.from_butt_mm)
        if whole == piece.log:
            far = near + lengths[one.place]
            inside = cut.near_mm - 0.1 <= near and far <= cut.far_mm + 0.1
            assert inside or far <= cut.near_mm - 50 or near >= cut.far_mm + 50
    assert report.metrics["keep_entries"] == len(kept)


def test_a_kept_piece_names_its_part_and_one_across_a_cut_is_none():
    problem = a_square()
    lengths = place_lengths_mm(problem)
    place = next(iter(lengths))
    cabin, wall, round_no, number = place
    log = replace(problem.logs[0], length_mm=lengths[place] + 3000.0)

    def kept(from_butt: float) -> KeptPiece:
        piece = PlanPiece(
            cabin=cabin, wall=wall, round=round_no, piece=number, log=log.id, from_butt_mm=from_butt
        )
        return KeptPiece(piece=piece)

    cut = stretch(1000.0, 1000.0 + lengths[place])
    problem = replace(problem, logs=(log, *problem.logs[1:]))
    found = [
        saw_up(replace(problem, keep=(kept(at),)), {log.id: [cut]}).keep for at in (1000.0, 1004.0, 300.0)
    ]

    assert [len(one) for one in found] == [1, 1, 0]
    assert found[0][0].piece.log != log.id
    assert found[1][0].piece.from_butt_mm == pytest.approx(25.02)


def test_each_mark_makes_a_piece_dearer_to_leave():
    piece = a_log_piece()
    kept = KeptPiece(piece=piece, due_rounds=4)

    def price(one: KeptPiece) -> float:
        problem = replace(a_square(), keep=(one,))
        empty = make_plan(replace(problem, keep=()), moves=2_000, seed=1).plan
        without = replace(empty, pieces=tuple(p for p in empty.pieces if p.place != piece.place))
        return judge(problem, without).terms["keep"]

    marks = [
        kept,
        prepared_price(kept, marks=1, is_at_wall=False),
        prepared_price(kept, marks=2, is_at_wall=False),
        prepared_price(kept, marks=2, is_at_wall=True),
    ]
    prices = [price(one) for one in marks]
    assert prices == sorted(prices)
    assert len(set(prices)) == 4


def a_log_piece() -> PlanPiece:
    problem = a_square()
    cabin, wall, round_no, number = next(iter(place_lengths_mm(problem)))
    return PlanPiece(
        cabin=cabin, wall=wall, round=round_no, piece=number, log=problem.logs[0].id, from_butt_mm=25.0
    )


def test_a_sawn_piece_left_over_takes_the_place_of_an_uncut_log_and_keeps_the_rules():
    problem = a_square()
    whole = replace(problem.logs[5], length_mm=6000.0)
    length = next(iter(place_lengths_mm(problem).values()))
    sawn = saw_up(
        replace(problem, logs=(*problem.logs[:5], whole, *problem.logs[6:])),
        {whole.id: [stretch(25.0, 25.0 + length)]},
    )
    piece = next(log for log in sawn.logs if log.is_sawn)
    plan = make_plan(replace(sawn, excluded=frozenset({piece.id})), moves=20_000, seed=1).plan
    assert piece.id not in {one.log for one in plan.pieces}

    laid = lay_sawn_pieces(sawn, plan)

    assert [one.log for one in laid.pieces].count(piece.id) == 1
    assert len(set(laid.pieces) - set(plan.pieces)) == 1
    before, after = judge(sawn, plan), judge(sawn, laid)
    assert after.errors == []
    assert after.metrics["notch_beyond"] <= before.metrics["notch_beyond"]
    assert lay_sawn_pieces(sawn, laid) == laid
