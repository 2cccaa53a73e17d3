"""A crew that has something in every list: the demo's school, an order, a webhook, plans."""

from dataclasses import dataclass
from uuid import uuid4

from django.db import connection
from django.test import override_settings
from django.utils.timezone import now

from crews.models import AccessKey
from inventory.models import Log, LogState, Species
from planning.demo import load_demo
from tests.bench.yards import a_yard
from tests.conftest import Asker
from tests.inventory.ordering import a_mill, a_rack, a_sent_order, delivered, mill_of, tally
from tests.people import Someone
from tests.planning.planning_yard import a_hut, logs_enough, planned

_TALLY = ["1,Q1,white spruce,20' 6\",12 1/8,11,61", "2,Q3,white spruce,14' 6\",11,10,32"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Everything:
    """Who asks, a mill with a key to the order, and the ids that addresses and filters name."""

    lead: Asker
    mill_office: Asker
    ids: dict[str, str]


def a_crew_of_everything(*, logs: int) -> Everything:
    """The crew; `logs` more logs than the demo has lie in a yard of their own."""
    secret = load_demo(at=now())
    key = AccessKey.objects.select_related("member__crew").get(name="demo")
    assert secret
    lead = Asker(Someone(crew=key.crew, member=key.member, key=secret))
    with connection.cursor() as cursor:
        yard = a_yard(cursor, key.crew_id, logs=logs)
    webhook = str(uuid4())
    with override_settings(WEBHOOKS_TO_PRIVATE=True):
        kinds = ["plan_ready", "order_sent", "delivered", "delivery_announced"]
        lead.put(f"webhooks/{webhook}", {"url": "http://127.0.0.1:9/", "kinds": kinds})
        lead.put(f"webhooks/{uuid4()}", {"url": "http://127.0.0.1:9/other", "kinds": kinds})
    ids = {"webhook": webhook, "yard": str(yard), "member": str(key.member_id), **_bought(lead)}
    ids |= _planned(lead) | _built(lead)
    office = mill_of(lead, ids["order"], Asker)
    mill_of(lead, ids["order"], Asker)
    for line in (1, 2):
        office.put(f"mill/proposals/{uuid4()}", {"line": line, "count": 1, "reason": "No more of them."})
    return Everything(lead=lead, mill_office=office, ids=ids)


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
    hut, logs = a_hut(lead), logs_enough(lead)
    jobs = [planned(lead, [hut], [logs[0].yard_id]) for _ in range(2)]
    for job in jobs:
        assert lead.post(f"plans/{job['plan_id']}/adopt").status_code == 200
    log = lead.get(f"promises?open=true&cabin={hut}").body["items"][0]["log"]
    event = lead.get("events?kind=plan_ready").body["items"][0]["id"]
    return {"cabin": hut, "log": log, "plan": jobs[1]["plan_id"], "job": jobs[1]["id"], "event": event}


def _built(lead: Asker) -> dict[str, str]:
    """Measured twice, and laid out anew: what only then has a history."""
    species = Species.objects.of(lead.who.crew).first()  # type: ignore[union-attr]
    log = Log.objects.of(lead.who.crew).filter(state=LogState.IN_RACK).first()  # type: ignore[union-attr]
    assert species and log
    for middle_mm, version in ((301, 1), (302, 2)):
        lead.patch(f"logs/{log.id}", {"middle_mm": middle_mm}, version=version)
    return {"species": str(species.id), "measured": str(log.id)}
