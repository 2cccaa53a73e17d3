"""A client that builds: a hut laid out, planned, adopted, set log by log, measured, planned again."""

import time
from typing import Any
from uuid import uuid4

from tests.soak.papers import HUT, HUT_ROUNDS, HUT_WALLS
from tests.torture import effects
from tests.torture.calling import Client
from tests.torture.work import import_chart, new_yard, now, post, put

_LOGS = 16
_LOOK_S, _LOOKS = 0.2, 300  # a lost worker is missed after half a minute; a busy machine takes its time
_TO_COME = """
    SELECT count(DISTINCT piece.log_id) FROM planning_plannedpiece piece WHERE plan_id = %s
        AND NOT EXISTS (SELECT FROM cabins_setlog s WHERE undone_at IS NULL
            AND (s.cabin_id, s.wall, s.round, s.piece)
                = (piece.cabin_id, piece.wall, piece.round, piece.piece))
"""


class Building:
    """One turn: a hut of three rounds."""

    def __init__(self, client: Client) -> None:
        self.client, self.cabin, self.yard, self.plan = client, "", "", ""

    def turn(self) -> None:
        self.yard, self.cabin = new_yard(self.client), str(uuid4())
        import_chart(self.client, self.yard, _LOGS)
        cabin, named = f"cabins/{self.cabin}", {"name": f"Hut {self.cabin}"}
        put(self.client, "put_cabin", cabin, named, effects.of_row("cabins_cabin", self.cabin, "cabin"))
        parts = effects.of_layout(self.cabin, HUT_WALLS * HUT_ROUNDS)
        put(self.client, "lay_out", f"{cabin}/layout", HUT, parts)
        for number in range(1, HUT_ROUNDS + 1):
            self._adopt(self._planned())
            for _ in range(HUT_WALLS):
                self._set_next()
            self._measure(number)

    def _planned(self) -> str:
        """A plan. A job that takes long, because its worker was killed, is left to itself and asked anew."""
        while True:
            job, chance = str(uuid4()), self.client.chance
            body = {"id": job, "cabins": [self.cabin], "yards": [self.yard], "seconds": 1,
                    "seed": chance.randrange(1000)}  # fmt: skip
            post(self.client, "ask_plan", "planning-jobs", body, effects.of_job(job), job)
            for _ in range(_LOOKS):
                found = self.client.read(f"planning-jobs/{job}")
                if found["state"] == "running":
                    self.client.ledger.begins("solve")
                if found["plan_id"]:
                    return str(found["plan_id"])
                time.sleep(_LOOK_S)

    def _adopt(self, plan: str) -> None:
        with self.client.service.sql() as sql:
            row = sql.execute(_TO_COME, [plan]).fetchone()
        assert row
        key, self.plan = str(uuid4()), plan
        post(self.client, "adopt", f"plans/{plan}/adopt", None, effects.of_adoption(plan, key, row[0]), key)

    def _set_next(self) -> None:
        row: dict[str, Any] = self.client.read(f"cabins/{self.cabin}/next-log")["row"]
        body = {name: row[name] for name in ("wall", "round", "piece", "log", "butt_at")}
        body |= {"cabin": self.cabin, "from_butt_mm": row["cut_near_butt_mm"], "set_at": now()}
        id = str(uuid4())
        put(self.client, "set_log", f"set-logs/{id}", body, effects.of_setting(id, row["log"], self.plan))

    def _measure(self, number: int) -> None:
        at, key = now(), str(uuid4())
        heights = [
            {"id": str(uuid4()), "wall": wall, "round": number, "end": end,
             "height_mm": 312 * number + self.client.chance.randint(-5, 5), "measured_at": at}
            for wall in "ABCD" for end in ("start", "end")
        ]  # fmt: skip
        parts = effects.of_heights([one["id"] for one in heights], key)
        body = {"heights": heights, "confirm_doubtful": True}
        post(self.client, "heights", f"cabins/{self.cabin}/heights", body, parts, key)
