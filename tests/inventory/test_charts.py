"""Charts: a yard's logs as a crew types them from its notebook, in and out."""

import csv
import io
from concurrent.futures import ThreadPoolExecutor
from uuid import uuid4

import pytest
from django.db import connection, connections
from django.db.models import NOT_PROVIDED
from django.test.utils import CaptureQueriesContext

from crews.accounts.versioned_rows import insert_rows
from inventory.logs.models import Log, Measurement
from inventory.yards.models import Rack
from tests.people import MORNING

NOTEBOOK = """number,rack,species,length,butt,middle,tip,crown,hazards,culled,remarks
A1,R1,valley spruce,19' 4",12 1/2,11 5/8,10 3/4,3/4,,no,"straight, clean"
A2,R1,,17' 0",11-7/8",11 1/4,10 1/2,,"metal 14' 2"" face left",no,
A10,R2,valley spruce,6.10 m,305 mm,290 mm,271 mm,,,yes,soft tip
"""
HEAD = "number,length,butt,middle,tip"
IN_MM = f"{HEAD}\nA1,6000,320,295,272\nA2,5200,310,290,268\n"


@pytest.fixture
def yard(lead):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    lead.put(f"species/{uuid4()}", {"name": "valley spruce", "basic_gravity": 0.37})
    yard = lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]
    for name in ("R1", "R2"):
        lead.put(f"racks/{uuid4()}", {"yard": yard, "name": name})
    return yard


def chart(asker, yard, text, query=""):
    body = text if isinstance(text, bytes) else text.encode()
    return asker.post(f"yards/{yard}/chart{query}", body, media="text/csv")


def counts(answer):
    assert answer.status_code == 200, answer.body
    return tuple(answer.body[name] for name in ("added", "changed", "unchanged"))


def exported(asker, yard, query=""):
    return asker.get(f"yards/{yard}/chart{query}").body.decode()


def all_logs(asker):
    return asker.get("logs?limit=500").body["items"]


def test_a_notebook_becomes_logs_with_exact_lengths(learner, yard):
    answer = chart(learner, yard, NOTEBOOK)

    a1, a2, a10 = all_logs(learner)
    assert counts(answer) == (3, 0, 0)
    assert answer.body["stored"]
    assert (a1["length_mm"], a1["middle_mm"], a1["crown_mm"]) == (5892.8, 295.275, 19.05)
    assert (a1["rack_name"], a1["species_name"], a1["remarks"]) == ("R1", "valley spruce", "straight, clean")
    assert a2["hazards"] == [{"kind": "metal", "from_butt_mm": 4318, "face": "left", "extent_mm": None}]
    assert (a2["species"], a10["state"], a10["length_mm"]) == (None, "put_aside", 6100)
    assert Measurement.objects.filter(measures_version=1, recorded_by=learner.who.member).count() == 3


def test_a_column_with_a_default_of_the_database_alone_does_not_stop_a_chart(learner, yard, monkeypatch):
    # So does a field look whose Django default went a release before the database's.
    field = Log._meta.get_field("instructions")
    assert field._get_default() == []
    monkeypatch.delitem(field.__dict__, "_get_default")
    monkeypatch.setattr(field, "default", NOT_PROVIDED)

    assert counts(chart(learner, yard, NOTEBOOK)) == (3, 0, 0)
    insert_rows([Log(**_a_row(learner, yard, "B1"), instructions=[PEEL]), Log(**_a_row(learner, yard, "B2"))])

    assert [log["instructions"] for log in all_logs(learner)] == [[], [], [], [PEEL], []]


PEEL = {
    "kind": "peel_first", "text": "Not before it is peeled.",
    **dict.fromkeys(("cabin", "use", "wall", "round", "piece", "member", "from_butt_mm", "butt_at")),
}  # fmt: skip


def _a_row(someone, yard, number):
    measures = {"length_mm": 6000, "butt_mm": 320, "middle_mm": 295, "tip_mm": 272}
    whose = {"id": uuid4(), "crew": someone.who.crew, "yard_id": yard, "number": number}
    return {**whose, **measures, "created_at": MORNING, "changed_at": MORNING}


def test_the_same_chart_again_changes_nothing(learner, yard):
    chart(learner, yard, NOTEBOOK)
    before = all_logs(learner)

    again = chart(learner, yard, NOTEBOOK)

    assert counts(again) == (0, 0, 3)
    assert all_logs(learner) == before
    assert Measurement.objects.count() == 3


def test_a_changed_row_updates_its_log_and_keeps_the_earlier_measurement(lead, learner, yard):
    chart(lead, yard, NOTEBOOK)

    answer = chart(learner, yard, NOTEBOOK.replace("11 5/8", "11 3/4").replace(",soft tip", ",soft at tip"))

    a1, _, a10 = all_logs(learner)
    kept = learner.get(f"logs/{a1['id']}/measurements").body["items"]
    assert counts(answer) == (0, 2, 1)
    assert [(m["measures_version"], m["middle_mm"]) for m in kept] == [(1, 295.275), (2, 298.45)]
    assert [m["recorded_by_name"] for m in kept] == ["Odda", "Wren"]
    assert (a1["version"], a1["measures_version"]) == (2, 2)
    assert (a10["version"], a10["measures_version"], a10["remarks"]) == (2, 1, "soft at tip")


def test_a_column_that_the_chart_has_not_leaves_its_figures_alone(learner, yard):
    chart(learner, yard, NOTEBOOK)

    answer = chart(learner, yard, f"{HEAD}\nA2,17' 0\",11 7/8,11 1/2,10 1/2\n")

    a2 = all_logs(learner)[1]
    assert counts(answer) == (0, 1, 0)
    assert (a2["middle_mm"], a2["rack_name"], len(a2["hazards"])) == (292.1, "R1", 1)


def test_a_change_is_judged_on_the_whole_log(learner, yard):
    chart(learner, yard, NOTEBOOK)

    answer = chart(learner, yard, f"{HEAD}\nA2,13' 0\",11 7/8,11 1/4,10 1/2\n")

    assert answer.status_code == 422
    assert [(e["row"], e["column"], e["code"]) for e in answer.body["errors"]] == [
        (2, "hazards", "hazard_outside_log")
    ]
    assert all_logs(learner)[1]["length_mm"] == 5181.6


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [("", "missing_column")]),
        (b"\xff\xfe\x00", [("", "unreadable_file")]),
        ("number,length,butt,tip\nA1,6000,320,272\n", [("/rows/1/middle", "missing_column")]),
        (f"{HEAD},tip\nA1,6000,320,295,272,272\n", [("/rows/1/tip", "column_twice")]),
        (f"{HEAD}\n", [("", "no_logs")]),
        (f"{HEAD}\nA1,6000,320,thick,272\n", [("/rows/2/middle", "unreadable_value")]),
        (f"{HEAD}\nA1,6000,320,,272\n", [("/rows/2/middle", "missing_value")]),
        (f"{HEAD}\nA1,6000,320,295,272,9\n", [("/rows/2", "extra_cells")]),
        (f"{HEAD}\nA1,6000,260,265,272\n", [("/rows/2/butt", "butt_thinner_than_tip")]),
        (f"{HEAD}\nA1,6000,320,420,272\n", [("/rows/2/middle", "middle_outside_ends")]),
        (f"{HEAD}\nA1,60,320,295,272\n", [("/rows/2/length", "length_out_of_reason")]),
        (f"{HEAD}\nA1,6000,3200,295,272\n", [("/rows/2/butt", "diameter_out_of_reason")]),
        (f"{HEAD}\nA1,6000,320,295,272\na1,6000,320,295,272\n", [("/rows/3/number", "number_twice")]),
        (f"{HEAD},rack\nA1,6000,320,295,272,R9\n", [("/rows/2/rack", "unknown_rack")]),
        (f"{HEAD},species\nA1,6000,320,295,272,ash\n", [("/rows/2/species", "unknown_species")]),
        (f"{HEAD},hazards\nA1,6000,320,295,272,ghost 3 m\n", [("/rows/2/hazards", "unreadable_value")]),
        (
            f"{HEAD},rack\nA1,6000,320,x,272,R9\nA2,60,320,295,272,R1\n\nA3,1,2,3,4,R1\n",
            [
                ("/rows/2/middle", "unreadable_value"),
                ("/rows/2/rack", "unknown_rack"),
                ("/rows/3/length", "length_out_of_reason"),
                ("/rows/5/length", "length_out_of_reason"),
                ("/rows/5/butt", "diameter_out_of_reason"),
                ("/rows/5/middle", "diameter_out_of_reason"),
                ("/rows/5/tip", "diameter_out_of_reason"),
            ],
        ),
    ],
)
def test_a_bad_chart_stores_nothing_and_names_every_fault(learner, yard, text, expected):
    racks = Rack.objects.count()

    answer = chart(learner, yard, text, "?unit=mm&confirm_doubtful=true")

    assert answer.status_code == 422
    assert [(e["pointer"], e["code"]) for e in answer.body["errors"]] == expected
    assert all({"row", "column", "read", "detail"} <= set(e) for e in answer.body["errors"])
    assert (Log.objects.count(), Rack.objects.count()) == (0, racks)


def test_one_bad_row_keeps_the_good_ones_out(learner, yard):
    answer = chart(learner, yard, IN_MM + "A3,6000,320,11 5/8,272\n", "?unit=mm")

    assert answer.body["errors"][0] | {"detail": ""} == {
        "pointer": "/rows/4/middle",
        "detail": "",
        "code": "unreadable_value",
        "row": 4,
        "column": "middle",
        "read": "11 5/8",
    }
    assert Log.objects.count() == 0


def test_the_unit_of_plain_numbers_is_the_crews_or_the_charts(learner, yard):
    in_feet = chart(learner, yard, f"{HEAD}\nB1,20,12,11 1/2,11\n")
    in_metres = chart(
        learner, yard, f"{HEAD}\nB2;6,1;31;29,5;28\n".replace(HEAD, HEAD.replace(",", ";")), "?unit=m"
    )

    assert (counts(in_feet), counts(in_metres)) == ((1, 0, 0), (1, 0, 0))
    assert [(log["length_mm"], log["middle_mm"]) for log in all_logs(learner)] == [(6096, 292.1), (6100, 295)]
    assert chart(learner, yard, IN_MM, "?unit=ell").status_code == 400
    assert chart(learner, yard, IN_MM, "?units=mm").status_code == 400


def test_doubtful_rows_wait_until_someone_looked_again(learner, yard):
    text = IN_MM + "A3,6000,320,330,272\n"

    asked = chart(learner, yard, text, "?unit=mm")
    stored_nothing = Log.objects.count()
    confirmed = chart(learner, yard, text, "?unit=mm&confirm_doubtful=true")
    again = chart(learner, yard, text, "?unit=mm")

    assert (asked.status_code, stored_nothing) == (409, 0)
    assert asked.body["type"] == "/problems/doubts-unconfirmed"
    assert [(e["pointer"], e["code"], e["read"]) for e in asked.body["errors"]] == [
        ("/rows/4/middle", "middle_over_butt", "330 mm")
    ]
    assert confirmed.body["doubts"] == asked.body["errors"]
    assert counts(again) == (0, 0, 3)


def test_a_column_nobody_knows_is_a_doubt(learner, yard):
    asked = chart(learner, yard, f"{HEAD},mood\nA1,6000,320,295,272,good\n", "?unit=mm")

    assert asked.status_code == 409
    assert [(e["row"], e["column"], e["code"]) for e in asked.body["errors"]] == [
        (1, "mood", "column_not_read")
    ]


def test_new_racks_are_made_when_asked_for_and_once(learner, yard):
    text = f"{HEAD},rack\nA1,6000,320,295,272,R9\nA2,6000,320,295,272,r9\nA3,6000,320,295,272,R1\n"

    refused = chart(learner, yard, text, "?unit=mm")
    made = chart(learner, yard, text, "?unit=mm&new_racks=true")

    assert refused.status_code == 422
    assert (counts(made), made.body["new_racks"]) == ((3, 0, 0), ["R9"])
    assert [log["rack_name"] for log in all_logs(learner)] == ["R9", "R9", "R1"]


def test_a_blank_rack_or_species_takes_the_one_named_for_the_whole_chart(learner, yard):
    rack = learner.get(f"racks?yard={yard}").body["items"][1]["id"]
    species = next(
        s["id"] for s in learner.get("species?limit=500").body["items"] if s["name"] == "valley spruce"
    )

    answer = chart(learner, yard, IN_MM, f"?unit=mm&rack={rack}&species={species}")

    assert counts(answer) == (2, 0, 0)
    assert {(log["rack"], log["species"]) for log in all_logs(learner)} == {(rack, species)}
    unknown = chart(learner, yard, IN_MM, f"?rack={uuid4()}&species={uuid4()}")
    assert unknown.status_code == 400
    assert [e["pointer"] for e in unknown.body["errors"]] == ["?rack", "?species"]


def test_a_check_stores_nothing_and_says_what_would_be_stored(learner, yard):
    text = f"{HEAD},rack\nA1,6000,320,330,272,R9\n"

    answer = chart(learner, yard, text, "?unit=mm&check_only=true&new_racks=true")

    assert counts(answer) == (1, 0, 0)
    assert (answer.body["stored"], answer.body["new_racks"]) == (False, ["R9"])
    assert [d["code"] for d in answer.body["doubts"]] == ["middle_over_butt"]
    assert (Log.objects.count(), Rack.objects.filter(name="R9").count()) == (0, 0)


@pytest.mark.parametrize("state", ["set", "cut_up", "gone"])
def test_a_log_no_longer_lying_is_not_changed_by_a_chart_in_silence(learner, yard, state):
    chart(learner, yard, IN_MM, "?unit=mm")
    Log.objects.filter(number="A1").update(state=state)
    text = IN_MM.replace("295", "297")

    asked = chart(learner, yard, text, "?unit=mm")
    done = chart(learner, yard, text, "?unit=mm&confirm_doubtful=true")

    assert [(e["row"], e["code"], e["read"]) for e in asked.body["errors"]] == [(2, f"log_{state}", "A1")]
    assert (counts(done), all_logs(learner)[0]["state"]) == ((0, 1, 1), state)


def test_a_chart_takes_no_cull_back_in_silence(learner, yard):
    chart(learner, yard, NOTEBOOK)
    a1 = all_logs(learner)[0]
    learner.post(f"logs/{a1['id']}/put-aside", {"reason": "shake at the butt"})

    asked = chart(learner, yard, NOTEBOOK)
    done = chart(learner, yard, NOTEBOOK, "?confirm_doubtful=true")

    assert [(e["row"], e["code"]) for e in asked.body["errors"]] == [(2, "cull_undone")]
    assert "shake at the butt" in asked.body["errors"][0]["detail"]
    assert counts(done) == (0, 1, 2)
    assert (all_logs(learner)[0]["state"], all_logs(learner)[0]["cull_reason"]) == ("in_rack", "")


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in", "ft_in"])
def test_an_exported_chart_imports_to_the_same_yard(lead, learner, yard, unit):
    chart(learner, yard, NOTEBOOK)
    lead.put(
        f"logs/{uuid4()}",
        {
            "yard": yard, "number": "-7", "length_mm": 4321.12345, "butt_mm": 300, "middle_mm": 281.3,
            "tip_mm": 260, "crook_mm": 12, "crook_at_mm": 1500, "crown_mm": 20, "crown_side": "left",
            "crown_at_mm": 2000, "grain_hand": "right", "grain_slope": 22.5, "sawn_thickness_mm": 200,
            "further_stations": [{"from_butt_mm": 1000, "diameter_mm": 290.7}],
            "read_across": [{"station": "butt", "first_mm": 301.5, "across_mm": 298.5}],
            "hazards": [{"kind": "knot", "from_butt_mm": 700, "extent_mm": 120}], "peeled": False,
            "charted_by": "=Wren", "charted_on": "2026-05-04", "remarks": "two\nlines, \"quoted\"",
        },
    )  # fmt: skip
    before = all_logs(learner)
    text = exported(learner, yard, f"?unit={unit}")
    upper = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body["id"]

    same = chart(learner, yard, text, f"?unit={unit}")
    copied = chart(learner, upper, text, f"?unit={unit}&new_racks=true")

    assert counts(same) == (0, 0, 4)
    assert counts(copied) == (4, 0, 0)
    assert exported(learner, upper, f"?unit={unit}") == text
    kept = [log for log in all_logs(learner) if log["yard"] == yard]
    assert kept == before


def test_an_export_is_in_the_crews_unit_and_in_the_order_of_numbers(learner, yard):
    chart(learner, yard, NOTEBOOK)

    rows = list(csv.DictReader(io.StringIO(exported(learner, yard))))

    assert [row["number"] for row in rows] == ["A1", "A2", "A10"]
    assert (rows[0]["length"], rows[0]["middle"]) == ("19' 4\"", '11 5/8"')
    answer = learner.get(f"yards/{yard}/chart", accept="text/csv")
    assert answer.headers["Content-Type"].startswith("text/csv")
    assert learner.get(f"yards/{yard}/chart?unit=ell", accept="text/csv").status_code == 400


def test_an_empty_yard_gives_a_chart_of_headings_only(learner, yard):
    assert exported(learner, yard).count("\n") == 1


def test_strangers_neither_read_nor_write_our_chart(stranger, learner, yard):
    chart(learner, yard, IN_MM, "?unit=mm")

    assert stranger.get(f"yards/{yard}/chart").status_code == 404
    assert chart(stranger, yard, IN_MM).status_code == 404
    assert learner.post(f"yards/{yard}/chart", {"logs": []}).status_code == 415


def many(count):
    rows = (
        f"N{n},R1,valley spruce,{5000 + n % 900},320,{295 - n % 20},262,{n % 15},good" for n in range(count)
    )
    return "number,rack,species,length,butt,middle,tip,crown,remarks\n" + "\n".join(rows)


def test_a_chart_costs_the_same_queries_however_long_it_is(learner, yard):
    spent = []

    for count in (3, 120):
        text = many(count)
        for version in (text, text.replace(",320,", ",318,")):
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert chart(learner, yard, version, "?unit=mm").status_code == 200
            spent.append(len(queries))
        with CaptureQueriesContext(connection) as queries:
            exported(learner, yard)
        spent.append(len(queries))

    # The second time the key's last use is young: nothing else may differ but new rows beside changed ones.
    assert spent[4:] == spent[1:3]
    # Four of them tell of it: the events within a savepoint, and who wants to hear.
    assert max(spent) <= 20


@pytest.mark.django_db(transaction=True)
def test_one_chart_sent_twice_at_once_makes_each_log_once(learner, yard):
    def send(_):
        try:
            return counts(chart(learner, yard, many(40), "?unit=mm"))
        finally:
            connections.close_all()

    with ThreadPoolExecutor(3) as phones:
        results = sorted(phones.map(send, range(3)))

    assert results == [(0, 0, 40), (0, 0, 40), (40, 0, 0)]
    assert (Log.objects.count(), Measurement.objects.count()) == (40, 40)


def test_two_readings_across_stand_in_one_cell_and_stay_while_the_diameter_does(learner, yard):
    heading = "number,length,butt,middle,tip\n"

    read = chart(learner, yard, heading + "1,6 m,32 cm x 31 cm,30,27\n", "?unit=m")
    whole = all_logs(learner)[0]
    same = chart(learner, yard, heading + "1,6 m,31.5,30,27\n", "?unit=m")
    anew = chart(learner, yard, heading + "1,6 m,31.6,30,27\n", "?unit=m")
    odd = chart(learner, yard, heading + "1,6 m,31 x 30 x 29,30,27\n", "?unit=m")

    assert (counts(read), whole["butt_mm"], whole["read_across"]) == (
        (1, 0, 0),
        315,
        [{"station": "butt", "first_mm": 320, "across_mm": 310, "difference_mm": 10}],
    )
    assert (counts(same), counts(anew)) == ((0, 0, 1), (0, 1, 0))
    assert all_logs(learner)[0]["read_across"] == []
    assert "two across each other" in odd.body["errors"][0]["detail"]
