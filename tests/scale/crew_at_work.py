"""A crew at work, all of it through the API: logs charted, cabins planned, and built round by round."""

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.utils.timezone import now

from tests.conftest import Asker
from tests.people import a_crew
from tests.planning.planning_yard import planned
from tests.rectangle import RECTANGLE
from tests.soak.papers import chart

CABINS, ROUNDS, LOGS_IN_YARD = 4, 25, 250
_ROUND_MM = 312


class CrewAtWork:
    """A yard for each of its cabins; what it does is done once, in this order."""

    def __init__(self) -> None:
        self.lead = Asker(a_crew("Long Hollow crew"))
        self.yards = [str(uuid4()) for _ in range(CABINS)]
        self.cabins = [str(uuid4()) for _ in range(CABINS)]
        self.plans: list[str] = []

    def chart(self) -> int:
        """Charts every yard; how many logs."""
        for number, yard in enumerate(self.yards):
            self._done(self.lead.put(f"yards/{yard}", {"name": f"Yard {number}"}))
            address = f"yards/{yard}/chart?unit=mm&new_racks=true"
            self._done(self.lead.post(address, chart(1, LOGS_IN_YARD), media="text/csv"))
        return CABINS * LOGS_IN_YARD

    def plan(self) -> int:
        """Lays every cabin out, has it planned from its yard and adopts the plan; how many plans."""
        layout = {**RECTANGLE, "rounds": ROUNDS, "wall_height_mm": ROUNDS * _ROUND_MM}
        for number, (cabin, yard) in enumerate(zip(self.cabins, self.yards, strict=True)):
            self._done(self.lead.put(f"cabins/{cabin}", {"name": f"Cabin {number}"}))
            self._done(self.lead.put(f"cabins/{cabin}/layout", layout))
            self.plans.append(planned(self.lead, [cabin], [UUID(yard)])["plan_id"])
            self._done(self.lead.post(f"plans/{self.plans[-1]}/adopt"))
        return len(self.plans)

    def build(self) -> int:
        """Sets every log of the plans and measures both ends of each, round by round; how many rounds."""
        for cabin, plan in zip(self.cabins, self.plans, strict=True):
            pieces = self.lead.get(f"plans/{plan}/pieces?limit=500").body["items"]
            for number in range(1, ROUNDS + 1):
                at = (now() - timedelta(days=ROUNDS - number)).isoformat()
                for piece in (one for one in pieces if one["round"] == number):
                    self._set(piece, at)
                self._measure(cabin, number, at)
        return CABINS * ROUNDS

    def _set(self, piece: dict[str, Any], at: str) -> None:
        names = ("cabin", "wall", "round", "piece", "log", "from_butt_mm", "butt_at")
        self._done(
            self.lead.put(f"set-logs/{uuid4()}", {name: piece[name] for name in names} | {"set_at": at})
        )

    def _measure(self, cabin: str, number: int, at: str) -> None:
        heights = [
            {"id": str(uuid4()), "wall": wall["id"], "round": number, "end": end,
             "height_mm": _ROUND_MM * number, "measured_at": at}
            for wall in RECTANGLE["walls"] for end in ("start", "end")
        ]  # fmt: skip
        self._done(self.lead.post(f"cabins/{cabin}/heights", {"heights": heights, "confirm_doubtful": True}))

    def _done(self, answer: Any) -> None:
        assert answer.status_code in (200, 201), answer.body
