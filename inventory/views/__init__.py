"""Addresses of the inventory, by topic."""
