"""What an operator takes away for good: a crew that was closed, the name of somebody who left."""

from datetime import datetime, timedelta

from django.db import connection, transaction

from config.archive.tables import tables
from crews.accounts.models import AccessKey, Crew, Member
from crews.webhooks.models import Webhook
from inventory.orders.models import MillKey

WAITS = timedelta(days=30)
NAMELESS = "A former member"


class NotErased(ValueError):
    """Nothing was taken away; the message says why."""


@transaction.atomic
def close_crew(crew: Crew, *, at: datetime) -> None:
    """No key opens it any more, and no event leaves it; everything stays as it is."""
    for model in (AccessKey, MillKey):
        model.objects.filter(crew=crew, revoked_at=None).update(revoked_at=at)
    Webhook.objects.filter(crew=crew, removed_at=None).update(removed_at=at)


def closed_since(crew: Crew) -> datetime | None:
    """Since when no key opens the crew; None if one does."""
    keys = list(AccessKey.objects.filter(crew=crew).values_list("revoked_at", flat=True))
    ended = [revoked for revoked in keys if revoked is not None]
    return max(ended) if ended and len(ended) == len(keys) else None


@transaction.atomic
def erase_crew(crew: Crew, *, at: datetime) -> int:
    """Delete every row of a crew that has been closed for long enough; returns how many.

    People who belong to other crews too stay there. Raises NotErased.
    """
    since = closed_since(crew)
    if since is None:
        raise NotErased("A key still opens this crew: close it first.")
    if at - since < WAITS:
        raise NotErased(f"Closed on {since:%Y-%m-%d}, it may be erased from {since + WAITS:%Y-%m-%d} on.")
    people = list(Member.objects.filter(crew=crew).values_list("person", flat=True))
    number = 0
    with connection.cursor() as cursor:

        def delete(table: str, rows: str) -> None:
            nonlocal number
            cursor.execute(f"DELETE FROM {table} WHERE {rows}", {"crew": crew.id, "people": people})
            number += cursor.rowcount

        own = "crew_id = %(crew)s"
        delete("crews_keptanswer", own)
        delete("crews_crewsize", own)
        delete("crews_signinlink", f"member_id IN (SELECT id FROM crews_member WHERE {own})")
        delete("planning_planningstart", f"job_id IN (SELECT id FROM planning_planningjob WHERE {own})")
        for table in reversed(tables()):
            match table.name:
                case "crews_person":
                    delete(
                        table.name,
                        "id = ANY(%(people)s) AND NOT EXISTS"
                        " (SELECT 1 FROM crews_member WHERE person_id = crews_person.id)",
                    )
                case "planning_planningjob":
                    delete(table.name, own)
                case _:
                    delete(table.name, table.held.rows.format(crew="%(crew)s"))
        delete("crews_change", own)  # what the history says of all this
    return number


_NAMES = """
    SELECT name FROM (
        SELECT before->>'name' AS name FROM crews_change WHERE object = %(id)s
        UNION SELECT after->>'name' FROM crews_change WHERE object = %(id)s
        UNION SELECT %(now)s
    ) AS known WHERE name IS NOT NULL
"""
# Of the entries of one kind, or of all, those in which a column says one of the names.
_SAID = """
    UPDATE crews_change SET
        before = CASE WHEN before ? %(column)s AND before->>%(column)s = ANY(%(names)s)
            THEN jsonb_set(before, ARRAY[%(column)s], to_jsonb(%(word)s::text)) ELSE before END,
        after = CASE WHEN after ? %(column)s AND after->>%(column)s = ANY(%(names)s)
            THEN jsonb_set(after, ARRAY[%(column)s], to_jsonb(%(word)s::text)) ELSE after END
    WHERE crew_id = %(crew)s AND (%(kind)s = '' OR kind = %(kind)s)
        AND (before->>%(column)s = ANY(%(names)s) OR after->>%(column)s = ANY(%(names)s))
"""


@transaction.atomic
def make_nameless(member: Member) -> None:
    """Take the name of somebody who left out of the crew's rows and its history; what they did stays theirs.

    What others wrote of them in remarks is not looked for. Raises NotErased.
    """
    if member.left_at is None:
        raise NotErased("Only who has left the crew is made nameless.")
    with connection.cursor() as cursor:
        cursor.execute(
            _NAMES,
            {"id": member.id, "now": member.name},
        )
        names = [name for (name,) in cursor.fetchall()]
        keys = list(AccessKey.objects.filter(member=member).values_list("name", flat=True))
        AccessKey.objects.filter(member=member).update(name="A key")
        Member.objects.filter(id=member.id).update(name=NAMELESS)
        for table in ("inventory_log", "inventory_deliveredlog"):
            cursor.execute(
                f"UPDATE {table} SET charted_by = %(word)s"
                " WHERE crew_id = %(crew)s AND charted_by = ANY(%(names)s)",
                {"word": NAMELESS, "crew": member.crew_id, "names": names},
            )
        for kind, column, among, word in (
            ("member", "name", names, NAMELESS),
            ("access_key", "name", keys, "A key"),
            ("", "charted_by", names, NAMELESS),
        ):
            given = {"kind": kind, "column": column, "names": among, "word": word, "crew": member.crew_id}
            cursor.execute(_SAID, given)
