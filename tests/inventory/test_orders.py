"""Mills, forms and orders: who may, what is refused, what repeats do, and what the figures say."""

import json
from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import connections

from inventory.mills.models import MillForm
from inventory.orders.models import ORDER_MOVES, Order, OrderEvent, OrderState
from tests.inventory.ordering import (
    FORM,
    LINES,
    a_draft,
    a_form,
    a_mill,
    a_rack,
    a_sent_order,
    delivered,
)

MILLS = sorted((Path(__file__).parents[2] / "fixtures" / "mills").glob("*.json"))


def problem(answer):
    return answer.status_code, answer.body["type"].removeprefix("/problems/")


def pointers(answer):
    assert answer.status_code == 422, answer.body
    return [one["pointer"] for one in answer.body["errors"]]


def test_a_builder_orders_and_a_learner_reads(builder, learner):
    mill = a_mill(builder)
    a_form(builder, mill)
    order = a_draft(builder, mill)

    for address in (
        "mills", f"mills/{mill}", f"mills/{mill}/form", f"mills/{mill}/forms", "orders", f"orders/{order}",
        f"orders/{order}/lines", f"orders/{order}/figures", f"orders/{order}/history", f"orders/{order}/form",
        f"orders/{order}/form.csv", f"orders/{order}/form.xlsx", f"orders/{order}/form.pdf", "deliveries",
        f"orders/{order}/reconciliation", f"orders/{order}/proposals",
    ):  # fmt: skip
        assert learner.get(address).status_code == 200, address
    assert learner.put(f"orders/{order}/lines", {"lines": LINES}).status_code == 403
    assert learner.post(f"orders/{order}/send").status_code == 403


def test_what_is_ours_is_not_there_for_strangers(builder, stranger):
    mill = a_mill(builder)
    a_form(builder, mill)
    order = a_draft(builder, mill)
    delivery = str(uuid4())
    builder.post(f"orders/{order}/send")
    builder.put(f"deliveries/{delivery}", {"order": order})

    for address in (
        f"mills/{mill}", f"mills/{mill}/form", f"mills/{mill}/forms", f"orders/{order}",
        f"orders/{order}/lines", f"orders/{order}/figures", f"orders/{order}/history", f"orders/{order}/form",
        f"orders/{order}/form.csv", f"orders/{order}/form.xlsx", f"orders/{order}/form.pdf",
        f"orders/{order}/reconciliation", f"orders/{order}/proposals", f"orders/{order}/mill-keys",
        f"deliveries/{delivery}", f"deliveries/{delivery}/logs",
    ):  # fmt: skip
        assert stranger.get(address).status_code == 404, address
    assert stranger.put(f"orders/{order}/lines", {"lines": LINES}).status_code == 404
    assert stranger.post(f"orders/{order}/withdraw", {}).status_code == 404
    assert pointers(stranger.put(f"deliveries/{uuid4()}", {"order": order})) == ["/order"]
    body = {"mill": mill, "name": "x", "currency": "CAD", "price_by": "piece"}
    assert pointers(stranger.put(f"orders/{uuid4()}", body)) == ["/mill"]
    preview = {"document": FORM, "order": order}
    assert stranger.post("mill-forms/preview", preview).status_code == 404


def test_an_order_sent_twice_is_one_order(builder):
    mill, order = a_mill(builder), str(uuid4())
    body = {"mill": mill, "name": "Bunkhouse", "currency": "CAD", "price_by": "piece"}

    made, again = builder.put(f"orders/{order}", body), builder.put(f"orders/{order}", body)
    lines = builder.put(f"orders/{order}/lines", {"lines": LINES}, version=1)
    lines_again = builder.put(f"orders/{order}/lines", {"lines": LINES})

    assert (made.status_code, again.status_code) == (201, 200)
    assert (lines.body["version"], lines_again.body["version"]) == (2, 2)
    assert lines_again.body == lines.body
    assert builder.get(f"orders/{order}").headers["ETag"].startswith('"2.c')


def test_lines_are_changed_only_by_who_knows_what_they_were(builder):
    order = a_draft(builder, a_mill(builder))

    missing = builder.put(f"orders/{order}/lines", {"lines": LINES[:1]})
    stale = builder.put(f"orders/{order}/lines", {"lines": LINES[:1]}, version=1)
    done = builder.put(f"orders/{order}/lines", {"lines": LINES[:1]}, version=2)

    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert [line["line"] for line in done.body["items"]] == [1]
    assert done.body["items"][0]["length_mm"] == 6248.4
    assert done.body["items"][0]["price"] == "0.825"


@pytest.mark.parametrize(
    ("change", "at"),
    [
        ({"length_mm": "20"}, "/lines/0/length_mm"),
        ({"length_mm": 100}, "/lines/0/length_mm"),
        ({"least_middle_mm": "14 in"}, "/lines/0/largest_middle_mm"),
        ({"count": 0}, "/lines/0/count"),
        ({"count": 1.5}, "/lines/0/count"),
        ({"price": "-1"}, "/lines/0/price"),
        ({"price": "0.82501"}, "/lines/0/price"),
        ({"price": "cheap"}, "/lines/0/price"),
        ({"price": "NaN"}, "/lines/0/price"),
        ({"price": True}, "/lines/0/price"),
        ({"price": "1_000"}, "/lines/0/price"),
        ({"count": 4_999}, "/lines"),
        ({"price": "1e999999999"}, "/lines/0/price"),
        ({"species": "two\nlines"}, "/lines/0/species"),
        ({"length_mm": 30000, "least_middle_mm": 60, "largest_middle_mm": 60}, "/lines/0"),
        ({"colour": "brown"}, "/lines/0/colour"),
    ],
)
def test_a_line_that_orders_no_log_is_refused(builder, change, at):
    order = a_draft(builder, a_mill(builder), lines=[])

    answer = builder.put(f"orders/{order}/lines", {"lines": [{**LINES[0], **change}, LINES[1]]}, version=1)

    assert pointers(answer) == [at]
    assert builder.get(f"orders/{order}/lines").body["items"] == []


def test_what_the_rule_does_not_reach_cannot_be_paid_by_it(builder):
    mill = a_mill(builder, board_rule="scribner_decimal_c")
    thin = {**LINES[0], "least_middle_mm": "5 in", "largest_middle_mm": "6 in"}

    by_board_foot = a_draft(builder, mill, lines=[])
    by_piece = a_draft(builder, mill, lines=[thin], name="by the piece", price_by="piece")

    answer = builder.put(f"orders/{by_board_foot}/lines", {"lines": [thin]}, version=1)
    assert answer.body["errors"][0]["code"] == "outside_rule"
    figures = builder.get(f"orders/{by_piece}/figures").body
    assert figures["total"]["board_feet"] is None
    assert "table" in figures["total"]["why_no_board_feet"]
    assert figures["total"]["amount"] == "3.30"


@pytest.mark.parametrize("currency", ["cad", "CA", "C4D", "CADX", "", "ÄÖÜ"])
def test_a_currency_is_three_capitals(builder, currency):
    body = {"mill": a_mill(builder), "name": "x", "currency": currency, "price_by": "piece"}

    assert pointers(builder.put(f"orders/{uuid4()}", body)) == ["/currency"]


def test_figures_say_volume_weight_trucks_and_money_with_their_basis(learner, builder):
    order = a_draft(builder, a_mill(builder))

    figures = learner.get(f"orders/{order}/figures?payload_kg=1200").body

    assert [line["board_feet"] for line in figures["lines"]] == [244, 64]
    assert [line["amount"] for line in figures["lines"]] == ["201.30", "44.80"]
    assert figures["total"]["amount"] == "246.10"
    assert figures["total"]["count"] == 6
    assert figures["total"]["linear_ft"] == pytest.approx(4 * 20.5 + 2 * 14.5)
    assert 0 < figures["total"]["low_kg"] < figures["total"]["high_kg"]
    assert 1 <= figures["truckloads"]["fewest"] <= figures["truckloads"]["most"] <= 4
    assert "taper" in figures["basis"]["assumption"]
    assert any("licensed" in caution for caution in figures["cautions"])
    assert learner.get(f"orders/{order}/figures?payload_kg=0").status_code == 400


def test_an_unknown_species_leaves_the_weight_open_and_says_so(builder):
    order = a_draft(builder, a_mill(builder), lines=[{**LINES[0], "species": "moonwood"}, LINES[1]])

    figures = builder.get(f"orders/{order}/figures?payload_kg=1200").body

    assert (figures["total"]["low_kg"], figures["truckloads"]) == (None, None)
    assert figures["lines"][1]["low_kg"] is not None
    assert "moonwood" in figures["cautions"][0]


def test_a_bad_form_is_not_stored_and_its_column_is_named(builder):
    mill, bad = a_mill(builder), deepcopy(FORM)
    bad["columns"][4]["unit"] = "yard"
    bad["columns"][2]["field"] = "wood"

    answer = builder.put(f"mills/{mill}/form", {"document": bad})

    assert {(e["pointer"], e["column"]) for e in answer.body["errors"]} == {
        ("/document/columns/4/unit", "Length"),
        ("/document/columns/2/field", "Wood"),
    }
    assert builder.get(f"mills/{mill}/form").status_code == 404
    assert not MillForm.objects.exists()
    assert pointers(builder.post("mill-forms/preview", {"document": []})) == ["/document"]


def test_a_form_is_stored_in_versions_and_an_order_keeps_the_one_it_went_out_in(builder):
    order = a_sent_order(builder)
    mill = builder.get(f"orders/{order}").body["mill"]
    other = {**deepcopy(FORM), "title": "New sheet"}

    repeat = builder.put(f"mills/{mill}/form", {"document": FORM})
    missing = builder.put(f"mills/{mill}/form", {"document": other})
    changed = builder.put(f"mills/{mill}/form", {"document": other}, version=1)

    assert (repeat.body["version"], missing.status_code, changed.body["version"]) == (1, 428, 2)
    assert builder.get(f"orders/{order}").body["form_version"] == 1
    assert builder.get(f"orders/{order}/form").body["title"] == "Order of house logs"
    assert [one["version"] for one in builder.get(f"mills/{mill}/forms").body["items"]] == [1, 2]


def test_a_sent_order_keeps_the_terms_it_was_sent_with(builder):
    order = a_sent_order(builder)
    mill = builder.get(f"orders/{order}").body["mill"]
    before = builder.get(f"orders/{order}/figures").body

    body = {"name": "Quillback mill", "board_rule": "international_quarter_inch"}
    assert builder.put(f"mills/{mill}", body, version=1).status_code == 200

    assert builder.get(f"orders/{order}/figures").body == before


@pytest.mark.parametrize("file", MILLS, ids=[file.stem for file in MILLS])
def test_the_fixtures_mills_take_orders(builder, file):
    kept, mill = json.loads(file.read_text(encoding="utf-8")), str(uuid4())

    assert builder.put(f"mills/{mill}", kept["mill"]).status_code == 201
    a_form(builder, mill, kept["form"])
    faced = [{**line, "sawn_thickness_mm": "8 in"} for line in LINES]
    order = a_draft(builder, mill, lines=faced, price_by="linear_foot")
    builder.post(f"orders/{order}/send")

    assert builder.get(f"orders/{order}/form.pdf").content.startswith(b"%PDF")
    # 4 x 20.50 ft at 0.825 and 2 x 14.50 ft at 0.70
    assert builder.get(f"orders/{order}/figures").body["total"]["amount"] == "87.95"


def test_a_preview_stores_nothing(learner, builder):
    order = a_draft(builder, a_mill(builder))

    example = learner.post("mill-forms/preview", {"document": FORM}).body
    ours = learner.post("mill-forms/preview", {"document": FORM, "order": order}).body

    assert example["headings"] == ours["headings"]
    assert example["above"][0] == ["Order", "example"]
    assert ours["above"][0] == ["Order", "Bunkhouse"]
    assert ours["rows"][0][1] == "white spruce"
    assert not MillForm.objects.exists()


def test_an_order_goes_out_as_csv_workbook_and_sheet(learner, builder):
    order = a_sent_order(builder)

    for ending, start in (("csv", b"Order,Bunkhouse"), ("xlsx", b"PK"), ("pdf", b"%PDF")):
        answer = learner.get(f"orders/{order}/form.{ending}")
        assert answer.content.startswith(start)
        assert answer.headers["Content-Disposition"] == f'attachment; filename="order.{ending}"'
    asked = learner.get(f"orders/{order}/form.pdf", accept="application/pdf")
    assert asked.headers["Content-Type"] == "application/pdf"


def test_a_form_can_be_made_of_every_field_that_is_told(learner):
    fields = learner.get("mill-forms/fields").body

    columns = [
        {"heading": one["name"], "field": one["name"]}
        | ({"unit": "mm"} if one["kind"] in ("along", "across") else {})
        for one in fields["columns"]
    ]
    lines = [{"label": one["name"], "field": one["name"]} for one in fields["lines"]]
    everything = {"title": "everything", "columns": columns, "above": lines, "below": lines}

    shown = learner.post("mill-forms/preview", {"document": everything})
    assert shown.status_code == 200
    assert shown.body["headings"] == [one["name"] for one in fields["columns"] if one["on"] != "tally"]


def test_without_a_form_there_is_nothing_to_fill(builder):
    order = a_draft(builder, a_mill(builder))

    for ending in ("", ".csv", ".xlsx", ".pdf"):
        assert problem(builder.get(f"orders/{order}/form{ending}")) == (409, "mill-has-no-form")


def test_an_order_without_lines_is_not_sent(builder):
    order = a_draft(builder, a_mill(builder), lines=[])

    assert problem(builder.post(f"orders/{order}/send")) == (409, "order-without-lines")


def test_once_sent_only_date_and_remarks_change(builder):
    order = a_sent_order(builder)
    row = builder.get(f"orders/{order}").body
    body = {name: row[name] for name in ("mill", "name", "currency", "price_by")}

    later = builder.put(f"orders/{order}", {**body, "wanted_on": "2026-07-01"}, version=row["version"])
    dearer = builder.put(f"orders/{order}", {**body, "currency": "USD"}, version=later.body["version"])
    lines = builder.put(f"orders/{order}/lines", {"lines": LINES[:1]}, version=later.body["version"])

    assert later.body["wanted_on"] == "2026-07-01"
    assert problem(dearer) == problem(lines) == (409, "order-move-refused")


@pytest.mark.parametrize("state", OrderState)
def test_an_order_moves_only_as_the_table_says(builder, state):
    order = a_draft(builder, a_mill(builder))
    verbs = {"send": "sent", "confirm": "confirmed", "withdraw": "withdrawn", "close": "closed"}

    for verb, to in verbs.items():
        Order.objects.filter(id=order).update(state=state, sent_on=None, sent_terms=None)
        body = {} if verb in ("withdraw", "close") else None
        answer = builder.post(f"orders/{order}/{verb}", body)
        allowed = to in ORDER_MOVES[state] or to == state
        assert answer.status_code == (200 if allowed else 409), (state, verb)
        assert builder.get(f"orders/{order}").body["state"] == (to if allowed else state)


def test_every_move_is_written_down_once_with_who_and_when(builder, learner):
    order = a_sent_order(builder)

    builder.post(f"orders/{order}/send")
    builder.post(f"orders/{order}/withdraw", {"reason": "Another mill has them sooner."})
    builder.post(f"orders/{order}/withdraw", {"reason": "again"})

    events = learner.get(f"orders/{order}/history").body["items"]
    assert [(e["step"], e["what"], e["state_before"], e["state_after"]) for e in events] == [
        (1, "sent", "draft", "sent"),
        (2, "withdrawn", "sent", "withdrawn"),
    ]
    assert events[1]["detail"] == "Another mill has them sooner."
    assert {e["member_name"] for e in events} == {"Brone"}
    assert all(datetime.fromisoformat(e["created_at"]).tzinfo == UTC for e in events)


def test_orders_are_found_by_mill_and_state(builder):
    order = a_sent_order(builder)
    mill = builder.get(f"orders/{order}").body["mill"]
    draft = a_draft(builder, mill, name="Sauna")

    assert [one["id"] for one in builder.get("orders?state=draft").body["items"]] == [draft]
    assert len(builder.get(f"orders?mill={mill}").body["items"]) == 2
    assert builder.get(f"orders?mill={uuid4()}").body["items"] == []


def test_a_name_is_used_once(builder):
    mill = a_mill(builder)
    a_draft(builder, mill)

    twice = builder.put(f"mills/{uuid4()}", {"name": "quillback MILL", "board_rule": "doyle"})
    body = {"mill": mill, "name": "bunkhouse", "currency": "CAD", "price_by": "piece"}

    assert problem(twice) == (409, "name-taken")
    assert problem(builder.put(f"orders/{uuid4()}", body)) == (409, "name-taken")


def test_a_mill_that_scales_in_longer_steps_than_pieces_is_refused(builder):
    body = {"name": "Quillback mill", "board_rule": "doyle", "length_step_ft": 4, "longest_ft": 2}

    assert pointers(builder.put(f"mills/{uuid4()}", body)) == ["/longest_ft"]


@pytest.mark.django_db(transaction=True)
def test_an_order_sent_by_many_at_once_is_sent_once(builder):
    order = a_draft(builder, a_mill(builder))

    def send(_):
        try:
            return builder.post(f"orders/{order}/send").status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(send, range(8))) == {200}
    assert OrderEvent.objects.filter(order=order, what="sent").count() == 1


def test_a_closed_order_is_settled(builder):
    order = a_sent_order(builder)
    delivered(builder, order, a_rack(builder), ["1,Q1,white spruce,20' 6\",12,11,61"])

    closed = builder.post(f"orders/{order}/close", {"reason": "Five short, off the bill."})
    account = builder.get(f"orders/{order}/reconciliation").body

    assert closed.body["state"] == "closed"
    assert (account["total"]["short"], account["total"]["to_pay_amount"]) == (5, "50.33")
    refused = builder.put(f"deliveries/{uuid4()}", {"order": order})
    assert problem(refused) == (409, "order-move-refused")


def test_a_draft_that_the_mills_new_terms_make_impossible_says_so_and_is_not_sent(builder):
    mill = a_mill(builder)
    a_form(builder, mill)
    thin = {**LINES[0], "length_mm": 12000, "least_middle_mm": 120, "largest_middle_mm": 160}
    order = a_draft(builder, mill, lines=[thin], price_by="piece")

    builder.put(
        f"mills/{mill}", {"name": "Quillback mill", "board_rule": "doyle", "taper_mm_per_m": 30}, version=1
    )

    for address in ("figures", "form", "form.csv", "reconciliation"):
        assert problem(builder.get(f"orders/{order}/{address}")) == (409, "line-orders-no-log"), address
    assert pointers(builder.post(f"orders/{order}/send")) == ["/lines/0"]
    assert builder.get(f"orders/{order}").body["state"] == "draft"
