"""What every request passes: its id, limits, safe headers; and what an operator sees of the service."""

import json
import logging
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.utils.timezone import now

from config.logs import JsonLines, PlainLines, without_secrets
from crews.accounts.limits import forget_old_counts
from crews.accounts.models import RequestCount
from crews.api.request_ids import at_work
from tests.people import MORNING

PROJECT = Path(__file__).resolve().parent.parent


def test_an_answer_carries_the_requests_id(lead):
    told = lead.get("me", **{"x-request-id": "phone-7.31"})
    odd = lead.get("me", **{"x-request-id": "no good\tid"})
    none = lead.get("me")

    assert told.headers["X-Request-Id"] == "phone-7.31"
    assert len(odd.headers["X-Request-Id"]) == len(none.headers["X-Request-Id"]) == 32


def test_a_log_line_tells_the_request_and_never_the_key(lead, caplog):
    with caplog.at_level(logging.INFO, logger="roundlay.requests"):
        lead.get("logs?nummer=A1", **{"x-request-id": "r-1"})

    line = json.loads(JsonLines().format(caplog.records[-1]))
    assert (line["method"], line["path"], line["operation"]) == ("GET", "/api/v1/logs", "list_logs")
    assert line["status"] == 400
    assert line["duration_ms"] > 0
    assert lead.who.key not in caplog.text


def test_a_line_of_a_job_says_the_job_and_its_crew():
    record = logging.LogRecord("planning", logging.INFO, "x", 1, "it begins", (), None)

    with at_work(job="j-1", crew="c-1"):
        inside = json.loads(JsonLines().format(record))
    outside = json.loads(JsonLines().format(record))

    assert (inside["job"], inside["crew"], inside["message"]) == ("j-1", "c-1", "it begins")
    assert "job" not in outside


def test_secrets_are_struck_out_of_whatever_is_logged(lead):
    try:
        raise RuntimeError(f"bad header Bearer {lead.who.key}")
    except RuntimeError:
        record = logging.LogRecord(
            "x", logging.ERROR, "x", 1, "no %s", ("postgresql://roundlay:pa55@db/x",), sys.exc_info()
        )

    for form in (JsonLines(), PlainLines("%(message)s")):
        text = form.format(record)
        assert lead.who.key not in text
        assert "pa55" not in text
        assert "RuntimeError" in text
    assert without_secrets("whsec_c2VjcmV0c2VjcmV0 and log_round") == "whsec_*** and log_round"


def test_a_body_over_the_limit_is_refused_unread(lead):
    with override_settings(DATA_UPLOAD_MAX_MEMORY_SIZE=1024**2):
        answer = lead.patch("crew", b'{"name": "' + b"x" * 1024**2 + b'"}', version=1)

    assert answer.status_code == 413
    assert answer.body["type"] == "/problems/body-too-large"


def test_a_key_that_asks_too_often_waits_until_the_minute_is_over(lead, stranger, within_one_minute):
    with override_settings(REQUESTS_PER_MINUTE=3):
        RequestCount.objects.all().delete()
        answers = [lead.get("me") for _ in range(4)]
        assert stranger.get("me").status_code == 200

    assert [a.headers["RateLimit-Remaining"] for a in answers[:3]] == ["2", "1", "0"]
    refused = answers[-1]
    assert refused.status_code == 429
    assert refused.body["type"] == "/problems/too-many-requests"
    assert 0 < int(refused.headers["Retry-After"]) <= 60
    assert refused.headers["RateLimit-Limit"] == "3"
    assert refused.headers["X-Request-Id"]


def test_a_limit_of_nothing_is_no_limit_and_old_counts_are_forgotten(lead):
    lead.get("me")
    RequestCount.objects.update(minute=MORNING)
    assert forget_old_counts(at=now()) == 1

    with override_settings(REQUESTS_PER_MINUTE=0):
        answer = lead.get("me")

    assert "RateLimit-Limit" not in answer.headers
    assert not RequestCount.objects.exists()


def test_a_browser_runs_nothing_in_an_answer_and_keeps_no_copy(lead):
    headers = lead.get("me").headers

    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Cache-Control"] == "private, no-cache"


def test_the_interactive_docs_run_nothing_but_what_comes_with_them(db):
    page = Client().get("/api/docs")

    policy = page.headers["Content-Security-Policy"]
    assert "script-src 'self';" in policy
    assert "default-src 'none'" in policy
    assert "<script>" not in page.content.decode()


def test_pages_of_listed_origins_may_use_the_api_and_no_others(lead):
    with override_settings(CORS_ALLOWED_ORIGINS=["https://bench.example"]):
        ours = lead.get("me", origin="https://bench.example")
        other = lead.get("me", origin="https://elsewhere.example")
        asked = Client().options(
            "/api/v1/crew",
            headers={
                "origin": "https://bench.example",
                "access-control-request-method": "PATCH",
                "access-control-request-headers": "authorization, if-match, idempotency-key",
            },
        )

    assert ours.headers["Access-Control-Allow-Origin"] == "https://bench.example"
    assert "ETag" in ours.headers["Access-Control-Expose-Headers"]
    assert "Access-Control-Allow-Origin" not in other.headers
    assert {"if-match", "idempotency-key"} <= set(asked.headers["Access-Control-Allow-Headers"].split(", "))


def test_the_service_says_that_it_lives_and_is_ready(db):
    assert Client().get("/health/live").json() == {"state": "live", "version": settings.VERSION}
    assert Client().get("/health/ready").json() == {"state": "ready", "version": settings.VERSION}


@override_settings(ALLOWED_HOSTS=["cabins.example"], SECURE_SSL_REDIRECT=True)
def test_who_watches_over_the_service_may_ask_by_its_address(db):
    asking = Client(HTTP_HOST="10.1.2.3:8000")

    assert [asking.get(path).status_code for path in ("/health/live", "/health/ready", "/metrics")] == [
        200
    ] * 3
    assert Client(HTTP_HOST="10.1.2.3", raise_request_exception=False).get("/api/v1/me").status_code == 400


def test_metrics_count_requests_by_operation_and_tell_of_jobs_and_connections(lead):
    lead.get("me")

    told = Client().get("/metrics").content.decode()

    assert 'roundlay_requests_total{method="GET",operation="show_me",status="200"}' in told
    assert 'roundlay_request_seconds_count{operation="show_me"}' in told
    assert "roundlay_database_up 1.0" in told
    assert 'roundlay_database_connections{state="active"}' in told
    assert f'roundlay_version{{version="{settings.VERSION}"}} 1.0' in told
    assert 'roundlay_queue_age_seconds{queue="planning"}' in told, "also while nothing waits"
    assert 'roundlay_planning_seconds_today{state="done"}' in told
    assert 'roundlay_webhook_deliveries{tried="in vain"} 0.0' in told


def test_a_made_up_method_has_no_counter_of_its_own(db):
    Client().generic("FELL", "/api/v1/me")

    told = Client().get("/metrics").content.decode()

    assert "FELL" not in told
    assert 'method="other"' in told


def test_metrics_are_for_this_machine_or_for_who_has_the_token(db):
    assert Client(REMOTE_ADDR="192.0.2.7").get("/metrics").status_code == 404

    with override_settings(METRICS_TOKEN="scrape"):
        assert Client().get("/metrics").status_code == 404
        assert Client().get("/metrics", headers={"authorization": "Bearer scrape"}).status_code == 200


_GONE = """
import django; django.setup()
from django.test import Client
client = Client(raise_request_exception=False)
ask = [
    client.get("/health/live"),
    client.get("/health/ready"),
    client.get("/api/v1/me", headers={"authorization": "Bearer log_x"}),
    client.post("/api/v1/keys/0f8b7c66-3f2e-4a6d-9d0c-7b1a5e2c4d10/revoke",
                headers={"authorization": "Bearer log_x", "idempotency-key": "a"}),
    client.get("/metrics"),
]
down = b"database_up 0.0" in ask[-1].content
print([(a.status_code, a.headers.get("Retry-After")) for a in ask], down)
"""


@pytest.mark.parametrize("limit", ["0", "100"])
def test_without_its_database_the_service_says_try_again(tmp_path, limit):
    env = os.environ | {
        "DATABASE_URL": f"postgresql://roundlay@/roundlay?host={tmp_path}",
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "ROUNDLAY_DATABASE_WAIT_SECONDS": "0.2",
        "ROUNDLAY_REQUESTS_PER_MINUTE": limit,
        "ROUNDLAY_ALLOWED_HOSTS": "testserver",
    }

    done = subprocess.run(
        [sys.executable, "-c", _GONE], cwd=PROJECT, env=env, capture_output=True, text=True, check=True
    )

    gone = "(503, '5')"
    assert done.stdout.strip() == f"[(200, None), {gone}, {gone}, {gone}, (200, None)] True"


def test_settings_for_a_server_on_the_internet_pass_djangos_own_checks():
    env = os.environ | {
        "ROUNDLAY_HTTPS": "1",
        "ROUNDLAY_ALLOWED_HOSTS": "logs.example",
        "ROUNDLAY_CORS_ORIGINS": "https://bench.example",
    }

    done = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=PROJECT, env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert (done.returncode, "no issues" in done.stdout) == (0, True), done.stderr


def test_every_switch_is_in_the_settings_table():
    source = "".join(path.read_text() for path in sorted((PROJECT / "config").glob("*.py")))
    table = (PROJECT / "docs" / "running" / "settings.md").read_text()
    switches = set(re.findall(r"ROUNDLAY_[A-Z_]+", source)) | {"DATABASE_URL"}

    assert {name for name in switches if f"| `{name}` |" not in table} == set()
