"""Every id in the schema is known for what it names, so that what is generated from it leaves none out."""

from tests.operation_ids import kind_of_field, operations


def test_every_id_in_a_body_or_a_query_names_something_known():
    odd = [
        (one.name, way)
        for one in operations()
        for way in [*one.body_ids(), *((name,) for name in one.query_ids())]
        if kind_of_field(way) is None
    ]

    assert odd == [], "say in tests/operation_ids.py what these ids name"


def test_every_id_in_an_address_names_something_known():
    odd = [
        one.name
        for one in operations()
        if "object" in one.path_ids().values() and not one.path.startswith("/api/v1/history/")
    ]

    assert odd == [], "say in tests/operation_ids.py what the ids of these addresses name"
