"""Where the cabins app lives under the API."""

from django.urls import path

from cabins.cabins import views as cabins
from cabins.choices import views as choices
from cabins.heights import views as heights
from cabins.layouts import views as layouts
from cabins.prepared_pieces import views as prepared_pieces
from cabins.progress import views as progress
from cabins.roof_members import views as roof_members
from cabins.set_logs import views as set_logs
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
    path("cabins/<uuid:id>/floor-plan", sheets.FloorPlan.as_view()),
    path("cabins/<uuid:id>/floor-plan.dxf", sheets.FloorPlanForCad.as_view()),
    path("cabins/<uuid:id>/settling-drawing", sheets.SettlingDrawing.as_view()),
    path("cabins/<uuid:id>/sheets/record", sheets.CabinRecordView.as_view()),
    path("wall-settings", choices.OwnWallSettings.as_view()),
    path("grain-rules", choices.OwnGrainRules.as_view()),
    path("progress", progress.CrewProgress.as_view()),
    path("heights", heights.MeasuredHeights.as_view()),
    path("heights/<uuid:id>", heights.OneHeight.as_view()),
    path("heights/<uuid:id>/undo", heights.UndoHeight.as_view()),
    path("set-logs", set_logs.SetLogs.as_view()),
    path("roof-members", roof_members.RoofMembers.as_view()),
    path("prepared-pieces", prepared_pieces.PreparedPieces.as_view()),
    path("prepared-pieces/<uuid:id>", prepared_pieces.OnePreparedPiece.as_view()),
    path("prepared-pieces/<uuid:id>/undo", prepared_pieces.UndoPreparedPiece.as_view()),
    path("logs/<uuid:id>/pieces", set_logs.LogPieces.as_view()),
]
