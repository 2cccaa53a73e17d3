"""The layout that tests, bench and soak build on: a rectangle of 5 by 4 metres. Needs no Django."""

from typing import Any

RECTANGLE: dict[str, Any] = {
    "corners": [
        {"id": "1", "x_mm": 0, "y_mm": 0},
        {"id": "2", "x_mm": 5000, "y_mm": 0},
        {"id": "3", "x_mm": 5000, "y_mm": 4000},
        {"id": "4", "x_mm": 0, "y_mm": 4000},
    ],
    "walls": [
        {"id": "A", "from": "1", "to": "2", "start": "low"},
        {"id": "B", "from": "2", "to": "3", "start": "high"},
        {"id": "C", "from": "3", "to": "4", "start": "low"},
        {"id": "D", "from": "4", "to": "1", "start": "high"},
    ],
    "overhang_mm": 400,
    "notch": "saddle",
    "gap": {"smallest_mm": 5, "target_mm": 12, "largest_mm": 25},
    "log_middle_mm": 300,
    "wall_height_mm": 1200,
}
