"""A crew that has something in every list: the demo's school, an order, a webhook, plans, a wall begun."""

from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.db import connection
from django.test import override_settings
from django.utils.timezone import now

from crews.accounts.access import key_of, secret_hash
from planning.demo import load_demo
from tests.bench.yards import a_yard
from tests.cabins.building import a_log
from tests.cabins.building import a_yard as an_empty_yard
from tests.conftest import Asker
from tests.inventory.ordering import a_mill, a_rack, a_sent_order, delivered, mill_of, tally
from tests.people import Someone
from tests.planning.planning_yard import ROUNDS, a_hut, logs_enough, planned
from tests.rectangle import RECTANGLE

_TALLY = ["1,Q1,white spruce,20' 6\",12 1/8,11,61", "2,Q3,white spruce,14' 6\",11,10,32"]
_BY_PHONE = 50
_RIDGE = {"id": "ridge", "kind": "ridge", "length_mm": 7000, "least_middle_mm": 280, "crown_limit_mm": 15,
          "count": 1}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Everything:
    """Who asks, a mill with a key to the order, and the ids that addresses and filters name."""

    lead: Asker
    mill_office: Asker
    ids: dict[str, str]


def a_crew_of_everything(*, logs: int) -> Everything:
    """The crew; `logs` more logs than the demo has lie in a yard of their own."""
    secret = load_demo(at=now())
    key = key_of(secret_hash(secret or ""), now())
    assert secret and key
    lead = Asker(Someone(crew=key.crew, member=key.member, key=secret))
    with connection.cursor() as cursor:
        yard = a_yard(cursor, key.crew_id, logs=logs)
    webhook = str(uuid4())
    with override_settings(WEBHOOKS_TO_PRIVATE=True):
        kinds = ["plan_ready", "order_sent", "delivered", "delivery_announced"]
        lead.put(f"webhooks/{webhook}", {"url": "http://127.0.0.1:9/", "kinds": kinds})
        lead.put(f"webhooks/{uuid4()}", {"url": "http://127.0.0.1:9/other", "kinds": kinds})
    _choose(lead)
    ids = {"webhook": webhook, "yard": str(yard), "member": str(key.member_id), **_bought(lead)}
    ids |= _planned(lead)
    ids |= _built(lead, ids) | _measured_again(lead)
    office = mill_of(lead, ids["order"], Asker)
    mill_of(lead, ids["order"], Asker)
    for line in (1, 2):
        office.put(f"mill/proposals/{uuid4()}", {"line": line, "count": 1, "reason": "No more of them."})
    return Everything(lead=lead, mill_office=office, ids=ids)


def _choose(lead: Asker) -> None:
    """What a crew may choose for itself has no row before."""
    _done(lead.patch("scaling-settings", {"longest_ft": 20}, version=0))
    _done(lead.patch("wall-settings", {"underscribe_mm": 6}, version=0))
    _done(lead.patch("grain-rules", {"weights": {"twist_low": "off"}}, version=0))


def _bought(lead: Asker) -> dict[str, str]:
    order = a_sent_order(lead)
    rack = a_rack(lead, "Landing")
    delivery = delivered(lead, order, rack, _TALLY)
    lead.put(f"deliveries/{uuid4()}", {"order": order})
    again = str(uuid4())
    lead.put(f"deliveries/{again}", {"order": order})
    lead.put(f"deliveries/{again}/tally", tally(_TALLY), media="text/csv")
    mill = a_mill(lead, name="Second mill")
    body = {"mill": mill, "name": "Second order", "currency": "CAD", "price_by": "board_foot"}
    lead.put(f"orders/{uuid4()}", body)
    first = lead.get(f"orders/{order}").body["mill"]
    return {"order": order, "delivery": delivery, "rack": rack, "mill": first}


def _planned(lead: Asker) -> dict[str, str]:
    """A hut planned twice, and another laid out lower than at first: its upper places go."""
    yard = an_empty_yard(lead.who.crew, "Yard of the hut")  # type: ignore[union-attr]
    hut = a_hut(lead, members=[_RIDGE])
    logs_enough(lead, yard=yard)
    for _ in range(2):
        a_log(yard.crew, yard=yard, length_mm=7500, butt_mm=330, middle_mm=315, tip_mm=300, crown_mm=2)
    jobs = [planned(lead, [hut], [yard.id]) for _ in range(2)]
    for job in jobs:
        _done(lead.post(f"plans/{job['plan_id']}/adopt"))
    low = f"cabins/{a_hut(lead, 'Low hut')}/layout"
    _done(lead.put(low, {**RECTANGLE, "rounds": ROUNDS - 1}, version=1))
    event = lead.get("events?kind=plan_ready").body["items"][0]["id"]
    return {"cabin": hut, "plan": jobs[1]["plan_id"], "job": jobs[1]["id"], "event": event}


def _built(lead: Asker, ids: dict[str, str]) -> dict[str, str]:
    """A log set, undone, set again; heights and new logs, by a phone; the ridge made, undone, made again."""
    at = now().isoformat()
    row = lead.get(f"cabins/{ids['cabin']}/next-log").body["row"]
    body = {name: row[name] for name in ("wall", "round", "piece", "log", "butt_at")}
    body |= {"cabin": ids["cabin"], "from_butt_mm": row["cut_near_butt_mm"], "set_at": at}
    pieces = lead.get(f"plans/{ids['plan']}/pieces?member=ridge").body["items"]
    ridge = {name: pieces[0][name] for name in ("cabin", "member", "log", "from_butt_mm")} | {
        "installed_at": at
    }
    for kind, fields in (("set-logs", body), ("roof-members", ridge)):
        first = f"{kind}/{uuid4()}"
        _done(lead.put(first, fields))
        _done(lead.post(f"{first}/undo", {"reason": "Scribed the wrong side."}))
        _done(lead.put(f"{kind}/{uuid4()}", fields | {"set_at": at} if kind == "set-logs" else fields))
    free = lead.get("logs?free=true&limit=1").body["items"][0]["id"]
    part = {"log": free, "near_butt_mm": 1000, "near_tip_mm": 1400, "prepared_at": at}
    first = f"prepared-pieces/{uuid4()}"
    _done(lead.put(first, part))
    _done(lead.post(f"{first}/undo", {"reason": "Another log was meant."}))
    _done(lead.put(f"prepared-pieces/{uuid4()}", part))
    entries = [_height(ids["cabin"], row["wall"], end) for end in ("start", "end")]
    entries += [_new_log(ids["yard"], number) for number in range(_BY_PHONE)]
    sent = lead.post("batch", {"entries": entries})
    assert sent.body["accepted"] == len(entries), sent.body
    return {"log": body["log"]}


def _height(cabin: str, wall: str, end: str) -> dict[str, Any]:
    at = now().isoformat()
    body = {"cabin": cabin, "wall": wall, "round": 1, "end": end, "height_mm": 310, "measured_at": at}
    return _entry(f"heights/{uuid4()}", body | {"confirm_doubtful": True})


def _new_log(yard: str, number: int) -> dict[str, Any]:
    measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
    return _entry(f"logs/{uuid4()}", {"yard": yard, "number": f"B{number}", **measures})


def _entry(address: str, body: dict[str, Any]) -> dict[str, Any]:
    """What a phone recorded a moment ago."""
    made_at = now().isoformat()
    return {
        "id": str(uuid4()), "made_at": made_at, "method": "PUT", "path": f"/api/v1/{address}", "body": body
    }  # fmt: skip


def _measured_again(lead: Asker) -> dict[str, str]:
    """A log measured twice more: what only then has a history. Put aside and fetched; another written off."""
    log, other = (one["id"] for one in lead.get("logs?state=in_rack&limit=2").body["items"])
    for middle_mm, version in ((301, 1), (302, 2)):
        _done(lead.patch(f"logs/{log}", {"middle_mm": middle_mm}, version=version))
    _done(lead.post(f"logs/{log}/put-aside", {"reason": "split tip"}))
    _done(lead.post(f"logs/{log}/return-to-rack", {}))
    _done(lead.post(f"logs/{other}/write-off", {"reason": "rot at the butt"}))
    return {"species": lead.get("species").body["items"][0]["id"], "measured": log}


def _done(answer: Any) -> None:
    assert answer.status_code in (200, 201), answer.body
