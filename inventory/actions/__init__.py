"""Writes of the inventory, by topic; what the apps above call is named here."""

from inventory.actions.moves import LogMoveRefused, move_locked, move_log, move_logs, release_logs

__all__ = ["LogMoveRefused", "move_locked", "move_log", "move_logs", "release_logs"]
