"""Writes of cabins: taken up, laid out, logs set, heights measured."""

from cabins.actions.cabins import CabinNameTaken, put_cabin
from cabins.actions.layouts import SetLogsInTheWay, lay_out

__all__ = ["CabinNameTaken", "SetLogsInTheWay", "lay_out", "put_cabin"]
