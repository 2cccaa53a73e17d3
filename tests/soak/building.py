"""Whoever builds: a hut laid out, planned, adopted, set round by round, measured, planned again, printed."""

import time
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from tests.soak.calling import Broken, Client
from tests.soak.charting import a_yard, chart_logs
from tests.soak.papers import HUT, HUT_ROUNDS, HUT_WALLS

_LOGS = 16
_ENDED = ("done", "failed", "cancelled")


def now() -> str:
    return datetime.now(UTC).isoformat()


class Building:
    """One turn: a hut of three rounds, from its layout to its record."""

    def __init__(self, client: Client) -> None:
        self.client, self.cabin, self.yard, self.species = client, "", "", ""

    def turn(self) -> None:
        client = self.client
        self.species = self.species or client.ask("list_species", "GET", "species")["items"][0]["id"]
        self.yard = a_yard(client, "Wall")
        chart_logs(client, self.yard, first=1, count=_LOGS, species=self.species)
        self._lay_out()
        plan = self._planned()
        self._consider(plan)
        client.ask("adopt_plan", "POST", f"plans/{plan}/adopt", **{"Idempotency-Key": str(uuid4())})
        self._draw()
        self._build(stop_after=HUT_WALLS)
        again = self._planned()
        client.ask("adopt_plan", "POST", f"plans/{again}/adopt")
        self._build(stop_after=HUT_WALLS * HUT_ROUNDS)
        client.ask("print_cabin_record", "GET", f"{self.cabin}/sheets/record")

    def _lay_out(self) -> None:
        client, self.cabin = self.client, f"cabins/{uuid4()}"
        client.ask("put_cabin", "PUT", self.cabin, {"name": f"Hut {self.cabin[-8:]}"})
        client.ask("check_layout", "POST", f"{self.cabin}/layout/check", HUT)
        client.ask("lay_out_cabin", "PUT", f"{self.cabin}/layout", HUT)
        client.ask("draw_floor_plan", "GET", f"{self.cabin}/floor-plan")

    def _asked(self, seconds: int) -> str:
        job = {
            "id": str(uuid4()), "cabins": [self.cabin.split("/")[1]], "yards": [self.yard],
            "seconds": seconds, "seed": self.client.chance.randrange(1000),
        }  # fmt: skip
        self.client.ask("ask_for_plan", "POST", "planning-jobs", job)
        return f"planning-jobs/{job['id']}"

    def _planned(self) -> str:
        """The plan of a job of one second; a second job is asked for and cancelled."""
        job, dropped = self._asked(1), self._asked(30)
        self.client.ask("cancel_planning", "POST", f"{dropped}/cancel")
        ended = self._ended(job)
        if self._ended(dropped)["state"] != "cancelled" or ended["plan_id"] is None:
            self.client.book.note_error(f"planning job: {ended['state']} {ended['reason']}")
            raise Broken
        return str(ended["plan_id"])

    def _ended(self, job: str) -> dict[str, Any]:
        while True:
            found: dict[str, Any] = self.client.ask("show_planning_job", "GET", job)
            if found["state"] in _ENDED:
                return found
            time.sleep(0.5)

    def _consider(self, plan: str) -> None:
        client, cabin = self.client, self.cabin.split("/")[1]
        client.ask("show_plan", "GET", f"plans/{plan}")
        client.ask("list_plan_pieces", "GET", f"plans/{plan}/pieces?cabin={cabin}")
        client.ask("show_plan_heights", "GET", f"plans/{plan}/heights?cabin={cabin}")
        client.ask("show_plan_setting_sheet", "GET", f"plans/{plan}/setting-sheet?cabin={cabin}&round=1")
        client.ask("explain_placement", "GET", f"plans/{plan}/why?cabin={cabin}&wall=A&round=2")
        turn = {"kind": "turn", "place": {"cabin": cabin, "wall": "B", "round": 1, "piece": 0}}
        client.ask("try_changes", "POST", f"plans/{plan}/what-if", {"changes": [turn]})

    def _draw(self) -> None:
        ask, cabin = self.client.ask, self.cabin
        ask("draw_elevation", "GET", f"{cabin}/elevation?wall=A")
        ask("draw_corner", "GET", f"{cabin}/corner-drawing?corner=1")
        ask("draw_levels", "GET", f"{cabin}/levels-drawing")
        ask("print_setting_sheet", "GET", f"{cabin}/sheets/setting?round=1")
        ask("print_cut_list", "GET", f"{cabin}/sheets/cut-list")
        ask("print_storey_pole", "GET", f"{cabin}/sheets/storey-pole")

    def _build(self, *, stop_after: int) -> None:
        """Set the next log until so many are set; after each round its heights are measured."""
        ask, cabin = self.client.ask, self.cabin
        for _ in range(stop_after):
            row = ask("show_next_log", "GET", f"{cabin}/next-log")["row"]
            if row is None:
                break
            done = self._set(row)
            if done["set"] % HUT_WALLS == 0:
                self._measure(row["round"])
            if done["set"] >= stop_after:
                break

    def _set(self, row: dict[str, Any]) -> dict[str, int]:
        ask, record = self.client.ask, f"set-logs/{uuid4()}"
        body = {name: row[name] for name in ("wall", "round", "piece", "log", "butt_at")}
        body |= {"cabin": self.cabin.split("/")[1], "from_butt_mm": row["cut_near_butt_mm"], "set_at": now()}
        ask("set_log", "PUT", record, body)
        if row["wall"] == "D":
            ask("undo_set_log", "POST", f"{record}/undo", {"reason": "Scribed the wrong side."})
            ask("set_log", "PUT", f"set-logs/{uuid4()}", body | {"set_at": now()})
        progress = ask("show_progress", "GET", f"{self.cabin}/progress")
        return {"set": progress["logs_set"]}

    def _measure(self, round_number: int) -> None:
        ask, cabin = self.client.ask, self.cabin
        at = now()
        heights = [
            {"id": str(uuid4()), "wall": wall, "round": round_number, "end": end,
             "height_mm": 312 * round_number + self.client.chance.randint(-5, 5), "measured_at": at}
            for wall in "ABCD" for end in ("start", "end")
        ]  # fmt: skip
        body = {"heights": heights, "confirm_doubtful": True}
        ask("measure_heights", "POST", f"{cabin}/heights", body)
        ask("list_rounds", "GET", f"{cabin}/rounds")
        ask("list_places", "GET", f"{cabin}/places?open=true")
        ask("show_settling", "GET", f"{cabin}/settling?species={self.species}")
