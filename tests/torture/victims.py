"""Who is killed, in the middle of what, and how each is started again."""

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from random import Random

import psutil
import psycopg

from tests.torture.service import Service, kill

_LOOK_S = 0.02
_LOOKS = 250
_BUSY = """
    SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()
        AND backend_type = 'client backend' ORDER BY state = 'active' DESC, state LIKE 'idle in%' DESC, pid
"""


def kill_web(service: Service) -> None:
    web = service.process("web")
    kill([web, *web.children(recursive=True)])


def kill_web_worker(service: Service) -> None:
    """One of those that answer requests; its master starts another."""
    kill(service.process("web").children()[:1])


def kill_planner(service: Service) -> None:
    kill([service.process("planner")])


def kill_default_worker(service: Service) -> None:
    kill([service.process("default")])


def kill_solver(service: Service) -> None:
    """The search of one planning job; if none runs, none is killed."""
    for _ in range(_LOOKS):
        children = service.process("planner").children()
        if children:
            kill(children[:1])
            return
        time.sleep(_LOOK_S)


def kill_postgres(service: Service) -> None:
    """The postmaster and everything that it started, at once."""
    master = service.postmaster()
    kill([master, *master.children(recursive=True)])
    service.start_database()


def kill_postmaster(service: Service) -> None:
    """The postmaster alone: what it started finds itself without it, and ends."""
    master = service.postmaster()
    started = master.children(recursive=True)
    kill([master])
    psutil.wait_procs(started, timeout=60)
    service.start_database()


def kill_backend(service: Service) -> None:
    """One backend, a busy one if there is one: the postmaster ends the others and recovers."""
    with suppress(psycopg.OperationalError):
        with service.sql() as sql:
            found = sql.execute(_BUSY).fetchone()
        if found:
            kill([psutil.Process(found[0])])
            time.sleep(_LOOK_S)  # the postmaster has to notice before its answer says anything
    service.await_database()


@dataclass(frozen=True, slots=True, kw_only=True)
class Victim:
    """`process`: the process of the service that is then started again from outside."""

    name: str
    kill: Callable[[Service], None]
    process: str = ""
    acts: tuple[str, ...] = ()


# What a request can be in the middle of.
ASKED = ("import", "adopt", "set_log", "heights", "batch", "send_order", "tally", "receive", "ask_plan")
NOTHING = "nothing known"
VICTIMS = (
    Victim(name="web", kill=kill_web, process="web", acts=ASKED),
    Victim(name="one web worker", kill=kill_web_worker, acts=ASKED),
    Victim(name="planner", kill=kill_planner, process="planner", acts=("solve",)),
    Victim(name="default", kill=kill_default_worker, process="default", acts=("deliver",)),
    Victim(name="solver child", kill=kill_solver, acts=("solve",)),
    Victim(name="PostgreSQL, whole", kill=kill_postgres, acts=(*ASKED, "solve", "deliver")),
    Victim(name="postmaster", kill=kill_postmaster, acts=(*ASKED, "solve", "deliver")),
    Victim(name="one backend", kill=kill_backend, acts=(*ASKED, "solve", "deliver")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One kill: who, in the middle of what, how long after it began."""

    victim: Victim
    act: str
    delay_s: float


def rounds_of(seed: int, count: int) -> list[Round]:
    """The same seed gives the same kills; every victim comes about equally often, in no order."""
    chance, found = Random(seed), []
    while len(found) < count:
        for victim in chance.sample(VICTIMS, len(VICTIMS)):
            act = chance.choice(victim.acts)
            # A search lasts a second; a request is over within tenths of one.
            longest_s = 0.9 if act == "solve" else chance.choice((0.02, 0.06, 0.2))
            found.append(Round(victim=victim, act=act, delay_s=chance.uniform(0, longest_s)))
    return found[:count]
