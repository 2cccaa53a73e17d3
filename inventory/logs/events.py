"""What a log is news of: it was charted, measured again, culled, or a hazard was found in it."""

from collections.abc import Mapping
from typing import Any

from crews.events.models import EventKind
from inventory.logs.models import Log

News = tuple[EventKind, dict[str, Any]]


def event_of_measuring(log: Log) -> News:
    """That a log was charted, or measured again."""
    kind = EventKind.LOG_CHARTED if log.measures_version == 1 else EventKind.LOG_MEASURED
    return kind, {"log": str(log.id), "number": log.number, "yard": str(log.yard_id)}


def events_of_change(log: Log, columns: Mapping[str, Any]) -> list[News]:
    """What becomes news when `columns` are written to the log as it was; a log just charted is none."""
    told: list[News] = []
    named = {"log": str(log.id), "number": log.number}
    if columns.get("culled") and not log.culled:
        told.append((EventKind.LOG_CULLED, {**named, "reason": columns.get("cull_reason", "")}))
    found = [hazard for hazard in columns.get("hazards", ()) if hazard not in log.hazards]
    if found:
        told.append((EventKind.LOG_HAZARDOUS, {**named, "hazards": found}))
    return told
