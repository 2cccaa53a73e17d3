"""The arrays the kernels work on, by name; packing fills them. Rounds count from 1, index 0 is the deck."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


class Data(NamedTuple):
    """What does not change while searching. Places, courses, walls, columns, crossings, cabins, logs."""

    rules: Floats
    pl_len: Floats
    pl_short: Floats  # the shorter of two half logs; as pl_len for every other place
    pl_cab: Ints
    pl_wall: Ints
    pl_round: Ints
    pl_course: Ints
    pl_a: Floats
    pl_first: Ints
    pl_last: Ints
    pl_crown: Floats
    pl_least: Floats
    pl_nominal: Floats
    pl_grain: Floats
    pl_keep_log: Ints  # what lies there in the plan in force, -1: nothing
    pl_keep_lo: Floats
    pl_keep_flip: Ints
    pl_keep: Floats  # what it costs to leave that, with its weight
    pl_forbid: Ints  # bit k: a log of lg_spiral k breaks a binding rule of grain there
    pl_class: Ints
    pl_col: Ints  # places + 1: where each place's columns begin in pc_*
    pc_col: Ints
    pc_off: Floats
    pc_len: Floats  # the length from which a turned piece's offset counts
    co_first: Ints
    co_n: Ints
    co_wall: Ints
    co_round: Ints
    co_jamb: Ints  # whether a piece of the course ends at an opening
    wa_cab: Ints
    wa_low: Ints
    wa_len: Floats
    wa_col: Ints  # walls x 2: the columns at its two ends
    cl_wall: Ints
    cl_cross: Ints
    cl_end: Ints
    cl_base: Ints  # where round 0 lies: 0 on the deck, 1 half a mean rise up, 2 set outright, 3 a half log
    cl_start: Floats
    cl_kerf: Floats
    cl_flat: Ints  # the log of round 1 lies on a flat: 0 no, 1 of a depth, 2 of a width
    cl_flat_mm: Floats
    gap: Floats  # columns x rounds + 1: what a log's top rises beside its diameter, steering within it
    cr_low: Ints
    cr_high: Ints
    cr_cab: Ints
    cr_half: Ints  # whether the high wall has a half log there, which the low one's first log is notched over
    wa_op: Ints  # walls + 1: the openings of each wall in op_*
    op_from: Floats
    op_to: Floats
    op_below: Ints  # the round below the hole, 0: none
    op_above: Ints  # the round above the hole, 0: none
    op_sill: Floats
    op_head: Floats
    ca_rounds: Ints
    ca_gap: Floats
    ca_cross: Ints  # cabins + 1
    ca_wall: Ints  # cabins + 1
    ca_low_ends: Floats
    ca_ends: Floats
    ca_level: Floats  # cabins x rounds + 1: weight of a mm out of level
    ca_mid_n: Floats  # cabins x rounds + 1: pieces in the round
    has_top: Ints  # columns x rounds + 1
    top: Floats
    lg_len: Floats
    lg_n: Ints
    lg_x: Floats
    lg_d: Floats
    lg_mid: Floats
    lg_crown: Floats
    lg_culled: Floats
    lg_twist: Floats
    lg_spiral: Ints  # 0 straight, 1 moderate right, 2 severe right, 3 moderate left, 4 severe left
    lg_could: Floats  # the longest place it can fill
    lg_need: Floats  # what each mm costs by which its longest piece is shorter
    lg_hazards: Ints
    lg_hx: Floats
    lg_metal: Ints
    cand: Ints  # classes x logs: logs that can give the class, thin to thick, -1 behind the last
    cand_n: Ints
    cand_rank: Ints  # classes x logs: where the log stands in cand


class State(NamedTuple):
    """Where every log lies now, and the heights and costs that follow from it."""

    p_log: Ints
    p_lo: Floats
    p_flip: Ints
    p_fixed: Ints
    p_cost: Floats
    p_left: Floats
    p_right: Floats
    dia: Floats  # columns x rounds + 1
    tops: Floats
    rise: Floats  # cabins x rounds + 1: sum of diameter + gap over wall ends
    mids: Floats  # cabins x rounds + 1: sum of middles
    cross_cost: Floats  # crossings x rounds + 1
    level_cost: Floats  # walls x rounds + 1
    spread: Floats
    open_cost: Floats  # walls
    jamb: Floats
    l_n: Ints
    l_p: Ints
    l_sum: Floats
