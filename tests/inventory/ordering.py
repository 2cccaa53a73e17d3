"""A mill that is not in the fixtures, an order from it and its tally, as bodies and by HTTP."""

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from tests.people import Someone

# The mill writes feet and inches, pays by Doyle, and tallies top and middle.
FORM: dict[str, Any] = {
    "title": "Order of house logs",
    "sort_by": ["length_mm"],
    "columns": [
        {"heading": "Item", "field": "line"},
        {"heading": "Tag", "field": "number", "on": "tally"},
        {"heading": "Wood", "field": "species"},
        {"heading": "Grade", "text": "house log"},
        {"heading": "Length", "field": "length_mm", "unit": "ft_in", "fraction": 2, "mark": True},
        {"heading": "From (in)", "field": "least_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "To (in)", "field": "largest_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "Mid (in)", "field": "middle_mm", "on": "tally", "unit": "in", "fraction": 8},
        {"heading": "Top (in)", "field": "tip_mm", "on": "tally", "unit": "in", "fraction": 8},
        {"heading": "Pcs", "field": "count", "on": "order"},
        {"heading": "BF", "field": "board_feet"},
        {"heading": "Per BF", "field": "price", "decimals": 3},
        {"heading": "Sum", "field": "amount"},
        {"heading": "Remarks", "field": "note"},
    ],
    "above": [{"label": "Order", "field": "order"}, {"text": "Peeled, green."}],
    "below": [{"label": "Total", "field": "total_amount"}],
}
LINES: list[dict[str, Any]] = [
    {
        "species": "white spruce",
        "length_mm": "20' 6\"",
        "least_middle_mm": "11 in",
        "largest_middle_mm": "13 in",
        "count": 4,
        "price": "0.825",
        "note": "straight, for sills",
    },
    {
        "species": "white spruce",
        "length_mm": "14' 6\"",
        "least_middle_mm": "10 in",
        "largest_middle_mm": "12 in",
        "count": 2,
        "price": "0.7",
    },
]
HEAD = "Item,Tag,Wood,Length,Mid (in),Top (in),BF"
FIRST_TRUCK = [
    "1,Q1,white spruce,20' 6\",12 1/8,11,61",
    "1,Q2,white spruce,20' 6\",11 3/4,10 1/2,61",
    "2,Q3,white spruce,14' 6\",11,10,32",
]
SECOND_TRUCK = [
    "1,Q4,white spruce,20' 6\",12,11,61",
    ",Q5,white spruce,14' 6\",9 1/2,8 1/2,16",
    ",Q6,white spruce,14' 6\",11 1/4,10,32",
]


def tally(rows: list[str], head: str = HEAD) -> bytes:
    """A tally as the mill's office saves it, cells with inch marks quoted."""
    quoted = [
        ",".join(f'"{c}"'.replace('6""', '6"""') if '"' in c else c for c in r.split(",")) for r in rows
    ]
    return "\r\n".join([head, *quoted, ""]).encode()


def a_mill(asker: Any, **what: Any) -> str:
    """A mill with the form above: its id."""
    mill = str(uuid4())
    body = {"name": "Quillback mill", "board_rule": "doyle", **what}
    assert asker.put(f"mills/{mill}", body).status_code == 201
    return mill


def a_form(asker: Any, mill: str, document: dict[str, Any] = FORM) -> None:
    answer = asker.put(f"mills/{mill}/form", {"document": document})
    assert answer.status_code == 201, answer.body


def a_draft(asker: Any, mill: str, lines: list[dict[str, Any]] = LINES, **what: Any) -> str:
    """An order with its lines, not sent yet: its id."""
    order = str(uuid4())
    body = {"mill": mill, "name": "Bunkhouse", "currency": "CAD", "price_by": "board_foot", **what}
    assert asker.put(f"orders/{order}", body).status_code == 201
    answer = asker.put(f"orders/{order}/lines", {"lines": lines}, version=1)
    assert answer.status_code == 200, answer.body
    return order


def a_sent_order(asker: Any, *, document: dict[str, Any] = FORM, **what: Any) -> str:
    """An order that the mill has: its id."""
    mill = a_mill(asker)
    a_form(asker, mill, document)
    order = a_draft(asker, mill, **what)
    assert asker.post(f"orders/{order}/send").status_code == 200
    return order


def mill_of(asker: Any, order: str, make: Any, *, until: datetime = datetime(2031, 1, 1, tzinfo=UTC)) -> Any:
    """The mill with a key to the order, as someone who asks."""
    wanted = {"name": "mill office", "expires_at": until.isoformat()}
    answer = asker.put(f"orders/{order}/mill-keys/{uuid4()}", wanted)
    assert answer.status_code == 201, answer.body
    who = asker.who
    return make(Someone(crew=who.crew, member=who.member, key=answer.body["secret"]))


def a_rack(asker: Any, name: str = "R1") -> str:
    """A rack in a yard of its own: its id."""
    yard, rack = str(uuid4()), str(uuid4())
    asker.put(f"yards/{yard}", {"name": f"yard of {name}"})
    assert asker.put(f"racks/{rack}", {"yard": yard, "name": name}).status_code == 201
    return rack


def delivered(asker: Any, order: str, rack: str, rows: list[str]) -> str:
    """A delivery tallied by the crew and received: its id."""
    delivery = str(uuid4())
    asker.put(f"deliveries/{delivery}", {"order": order})
    posted = asker.put(f"deliveries/{delivery}/tally", tally(rows), media="text/csv")
    assert posted.status_code == 200, posted.body
    received = asker.post(f"deliveries/{delivery}/receive", {"rack": rack})
    assert received.status_code == 200, received.body
    return delivery
