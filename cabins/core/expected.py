"""The heights expected before a plan: of a yard's logs, thickest low, over what stands already."""

from collections.abc import Mapping, Sequence

from cabins.core.layout_parts import Layout, Start
from cabins.core.places import Spot, columns_of
from cabins.core.stack import Stack, stack_up


def middles_by_round(middles_mm: Sequence[float], rounds: int) -> tuple[float, ...]:
    """The middle diameter to expect in each round, in mm: the logs in order, thickest low, as many to each
    round.

    A plan takes of a yard what suits; that it takes of all its thicknesses alike is an assumption. Fewer logs
    than rounds: each counts for its part of the rounds. Empty for no logs.
    """
    thick_first = sorted(middles_mm, reverse=True)
    if not thick_first:
        return ()
    share = len(thick_first) / rounds
    return tuple(_mean_between(thick_first, number * share, (number + 1) * share) for number in range(rounds))


def _mean_between(values: Sequence[float], start: float, end: float) -> float:
    """Mean of values that each take a unit of length in a row, from `start` to `end` of that row."""
    total, at = 0.0, start
    while at < end - 1e-9:
        index = min(int(at + 1e-9), len(values) - 1)
        step = min(end, index + 1.0) - at
        if step <= 0:
            break
        total += values[index] * step
        at += step
    return total / (end - start)


def expected_stack(
    layout: Layout,
    *,
    round_middles_mm: Sequence[float] = (),
    diameters_mm: Mapping[Spot, float] | None = None,
    measured_mm: Mapping[Spot, float] | None = None,
) -> Stack:
    """The wall as it is to be expected: `diameters_mm` and `measured_mm` of what stands, and above it in
    every round the middle of `round_middles_mm`, or without logs to expect the layout's own; half logs under
    the walls as thick as the first round."""
    known, columns = dict(diameters_mm or {}), columns_of(layout)
    for wall in layout.log_walls:
        on_halves = layout.half_logs and wall.start is Start.HIGH
        thick = round_middles_mm[:1] if on_halves else ()
        for number, middle in enumerate([*thick, *round_middles_mm[: layout.round_count]], 1 - len(thick)):
            for column in columns[wall.id]:
                known.setdefault((wall.id, number, column.column), middle)
    return stack_up(layout, diameters_mm=known, measured_mm=measured_mm)
