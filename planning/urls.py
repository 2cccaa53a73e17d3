"""Where planning lives under the API."""

from django.urls import path

from planning.gables import views as gables
from planning.instructions import views as instructions
from planning.jobs import views as jobs
from planning.openings import views as openings
from planning.plans import views as plans
from planning.reservations import views as reservations
from planning.sheets import views as sheets
from planning.takeoffs import views as takeoffs
from planning.walls import views as walls
from planning.why import views as why

urlpatterns = [
    path("planning-jobs", jobs.PlanningJobs.as_view()),
    path("planning-jobs/<uuid:id>", jobs.OnePlanningJob.as_view()),
    path("planning-jobs/<uuid:id>/cancel", jobs.CancelPlanning.as_view()),
    path("planning-jobs/<uuid:id>/problem", jobs.JobProblem.as_view()),
    path("planning-presets", jobs.PlanningPresets.as_view()),
    path("plans", plans.Plans.as_view()),
    path("plans/<uuid:id>", plans.OnePlan.as_view()),
    path("plans/<uuid:id>/pieces", plans.PlanPieces.as_view()),
    path("plans/<uuid:id>/file", plans.PlanFile.as_view()),
    path("plans/<uuid:id>/heights", plans.PlanHeights.as_view()),
    path("plans/<uuid:id>/setting-sheet", plans.PlanSettingSheet.as_view()),
    path("plans/<uuid:id>/why", why.Why.as_view()),
    path("plans/<uuid:id>/what-if", why.WhatIf.as_view()),
    path("plans/<uuid:id>/side-by-side", why.SideBySide.as_view()),
    path("plans/<uuid:id>/changes", why.PlanChanges.as_view()),
    path("plans/<uuid:id>/adopt", plans.AdoptPlan.as_view()),
    path("reservations", reservations.Reservations.as_view()),
    path("reservations/<uuid:id>/release", reservations.ReleaseReservation.as_view()),
    path("take-offs", takeoffs.TakeOffs.as_view()),
    path("take-offs.xlsx", takeoffs.TakeOffWorkbook.as_view()),
    path("set-logs/<uuid:id>", walls.OnePlannedSetLog.as_view()),
    path("set-logs/<uuid:id>/undo", walls.UndoSetLog.as_view()),
    path("roof-members/<uuid:id>", walls.OnePlannedRoofMember.as_view()),
    path("roof-members/<uuid:id>/undo", walls.UndoRoofMember.as_view()),
    path("cabins/<uuid:id>/setting-sheet", walls.CabinSettingSheet.as_view()),
    path("cabins/<uuid:id>/cut-list", walls.CutList.as_view()),
    path("cabins/<uuid:id>/cut-list.xlsx", walls.CutListWorkbook.as_view()),
    path("cabins/<uuid:id>/next-log", walls.NextLogView.as_view()),
    path("cabins/<uuid:id>/readings", walls.CabinReadings.as_view()),
    path("cabins/<uuid:id>/elevation", sheets.ElevationDrawing.as_view()),
    path("cabins/<uuid:id>/elevation.dxf", sheets.ElevationForCad.as_view()),
    path("cabins/<uuid:id>/whole-drawing", sheets.WholeDrawing.as_view()),
    path("cabins/<uuid:id>/model", sheets.CabinModel.as_view()),
    path("cabins/<uuid:id>/corner-drawing", sheets.CornerDrawing.as_view()),
    path("cabins/<uuid:id>/levels-drawing", sheets.LevelsDrawing.as_view()),
    path("cabins/<uuid:id>/gables", gables.GablesView.as_view()),
    path("cabins/<uuid:id>/openings", openings.CabinOpenings.as_view()),
    path("cabins/<uuid:id>/opening-drawing", openings.OpeningDrawing.as_view()),
    path("cabins/<uuid:id>/opening-drawing.dxf", openings.OpeningForCad.as_view()),
    path("cabins/<uuid:id>/sheets/opening", openings.OpeningFile.as_view()),
    path("cabins/<uuid:id>/sheets/setting", sheets.SettingSheetFile.as_view()),
    path("cabins/<uuid:id>/sheets/cut-list", sheets.CutListFile.as_view()),
    path("cabins/<uuid:id>/sheets/storey-pole", sheets.StoreyPoleFile.as_view()),
    path("logs/<uuid:id>/instructions", instructions.LogInstructions.as_view()),
    path("logs/<uuid:id>/write-off", reservations.WriteOff.as_view()),
    path("logs/<uuid:id>/drawing", sheets.LogDrawing.as_view()),
]
