"""The planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    name = "planning"

    def ready(self) -> None:
        """Cabins ask what is planned for them; they come before plans, so the answer is given here."""
        from cabins.walls.planned import register_planned_walls
        from planning.walls.planned import planned_walls

        register_planned_walls(planned_walls)
