"""What must hold at every moment, whoever was killed: queries that find rows that should not be."""

from typing import Any

import psycopg

_SET = "SELECT FROM cabins_setlog s WHERE s.log_id = log.id AND s.undone_at IS NULL"
_OPEN = "SELECT FROM planning_reservation p WHERE p.log_id = log.id AND p.ended_at IS NULL"
_UNFILLED = """
    SELECT FROM cabins_place spot WHERE spot.cabin_id = {cabin} AND spot.round = {round} AND NOT EXISTS (
        SELECT FROM cabins_setlog s WHERE s.place_id = spot.id AND s.undone_at IS NULL)
"""
_COMPLETE = "event.kind = 'round_complete' AND event.data->>'cabin' = {cabin}::text"

# Each counts what breaks it.
ALWAYS = {
    "a reservation without its plan current": """
        planning_reservation p WHERE p.ended_at IS NULL AND NOT EXISTS (
            SELECT FROM planning_currentplan c JOIN planning_plan plan ON plan.id = c.plan_id
            WHERE c.plan_id = p.plan_id AND c.cabin_id = p.cabin_id AND plan.state = 'adopted')""",
    "a log reserved twice": """
        (SELECT FROM planning_reservation WHERE ended_at IS NULL GROUP BY log_id
            HAVING count(*) > 1) AS twice""",
    "a place filled twice": """
        (SELECT FROM cabins_setlog WHERE undone_at IS NULL GROUP BY place_id HAVING count(*) > 1) AS twice""",
    "one stretch of a log set twice": """
        cabins_setlog a JOIN cabins_place at_a ON at_a.id = a.place_id
        JOIN cabins_setlog b ON b.log_id = a.log_id AND b.id > a.id
        JOIN cabins_place at_b ON at_b.id = b.place_id
        WHERE a.undone_at IS NULL AND b.undone_at IS NULL
            AND a.from_butt_mm < b.from_butt_mm + (at_b.end_mm - at_b.start_mm)
            AND b.from_butt_mm < a.from_butt_mm + (at_a.end_mm - at_a.start_mm)""",
    "a log reserved that is not": f"""
        inventory_log log WHERE (state = 'reserved') <> (EXISTS ({_OPEN}) AND NOT EXISTS ({_SET}))""",
    "a log set that is not": f"inventory_log log WHERE (state IN ('set', 'cut_up')) <> EXISTS ({_SET})",
    "a log in the rack that is reserved": f"inventory_log log WHERE state = 'in_rack' AND EXISTS ({_OPEN})",
    "a round said complete that is not": f"""
        crews_event event WHERE kind = 'round_complete' AND EXISTS ({
        _UNFILLED.format(cabin="(event.data->>'cabin')::uuid", round="(event.data->>'round')::int")
    })""",
    "a round complete, and nothing said of it": f"""
        (SELECT DISTINCT cabin_id, round FROM cabins_setlog WHERE undone_at IS NULL) AS begun
        WHERE NOT EXISTS ({_UNFILLED.format(cabin="begun.cabin_id", round="begun.round")}) AND 1 <> (
            SELECT count(*) FROM crews_event event WHERE {_COMPLETE.format(cabin="begun.cabin_id")}
                AND (event.data->>'round')::int = begun.round)""",
    "a cabin's count of what was built that is off": """
        cabins_cabin cabin WHERE built_version < (
            SELECT count(*) FROM cabins_setlog s WHERE s.cabin_id = cabin.id)""",
    "a current plan that is not adopted": """
        planning_currentplan c JOIN planning_plan plan ON plan.id = c.plan_id
        WHERE plan.state <> 'adopted'""",
    "an adopted plan that is not current": """
        planning_plan plan WHERE state = 'adopted' AND NOT EXISTS (
            SELECT FROM planning_currentplan c WHERE c.plan_id = plan.id)""",
    "a job done without its plan, or the other way": """
        planning_planningjob job WHERE (state = 'done') <> EXISTS (
            SELECT FROM planning_plan plan WHERE plan.job_id = job.id)""",
    "a job that ended in no state, or the other way": """
        planning_planningjob job WHERE (ended_at IS NULL) <> (state IN ('waiting', 'running'))""",
    "a plan that was not told of just once": """
        planning_plan plan WHERE 1 <> (SELECT count(*) FROM crews_event event
            WHERE event.kind = 'plan_ready' AND event.data->>'plan' = plan.id::text)""",
    "a plan with a place planned twice": """
        (SELECT FROM planning_plannedpiece WHERE wall IS NOT NULL
            GROUP BY plan_id, cabin_id, wall, round, piece HAVING count(*) > 1) AS twice""",
    "a cabin whose places are not how its courses are cut": """
        cabins_cabin cabin WHERE courses IS NOT NULL AND courses IS DISTINCT FROM (
            SELECT jsonb_object_agg(wall, rounds) FROM (
                SELECT wall, jsonb_object_agg(round, spans) AS rounds FROM (
                    SELECT wall, round,
                        jsonb_agg(jsonb_build_array(start_mm::float8, end_mm::float8) ORDER BY piece) AS spans
                    FROM cabins_place spot WHERE spot.cabin_id = cabin.id GROUP BY wall, round
                ) AS course GROUP BY wall
            ) AS cut_wall)""",
    "a log without each of its measurements": """
        inventory_log log WHERE measures_version <> (
            SELECT count(*) FROM inventory_measurement m WHERE m.log_id = log.id)""",
    "a number twice in a yard": """
        (SELECT FROM inventory_log GROUP BY yard_id, number_order HAVING count(*) > 1) AS twice""",
    "a log whose history ends at another version": """
        inventory_log log
        WHERE version <> (SELECT max(version) FROM crews_change c WHERE c.object = log.id)""",
    "a reservation whose history ends at another version": """
        planning_reservation p
        WHERE version <> (SELECT max(version) FROM crews_change c WHERE c.object = p.id)""",
    "a delivery received without its logs": """
        inventory_deliveredlog d JOIN inventory_delivery delivery ON delivery.id = d.delivery_id
        WHERE (delivery.state = 'received') <> (d.log_id IS NOT NULL)""",
    "an order's steps with a gap": """
        (SELECT FROM inventory_orderevent GROUP BY order_id HAVING max(step) <> count(*)) AS gap""",
    "an event on its way to no webhook": """
        crews_event event JOIN crews_webhook hook ON hook.crew_id = event.crew_id
        WHERE event.at > hook.created_at AND hook.kinds ? event.kind AND NOT EXISTS (
            SELECT FROM crews_webhookdelivery d WHERE d.event_id = event.id AND d.webhook_id = hook.id)""",
}

# And once the work that was under way is done.
AT_REST = {
    "a planning job that has not ended": "planning_planningjob WHERE ended_at IS NULL",
    "an event not delivered": "crews_webhookdelivery WHERE state <> 'delivered'",
}


def broken(sql: psycopg.Connection[Any], rules: dict[str, str]) -> dict[str, int]:
    """The rules that do not hold, each with how often it is broken."""
    counts = {}
    for words, rows in rules.items():
        found = sql.execute(f"SELECT count(*) FROM {rows}").fetchone()
        assert found
        if found[0]:
            counts[words] = found[0]
    return counts
