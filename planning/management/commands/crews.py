"""Who is on this server."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db.models import Count, Max

from cabins.cabins.models import Cabin
from crews.accounts.models import Crew, CrewSize, Member
from inventory.logs.models import Log
from planning.plans.models import Plan


class Command(BaseCommand):
    help = "List the crews: id, members, cabins, logs, plans, MB stored, when a key was used last, the name."

    def handle(self, **options: Any) -> None:
        of = {
            model: dict(model.objects.values_list("crew").annotate(Count("id")).order_by())
            for model in (Cabin, Log, Plan)
        }
        here = Member.objects.filter(left_at=None).values_list("crew").order_by()
        people = {
            crew: (count, used)
            for crew, count, used in here.annotate(Count("id", distinct=True), Max("keys__last_used_at"))
        }
        sizes = dict(CrewSize.objects.values_list("crew", "stored_bytes"))
        self.stdout.write(
            f"{'id':36} {'members':>7} {'cabins':>7} {'logs':>7} {'plans':>7} {'MB':>7}  last used   name"
        )
        for crew in Crew.objects.order_by("name", "id"):
            count, used = people.get(crew.id, (0, None))
            counts = " ".join(f"{of[model].get(crew.id, 0):>7}" for model in of)
            stored = f"{sizes[crew.id] / 1024**2:.1f}" if crew.id in sizes else "-"
            day = f"{used:%Y-%m-%d}" if used else "never"
            self.stdout.write(f"{crew.id!s:36} {count:>7} {counts} {stored:>7}  {day:10}  {crew.name}")
