"""What the soak's people send: a hut's layout, a mill's form, an order's lines, its trucks' tallies."""

from typing import Any

from tests.rectangle import RECTANGLE

HUT_ROUNDS, HUT_WALLS = 3, 4
HUT: dict[str, Any] = RECTANGLE | {"rounds": HUT_ROUNDS}
FORM: dict[str, Any] = {
    "title": "Order of house logs",
    "columns": [
        {"heading": "Item", "field": "line"},
        {"heading": "Tag", "field": "number", "on": "tally"},
        {"heading": "Wood", "field": "species"},
        {"heading": "Length", "field": "length_mm", "unit": "ft_in", "fraction": 2, "mark": True},
        {"heading": "From (in)", "field": "least_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "To (in)", "field": "largest_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "Mid (in)", "field": "middle_mm", "on": "tally", "unit": "in", "fraction": 8},
        {"heading": "Top (in)", "field": "tip_mm", "on": "tally", "unit": "in", "fraction": 8},
        {"heading": "Pcs", "field": "count", "on": "order"},
        {"heading": "BF", "field": "board_feet"},
        {"heading": "Per BF", "field": "price", "decimals": 3},
    ],
}
LINES: list[dict[str, Any]] = [
    {
        "species": "white spruce", "length_mm": "20' 6\"", "least_middle_mm": "11 in",
        "largest_middle_mm": "13 in", "count": 4, "price": "0.825",
    },
    {
        "species": "white spruce", "length_mm": "14' 6\"", "least_middle_mm": "10 in",
        "largest_middle_mm": "12 in", "count": 2, "price": "0.7",
    },
]  # fmt: skip
_HEAD = "Item,Tag,Wood,Length,Mid (in),Top (in),BF"
_LONG, _SHORT = '"20\' 6"""', '"14\' 6"""'
TRUCKS = [
    f"{_HEAD}\n1,Q1,white spruce,{_LONG},12 1/8,11,61\n1,Q2,white spruce,{_LONG},11 3/4,10 1/2,61\n",
    f"{_HEAD}\n1,Q3,white spruce,{_LONG},12,11,61\n2,Q4,white spruce,{_SHORT},11,10,32\n",
]


def chart(first: int, count: int) -> bytes:
    """A chart in millimetres, rack R1, of logs that suit the hut."""
    lines = ["number,rack,length,butt,middle,tip,crown,crown side,charted by,charted on"]
    for n in range(first, first + count):
        butt = 320 + 3 * (n % 14)
        lines.append(f"L{n},R1,6000,{butt},{butt - 20},{butt - 35},{n % 4},top,Wren,2026-05-04")
    return "\n".join(lines).encode()
