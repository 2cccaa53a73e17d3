"""Where the cabins app lives under the API."""

from django.urls import path

from cabins.cabins import views as cabins
from cabins.choices import views as choices
from cabins.heights import views as heights
from cabins.layouts import views as layouts
from cabins.prepared_pieces import views as preparing
from cabins.progress import views as progress
from cabins.roof_members import views as giving
from cabins.set_logs import views as setting
from cabins.sheets import views as drawings
from cabins.sheets import views as printed
from cabins.sheets import views as sheets

urlpatterns = [
    path("cabins", cabins.Cabins.as_view()),
    path("cabins/<uuid:id>", cabins.OneCabin.as_view()),
    path("cabins/<uuid:id>/places", cabins.CabinPlaces.as_view()),
    path("cabins/<uuid:id>/layout", layouts.CabinLayout.as_view()),
    path("cabins/<uuid:id>/layout/check", layouts.LayoutCheck.as_view()),
    path("cabins/<uuid:id>/layouts", layouts.PastLayouts.as_view()),
    path("cabins/<uuid:id>/height-estimate", layouts.HeightEstimateView.as_view()),
    path("cabins/<uuid:id>/heights", heights.CabinHeights.as_view()),
    path("cabins/<uuid:id>/progress", progress.CabinProgress.as_view()),
    path("cabins/<uuid:id>/rounds", progress.Rounds.as_view()),
    path("cabins/<uuid:id>/sheet", sheets.Sheet.as_view()),
    path("cabins/<uuid:id>/settling", sheets.Settling.as_view()),
    path("cabins/<uuid:id>/corners/<path:corner>", sheets.CornerSheetView.as_view()),
    path("cabins/<uuid:id>/floor-plan", drawings.FloorPlan.as_view()),
    path("cabins/<uuid:id>/settling-drawing", drawings.SettlingDrawing.as_view()),
    path("cabins/<uuid:id>/sheets/record", printed.CabinRecordView.as_view()),
    path("wall-settings", choices.OwnWallSettings.as_view()),
    path("grain-rules", choices.OwnGrainRules.as_view()),
    path("progress", progress.CrewProgress.as_view()),
    path("heights", heights.MeasuredHeights.as_view()),
    path("heights/<uuid:id>", heights.OneHeight.as_view()),
    path("heights/<uuid:id>/undo", heights.UndoHeight.as_view()),
    path("set-logs", setting.SetLogs.as_view()),
    path("roof-members", giving.RoofMembers.as_view()),
    path("prepared-pieces", preparing.PreparedPieces.as_view()),
    path("prepared-pieces/<uuid:id>", preparing.OnePreparedPiece.as_view()),
    path("prepared-pieces/<uuid:id>/undo", preparing.UndoPreparedPiece.as_view()),
    path("logs/<uuid:id>/pieces", setting.LogPieces.as_view()),
]
