"""What each kind of write leaves behind in the database, as queries that count it."""

from collections.abc import Sequence
from typing import Any

from tests.torture.ledger import Effect


def _effect(what: str, query: str, given: Sequence[Any], count: int) -> Effect:
    return Effect(what=what, query=f"SELECT count(*) FROM {query}", given=tuple(given), count=count)


def of_row(table: str, id: str, kind: str) -> tuple[Effect, ...]:
    """A row that a client named, and the history of its making."""
    return (
        _effect(table, f"{table} WHERE id = %s", [id], 1),
        _effect("history", "crews_change WHERE object = %s AND kind = %s AND before IS NULL", [id, kind], 1),
    )


def of_chart(yard: str, count: int) -> tuple[Effect, ...]:
    """A chart that is the first of its yard."""
    logs = "JOIN inventory_log log ON log.id"
    return (
        _effect("logs", "inventory_log WHERE yard_id = %s", [yard], count),
        _effect("first measurements", f"inventory_measurement m {logs} = m.log_id"
                " WHERE yard_id = %s AND m.measures_version = 1", [yard], count),
        _effect("history", f"crews_change c {logs} = c.object WHERE yard_id = %s AND before IS NULL", [yard],
                count),
    )  # fmt: skip


def of_measuring(log: str, version: int, middle_mm: float) -> tuple[Effect, ...]:
    """A log measured again: the measurement, and the version after the one that was read."""
    return (
        _effect("measurement", "inventory_measurement WHERE log_id = %s AND middle_mm = %s"
                " AND measures_version > 1", [log, middle_mm], 1),
        _effect("history", "crews_change WHERE object = %s AND version = %s AND before IS NOT NULL",
                [log, version + 1], 1),
    )  # fmt: skip


def of_entry(entry: str, log: str, yard: str) -> tuple[Effect, ...]:
    """An entry of a batch that charts a log."""
    return (
        _effect("log", "inventory_log WHERE id = %s AND yard_id = %s", [log, yard], 1),
        _effect("measurement", "inventory_measurement WHERE log_id = %s", [log], 1),
        kept_answer(f"entry {entry}"),
    )


def kept_answer(key: str) -> Effect:
    return _effect("kept answer", "crews_keptanswer WHERE key = %s", [key], 1)


def of_layout(cabin: str, places: int) -> tuple[Effect, ...]:
    return (
        _effect("laid out", "cabins_cabin WHERE id = %s AND layout_version = 1", [cabin], 1),
        _effect("places", "cabins_place WHERE cabin_id = %s", [cabin], places),
    )


def of_job(job: str) -> tuple[Effect, ...]:
    """A planning job; the queue may hold it more than once later, when it was taken up again."""
    queued = "SELECT count(DISTINCT args) FROM procrastinate_jobs WHERE args->>'job_id' = %s"
    return (
        _effect("job", "planning_planningjob WHERE id = %s", [job], 1),
        Effect(what="queued", query=queued, given=(job,), count=1),
    )


def of_adoption(plan: str, key: str, reservations: int) -> tuple[Effect, ...]:
    return (
        _effect("adopted", "planning_plan WHERE id = %s AND state <> 'proposed'", [plan], 1),
        _effect("reservations", "planning_reservation WHERE plan_id = %s", [plan], reservations),
        kept_answer(key),
    )


def of_setting(id: str, log: str, plan: str) -> tuple[Effect, ...]:
    """A log set as planned: the record, the log's state, its reservation kept."""
    return (
        *of_row("cabins_setlog", id, "set_log"),
        _effect("log set", "inventory_log WHERE id = %s AND state IN ('set', 'cut_up')", [log], 1),
        _effect("reservation kept", "planning_reservation WHERE log_id = %s AND plan_id = %s"
                " AND ended_because = 'kept'", [log, plan], 1),
    )  # fmt: skip


def of_heights(ids: Sequence[str], key: str) -> tuple[Effect, ...]:
    heights = "cabins_measuredheight WHERE id = ANY(%s::uuid[])"
    return _effect("heights", heights, [list(ids)], len(ids)), kept_answer(key)


def of_form(mill: str) -> tuple[Effect, ...]:
    return (_effect("form", "inventory_millform WHERE mill_id = %s AND version = 1", [mill], 1),)


def of_lines(order: str, count: int) -> tuple[Effect, ...]:
    return (_effect("lines", "inventory_orderline WHERE order_id = %s", [order], count),)


def _step(order: str, what: str) -> Effect:
    return _effect(what, "inventory_orderevent WHERE order_id = %s AND what = %s", [order, what], 1)


def _told(kind: str, name: str, id: str) -> Effect:
    return _effect(f"event {kind}", f"crews_event WHERE kind = %s AND data->>'{name}' = %s", [kind, id], 1)


def of_sending(order: str, key: str) -> tuple[Effect, ...]:
    return _step(order, "sent"), _told("order_sent", "order", order), kept_answer(key)


def of_announcing(order: str, delivery: str) -> tuple[Effect, ...]:
    return (
        *of_row("inventory_delivery", delivery, "delivery"),
        _step(order, "delivery_announced"),
        _told("delivery_announced", "delivery", delivery),
    )


def of_tally(order: str, delivery: str, logs: int) -> tuple[Effect, ...]:
    return (
        _effect("tallied", "inventory_deliveredlog WHERE delivery_id = %s", [delivery], logs),
        _effect("state", "inventory_delivery WHERE id = %s AND state <> 'announced'", [delivery], 1),
        _step(order, "delivery_tallied"),
    )


def of_receiving(order: str, delivery: str, logs: int, key: str) -> tuple[Effect, ...]:
    return (
        _effect("in the yard", "inventory_deliveredlog d JOIN inventory_log log ON log.id = d.log_id"
                " JOIN inventory_measurement m ON m.log_id = log.id WHERE delivery_id = %s", [delivery],
                logs),
        _effect("received", "inventory_delivery WHERE id = %s AND state = 'received'", [delivery], 1),
        _step(order, "delivery_received"),
        _told("delivered", "delivery", delivery),
        kept_answer(key),
    )  # fmt: skip
