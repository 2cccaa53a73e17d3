"""Pages of the yard: what lies there, one log, charting at the rack, orders."""

import json

from django.urls import path

from crews.accounts.pages import page
from inventory.core import chart_cells as cells
from inventory.core.chart_columns import COLUMNS

# Columns of the chart that a page shows as they are: [field, heading].
_PLAIN = json.dumps(
    [
        [column.field, column.heading.capitalize()]
        for column in COLUMNS
        if column.kind in (cells.TEXT, cells.YES, cells.DAY, cells.SEASONING)
    ]
)

urlpatterns = [
    path("yard", page("inventory/yard.html"), name="yard-page"),
    path(
        "logs/<uuid:id>",
        page("inventory/log.html", works_without_signal=True, columns=_PLAIN),
        name="log-page",
    ),
    path("chart", page("inventory/chart.html", works_without_signal=True), name="chart-page"),
    path("orders", page("inventory/orders.html"), name="orders-page"),
    path("orders/<uuid:id>", page("inventory/order.html"), name="order-page"),
]
