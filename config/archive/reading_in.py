"""Reads an archive into this server: one transaction, whole or not at all."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID, uuid4

from django.conf import settings
from django.db import DataError, IntegrityError, connection, transaction
from django.db.models import F
from psycopg import sql

from cabins.cabins.models import Cabin
from cabins.core.places import places_of
from cabins.walls.queries import layout_of
from config.archive.opening import ArchiveRefused, opened
from config.archive.staging import check_names, reason, stage, staged
from config.archive.tables import Table, table_of, tables
from crews.accounts.actions import make_key
from crews.accounts.models import AccessKey, Crew, Member, Role
from crews.history.authors import acting
from crews.history.models import Change
from crews.webhooks.models import DeliveryStanding, Webhook, WebhookDelivery
from inventory.orders.models import MillKey
from planning.jobs.models import ENDED, PlanningJob
from planning.plans.models import CurrentPlan
from planning.plans.staleness import stale_because

_DONE_BY = "import of an archive"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadIn:
    """What came in: rows by file, and the key that was made for the lead."""

    crew: Crew
    rows: dict[str, int]
    lead: str
    key: str


def read_in(file: Path, *, at: datetime) -> ReadIn:
    """Read the archive in; its keys open nothing here, its webhooks are removed. Raises ArchiveRefused."""
    limit = settings.ARCHIVE_LIMIT_BYTES
    with (
        opened(file, limit_bytes=limit) as archive,
        acting(request=_DONE_BY),
        transaction.atomic(durable=True),
    ):
        id = UUID(archive.manifest.crew)
        _refuse_if_here(id)
        rows = {table.file: stage(archive, table) for table in tables()}
        _check_crew(id)
        _check_jobs_ended()
        check_names()
        _insert_all(id)
        crew = Crew.objects.get(id=id)
        _check_what_runs(crew)
        _retire(crew, at=at)
        lead, key = _key_for_lead(crew, at=at)
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    return ReadIn(crew=crew, rows=rows, lead=lead, key=key)


def _refuse_if_here(crew: UUID) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(hashtextextended(%s, 0))", [_DONE_BY])
        if not cursor.fetchone()[0]:
            raise ArchiveRefused("another archive is being read in; wait for it.")
    if Crew.objects.filter(id=crew).exists() or Change.objects.filter(crew=crew).exists():
        raise ArchiveRefused(f"the crew {crew} is on this server already, or was; nothing is read over it.")


def _check_crew(crew: UUID) -> None:
    table = table_of(Crew)
    with connection.cursor() as cursor:
        cursor.execute(sql.SQL("SELECT was FROM {}").format(staged(table)))
        found = [was for (was,) in cursor.fetchall()]
    if found != [str(crew)]:
        raise ArchiveRefused("not the one crew that the manifest names.", file=table.file, line=1)


def _check_jobs_ended() -> None:
    """A job under way would be taken up by a worker here, from whatever the archive says of it."""
    jobs = table_of(PlanningJob)
    query = sql.SQL("SELECT line FROM {} WHERE NOT doc->>'state' = ANY(%s) ORDER BY line LIMIT 1")
    with connection.cursor() as cursor:
        cursor.execute(query.format(staged(jobs)), [[str(state) for state in ENDED]])
        if running := cursor.fetchone():
            raise ArchiveRefused("a planning job that has not ended.", file=jobs.file, line=running[0])


def _insert_all(crew: UUID) -> None:
    """Insert every table; the triggers' history of these inserts makes room for the one that came along."""
    history = table_of(Change)
    with connection.cursor() as cursor:
        cursor.execute("SELECT nextval(pg_get_serial_sequence(%s, 'id'))", [history.name])
        mark = cursor.fetchone()[0]
    for table in tables():
        if table == history:
            Change.objects.filter(crew=crew, id__gt=mark).delete()
        with connection.cursor() as cursor:
            cursor.execute(sql.SQL("SELECT coalesce(max(line), 0) FROM {}").format(staged(table)))
            last = cursor.fetchone()[0]
        if last:
            _insert(table, 1, last)


def _insert(table: Table, first: int, last: int) -> None:
    """Insert the lines; if the database refuses one, halve until it is found."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(_insertion(table), {"first": first, "last": last})
    except (DataError, IntegrityError) as refused:
        if first == last:
            raise ArchiveRefused(reason(refused), file=table.file, line=first) from refused
        middle = (first + last) // 2
        _insert(table, first, middle)
        _insert(table, middle + 1, last)


def _insertion(table: Table) -> sql.Composed:
    values: list[sql.Composable] = []
    joins: list[sql.Composable] = []
    for column in table.fields:
        other = table.names.get(column)
        if column in table.held.stays:
            values.append(sql.SQL(table.held.stays[column]))
        elif column == "id":
            values.append(sql.SQL("one.becomes"))
        elif other is not None and other.held.new_ids:
            named = sql.Identifier(f"of_{column}")
            values.append(sql.SQL("{}.becomes").format(named))
            joins.append(
                sql.SQL(" LEFT JOIN {} {} ON {}.was = one.doc->>{}").format(
                    staged(other), named, named, sql.Literal(column)
                )
            )
        else:
            values.append(sql.SQL("made.{}").format(sql.Identifier(column)))
    return sql.SQL(
        "INSERT INTO {table} ({columns}) SELECT {values} FROM {staged} one"
        " CROSS JOIN LATERAL jsonb_populate_record(NULL::{table}, one.doc) AS made{joins}"
        " WHERE one.line BETWEEN %(first)s AND %(last)s ORDER BY one.line"
    ).format(
        table=sql.Identifier(table.name),
        columns=sql.SQL(", ").join(map(sql.Identifier, table.fields)),
        values=sql.SQL(", ").join(values),
        staged=staged(table),
        joins=sql.SQL("").join(joins),
    )


def _check_what_runs(crew: Crew) -> None:
    """What the service reads for all crews in turn must be readable, or one crew's would stop the others'."""
    for cabin in Cabin.objects.of(crew).exclude(layout=None):
        try:
            places_of(layout_of(cabin))
        except Exception as odd:
            raise ArchiveRefused(
                f"the layout of {cabin.id} is none ({odd}).", file="cabins.cabin.jsonl"
            ) from odd
    for current in CurrentPlan.objects.filter(cabin__crew=crew).select_related("plan", "cabin"):
        try:
            stale_because(current)
        except Exception as odd:
            why = f"plan {current.plan_id} does not say what it was made from ({odd!r})."
            raise ArchiveRefused(why, file="planning.plan.jsonl") from odd


def _retire(crew: Crew, *, at: datetime) -> None:
    """Keys have no secret any more and say so; nothing is sent until a lead registers a webhook here."""
    changed = {"version": F("version") + 1, "changed_at": at}
    for kind in (AccessKey, MillKey):
        kind.objects.of(crew).filter(revoked_at=None).update(revoked_at=at, **changed)
    Webhook.objects.of(crew).filter(removed_at=None).update(removed_at=at, **changed)
    waiting = WebhookDelivery.objects.filter(crew=crew, state=DeliveryStanding.WAITING)
    waiting.update(state=DeliveryStanding.GIVEN_UP, due_at=None)


def _key_for_lead(crew: Crew, *, at: datetime) -> tuple[str, str]:
    leads = Member.objects.of(crew).filter(role=Role.LEAD, left_at=None)
    lead = leads.order_by("created_at", "id").first()
    if lead is None:
        raise ArchiveRefused("no lead is among the members.", file=table_of(Member).file)
    name = "made when the crew was read in"
    _, key = make_key(
        crew=crew, id=uuid4(), member=lead.id, name=name, role=Role.LEAD, expires_at=None, at=at
    )
    return lead.name, key or ""
