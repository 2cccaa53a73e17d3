"""Drawings as DXF, for CAD programs: in true millimetres, on named layers, each log a block of its own."""
