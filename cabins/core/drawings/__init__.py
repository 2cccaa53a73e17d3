"""Drawings of cabins as pure SVG: floor plan, elevations, corners, level and settling."""
