"""Printed sheets of a plan: setting sheet, cut list, storey-pole marks."""
