"""SQL that is asked again and again stays prepared on its connection; what comes in many forms does not."""

import psycopg
import pytest
from django.db import ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext

from crews.api.prepared import prepared_cursor
from tests.cabins.building import a_log

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def nothing_prepared(db):
    connection.ensure_connection()
    connection.connection.execute("DEALLOCATE ALL")
    connection.connection._prepared.clear()


def prepared():
    """The statements that PostgreSQL keeps for this connection, and how often it ran them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT statement, generic_plans + custom_plans FROM pg_prepared_statements")
        return dict(cursor.fetchall())


def test_a_page_as_most_people_ask_for_it_is_prepared_once(lead):
    a_log(lead.who.crew)

    pages = [lead.get("logs").body for _ in range(3)]

    times = [ran for sql, ran in prepared().items() if "inventory_log" in sql]
    assert pages[0]["items"]
    assert pages[0] == pages[1] == pages[2]
    assert times == [3]


def test_pages_of_any_length_and_of_any_filter_fill_no_connection(lead):
    a_log(lead.who.crew)

    for limit in range(3, 9):
        assert len(lead.get(f"logs?limit={limit}").body["items"]) == 1
        assert len(lead.get(f"logs?middle_at_least={limit}").body["items"]) == 1

    assert not [sql for sql in prepared() if "inventory_log" in sql]


def test_a_prepared_question_is_counted_and_fails_as_any_other():
    with CaptureQueriesContext(connection) as asked, prepared_cursor() as cursor:
        cursor.execute("SELECT %s + 1", [6])
        assert cursor.fetchone() == (7,)
    with pytest.raises(ProgrammingError), transaction.atomic(), prepared_cursor() as cursor:
        cursor.execute("SELECT * FROM no_such_table")

    assert [one["sql"] for one in asked] == ["SELECT $1 + 1"]


def test_within_a_transaction_nothing_is_prepared():
    with transaction.atomic(), prepared_cursor() as cursor:
        cursor.execute("SELECT %s + 1", [6])

        assert cursor.fetchone() == (7,)
        assert prepared() == {}


def test_after_a_migration_of_what_is_read_nobody_is_turned_away(lead, here):
    log = f"logs/{a_log(lead.who.crew).id}"

    def widen(by):
        with psycopg.connect(here, autocommit=True) as other:
            other.execute(f"ALTER TABLE crews_crew ALTER COLUMN name TYPE varchar({120 + by})")
            other.execute(f"ALTER TABLE inventory_log ALTER COLUMN cull_reason TYPE varchar({200 + by})")

    def work():
        assert lead.post(f"{log}/put-aside", {"reason": "check the tip"}).status_code == 200
        assert lead.post(f"{log}/return-to-rack", {}).status_code == 200
        return lead.get("crew").body

    before = work()
    try:
        widen(1)
        assert work() == work() == before
    finally:
        widen(0)
