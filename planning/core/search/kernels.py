"""The compiled part of the search: exact incremental evaluation of moves, and the annealing loop.

Plain functions over `arrays.py`. A move is a short list of changes (place, log, from_butt, flip)
held in a Scratch; `weigh` applies it, adds up the terms it touches, and takes it back when it costs more than
the limit given.

One long file on purpose: numba's cache on disk looks only at the file of the function that is called, so code
in a second file could change without being compiled again. `_nrt=False`: without it every call counts
references to every array, which made a move thirty times slower; nothing in here may allocate.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numba.extending import register_jitable

from planning.core.search.arrays import Data, Floats, Ints, Records, State, table

FAR_MM = 1e9
SLACK = 1e-6
FORBIDDEN = 1e18
MOST_CHANGES = 32
ALIKE_TRIES = 4

INNER = {"_nrt": False, "no_cfunc_wrapper": True}
inner = register_jitable(**INNER, forceinline=True)
"""For what only kernels call: no way in from Python or C is compiled for it, and nothing cached."""


class SearchMove:
    """A place, what is to lie there and what that costs, and what lay there before."""

    p: int
    log: int
    lo: float
    flip: int
    cost: float
    old_log: int
    old_lo: float
    old_flip: int
    old_rise: float


class Touched:
    """First round that the move touches, 0 if none; `listed`: which one was touched as the i-th."""

    since: int
    listed: int


class Thickness:
    """A diameter to go back to, at a column and a round."""

    col: int
    round: int
    dia: float


class SearchStretch:
    """A part of a log."""

    lo: float
    hi: float


class Counts:
    """How much of the scratch is in use, moves made, and the state of the random numbers."""

    changes: int
    columns: int
    crossings: int
    walls: int
    thick: int
    made: int
    random: np.uint64


class Scratch(NamedTuple):
    """Room to work in, one per thread, and the move under trial: `n.changes` of `change`.

    Between moves `tops` is what the state's is, so that a move is tried here and only copied when it stays.
    """

    n: Any  # one record
    change: Records
    cl: Records  # columns touched
    cr: Records  # crossings touched
    wa: Records  # walls touched
    thick: Records  # diameters as they were
    tops: Floats  # columns x rounds + 1
    new_cross: Floats  # crossings x rounds + 1
    new_level: Floats  # walls x rounds + 1
    lying: Records  # the pieces in a log


def fresh_scratch(data: Data, seed: int) -> Scratch:
    """Scratch for one thread whose random numbers follow from the seed."""
    crossings, walls, rounds = len(data.cr), len(data.wa), data.ro.shape[1]
    random = np.random.SeedSequence(seed).generate_state(1, np.uint64)
    return Scratch(
        n=table(Counts, 1, random=random)[0],
        change=table(SearchMove, MOST_CHANGES),
        cl=table(Touched, len(data.cl)),
        cr=table(Touched, crossings),
        wa=table(Touched, walls),
        thick=table(Thickness, len(data.cl) * rounds),
        tops=np.zeros((len(data.cl), rounds)),
        new_cross=np.zeros((crossings, rounds)),
        new_level=np.zeros((walls, rounds)),
        lying=table(SearchStretch, MOST_CHANGES),
    )


@inner
def rand(n: Any) -> float:
    """Uniform in [0, 1): splitmix64."""
    n.random += np.uint64(0x9E3779B97F4A7C15)
    z = n.random
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return float(z >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@inner
def diameter(d: Data, log: int, x: float) -> float:
    """Diameter of a log at x from its butt."""
    i = 0
    last = d.lg[log].stations - 2
    while i < last and x > d.st[log, i + 1].x:
        i += 1
    return float(d.st[log, i].dia + d.st[log, i].slope * (x - d.st[log, i].x))


@inner
def piece_diameter(d: Data, p: int, log: int, lo: float, flip: int, off: float) -> float:
    """Diameter of the piece of `log` in place p, `off` mm from the place's start; nominal when empty."""
    if log < 0:
        return float(d.pl[p].nominal)
    return float(diameter(d, log, lo + off if flip == 0 else lo + d.pl[p].len - off))


@inner
def column_diameter(d: Data, p: int, k: int, log: int, lo: float, flip: int) -> float:
    """Diameter of the piece of `log` in place p at its k-th column; nominal when empty."""
    if log < 0:
        return float(d.pl[p].nominal)
    off = d.pc[k].off
    return float(diameter(d, log, lo + off if flip == 0 else lo + d.pc[k].len - off))


@inner
def flat_depth(d: Data, c: int, dia: float) -> float:
    """How deep the flat is on which a first log lies."""
    if d.cl[c].flat == 1:
        return float(d.cl[c].flat_mm)
    half, half_width = 0.5 * dia, 0.5 * d.cl[c].flat_mm
    return float(half - math.sqrt(max(0.0, half * half - half_width * half_width)))


@inner
def rise_of(d: Data, c: int, r: int, dia: float) -> float:
    """How much a log of this diameter brings its wall up, with the gap at its target."""
    if r == 1 and d.cl[c].flat != 0:
        return float(dia + d.gap[c, 1] - flat_depth(d, c, dia))
    return float(dia + d.ca[d.wa[d.cl[c].wall].cab].gap)


@njit(cache=True, **INNER, forceinline=True)
def piece_cost(d: Data, p: int, log: int, lo: float, flip: int) -> float:
    """Crown, knots and grain of one piece, or the charge for an empty place; FORBIDDEN if it may not be."""
    length = d.pl[p].len
    if log < 0:
        short = d.rules.short + d.rules.short_mm * length
        return float(short + d.pl[p].keep)
    share = length / d.lg[log].len
    cost = d.rules.crown * max(0.0, d.lg[log].crown * share * share - d.pl[p].crown)
    if d.pl[p].least > 0.0 and diameter(d, log, lo + 0.5 * length) < d.pl[p].least:
        return FORBIDDEN
    for h in range(d.lg[log].hazards):
        x = d.hz[log, h].x
        near = min(abs(x - lo), min(abs(x - lo - length), abs(x - lo - d.pl[p].short)))
        for k in range(d.pl[p].cols, d.pl[p].cols_end):
            off = d.pc[k].off
            near = min(near, abs(x - (lo + off if flip == 0 else lo + d.pc[k].len - off)))
        if near < d.rules.clear:
            if d.hz[log, h].metal != 0:
                return FORBIDDEN
            cost += d.rules.knot
    if (d.pl[p].forbid >> d.lg[log].spiral) & 1:
        cost += d.rules.hard
    if d.pl[p].keep_log >= 0:
        if log != d.pl[p].keep_log:
            cost += d.pl[p].keep
        elif flip != d.pl[p].keep_flip:
            cost += 0.5 * d.pl[p].keep
        elif abs(lo - d.pl[p].keep_lo) > SLACK:
            cost += 0.25 * d.pl[p].keep
    return float(cost + d.rules.grain * d.lg[log].twist * d.pl[p].grain)


@inner
def sink_cost(d: Data, p: int, old: int, log: int) -> float:
    """What draws thick logs down and thin ones up while a search is hot; no part of the objective."""
    before = d.lg[old].mid if old >= 0 else d.pl[p].nominal
    after = d.lg[log].mid if log >= 0 else d.pl[p].nominal
    return float(d.rules.sink * d.pl[p].height * (after - before))


@inner
def log_cost(d: Data, log: int, n: int, total: float, longest: float) -> float:
    """Waste, cull and length charge of a log that gives n pieces of `total` mm, one of them the longest."""
    if n == 0:
        return 0.0
    cost = d.rules.waste * (d.lg[log].len - total) + d.rules.culled * d.lg[log].culled
    if d.lg[log].could > longest + SLACK:
        cost += d.lg[log].need * (d.lg[log].could - longest)
    return float(cost)


@inner
def longest_now(d: Data, s: State, log: int) -> float:
    """The longest piece that a log gives; 0 where nobody asks."""
    longest = 0.0
    if d.rules.long > 0.0:
        for j in range(s.lg[log].n):
            longest = max(longest, d.pl[s.lg_p[log, j]].len)
    return longest


@inner
def longest_then(d: Data, s: State, x: Scratch, log: int) -> float:
    """The longest piece that a log gives once the changes are made."""
    longest = 0.0
    if d.rules.long > 0.0:
        for j in range(s.lg[log].n):
            stays = True
            for i in range(x.n.changes):
                if x.change[i].p == s.lg_p[log, j]:
                    stays = False
            if stays:
                longest = max(longest, d.pl[s.lg_p[log, j]].len)
        for i in range(x.n.changes):
            if x.change[i].log == log:
                longest = max(longest, d.pl[x.change[i].p].len)
    return longest


@inner
def pile_up(d: Data, s: State, tops: Floats, c: int, r0: int) -> None:
    """Tops of column c from round r0 up, from its diameters; measured tops replace computed ones."""
    cab = d.wa[d.cl[c].wall].cab
    t = tops[c, r0 - 1]
    if r0 == 1 and d.cl[c].flat != 0:
        t -= flat_depth(d, c, s.dia[c, 1])
    for r in range(r0, d.ca[cab].rounds + 1):
        t += s.dia[c, r] + d.gap[c, r]
        if d.top[c, r].known != 0:
            t = d.top[c, r].mm
        tops[c, r] = t


@register_jitable(**INNER, forceinline=True, fastmath=True)
def crossing_cost(d: Data, s: State, tops: Floats, k: int, r0: int, out: Floats) -> float:
    """Mismatch and notches of crossing k from round r0 up; written per round into out[k], and summed."""
    cab = d.cr[k].cab
    top_round = d.ca[cab].rounds
    lo, hi = d.cr[k].low, d.cr[k].high
    th, tl, dh, dl, rise = tops[hi], tops[lo], s.dia[hi], s.dia[lo], s.rise[cab]
    w, wn, hard = d.rules.corner, d.rules.notch, d.rules.hard
    g0, g1, b0, b1 = d.rules.good_least, d.rules.good_most, d.rules.limit_least, d.rules.limit_most
    gh, gl = d.gap[hi], d.gap[lo]
    part = 0.5 / d.ca[cab].ends
    total = 0.0
    row = out[k]
    for r in range(r0, top_round + 1):
        cost = w * abs(th[r] - tl[r] - part * rise[r])
        n, dia = tl[r] - th[r - 1] - gh[r], dh[r]
        off = max(g0 * dia - n, n - g1 * dia)
        if off > 0.0:  # the limit lies outside of the good share
            cost += wn * off
            if n < b0 * dia - SLACK or n > b1 * dia + SLACK:
                cost += hard
        if r > 1 or d.cr[k].half != 0:
            n, dia = th[r - 1] - tl[r - 1] - gl[r], dl[r]
            if r == 1 and d.cl[lo].flat != 0:
                n += flat_depth(d, lo, dia)
            off = max(g0 * dia - n, n - g1 * dia)
            if off > 0.0:
                cost += wn * off
                if n < b0 * dia - SLACK or n > b1 * dia + SLACK:
                    cost += hard
        row[r] = cost
        total += cost
    return total


@inner
def level_cost(d: Data, tops: Floats, w: int, r0: int, out: Floats) -> float:
    """Out of level of wall w from round r0 up; written per round into out[w], and summed."""
    cab = d.wa[w].cab
    a, b = tops[d.wa[w].start], tops[d.wa[w].end]
    weight = d.ro[cab]
    total = 0.0
    for r in range(r0, d.ca[cab].rounds + 1):
        cost = weight[r].level * abs(a[r] - b[r])
        out[w, r] = cost
        total += cost
    return total


@inner
def opening_cost(d: Data, s: State, tops: Floats, w: int) -> float:
    """How far the logs below and above the holes of wall w are off their sills and heads."""
    if d.rules.opening == 0.0:
        return 0.0
    a, b = d.wa[w].start, d.wa[w].end
    total = 0.0
    for o in range(d.wa[w].ops, d.wa[w].ops_end):
        for side in range(2):
            r = d.op[o].below if side == 0 else d.op[o].above
            if r == 0:
                continue
            first, last = tops[a, r], tops[b, r]
            if side == 1:
                first -= s.dia[a, r]
                last -= s.dia[b, r]
            slope = (last - first) / d.wa[w].len
            first -= d.op[o].sill if side == 0 else d.op[o].head
            total += abs(first + slope * d.op[o].start) + abs(first + slope * d.op[o].end)
    return float(0.5 * d.rules.opening * total)


@inner
def alternate_cost(d: Data, s: State, co: int) -> float:
    """Half for each end of a wall at which course co has its butt as the course below it has."""
    p, q = d.co[co].first, d.co[co - 1].first
    cost = 0.0
    if s.p[p].log >= 0 and s.p[q].log >= 0 and s.p[p].flip == s.p[q].flip:
        cost += 0.5
    p, q = p + d.co[co].n - 1, q + d.co[co - 1].n - 1
    if s.p[p].log >= 0 and s.p[q].log >= 0 and s.p[p].flip == s.p[q].flip:
        cost += 0.5
    return float(d.rules.alternate * cost)


@inner
def alternates_cost(d: Data, s: State, x: Scratch) -> float:
    """Charge for butts over butts of the courses the changes touch and those above them, each once."""
    if d.rules.alternate == 0.0:
        return 0.0
    total = 0.0
    for i in range(x.n.changes):
        co = d.pl[x.change[i].p].course
        if co < 0:
            continue
        for c in range(co, co + 2):
            if c >= len(d.co) or d.co[c].wall != d.co[co].wall or d.co[c].round == 1:
                continue
            seen = False
            for j in range(i):
                other = d.pl[x.change[j].p].course
                if other >= 0 and (other == c or other == c - 1):
                    seen = True
            if not seen:
                total += alternate_cost(d, s, c)
    return total


@inner
def spread_cost(d: Data, tops: Floats, cab: int) -> float:
    """Spread of the final tops, low walls and high walls each."""
    top_round = d.ca[cab].rounds
    lo0, lo1, hi0, hi1 = FAR_MM, -FAR_MM, FAR_MM, -FAR_MM
    for w in range(d.ca[cab].walls, d.ca[cab].walls_end):
        a, b = tops[d.wa[w].start, top_round], tops[d.wa[w].end, top_round]
        if d.wa[w].low != 0:
            lo0, lo1 = min(lo0, min(a, b)), max(lo1, max(a, b))
        else:
            hi0, hi1 = min(hi0, min(a, b)), max(hi1, max(a, b))
    return float(d.rules.spread * (lo1 - lo0 + hi1 - hi0))


@inner
def big_low_cost(d: Data, s: State, cab: int, r: int) -> float:
    """Charge for round r + 1 being thicker than round r."""
    if r < 1 or r >= d.ca[cab].rounds:
        return 0.0
    rise = s.mids[cab, r + 1] / d.ro[cab, r + 1].pieces - s.mids[cab, r] / d.ro[cab, r].pieces
    return float(d.rules.big_low * max(0.0, rise))


@inner
def jamb_cost(d: Data, s: State, co: int) -> float:
    """How far the pieces of a course are off the line between its corners, at the openings."""
    n = d.co[co].n
    if d.co[co].jamb == 0:
        return 0.0
    w, r = d.co[co].wall, d.co[co].round
    d0, d1 = s.dia[d.wa[w].start, r], s.dia[d.wa[w].end, r]
    slope, tol = (d1 - d0) / d.wa[w].len, d.rules.jamb_tol
    cost = 0.0
    for p in range(d.co[co].first, d.co[co].first + n):
        if d.pl[p].first == 0:
            cost += max(0.0, abs(s.p[p].left - d0 - slope * d.pl[p].a) - tol)
        if d.pl[p].last == 0:
            cost += max(0.0, abs(s.p[p].right - d0 - slope * (d.pl[p].a + d.pl[p].len)) - tol)
    return float(d.rules.jamb * cost)


@njit(cache=True, **INNER)
def rebuild(d: Data, s: State) -> float:
    """Heights, costs and the objective from where the logs lie, without any history."""
    total = 0.0
    for log in range(len(d.lg)):
        s.lg[log].n, s.lg[log].sum = 0, 0.0
    s.mids[:] = 0.0
    s.rise[:] = 0.0
    for p in range(len(d.pl)):
        log = s.p[p].log
        s.p[p].cost = piece_cost(d, p, log, s.p[p].lo, s.p[p].flip)
        total += s.p[p].cost
        if log >= 0:
            s.lg_p[log, s.lg[log].n] = p
            s.lg[log].n += 1
            s.lg[log].sum += d.pl[p].len
        for k in range(d.pl[p].cols, d.pl[p].cols_end):
            dia = column_diameter(d, p, k, log, s.p[p].lo, s.p[p].flip)
            s.dia[d.pc[k].col, d.pl[p].round] = dia
            if d.cl[d.pc[k].col].end != 0 and d.pl[p].round > 0:
                s.rise[d.pl[p].cab, d.pl[p].round] += rise_of(d, d.pc[k].col, d.pl[p].round, dia)
        s.p[p].left = piece_diameter(d, p, log, s.p[p].lo, s.p[p].flip, 0.0)
        s.p[p].right = piece_diameter(d, p, log, s.p[p].lo, s.p[p].flip, d.pl[p].len)
        if d.pl[p].wall >= 0:
            s.mids[d.pl[p].cab, d.pl[p].round] += d.lg[log].mid if log >= 0 else d.pl[p].nominal
    for log in range(len(d.lg)):
        total += log_cost(d, log, s.lg[log].n, s.lg[log].sum, longest_now(d, s, log))
    for cab in range(len(d.ca)):
        base = half_base(d, s, cab)
        for w in range(d.ca[cab].walls, d.ca[cab].walls_end):
            for c in range(len(d.cl)):
                if d.cl[c].wall == w:
                    s.tops[c, 0] = start_of(d, s, c, base)
                    pile_up(d, s, s.tops, c, 1)
            total += level_cost(d, s.tops, w, 1, s.level_cost)
            s.open_cost[w] = opening_cost(d, s, s.tops, w)
            total += s.open_cost[w]
        for k in range(d.ca[cab].crosses, d.ca[cab].crosses_end):
            total += crossing_cost(d, s, s.tops, k, 1, s.cross_cost)
        s.spread[cab] = spread_cost(d, s.tops, cab)
        total += s.spread[cab]
        for r in range(1, d.ca[cab].rounds):
            total += big_low_cost(d, s, cab, r)
    for co in range(len(d.co)):
        s.jamb[co] = jamb_cost(d, s, co)
        total += s.jamb[co]
        if d.co[co].round > 1:
            total += alternate_cost(d, s, co)
    return total


@inner
def start_of(d: Data, s: State, c: int, base: float) -> float:
    """Top of round 0 at column c; `base` where it is half a mean rise up."""
    if d.cl[c].base == 0:
        return 0.0
    if d.cl[c].base == 1:
        return base
    if d.cl[c].base == 2:
        return float(d.cl[c].start)
    return float(0.5 * (s.dia[c, 0] - d.cl[c].kerf))


@inner
def half_base(d: Data, s: State, cab: int) -> float:
    """Where the high walls start: half the mean rise of the low walls' first round."""
    total = 0.0
    for w in range(d.ca[cab].walls, d.ca[cab].walls_end):
        if d.wa[w].low != 0:
            a, b = d.wa[w].start, d.wa[w].end
            total += rise_of(d, a, 1, s.dia[a, 1]) + rise_of(d, b, 1, s.dia[b, 1])
    return float(0.5 * total / d.ca[cab].low_ends)


@inner
def touch(touched: Records, listed: int, i: int, r: int) -> int:
    """Remember the i-th as touched from round r up; how many are listed then."""
    if touched[i].since == 0:
        touched[listed].listed = i
        touched[i].since = r
        return listed + 1
    if r < touched[i].since:
        touched[i].since = r
    return listed


@inner
def touch_column(d: Data, x: Scratch, c: int, r: int) -> None:
    """Remember column c and its crossing as touched from round r up."""
    x.n.columns = touch(x.cl, x.n.columns, c, r)
    x.n.crossings = touch(x.cr, x.n.crossings, d.cl[c].cross, r)


@inner
def touch_wall(x: Scratch, w: int, r: int) -> None:
    x.n.walls = touch(x.wa, x.n.walls, w, r)


@inner
def logs_delta(d: Data, s: State, x: Scratch) -> float:
    """Change of waste and cull charges if the changes are made."""
    delta = 0.0
    n = x.n.changes
    same = True
    for i in range(n):
        same = same and x.change[i].old_log == x.change[i].log
    if same:
        return 0.0
    for i in range(n):
        for side in range(2):
            log = x.change[i].old_log if side == 0 else x.change[i].log
            if log < 0:
                continue
            seen = False
            for j in range(i):
                if x.change[j].old_log == log or x.change[j].log == log:
                    seen = True
            if seen or (side == 1 and x.change[i].old_log == log):
                continue
            count, total = s.lg[log].n, s.lg[log].sum
            for j in range(i, n):
                if x.change[j].old_log == log:
                    count -= 1
                    total -= d.pl[x.change[j].p].len
                if x.change[j].log == log:
                    count += 1
                    total += d.pl[x.change[j].p].len
            delta += log_cost(d, log, count, total, longest_then(d, s, x, log))
            delta -= log_cost(d, log, s.lg[log].n, s.lg[log].sum, longest_now(d, s, log))
    return delta


@inner
def place_change(d: Data, s: State, x: Scratch, i: int, back: bool) -> None:
    """Write change i (or its old content) into the place: log, position, jamb diameters, round's middles."""
    change = x.change[i]
    p = change.p
    log, lo, flip = change.log, change.lo, change.flip
    if back:
        log, lo, flip = change.old_log, change.old_lo, change.old_flip
    if d.pl[p].wall >= 0:
        old, cab, r = s.p[p].log, d.pl[p].cab, d.pl[p].round
        if old != log:
            s.mids[cab, r] += (d.lg[log].mid if log >= 0 else d.pl[p].nominal) - (
                d.lg[old].mid if old >= 0 else d.pl[p].nominal
            )
        co = d.pl[p].course
        if d.co[co].jamb != 0:
            s.p[p].left = piece_diameter(d, p, log, lo, flip, 0.0)
            s.p[p].right = piece_diameter(d, p, log, lo, flip, d.pl[p].len)
    s.p[p].log, s.p[p].lo, s.p[p].flip = log, lo, flip


@inner
def rounds_cost(d: Data, s: State, x: Scratch) -> float:
    """Big-low charge of the rounds the changes touch, each once."""
    total = 0.0
    for i in range(x.n.changes):
        p = x.change[i].p
        if d.pl[p].wall < 0:
            continue
        cab, r = d.pl[p].cab, d.pl[p].round
        below, here = True, True
        for j in range(i):
            q = x.change[j].p
            if d.pl[q].wall >= 0 and d.pl[q].cab == cab:
                rq = d.pl[q].round
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


@inner
def courses_cost(d: Data, s: State, x: Scratch, new: bool) -> float:
    """Jamb charge of the courses the changes touch, each once."""
    total = 0.0
    for i in range(x.n.changes):
        co = d.pl[x.change[i].p].course
        if co < 0 or d.co[co].jamb == 0:
            continue
        seen = False
        for j in range(i):
            if d.pl[x.change[j].p].course == co:
                seen = True
        if not seen:
            total += jamb_cost(d, s, co) if new else s.jamb[co]
    return total


@inner
def move_columns(d: Data, s: State, x: Scratch) -> None:
    """Put the changed diameters into the columns and pile the columns up again; touch what they cross."""
    base_cab = -1
    for i in range(x.n.changes):
        p = x.change[i].p
        r, cab = d.pl[p].round, d.pl[p].cab
        for k in range(d.pl[p].cols, d.pl[p].cols_end):
            c = d.pc[k].col
            dia = column_diameter(d, p, k, x.change[i].log, x.change[i].lo, x.change[i].flip)
            old = s.dia[c, r]
            if dia == old:
                continue
            touch_column(d, x, c, max(r, 1))
            was = x.thick[x.n.thick]
            was.col, was.round, was.dia = c, r, old
            x.n.thick += 1
            s.dia[c, r] = dia
            if r == 0 and d.cl[c].base == 3:
                x.tops[c, 0] = 0.5 * (dia - d.cl[c].kerf)
            if d.cl[c].end != 0:
                w = d.cl[c].wall
                touch_wall(x, w, max(r, 1))
                if r > 0:
                    s.rise[cab, r] += rise_of(d, c, r, dia) - rise_of(d, c, r, old)
                if r == 1 and d.wa[w].low != 0:
                    base_cab = cab
                    move_base(d, x, cab)
    if base_cab >= 0:
        for i in range(x.n.changes):
            settle_base(d, s, x, i)
    for i in range(x.n.columns):
        c = x.cl[i].listed
        pile_up(d, s, x.tops, c, x.cl[c].since)


@register_jitable(**INNER)
def move_base(d: Data, x: Scratch, cab: int) -> None:
    """A low wall's first round changed: the high walls of the cabin are touched from the deck up."""
    for k in range(d.ca[cab].crosses, d.ca[cab].crosses_end):
        if d.cl[d.cr[k].high].base == 1:
            touch_column(d, x, d.cr[k].high, 1)


@register_jitable(**INNER)
def settle_base(d: Data, s: State, x: Scratch, i: int) -> None:
    """Set the start of the high walls of change i's cabin if its first round changed."""
    p = x.change[i].p
    cab = d.pl[p].cab
    if d.pl[p].round != 1:
        return
    base = half_base(d, s, cab)
    for k in range(d.ca[cab].crosses, d.ca[cab].crosses_end):
        if x.cr[k].since != 0 and d.cl[d.cr[k].high].base == 1:
            x.tops[d.cr[k].high, 0] = base
            w = d.cl[d.cr[k].high].wall
            touch_wall(x, w, 1)


@inner
def other_corners(d: Data, s: State, x: Scratch, write: bool) -> float:
    """Mismatch at crossings not touched themselves, in rounds whose mean rise changed.

    With `write` the stored costs are brought up to date.
    """
    total = 0.0
    w = d.rules.corner
    for i in range(x.n.changes):
        p = x.change[i].p
        r, cab = d.pl[p].round, d.pl[p].cab
        if r == 0:
            continue
        seen = False
        for j in range(i):
            if d.pl[x.change[j].p].round == r and d.pl[x.change[j].p].cab == cab:
                seen = True
        if seen or s.rise[cab, r] == x.change[i].old_rise:
            continue
        part = 0.5 / d.ca[cab].ends
        new, old = part * s.rise[cab, r], part * x.change[i].old_rise
        for k in range(d.ca[cab].crosses, d.ca[cab].crosses_end):
            if x.cr[k].since != 0 and x.cr[k].since <= r:
                continue
            m = s.tops[d.cr[k].high, r] - s.tops[d.cr[k].low, r]
            delta = w * (abs(m - new) - abs(m - old))
            total += delta
            if write:
                s.cross_cost[k, r] += delta
    return total


@inner
def weigh(d: Data, s: State, x: Scratch, limit: float) -> float:
    """Make the changes in x if they cost no more than `limit`; the change of the objective, or FORBIDDEN.

    When the answer is FORBIDDEN everything is as it was.
    """
    n = x.n.changes
    x.n.columns, x.n.crossings, x.n.walls, x.n.thick = 0, 0, 0, 0
    delta = 0.0
    for i in range(n):
        p = x.change[i].p
        x.change[i].old_log, x.change[i].old_lo, x.change[i].old_flip = s.p[p].log, s.p[p].lo, s.p[p].flip
        x.change[i].old_rise = s.rise[d.pl[p].cab, d.pl[p].round]
        cost = piece_cost(d, p, x.change[i].log, x.change[i].lo, x.change[i].flip)
        if cost >= FORBIDDEN:
            return FORBIDDEN
        x.change[i].cost = cost
        delta += cost - s.p[p].cost + sink_cost(d, p, s.p[p].log, x.change[i].log)
    delta += logs_delta(d, s, x)
    delta -= rounds_cost(d, s, x) + courses_cost(d, s, x, False) + alternates_cost(d, s, x)
    for i in range(n):
        place_change(d, s, x, i, False)
    move_columns(d, s, x)
    delta += rounds_cost(d, s, x) + courses_cost(d, s, x, True) + alternates_cost(d, s, x)
    delta += other_corners(d, s, x, False)
    for i in range(x.n.crossings):
        k = x.cr[i].listed
        for r in range(x.cr[k].since, d.ca[d.cr[k].cab].rounds + 1):
            delta -= s.cross_cost[k, r]
    for i in range(x.n.walls):
        w = x.wa[i].listed
        cab = d.wa[w].cab
        delta -= s.open_cost[w]
        for r in range(x.wa[w].since, d.ca[cab].rounds + 1):
            delta -= s.level_cost[w, r]
    last_cab, first_cab = -1, -1
    for i in range(n):
        cab = d.pl[x.change[i].p].cab
        if x.n.walls > 0 and cab != first_cab and cab != last_cab:
            delta -= s.spread[cab]
            if first_cab < 0:
                first_cab = cab
            else:
                last_cab = cab
    ok = delta <= limit
    i = 0
    while ok and i < x.n.walls:
        w = x.wa[i].listed
        delta += level_cost(d, x.tops, w, x.wa[w].since, x.new_level) + opening_cost(d, s, x.tops, w)
        i += 1
        ok = delta <= limit
    if ok and first_cab >= 0:
        delta += spread_cost(d, x.tops, first_cab)
    if ok and last_cab >= 0:
        delta += spread_cost(d, x.tops, last_cab)
    i = 0
    while ok and i < x.n.crossings:
        k = x.cr[i].listed
        delta += crossing_cost(d, s, x.tops, k, x.cr[k].since, x.new_cross)
        i += 1
        ok = delta <= limit
    if ok:
        other_corners(d, s, x, True)
        keep(d, s, x, first_cab, last_cab)
    else:
        take_back(d, s, x)
        delta = FORBIDDEN
    for i in range(x.n.columns):
        x.cl[x.cl[i].listed].since = 0
    for i in range(x.n.crossings):
        x.cr[x.cr[i].listed].since = 0
    for i in range(x.n.walls):
        x.wa[x.wa[i].listed].since = 0
    return delta


@inner
def keep(d: Data, s: State, x: Scratch, first_cab: int, last_cab: int) -> None:
    """The changes stay: store heights and costs, and move the pieces between the logs."""
    for i in range(x.n.columns):
        c = x.cl[i].listed
        for r in range(x.cl[c].since - 1, d.ca[d.wa[d.cl[c].wall].cab].rounds + 1):
            s.tops[c, r] = x.tops[c, r]
    for i in range(x.n.crossings):
        k = x.cr[i].listed
        for r in range(x.cr[k].since, d.ca[d.cr[k].cab].rounds + 1):
            s.cross_cost[k, r] = x.new_cross[k, r]
    for i in range(x.n.walls):
        w = x.wa[i].listed
        for r in range(x.wa[w].since, d.ca[d.wa[w].cab].rounds + 1):
            s.level_cost[w, r] = x.new_level[w, r]
        s.open_cost[w] = opening_cost(d, s, s.tops, w)
    if first_cab >= 0:
        s.spread[first_cab] = spread_cost(d, s.tops, first_cab)
    if last_cab >= 0:
        s.spread[last_cab] = spread_cost(d, s.tops, last_cab)
    for i in range(x.n.changes):
        p = x.change[i].p
        s.p[p].cost = x.change[i].cost
        co = d.pl[p].course
        if co >= 0 and d.co[co].jamb != 0:
            s.jamb[co] = jamb_cost(d, s, co)
        log = x.change[i].old_log
        if log >= 0 and log != x.change[i].log:
            j = 0
            while s.lg_p[log, j] != p:
                j += 1
            s.lg[log].n -= 1
            s.lg_p[log, j] = s.lg_p[log, s.lg[log].n]
            s.lg[log].sum -= d.pl[p].len
    for i in range(x.n.changes):
        log = x.change[i].log
        if log >= 0 and log != x.change[i].old_log:
            s.lg_p[log, s.lg[log].n] = x.change[i].p
            s.lg[log].n += 1
            s.lg[log].sum += d.pl[x.change[i].p].len


@inner
def take_back(d: Data, s: State, x: Scratch) -> None:
    """The changes are refused: put logs, heights and rises back as they were."""
    for i in range(x.n.changes):
        place_change(d, s, x, i, True)
    for i in range(x.n.changes - 1, -1, -1):
        s.rise[d.pl[x.change[i].p].cab, d.pl[x.change[i].p].round] = x.change[i].old_rise
    for i in range(x.n.thick - 1, -1, -1):
        s.dia[x.thick[i].col, x.thick[i].round] = x.thick[i].dia
    for i in range(x.n.columns):
        c = x.cl[i].listed
        for r in range(x.cl[c].since - 1, d.ca[d.wa[d.cl[c].wall].cab].rounds + 1):
            x.tops[c, r] = s.tops[c, r]


@inner
def find_gap(
    d: Data, s: State, x: Scratch, log: int, length: float, out1: int, out2: int
) -> tuple[float, float]:
    """A stretch (least, most) for the butt-side end of a piece of `length` in a log, (1, 0) if there is none.

    The places out1 and out2 are taken as moved out already. Of several stretches one is drawn.
    """
    trim, between = d.rules.trim, d.rules.between
    lying = x.lying
    n = 0
    for j in range(s.lg[log].n):
        q = s.lg_p[log, j]
        if q != out1 and q != out2:
            lo = s.p[q].lo
            i = n
            while i > 0 and lying[i - 1].lo > lo:
                lying[i].lo, lying[i].hi = lying[i - 1].lo, lying[i - 1].hi
                i -= 1
            lying[i].lo, lying[i].hi = lo, lo + d.pl[q].len
            n += 1
    if n >= d.rules.most_pieces:
        return 1.0, 0.0
    least, most, found = 1.0, 0.0, 0
    begin = trim
    for i in range(n + 1):
        end = (lying[i].lo - between if i < n else d.lg[log].len - trim) - length
        if end >= begin:
            found += 1
            if found == 1 or rand(x.n) * found < 1.0:
                least, most = begin, end
        if i < n:
            begin = lying[i].hi + between
    return least, most


@inner
def draw_position(
    d: Data, s: State, x: Scratch, p: int, log: int, flip: int, least: float, most: float
) -> float:
    """Where in the stretch the piece lies: at an end, anywhere, or where one corner keeps its height."""
    u = rand(x.n)
    if u < 0.2:
        return least
    if u < 0.4:
        return most
    if u < 0.55 or d.pl[p].cols == d.pl[p].cols_end or d.pl[p].round == 0:
        return float(least + (most - least) * rand(x.n))
    k = d.pl[p].cols
    if d.pl[p].cols_end - k > 1 and rand(x.n) < 0.5:
        k += 1
    want = s.dia[d.pc[k].col, d.pl[p].round]
    a = column_diameter(d, p, k, log, least, flip)
    b = column_diameter(d, p, k, log, most, flip)
    if a == b:
        return least
    t = (want - a) / (b - a)
    return float(least + (most - least) * min(1.0, max(0.0, t)))


@inner
def put(x: Scratch, p: int, log: int, lo: float, flip: int) -> None:
    i = x.n.changes
    x.change[i].p, x.change[i].log, x.change[i].lo, x.change[i].flip = p, log, lo, flip
    x.n.changes = i + 1


@inner
def near_log(d: Data, s: State, x: Scratch, p: int, reach: float) -> int:
    """A log that can give place p, of about the middle it has now; -1 if there is none."""
    c, n = d.pl[p].kind, d.pl[p].logs
    if n == 0:
        return -1
    now = s.p[p].log
    rank = d.cand[c, now].rank if now >= 0 else -1
    if rank < 0:
        return int(d.cand[c, int(rand(x.n) * n)].log)
    step = 1 + int(rand(x.n) * rand(x.n) * max(6.0, reach * n))
    rank = rank + step if rand(x.n) < 0.5 else rank - step
    if rank < 0 or rank >= n:
        return -1
    return int(d.cand[c, rank].log)


@inner
def propose_exchange(d: Data, s: State, x: Scratch, p: int, reach: float, l_group: Ints, group: int) -> bool:
    """Place p takes a stretch of another log; a piece in the way takes p's old stretch."""
    m = near_log(d, s, x, p, reach)
    now = s.p[p].log
    if m < 0 or m == now or l_group[m] != group:
        return False
    flip = s.p[p].flip
    if rand(x.n) < 0.15:
        flip = 1 - flip
    n = s.lg[m].n
    if n == 0 or rand(x.n) < 0.3:
        least, most = find_gap(d, s, x, m, d.pl[p].len, -1, -1)
        if least <= most:
            put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
            return True
        if n == 0:
            return False
    q = s.lg_p[m, int(rand(x.n) * n)]
    if s.p[q].fixed != 0:
        return False
    least, most = find_gap(d, s, x, m, d.pl[p].len, q, -1)
    if least > most:
        return False
    q_flip = s.p[q].flip
    if rand(x.n) < 0.15:
        q_flip = 1 - q_flip
    if now < 0:
        put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
        put(x, q, -1, 0.0, 0)
        return True
    home = now
    if d.cand[d.pl[q].kind, now].rank < 0:
        home = -1
    else:
        b_least, b_most = find_gap(d, s, x, now, d.pl[q].len, p, -1)
        if b_least > b_most:
            home = -1
    if home < 0:
        # No way back into p's log: a third log near q's middle takes q.
        home = near_log(d, s, x, q, reach)
        if home < 0 or home in (m, now) or l_group[home] != group:
            return False
        b_least, b_most = find_gap(d, s, x, home, d.pl[q].len, -1, -1)
        if b_least > b_most:
            return False
    put(x, p, m, draw_position(d, s, x, p, m, flip, least, most), flip)
    put(x, q, home, draw_position(d, s, x, q, home, q_flip, b_least, b_most), q_flip)
    return True


@inner
def propose_shift(d: Data, s: State, x: Scratch, p: int) -> bool:
    """Turn a piece end for end, or slide it along its log, or both."""
    log = s.p[p].log
    if log < 0:
        return False
    flip = s.p[p].flip
    turned = rand(x.n) < 0.4
    if turned:
        flip = 1 - flip
    least, most = find_gap(d, s, x, log, d.pl[p].len, p, -1)
    if least > most:
        return False
    if not turned and rand(x.n) < 0.4:
        u = rand(x.n) - 0.5
        lo = s.p[p].lo + 2.0 * u * u * u * (most - least)
        lo = min(most, max(least, lo))
    else:
        lo = draw_position(d, s, x, p, log, flip, least, most)
    if lo == s.p[p].lo and not turned:
        return False
    put(x, p, log, lo, flip)
    return True


@inner
def propose_balance(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Slide a piece, and another of its wall so that their common column keeps its height above both."""
    log, co = s.p[p].log, d.pl[p].course
    if log < 0 or co < 0 or d.pl[p].cols == d.pl[p].cols_end:
        return False
    least, most = find_gap(d, s, x, log, d.pl[p].len, p, -1)
    if least > most:
        return False
    u = rand(x.n) - 0.5
    lo = min(most, max(least, s.p[p].lo + 4.0 * u * u * u * (most - least)))
    k = d.pl[p].cols + int(rand(x.n) * (d.pl[p].cols_end - d.pl[p].cols))
    r = d.pl[p].round
    r2 = r + 1 + int(rand(x.n) * 2.0) if rand(x.n) < 0.5 else r - 1 - int(rand(x.n) * 2.0)
    if r2 < 1 or r2 > d.ca[d.pl[p].cab].rounds:
        return False
    c = d.pc[k].col
    other = co + r2 - r
    for q in range(d.co[other].first, d.co[other].first + d.co[other].n):
        for j in range(d.pl[q].cols, d.pl[q].cols_end):
            q_log = s.p[q].log
            if d.pc[j].col != c or q_log < 0 or q_log == log or s.p[q].fixed != 0:
                continue
            if l_group[q_log] != group:
                return False
            put(x, p, log, lo, s.p[p].flip)
            gain = column_diameter(d, p, k, log, lo, s.p[p].flip) - s.dia[c, r]
            least, most = find_gap(d, s, x, q_log, d.pl[q].len, q, -1)
            if least > most:
                return False
            q_flip = s.p[q].flip
            a = column_diameter(d, q, j, q_log, least, q_flip)
            b = column_diameter(d, q, j, q_log, most, q_flip)
            if a == b:
                return False
            # Straight between the nearer end and here: exact as long as no station lies between.
            now, here = s.p[q].lo, s.dia[c, r2]
            far, there = (most, b) if (gain > 0.0) == (b < here) else (least, a)
            if far == now or there == here:
                return False
            to = now - gain * (far - now) / (there - here)
            put(x, q, q_log, min(most, max(least, to)), q_flip)
            return True
    return False


@inner
def propose_turns(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Turn a piece and those above it in the same wall, two or three courses, each in its own stretch."""
    co = d.pl[p].course
    if co < 0:
        return False
    courses = 2 if rand(x.n) < 0.7 else 3
    step = 1 if rand(x.n) < 0.7 else 2
    for i in range(courses):
        c = co + i * step
        if c >= len(d.co) or d.co[c].wall != d.co[co].wall:
            break
        q = d.co[c].first
        n = d.co[c].n
        if n > 1:
            q += 0 if rand(x.n) < 0.5 else n - 1
        if i == 0:
            q = p
        if s.p[q].fixed != 0 or s.p[q].log < 0 or l_group[s.p[q].log] != group:
            return False
        put(x, q, s.p[q].log, s.p[q].lo, 1 - s.p[q].flip)
    return bool(x.n.changes > 1)


@inner
def propose_trade(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Exchange the logs of two places near each other: in courses above one another, or of one round."""
    co = d.pl[p].course
    if co < 0:
        return False
    w, r, cab = d.co[co].wall, d.co[co].round, d.pl[p].cab
    top_round = d.ca[cab].rounds
    if rand(x.n) < 0.6:
        up = 1 + int(rand(x.n) * 2.5)
        r2 = r + up if rand(x.n) < 0.5 else r - up
    else:
        first = d.ca[cab].walls
        w2 = first + int(rand(x.n) * (d.ca[cab].walls_end - first))
        co += (w2 - w) * top_round
        r2 = r + int(rand(x.n) * 3.0) - 1
    co += r2 - r
    if r2 < 1 or r2 > top_round or co == d.pl[p].course:
        return False
    q = d.co[co].first + int(rand(x.n) * d.co[co].n)
    a, b = s.p[p].log, s.p[q].log
    if a < 0 or b < 0 or a == b or s.p[q].fixed != 0 or l_group[b] != group:
        return False
    if d.cand[d.pl[p].kind, b].rank < 0 or d.cand[d.pl[q].kind, a].rank < 0:
        return False
    least, most = find_gap(d, s, x, b, d.pl[p].len, q, -1)
    if least > most:
        return False
    b_least, b_most = find_gap(d, s, x, a, d.pl[q].len, p, -1)
    if b_least > b_most:
        return False
    pf, qf = s.p[p].flip, s.p[q].flip
    u = rand(x.n)
    if u < 0.4:
        pf, qf = qf, pf
    elif u < 0.5:
        pf = 1 - pf
    elif u < 0.6:
        qf = 1 - qf
    put(x, p, b, draw_position(d, s, x, p, b, pf, least, most), pf)
    put(x, q, a, draw_position(d, s, x, q, a, qf, b_least, b_most), qf)
    return True


@inner
def put_courses(d: Data, s: State, x: Scratch, co: int, other: int, l_group: Ints, group: int) -> bool:
    """Let two courses change places as they lie, where their places are as long and all may move."""
    if d.co[co].n != d.co[other].n or x.n.changes + 2 * d.co[co].n > MOST_CHANGES:
        return False
    for i in range(d.co[co].n):
        p, q = d.co[co].first + i, d.co[other].first + i
        a, b = s.p[p].log, s.p[q].log
        if d.pl[p].len != d.pl[q].len or a < 0 or b < 0 or s.p[p].fixed != 0 or s.p[q].fixed != 0:
            return False
        if l_group[a] != group or l_group[b] != group:
            return False
    for i in range(d.co[co].n):
        p, q = d.co[co].first + i, d.co[other].first + i
        put(x, p, s.p[q].log, s.p[q].lo, s.p[q].flip)
        put(x, q, s.p[p].log, s.p[p].lo, s.p[p].flip)
    return True


@inner
def propose_restack(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Two rounds of a wall, of low or high walls, or of the cabin trade places; all above keeps height."""
    co, cab = d.pl[p].course, d.pl[p].cab
    if co < 0:
        return False
    r, w, top_round = d.co[co].round, d.co[co].wall, d.ca[cab].rounds
    u = rand(x.n)
    near = rand(x.n)
    r2 = 1 + int(near * top_round) if u < 0.6 else r + 1 + int(near * near * top_round)
    if r2 == r or r2 > top_round or not put_courses(d, s, x, co, co + r2 - r, l_group, group):
        return False
    if u >= 0.6:
        for w2 in range(d.ca[cab].walls, d.ca[cab].walls_end):
            if w2 != w and (u >= 0.8 or d.wa[w2].low == d.wa[w].low):
                beside = co + (w2 - w) * top_round
                put_courses(d, s, x, beside, beside + r2 - r, l_group, group)
    return True


@inner
def propose_alike(d: Data, s: State, x: Scratch, p: int, l_group: Ints, group: int) -> bool:
    """Trade logs as they lie, straight or turned, with the likest of a few places of p's length."""
    n = d.pl[p].cols_end - d.pl[p].cols
    log, many = s.p[p].log, d.pl[p].alike_end - d.pl[p].alike
    if log < 0 or many < 2 or n == 0:
        return False
    best, best_off, turned = -1, FAR_MM, 0
    for _ in range(ALIKE_TRIES):
        q = d.alike[d.pl[p].alike + int(rand(x.n) * many)]
        other = s.p[q].log
        if other < 0 or other == log or s.p[q].fixed != 0 or l_group[other] != group:
            continue
        if d.pl[q].cols_end - d.pl[q].cols != n or d.cand[d.pl[p].kind, other].rank < 0:
            continue
        if d.cand[d.pl[q].kind, log].rank < 0:
            continue
        straight, back = 0.0, 0.0
        for i in range(n):
            here = s.dia[d.pc[d.pl[p].cols + i].col, d.pl[p].round]
            straight += abs(here - s.dia[d.pc[d.pl[q].cols + i].col, d.pl[q].round])
            back += abs(here - s.dia[d.pc[d.pl[q].cols_end - 1 - i].col, d.pl[q].round])
        if min(straight, back) < best_off:
            best, best_off, turned = q, min(straight, back), int(back < straight)
    if best < 0:
        return False
    to, from_ = s.p[best], s.p[p]
    put(x, p, to.log, to.lo, to.flip if turned == 0 else 1 - to.flip)
    put(x, best, from_.log, from_.lo, from_.flip if turned == 0 else 1 - from_.flip)
    return True


@njit(cache=True, **INNER)
def fill(d: Data, s: State, x: Scratch, order: Ints) -> None:
    """Give every empty place, in the order given, the log in which the least length is left over."""
    for i in range(len(order)):
        p = order[i]
        if s.p[p].log >= 0:
            continue
        c, length = d.pl[p].kind, d.pl[p].len
        best, best_left, best_lo = -1, FAR_MM, 0.0
        for j in range(d.pl[p].logs):
            log = d.cand[c, j].log
            left = d.lg[log].len - s.lg[log].sum - length
            if left < best_left:
                least, most = find_gap(d, s, x, log, length, -1, -1)
                if least <= most and piece_cost(d, p, log, least, 0) < FORBIDDEN:
                    best, best_left, best_lo = log, left, least
        if best >= 0:
            s.p[p].log, s.p[p].lo, s.p[p].flip = best, best_lo, 0
            s.lg_p[best, s.lg[best].n] = p
            s.lg[best].n += 1
            s.lg[best].sum += length


@njit(cache=True, **INNER, nogil=True)
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
    for c in range(len(d.cl)):
        for r in range(d.ro.shape[1]):
            x.tops[c, r] = s.tops[c, r]
    total = 0.0
    n = len(movable)
    ratio = math.log(cold / hot) / max(1, moves)
    temperature = hot
    for i in range(moves):
        if i % 64 == 0:
            temperature = hot * math.exp(ratio * i)
        x.n.changes = 0
        p = movable[int(rand(x.n) * n)]
        u = rand(x.n)
        if u < mix[0]:
            ok = propose_shift(d, s, x, p)
        elif u < mix[1]:
            ok = propose_turns(d, s, x, p, l_group, group)
        elif u < mix[2]:
            ok = propose_trade(d, s, x, p, l_group, group)
        elif u < mix[3]:
            ok = propose_balance(d, s, x, p, l_group, group)
        elif u < mix[4]:
            ok = propose_restack(d, s, x, p, l_group, group)
        elif u < mix[5]:
            ok = propose_alike(d, s, x, p, l_group, group)
        else:
            ok = propose_exchange(d, s, x, p, reach, l_group, group)
        if not ok:
            continue
        delta = weigh(d, s, x, -temperature * math.log(1.0 - rand(x.n)))
        if delta < FORBIDDEN:
            total += delta
            x.n.made += 1
    return total
