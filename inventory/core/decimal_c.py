"""Scribner Decimal C: the Forest Service's factors and the cells where its table stands off them.

All from the US Forest Service volume library, scrib.f, seen: a table of its own, which no formula gives.
"""

THINNEST_IN, THICKEST_IN = 6, 120
SHORTEST_FT, LONGEST_FT = 6, 40

# Board feet in a foot of length, by small end from 6 in up.
# fmt: off
_FACTORS = (
    1.16, 1.4, 1.501, 2.084, 3.126, 3.749, 4.9, 6.043, 7.14, 8.88, 10.0, 11.528, 13.29, 14.99, 17.499,
    18.99, 20.88, 23.51, 25.218, 28.677, 31.249, 34.22, 36.376, 38.04, 41.06, 44.376, 45.975, 48.99, 50.0,
    54.688, 57.66, 64.319, 66.73, 70.0, 75.24, 79.48, 83.91, 87.19, 92.501, 94.99, 99.075, 103.501, 107.97,
    112.292, 116.99, 121.65, 126.525, 131.51, 136.51, 141.61, 146.912, 152.21, 157.71, 163.288, 168.99,
    174.85, 180.749, 186.623, 193.17, 199.12, 205.685, 211.81, 218.501, 225.685, 232.499, 239.317, 246.615,
    254.04, 261.525, 269.04, 276.63, 284.26, 292.501, 300.655, 308.97, 317.36, 325.79, 334.217, 343.29,
    350.785, 359.12, 368.38, 376.61, 385.135, 393.38, 402.499, 410.834, 419.166, 428.38, 437.499, 446.565,
    455.01, 464.15, 473.43, 482.49, 491.7, 501.7, 511.7, 521.7, 531.7, 541.7, 552.499, 562.501, 573.35,
    583.35, 594.15, 604.17, 615.01, 625.89, 636.66, 648.38, 660.0, 671.7, 683.33, 695.011,
)
# fmt: on
# From 6 to 11 in longer logs have factors of their own: from 16 ft on, and from 32 ft on.
_FROM_16_FT = (1.249, 1.608, 1.854, 2.410, 3.542, 4.167)
_FROM_32_FT = (1.570, 1.800, 2.200, 2.900, 3.815, 4.499)
# By length in feet: small ends whose cell is ten less than the factor gives, and those where it is ten more.
_TEN_OFF: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {
    6: ((92, 108, 112, 114), (20, 21, 82)),
    7: ((11, 71), (9, 61, 79)),
    8: ((64, 66, 69, 79), (24, 29, 38, 67, 71, 77, 83)),
    9: ((), (29, 43, 51, 61, 74)),
    10: ((23, 74, 96), (9, 71, 77, 83, 107)),
    11: ((25,), (9, 58, 61, 64, 73)),
    12: ((10,), ()),
    13: ((6, 47, 77, 99), (52, 61, 66, 69)),
    14: ((6, 44, 80), ()),
    15: ((6, 28), (45, 51, 61, 74, 80)),
    17: ((), (46, 61, 64, 75, 80)),
    18: ((44, 71, 77, 83), (70, 81, 91, 93, 95, 98, 100, 107, 111)),
    19: ((8, 9), (13,)),
    20: ((8, 9, 67, 71, 77), (62, 64, 66, 69, 79)),
}


def reaches(small_end_in: float, length_ft: float) -> bool:
    """Whether the table has a cell: whole inches from 6 to 120 in, whole feet from 6 to 40 ft."""
    whole = small_end_in == int(small_end_in) and length_ft == int(length_ft)
    return whole and THINNEST_IN <= small_end_in <= THICKEST_IN and SHORTEST_FT <= length_ft <= LONGEST_FT


def factor(small_end_in: int, length_ft: int) -> float:
    """Board feet in a foot of a log, before the table's rounding to tens."""
    row = small_end_in - THINNEST_IN
    if row < len(_FROM_16_FT) and length_ft >= 16:
        return (_FROM_16_FT if length_ft < 32 else _FROM_32_FT)[row]
    return _FACTORS[row]


def tens_off(small_end_in: int, length_ft: int) -> int:
    """By how many tens the published cell stands off the rounded factor: -1, 0 or 1."""
    less, more = _TEN_OFF.get(length_ft, ((), ()))
    return (small_end_in in more) - (small_end_in in less)
