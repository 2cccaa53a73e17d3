"""How many bytes a dashboard reads that polls for an hour."""

import logging
from typing import Any

from django.test import Client
from django.utils.timezone import now

from crews.accounts.models import AccessKey
from planning.demo import demo_id, load_demo
from tests.conftest import Asker
from tests.people import Someone


def _plain(who: Someone, path: str, **headers: str) -> Any:
    return Client().get(path, headers={"authorization": f"Bearer {who.key}", **headers})


def on_the_wire(answer: Any) -> int:
    """The bytes of an answer as HTTP/1.1 sends them."""
    lines = [f"HTTP/1.1 {answer.status_code} {answer.reason_phrase}", *map(": ".join, answer.items()), "", ""]
    return len("\r\n".join(lines).encode()) + len(answer.content)


def test_a_dashboard_that_polls_for_an_hour_reads_a_fiftieth(db):
    """Every 10 s all cabins, a cabin's rounds and 200 logs; every ten minutes a log's remarks are changed."""
    secret = load_demo(at=now())
    key = AccessKey.objects.select_related("member__crew").get(name="demo")
    school = Asker(Someone(crew=key.crew, member=key.member, key=secret))
    hut = demo_id("cabin", "Bunkhouse")
    paths = ["/api/v1/progress", f"/api/v1/cabins/{hut}/rounds", "/api/v1/logs?limit=200"]
    log = school.get("logs?limit=1&free=true").body["items"][0]
    before = after = not_modified = 0
    tags: dict[str, str] = {}
    sizes: dict[str, int] = {}

    for tick in range(360):
        if tick % 60 == 30:
            told = school.patch(f"logs/{log['id']}", {"remarks": f"turned {tick}"}, version=log["version"])
            log = told.body
        for path in paths:
            held = {"if-none-match": tags[path]} if path in tags else {}
            answer = _plain(school.who, path, **{"accept-encoding": "gzip"}, **held)
            tags[path] = answer["ETag"]
            not_modified += answer.status_code == 304
            after += on_the_wire(answer)
            if answer.status_code == 200:
                sizes[path] = on_the_wire(_plain(school.who, path))
            before += sizes[path]

    logging.info("%s requests, %s of them 304: %s bytes before, %s now", 1080, not_modified, before, after)
    assert not_modified == 360 * len(paths) - len(paths) - 6
    assert after < before / 50
