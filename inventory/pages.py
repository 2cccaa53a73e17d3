"""Pages of the yard: what lies there, one log, charting at the rack, orders."""

from django.urls import path

from crews.accounts.pages import page

urlpatterns = [
    path("yard", page("inventory/yard.html"), name="yard-page"),
    path("logs/<uuid:id>", page("inventory/log.html"), name="log-page"),
    path("chart", page("inventory/chart.html"), name="chart-page"),
    path("orders", page("inventory/orders.html"), name="orders-page"),
    path("orders/<uuid:id>", page("inventory/order.html"), name="order-page"),
]
