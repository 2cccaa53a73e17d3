"""Searches for the best plan: `make_plan` takes a problem and gives a plan, with progress and a stop."""

from planning.core.search.engine import USUAL_THREADS, Progress, Result, make_plan

__all__ = ["USUAL_THREADS", "Progress", "Result", "make_plan"]
