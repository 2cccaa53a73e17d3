"""Whoever buys: an order from its lines to its account, the mill's side of it, and the crew's webhook."""

from uuid import uuid4

from tests.soak.calling import Client
from tests.soak.charting import a_yard
from tests.soak.papers import FORM, LINES, TRUCKS

# Everything the other clients of the crew make happen.
_KINDS = [
    "order_sent", "order_confirmed", "delivery_announced", "delivered", "round_complete", "plan_ready",
    "plan_stale", "log_culled",
]  # fmt: skip


class Buying:
    """One turn: one order. The first turn also tells the service where the crew's events are wanted."""

    def __init__(self, client: Client, *, receiver: str) -> None:
        self.client, self.receiver = client, receiver
        self.mill, self.rack, self.begun = str(uuid4()), str(uuid4()), False

    def turn(self) -> None:
        if not self.begun:
            self._begin()
        ask, order = self.client.ask, f"orders/{uuid4()}"
        body = {"mill": self.mill, "name": f"Order {order[-8:]}", "currency": "CAD", "price_by": "board_foot"}
        ask("put_order", "PUT", order, body)
        ask("put_order_lines", "PUT", f"{order}/lines", {"lines": LINES}, **{"If-Match": '"1"'})
        ask("show_order_figures", "GET", f"{order}/figures?payload_kg=12000")
        ask("send_order", "POST", f"{order}/send", **{"Idempotency-Key": str(uuid4())})
        for form in ("csv", "xlsx", "pdf"):
            ask(f"download_order {form}", "GET", f"{order}/form.{form}")
        self._mill_confirms(order)
        for truck in TRUCKS:
            self._receive(order, truck)
        ask("show_reconciliation", "GET", f"{order}/reconciliation")
        ask("list_order_history", "GET", f"{order}/history")
        ask("list_webhook_deliveries", "GET", "webhook-deliveries?limit=20")

    def _begin(self) -> None:
        ask, mill = self.client.ask, f"mills/{self.mill}"
        self.begun = True
        hook = {"url": self.receiver, "kinds": _KINDS}
        ask("put_webhook", "PUT", f"webhooks/{uuid4()}", hook)
        ask("put_mill", "PUT", mill, {"name": "Quillback mill", "board_rule": "doyle"})
        ask("put_form", "PUT", f"{mill}/form", {"document": FORM})
        yard = a_yard(self.client, "Landing")
        ask("put_rack", "PUT", f"racks/{self.rack}", {"yard": yard, "name": "R1"})

    def _mill_confirms(self, order: str) -> None:
        wanted = {"name": "mill office", "expires_at": "2031-01-01T00:00:00Z"}
        made = self.client.ask("make_mill_key", "PUT", f"{order}/mill-keys/{uuid4()}", wanted)
        mill = self.client.with_key(made["secret"])
        try:
            mill.ask("show_mill_order", "GET", "mill/order")
            proposal = f"mill/proposals/{uuid4()}"
            change = {"line": 1, "count": 3, "reason": "No more of them."}
            proposed = mill.ask("propose_change", "PUT", proposal, change)
            self.client.ask("accept_proposal", "POST", f"proposals/{proposed['id']}/accept")
            mill.ask("confirm_lines", "POST", "mill/order/confirm", {"lines": [1, 2]})
        finally:
            mill.close()

    def _receive(self, order: str, tally: str) -> None:
        ask, delivery = self.client.ask, f"deliveries/{uuid4()}"
        ask("put_delivery", "PUT", delivery, {"order": order.split("/")[1]})
        ask("put_tally", "PUT", f"{delivery}/tally", tally.encode())
        ask("receive_delivery", "POST", f"{delivery}/receive", {"rack": self.rack})
        ask("list_delivered_logs", "GET", f"{delivery}/logs")
