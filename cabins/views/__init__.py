"""Addresses of cabins."""

from cabins.views.setting import OneSetLog

__all__ = ["OneSetLog"]
