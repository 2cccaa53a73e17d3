"""Chart, cut list and order as workbooks by HTTP, held against the service's own answers."""

import csv
import io
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from crews.api.files import WORKBOOK
from inventory.logs.models import Log
from tests.inventory.core.test_workbook import reckoned
from tests.inventory.ordering import LINES, a_draft, a_mill
from tests.planning.planning_yard import a_hut, logs_enough
from tests.planning.test_drawings import adopted

pytestmark = pytest.mark.django_db(transaction=True)


def opened(someone: Any, address: str) -> Any:
    answer = someone.get(address)
    assert answer.status_code == 200, answer.body
    assert answer.headers["Content-Type"] == WORKBOOK
    assert answer.headers["Content-Disposition"].endswith('.xlsx"')
    return openpyxl.load_workbook(io.BytesIO(answer.body)).worksheets[0]


def rows_of(sheet: Any) -> list[dict[str, Any]]:
    head, *rows = sheet.iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


def test_a_chart_has_the_logs_and_figures_of_the_yard(lead):
    adopted(lead)
    log = Log.objects.order_by("number_order").first()
    remarks = '=HYPERLINK("x")'
    Log.objects.filter(id=log.id).update(remarks=remarks, crown_mm=None)

    sheet = opened(lead, f"yards/{log.yard_id}/chart.xlsx?unit=mm")
    in_feet = opened(lead, f"yards/{log.yard_id}/chart.xlsx?unit=ft_in")

    rows = rows_of(sheet)
    text = lead.get(f"yards/{log.yard_id}/chart").body
    typed = list(csv.DictReader(io.StringIO(text.decode() if isinstance(text, bytes) else text)))
    told = {one.number: one for one in Log.objects.filter(yard=log.yard_id)}
    assert [row["number"] for row in rows] == [row["number"] for row in typed]
    assert len(rows) == len(told) > 10
    for row in rows:
        for heading, field in (("length", "length_mm"), ("butt", "butt_mm"), ("tip", "tip_mm")):
            assert row[f"{heading} (mm)"] == pytest.approx(float(getattr(told[row["number"]], field)))
    assert [row["state"] for row in rows] == [row["state"] for row in typed]
    assert (rows[0]["remarks"], rows[0]["crown (mm)"]) == (remarks, None)
    for mm, feet in zip(rows, rows_of(in_feet), strict=True):
        assert feet["length (ft)"] * 304.8 == pytest.approx(mm["length (mm)"], abs=1e-4)
        assert feet["butt (in)"] * 25.4 == pytest.approx(mm["butt (mm)"], abs=1e-4)


def test_a_cut_list_has_every_piece_of_the_answer(lead):
    hut, _ = adopted(lead)
    told = lead.get(f"cabins/{hut}/cut-list").body

    rows = rows_of(opened(lead, f"cabins/{hut}/cut-list.xlsx"))

    pieces = [(log, piece) for log in told["logs"] for piece in log["pieces"]]
    assert len(rows) == len(pieces) == 12
    unit = next(head for head in rows[0] if head.startswith("from butt (")).removeprefix("from butt ")
    per = {"(mm)": 1, "(cm)": 10, "(m)": 1000, "(in)": 25.4, "(ft)": 304.8}[unit]
    for row, (log, piece) in zip(rows, pieces, strict=True):
        assert (row["log"], row["goes to"]) == (log["log_number"], piece["goes_to"])
        assert row[f"from butt {unit}"] * per == pytest.approx(piece["near_butt_mm"], abs=0.001)
        assert row[f"to {unit}"] * per == pytest.approx(piece["near_tip_mm"], abs=0.001)
        assert row[f"length {unit}"] * per == pytest.approx(piece["length_mm"], abs=0.001)
        assert row["to, as read"] == piece["near_tip_text"]


@pytest.mark.parametrize("price_by", ["piece", "board_foot", "linear_foot", "cubic_metre"])
def test_an_orders_formulas_come_to_its_figures(builder, price_by):
    priced = [{**line, "price": f"{3 + number}.35"} for number, line in enumerate(LINES)]
    order = a_draft(builder, a_mill(builder), lines=priced, price_by=price_by)
    told = builder.get(f"orders/{order}/figures").body

    sheet = opened(builder, f"orders/{order}/figures.xlsx")

    heads = {cell.value: cell.column for cell in sheet[1]}
    amount = next(head for head in heads if head.startswith("amount"))
    names = {"logs": "count", "board feet": "board_feet", "m³": "volume_m3", "running m": "linear_m"}
    names |= {"running ft": "linear_ft", amount: "amount"}
    *lines, total = list(sheet.iter_rows(min_row=2))
    assert len(lines) == len(told["lines"]) == len(priced)
    for row, figures in zip([*lines, total], [*told["lines"], told["total"]], strict=True):
        for head, name in names.items():
            cell = row[heads[head] - 1]
            assert reckoned(sheet, cell) == pytest.approx(Decimal(str(figures[name]))), (head, name)
    assert {total[heads[head] - 1].data_type for head in names} == {"f"}


def test_where_a_price_is_not_known_there_is_no_sum_of_amounts(builder):
    first = LINES[0]
    order = a_draft(builder, a_mill(builder), lines=[{**first, "price": "4.50"}, {**first, "price": None}])

    sheet = opened(builder, f"orders/{order}/figures.xlsx")

    assert builder.get(f"orders/{order}/figures").body["total"]["amount"] is None
    column = next(cell.column for cell in sheet[1] if cell.value.startswith("amount"))
    assert [sheet.cell(row, column).value is None for row in (2, 3, 4)] == [False, True, True]


def test_a_take_offs_formulas_come_to_its_counts(lead):
    hut = a_hut(lead)
    logs_enough(lead)
    yard = str(Log.objects.first().yard_id)
    Log.objects.filter(id__in=[one.id for one in Log.objects.all()[8:]]).update(culled=True)
    asked = {"cabins": [hut], "yards": [yard], "spare": {"rounds": 2}}
    told = lead.post("take-offs", asked).body

    answer = lead.post("take-offs.xlsx", asked)

    assert (answer.status_code, answer.headers["Content-Type"]) == (200, WORKBOOK)
    sheet = openpyxl.load_workbook(io.BytesIO(answer.body)).worksheets[0]
    heads = {cell.value: cell.column - 1 for cell in sheet[1]}
    names = {"logs": "count", "spare": "spare", "covered": "covered", "spare covered": "spare_covered"}
    names |= {"short": "short", "to order": "to_order"}
    *rows, total = list(sheet.iter_rows(min_row=2))
    assert len(rows) == len(told["lines"]) > 0
    for row, line in zip(rows, told["lines"], strict=True):
        assert {head: reckoned(sheet, row[heads[head]]) for head in names} == {
            head: line[name] for head, name in names.items()
        }
    sums = {"logs": "logs", "spare": "spare", "short": "short", "to order": "to_order"}
    for head, name in sums.items():
        assert reckoned(sheet, total[heads[head]]) == told[name]
    assert told["to_order"] > told["short"] > 0
    assert {row[heads["short"]].data_type for row in rows} == {"f"}


def test_a_take_off_of_nothing_is_refused_as_json(lead):
    answer = lead.post("take-offs.xlsx", {})
    assert answer.status_code == 422
    assert answer.headers["Content-Type"] == "application/problem+json"
