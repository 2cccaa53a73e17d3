"""The code of the recipes runs, against the service as processes."""

import re
from typing import Any
from uuid import uuid4

import pytest

from config.home import PROJECT
from tests.browser.building import LINES, a_bare_order
from tests.cabins.building import a_layout
from tests.live import Live, joined

SIZES = {"length_mm": 5000, "butt_mm": 300, "middle_mm": 275, "tip_mm": 250, "charted_on": "2026-05-04"}


def recipe(name: str) -> dict[str, Any]:
    """What the Python of a recipe defines."""
    text = (PROJECT / "docs" / "api" / "recipes" / f"{name}.md").read_text()
    found: dict[str, Any] = {}
    for code in re.findall(r"```python\n(.*?)```", text, re.DOTALL):
        exec(compile(code, name, "exec"), found)
    return found


def a_yard(lead) -> str:
    yard = str(uuid4())
    lead.put(f"yards/{yard}", {"name": "Lower yard"})
    return yard


def test_every_recipe_has_code():
    names = {one.stem for one in (PROJECT / "docs" / "api" / "recipes").glob("*.md")}

    assert names == {"cad", "dashboard", "mill", "offline-sync", "rack-and-wall"}


def test_a_dashboard_reads_again_only_what_changed(live: Live):
    lead = live.crew("Dashboard crew")
    learner = joined(lead, "Wren", "learner")
    yard = a_yard(lead)
    board = recipe("dashboard")["Dashboard"](live.root, learner.key)

    assert board.progress() == []
    tag = board.tags["progress"]
    assert board.progress() == []
    assert board.news(seconds=1) == []
    lead.put(f"cabins/{uuid4()}", {"name": "Bunkhouse"})
    lead.put(f"logs/{uuid4()}", {"yard": yard, "number": "A1", **SIZES})
    heard = [one["kind"] for one in board.news()]

    assert heard == ["log_charted"]
    assert [cabin["cabin_name"] for cabin in board.progress()] == ["Bunkhouse"]
    assert board.tags["progress"] != tag


@pytest.mark.parametrize("sure", [True, False])
def test_at_the_rack_a_doubt_is_asked_and_a_fault_is_told(live: Live, sure: bool):
    lead = live.crew("Rack crew")
    asked: list[str] = []
    rack = recipe("rack-and-wall")["Rack"](live.root, lead.key, lambda doubts: asked.extend(doubts) or sure)
    log = {"yard": a_yard(lead), "number": "A1", **SIZES}

    assert rack.chart(str(uuid4()), log)["number"] == "A1"
    assert asked == []
    odd = rack.chart(str(uuid4()), {**log, "number": "A2", "middle_mm": 320})
    with pytest.raises(ValueError, match="/length_mm"):
        rack.chart(str(uuid4()), {**log, "number": "A3", "length_mm": -5})

    assert asked
    assert (odd is not None) is sure


def test_a_mill_takes_an_order_on(live: Live):
    lead = live.crew("Order crew")
    order, key = a_bare_order(lead), str(uuid4())
    lead.must("PUT", f"orders/{order}/lines", {"lines": LINES}, **{"If-Match": '"1"'})
    secret = lead.put(
        f"orders/{order}/mill-keys/{key}", {"name": "Office", "expires_at": "2031-01-01T00:00:00Z"}
    )["secret"]
    lead.post(f"orders/{order}/send")
    office = recipe("mill")["Mill"](live.root, secret)

    assert len(office.order()["lines"]) == len(LINES)
    assert office.confirm()["state"] == "confirmed"


def test_a_cad_program_reads_a_wall_in_millimetres(live: Live):
    lead = live.crew("Drawing crew")
    cabin = str(uuid4())
    lead.put(f"cabins/{cabin}", {"name": "Bunkhouse"})
    lead.put(f"cabins/{cabin}/layout", a_layout())

    found = recipe("cad")["outlines"](live.root, lead.key, cabin, "A")

    assert {round for round, _ in found} == {"1", "2", "3", "4"}
