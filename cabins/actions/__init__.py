"""Writes of cabins: taken up, laid out, logs set, heights measured."""

from cabins.actions.cabins import CabinNameTaken, put_cabin
from cabins.actions.heights import HeightStands, measure_height, measure_heights
from cabins.actions.layouts import SetLogsInTheWay, lay_out
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
    "HeightStands",
    "LogGone",
    "MetalNearCut",
    "PlaceFilled",
    "SetLogStands",
    "SetLogsInTheWay",
    "lay_out",
    "measure_height",
    "measure_heights",
    "put_cabin",
    "set_log",
    "undo_set_log",
]
