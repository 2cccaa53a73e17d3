"""Pages of planning: ask for a plan and watch it, one plan with its sheet and what-if."""

from django.urls import path

from crews.accounts.pages import page

urlpatterns = [
    path("plans", page("planning/plans.html"), name="plans-page"),
    path("plans/side-by-side", page("planning/side_by_side.html"), name="side-by-side-page"),
    path("plans/<uuid:id>", page("planning/plan.html"), name="plan-page"),
]
