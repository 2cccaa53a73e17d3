"""From a layout to the account by HTTP: what the take-off asks for is ordered, delivered and settled."""

from decimal import Decimal
from uuid import uuid4

from tests.cabins.building import a_cabin, id_of
from tests.inventory.ordering import a_form, a_mill, a_rack

# A metric mill that lists every log, tallies tip and middle and is paid by the cubic metre.
FORM = {
    "title": "Stammliste",
    "one_line_per": "log",
    "decimal_mark": ",",
    "delimiter": ";",
    "columns": [
        {"heading": "Nr", "field": "number"},
        {"heading": "Länge", "field": "length_mm", "unit": "cm", "decimals": 0},
        {"heading": "D min", "field": "least_middle_mm", "unit": "cm", "decimals": 2},
        {"heading": "D max", "field": "largest_middle_mm", "unit": "cm", "decimals": 2},
        {"heading": "D mitte", "field": "middle_mm", "unit": "cm", "decimals": 1, "on": "tally"},
        {"heading": "fm", "field": "volume_m3", "on": "both"},
    ],
}


def test_a_layout_becomes_an_order_two_deliveries_and_an_account(builder, learner):
    hut = id_of(a_cabin(builder))
    wanted = learner.post("take-offs", {"cabins": [str(hut)], "species": "white spruce"}).body["order"]
    mill = a_mill(builder, board_rule="international_quarter_inch", cubic_rule="huber")
    a_form(builder, mill, FORM)
    order = str(uuid4())
    body = {"mill": mill, "name": "Lake cabin", "currency": "EUR", "price_by": "cubic_metre"}
    builder.put(f"orders/{order}", body)

    lines = [{**line, "price": "118.50"} for line in wanted]
    assert builder.put(f"orders/{order}/lines", {"lines": lines}, version=1).status_code == 200
    builder.post(f"orders/{order}/send")
    count = sum(line["count"] for line in wanted)
    form = learner.get(f"orders/{order}/form").body
    assert len(form["rows"]) == count
    assert form["rounded"] == []

    # The mill cuts every log to the middle of its class, and sends them in two loads.
    logs = [line for line in wanted for _ in range(line["count"])]
    rack = a_rack(builder)
    for part in (logs[: count // 2], logs[count // 2 :]):
        rows = [
            f";{line['length_mm'] / 10:.0f};"
            f"{(line['least_middle_mm'] + line['largest_middle_mm']) / 20:.1f};0,500".replace(".", ",")
            for line in part
        ]
        file = "\n".join(["Nr;Länge;D mitte;fm", *rows]).encode()
        delivery = f"deliveries/{uuid4()}"
        builder.put(delivery, {"order": order})
        assert builder.put(f"{delivery}/tally", file, media="text/csv").status_code == 200
        builder.post(f"{delivery}/receive", {"rack": rack})

    account = learner.get(f"orders/{order}/reconciliation").body
    total = account["total"]
    assert builder.get(f"orders/{order}").body["state"] == "delivered"
    assert (total["ordered"], total["delivered"], total["short"], total["over"]) == (count, count, 0, 0)
    assert total["outside"] == 0
    # Half a cubic metre a log by the mill, by line: 118.50 x 0.5 is 59.25 a log.
    assert Decimal(total["to_pay_amount"]) == count * Decimal("59.25")
    assert [one["to_pay_amount"] for one in account["lines"]] == [
        f"{line['count'] * Decimal('59.25'):.2f}" for line in wanted
    ]
    assert Decimal(total["difference_amount"]) == Decimal(total["to_pay_amount"]) - Decimal(
        total["our_amount"]
    )
    # The yard now covers the whole take-off: nothing is left to order.
    yard = builder.get(f"racks/{rack}").body["yard"]
    asked = {"cabins": [str(hut)], "species": "white spruce", "yards": [yard]}
    again = learner.post("take-offs", asked).body
    assert again["to_order"] == 0
