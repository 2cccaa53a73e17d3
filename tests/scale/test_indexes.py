"""No question about one crew reads a whole table, however many crews there are: asked of PostgreSQL.

`make test-scale` asks it of some 35,000 logs in 81 crews, `make indexes` of a million in a thousand.
"""

import os
import sys
from datetime import datetime
from itertools import chain

import pytest

from inventory.logs.models import Log
from tests.scale.asking import by_the_clock, of_one_crew
from tests.scale.crew_of_everything import a_crew_of_everything
from tests.scale.many_crews import copy_crews, tables
from tests.scale.plans import LARGE_PAGES, Judge, Question, noted_questions

CREWS = int(os.environ.get("SCALE_CREWS") or 80)
LOGS_MORE = int(os.environ.get("SCALE_LOGS") or 200)
# What reads something whole and is right to do so.
RIGHT = {
    "Index Scan of all job_not_ended": "It holds the few jobs under way, and workers look at all of them.",
    "Index Only Scan of all crews_crew_pkey": "Whether there is a crew at all stops at the first.",
    "Seq Scan on crews_requestcount": "It holds who asked within minutes, and most of it is deleted.",
}


@pytest.mark.django_db(transaction=True)
def test_no_question_about_a_crew_reads_a_whole_table() -> None:
    with noted_questions() as noted:
        crew = a_crew_of_everything(logs=LOGS_MORE)
    # A crew's day asks the same again and again, of other rows.
    building = list({one.sql: one for one in noted}.values())
    copy_crews(CREWS)
    judge = Judge.of(tables(), crews=CREWS + 1)
    assert Log._meta.db_table in judge.large

    faults: dict[str, str] = {}
    judged, second_pages = set(), 0
    for what, questions in chain([("a crew's work", building)], of_one_crew(crew), by_the_clock()):
        second_pages += what.startswith("second")
        for question in questions:
            if (same := _but_for_times(question)) in judged:
                continue
            judged.add(same)
            for fault in judge.faults_of(question, of_one_crew=not what.startswith("by the clock")):
                faults.setdefault(fault, f"{what}: {question.sql}")

    sys.stdout.write(
        f"{len(judged)} questions, {second_pages} second pages; "
        f"{Log.objects.count()} logs in {CREWS + 1} crews\n"
        f"  tables of more than {LARGE_PAGES} pages: {', '.join(judge.large)}\n"
    )
    wrong = [f"{fault}\n    {asked}" for fault, asked in faults.items() if fault not in RIGHT]
    assert not wrong, "\n".join(wrong)
    assert set(RIGHT) <= set(faults), "no longer so: strike it from the list"


def _but_for_times(question: Question) -> tuple[str, str]:
    """The key's look-up differs with every request by the time it is asked at, and by nothing else."""
    return question.sql, repr([one for one in question.params or () if not isinstance(one, datetime)])
