"""From the order to the account by HTTP, in the form of a mill that nobody here knew before."""

import csv
import io
from collections import Counter
from decimal import Decimal
from uuid import uuid4

from tests.inventory.ordering import (
    FIRST_TRUCK,
    SECOND_TRUCK,
    a_draft,
    a_form,
    a_mill,
    a_rack,
    mill_of,
    tally,
)


def adds_up(account):
    """Assert that an account adds up to the log and to the cent, by line and in total."""
    for one in [*account["lines"], account["total"]]:
        assert one["ordered"] + one["over"] == one["accepted"] + one["short"]
        assert one["delivered"] == one["accepted"] + one["rejected"]
        money = {name: Decimal(value) for name, value in one.items() if name.endswith("_amount")}
        assert money["billed_amount"] == money["to_pay_amount"] + money["rejected_amount"]
        assert money["to_pay_amount"] == money["our_amount"] + money["difference_amount"]
    for name in ("ordered_amount", "billed_amount", "to_pay_amount", "our_amount", "difference_amount"):
        assert sum(Decimal(one[name]) for one in account["lines"]) == Decimal(account["total"][name])
    for name in ("ordered", "delivered", "accepted", "rejected", "short", "over", "outside"):
        assert sum(one[name] for one in account["lines"]) == account["total"][name]


def test_an_order_goes_from_its_lines_to_its_account(builder, learner, asker):
    mill_id = a_mill(builder)
    a_form(builder, mill_id)
    order = a_draft(builder, mill_id)
    builder.post(f"orders/{order}/send")

    # The form that goes out is the mill's own, shortest logs first as it sorts them.
    sheet = list(csv.reader(io.StringIO(learner.get(f"orders/{order}/form.csv").content.decode())))
    assert sheet[0] == ["Order", "Bunkhouse"]
    assert sheet[2][:4] == ["Item", "Wood", "Grade", "Length"]
    # 14 ft of an 11 in middle is 10 in at the top by Doyle 31.5, printed as 32; 20 ft of a 12 in is 11: 61.
    assert sheet[3] == [
        "2", "white spruce", "house log", "14' 6\"", "10", "12", "2", "64", "0.700", "44.80", "",
    ]  # fmt: skip
    assert sheet[4][6:10] == ["4", "244", "0.825", "201.30"]
    assert sheet[-1] == ["Total", "246.10"]

    # The mill confirms with a change, which the crew accepts.
    mill = mill_of(builder, order, asker)
    proposal = str(uuid4())
    mill.put(f"mill/proposals/{proposal}", {"line": 1, "count": 3, "reason": "No more of them."})
    assert mill.post("mill/order/confirm", {"lines": [1]}).body["type"] == "/problems/proposals-open"
    assert mill.post("mill/order/confirm", {"lines": [2]}).body["state"] == "sent"
    builder.post(f"proposals/{proposal}/accept")
    confirmed = mill.get("mill/order").body
    assert (confirmed["state"], confirmed["lines"][0]["count"]) == ("confirmed", 3)

    # Two trucks.
    rack = a_rack(builder)
    first, second = str(uuid4()), str(uuid4())
    mill.put(f"mill/deliveries/{first}", {"expected_on": "2026-06-03"})
    assert mill.put(f"mill/deliveries/{first}/tally", tally(FIRST_TRUCK), media="text/csv").status_code == 200
    builder.post(f"deliveries/{first}/receive", {"rack": rack, "first_number": "C1"})
    assert builder.get(f"orders/{order}").body["state"] == "part_delivered"
    mill.put(f"mill/deliveries/{second}")
    mill.put(f"mill/deliveries/{second}/tally", tally(SECOND_TRUCK), media="text/csv")
    builder.post(f"deliveries/{second}/receive", {"rack": rack})

    logs = learner.get(f"logs?rack={rack}").body["items"]
    assert [log["number"] for log in logs] == ["C1", "C2", "C3", "C4", "C5", "C6"]
    assert {log["charted_by"] for log in logs} == {"tally of Quillback mill"}
    assert {log["species_name"] for log in logs} == {"white spruce"}

    # The crew measures one log thinner than the mill did, and sends one back.
    thin = logs[0]
    measured = {"middle_mm": "10 3/4 in", "tip_mm": "9 3/8 in", "charted_by": "Wren"}
    assert learner.patch(f"logs/{thin['id']}", measured, version=1).status_code == 200
    came = builder.get(f"deliveries/{second}/logs").body["items"]
    rotten = next(one for one in came if one["number"] == "Q6")
    builder.post(f"delivered-logs/{rotten['id']}/reject", {"reason": "Rot at the butt."})

    account = learner.get(f"orders/{order}/reconciliation").body
    adds_up(account)
    one, two = account["lines"]
    assert (one["ordered"], one["accepted"], one["short"], one["outside"]) == (3, 3, 0, 1)
    assert (two["ordered"], two["delivered"], two["rejected"], two["short"]) == (2, 3, 1, 0)
    # Line 1: 3 x 61 BF by the mill; ours has 10 in to 61 and two of 61 and 50.
    assert (one["mill_quantity"], one["to_pay_amount"]) == (183, "150.98")
    assert two["billed_amount"] == "56.00"
    assert (two["to_pay_amount"], two["rejected_amount"]) == ("33.60", "22.40")
    assert {tuple(log["why"]) for log in account["outside_logs"]} == {("too_thin",)}
    assert [log["number"] for log in account["outside_logs"]] == ["Q1", "Q5"]
    assert [log["reason"] for log in account["rejected_logs"]] == ["Rot at the butt."]
    assert builder.get(f"orders/{order}").body["state"] == "delivered"

    # Other programs hear of it.
    heard = [event["kind"] for event in learner.get("events").body["items"]]
    assert Counter(heard) == {
        "order_sent": 1, "order_confirmed": 1, "delivery_announced": 2, "delivered": 2,
        "log_charted": 6, "log_measured": 1,
    }  # fmt: skip

    # Everything that happened is written down with who did it.
    happened = learner.get(f"orders/{order}/history").body["items"]
    told = [(one["what"], one["member_name"] or one["mill_key_name"]) for one in happened]
    assert told[:4] == [
        ("sent", "Brone"),
        ("change_proposed", "mill office"),
        ("lines_confirmed", "mill office"),
        ("change_accepted", "Brone"),
    ]
    assert [one["state_after"] for one in happened if one["state_before"] != one["state_after"]] == [
        "sent", "confirmed", "part_delivered", "delivered",
    ]  # fmt: skip
