"""The judge of questions tells what would grow with the number of crews, and what would not."""

import pytest
from django.db import connection

from crews.api.prepared import prepared_cursor
from inventory.logs.models import Log
from tests.bench.yards import a_yard
from tests.people import a_crew
from tests.scale.many_crews import tables
from tests.scale.plans import Judge, noted_questions

_LOGS = 900  # pages enough that an index is cheaper than reading all


def faults(work, *, crews=1):
    """What is wrong with the one question of `work`, were its logs those of so many crews."""
    judge = Judge.of(tables(), crews=crews)
    judge = Judge(crews=crews, rows=judge.rows, large=["inventory_log"], table_of_index=judge.table_of_index)
    with noted_questions() as asked:
        work()
    (question,) = asked
    return judge.faults_of(question, of_one_crew=True)


@pytest.fixture
def crew(db):
    crew = a_crew().crew
    with connection.cursor() as cursor:
        a_yard(cursor, crew.id, logs=_LOGS)
        cursor.execute("ANALYZE")
    return crew


def test_a_question_without_an_index_that_fits_reads_all_in_every_table_however_small(crew):
    assert "Seq Scan on inventory_log" in faults(lambda: list(Log.objects.filter(remarks="wet")))
    assert "Seq Scan on crews_crew" in faults(lambda: list(type(crew).objects.filter(name="Hill crew")))
    assert "Seq Scan on inventory_log" in faults(lambda: Log.objects.filter(remarks="wet").update(remarks=""))


def test_a_question_that_is_answered_by_an_index_read_from_end_to_end_is_told(crew):
    found = faults(lambda: list(Log.objects.filter(remarks="wet").order_by("id")[:1]))

    assert "Index Scan of all inventory_log_pkey" in found


def test_a_question_reads_no_more_than_its_crew_has(crew):
    def all_of_the_crew():
        list(Log.objects.of(crew).order_by("number_order", "id"))

    of_one = [fault for fault in faults(all_of_the_crew) if "reads" in fault]
    of_three = [fault for fault in faults(all_of_the_crew, crews=3) if "reads" in fault]

    assert of_one == []
    assert [fault.split(" reads ")[1] for fault in of_three] == [
        f"{_LOGS} rows of inventory_log, of which the crew has {_LOGS // 3}"
    ]


def test_what_is_copied_out_is_a_question_too(crew):
    copied = "COPY (SELECT 1 FROM inventory_log) TO STDOUT (FORMAT csv)"

    with noted_questions() as asked, connection.cursor() as cursor, cursor.copy(copied) as rows:
        assert len(list(rows)) == _LOGS

    assert [one.sql for one in asked] == ["SELECT 1 FROM inventory_log"]


def test_a_prepared_question_is_judged_by_its_plan_for_any_values_too(crew):
    def logs_of_any_crew(cursors):
        with cursors() as cursor:
            cursor.execute("SELECT * FROM inventory_log WHERE id = %s OR %s", [crew.id, False])

    assert faults(lambda: logs_of_any_crew(connection.cursor)) == []
    assert "Seq Scan on inventory_log" in faults(lambda: logs_of_any_crew(prepared_cursor))
