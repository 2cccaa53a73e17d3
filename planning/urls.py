"""Where planning lives under the API."""

from django.urls import path

from planning.gables import views as gable_views
from planning.instructions import views as instruction_views
from planning.jobs import views as job_views
from planning.openings import views as opening_views
from planning.plans import views as plan_views
from planning.reservations import views as loss_views
from planning.reservations import views as reservation_views
from planning.sheets import views as drawing_views
from planning.sheets import views as sheet_file_views
from planning.takeoffs import views as takeoff_views
from planning.walls import views as giving_views
from planning.walls import views as wall_views
from planning.why import views as why_views

urlpatterns = [
    path("planning-jobs", job_views.PlanningJobs.as_view()),
    path("planning-jobs/<uuid:id>", job_views.OnePlanningJob.as_view()),
    path("planning-jobs/<uuid:id>/cancel", job_views.CancelPlanning.as_view()),
    path("planning-jobs/<uuid:id>/problem", job_views.JobProblem.as_view()),
    path("planning-presets", job_views.PlanningPresets.as_view()),
    path("plans", plan_views.Plans.as_view()),
    path("plans/<uuid:id>", plan_views.OnePlan.as_view()),
    path("plans/<uuid:id>/pieces", plan_views.PlanPieces.as_view()),
    path("plans/<uuid:id>/file", plan_views.PlanFile.as_view()),
    path("plans/<uuid:id>/heights", plan_views.PlanHeights.as_view()),
    path("plans/<uuid:id>/setting-sheet", plan_views.PlanSettingSheet.as_view()),
    path("plans/<uuid:id>/why", why_views.Why.as_view()),
    path("plans/<uuid:id>/what-if", why_views.WhatIf.as_view()),
    path("plans/<uuid:id>/side-by-side", why_views.SideBySide.as_view()),
    path("plans/<uuid:id>/changes", why_views.PlanChanges.as_view()),
    path("plans/<uuid:id>/adopt", plan_views.AdoptPlan.as_view()),
    path("reservations", reservation_views.Reservations.as_view()),
    path("reservations/<uuid:id>/release", reservation_views.ReleaseReservation.as_view()),
    path("take-offs", takeoff_views.TakeOffs.as_view()),
    path("set-logs/<uuid:id>", wall_views.OnePlannedSetLog.as_view()),
    path("set-logs/<uuid:id>/undo", wall_views.UndoSetLog.as_view()),
    path("roof-members/<uuid:id>", giving_views.OnePlannedRoofMember.as_view()),
    path("roof-members/<uuid:id>/undo", giving_views.UndoRoofMember.as_view()),
    path("cabins/<uuid:id>/setting-sheet", wall_views.CabinSettingSheet.as_view()),
    path("cabins/<uuid:id>/cut-list", wall_views.CutList.as_view()),
    path("cabins/<uuid:id>/next-log", wall_views.NextLogView.as_view()),
    path("cabins/<uuid:id>/readings", wall_views.CabinReadings.as_view()),
    path("cabins/<uuid:id>/elevation", drawing_views.ElevationDrawing.as_view()),
    path("cabins/<uuid:id>/corner-drawing", drawing_views.CornerDrawing.as_view()),
    path("cabins/<uuid:id>/levels-drawing", drawing_views.LevelsDrawing.as_view()),
    path("cabins/<uuid:id>/gables", gable_views.GablesView.as_view()),
    path("cabins/<uuid:id>/openings", opening_views.CabinOpenings.as_view()),
    path("cabins/<uuid:id>/opening-drawing", opening_views.OpeningDrawing.as_view()),
    path("cabins/<uuid:id>/sheets/opening", opening_views.OpeningFile.as_view()),
    path("cabins/<uuid:id>/sheets/setting", sheet_file_views.SettingSheetFile.as_view()),
    path("cabins/<uuid:id>/sheets/cut-list", sheet_file_views.CutListFile.as_view()),
    path("cabins/<uuid:id>/sheets/storey-pole", sheet_file_views.StoreyPoleFile.as_view()),
    path("logs/<uuid:id>/instructions", instruction_views.LogInstructions.as_view()),
    path("logs/<uuid:id>/write-off", loss_views.WriteOff.as_view()),
    path("logs/<uuid:id>/drawing", drawing_views.LogDrawing.as_view()),
]
