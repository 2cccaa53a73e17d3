"""Reads of cabins: layouts and places, what stands, how far it is."""

from cabins.queries.cabins import cabin_of, cabin_row, cabins_of, past_layouts_of, place_of, places_in
from cabins.queries.giving import given_member_row, given_members_of, members_given_in
from cabins.queries.heights import height_row, height_rows, heights_of
from cabins.queries.layouts import (
    LogsTooThin,
    NoFreeLogs,
    in_stored_mm,
    layout_answer,
    layout_check,
    layout_sent,
    members_in_the_way,
    places_in_the_way,
    yard_estimate,
)
from cabins.queries.progress import cabin_progress, cabin_rounds, crew_progress
from cabins.queries.setting import log_pieces, pieces_cut_from, set_log_row, set_logs_listed
from cabins.queries.settling import settling_answer
from cabins.queries.sheets import CannotReckon, corner_answer, next_sheet
from cabins.queries.walls import (
    NotLaidOut,
    Standing,
    columns_set,
    laid_piece,
    layout_of,
    set_pieces_of,
    stack_of,
    standing_of,
    wall_stack,
)

__all__ = [
    "CannotReckon",
    "LogsTooThin",
    "NoFreeLogs",
    "NotLaidOut",
    "Standing",
    "cabin_of",
    "cabin_progress",
    "cabin_rounds",
    "cabin_row",
    "cabins_of",
    "columns_set",
    "corner_answer",
    "crew_progress",
    "given_member_row",
    "given_members_of",
    "height_row",
    "height_rows",
    "heights_of",
    "in_stored_mm",
    "laid_piece",
    "layout_answer",
    "layout_check",
    "layout_of",
    "layout_sent",
    "log_pieces",
    "members_given_in",
    "members_in_the_way",
    "next_sheet",
    "past_layouts_of",
    "pieces_cut_from",
    "place_of",
    "places_in",
    "places_in_the_way",
    "set_log_row",
    "set_logs_listed",
    "set_pieces_of",
    "settling_answer",
    "stack_of",
    "standing_of",
    "wall_stack",
    "yard_estimate",
]
