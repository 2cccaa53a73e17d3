"""What the clients do, turn after turn: chart and measure, send a phone's batch, order and receive."""

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from tests.soak.papers import FORM, LINES, chart
from tests.torture import effects
from tests.torture.calling import Client
from tests.torture.ledger import Effect, Write

_CHARTED, _ENTRIES, _ON_TRUCK = 120, 15, 30


def now() -> str:
    return datetime.now(UTC).isoformat()


def put(client: Client, act: str, address: str, body: Any, parts: tuple[Effect, ...], **headers: str) -> Any:
    return client.write(
        Write(act=act, method="PUT", address=address, body=body, parts=(parts,), headers=headers)
    )


def post(client: Client, act: str, address: str, body: Any, parts: tuple[Effect, ...], key: str) -> Any:
    """A POST that may be repeated because it comes with a key."""
    sign = {"Idempotency-Key": key}
    write = Write(act=act, method="POST", address=address, body=body, parts=(parts,), headers=sign)
    return client.write(write)


def new_yard(client: Client) -> str:
    yard = str(uuid4())
    name = {"name": f"Yard {yard[:13]}"}
    put(client, "put_yard", f"yards/{yard}", name, effects.of_row("inventory_yard", yard, "yard"))
    return yard


def import_chart(client: Client, yard: str, count: int) -> None:
    """The yard's first chart; sent again it changes nothing, without any key."""
    address, parts = f"yards/{yard}/chart?unit=mm&new_racks=true", (effects.of_chart(yard, count),)
    client.write(Write(act="import", method="POST", address=address, body=chart(1, count), parts=parts))


class Charting:
    """A yard charted, and one of its logs measured again under the version that was read."""

    def __init__(self, client: Client) -> None:
        self.client = client

    def turn(self) -> None:
        client, yard = self.client, new_yard(self.client)
        import_chart(client, yard, _CHARTED)
        log = client.chance.choice(client.read(f"logs?yard={yard}&limit=50")["items"])
        middle_mm = round(log["middle_mm"]) + client.chance.choice((-1, 1))
        parts = effects.of_measuring(log["id"], log["version"], middle_mm)
        version, body = {"If-Match": f'"{log["version"]}"'}, {"middle_mm": middle_mm, "charted_by": "Brone"}
        address = f"logs/{log['id']}"
        client.write(
            Write(act="measure", method="PATCH", address=address, body=body, parts=(parts,), headers=version)
        )


class Phoning:
    """What a phone collected without a signal, sent at once."""

    def __init__(self, client: Client) -> None:
        self.client = client

    def turn(self) -> None:
        yard = new_yard(self.client)
        entries = [self._entry(yard, number) for number in range(_ENTRIES)]
        parts = tuple(effects.of_entry(one["id"], one["path"].rsplit("/", 1)[1], yard) for one in entries)
        batch = {"entries": entries}
        answer = self.client.write(
            Write(act="batch", method="POST", address="batch", body=batch, parts=parts)
        )
        if answer["accepted"] != _ENTRIES:
            self.client.ledger.note_violation(f"batch: {answer['refused']} entries were refused")

    def _entry(self, yard: str, number: int) -> dict[str, Any]:
        measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
        return {
            "id": str(uuid4()),
            "made_at": now(),
            "method": "PUT",
            "path": f"/api/v1/logs/{uuid4()}",
            "body": {"yard": yard, "number": f"B{number}", **measures},
        }


def tally() -> bytes:
    head = "Item,Tag,Wood,Length,Mid (in),Top (in),BF"
    rows = [f'1,Q{n},white spruce,"20\' 6""",12 1/8,11,61' for n in range(_ON_TRUCK)]
    return "\n".join([head, *rows, ""]).encode()


class Buying:
    """An order from its lines to the logs in the yard; `begin` says where the crew's events are wanted."""

    def __init__(self, client: Client) -> None:
        self.client, self.mill, self.rack = client, str(uuid4()), ""

    def turn(self) -> None:
        client, order, key = self.client, str(uuid4()), str(uuid4())
        if not self.rack:
            self._begin()
        body = {"mill": self.mill, "name": f"Order {order}", "currency": "CAD", "price_by": "board_foot"}
        put(client, "put_order", f"orders/{order}", body, effects.of_row("inventory_order", order, "order"))
        lines = {"lines": [LINES[0] | {"count": 2 * _ON_TRUCK}, LINES[1]]}
        put(client, "put_lines", f"orders/{order}/lines", lines, effects.of_lines(order, 2),
            **{"If-Match": '"1"'})  # fmt: skip
        post(client, "send_order", f"orders/{order}/send", None, effects.of_sending(order, key), key)
        self._receive(order)

    def _begin(self) -> None:
        client, mill = self.client, f"mills/{self.mill}"
        named = {"name": "Quillback mill", "board_rule": "doyle"}
        put(client, "put_mill", mill, named, effects.of_row("inventory_mill", self.mill, "mill"))
        put(client, "put_form", f"{mill}/form", {"document": FORM}, effects.of_form(self.mill))
        rack, yard = str(uuid4()), new_yard(client)
        body = {"yard": yard, "name": "R1"}
        put(client, "put_rack", f"racks/{rack}", body, effects.of_row("inventory_rack", rack, "rack"))
        self.rack = rack

    def _receive(self, order: str) -> None:
        client, delivery, key = self.client, str(uuid4()), str(uuid4())
        address = f"deliveries/{delivery}"
        put(client, "announce", address, {"order": order}, effects.of_announcing(order, delivery))
        put(client, "tally", f"{address}/tally", tally(), effects.of_tally(order, delivery, _ON_TRUCK))
        parts = effects.of_receiving(order, delivery, _ON_TRUCK, key)
        post(client, "receive", f"{address}/receive", {"rack": self.rack}, parts, key)
