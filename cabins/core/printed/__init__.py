"""Printed sheets of a cabin: its record, to hand over with the building."""
