"""The arrays the kernels work on, by name; packing fills them. Rounds count from 1, index 0 is the deck.

One array of records an entity (`data.pl[p].len`), not one array a quantity: the time numba takes to compile a
kernel grows with the arrays it is given. What the innermost loop runs over (`gap`, `dia`, `tops`, `rise` and
the costs) stays plain, number beside number.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Records = npt.NDArray[Any]
KINDS = {"float": np.float64, "int": np.int64, "np.uint64": np.uint64}


def table(row: type, shape: int | tuple[int, int], **columns: object) -> Records:
    """Records with the fields of `row`, filled with the columns by name; what is not named is 0."""
    found = np.zeros(shape, [(name, KINDS[kind]) for name, kind in row.__annotations__.items()])
    for name, column in columns.items():
        found[name] = column
    return found


class Rules:
    """Weights and limits; `between` two pieces of a log, `clear` of hazards."""

    corner: float
    spread: float
    big_low: float
    crown: float
    knot: float
    notch: float
    jamb: float
    waste: float
    culled: float
    short: float
    short_mm: float
    hard: float
    grain: float
    alternate: float
    opening: float
    long: float
    good_least: float
    good_most: float
    limit_least: float
    limit_most: float
    jamb_tol: float
    trim: float
    between: float
    clear: float
    most_pieces: float
    sink: float  # while hot, what a mm of a middle costs for each round above the middle one


class SearchPlace:
    """A log or a part of one that the cabins want."""

    len: float
    short: float  # the shorter of two half logs; as len for every other place
    cab: int
    wall: int
    round: int
    course: int
    a: float
    first: int
    last: int
    crown: float
    least: float
    nominal: float
    height: float  # rounds above the middle one, below it less than 0
    grain: float
    keep_log: int  # what lies there in the plan in force, -1: nothing
    keep_lo: float
    keep_flip: int
    keep: float  # what it costs to leave that, with its weight
    forbid: int  # bit k: a log of spiral k breaks a binding rule of grain there
    kind: int
    logs: int  # how many logs can give it
    alike: int  # where the places of its length begin and end in `alike`
    alike_end: int
    cols: int  # where its columns begin and end in pc
    cols_end: int


class PlaceColumn:
    """Where a place crosses a column; a turned piece's offset counts from `len`."""

    col: int
    off: float
    len: float


class Course:
    """One round of one wall: its places, and whether a piece of it ends at an opening."""

    first: int
    n: int
    wall: int
    round: int
    jamb: int


class SearchWall:
    """A wall, the columns at its start and end, and where its openings begin and end in op."""

    cab: int
    low: int
    len: float
    start: int
    end: int
    ops: int
    ops_end: int


class SearchColumn:
    """The logs of a wall above one another at one of its crossings; `end`: at an end of the wall."""

    wall: int
    cross: int
    end: int
    base: int  # where round 0 lies: 0 on the deck, 1 half a mean rise up, 2 set outright, 3 a half log
    start: float
    kerf: float
    flat: int  # the log of round 1 lies on a flat: 0 no, 1 of a depth, 2 of a width
    flat_mm: float


class SearchCrossing:
    """The columns of a low and a high wall that cross."""

    low: int
    high: int
    cab: int
    half: int  # whether the high wall has a half log there, which the low one's first log is notched over


class SearchOpening:
    """An opening, and the rounds below and above its hole, 0: none."""

    start: float
    end: float
    below: int
    above: int
    sill: float
    head: float


class SearchCabin:
    """A cabin, and where its crossings and its walls begin and end."""

    rounds: int
    gap: float
    crosses: int
    crosses_end: int
    walls: int
    walls_end: int
    low_ends: float
    ends: float


class Round:
    """A round of a cabin: the weight of a mm out of level, and how many pieces it has."""

    level: float
    pieces: float


class SearchTop:
    """The measured top of a log at a column."""

    known: int
    mm: float


class SearchLog:
    """A log of the yard."""

    len: float
    stations: int
    mid: float
    crown: float
    culled: float
    twist: float
    spiral: int  # 0 straight, 1 moderate right, 2 severe right, 3 moderate left, 4 severe left
    could: float  # the longest place it can fill
    need: float  # what each mm costs by which its longest piece is shorter
    hazards: int


class SearchStation:
    """A diameter of a log, and what it grows by from here to the next station."""

    x: float
    dia: float
    slope: float


class SearchHazard:
    """A knot or metal in a log."""

    x: float
    metal: int


class Candidate:
    """Logs that can give a kind of place, thin to thick, -1 behind the last; and where each log stands."""

    log: int
    rank: int


class Laid:
    """What lies in a place, what it costs, and its diameters at both ends."""

    log: int
    lo: float
    flip: int
    fixed: int
    cost: float
    left: float
    right: float


class Given:
    """How many pieces a log gives, and their length together."""

    n: int
    sum: float


class Data(NamedTuple):
    """What does not change while searching."""

    rules: Any  # one record
    pl: Records  # places
    pc: Records  # columns of the places
    co: Records  # courses
    wa: Records  # walls
    cl: Records  # columns
    cr: Records  # crossings
    op: Records  # openings
    ca: Records  # cabins
    ro: Records  # cabins x rounds + 1
    lg: Records  # logs
    st: Records  # logs x stations
    hz: Records  # logs x hazards
    gap: Floats  # columns x rounds + 1: what a log's top rises beside its diameter, steering within it
    top: Records  # columns x rounds + 1: what was measured
    cand: Records  # kinds of places x logs
    alike: Ints  # the places, by length


class State(NamedTuple):
    """Where every log lies now, and the heights and costs that follow from it."""

    p: Records  # places
    lg: Records  # logs
    lg_p: Ints  # logs x pieces: the places it gives
    dia: Floats  # columns x rounds + 1
    tops: Floats
    rise: Floats  # cabins x rounds + 1: sum of diameter + gap over wall ends
    mids: Floats  # cabins x rounds + 1: sum of middles
    cross_cost: Floats  # crossings x rounds + 1
    level_cost: Floats  # walls x rounds + 1
    spread: Floats  # cabins
    open_cost: Floats  # walls
    jamb: Floats  # courses
