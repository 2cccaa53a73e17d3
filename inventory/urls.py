"""Where the inventory app lives under the API."""

from django.urls import path

from inventory import urls_orders
from inventory.charts import views as charts
from inventory.figures import views as figures
from inventory.logs import views as logs
from inventory.scaling import views as scaling
from inventory.sheets import views as drawings
from inventory.sheets import views as printed
from inventory.yards import views as places

urlpatterns = [
    path("species", places.SpeciesList.as_view()),
    path("species/<uuid:id>", places.OneSpecies.as_view()),
    path("species/<uuid:id>/shrinkage", figures.ShrinkageFigures.as_view()),
    path("figures/moisture", figures.MoistureFigures.as_view()),
    path("scaling-settings", scaling.OwnScaling.as_view()),
    path("yards", places.Yards.as_view()),
    path("yards/<uuid:id>", places.OneYard.as_view()),
    path("yards/<uuid:id>/chart", charts.YardChart.as_view()),
    path("yards/<uuid:id>/drawing", drawings.YardDrawing.as_view()),
    path("yards/<uuid:id>/sheets/chart", printed.YardChartSheet.as_view()),
    path("yards/<uuid:id>/sheets/labels", printed.Labels.as_view()),
    path("sheets/blank-chart", printed.BlankChart.as_view()),
    path("yards/<uuid:id>/summary", places.YardSummary.as_view()),
    path("racks", places.Racks.as_view()),
    path("racks/<uuid:id>", places.OneRack.as_view()),
    path("logs", logs.Logs.as_view()),
    path("logs/<uuid:id>", logs.OneLog.as_view()),
    path("logs/<uuid:id>/figures", figures.LogFigures.as_view()),
    path("logs/<uuid:id>/piece", figures.PieceFigures.as_view()),
    path("logs/<uuid:id>/put-aside", logs.PutAside.as_view()),
    path("logs/<uuid:id>/return-to-rack", logs.ReturnToRack.as_view()),
    path("logs/<uuid:id>/measurements", logs.Measurements.as_view()),
    *urls_orders.urlpatterns,
]
