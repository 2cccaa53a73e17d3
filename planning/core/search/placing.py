"""Turns plans into search states and back: pinned pieces first, then a start plan, then whatever fits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planning.core.problem import PlanPiece, WallPlan, WallProblem
from planning.core.search.arrays import Data, Records, State
from planning.core.search.kernels import (
    FORBIDDEN,
    Scratch,
    fill,
    piece_cost,
    rebuild,
)
from planning.core.search.packing import PackedPlaces, empty_state

SLACK_MM = 1e-6


def first_state(
    problem: WallProblem, data: Data, places: PackedPlaces, scratch: Scratch, start: WallPlan | None
) -> State:
    """A state with the pinned pieces, what of `start` is allowed, and the rest filled by length."""
    state = empty_state(data)
    number = {log.id: i for i, log in enumerate(problem.logs)}
    place = {key: p for p, key in enumerate(places.keys)}
    for piece in problem.pinned:
        if piece.place not in place:
            continue  # the second of two half logs, which lies where the first does
        _lay(state, place[piece.place], number[piece.log], piece)
        state.p["fixed"][place[piece.place]] = 1
    for piece in start.pieces if start is not None else ():
        p, log = place.get(piece.place), number.get(piece.log)
        if p is not None and log is not None and _free(data, state, p, log, piece):
            _lay(state, p, log, piece)
    rebuild(data, state)
    fill(data, state, scratch, np.argsort(-data.pl["len"], kind="stable"))
    rebuild(data, state)
    return state


def plan_of(problem: WallProblem, places: PackedPlaces, laid: Records) -> WallPlan:
    """The plan that a state's places stand for; pinned pieces are given back exactly as they were pinned."""
    pinned = {piece.place: piece for piece in problem.pinned}
    pieces = []
    for p, key in enumerate(places.keys):
        cabin, wall, round_no, n = key
        second = places.second.get(p)
        if key in pinned:
            pieces.append(pinned[key])
            pieces += [pinned[second]] if second is not None else []
        elif laid[p]["log"] >= 0:
            member = wall.removeprefix("member:") if wall.startswith("member:") and round_no == 0 else None
            pieces.append(
                PlanPiece(
                    cabin=cabin,
                    wall=wall if member is None else "",
                    round=round_no,
                    piece=n,
                    member=member,
                    log=problem.logs[laid[p]["log"]].id,
                    from_butt_mm=float(laid[p]["lo"]),
                    butt_at="end" if laid[p]["flip"] else "start",
                )
            )
            if second is not None:
                pieces.append(replace(pieces[-1], wall=second[1], round=second[2], piece=second[3]))
    return WallPlan(problem=problem.name, pieces=tuple(pieces))


def _lay(state: State, p: int, log: int, piece: PlanPiece) -> None:
    lies, cut = state.p[p], state.lg[log]
    lies["log"], lies["lo"], lies["flip"] = log, piece.from_butt_mm, piece.butt_at == "end"
    state.lg_p[log, cut["n"]] = p
    cut["n"] += 1


def _free(data: Data, state: State, p: int, log: int, piece: PlanPiece) -> bool:
    """Whether the piece may lie there beside what lies there already."""
    lo, flip = piece.from_butt_mm, int(piece.butt_at == "end")
    place, rules, given = data.pl[p], data.rules, state.lg[log]["n"]
    hi = lo + place["len"]
    trim, between = rules["trim"], rules["between"]
    if state.p[p]["log"] >= 0 or data.cand[place["kind"], log]["rank"] < 0:
        return False
    if given >= rules["most_pieces"] or lo < trim - SLACK_MM:
        return False
    if hi > data.lg[log]["len"] - trim + SLACK_MM or piece_cost(data, p, log, lo, flip) >= FORBIDDEN:
        return False
    others = state.lg_p[log, :given]
    starts = state.p["lo"][others]
    ends = starts + data.pl["len"][others]
    return bool(np.all((lo >= ends + between - SLACK_MM) | (hi <= starts - between + SLACK_MM)))
