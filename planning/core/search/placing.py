"""Turns plans into search states and back: pinned pieces first, then a start plan, then whatever fits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planning.core.problem import Piece, Plan, Problem
from planning.core.search.arrays import Data, Floats, Ints, State
from planning.core.search.kernels import (
    BETWEEN,
    FORBIDDEN,
    MOST_PIECES,
    TRIM,
    Scratch,
    fill,
    piece_cost,
    rebuild,
)
from planning.core.search.packing import Places, empty_state

SLACK_MM = 1e-6


def first_state(problem: Problem, data: Data, places: Places, scratch: Scratch, start: Plan | None) -> State:
    """A state with the pinned pieces, what of `start` is allowed, and the rest filled by length."""
    state = empty_state(data)
    number = {log.id: i for i, log in enumerate(problem.logs)}
    place = {key: p for p, key in enumerate(places.keys)}
    for piece in problem.pinned:
        if piece.place not in place:
            continue  # the second of two half logs, which lies where the first does
        _lay(state, place[piece.place], number[piece.log], piece)
        state.p_fixed[place[piece.place]] = 1
    for piece in start.pieces if start is not None else ():
        p, log = place.get(piece.place), number.get(piece.log)
        if p is not None and log is not None and _free(data, state, p, log, piece):
            _lay(state, p, log, piece)
    rebuild(data, state)
    fill(data, state, scratch, np.argsort(-data.pl_len, kind="stable"))
    rebuild(data, state)
    return state


def plan_of(problem: Problem, places: Places, p_log: Ints, p_lo: Floats, p_flip: Ints) -> Plan:
    """The plan a state stands for; pinned pieces are given back exactly as they were pinned."""
    pinned = {piece.place: piece for piece in problem.pinned}
    pieces = []
    for p, key in enumerate(places.keys):
        cabin, wall, round_no, n = key
        second = places.second.get(p)
        if key in pinned:
            pieces.append(pinned[key])
            pieces += [pinned[second]] if second is not None else []
        elif p_log[p] >= 0:
            member = wall.removeprefix("member:") if wall.startswith("member:") and round_no == 0 else None
            pieces.append(
                Piece(
                    cabin=cabin,
                    wall=wall if member is None else "",
                    round=round_no,
                    piece=n,
                    member=member,
                    log=problem.logs[p_log[p]].id,
                    from_butt_mm=float(p_lo[p]),
                    butt_at="end" if p_flip[p] else "start",
                )
            )
            if second is not None:
                pieces.append(replace(pieces[-1], wall=second[1], piece=second[3]))
    return Plan(problem=problem.name, pieces=tuple(pieces))


def _lay(state: State, p: int, log: int, piece: Piece) -> None:
    state.p_log[p], state.p_lo[p] = log, piece.from_butt_mm
    state.p_flip[p] = piece.butt_at == "end"
    state.l_p[log, state.l_n[log]] = p
    state.l_n[log] += 1


def _free(data: Data, state: State, p: int, log: int, piece: Piece) -> bool:
    """Whether the piece may lie there beside what lies there already."""
    lo, flip = piece.from_butt_mm, int(piece.butt_at == "end")
    hi = lo + data.pl_len[p]
    trim, between = data.rules[TRIM], data.rules[BETWEEN]
    if state.p_log[p] >= 0 or data.cand_rank[data.pl_class[p], log] < 0:
        return False
    if state.l_n[log] >= data.rules[MOST_PIECES] or lo < trim - SLACK_MM:
        return False
    if hi > data.lg_len[log] - trim + SLACK_MM or piece_cost(data, p, log, lo, flip) >= FORBIDDEN:
        return False
    others = state.l_p[log, : state.l_n[log]]
    return all(
        lo >= state.p_lo[q] + data.pl_len[q] + between - SLACK_MM or hi <= state.p_lo[q] - between + SLACK_MM
        for q in others
    )
