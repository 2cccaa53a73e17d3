"""Drawings by HTTP: whole SVG documents of what is stored, for the crew and nobody else."""

import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any
from uuid import uuid4

import pytest

from inventory.logs.models import Log
from inventory.yards.models import Species
from tests.cabins.building import EVENING, a_layout, a_log, a_yard, record_set, where
from tests.planning.planning_yard import a_hut, logs_enough, planned

pytestmark = pytest.mark.django_db(transaction=True)
SVG = "{http://www.w3.org/2000/svg}"


def drawing(someone: Any, address: str) -> ET.Element:
    answer = someone.get(address)
    assert answer.status_code == 200, answer.body
    assert answer.headers["Content-Type"] == "image/svg+xml"
    return ET.fromstring(answer.body)


def heights_drawn(root: ET.Element, x: float) -> dict[int, float]:
    """round -> top of the log drawn there at a position of the wall."""
    tops = {}
    for polygon in root.findall(f".//{SVG}polygon[@data-log]"):
        points = [tuple(map(float, pair.split(","))) for pair in polygon.attrib["points"].split()]
        for (x0, y0), (x1, y1) in pairwise(points):
            if x0 < x1 and x0 <= x <= x1:
                tops[int(polygon.attrib["data-round"])] = -(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    return tops


def adopted(lead: Any) -> tuple[str, str]:
    """A hut with an adopted plan: cabin and plan."""
    hut = a_hut(lead)
    logs_enough(lead)
    yard = Log.objects.first().yard_id  # type: ignore[union-attr]
    plan = planned(lead, [hut], [yard])["plan_id"]
    assert lead.post(f"plans/{plan}/adopt").status_code == 200
    return hut, plan


def test_an_elevation_shows_the_heights_that_the_plan_gives(lead):
    hut, plan = adopted(lead)

    root = drawing(lead, f"cabins/{hut}/elevation?wall=A")

    tops = lead.get(f"plans/{plan}/heights?cabin={hut}").body["tops"]
    told = {top["round"]: top["top_mm"] for top in tops if (top["wall"], top["column"]) == ("A", 0)}
    drawn = heights_drawn(root, 0.0)
    assert len(drawn) == 3
    assert drawn == pytest.approx({number: told[number] for number in drawn}, abs=0.01)
    fillings = {one.get("data-filling") for one in root.iter() if one.get("data-filling")}
    assert fillings == {"reserved"}


def test_what_is_set_reserved_and_empty_is_told_apart(lead):
    hut, _ = adopted(lead)
    first = lead.get(f"cabins/{hut}/next-log").body["row"]
    fields = {name: first[name] for name in ("wall", "round", "piece", "log", "butt_at")}
    put = {**fields, "cabin": hut, "from_butt_mm": first["cut_near_butt_mm"], "set_at": EVENING.isoformat()}
    assert lead.put(f"set-logs/{uuid4()}", put).status_code == 201

    both = drawing(lead, f"cabins/{hut}/elevation?wall={first['wall']}")
    built = drawing(lead, f"cabins/{hut}/elevation?wall={first['wall']}&as_built=true")

    def fillings(root: ET.Element) -> set[str | None]:
        return {one.get("data-filling") for one in root.iter() if one.get("data-filling")}

    assert fillings(both) == {"set", "reserved"}
    assert fillings(built) == {"set", "empty"}


def test_a_plan_that_is_only_proposed_is_drawn_as_proposed(lead):
    hut = a_hut(lead)
    logs_enough(lead)
    plan = planned(lead, [hut], [Log.objects.first().yard_id])["plan_id"]

    root = drawing(lead, f"cabins/{hut}/elevation?wall=B&plan={plan}")
    without = drawing(lead, f"cabins/{hut}/elevation?wall=B")

    assert {one.get("data-filling") for one in root.iter() if one.get("data-filling")} == {"proposed"}
    assert {one.get("data-filling") for one in without.iter() if one.get("data-filling")} == {"empty"}


def test_a_plan_out_of_date_leaves_the_wall_as_built_and_says_so(lead):
    hut, plan = adopted(lead)
    version = lead.get(f"cabins/{hut}/layout").body["version"]
    lead.put(f"cabins/{hut}/layout", a_layout(rounds=4), version=version)

    root = drawing(lead, f"cabins/{hut}/elevation?wall=A")
    asked = lead.get(f"cabins/{hut}/elevation?wall=A&plan={plan}")

    assert "its plan is out of date" in (root.findtext(f"{SVG}title") or "")
    assert asked.status_code == 409


def test_corner_levels_and_floor_plan_are_drawn(lead):
    hut, _ = adopted(lead)

    corner = drawing(lead, f"cabins/{hut}/corner-drawing?corner=1")
    levels = drawing(lead, f"cabins/{hut}/levels-drawing")
    plan = drawing(lead, f"cabins/{hut}/floor-plan")

    assert {one.get("data-view") for one in corner.iter() if one.get("data-view")} == {"A", "D"}
    assert len([one for one in levels.iter() if one.get("data-level-mm")]) == 12
    assert {one.get("data-wall") for one in plan.iter() if one.get("data-wall")} == set("ABCD")


def test_settling_is_drawn_with_the_heights_that_were_measured(lead):
    hut = a_hut(lead)
    record_set(lead, f"cabins/{hut}", a_log(lead.who.crew), **where())
    height = {"wall": "A", "round": 1, "end": "start", "height_mm": 341, "measured_at": EVENING.isoformat()}
    assert lead.put(f"heights/{uuid4()}", {**height, "cabin": hut}).status_code == 201

    Species.objects.update(shrink_radial_pct="4.0", shrink_tangential_pct="7.0")

    root = drawing(lead, f"cabins/{hut}/settling-drawing")

    assert "341 mm on" in "".join(root.itertext())


def test_a_log_is_drawn_with_the_pieces_that_plans_will_cut_from_it(lead):
    hut, _ = adopted(lead)
    row = lead.get(f"cabins/{hut}/next-log").body["row"]

    root = drawing(lead, f"logs/{row['log']}/drawing")

    told = "".join(root.itertext())
    assert f"Log {row['log_number']}" in told
    assert f"Pond hut, wall {row['wall']} round {row['round']}, butt at the {row['butt_at']}" in told


def test_a_set_log_is_drawn_with_the_piece_that_was_cut(lead):
    hut = a_hut(lead)
    log = a_log(lead.who.crew)
    record_set(lead, f"cabins/{hut}", log, **where())

    told = "".join(drawing(lead, f"logs/{log.id}/drawing").itertext())

    assert "Pond hut, wall A round 1, set" in told


def test_hostile_remarks_stay_text_in_a_drawing(lead):
    log = a_log(lead.who.crew, remarks="</text><script>alert(1)</script>", number="<svg onload=x>")

    root = drawing(lead, f"logs/{log.id}/drawing")

    assert not [one for one in root.iter() if one.tag.endswith("script")]
    assert "Log <svg onload=x>" in "".join(root.itertext())


def test_a_yard_is_drawn_with_what_is_reserved(lead):
    adopted(lead)
    yard = Log.objects.first().yard_id
    states = [log.state for log in Log.objects.all()]

    root = drawing(lead, f"yards/{yard}/drawing")

    bars = [one.attrib for one in root.iter() if "data-reserved" in one.attrib]
    assert sum(int(one["data-reserved"]) for one in bars) == 2 * states.count("reserved")
    assert sum(int(one["data-free"]) for one in bars) == 2 * states.count("in_rack")


def test_what_is_not_there_is_not_drawn(lead):
    hut = a_hut(lead)
    bare = f"cabins/{uuid4()}"
    lead.put(bare, {"name": "Not laid out"})

    assert lead.get(f"cabins/{hut}/elevation?wall=Z").status_code == 404
    assert lead.get(f"cabins/{hut}/elevation").status_code == 400
    assert lead.get(f"cabins/{hut}/corner-drawing?corner=Z").status_code == 404
    assert lead.get(f"{bare}/elevation?wall=A").status_code == 404
    assert lead.get(f"{bare}/floor-plan").status_code == 404


def test_nobody_sees_drawings_of_another_crew(lead, stranger):
    hut = a_hut(lead)
    yard = a_yard(lead.who.crew, "Own yard").id
    log = a_log(lead.who.crew)

    cabin = (
        "elevation?wall=A",
        "corner-drawing?corner=1",
        "levels-drawing",
        "floor-plan",
        "settling-drawing",
    )
    addresses = [f"cabins/{hut}/{one}" for one in cabin]
    for address in (*addresses, f"yards/{yard}/drawing", f"logs/{log.id}/drawing"):
        assert stranger.get(address).status_code == 404, address


def test_a_client_may_ask_for_svg_by_its_media_type(lead):
    hut = a_hut(lead)

    root = lead.get(f"cabins/{hut}/floor-plan", accept="image/svg+xml")
    refused = lead.get(f"cabins/{uuid4()}/floor-plan", accept="image/svg+xml")

    assert root.status_code == 200
    assert refused.status_code == 404
    assert refused.body["type"] == "/problems/not-found"
