"""Addresses of cabins."""
