"""Whoever charts logs: charts in and out, logs measured again, put aside and written off, batches, labels."""

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from tests.soak.calling import Client
from tests.soak.papers import chart

# Then a new yard is begun, so that the length of a soak does not make its lists longer.
_LOGS_IN_YARD = 120
_IN_CHART, _IN_BATCH = 20, 10


def a_yard(client: Client, name: str) -> str:
    """A new yard; its id."""
    yard = str(uuid4())
    client.ask("put_yard", "PUT", f"yards/{yard}", {"name": f"{name} {yard[:8]}"})
    return yard


def chart_logs(client: Client, yard: str, *, first: int, count: int, species: str) -> None:
    address = f"yards/{yard}/chart?unit=mm&new_racks=true&species={species}"
    client.ask("import_chart", "POST", address, chart(first, count))


class Charting:
    """One turn: twenty logs by a chart, ten by a batch, and what is done with a few of them."""

    def __init__(self, client: Client) -> None:
        self.client, self.yard, self.charted = client, "", 0

    def turn(self) -> None:
        client = self.client
        if not self.yard or self.charted >= _LOGS_IN_YARD:
            self.yard, self.charted = a_yard(client, "Rack"), 0
        address = f"yards/{self.yard}/chart?unit=mm&new_racks=true"
        first = self.charted + 1
        client.ask("check_chart", "POST", f"{address}&check_only=true", chart(first, _IN_CHART))
        client.ask("import_chart", "POST", address, chart(first, _IN_CHART))
        self.charted += _IN_CHART
        self._batch()
        logs = client.ask("list_logs", "GET", f"logs?yard={self.yard}&state=in_rack&order=-middle&limit=50")[
            "items"
        ]
        self._handle(client.chance.sample(logs, 3))
        self._look()

    def _batch(self) -> None:
        made_at = datetime.now(UTC).isoformat()
        entries = [self._entry(self.charted + 1 + n, made_at) for n in range(_IN_BATCH)]
        self.charted += _IN_BATCH
        for _ in range(2):  # a phone that heard no answer sends it again
            answer = self.client.ask("send_batch", "POST", "batch", {"entries": entries})
            if answer["accepted"] != _IN_BATCH:
                self.client.book.note_error(f"send_batch: {answer['refused']} entries were refused")

    def _entry(self, number: int, made_at: str) -> dict[str, Any]:
        measures = {"length_mm": 6000, "butt_mm": 340, "middle_mm": 315, "tip_mm": 290}
        return {
            "id": str(uuid4()),
            "made_at": made_at,
            "method": "PUT",
            "path": f"/api/v1/logs/{uuid4()}",
            "body": {"yard": self.yard, "number": f"B{number}", **measures},
        }

    def _handle(self, logs: list[dict[str, Any]]) -> None:
        client = self.client
        for log in logs:
            address, version = f"logs/{log['id']}", f'"{log["version"]}"'
            middle_mm = round(log["middle_mm"]) + client.chance.choice((-1, 1))
            again = {"middle_mm": middle_mm, "charted_by": "Brone"}
            client.ask("change_log", "PATCH", address, again, **{"If-Match": version})
            client.ask("change_log (stale)", "PATCH", address, {"crown_mm": 5}, foreseen=["version-stale"],
                       **{"If-Match": version})  # fmt: skip
            client.ask("list_measurements", "GET", f"{address}/measurements")
        gone, aside, seen = (f"logs/{log['id']}" for log in logs)
        client.ask("write_off_log", "POST", f"{gone}/write-off", {"reason": "rot at the butt"})
        key = {"Idempotency-Key": str(uuid4())}
        for _ in range(2):
            client.ask("put_log_aside", "POST", f"{aside}/put-aside", {"reason": "split tip"}, **key)
        client.ask("return_log_to_rack", "POST", f"{aside}/return-to-rack", {})
        client.ask("show_log_figures", "GET", f"{seen}/figures")
        client.ask("draw_log", "GET", f"{seen}/drawing")
        client.ask("show_history", "GET", f"history/log/{seen.split('/')[1]}")

    def _look(self) -> None:
        yard = f"yards/{self.yard}"
        self.client.ask("summarise_yard", "GET", f"{yard}/summary")
        self.client.ask("export_chart", "GET", f"{yard}/chart")
        self.client.ask("draw_yard", "GET", f"{yard}/drawing")
        self.client.ask("print_yard_chart", "GET", f"{yard}/sheets/chart")
        self.client.ask("print_labels", "GET", f"{yard}/sheets/labels")
