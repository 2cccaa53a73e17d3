"""Printed sheets: the press that sets them, and those of the yard."""
