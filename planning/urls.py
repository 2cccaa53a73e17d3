"""Where planning lives under the API."""

from django.urls import path

from planning import (
    drawing_views,
    giving_views,
    loss_views,
    sheet_file_views,
    takeoff_views,
    views,
    wall_views,
    why_views,
)

urlpatterns = [
    path("planning-jobs", views.PlanningJobs.as_view()),
    path("planning-jobs/<uuid:id>", views.OnePlanningJob.as_view()),
    path("planning-jobs/<uuid:id>/cancel", views.CancelPlanning.as_view()),
    path("planning-jobs/<uuid:id>/problem", views.JobProblem.as_view()),
    path("planning-presets", views.PlanningPresets.as_view()),
    path("plans", views.Plans.as_view()),
    path("plans/<uuid:id>", views.OnePlan.as_view()),
    path("plans/<uuid:id>/pieces", views.PlanPieces.as_view()),
    path("plans/<uuid:id>/file", views.PlanFile.as_view()),
    path("plans/<uuid:id>/heights", views.PlanHeights.as_view()),
    path("plans/<uuid:id>/setting-sheet", views.PlanSettingSheet.as_view()),
    path("plans/<uuid:id>/why", why_views.Why.as_view()),
    path("plans/<uuid:id>/what-if", why_views.WhatIf.as_view()),
    path("plans/<uuid:id>/adopt", views.AdoptPlan.as_view()),
    path("promises", views.Promises.as_view()),
    path("promises/<uuid:id>/release", views.ReleasePromise.as_view()),
    path("take-offs", takeoff_views.TakeOffs.as_view()),
    path("set-logs/<uuid:id>", wall_views.OneSetLog.as_view()),
    path("set-logs/<uuid:id>/undo", wall_views.UndoSetLog.as_view()),
    path("given-members/<uuid:id>", giving_views.OneGivenMember.as_view()),
    path("given-members/<uuid:id>/undo", giving_views.UndoGivenMember.as_view()),
    path("cabins/<uuid:id>/setting-sheet", wall_views.CabinSettingSheet.as_view()),
    path("cabins/<uuid:id>/next-log", wall_views.NextLog.as_view()),
    path("cabins/<uuid:id>/elevation", drawing_views.ElevationDrawing.as_view()),
    path("cabins/<uuid:id>/corner-drawing", drawing_views.CornerDrawing.as_view()),
    path("cabins/<uuid:id>/levels-drawing", drawing_views.LevelsDrawing.as_view()),
    path("cabins/<uuid:id>/sheets/setting", sheet_file_views.SettingSheetFile.as_view()),
    path("cabins/<uuid:id>/sheets/cut-list", sheet_file_views.CutListFile.as_view()),
    path("cabins/<uuid:id>/sheets/storey-pole", sheet_file_views.StoreyPoleFile.as_view()),
    path("logs/<uuid:id>/write-off", loss_views.WriteOff.as_view()),
    path("logs/<uuid:id>/drawing", drawing_views.LogDrawing.as_view()),
]
