"""`make screens`: every page, drawing and printed sheet as PNG; `make picture`: the cabin in README.

On a service of its own with the demo in a throwaway database: a cabin half built, planned and adopted.
Pages at 390 and 1280 px, drawings as they stand on those pages, sheets page by page. It lies in `screens/`,
which git ignores.
"""

import argparse
import os
import re
import secrets
import shutil
import sys
import tempfile
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote
from uuid import uuid4

import django
import pypdfium2
from playwright.sync_api import sync_playwright

from config.commands import manage
from config.run import running_service
from config.show_demo import Api, _await
from tests.bench.service import free_port, throwaway_database
from tests.browser.conftest import FLAGS
from tests.browser.screen import Screen, Size
from tests.live import Person
from tests.machine_tools import CHROMIUMS

ROOT = Path(__file__).resolve().parents[2]
PICTURE = ROOT / "docs" / "pictures" / "cabin.svg"
WIDTHS = {"phone": (Size.PHONE, 390, 844), "desk": (Size.DESK, 1280, 800)}
_SECONDS = 8


class Demo:
    """The demo at work: its lead, and the things that pages are about."""

    def __init__(self, root: str, key: str) -> None:
        self.root, self.key, self.api = root, key, Api(root, key)
        cabins = self.api.ask("GET", "progress")["cabins"]
        self.cabin = max((one for one in cabins if one["places"]), key=lambda one: one["logs_set"])
        job = {
            "id": str(uuid4()), "cabins": [self.cabin["cabin"]], "seconds": _SECONDS, "seed": 7,
            "yards": [yard["id"] for yard in self.api.ask("GET", "yards")["items"]],
        }  # fmt: skip
        self.api.ask("POST", "planning-jobs", job)
        self.plan = _await(self.api, str(job["id"]))
        self.api.ask("POST", f"plans/{self.plan}/adopt")
        self.log = self.api.ask("GET", "logs?with_hazard=true&limit=1")["items"][0]["id"]
        orders = self.api.ask("GET", "orders?limit=1")["items"]
        self.order = orders[0]["id"] if orders else None

    def addresses(self) -> Iterator[tuple[str, str]]:
        """(name, address) of every page of the URLconf."""
        from tests.browser.addresses import page_routes

        ids = {"cabins": self.cabin["cabin"], "plans": self.plan, "logs": self.log, "orders": self.order}
        for route in page_routes():
            one = ids.get(route.split("/")[0])
            if "<uuid:id>" not in route or one:
                name = re.sub(r"\W+", "-", route.replace("<uuid:id>", "one")).strip("-") or "home"
                yield name, "/" + route.replace("<uuid:id>", str(one))

    def drawings(self) -> Iterator[tuple[str, str]]:
        """(name, address) of every drawing of the cabin and of a log."""
        place = f"cabins/{self.cabin['cabin']}"
        layout = self.api.ask("GET", f"{place}/layout")["layout"]
        for wall in [*layout["walls"], *layout["partitions"]]:
            yield f"elevation-{wall['id']}", f"{place}/elevation?wall={wall['id']}"
        for corner in layout["corners"]:
            yield f"corner-{corner['id']}", f"{place}/corner-drawing?corner={corner['id']}"
        for opening in layout["openings"]:
            yield f"opening-{opening['id']}", f"{place}/opening-drawing?opening={opening['id']}"
        yield from ((f"whole-{side}", f"{place}/whole-drawing?side={side}") for side in (1, 2, 3, 4))
        yield from (
            (name, f"{place}/{name}") for name in ("floor-plan", "levels-drawing", "settling-drawing")
        )
        yield "log", f"logs/{self.log}/drawing"

    def sheets(self) -> Iterator[tuple[str, str]]:
        """(name, address) of every printed sheet, on both papers."""
        place = f"cabins/{self.cabin['cabin']}"
        yard = self.api.ask("GET", "yards?limit=1")["items"][0]["id"]
        for paper in ("a4", "letter"):
            for name, address in {
                "setting": f"{place}/sheets/setting?round={self.cabin['rounds_complete'] + 1}&",
                "cut-list": f"{place}/sheets/cut-list?",
                "storey-pole": f"{place}/sheets/storey-pole?",
                "record": f"{place}/sheets/record?",
                "labels": f"yards/{yard}/sheets/labels?",
                "chart": f"yards/{yard}/sheets/chart?",
            }.items():
                yield f"{name}-{paper}", f"{address}paper={paper}"

    def fetch(self, address: str) -> bytes:
        headers = {"Authorization": f"Bearer {self.key}"}
        with urllib.request.urlopen(
            urllib.request.Request(f"{self.root}/api/v1/{quote(address, safe='/?=&')}", headers=headers),
            timeout=120,
        ) as answer:
            return bytes(answer.read())


def say(words: str) -> None:
    print(words, flush=True)  # noqa: T201 - this is what the command is for


def main() -> int:
    reader = argparse.ArgumentParser(description="Pictures of what the service shows.")
    reader.add_argument("--picture", action="store_true", help="only README's picture of the cabin")
    reader.add_argument("--to", type=Path, default=ROOT / "screens", metavar="FOLDER")
    asked = reader.parse_args()
    with throwaway_database(), tempfile.TemporaryDirectory() as private:
        env = dict(os.environ) | {
            "ROUNDLAY_SECRET_KEY": secrets.token_urlsafe(32),
            "ROUNDLAY_PRIVATE_DIR": private,
        }
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        key = Path(private) / "key"
        manage("load_demo", "--key-file", str(key), env=env, quiet=True)
        port = free_port()
        with running_service(port, env):
            os.environ.update(env | {"DJANGO_SETTINGS_MODULE": "config.settings"})
            django.setup()
            demo = Demo(f"http://127.0.0.1:{port}", key.read_text().strip())
            if asked.picture:
                PICTURE.parent.mkdir(exist_ok=True)
                PICTURE.write_bytes(demo.fetch(f"cabins/{demo.cabin['cabin']}/whole-drawing?side=1"))
                say(f"{PICTURE.relative_to(ROOT)}: {demo.cabin['cabin_name']}")
                return 0
            return take_all(demo, asked.to)


def take_all(demo: Demo, to: Path) -> int:
    """Every picture; 1 if one could not be had."""
    lost = [*_shots(demo, to), *_prints(demo, to)]
    say(f"{len([*to.rglob('*.png')])} pictures in {to}")
    for one in lost:
        say(f"not taken: {one}")
    return 1 if lost else 0


def _shots(demo: Demo, to: Path) -> Iterator[str]:
    chromium = os.environ.get("CHROMIUM") or next(filter(None, map(_which, CHROMIUMS)))
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        for size, (look, width, height) in WIDTHS.items():
            person = Person(root=demo.root, key=demo.key)
            one = Screen(browser, demo.root, look, person, viewport={"width": width, "height": height})
            folder = to / size
            folder.mkdir(parents=True, exist_ok=True)
            for name, address in demo.addresses():
                one.go(address)
                one.page.screenshot(path=folder / f"page-{name}.png", full_page=True)
            for name, address in demo.drawings():
                try:
                    svg = demo.fetch(address).decode()
                except OSError as error:
                    yield f"{name}: {error}"
                    continue
                one.page.set_content(f"<body style='margin:8px'>{_as_wide(svg)}</body>")
                one.page.screenshot(path=folder / f"drawing-{name}.png", full_page=True)
            one.close()
        browser.close()


def _as_wide(svg: str) -> str:
    """The drawing as a page shows it: as wide as its column."""
    return re.sub(
        r'(<svg[^>]*?) width="[^"]*" height="[^"]*"', r'\1 width="100%"', svg[svg.index("<svg") :], count=1
    )


def _which(name: str) -> str | None:
    return shutil.which(name)


def _prints(demo: Demo, to: Path) -> Iterator[str]:
    folder = to / "paper"
    folder.mkdir(parents=True, exist_ok=True)
    for name, address in demo.sheets():
        try:
            pdf: Any = pypdfium2.PdfDocument(demo.fetch(address))
        except OSError as error:
            yield f"{name}: {error}"
            continue
        for number, page in enumerate(pdf, 1):
            page.render(scale=1.5).to_pil().save(folder / f"{name}-{number}.png")


if __name__ == "__main__":
    sys.exit(main())
