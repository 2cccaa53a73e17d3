"""What two web processes carry, how large one is, and how fast a command starts."""

import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from statistics import median

from config.home import PROJECT
from tests.bench.world import Result, World
from tests.bench.yards import a_yard

_CLIENTS, _SECONDS = 8, 2.0


def _per_second(world: World, requests: Sequence[tuple[str, str, object]]) -> float:
    """Requests a second of clients that each ask one after the other."""
    until = time.perf_counter() + _SECONDS
    done = [0] * _CLIENTS

    def ask(number: int) -> None:
        caller = world.caller()
        while time.perf_counter() < until:
            method, address, body = requests[(number + done[number]) % len(requests)]
            caller.ask(method, address, body)
            done[number] += 1

    began = time.perf_counter()
    clients = [threading.Thread(target=ask, args=[number]) for number in range(_CLIENTS)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    return sum(done) / (time.perf_counter() - began)


def mixed_load(world: World) -> Result:
    """At the rack: look for logs, look at one, note something about it."""
    yard = a_yard(world.service.sql, world.crew, logs=500)
    caller = world.caller()
    logs = caller.json("GET", f"logs?yard={yard}&limit=8")["items"]
    field: list[tuple[str, str, object]] = [("GET", f"logs?yard={yard}&limit=20", None)]
    field += [("GET", f"logs/{log['id']}", None) for log in logs]
    field += [("GET", f"logs/{log['id']}/pieces", None) for log in logs[:3]]
    field += [("POST", f"logs/{log['id']}/put-aside", {"reason": "check the tip"}) for log in logs[:2]]
    plain: list[tuple[str, str, object]] = [("GET", "/health/ready", None)]
    _per_second(world, field)
    rates = [(_per_second(world, field), _per_second(world, plain)) for _ in range(max(world.runs // 3, 2))]
    ours, other = median(rate for rate, _ in rates), median(rate for _, rate in rates)
    detail = f"{ours:.0f} requests/s against {other:.0f}/s of a view with one SELECT"
    return Result(what="mixed field load", figure=ours / other, bar=0.35, at_least=True, detail=detail)


def web_memory(world: World) -> Result:
    world.caller().ask("GET", "logs")
    detail = "largest of the two, at the time of this row"
    return Result(what="web process memory", figure=world.service.web_mb(), bar=150, unit="MB", detail=detail)


def start_up(world: World) -> Result:
    def check() -> float:
        began = time.perf_counter()
        subprocess.run([sys.executable, "manage.py", "check"], cwd=PROJECT, check=True, capture_output=True)
        return time.perf_counter() - began

    seconds = median(check() for _ in range(max(world.runs, 3)))
    return Result(what="manage.py check", figure=seconds, bar=1.5, unit="s", detail="a process of its own")
