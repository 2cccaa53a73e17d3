"""Where Django finds the models of the planning app; each lies in the room of its noun."""

from planning.jobs.models import PlanningJob, PlanningStart
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.reservations.models import Reservation

__all__ = [
    "CurrentPlan",
    "Plan",
    "PlannedPiece",
    "PlanningJob",
    "PlanningStart",
    "Reservation",
]
