"""Writes of cabins: taken up, laid out, logs set, members given, heights measured."""

from cabins.actions.cabins import CabinNameTaken, put_cabin
from cabins.actions.giving import GivenMemberStands, MemberGiven, give_member, undo_given_member
from cabins.actions.heights import HeightStands, measure_height, measure_heights, undo_height
from cabins.actions.layouts import SetLogsInTheWay, cut_places, lay_out
from cabins.actions.setting import (
    LogGone,
    MetalNearCut,
    PlaceFilled,
    SetLogStands,
    set_log,
    undo_set_log,
)

__all__ = [
    "CabinNameTaken",
    "GivenMemberStands",
    "HeightStands",
    "LogGone",
    "MemberGiven",
    "MetalNearCut",
    "PlaceFilled",
    "SetLogStands",
    "SetLogsInTheWay",
    "cut_places",
    "give_member",
    "lay_out",
    "measure_height",
    "measure_heights",
    "put_cabin",
    "set_log",
    "undo_given_member",
    "undo_height",
    "undo_set_log",
]
