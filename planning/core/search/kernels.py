"""The compiled part of the search: exact incremental evaluation of moves, and the annealing loop.

Plain functions over `arrays.py`. A move is a short list of changes (place, log, from_butt, flip)
held in a Scratch; `weigh` applies it, adds up the terms it touches, and takes it back when it costs more than
the limit given.

One long file on purpose: numba's cache on disk looks only at the file of the function that is called, so code
in a second file could change without being compiled again. `_nrt=False`: without it every call counts
references to some seventy arrays, which made a move thirty times slower; nothing in here may allocate.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit

from planning.core.search.arrays import Data, Floats, Ints, State

FAR_MM = 1e9
(
    W_CORNER,
    W_SPREAD,
    W_BIG_LOW,
    W_CROWN,
    W_KNOT,
    W_NOTCH,
    W_JAMB,
    W_WASTE,
    W_CULLED,
    W_SHORT,
    W_SHORT_MM,
    W_HARD,
    W_GRAIN,
    W_ALTERNATE,
    W_OPENING,
    W_LONG,
    GOOD_LEAST,
    GOOD_MOST,
    LIMIT_LEAST,
    LIMIT_MOST,
    JAMB_TOL,
    TRIM,
    BETWEEN,
    CLEAR,
    MOST_PIECES,
    RULES,
) = range(26)

SLACK = 1e-6
FORBIDDEN = 1e18
MOST_CHANGES = 8


class Scratch(NamedTuple):
    """Room to work in, one per thread, and the move under trial: `n[0]` changes in c_*."""

    n: Ints
    c_p: Ints
    c_log: Ints
    c_lo: Floats
    c_flip: Ints
    c_cost: Floats
    o_log: Ints
    o_lo: Floats
    o_flip: Ints
    cr_from: Ints  # per crossing: first round touched, 0 if not touched
    cr_list: Ints
    wa_from: Ints
    wa_list: Ints
    keep_dia: Floats
    keep_tops: Floats
    new_cross: Floats
    new_level: Floats
    rises: Floats
    los: Floats
    his: Floats
    rng: Any


def fresh_scratch(data: Data, seed: int) -> Scratch:
    """Scratch for one thread whose random numbers follow from the seed."""
    crossings, walls, rounds = len(data.cr_low), len(data.wa_cab), data.ca_level.shape[1]
    columns = len(data.cl_wall)
    return Scratch(
        n=np.zeros(4, np.int64),
        c_p=np.zeros(MOST_CHANGES, np.int64),
        c_log=np.zeros(MOST_CHANGES, np.int64),
        c_lo=np.zeros(MOST_CHANGES),
        c_flip=np.zeros(MOST_CHANGES, np.int64),
        c_cost=np.zeros(MOST_CHANGES),
        o_log=np.zeros(MOST_CHANGES, np.int64),
        o_lo=np.zeros(MOST_CHANGES),
        o_flip=np.zeros(MOST_CHANGES, np.int64),
        cr_from=np.zeros(crossings, np.int64),
        cr_list=np.zeros(crossings, np.int64),
        wa_from=np.zeros(walls, np.int64),
        wa_list=np.zeros(walls, np.int64),
        keep_dia=np.zeros((columns, rounds)),
        keep_tops=np.zeros((columns, rounds)),
        new_cross=np.zeros((crossings, rounds)),
        new_level=np.zeros((walls, rounds)),
        rises=np.zeros(MOST_CHANGES),
        los=np.zeros(MOST_CHANGES),
        his=np.zeros(MOST_CHANGES),
        rng=np.random.SeedSequence(seed).generate_state(1, np.uint64),
    )


@njit(cache=True, _nrt=False, forceinline=True)
def rand(rng: Any) -> float:
    """Uniform in [0, 1): splitmix64."""
    rng[0] += np.uint64(0x9E3779B97F4A7C15)
    z = rng[0]
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return float(z >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@njit(cache=True, _nrt=False, forceinline=True)
def diameter(d: Data, log: int, x: float) -> float:
    """Diameter of a log at x from its butt."""
    i = 0
    last = d.lg_n[log] - 2
    while i < last and x > d.lg_x[log, i + 1]:
        i += 1
    x0, y0 = d.lg_x[log, i], d.lg_d[log, i]
    return float(y0 + (d.lg_d[log, i + 1] - y0) * (x - x0) / (d.lg_x[log, i + 1] - x0))


@njit(cache=True, _nrt=False, forceinline=True)
def piece_diameter(d: Data, p: int, log: int, lo: float, flip: int, off: float) -> float:
    """Diameter of the piece of `log` in place p, `off` mm from the place's start; nominal when empty."""
    if log < 0:
        return float(d.pl_nominal[p])
    return float(diameter(d, log, lo + off if flip == 0 else lo + d.pl_len[p] - off))


@njit(cache=True, _nrt=False, forceinline=True)
def column_diameter(d: Data, p: int, k: int, log: int, lo: float, flip: int) -> float:
    """Diameter of the piece of `log` in place p at its k-th column; nominal when empty."""
    if log < 0:
        return float(d.pl_nominal[p])
    off = d.pc_off[k]
    return float(diameter(d, log, lo + off if flip == 0 else lo + d.pc_len[k] - off))


@njit(cache=True, _nrt=False, forceinline=True)
def flat_depth(d: Data, c: int, dia: float) -> float:
    """How deep the flat is on which a first log lies."""
    if d.cl_flat[c] == 1:
        return float(d.cl_flat_mm[c])
    half, half_width = 0.5 * dia, 0.5 * d.cl_flat_mm[c]
    return float(half - math.sqrt(max(0.0, half * half - half_width * half_width)))


@njit(cache=True, _nrt=False, forceinline=True)
def rise_of(d: Data, c: int, r: int, dia: float) -> float:
    """How much a log of this diameter brings its wall up, with the gap at its target."""
    if r == 1 and d.cl_flat[c] != 0:
        return float(dia + d.gap[c, 1] - flat_depth(d, c, dia))
    return float(dia + d.ca_gap[d.wa_cab[d.cl_wall[c]]])


@njit(cache=True, _nrt=False, forceinline=True)
def piece_cost(d: Data, p: int, log: int, lo: float, flip: int) -> float:
    """Crown, knots and grain of one piece, or the charge for an empty place; FORBIDDEN if it may not be."""
    length = d.pl_len[p]
    if log < 0:
        short = d.rules[W_SHORT] + d.rules[W_SHORT_MM] * length
        return float(short + d.pl_keep[p])
    share = length / d.lg_len[log]
    cost = d.rules[W_CROWN] * max(0.0, d.lg_crown[log] * share * share - d.pl_crown[p])
    if d.pl_least[p] > 0.0 and diameter(d, log, lo + 0.5 * length) < d.pl_least[p]:
        return FORBIDDEN
    for h in range(d.lg_hazards[log]):
        x = d.lg_hx[log, h]
        near = min(abs(x - lo), min(abs(x - lo - length), abs(x - lo - d.pl_short[p])))
        for k in range(d.pl_col[p], d.pl_col[p + 1]):
            off = d.pc_off[k]
            near = min(near, abs(x - (lo + off if flip == 0 else lo + d.pc_len[k] - off)))
        if near < d.rules[CLEAR]:
            if d.lg_metal[log, h] != 0:
                return FORBIDDEN
            cost += d.rules[W_KNOT]
    if (d.pl_forbid[p] >> d.lg_spiral[log]) & 1:
        cost += d.rules[W_HARD]
    if d.pl_keep_log[p] >= 0:
        if log != d.pl_keep_log[p]:
            cost += d.pl_keep[p]
        elif flip != d.pl_keep_flip[p]:
            cost += 0.5 * d.pl_keep[p]
        elif abs(lo - d.pl_keep_lo[p]) > SLACK:
            cost += 0.25 * d.pl_keep[p]
    return float(cost + d.rules[W_GRAIN] * d.lg_twist[log] * d.pl_grain[p])


@njit(cache=True, _nrt=False, forceinline=True)
def log_cost(d: Data, log: int, n: int, total: float, longest: float) -> float:
    """Waste, cull and length charge of a log that gives n pieces of `total` mm, one of them the longest."""
    if n == 0:
        return 0.0
    cost = d.rules[W_WASTE] * (d.lg_len[log] - total) + d.rules[W_CULLED] * d.lg_culled[log]
    if d.lg_could[log] > longest + SLACK:
        cost += d.lg_need[log] * (d.lg_could[log] - longest)
    return float(cost)


@njit(cache=True, _nrt=False, forceinline=True)
def longest_now(d: Data, s: State, log: int) -> float:
    """The longest piece that a log gives; 0 where nobody asks."""
    longest = 0.0
    if d.rules[W_LONG] > 0.0:
        for j in range(s.l_n[log]):
            longest = max(longest, d.pl_len[s.l_p[log, j]])
    return longest


@njit(cache=True, _nrt=False, forceinline=True)
def longest_then(d: Data, s: State, x: Scratch, log: int) -> float:
    """The longest piece that a log gives once the changes are made."""
    longest = 0.0
    if d.rules[W_LONG] > 0.0:
        for j in range(s.l_n[log]):
            stays = True
            for i in range(x.n[0]):
                if x.c_p[i] == s.l_p[log, j]:
                    stays = False
            if stays:
                longest = max(longest, d.pl_len[s.l_p[log, j]])
        for i in range(x.n[0]):
            if x.c_log[i] == log:
                longest = max(longest, d.pl_len[x.c_p[i]])
    return longest


@njit(cache=True, _nrt=False, forceinline=True)
def pile_up(d: Data, s: State, c: int, r0: int) -> None:
    """Tops of column c from round r0 up, from its diameters; measured tops replace computed ones."""
    cab = d.wa_cab[d.cl_wall[c]]
    t = s.tops[c, r0 - 1]
    if r0 == 1 and d.cl_flat[c] != 0:
        t -= flat_depth(d, c, s.dia[c, 1])
    for r in range(r0, d.ca_rounds[cab] + 1):
        t += s.dia[c, r] + d.gap[c, r]
        if d.has_top[c, r] != 0:
            t = d.top[c, r]
        s.tops[c, r] = t


@njit(cache=True, _nrt=False, forceinline=True, fastmath=True)
def crossing_cost(d: Data, s: State, k: int, r0: int, out: Floats) -> float:
    """Mismatch and notches of crossing k from round r0 up; written per round into out[k], and summed."""
    cab = d.cr_cab[k]
    top_round = d.ca_rounds[cab]
    lo, hi = d.cr_low[k], d.cr_high[k]
    th, tl, dh, dl, rise = s.tops[hi], s.tops[lo], s.dia[hi], s.dia[lo], s.rise[cab]
    w, wn, hard = d.rules[W_CORNER], d.rules[W_NOTCH], d.rules[W_HARD]
    g0, g1, b0, b1 = d.rules[GOOD_LEAST], d.rules[GOOD_MOST], d.rules[LIMIT_LEAST], d.rules[LIMIT_MOST]
    gh, gl = d.gap[hi], d.gap[lo]
    part = 0.5 / d.ca_ends[cab]
    total = 0.0
    row = out[k]
    for r in range(r0, top_round + 1):
        cost = w * abs(th[r] - tl[r] - part * rise[r])
        n, dia = tl[r] - th[r - 1] - gh[r], dh[r]
        cost += wn * max(0.0, max(g0 * dia - n, n - g1 * dia))
        if n < b0 * dia - SLACK or n > b1 * dia + SLACK:
            cost += hard
        if r > 1 or d.cr_half[k] != 0:
            n, dia = th[r - 1] - tl[r - 1] - gl[r], dl[r]
            if r == 1 and d.cl_flat[lo] != 0:
                n += flat_depth(d, lo, dia)
            cost += wn * max(0.0, max(g0 * dia - n, n - g1 * dia))
            if n < b0 * dia - SLACK or n > b1 * dia + SLACK:
                cost += hard
        row[r] = cost
        total += cost
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def level_cost(d: Data, s: State, w: int, r0: int, out: Floats) -> float:
    """Out of level of wall w from round r0 up; written per round into out[w], and summed."""
    cab = d.wa_cab[w]
    a, b = s.tops[d.wa_col[w, 0]], s.tops[d.wa_col[w, 1]]
    weight = d.ca_level[cab]
    total = 0.0
    for r in range(r0, d.ca_rounds[cab] + 1):
        cost = weight[r] * abs(a[r] - b[r])
        out[w, r] = cost
        total += cost
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def opening_cost(d: Data, s: State, w: int) -> float:
    """How far the logs below and above the holes of wall w are off their sills and heads."""
    a, b = d.wa_col[w, 0], d.wa_col[w, 1]
    total = 0.0
    for o in range(d.wa_op[w], d.wa_op[w + 1]):
        for side in range(2):
            r = d.op_below[o] if side == 0 else d.op_above[o]
            if r == 0:
                continue
            first, last = s.tops[a, r], s.tops[b, r]
            if side == 1:
                first -= s.dia[a, r]
                last -= s.dia[b, r]
            slope = (last - first) / d.wa_len[w]
            first -= d.op_sill[o] if side == 0 else d.op_head[o]
            total += abs(first + slope * d.op_from[o]) + abs(first + slope * d.op_to[o])
    return float(0.5 * d.rules[W_OPENING] * total)


@njit(cache=True, _nrt=False, forceinline=True)
def alternate_cost(d: Data, s: State, co: int) -> float:
    """Half for each end of a wall at which course co has its butt as the course below it has."""
    p, q = d.co_first[co], d.co_first[co - 1]
    cost = 0.0
    if s.p_log[p] >= 0 and s.p_log[q] >= 0 and s.p_flip[p] == s.p_flip[q]:
        cost += 0.5
    p, q = p + d.co_n[co] - 1, q + d.co_n[co - 1] - 1
    if s.p_log[p] >= 0 and s.p_log[q] >= 0 and s.p_flip[p] == s.p_flip[q]:
        cost += 0.5
    return float(d.rules[W_ALTERNATE] * cost)


@njit(cache=True, _nrt=False, forceinline=True)
def alternates_cost(d: Data, s: State, x: Scratch) -> float:
    """Charge for butts over butts of the courses the changes touch and those above them, each once."""
    if d.rules[W_ALTERNATE] == 0.0:
        return 0.0
    total = 0.0
    for i in range(x.n[0]):
        co = d.pl_course[x.c_p[i]]
        if co < 0:
            continue
        for c in range(co, co + 2):
            if c >= len(d.co_first) or d.co_wall[c] != d.co_wall[co] or d.co_round[c] == 1:
                continue
            seen = False
            for j in range(i):
                other = d.pl_course[x.c_p[j]]
                if other >= 0 and (other == c or other == c - 1):
                    seen = True
            if not seen:
                total += alternate_cost(d, s, c)
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def spread_cost(d: Data, s: State, cab: int) -> float:
    """Spread of the final tops, low walls and high walls each."""
    top_round = d.ca_rounds[cab]
    lo0, lo1, hi0, hi1 = FAR_MM, -FAR_MM, FAR_MM, -FAR_MM
    for w in range(d.ca_wall[cab], d.ca_wall[cab + 1]):
        a, b = s.tops[d.wa_col[w, 0], top_round], s.tops[d.wa_col[w, 1], top_round]
        if d.wa_low[w] != 0:
            lo0, lo1 = min(lo0, min(a, b)), max(lo1, max(a, b))
        else:
            hi0, hi1 = min(hi0, min(a, b)), max(hi1, max(a, b))
    return float(d.rules[W_SPREAD] * (lo1 - lo0 + hi1 - hi0))


@njit(cache=True, _nrt=False, forceinline=True)
def big_low_cost(d: Data, s: State, cab: int, r: int) -> float:
    """Charge for round r + 1 being thicker than round r."""
    if r < 1 or r >= d.ca_rounds[cab]:
        return 0.0
    rise = s.mids[cab, r + 1] / d.ca_mid_n[cab, r + 1] - s.mids[cab, r] / d.ca_mid_n[cab, r]
    return float(d.rules[W_BIG_LOW] * max(0.0, rise))


@njit(cache=True, _nrt=False, forceinline=True)
def jamb_cost(d: Data, s: State, co: int) -> float:
    """How far the pieces of a course are off the line between its corners, at the openings."""
    n = d.co_n[co]
    if d.co_jamb[co] == 0:
        return 0.0
    w, r = d.co_wall[co], d.co_round[co]
    d0, d1 = s.dia[d.wa_col[w, 0], r], s.dia[d.wa_col[w, 1], r]
    slope, tol = (d1 - d0) / d.wa_len[w], d.rules[JAMB_TOL]
    cost = 0.0
    for p in range(d.co_first[co], d.co_first[co] + n):
        if d.pl_first[p] == 0:
            cost += max(0.0, abs(s.p_left[p] - d0 - slope * d.pl_a[p]) - tol)
        if d.pl_last[p] == 0:
            cost += max(0.0, abs(s.p_right[p] - d0 - slope * (d.pl_a[p] + d.pl_len[p])) - tol)
    return float(d.rules[W_JAMB] * cost)


@njit(cache=True, _nrt=False)
def rebuild(d: Data, s: State) -> float:
    """Heights, costs and the objective from where the logs lie, without any history."""
    total = 0.0
    s.l_n[:] = 0
    s.l_sum[:] = 0.0
    s.mids[:] = 0.0
    s.rise[:] = 0.0
    for p in range(len(d.pl_len)):
        log = s.p_log[p]
        s.p_cost[p] = piece_cost(d, p, log, s.p_lo[p], s.p_flip[p])
        total += s.p_cost[p]
        if log >= 0:
            s.l_p[log, s.l_n[log]] = p
            s.l_n[log] += 1
            s.l_sum[log] += d.pl_len[p]
        for k in range(d.pl_col[p], d.pl_col[p + 1]):
            dia = column_diameter(d, p, k, log, s.p_lo[p], s.p_flip[p])
            s.dia[d.pc_col[k], d.pl_round[p]] = dia
            if d.cl_end[d.pc_col[k]] != 0 and d.pl_round[p] > 0:
                s.rise[d.pl_cab[p], d.pl_round[p]] += rise_of(d, d.pc_col[k], d.pl_round[p], dia)
        s.p_left[p] = piece_diameter(d, p, log, s.p_lo[p], s.p_flip[p], 0.0)
        s.p_right[p] = piece_diameter(d, p, log, s.p_lo[p], s.p_flip[p], d.pl_len[p])
        if d.pl_wall[p] >= 0:
            s.mids[d.pl_cab[p], d.pl_round[p]] += d.lg_mid[log] if log >= 0 else d.pl_nominal[p]
    for log in range(len(d.lg_len)):
        total += log_cost(d, log, s.l_n[log], s.l_sum[log], longest_now(d, s, log))
    for cab in range(len(d.ca_rounds)):
        base = half_base(d, s, cab)
        for w in range(d.ca_wall[cab], d.ca_wall[cab + 1]):
            for c in range(len(d.cl_wall)):
                if d.cl_wall[c] == w:
                    s.tops[c, 0] = start_of(d, s, c, base)
                    pile_up(d, s, c, 1)
            total += level_cost(d, s, w, 1, s.level_cost)
            s.open_cost[w] = opening_cost(d, s, w)
            total += s.open_cost[w]
        for k in range(d.ca_cross[cab], d.ca_cross[cab + 1]):
            total += crossing_cost(d, s, k, 1, s.cross_cost)
        s.spread[cab] = spread_cost(d, s, cab)
        total += s.spread[cab]
        for r in range(1, d.ca_rounds[cab]):
            total += big_low_cost(d, s, cab, r)
    for co in range(len(d.co_first)):
        s.jamb[co] = jamb_cost(d, s, co)
        total += s.jamb[co]
        if d.co_round[co] > 1:
            total += alternate_cost(d, s, co)
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def start_of(d: Data, s: State, c: int, base: float) -> float:
    """Top of round 0 at column c; `base` where it is half a mean rise up."""
    if d.cl_base[c] == 0:
        return 0.0
    if d.cl_base[c] == 1:
        return base
    if d.cl_base[c] == 2:
        return float(d.cl_start[c])
    return float(0.5 * (s.dia[c, 0] - d.cl_kerf[c]))


@njit(cache=True, _nrt=False, forceinline=True)
def half_base(d: Data, s: State, cab: int) -> float:
    """Where the high walls start: half the mean rise of the low walls' first round."""
    total = 0.0
    for w in range(d.ca_wall[cab], d.ca_wall[cab + 1]):
        if d.wa_low[w] != 0:
            a, b = d.wa_col[w, 0], d.wa_col[w, 1]
            total += rise_of(d, a, 1, s.dia[a, 1]) + rise_of(d, b, 1, s.dia[b, 1])
    return float(0.5 * total / d.ca_low_ends[cab])


@njit(cache=True, _nrt=False, forceinline=True)
def touch_crossing(d: Data, s: State, x: Scratch, k: int, r: int) -> None:
    """Remember crossing k as touched from round r up, and keep its heights to go back to."""
    if x.cr_from[k] == 0:
        lo, hi = d.cr_low[k], d.cr_high[k]
        top_round = d.ca_rounds[d.cr_cab[k]]
        for i in range(top_round + 1):
            x.keep_dia[lo, i] = s.dia[lo, i]
            x.keep_dia[hi, i] = s.dia[hi, i]
            x.keep_tops[lo, i] = s.tops[lo, i]
            x.keep_tops[hi, i] = s.tops[hi, i]
        x.cr_list[x.n[1]] = k
        x.n[1] += 1
        x.cr_from[k] = r
    elif r < x.cr_from[k]:
        x.cr_from[k] = r


@njit(cache=True, _nrt=False, forceinline=True)
def touch_wall(x: Scratch, w: int, r: int) -> None:
    if x.wa_from[w] == 0:
        x.wa_list[x.n[2]] = w
        x.n[2] += 1
        x.wa_from[w] = r
    elif r < x.wa_from[w]:
        x.wa_from[w] = r


@njit(cache=True, _nrt=False, forceinline=True)
def logs_delta(d: Data, s: State, x: Scratch) -> float:
    """Change of waste and cull charges if the changes are made."""
    delta = 0.0
    n = x.n[0]
    for i in range(n):
        for side in range(2):
            log = x.o_log[i] if side == 0 else x.c_log[i]
            if log < 0:
                continue
            seen = False
            for j in range(i):
                if x.o_log[j] == log or x.c_log[j] == log:
                    seen = True
            if seen or (side == 1 and x.o_log[i] == log):
                continue
            count, total = s.l_n[log], s.l_sum[log]
            for j in range(i, n):
                if x.o_log[j] == log:
                    count -= 1
                    total -= d.pl_len[x.c_p[j]]
                if x.c_log[j] == log:
                    count += 1
                    total += d.pl_len[x.c_p[j]]
            delta += log_cost(d, log, count, total, longest_then(d, s, x, log))
            delta -= log_cost(d, log, s.l_n[log], s.l_sum[log], longest_now(d, s, log))
    return delta


@njit(cache=True, _nrt=False, forceinline=True)
def place_change(d: Data, s: State, x: Scratch, i: int, back: bool) -> None:
    """Write change i (or its old content) into the place: log, position, jamb diameters, round's middles."""
    p = x.c_p[i]
    log, lo, flip = (x.o_log[i], x.o_lo[i], x.o_flip[i]) if back else (x.c_log[i], x.c_lo[i], x.c_flip[i])
    if d.pl_wall[p] >= 0:
        old, cab, r = s.p_log[p], d.pl_cab[p], d.pl_round[p]
        if old != log:
            s.mids[cab, r] += (d.lg_mid[log] if log >= 0 else d.pl_nominal[p]) - (
                d.lg_mid[old] if old >= 0 else d.pl_nominal[p]
            )
        co = d.pl_course[p]
        if d.co_jamb[co] != 0:
            s.p_left[p] = piece_diameter(d, p, log, lo, flip, 0.0)
            s.p_right[p] = piece_diameter(d, p, log, lo, flip, d.pl_len[p])
    s.p_log[p], s.p_lo[p], s.p_flip[p] = log, lo, flip


@njit(cache=True, _nrt=False, forceinline=True)
def rounds_cost(d: Data, s: State, x: Scratch) -> float:
    """Big-low charge of the rounds the changes touch, each once."""
    total = 0.0
    for i in range(x.n[0]):
        p = x.c_p[i]
        if d.pl_wall[p] < 0:
            continue
        cab, r = d.pl_cab[p], d.pl_round[p]
        below, here = True, True
        for j in range(i):
            q = x.c_p[j]
            if d.pl_wall[q] >= 0 and d.pl_cab[q] == cab:
                rq = d.pl_round[q]
                if rq == r:
                    below, here = False, False
                elif rq == r - 1:
                    below = False
                elif rq == r + 1:
                    here = False
        if below:
            total += big_low_cost(d, s, cab, r - 1)
        if here:
            total += big_low_cost(d, s, cab, r)
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def courses_cost(d: Data, s: State, x: Scratch, new: bool) -> float:
    """Jamb charge of the courses the changes touch, each once."""
    total = 0.0
    for i in range(x.n[0]):
        co = d.pl_course[x.c_p[i]]
        if co < 0 or d.co_jamb[co] == 0:
            continue
        seen = False
        for j in range(i):
            if d.pl_course[x.c_p[j]] == co:
                seen = True
        if not seen:
            total += jamb_cost(d, s, co) if new else s.jamb[co]
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def move_columns(d: Data, s: State, x: Scratch) -> None:
    """Put the changed diameters into the columns and pile the columns up again; touch what they cross."""
    base_cab = -1
    for i in range(x.n[0]):
        p = x.c_p[i]
        r, cab = d.pl_round[p], d.pl_cab[p]
        for k in range(d.pl_col[p], d.pl_col[p + 1]):
            c = d.pc_col[k]
            dia = column_diameter(d, p, k, x.c_log[i], x.c_lo[i], x.c_flip[i])
            old = s.dia[c, r]
            if dia == old:
                continue
            touch_crossing(d, s, x, d.cl_cross[c], max(r, 1))
            s.dia[c, r] = dia
            if r == 0 and d.cl_base[c] == 3:
                s.tops[c, 0] = 0.5 * (dia - d.cl_kerf[c])
            if d.cl_end[c] != 0:
                w = d.cl_wall[c]
                touch_wall(x, w, max(r, 1))
                if r > 0:
                    s.rise[cab, r] += rise_of(d, c, r, dia) - rise_of(d, c, r, old)
                if r == 1 and d.wa_low[w] != 0:
                    base_cab = cab
                    move_base(d, s, x, cab)
    if base_cab >= 0:
        for i in range(x.n[0]):
            settle_base(d, s, x, i)
    for i in range(x.n[1]):
        k = x.cr_list[i]
        r0 = x.cr_from[k]
        pile_up(d, s, d.cr_low[k], r0)
        pile_up(d, s, d.cr_high[k], r0)


@njit(cache=True, _nrt=False)
def move_base(d: Data, s: State, x: Scratch, cab: int) -> None:
    """A low wall's first round changed: every crossing of the cabin is touched from the deck up."""
    for k in range(d.ca_cross[cab], d.ca_cross[cab + 1]):
        if d.cl_base[d.cr_high[k]] == 1:
            touch_crossing(d, s, x, k, 1)


@njit(cache=True, _nrt=False)
def settle_base(d: Data, s: State, x: Scratch, i: int) -> None:
    """Set the start of the high walls of change i's cabin if its first round changed."""
    p = x.c_p[i]
    cab = d.pl_cab[p]
    if d.pl_round[p] != 1:
        return
    base = half_base(d, s, cab)
    for k in range(d.ca_cross[cab], d.ca_cross[cab + 1]):
        if x.cr_from[k] != 0 and d.cl_base[d.cr_high[k]] == 1:
            s.tops[d.cr_high[k], 0] = base
            w = d.cl_wall[d.cr_high[k]]
            touch_wall(x, w, 1)


@njit(cache=True, _nrt=False, forceinline=True)
def other_corners(d: Data, s: State, x: Scratch, rises: Floats, write: bool) -> float:
    """Mismatch at crossings not touched themselves, in rounds whose mean rise changed.

    `rises` holds the rounds' old sums, by change. With `write` the stored costs are brought up to date.
    """
    total = 0.0
    w = d.rules[W_CORNER]
    for i in range(x.n[0]):
        p = x.c_p[i]
        r, cab = d.pl_round[p], d.pl_cab[p]
        if r == 0:
            continue
        seen = False
        for j in range(i):
            if d.pl_round[x.c_p[j]] == r and d.pl_cab[x.c_p[j]] == cab:
                seen = True
        if seen or s.rise[cab, r] == rises[i]:
            continue
        part = 0.5 / d.ca_ends[cab]
        new, old = part * s.rise[cab, r], part * rises[i]
        for k in range(d.ca_cross[cab], d.ca_cross[cab + 1]):
            if x.cr_from[k] != 0 and x.cr_from[k] <= r:
                continue
            m = s.tops[d.cr_high[k], r] - s.tops[d.cr_low[k], r]
            delta = w * (abs(m - new) - abs(m - old))
            total += delta
            if write:
                s.cross_cost[k, r] += delta
    return total


@njit(cache=True, _nrt=False, forceinline=True)
def weigh(d: Data, s: State, x: Scratch, limit: float) -> float:
    """Make the changes in x if they cost no more than `limit`; the change of the objective, or FORBIDDEN.

    When the answer is FORBIDDEN everything is as it was.
    """
    n = x.n[0]
    x.n[1] = 0
    x.n[2] = 0
    rises = x.rises
    delta = 0.0
    for i in range(n):
        p = x.c_p[i]
        x.o_log[i], x.o_lo[i], x.o_flip[i] = s.p_log[p], s.p_lo[p], s.p_flip[p]
        rises[i] = s.rise[d.pl_cab[p], d.pl_round[p]]
        cost = piece_cost(d, p, x.c_log[i], x.c_lo[i], x.c_flip[i])
        if cost >= FORBIDDEN:
            return FORBIDDEN
        x.c_cost[i] = cost
        delta += cost - s.p_cost[p]
    delta += logs_delta(d, s, x)
    delta -= rounds_cost(d, s, x) + courses_cost(d, s, x, False) + alternates_cost(d, s, x)
    for i in range(n):
        place_change(d, s, x, i, False)
    move_columns(d, s, x)
    delta += rounds_cost(d, s, x) + courses_cost(d, s, x, True) + alternates_cost(d, s, x)
    delta += other_corners(d, s, x, rises, False)
    for i in range(x.n[1]):
        k = x.cr_list[i]
        for r in range(x.cr_from[k], d.ca_rounds[d.cr_cab[k]] + 1):
            delta -= s.cross_cost[k, r]
    for i in range(x.n[2]):
        w = x.wa_list[i]
        cab = d.wa_cab[w]
        delta -= s.open_cost[w]
        for r in range(x.wa_from[w], d.ca_rounds[cab] + 1):
            delta -= s.level_cost[w, r]
    last_cab, first_cab = -1, -1
    for i in range(n):
        cab = d.pl_cab[x.c_p[i]]
        if x.n[2] > 0 and cab != first_cab and cab != last_cab:
            delta -= s.spread[cab]
            if first_cab < 0:
                first_cab = cab
            else:
                last_cab = cab
    ok = delta <= limit
    i = 0
    while ok and i < x.n[2]:
        w = x.wa_list[i]
        delta += level_cost(d, s, w, x.wa_from[w], x.new_level) + opening_cost(d, s, w)
        i += 1
        ok = delta <= limit
    if ok and first_cab >= 0:
        delta += spread_cost(d, s, first_cab)
    if ok and last_cab >= 0:
        delta += spread_cost(d, s, last_cab)
    i = 0
    while ok and i < x.n[1]:
        k = x.cr_list[i]
        delta += crossing_cost(d, s, k, x.cr_from[k], x.new_cross)
        i += 1
        ok = delta <= limit
    if ok:
        other_corners(d, s, x, rises, True)
        keep(d, s, x, first_cab, last_cab)
    else:
        take_back(d, s, x, rises)
        delta = FORBIDDEN
    for i in range(x.n[1]):
        x.cr_from[x.cr_list[i]] = 0
    for i in range(x.n[2]):
        x.wa_from[x.wa_list[i]] = 0
    return delta


@njit(cache=True, _nrt=False, forceinline=True)
def keep(d: Data, s: State, x: Scratch, first_cab: int, last_cab: int) -> None:
    """The changes stay: store their costs and move the pieces between the logs."""
    for i in range(x.n[1]):
        k = x.cr_list[i]
        for r in range(x.cr_from[k], d.ca_rounds[d.cr_cab[k]] + 1):
            s.cross_cost[k, r] = x.new_cross[k, r]
    for i in range(x.n[2]):
        w = x.wa_list[i]
        for r in range(x.wa_from[w], d.ca_rounds[d.wa_cab[w]] + 1):
            s.level_cost[w, r] = x.new_level[w, r]
        s.open_cost[w] = opening_cost(d, s, w)
    if first_cab >= 0:
        s.spread[first_cab] = spread_cost(d, s, first_cab)
    if last_cab >= 0:
        s.spread[last_cab] = spread_cost(d, s, last_cab)
    for i in range(x.n[0]):
        p = x.c_p[i]
        s.p_cost[p] = x.c_cost[i]
        co = d.pl_course[p]
        if co >= 0 and d.co_jamb[co] != 0:
            s.jamb[co] = jamb_cost(d, s, co)
        log = x.o_log[i]
        if log >= 0 and log != x.c_log[i]:
            j = 0
            while s.l_p[log, j] != p:
                j += 1
            s.l_n[log] -= 1
            s.l_p[log, j] = s.l_p[log, s.l_n[log]]
            s.l_sum[log] -= d.pl_len[p]
    for i in range(x.n[0]):
        log = x.c_log[i]
        if log >= 0 and log != x.o_log[i]:
            s.l_p[log, s.l_n[log]] = x.c_p[i]
            s.l_n[log] += 1
            s.l_sum[log] += d.pl_len[x.c_p[i]]


@njit(cache=True, _nrt=False, forceinline=True)
def take_back(d: Data, s: State, x: Scratch, rises: Floats) -> None:
    """The changes are refused: put logs, heights and rises back as they were."""
    for i in range(x.n[0]):
        place_change(d, s, x, i, True)
    for i in range(x.n[0] - 1, -1, -1):
        s.rise[d.pl_cab[x.c_p[i]], d.pl_round[x.c_p[i]]] = rises[i]
    for i in range(x.n[1]):
        k = x.cr_list[i]
        lo, hi = d.cr_low[k], d.cr_high[k]
        for r in range(d.ca_rounds[d.cr_cab[k]] + 1):
            s.dia[lo, r] = x.keep_dia[lo, r]
            s.dia[hi, r] = x.keep_dia[hi, r]
            s.tops[lo, r] = x.keep_tops[lo, r]
            s.tops[hi, r] = x.keep_tops[hi, r]


@njit(cache=True, _nrt=False, forceinline=True)
def find_gap(
    d: Data, s: State, x: Scratch, log: int, length: float, out1: int, out2: int
) -> tuple[float, float]:
    """A stretch (least, most) for the butt-side end of a piece of `length` in a log, (1, 0) if there is none.

    The places out1 and out2 are taken as moved out already. Of several stretches one is drawn.
    """
    trim, between = d.rules[TRIM], d.rules[BETWEEN]
    los, his = x.los, x.his
    n = 0
    for j in range(s.l_n[log]):
        q = s.l_p[log, j]
        if q != out1 and q != out2:
            lo = s.p_lo[q]
            i = n
            while i > 0 and los[i - 1] > lo:
                los[i], his[i] = los[i - 1], his[i - 1]
                i -= 1
            los[i], his[i] = lo, lo + d.pl_len[q]
            n += 1
    if n >= d.rules[MOST_PIECES]:
        return 1.0, 0.0
    least, most, found = 1.0, 0.0, 0
    begin = trim
    for i in range(n + 1):
        end = (los[i] - between if i < n else d.lg_len[log] - trim) - length
        if end >= begin:
            found += 1
            if found == 1 or rand(x.rng) * found < 1.0:
                least, most = begin, end
        if i < n:
            begin = his[i] + between
    return least, most


@njit(cache=True, _nrt=False, forceinline=True)
def draw_position(
    d: Data, s: State, x: Scratch, p: int, log: int, flip: int, least: float, most: float
) -> float:
    """Where in the stretch the piece lies: at an end, anywhere, or where one corner keeps its height."""
    u = rand(x.rng)
    if u < 0.2:
        return least
    if u < 0.4:
        return most
    if u < 0.55 or d.pl_col[p] == d.pl_col[p + 1] or d.pl_round[p] == 0:
        return float(least + (most - least) * rand(x.rng))
    k = d.pl_col[p]
    if d.pl_col[p + 1] - k > 1 and rand(x.rng) < 0.5:
        k += 1
    want = s.dia[d.pc_col[k], d.pl_round[p]]
    a = column_diameter(d, p, k, log, least, flip)
    b = column_diameter(d, p, k, log, most, flip)
    if a == b:
        return least
    t = (want - a) / (b - a)
    return float(least + (most - least) * min(1.0, max(0.0, t)))


@njit(cache=True, _nrt=False, forceinline=True)
def put(x: Scratch, p: int, log: int, lo: float, flip: int) -> None:
    i = x.n[0]
    x.c_p[i], x.c_log[i], x.c_lo[i], x.c_flip[i] = p, log, lo, flip
    x.n[0] = i + 1


@njit(cache=True, _nrt=False, forceinline=True)
def near_log(d: Data, s: State, x: Scratch, p: int, reach: float) -> int:
    """A log that can give place p, of about the middle it has now; -1 if there is none."""
    c = d.pl_class[p]
    n = d.cand_n[c]
    if n == 0:
        return -1
    now = s.p_log[p]
    rank = d.cand_rank[c, now] if now >= 0 else -1
    if rank < 0:
        return int(d.cand[c, int(rand(x.rng) * n)])
    step = 1 + int(rand(x.rng) * rand(x.rng) * max(6.0, reach * n))
    rank = rank + step if rand(x.rng) < 0.5 else rank - step
    if rank < 0 or rank >= n:
        return -1
    return int(d.cand[c, rank])


@njit(cache=True, _nrt=False, forceinline=True)
def propose_exchange(d: Data, s: State, x: Scratch, p: int, reach: float, l_group: Ints, group: int) -> bool:
    """Place p takes a stretch of another log; a piece in the way takes p's old stretch."""
    m = near_log(d, s, x, p, reach)
    now = s.p_log[p]
    if m < 0 or m == now or l_group[m] != group:
        return False
    flip = s.p_flip[p]
    if rand(x.rng) < 0.15:
        flip = 1 - flip
    n = s.l_n[m]
    if n == 0 or rand(x.rng) < 0.3:
        least, most = find_gap(d, s, x, m, d.pl_len[p], -1, -1)
        if least <= most:
            put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
            return True
        if n == 0:
            return False
    q = s.l_p[m, int(rand(x.rng) * n)]
    if s.p_fixed[q] != 0:
        return False
    least, most = find_gap(d, s, x, m, d.pl_len[p], q, -1)
    if least > most:
        return False
    q_flip = s.p_flip[q]
    if rand(x.rng) < 0.15:
        q_flip = 1 - q_flip
    if now < 0:
        put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
        put(x, q, -1, 0.0, 0)
        return True
    home = now
    if d.cand_rank[d.pl_class[q], now] < 0:
        home = -1
    else:
        b_least, b_most = find_gap(d, s, x, now, d.pl_len[q], p, -1)
        if b_least > b_most:
            home = -1
    if home < 0:
        # No way back into p's log: a third log near q's middle takes q.
        home = near_log(d, s, x, q, reach)
        if home < 0 or home in (m, now) or l_group[home] != group:
            return False
        b_least, b_most = find_gap(d, s, x, home, d.pl_len[q], -1, -1)
        if b_least > b_most:
            return False
    put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
    put(x, q, home, draw_position(d, s, x, q, home, q_flip, b_least, b_most), q_flip)
    return True


@njit(cache=True, _nrt=False, forceinline=True)
def propose_shift(d: Data, s: State, x: Scratch, p: int) -> bool:
    """Turn a piece end for end, or slide it along its log, or both."""
    log = s.p_log[p]
    if log < 0:
        return False
    flip = s.p_flip[p]
    turned = rand(x.rng) < 0.4
    if turned:
        flip = 1 - flip
    least, most = find_gap(d, s, x, log, d.pl_len[p], p, -1)
    if least > most:
        return False
    if not turned and rand(x.rng) < 0.4:
        u = rand(x.rng) - 0.5
        lo = s.p_lo[p] + 2.0 * u * u * u * (most - least)
        lo = min(most, max(least, lo))
    else:
        lo = draw_position(d, s, x, p, log, flip, least, most)
    if lo == s.p_lo[p] and not turned:
        return False
    put(x, p, log, lo, flip)
    return True


@njit(cache=True, _nrt=False, forceinline=True)
def propose_balance(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Slide a piece, and another of its wall so that their common column keeps its height above both."""
    log, co = s.p_log[p], d.pl_course[p]
    if log < 0 or co < 0 or d.pl_col[p] == d.pl_col[p + 1]:
        return False
    least, most = find_gap(d, s, x, log, d.pl_len[p], p, -1)
    if least > most:
        return False
    u = rand(x.rng) - 0.5
    lo = min(most, max(least, s.p_lo[p] + 4.0 * u * u * u * (most - least)))
    k = d.pl_col[p] + int(rand(x.rng) * (d.pl_col[p + 1] - d.pl_col[p]))
    r = d.pl_round[p]
    r2 = r + 1 + int(rand(x.rng) * 2.0) if rand(x.rng) < 0.5 else r - 1 - int(rand(x.rng) * 2.0)
    if r2 < 1 or r2 > d.ca_rounds[d.pl_cab[p]]:
        return False
    c = d.pc_col[k]
    other = co + r2 - r
    for q in range(d.co_first[other], d.co_first[other] + d.co_n[other]):
        for j in range(d.pl_col[q], d.pl_col[q + 1]):
            q_log = s.p_log[q]
            if d.pc_col[j] != c or q_log < 0 or q_log == log or s.p_fixed[q] != 0:
                continue
            if l_group[q_log] != group:
                return False
            put(x, p, log, lo, s.p_flip[p])
            gain = column_diameter(d, p, k, log, lo, s.p_flip[p]) - s.dia[c, r]
            least, most = find_gap(d, s, x, q_log, d.pl_len[q], q, -1)
            if least > most:
                return False
            q_flip = s.p_flip[q]
            a = column_diameter(d, q, j, q_log, least, q_flip)
            b = column_diameter(d, q, j, q_log, most, q_flip)
            if a == b:
                return False
            # Straight between the nearer end and here: exact as long as no station lies between.
            now, here = s.p_lo[q], s.dia[c, r2]
            far, there = (most, b) if (gain > 0.0) == (b < here) else (least, a)
            if far == now or there == here:
                return False
            to = now - gain * (far - now) / (there - here)
            put(x, q, q_log, min(most, max(least, to)), q_flip)
            return True
    return False


@njit(cache=True, _nrt=False, forceinline=True)
def propose_turns(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Turn a piece and those above it in the same wall, two or three courses, each in its own stretch."""
    co = d.pl_course[p]
    if co < 0:
        return False
    courses = 2 if rand(x.rng) < 0.7 else 3
    step = 1 if rand(x.rng) < 0.7 else 2
    for i in range(courses):
        c = co + i * step
        if c >= len(d.co_first) or d.co_wall[c] != d.co_wall[co]:
            break
        q = d.co_first[c]
        n = d.co_n[c]
        if n > 1:
            q += 0 if rand(x.rng) < 0.5 else n - 1
        if i == 0:
            q = p
        if s.p_fixed[q] != 0 or s.p_log[q] < 0 or l_group[s.p_log[q]] != group:
            return False
        put(x, q, s.p_log[q], s.p_lo[q], 1 - s.p_flip[q])
    return bool(x.n[0] > 1)


@njit(cache=True, _nrt=False, forceinline=True)
def propose_trade(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Exchange the logs of two places near each other: in courses above one another, or of one round."""
    co = d.pl_course[p]
    if co < 0:
        return False
    w, r, cab = d.co_wall[co], d.co_round[co], d.pl_cab[p]
    top_round = d.ca_rounds[cab]
    if rand(x.rng) < 0.6:
        up = 1 + int(rand(x.rng) * 2.5)
        r2 = r + up if rand(x.rng) < 0.5 else r - up
    else:
        first = d.ca_wall[cab]
        w2 = first + int(rand(x.rng) * (d.ca_wall[cab + 1] - first))
        co += (w2 - w) * top_round
        r2 = r + int(rand(x.rng) * 3.0) - 1
    co += r2 - r
    if r2 < 1 or r2 > top_round or co == d.pl_course[p]:
        return False
    q = d.co_first[co] + int(rand(x.rng) * d.co_n[co])
    a, b = s.p_log[p], s.p_log[q]
    if a < 0 or b < 0 or a == b or s.p_fixed[q] != 0 or l_group[b] != group:
        return False
    if d.cand_rank[d.pl_class[p], b] < 0 or d.cand_rank[d.pl_class[q], a] < 0:
        return False
    least, most = find_gap(d, s, x, b, d.pl_len[p], q, -1)
    if least > most:
        return False
    b_least, b_most = find_gap(d, s, x, a, d.pl_len[q], p, -1)
    if b_least > b_most:
        return False
    pf, qf = s.p_flip[p], s.p_flip[q]
    u = rand(x.rng)
    if u < 0.4:
        pf, qf = qf, pf
    elif u < 0.5:
        pf = 1 - pf
    elif u < 0.6:
        qf = 1 - qf
    put(x, p, b, draw_position(d, s, x, p, b, pf, least, most), pf)
    put(x, q, a, draw_position(d, s, x, q, a, qf, b_least, b_most), qf)
    return True


@njit(cache=True, _nrt=False)
def fill(d: Data, s: State, x: Scratch, order: Ints) -> None:
    """Give every empty place, in the order given, the log in which the least length is left over."""
    for i in range(len(order)):
        p = order[i]
        if s.p_log[p] >= 0:
            continue
        c, length = d.pl_class[p], d.pl_len[p]
        best, best_left, best_lo = -1, FAR_MM, 0.0
        for j in range(d.cand_n[c]):
            log = d.cand[c, j]
            left = d.lg_len[log] - s.l_sum[log] - length
            if left < best_left:
                least, most = find_gap(d, s, x, log, length, -1, -1)
                if least <= most and piece_cost(d, p, log, least, 0) < FORBIDDEN:
                    best, best_left, best_lo = log, left, least
        if best >= 0:
            s.p_log[p], s.p_lo[p], s.p_flip[p] = best, best_lo, 0
            s.l_p[best, s.l_n[best]] = p
            s.l_n[best] += 1
            s.l_sum[best] += length


@njit(cache=True, _nrt=False, nogil=True)
def anneal(
    d: Data,
    s: State,
    x: Scratch,
    movable: Ints,
    l_group: Ints,
    group: int,
    moves: int,
    hot: float,
    cold: float,
    reach: float,
    mix: Floats,
) -> float:
    """Make `moves` trials while the temperature falls from hot to cold; the change of the objective."""
    total = 0.0
    n = len(movable)
    ratio = math.log(cold / hot) / max(1, moves)
    temperature = hot
    for i in range(moves):
        if i % 64 == 0:
            temperature = hot * math.exp(ratio * i)
        x.n[0] = 0
        p = movable[int(rand(x.rng) * n)]
        u = rand(x.rng)
        if u < mix[0]:
            ok = propose_shift(d, s, x, p)
        elif u < mix[1]:
            ok = propose_turns(d, s, x, p, l_group, group)
        elif u < mix[2]:
            ok = propose_trade(d, s, x, p, l_group, group)
        elif u < mix[3]:
            ok = propose_balance(d, s, x, p, l_group, group)
        else:
            ok = propose_exchange(d, s, x, p, reach, l_group, group)
        if not ok:
            continue
        delta = weigh(d, s, x, -temperature * math.log(1.0 - rand(x.rng)))
        if delta < FORBIDDEN:
            total += delta
            x.n[3] += 1
    return total
