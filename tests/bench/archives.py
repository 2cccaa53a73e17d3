"""A crew of 100,000 logs as one archive, and read in again: how long, and how much memory it takes."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psutil
import psycopg
from psycopg.conninfo import make_conninfo

from config.home import PROJECT
from tests.bench.world import Result, World
from tests.bench.yards import a_yard

_LOGS, _FEW = 100_000, 1_000


class Peak:
    """The most memory of some processes, looked at a hundred times a second while it runs."""

    def __init__(self, processes: Callable[[], list[psutil.Process]]) -> None:
        self._processes, self._over, self.mb = processes, threading.Event(), 0.0

    @contextmanager
    def watched(self) -> Iterator["Peak"]:
        watcher = threading.Thread(target=self._watch)
        watcher.start()
        try:
            yield self
        finally:
            self._over.set()
            watcher.join()

    def _watch(self) -> None:
        while not self._over.wait(0.01):
            try:
                held = max((one.memory_info().rss for one in self._processes()), default=0)
            except psutil.NoSuchProcess:
                continue
            self.mb = max(self.mb, held / 1e6)


def archive_out(world: World) -> Result:
    """What writing many logs takes beyond what writing few took already."""
    service = world.service
    a_yard(service.sql, world.crew, logs=_FEW)
    for _ in range(8):  # until both web processes have done it
        world.caller().count("crew/archive")
    before = service.web_mb()
    a_yard(service.sql, world.crew, logs=_LOGS)
    began = time.perf_counter()
    with Peak(service.web_processes).watched() as peak:
        size = world.caller().count("crew/archive")
    seconds = time.perf_counter() - began
    detail = (
        f"{size / 1e6:.1f} MB in {seconds:.1f} s; {before:.0f} MB after few logs, {peak.mb:.0f} MB at most"
    )
    what = f"archive of {_LOGS:,} logs, growth of the process"
    return Result(what=what, figure=peak.mb - before, bar=20, unit="MB", detail=detail)


def archive_in(world: World) -> Result:
    """The whole command, into another database on the same PostgreSQL."""
    a_yard(world.service.sql, world.crew, logs=_LOGS)
    here = os.environ["DATABASE_URL"]
    with TemporaryDirectory() as folder, _another_database(here) as there:
        few, many = Path(folder, "few.zip"), Path(folder, "many.zip")
        _command("export", _a_small_crew(world), str(few), database=here)
        _command("export", str(world.crew), str(many), database=here)
        _, peak_of_few = _command("import", str(few), database=there)
        seconds, peak = _command("import", str(many), database=there)
    detail = f"{seconds:.1f} s; the command took {peak_of_few:.0f} MB for few, {peak:.0f} MB for many"
    what = f"archive of {_LOGS:,} logs read in, growth"
    return Result(what=what, figure=peak - peak_of_few, bar=20, unit="MB", detail=detail)


def _a_small_crew(world: World) -> str:
    from tests.people import a_crew

    crew = a_crew("Bench small crew").crew
    a_yard(world.service.sql, crew.id, logs=_FEW)
    return str(crew.id)


@contextmanager
def _another_database(here: str) -> Iterator[str]:
    name = "bench_elsewhere"
    with psycopg.connect(make_conninfo(here, dbname="postgres"), autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' LOCALE 'C.UTF-8' TEMPLATE template0")
        there = make_conninfo(here, dbname=name)
        try:
            migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
            subprocess.run(migrate, cwd=PROJECT, env=os.environ | {"DATABASE_URL": there}, check=True)
            yield there
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def _command(*arguments: str, database: str) -> tuple[float, float]:
    """How long `python -m config.archive` ran, and the most memory it took, in MB."""
    began = time.perf_counter()
    running: Any = subprocess.Popen(
        [sys.executable, "-m", "config.archive", *arguments], cwd=PROJECT,
        env=os.environ | {"DATABASE_URL": database}, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    with Peak(lambda: [psutil.Process(running.pid)]).watched() as peak:
        status = running.wait()
    if status:
        raise RuntimeError(f"config.archive {arguments[0]} ended with {status}")
    return time.perf_counter() - began, peak.mb
