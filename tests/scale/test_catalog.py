"""The indexes themselves: one for each foreign key, and none too many of what grows with logs."""

import pytest
from django.db import connection

from tests.scale.many_crews import tables

# Tables of which every log, round or change makes rows; an index more costs each of them.
GROWING = {
    "cabins_roofmember",
    "cabins_measuredheight",
    "cabins_place",
    "cabins_preparedpiece",
    "cabins_setlog",
    "crews_change",
    "crews_event",
    "crews_webhookdelivery",
    "inventory_deliveredlog",
    "inventory_log",
    "inventory_measurement",
    "planning_plannedpiece",
    "planning_reservation",
}
# (table, index, its columns in order, unique, whole); an expression is column 0.
_INDEXES = """
    SELECT indrelid::regclass::text, indexrelid::regclass::text, indkey::int2[], indisunique, indpred IS NULL
    FROM pg_index JOIN pg_class ON pg_class.oid = indexrelid JOIN pg_am ON pg_am.oid = relam
    WHERE amname = 'btree' AND relnamespace = 'public'::regnamespace
"""
_KEYS = "SELECT conrelid::regclass::text, conname, conkey FROM pg_constraint WHERE contype = 'f'"

Index = tuple[str, str, list[int], bool, bool]


def indexes() -> list[Index]:
    with connection.cursor() as cursor:
        cursor.execute(_INDEXES)
        return [(table, name, list(columns), *more) for table, name, columns, *more in cursor.fetchall()]


@pytest.mark.django_db
def test_a_row_that_goes_is_looked_for_by_an_index_wherever_it_may_be_named():
    """PostgreSQL looks whether a deleted row is still named, and without an index reads the whole table."""
    ours = {model._meta.db_table for model in tables()}
    led = {(table, columns[0]) for table, _, columns, _, whole in indexes() if whole}
    with connection.cursor() as cursor:
        cursor.execute(_KEYS)
        keys = [(table, name, columns) for table, name, columns in cursor.fetchall() if table in ours]

    without = [name for table, name, columns in keys if (table, columns[0]) not in led]

    assert keys
    assert without == []


@pytest.mark.django_db
def test_no_index_of_what_grows_with_logs_is_the_beginning_of_another():
    found = [one for one in indexes() if one[0] in GROWING]
    needless = [
        f"{name} is the beginning of {longer}"
        for table, name, columns, unique, whole in found
        for other, longer, more, _, more_whole in found
        if table == other and name != longer and whole and more_whole and not unique
        if more[: len(columns)] == columns and 0 not in columns
    ]

    assert {table for table, *_ in found} == GROWING
    assert needless == []
