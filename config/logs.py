"""Log lines: JSON for machines or plain for people, each with the request's id and without secrets."""

import json
import logging
import re
from datetime import UTC, datetime
from typing import Any

from crews.api.request_ids import at_work_on, current_request_id

# Access keys, webhook secrets, bearer headers, and passwords inside database addresses.
_SECRETS = re.compile(
    r"(?P<word>\b(?i:log_|mill_|once_|whsec_))[A-Za-z0-9_\-+/=]{8,}"
    r"|(?P<bearer>(?i:bearer)\s+)[^\s'\",}]+"
    r"|(?P<url>://[^/\s:@]*:)[^@\s]+(?=@)"
)
LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR", "CRITICAL")
_EXTRA = ("method", "path", "operation", "status", "duration_ms", "member")


def without_secrets(text: str) -> str:
    """The text with every secret it holds struck out."""
    return _SECRETS.sub(lambda m: f"{m['word'] or m['bearer'] or m['url']}***", text)


class PlainLines(logging.Formatter):
    """Lines for a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        return without_secrets(super().format(record))


class JsonLines(logging.Formatter):
    """One JSON object a line."""

    def format(self, record: logging.LogRecord) -> str:
        told: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            "request_id": current_request_id(),
            **at_work_on(),
        }
        told |= {name: getattr(record, name) for name in _EXTRA if hasattr(record, name)}
        if record.exc_info:
            told["exception"] = self.formatException(record.exc_info)
        return without_secrets(json.dumps(told, default=str, ensure_ascii=False))


def logging_settings(*, form: str, level: str) -> dict[str, Any]:
    """Django's LOGGING. `form` is json (with a line for each request) or line (only requests that failed)."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "json": {"()": JsonLines},
            "line": {"()": PlainLines, "format": "%(asctime)s %(levelname)s %(name)s %(message)s"},
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": form}},
        "loggers": {
            # It tells of every task that begins and ends: thousands a day from a worker with nothing to do.
            "procrastinate": {"level": "WARNING"},
            "ezdxf": {"level": "WARNING"},  # a dozen lines for every drawing
            "waitress.queue": {"level": "ERROR"},  # each time a request waits for a thread: see the metrics
            # Whoever asks by a name that is none of ours; our own line tells of it.
            "django.security.DisallowedHost": {"level": "CRITICAL"},
            "roundlay.requests": {"level": level if form == "json" else "WARNING"},
            "django.request": {"level": "ERROR"},  # our own line tells of refusals
        },
        "root": {"handlers": ["stderr"], "level": level},
    }
