"""Reads of the inventory, by topic."""
