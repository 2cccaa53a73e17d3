"""Drawings as pure SVG: the writer, the pen and frame all drawings share, and those of logs and yards."""
