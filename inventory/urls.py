"""Where the inventory app lives under the API."""

from django.urls import path

from inventory import urls_orders
from inventory.charts import views as charts
from inventory.figures import views as figures
from inventory.logs import views as logs
from inventory.scaling import views as scaling
from inventory.sheets import views as sheets
from inventory.yards import views as yards

urlpatterns = [
    path("species", yards.SpeciesList.as_view()),
    path("species/<uuid:id>", yards.OneSpecies.as_view()),
    path("species/<uuid:id>/shrinkage", figures.ShrinkageFigures.as_view()),
    path("figures/moisture", figures.MoistureFigures.as_view()),
    path("scaling-settings", scaling.OwnScaling.as_view()),
    path("yards", yards.Yards.as_view()),
    path("yards/<uuid:id>", yards.OneYard.as_view()),
    path("yards/<uuid:id>/chart", charts.YardChart.as_view()),
    path("yards/<uuid:id>/chart.xlsx", charts.YardChartWorkbook.as_view()),
    path("yards/<uuid:id>/drawing", sheets.YardDrawing.as_view()),
    path("yards/<uuid:id>/sheets/chart", sheets.YardChartSheet.as_view()),
    path("yards/<uuid:id>/sheets/labels", sheets.Labels.as_view()),
    path("charts/line", charts.SpokenLine.as_view()),
    path("sheets/blank-chart", sheets.BlankChart.as_view()),
    path("yards/<uuid:id>/summary", yards.YardSummary.as_view()),
    path("racks", yards.Racks.as_view()),
    path("racks/<uuid:id>", yards.OneRack.as_view()),
    path("logs", logs.Logs.as_view()),
    path("logs/<uuid:id>", logs.OneLog.as_view()),
    path("logs/<uuid:id>/figures", figures.LogFigures.as_view()),
    path("logs/<uuid:id>/piece", figures.PieceFigures.as_view()),
    path("logs/<uuid:id>/put-aside", logs.PutAside.as_view()),
    path("logs/<uuid:id>/return-to-rack", logs.ReturnToRack.as_view()),
    path("logs/<uuid:id>/measurements", logs.Measurements.as_view()),
    *urls_orders.urlpatterns,
]
