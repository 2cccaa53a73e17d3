"""What the browser's tests stand on, built by HTTP alone: a yard, a hut of three rounds, a plan, an order."""

import time
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from tests.cabins.building import DOOR, a_layout
from tests.inventory.ordering import FIRST_TRUCK, FORM, LINES, tally
from tests.live import Person

ROUNDS = 3
PIECES_OF_ROUND_ONE = 5  # wall A has a door in it
LOGS = 16
HEAD = "number,rack,species,butt,middle,tip,length,crown,hazards,remarks"


def a_yard(lead: Person, name: str = "North yard", logs: int = LOGS) -> str:
    """A yard of peeled logs, 6 m long, 300 mm and more in the middle, the fifth with a nail in it; its id."""
    yard = str(uuid4())
    lead.put(f"yards/{yard}", {"name": name})
    species = [one["name"] for one in lead.get("species")["items"]]
    lines = [
        f"{n + 1},R{1 + n % 2},{species[0]},{320 + 3 * n},{300 + 3 * n},{285 + 3 * n},6000,{n % 4},"
        + ("metal 2100 face top" if n == 4 else "") + ","
        for n in range(logs)
    ]  # fmt: skip
    lead.post(f"yards/{yard}/chart?unit=mm&new_racks=true", "\n".join([HEAD, *lines, ""]))
    return yard


def a_hut(lead: Person, name: str = "Pond hut", **changed: Any) -> str:
    """A rectangle of three rounds with a door in wall A, laid out; its id."""
    cabin = str(uuid4())
    lead.put(f"cabins/{cabin}", {"name": name})
    lead.put(f"cabins/{cabin}/layout", a_layout(rounds=ROUNDS, openings=[DOOR], **changed))
    return cabin


def a_plan(lead: Person, cabin: str, yard: str, *, adopt: bool = True) -> str:
    """A plan of the cabin, made by the worker in a second of searching; its id."""
    job = str(uuid4())
    lead.post("planning-jobs", {"id": job, "cabins": [cabin], "yards": [yard], "seconds": 1, "seed": 3})
    for _ in range(900):
        found = lead.get(f"planning-jobs/{job}")
        if found["ended_at"]:
            break
        time.sleep(0.2)
    assert found["plan_id"], found
    if adopt:
        lead.post(f"plans/{found['plan_id']}/adopt")
    return str(found["plan_id"])


def set_next(person: Person, cabin: str) -> dict[str, Any]:
    """Set the next log as planned and measure both its ends as computed; its row of the sheet."""
    row = person.get(f"cabins/{cabin}/next-log")["row"]
    put = {name: row[name] for name in ("wall", "round", "piece", "log", "butt_at")}
    metal = any(one["kind"] == "metal" for one in row["hazards"])
    set_at = "2026-05-04T09:00:00Z"
    body = {**put, "cabin": cabin, "from_butt_mm": row["cut_near_butt_mm"], "set_at": set_at}
    person.put(f"set-logs/{uuid4()}", {**body, "metal_removed": metal})
    return dict(row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A crew at work: a charted yard and a cabin with an adopted plan."""

    lead: Person
    yard: str
    cabin: str
    plan: str


def a_site(lead: Person) -> Site:
    yard, cabin = a_yard(lead), a_hut(lead)
    return Site(lead=lead, yard=yard, cabin=cabin, plan=a_plan(lead, cabin, yard))


def a_shortage(lead: Person) -> str:
    """A plan for which there are far too few logs, so that most places stay empty; its id."""
    return a_plan(lead, a_hut(lead, "Far hut"), a_yard(lead, "Small yard", logs=5), adopt=False)


def a_bare_order(lead: Person) -> str:
    """An order of which only the name and the mill are known; its id."""
    mill, order = str(uuid4()), str(uuid4())
    lead.put(f"mills/{mill}", {"name": f"Quillback mill {order[:4]}", "board_rule": "doyle"})
    lead.put(f"mills/{mill}/form", {"document": FORM})
    lead.put(
        f"orders/{order}",
        {"mill": mill, "name": f"Sills {order[:4]}", "currency": "CAD", "price_by": "board_foot"},
    )
    return order


def an_order(lead: Person, yard: str) -> str:
    """An order that was sent, with its first truck received on a rack of the yard; its id."""
    order, delivery = a_bare_order(lead), str(uuid4())
    lead.must("PUT", f"orders/{order}/lines", {"lines": LINES}, **{"If-Match": '"1"'})
    lead.post(f"orders/{order}/send")
    lead.put(f"deliveries/{delivery}", {"order": order})
    numbered = [row.replace(",Q", f",{order[:4]}-") for row in FIRST_TRUCK]
    lead.put(f"deliveries/{delivery}/tally", tally(numbered).decode())
    rack = lead.get(f"racks?yard={yard}")["items"][0]["id"]
    lead.post(f"deliveries/{delivery}/receive", {"rack": rack})
    return order
