"""Deliveries: tallied in the mill's columns, received once, measured again, sent back."""

import io
from concurrent.futures import ThreadPoolExecutor
from uuid import uuid4

import openpyxl
import pytest
from django.db import connections

from inventory.deliveries.models import DeliveredLog
from inventory.logs.models import Log
from inventory.order_forms.queries import WORKBOOK
from tests.inventory.ordering import (
    FIRST_TRUCK,
    FORM,
    HEAD,
    SECOND_TRUCK,
    a_draft,
    a_mill,
    a_rack,
    a_sent_order,
    delivered,
    mill_of,
    tally,
)


def problem(answer):
    return answer.status_code, answer.body["type"].removeprefix("/problems/")


def announced(asker, order):
    """A delivery that is to come: its address."""
    address = f"deliveries/{uuid4()}"
    assert asker.put(address, {"order": order, "expected_on": "2026-06-03"}).status_code == 201
    return address


def tallied(asker, order, rows=FIRST_TRUCK):
    address = announced(asker, order)
    posted = asker.put(f"{address}/tally", tally(rows), media="text/csv")
    assert posted.status_code == 200, posted.body
    return address


def test_a_bad_tally_stores_nothing_and_names_every_fault(builder):
    delivery = announced(builder, a_sent_order(builder))
    rows = [FIRST_TRUCK[0], "1,Q2,white spruce,long,12,11,61", "9,Q3,white spruce,20' 6\",12,eleven,61"]

    answer = builder.put(f"{delivery}/tally", tally(rows), media="text/csv")

    assert answer.status_code == 422
    assert [(e["pointer"], e["row"], e["column"], e["read"]) for e in answer.body["errors"]] == [
        ("/rows/3", 3, "Length", "long"),
        ("/rows/4", 4, "Top (in)", "eleven"),
        ("/rows/4", 4, "Item", "9"),
    ]
    assert builder.get(delivery).body["state"] == "announced"
    assert not DeliveredLog.objects.exists()


def test_a_delivery_posted_twice_changes_nothing(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = tallied(builder, order)
    builder.post(f"{delivery}/receive", {"rack": rack})
    before = builder.get(f"orders/{order}/reconciliation").body
    history = builder.get(f"orders/{order}/history").body

    announced_again = builder.put(delivery, {"order": order, "expected_on": "2026-06-03"})
    tallied_again = builder.put(f"{delivery}/tally", tally(FIRST_TRUCK), media="text/csv")
    received_again = builder.post(f"{delivery}/receive", {"rack": rack, "first_number": "Z1"})

    assert {a.status_code for a in (announced_again, tallied_again, received_again)} == {200}
    assert Log.objects.count() == 3
    assert builder.get(f"orders/{order}/reconciliation").body == before
    assert builder.get(f"orders/{order}/history").body == history


@pytest.mark.django_db(transaction=True)
def test_a_delivery_received_by_many_at_once_comes_in_once(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = tallied(builder, order)

    def receive(_):
        try:
            return builder.post(f"{delivery}/receive", {"rack": rack}).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(receive, range(6))) == {200}
    assert Log.objects.count() == 3


def test_a_corrected_tally_replaces_the_first_until_the_truck_is_unloaded(builder):
    order = a_sent_order(builder)
    delivery = tallied(builder, order)
    version = builder.get(delivery).body["version"]

    missing = builder.put(f"{delivery}/tally", tally(SECOND_TRUCK), media="text/csv")
    done = builder.put(f"{delivery}/tally", tally(SECOND_TRUCK), media="text/csv", version=version)
    builder.post(f"{delivery}/receive", {"rack": a_rack(builder)})
    late = builder.put(f"{delivery}/tally", tally(FIRST_TRUCK), media="text/csv", version=version + 2)

    assert (missing.status_code, done.status_code) == (428, 200)
    assert problem(late) == (409, "delivery-received")
    assert [one["number"] for one in builder.get(f"{delivery}/logs").body["items"]] == ["Q4", "Q5", "Q6"]


def test_a_tally_comes_as_a_workbook_too(builder):
    delivery = announced(builder, a_sent_order(builder))
    book = openpyxl.Workbook()
    for row in (HEAD.split(","), [1, "Q1", "white spruce", "20' 6\"", 12.125, 11, 61]):
        book.worksheets[0].append(row)
    out = io.BytesIO()
    book.save(out)

    posted = builder.put(f"{delivery}/tally", out.getvalue(), media=WORKBOOK)

    assert posted.body["state"] == "tallied"
    assert builder.get(f"{delivery}/logs").body["items"][0]["middle_mm"] == 307.975


def test_a_tally_without_a_body_or_of_another_kind_is_refused(builder):
    delivery = announced(builder, a_sent_order(builder))

    assert builder.put(f"{delivery}/tally", b"x", media="text/plain").status_code == 415
    assert builder.put(f"{delivery}/tally").status_code == 422


def test_logs_are_numbered_on_in_the_yards_sequence_with_the_mills_figures(builder, learner):
    order, rack = a_sent_order(builder), a_rack(builder)
    yard = builder.get(f"racks/{rack}").body["yard"]
    charted = {
        "yard": yard,
        "number": "A7",
        "length_mm": 6000,
        "butt_mm": 320,
        "middle_mm": 295,
        "tip_mm": 272,
    }
    learner.put(f"logs/{uuid4()}", charted)

    delivery = tallied(builder, order)
    builder.post(f"{delivery}/receive", {"rack": rack})

    logs = learner.get(f"logs?rack={rack}").body["items"]
    assert [log["number"] for log in logs] == ["A8", "A9", "A10"]
    # 12 1/8 in middle, 11 in top; the butt follows from the taper: 307.975 + 10 x (3.1242 - 0.305)
    assert (logs[0]["middle_mm"], logs[0]["tip_mm"]) == (307.975, 279.4)
    assert logs[0]["butt_mm"] == pytest.approx(336.167)
    assert logs[0]["charted_by"] == "tally of Quillback mill"
    assert [log["mill_tag"] for log in logs] == ["Q1", "Q2", "Q3"]
    assert [log["number"] for log in learner.get("logs?mill_tag=q2").body["items"]] == ["A9"]
    assert (logs[0]["crown_mm"], logs[0]["grain_hand"]) == (None, None), "nobody looked at them yet"
    kept = learner.get(f"logs/{logs[0]['id']}/measurements").body["items"]
    assert [one["charted_by"] for one in kept] == ["tally of Quillback mill"]


def test_the_mills_figures_stay_whatever_the_crew_measures(builder, learner):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = tallied(builder, order)
    builder.post(f"{delivery}/receive", {"rack": rack})
    before = builder.get(f"{delivery}/logs").body["items"]
    unmeasured = builder.get(f"orders/{order}/reconciliation").body["total"]

    # Wren measures what the mill measured: nothing differs, but it is the crew's own now.
    learner.patch(f"logs/{before[0]['log']}", {"charted_by": "Wren"}, version=1)
    learner.patch(f"logs/{before[1]['log']}", {"middle_mm": "11 in"}, version=1)

    after = builder.get(f"{delivery}/logs").body["items"]
    assert [(one["middle_mm"], one["board_feet"]) for one in after] == [
        (one["middle_mm"], one["board_feet"]) for one in before
    ]
    assert unmeasured["not_measured"] == 3
    assert builder.get(f"orders/{order}/reconciliation").body["total"]["not_measured"] == 1


def test_a_hazard_noted_on_a_delivered_log_is_no_measurement_of_it(builder, learner):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = delivered(builder, order, rack, FIRST_TRUCK)
    log = builder.get(f"deliveries/{delivery}/logs").body["items"][0]["log"]

    wire = {"hazards": [{"kind": "metal", "from_butt_mm": 2000}]}
    assert learner.patch(f"logs/{log}", wire, version=1).status_code == 200

    assert builder.get(f"orders/{order}/reconciliation").body["total"]["not_measured"] == 3


def test_a_rejected_log_is_gone_unpaid_and_short_again(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivered(builder, order, rack, FIRST_TRUCK)
    full = ["1,Q7,white spruce,20' 6\",12,11,61"] * 1 + [
        "1,Q8,white spruce,20' 6\",12,11,61",
        SECOND_TRUCK[1],
    ]
    second = delivered(builder, order, rack, full)
    assert builder.get(f"orders/{order}").body["state"] == "delivered"
    one = builder.get(f"deliveries/{second}/logs").body["items"][0]

    rejected = builder.post(f"delivered-logs/{one['id']}/reject", {"reason": "Ring shake."})
    again = builder.post(f"delivered-logs/{one['id']}/reject", {"reason": "Ring shake."})

    assert (rejected.status_code, again.body["version"]) == (200, rejected.body["version"])
    assert builder.get(f"orders/{order}").body["state"] == "part_delivered"
    log = builder.get(f"logs/{one['log']}").body
    assert (log["state"], log["gone_reason"]) == ("gone", "rejected: Ring shake.")
    account = builder.get(f"orders/{order}/reconciliation").body
    assert (account["lines"][0]["short"], account["lines"][0]["rejected_amount"]) == (1, "50.32")

    taken = builder.post(f"delivered-logs/{one['id']}/accept")
    assert taken.body["rejected_at"] is None
    assert builder.get(f"logs/{one['log']}").body["state"] == "in_rack"
    assert builder.get(f"orders/{order}").body["state"] == "delivered"


def test_a_log_rejected_on_the_truck_never_comes_into_the_yard(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = tallied(builder, order)
    one = builder.get(f"{delivery}/logs").body["items"][1]

    builder.post(f"delivered-logs/{one['id']}/reject", {"reason": "Bark beetle."})
    builder.post(f"{delivery}/receive", {"rack": rack})

    assert Log.objects.count() == 2
    assert builder.get(f"orders/{order}/reconciliation").body["total"]["rejected"] == 1
    back = builder.post(f"delivered-logs/{one['id']}/accept")
    assert problem(back) == (409, "log-taken-back")


def test_a_log_that_is_reserved_does_not_go_back_to_the_mill(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = delivered(builder, order, rack, FIRST_TRUCK)
    one = builder.get(f"deliveries/{delivery}/logs").body["items"][0]
    Log.objects.filter(id=one["log"]).update(state="reserved")

    assert problem(builder.post(f"delivered-logs/{one['id']}/reject", {"reason": "x"})) == (409, "log-in-use")
    assert builder.get(f"deliveries/{delivery}/logs").body["items"][0]["rejected_at"] is None


def test_what_nobody_ordered_is_over_and_not_paid(builder):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivered(builder, order, rack, [",L1,larch,20' 6\",12,11,61"])

    account = builder.get(f"orders/{order}/reconciliation").body

    stray = account["lines"][-1]
    assert (stray["line"], stray["over"], stray["to_pay_amount"]) == (None, 1, "0.00")
    assert account["outside_logs"][0]["why"] == ["not_ordered"]
    assert builder.get(f"orders/{order}").body["state"] == "part_delivered"


def test_a_delivery_needs_a_tally_a_rack_and_an_open_order(builder, stranger):
    order = a_sent_order(builder)
    delivery, rack = announced(builder, order), a_rack(builder)
    theirs = a_rack(stranger)

    assert problem(builder.post(f"{delivery}/receive", {"rack": rack})) == (409, "delivery-not-tallied")
    builder.put(f"{delivery}/tally", tally(FIRST_TRUCK), media="text/csv")
    for wrong, at in (({"rack": theirs}, "/rack"), ({"rack": rack, "first_number": "big"}, "/first_number")):
        answer = builder.post(f"{delivery}/receive", wrong)
        assert [e["pointer"] for e in answer.body["errors"]] == [at]
    draft = a_draft(builder, builder.get(f"orders/{order}").body["mill"], name="Sauna")
    assert problem(builder.put(f"deliveries/{uuid4()}", {"order": draft})) == (409, "order-move-refused")
    moved = builder.put(delivery, {"order": draft}, version=2)
    assert [e["pointer"] for e in moved.body["errors"]] == ["/order"]
    assert Log.objects.count() == 0


def test_a_mill_without_a_form_for_it_cannot_be_tallied(builder):
    bare = {"title": "bare", "columns": [FORM["columns"][4], FORM["columns"][9]]}
    mill = a_mill(builder)
    order = a_draft(builder, mill)
    builder.post(f"orders/{order}/send")
    delivery = announced(builder, order)
    other = a_sent_order_with(builder, bare)

    for address in (delivery, announced(builder, other)):
        answer = builder.put(f"{address}/tally", tally(FIRST_TRUCK), media="text/csv")
        assert problem(answer) == (409, "mill-form-reads-no-tally")


def a_sent_order_with(asker, document):
    """An order from a second mill with this form."""
    mill = a_mill(asker, name="Second mill")
    assert asker.put(f"mills/{mill}/form", {"document": document}).status_code == 201
    order = a_draft(asker, mill, name="Second order")
    asker.post(f"orders/{order}/send")
    return order


def test_deliveries_are_found_by_order_and_state(builder):
    order = a_sent_order(builder)
    first, second = tallied(builder, order), announced(builder, order)

    def ids(query):
        return [f"deliveries/{one['id']}" for one in builder.get(f"deliveries?{query}").body["items"]]

    assert ids("state=tallied") == [first]
    assert set(ids(f"of_order={order}")) == {first, second}
    assert ids(f"of_order={uuid4()}") == []


def test_a_log_counts_for_another_line_when_the_nearest_was_not_meant(builder, learner):
    order, rack = a_sent_order(builder), a_rack(builder)
    delivery = delivered(builder, order, rack, [",Q1,,17 ft,11 1/2,10,61"])
    log = builder.get(f"deliveries/{delivery}/logs").body["items"][0]
    address = f"delivered-logs/{log['id']}/count-for"

    moved = builder.post(address, {"line": 2})
    unknown = builder.post(address, {"line": 7})

    assert (log["line_number"], moved.body["line_number"]) == (2, 2)
    assert builder.post(address, {"line": 1}).body["line_number"] == 1
    account = builder.get(f"orders/{order}/reconciliation").body
    assert [one["accepted"] for one in account["lines"]] == [1, 0]
    assert account["outside_logs"][0]["why"] == ["too_short"]
    assert [e["pointer"] for e in unknown.body["errors"]] == ["/line"]
    assert builder.post(address, {"line": None}).body["line_number"] is None
    assert learner.post(address, {"line": 2}).status_code == 403


def test_a_smaller_count_that_both_agree_on_completes_the_order(builder, asker):
    order, rack = a_sent_order(builder), a_rack(builder)
    mill = mill_of(builder, order, asker)
    delivered(builder, order, rack, FIRST_TRUCK)
    for line, count in ((1, 2), (2, 1)):
        proposal = str(uuid4())
        mill.put(f"mill/proposals/{proposal}", {"line": line, "count": count})
        assert builder.get(f"orders/{order}").body["state"] == "part_delivered"
        builder.post(f"proposals/{proposal}/accept")

    assert builder.get(f"orders/{order}").body["state"] == "delivered"
    assert builder.get(f"orders/{order}/reconciliation").body["total"]["short"] == 0
