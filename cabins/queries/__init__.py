"""Reads of cabins: layouts and places, what stands, how far it is."""

from cabins.queries.walls import (
    NotLaidOut,
    Standing,
    as_built_of,
    ends_set,
    laid_piece,
    layout_of,
    rounds_up,
    set_pieces_of,
    stack_of,
    standing_of,
    wall_stack,
)

__all__ = [
    "NotLaidOut",
    "Standing",
    "as_built_of",
    "ends_set",
    "laid_piece",
    "layout_of",
    "rounds_up",
    "set_pieces_of",
    "stack_of",
    "standing_of",
    "wall_stack",
]
