"""Whoever only looks: every list of the crew, a few pages of each, and the pages that need no key."""

from urllib.parse import quote

from tests.soak.calling import Client

_LISTS = [
    "members", "species", "yards", "racks", "logs?limit=200", "logs?order=-middle&free=true",
    "logs?with_hazard=true", "cabins?laid_out=true", "set-logs", "heights", "planning-jobs", "plans",
    "reservations?open=true", "mills", "orders", "deliveries", "events", "history?limit=50",
]  # fmt: skip
_PAGES = 3


class Reading:
    """One turn: all lists."""

    def __init__(self, client: Client) -> None:
        self.client = client

    def turn(self) -> None:
        ask = self.client.ask
        ask("show_me", "GET", "me")
        ask("show_crew", "GET", "crew")
        ask("show_crew_progress", "GET", "progress")
        for address in _LISTS:
            self._read(address)
        ask("list_planning_presets", "GET", "planning-presets")
        ask("print_blank_chart", "GET", "sheets/blank-chart")
        ask("health", "GET", "/health/ready")
        ask("home page", "GET", "/")

    def _read(self, address: str) -> None:
        operation, mark = "list " + address.split("?")[0], "&" if "?" in address else "?"
        after = ""
        for _ in range(_PAGES):
            page = self.client.ask(operation, "GET", address + after)
            # The feed of events has a place to go on from at its end, too, and says whether there is more.
            next_page = page["next"] if "next" in page else page["cursor"] if page["more"] else None
            if next_page is None:
                return
            after = f"{mark}after={quote(next_page)}"
